// Contact sheets: every kind of sheet as a printer prints it, every kind of page as a screen shows it, and every figure in
// the steps that show it, each in one picture. `cargo xtask contact-sheets DIR` runs this. Somebody then looks at them: no test can say what looks right.
//
// usage: node contact_sheets.mjs PAGES DIR [DOCS]
//
// PAGES has the published demonstration with its PDFs. DIR gets the contact sheets. DOCS gets the pictures of the README.

import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { launch } from "./pages.mjs";

/** A sheet of each kind. `pages` are the first and the last of its pages that are shown, from 1, or from the end. */
export const SHEETS = [
  { name: "shop-sheet", pdf: "tarn-yarrow/float-bowl-shop-sheet" },
  { name: "bench-checklist", pdf: "tarn-yarrow/drive-belt-bench-checklist" },
  { name: "kit-list", pdf: "tarn-yarrow/float-bowl-kit-list" },
  { name: "fault-table", pdf: "tarn-sedge/hunts-fault-table" },
  { name: "machine-data", pdf: "tarn-comfrey/machine-data" },
  { name: "interval-chart", pdf: "tarn-comfrey/interval-chart" },
  { name: "parts-list", pdf: "tarn-sedge/parts-list" },
  { name: "caution-sheet", pdf: "tarn-bracken/caution-sheet" },
  { name: "where-used", pdf: "where-used" },
  { name: "manual-front", pdf: "manual", pages: [1, 6] },
  { name: "manual-chapter", pdf: "manual", pages: [20, 27] },
  { name: "manual-index", pdf: "manual", pages: [-8, -1] },
];

/** How a sheet is printed, with the options of `pdftoppm`. */
const PRINTS = [
  ["colour", ["-r", "60"]],
  ["grey", ["-r", "60", "-gray"]],
  // The dots of a laser printer that has no grey.
  ["1-bit", ["-r", "150", "-mono"]],
];

/** A page of each kind, and what is done before it is shown. */
export const PAGES = [
  { name: "front", path: "index.html" },
  { name: "machine", path: "tarn-yarrow/index.html" },
  { name: "machines", path: "machines.html" },
  { name: "parts", path: "tarn-yarrow/parts.html" },
  { name: "symptoms", path: "symptoms.html" },
  { name: "system", path: "system/fuel.html" },
  { name: "procedure", path: "procedure/governor-linkage.html" },
  { name: "shop-sheet", path: "tarn-yarrow/float-bowl-shop-sheet.html" },
  { name: "checklist", path: "tarn-yarrow/drive-belt-bench-checklist.html", prepare: fillIn },
  { name: "bench-view", path: "tarn-yarrow/drive-belt-bench-checklist.html", prepare: showBenchView },
  { name: "kit-list", path: "tarn-yarrow/float-bowl-kit-list.html" },
  { name: "fault-table", path: "tarn-sedge/hunts-fault-table.html" },
  { name: "machine-data", path: "tarn-comfrey/machine-data.html" },
  { name: "interval-chart", path: "tarn-comfrey/interval-chart.html" },
  { name: "parts-list", path: "tarn-sedge/parts-list.html" },
  { name: "caution-sheet", path: "tarn-bracken/caution-sheet.html" },
  { name: "where-used", path: "where-used.html" },
  { name: "tools", path: "tools.html" },
  { name: "part-numbers", path: "part-numbers.html" },
  { name: "glossary", path: "glossary.html" },
  { name: "rules", path: "rules/trade.html" },
  { name: "search", path: "index.html", prepare: (page) => search(page, "main jet") },
  { name: "settings", path: "tarn-yarrow/drive-belt-bench-checklist.html", prepare: openMenu },
];
const WIDTHS = [360, 820, 1280];
/** The height of the part of a page that is shown. */
const HEIGHT = 1400;
const COLOURS = ["light", "dark"];

const run = (program, ...options) => execFileSync(program, options.map(String), { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });

/** Begins a job, up to the first step with a message of danger. */
async function fillIn(page) {
  await page.waitForSelector("body.live");
  const ticks = page.locator(".step-tick");
  for (let at = 0; at < 5; at += 1) await ticks.nth(at).click();
}

