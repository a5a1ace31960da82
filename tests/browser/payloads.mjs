// Puts texts that would run, load or print something else into every text of a shop's sources, and opens every page that
// is made of them. Nothing may run, nothing may be fetched, and each text is printed as it was typed.
//
// usage: node payloads.mjs TREE [FAMILY...]

import { execFileSync, spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const program = process.env.BENCHLEAF;

/** Each family: the text as it is typed in TOML, and in Markdown. `ran` is a function of the page that must not be called. */
const FAMILIES = {
  elements: ["<img src=x onerror=ran()></script><script>ran()</script>", "\\<img src=x onerror=ran()>\\</script>\\<script>ran()\\</script>"],
  references: ["&lt;svg onload=ran()&gt;&#60;script&#62;ran()", "&lt;svg onload=ran()&gt;&#60;script&#62;ran()"],
  attributes: ["' onmouseover='ran()' autofocus onfocus=ran() x='", "\" onmouseover=\"ran()\" autofocus onfocus=ran() x=\""],
  templates: ["{{ 7 * 7 }}{% include 'x' %}{# x #}", "{{ 7 * 7 }}{% include 'x' %}{# x #}"],
  typesetting: ["#panic() #read('/etc/passwd') $x$ @x @@ \\\\u{41}", "#panic() #read('/etc/passwd') $x$ @x @@"],
  scripts: ["${ran()} `${ran()}` */ ran() /* ]]> --><!--", "${ran()} \\*/ ran() /\\* ]]> --\\>\\<!--"],
  addresses: ["javascript:ran() data:text/html,x https://example.invalid/x.js", "javascript:ran() https://example.invalid/x.js"],
  styles: ["</style><style>*{display:none}</style>;}*{background:url(//example.invalid)}", "\\</style>\\<style>\\*{display:none} ;}\\*{background:url(//example.invalid)}"],
};

/** Every place of a file where a text can be made longer: the file's text before and after it. */
function places(name, text) {
  const ends = [];
  const add = (pattern) => {
    for (const match of text.matchAll(pattern)) ends.push(match.index + match[0].length - match[1].length);
  };
  if (name.endsWith(".toml")) {
    add(/^[\w. -]+= *"[^"\n]*(")\r?$/gm);
  } else {
    const body = text.indexOf("\n+++", 3) + 4;
    add(/^title = "[^"\n]*(")$/gm);
    for (const match of text.matchAll(/^(?!\+\+\+)(?:## |> |\d+\. |[A-Za-z]).*?( \{[^}]*\})?$/gm)) {
      if (match.index > body) ends.push(match.index + match[0].length - (match[1] ?? "").length);
    }
  }
  return ends;
}

/** How a text of TOML is printed. */
const printed = (text) =>
  text
    .replaceAll("\\\\", "\\")
    .replaceAll("&lt;", "<")
    .replaceAll("&gt;", ">")
    .replace(/&#(\d+);/g, (_, code) => String.fromCodePoint(code));

const run = (...words) => spawnSync(program, words, { encoding: "utf8" });
const sources = (folder) => readdirSync(folder, { recursive: true }).filter((name) => /\.(toml|md)$/.test(name));

/** A file with a text added at some of its places. */
function added(name, text, ends, [inToml, inMarkdown]) {
  const body = name.endsWith(".md") ? text.indexOf("\n+++", 3) : text.length;
  let result = text;
  // From the end, so that the places before stay where they are.
  for (const end of ends.toSorted((a, b) => b - a)) {
    result = `${result.slice(0, end)} ${end < body ? inToml : inMarkdown}${result.slice(end)}`;
  }
  return result;
}

/** Of some places of a file, those at which the sources have no error with a text. Writes the file with it at these. */
function accepted(tree, name, ends, texts) {
  const file = join(tree, name);
  const text = readFileSync(file, "utf8");
  const isAccepted = (ends) => {
    writeFileSync(file, added(name, text, ends, texts));
    return run("check", tree).status === 0;
  };
  let kept = ends;
  if (!isAccepted(ends)) {
    kept = ends.filter((end) => isAccepted([end]));
    if (!isAccepted(kept)) throw new Error(`${name}: texts are accepted one by one and not together`);
  }
  return kept;
}

/** Opens a page, and returns what it ran, fetched or contains that it must not. */
async function faults(page, address) {
  const found = [];
  const report = (request) => {
    if (!/^(file|data|blob):/.test(request.url())) found.push(`fetched ${request.url()}`);
  };
  page.on("request", report);
  await page.goto(address);
  await page.evaluate(() => {
    for (const element of document.querySelectorAll("a, button, summary, input, td, p, li")) {
      element.dispatchEvent(new MouseEvent("mouseover", { bubbles: true }));
    }
  });
  found.push(
    ...(await page.evaluate(() => {
      const faults = window.calls.map((what) => `ran ${what}`);
      for (const element of document.querySelectorAll("*")) {
        for (const { name, value } of element.attributes) {
          if (name.startsWith("on") || /^\s*(javascript|vbscript):/i.test(value)) {
            faults.push(`<${element.localName} ${name}="${value}">`);
          }
        }
      }
      if (getComputedStyle(document.body).display === "none") faults.push("the page is hidden");
      return faults;
    })),
  );
  page.off("request", report);
  return found;
}

const [base, ...families] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
const page = await browser.newPage();
await page.addInitScript(() => {
  window.calls = [];
  for (const name of ["ran", "alert", "prompt", "confirm"]) window[name] = (...words) => window.calls.push(`${name} ${words}`);
});
const counts = { places: 0, pages: 0, pdfs: 0 };
const problems = [];
// Where a plain word is an error, the field is no text.
const textPlaces = new Map();
{
  const folder = mkdtempSync(join(tmpdir(), "benchleaf-payloads-"));
  const tree = join(folder, "tree");
  cpSync(base, tree, { recursive: true });
  for (const name of sources(tree)) {
    const ends = places(name, readFileSync(join(tree, name), "utf8"));
    textPlaces.set(name, accepted(tree, name, ends, ["more", "more"]));
  }
  rmSync(folder, { recursive: true, force: true });
}
for (const [family, texts] of Object.entries(FAMILIES)) {
  if (families.length > 0 && !families.includes(family)) continue;
  const folder = mkdtempSync(join(tmpdir(), "benchleaf-payloads-"));
  try {
    const [tree, output] = [join(folder, "tree"), join(folder, "output")];
    cpSync(base, tree, { recursive: true });
    let taken = 0;
    for (const [name, ends] of textPlaces) taken += accepted(tree, name, ends, texts).length;
    counts.places += taken;
    if (taken < 15) problems.push(`${family}: only ${taken} places took the text`);
    const made = run("publish", tree, "--output", output);
    if (made.status !== 0) {
      problems.push(`${family}: publish ended with ${made.status}\n${made.stderr}`);
      continue;
    }
    const files = readdirSync(output, { recursive: true });
    for (const file of files.filter((name) => name.endsWith(".html"))) {
      const found = await faults(page, pathToFileURL(join(output, file)).href);
      counts.pages += 1;
      problems.push(...found.map((fault) => `${family}: ${file}: ${fault}`));
    }
    // What is typed is printed.
    const [typed] = printed(texts[0]).split(" ").sort((a, b) => b.length - a.length);
    const sheet = files.find((name) => /-shop-sheet\.pdf$/.test(name));
    for (const file of files.filter((name) => name.endsWith(".pdf"))) {
      const text = execFileSync("pdftotext", ["-raw", join(output, file), "-"], { encoding: "utf8" });
      counts.pdfs += 1;
      const letters = (text) => text.replace(/\s/g, "");
      if (file === sheet && !letters(text).includes(letters(typed))) {
        problems.push(`${family}: ${file} does not print ${typed}`);
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
await browser.close();
if (problems.length > 0) {
  console.error(problems.slice(0, 20).join("\n"));
  process.exit(1);
}
console.log(`${counts.places} ${counts.pages} ${counts.pdfs}`);