async function showBenchView(page) {
  await fillIn(page);
  await page.locator(".bench-open").click();
}

async function search(page, typed) {
  await page.locator("#search-field").focus();
  await page.waitForFunction(() => globalThis.benchleafSearch);
  await page.locator("#search-field").fill(typed);
}

async function openMenu(page) {
  const menu = page.locator(".menu");
  if (await menu.isVisible()) await menu.click();
}

/** Puts pictures side by side into one. */
function tile(pictures, columns, to) {
  run("montage", ...pictures, "-tile", `${columns}x`, "-geometry", "+10+10", "-gravity", "north", "-background", "#8a8f94", to);
}

/** The number of pages of a PDF. */
const countOf = (pdf) => Number(/^Pages:\s+(\d+)$/m.exec(run("pdfinfo", pdf))[1]);

function printSheets(pages, folder, work) {
  for (const { name, pdf, pages: range = [1, 6] } of SHEETS) {
    const file = join(pages, `${pdf}.pdf`);
    if (!existsSync(file)) throw new Error(`there is no ${pdf}.pdf`);
    const count = countOf(file);
    const [first, last] = range.map((page) => Math.min(page < 0 ? count + 1 + page : page, count));
    for (const [print, options] of PRINTS) {
      const prefix = join(work, `${name}-${print}`);
      run("pdftoppm", ...options, "-png", "-f", first, "-l", last, file, prefix);
      const made = readdirSync(work).filter((made) => made.startsWith(`${name}-${print}-`)).sort();
      tile(made.map((made) => join(work, made)), Math.min(made.length, 3), join(folder, `paper-${name}-${print}.png`));
    }
  }
}

async function showPages(browser, pages, folder, work) {
  for (const { name, path, prepare } of PAGES) {
    const [file, place] = path.split("#");
    if (!existsSync(join(pages, file))) throw new Error(`there is no ${file}`);
    const shots = [];
    for (const colorScheme of COLOURS) {
      for (const width of WIDTHS) {
        const context = await browser.newContext({ viewport: { width, height: HEIGHT }, colorScheme });
        const page = await context.newPage();
        await page.goto(pathToFileURL(join(pages, file)).href + (place ? `#${place}` : ""));
        await prepare?.(page);
        shots.push(join(work, `page-${name}-${colorScheme}-${width}.png`));
        await page.screenshot({ path: shots.at(-1), animations: "disabled" });
        await context.close();
      }
    }
    tile(shots, WIDTHS.length, join(folder, `page-${name}.png`));
  }
}

/** How the steps of a figure are shown: on a tablet, on a phone in dark colours, and as a printer without colours prints them. */
const STEPS_ON = [
  { name: "tablet", viewport: { width: 820, height: HEIGHT }, colorScheme: "light" },
  { name: "phone", viewport: { width: 390, height: HEIGHT }, colorScheme: "dark" },
  { name: "paper", viewport: { width: 720, height: HEIGHT }, media: "print", options: ["-colorspace", "Gray"] },
];
const STEPS = "figure.whole, .what:has(> svg)";
/** What identifies a figure: the file of a photograph, or the reference to a drawing. One to the shapes of a number is longer. */
const nameOf = (reference) => (reference?.startsWith("#") ? reference.slice(0, "#".length + 5) : reference?.split("/").pop());

/** The figures of all parts lists: their ids, by the references to their drawings. */
async function figuresOf(page, pages) {
  const figures = new Map();
  for (const folder of readdirSync(pages)) {
    const list = join(pages, folder, "parts-list.html");
    if (!existsSync(list)) continue;
    await page.goto(pathToFileURL(list).href);
    const found = await page.locator("section:has(> figure.whole)").evaluateAll((all) =>
      all.map((section) => [section.querySelector("figure use, figure image").getAttribute("href"), section.id]),
    );
    for (const [drawing, id] of found) figures.set(nameOf(drawing), id.replace(/^of-/, ""));
  }
  return figures;
}

/** Every figure in the steps of the shop sheets, each picture once: what shows the same parts is shown for one of its steps. */
async function showFigures(browser, pages, folder, work) {
  const page = await (await browser.newContext()).newPage();
  const figures = await figuresOf(page, pages);
  const known = new Set();
  const steps = [];
  const sheets = readdirSync(pages, { recursive: true }).filter((path) => path.endsWith("-shop-sheet.html")).sort();
  for (const path of sheets) {
    await page.goto(pathToFileURL(join(pages, path)).href);
    const found = await page.locator(STEPS).evaluateAll((all) =>
      all.map((step) => {
        const picture = step.querySelector("svg:has(> :is(use, image))");
        const drawing = picture?.querySelector("use, image").getAttribute("href");
        return { drawing, numbers: [...(picture?.querySelectorAll("text") ?? [])].map((text) => text.textContent).join() };
      }),
    );
    found.forEach(({ drawing, numbers }, at) => {
      const figure = figures.get(nameOf(drawing));
      if (!figure || known.has(`${figure} ${numbers}`)) return;
      known.add(`${figure} ${numbers}`);
      steps.push({ path, at, figure });
    });
  }
  await page.context().close();
  for (const { name, media, options, ...context } of STEPS_ON) {
    const shown = await (await browser.newContext(context)).newPage();
    if (media) await shown.emulateMedia({ media });
    for (const step of steps) {
      const address = pathToFileURL(join(pages, step.path)).href;
      if (shown.url() !== address) await shown.goto(address);
      const shot = join(work, `figure-${steps.indexOf(step)}-${name}.png`);
      await shown.locator(STEPS).nth(step.at).screenshot({ path: shot, animations: "disabled" });
      if (options) run("convert", shot, ...options, shot);
      (step.shots ??= []).push(shot);
    }
    await shown.context().close();
  }
  for (const id of new Set(figures.values())) {
    const shots = steps.filter(({ figure }) => figure === id).flatMap((step) => step.shots);
    if (shots.length) tile(shots, STEPS_ON.length, join(folder, `figure-${id}.png`));
  }
}

/** The most bytes of a picture of the README. */
const MOST = 120_000;

/** Writes a picture of the README, in as many colours as fit. */
function writePicture(from, to, options) {
  for (const colours of [64, 32, 16, 8]) {
    run("convert", from, ...options, "-strip", "-dither", "None", "-colors", colours, "-define", "png:compression-level=9", `png8:${to}`);
    if (statSync(to).size < MOST) return;
  }
  throw new Error(`${to} does not get smaller than ${MOST} bytes`);
}

/** The pictures of the README: a checklist on paper, and on a tablet. */
export async function makePictures(browser, pages, docs, work) {
  mkdirSync(docs, { recursive: true });
  const paper = join(work, "checklist");
  run("pdftoppm", "-r", "75", "-png", "-f", 1, "-l", 1, "-singlefile", join(pages, "tarn-yarrow/drive-belt-bench-checklist.pdf"), paper);
  writePicture(`${paper}.png`, join(docs, "checklist.png"), ["-bordercolor", "#8a8f94", "-border", "1"]);
  const context = await browser.newContext({ viewport: { width: 820, height: 1100 }, colorScheme: "light" });
  const page = await context.newPage();
  await page.goto(pathToFileURL(join(pages, "tarn-yarrow/drive-belt-bench-checklist.html")).href);
  await page.waitForSelector("body.live");
  await page.getByLabel("Job number").fill("2041");
  await page.getByLabel("Job number").blur();
  await showBenchView(page);
  await page.screenshot({ path: join(work, "bench.png"), animations: "disabled" });
  writePicture(join(work, "bench.png"), join(docs, "bench-view.png"), ["-resize", "620x", "-bordercolor", "#8a8f94", "-border", "1"]);
  await context.close();
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [pages, folder, docs] = process.argv.slice(2);
  const work = mkdtempSync(join(tmpdir(), "benchleaf-contact-sheets-"));
  mkdirSync(folder, { recursive: true });
  const browser = await launch();
  try {
    printSheets(pages, folder, work);
    await showPages(browser, pages, folder, work);
    await showFigures(browser, pages, folder, work);
    if (docs) await makePictures(browser, pages, docs, work);
  } finally {
    await browser.close();
    rmSync(work, { recursive: true, force: true });
  }
}
