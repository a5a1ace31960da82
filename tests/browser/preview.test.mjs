// The preview in a real browser: pages are reloaded after a change of the sources, and show the findings.

import assert from "node:assert/strict";
import { test } from "node:test";
import { axeViolations, overflow, setUpPreview } from "./pages.mjs";

const SHEET = "tarn-yarrow/air-cleaner-shop-sheet.html";
const CHECKLIST = "tarn-yarrow/air-cleaner-bench-checklist.html";
const SOURCE = "air/air-cleaner.md";
/** Without it, the job has an error: removed parts are not fitted again. */
const BACK = "## Put back {.reverse}";
const TITLE = /^title = "(.*)"$/m;

let preview;
const session = setUpPreview((started) => (preview = started));

const opened = (path = SHEET) => session.open(preview.address(path));
const panel = (page) => page.getByRole("region", { name: "Preview" });
const toggle = (page) => panel(page).getByRole("button");
const list = (page) => panel(page).getByRole("group", { name: "Findings" });
const title = () => TITLE.exec(preview.read(SOURCE))[1];
const retitle = (to) => preview.edit(SOURCE, `title = "${title()}"`, `title = "${to}"`);
const heading = (page, text) => page.getByRole("heading", { level: 1, name: text, exact: true });

/** A text that is lost when the page is reloaded. */
const markLoad = (page) => page.evaluate(() => (window.firstLoad = true));
const isFirstLoad = (page) => page.evaluate(() => window.firstLoad === true);

async function breakSource(page) {
  preview.edit(SOURCE, BACK, "## Put back");
  await list(page).waitFor();
}

test("an edit appears without a reload by hand, and the page keeps its scroll position", async () => {
  const page = await opened();
  const step = page.locator("#step-12");
  await step.evaluate((element) => element.scrollIntoView());
  await page.mouse.wheel(0, 60);
  await page.waitForFunction(() => scrollY > 800);
  await page.waitForTimeout(100);
  const before = await step.evaluate((element) => element.getBoundingClientRect().top);
  await markLoad(page);
  retitle("Air cleaner: look and brush");
  await heading(page, "Air cleaner: look and brush").waitFor();
  assert.ok(!(await isFirstLoad(page)));
  const now = await step.evaluate((element) => element.getBoundingClientRect().top);
  assert.ok(Math.abs(now - before) < 2, `${before} px from the top, and then ${now}`);

  // Text that is added above does not move the visible text.
  preview.edit(SOURCE, "\n+++\n\n", `\n+++\n\n${"A long word before the work. ".repeat(60)}\n\n`);
  await page.getByText("A long word before the work.").first().waitFor();
  // Long enough for the browser to restore its own scroll position.
  await page.waitForTimeout(500);
  const later = await step.evaluate((element) => element.getBoundingClientRect().top);
  assert.ok(Math.abs(later - before) < 2, `${before} px from the top, and then ${later}`);
});

test("an edit of another page does not reload this one", async () => {
  const page = await opened("tarn-yarrow/machine-data.html");
  const other = await opened();
  await markLoad(page);
  retitle("Air cleaner: look and brush");
  await heading(other, "Air cleaner: look and brush").waitFor();
  await page.waitForTimeout(200);
  assert.ok(await isFirstLoad(page));
  assert.equal(await panel(page).count(), 0);
});

/** Follows the link of the first finding to the page of its rule. */
async function followRule(page) {
  const link = list(page).getByRole("listitem").first().getByRole("link");
  const rule = await link.innerText();
  await link.click();
  await page.waitForURL((url) => url.hash === `#${rule}`);
  assert.ok((await page.locator(`section#${rule} h2`).innerText()).startsWith(rule));
}

test("an error is shown with its file and line, over the last good page, until it is fixed", async () => {
  const page = await opened();
  retitle("Air cleaner: half done");
  await heading(page, "Air cleaner: half done").waitFor();
  const good = await page.locator("main").innerText();
  await markLoad(page);
  await breakSource(page);
  const finding = list(page).getByRole("listitem").first();
  const text = await finding.innerText();
  assert.match(text, /^error section Put back is empty/);
  const [, number] = /air\/air-cleaner\.md:(\d+):\d+/.exec(text);
  const line = preview.read(SOURCE).split("\n")[Number(number) - 1];
  assert.equal(await finding.locator("pre").first().innerText(), line);
  assert.ok(line.includes(await finding.locator("mark").first().innerText()));
  assert.match(text, /write its steps/);
  assert.match(await toggle(page).innerText(), /^\d+ errors$/);
  assert.match(await panel(page).innerText(), /this is the last version without errors/);
  assert.ok(await isFirstLoad(page), "the page was left alone");
  assert.ok((await page.locator("main").innerText()) === good);

  // A page that is opened now shows the error at once.
  await page.reload();
  await list(page).waitFor();
  const spoken = page.getByRole("status").last();
  assert.match(await spoken.textContent(), /^\d+ errors\. The pages were not updated/);
  await followRule(page);
  await page.goBack();
  await list(page).waitFor();
  preview.edit(SOURCE, "## Put back", BACK);
  await panel(page).waitFor({ state: "hidden" });
  assert.equal(await spoken.textContent(), "No findings.");
});

test("the findings can be hidden and shown, with the keyboard too, and stay so", async () => {
  const page = await opened();
  await breakSource(page);
  assert.equal(await toggle(page).getAttribute("aria-expanded"), "true");
  await page.keyboard.press("Escape");
  await list(page).waitFor({ state: "hidden" });
  assert.ok(await toggle(page).isVisible());
  await page.reload();
  await toggle(page).waitFor();
  assert.equal(await toggle(page).getAttribute("aria-expanded"), "false");
  await toggle(page).focus();
  await page.keyboard.press("Enter");
  await list(page).waitFor();
  await page.keyboard.press("Tab");
  const focused = () => page.evaluate(() => {
    const host = document.activeElement;
    return (host.shadowRoot?.activeElement ?? host).id;
  });
  assert.equal(await focused(), "findings");
  const scrolled = () => list(page).evaluate((element) => element.scrollTop);
  await page.keyboard.press("End");
  await page.waitForFunction(() => true);
  await page.waitForTimeout(300);
  assert.ok((await scrolled()) > 0);
  await page.keyboard.press("Escape");
  await list(page).waitFor({ state: "hidden" });
  assert.match(await toggle(page).evaluate((element) => element.getRootNode().activeElement?.innerText), /errors/);
});

test("advice and warnings are hidden at first", async () => {
  const page = await opened();
  preview.write("tool.toml", "# Nothing reads this.\n");
  await toggle(page).waitFor();
  assert.equal(await toggle(page).innerText(), "1 piece of advice");
  assert.equal(await toggle(page).getAttribute("aria-expanded"), "false");
  await toggle(page).click();
  assert.match(await list(page).innerText(), /^advice tool\.toml is ignored/);
});

test("on a phone most of the page stays visible, and its end can be reached", async () => {
  const page = await opened();
  await page.setViewportSize({ width: 360, height: 740 });
  await breakSource(page);
  const box = await panel(page).boundingBox();
  assert.ok(box.height <= 740 * 0.41 && box.y + box.height <= 741, JSON.stringify(box));
  await page.keyboard.press("End");
  await page.waitForTimeout(300);
  await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
  const end = await page.locator(".foot").evaluate((element) => element.getBoundingClientRect().bottom);
  assert.ok(end <= box.y, `${end} px is above ${box.y} px`);
  assert.equal(await overflow(page), 0);
});

test("the findings are not printed", async () => {
  const page = await opened();
  await breakSource(page);
  await page.emulateMedia({ media: "print" });
  assert.ok(!(await panel(page).isVisible()));
  assert.equal(await page.evaluate(() => getComputedStyle(document.body).marginBottom), "0px");
});

test("entries in a checklist are not lost", async () => {
  const page = await opened(CHECKLIST);
  await page.waitForSelector("body.live");
  await page.locator("#step-1-tick").click();
  await page.getByLabel("Job number").fill("2041");
  await page.getByLabel("Job number").blur();
  const signature = page.locator("#stop-1-signed");
  await signature.pressSequentially("jb");
  await markLoad(page);
  // The styles are not part of the content, so the mark of the sheet is unchanged.
  preview.write("../templates/html/shop.css", ".sheet-kind { letter-spacing: 0.01em; }\n");
  await page.waitForFunction(() => !window.firstLoad && document.querySelector("body.live"));
  assert.equal(await signature.inputValue(), "jb");
  assert.equal(await page.locator("#step-1-tick").getAttribute("aria-pressed"), "true");
  assert.equal(await page.getByLabel("Job number").inputValue(), "2041");
  // The focus and the cursor are unchanged.
  await page.waitForFunction(() => document.activeElement?.id === "stop-1-signed");
  await page.keyboard.type("q");
  assert.equal(await signature.inputValue(), "jbq");

  // Entries belong to steps, so they stay when the title changes.
  await markLoad(page);
  retitle("Air cleaner: look and brush");
  await page.waitForFunction(() => !window.firstLoad && document.querySelector("body.live"));
  assert.equal(await page.locator("#step-1-tick").getAttribute("aria-pressed"), "true");
});

test("a page that is no longer made says so, and comes back", async () => {
  const [path, source] = ["tarn-yarrow/season-service-shop-sheet.html", "running/season-service.md"];
  const page = await opened(path);
  const text = preview.read(source);
  preview.take(source);
  await panel(page).getByText("This page is no longer published.").waitFor();
  assert.ok(await page.getByRole("heading", { level: 1 }).isVisible());
  // The browser reports this status by itself.
  session.allow(/status of 404/);
  const late = await opened(path);
  await heading(late, "Page not found").waitFor();
  assert.equal(await panel(late).count(), 0);
  preview.write(source, text);
  await panel(page).waitFor({ state: "hidden" });
  await heading(late, TITLE.exec(text)[1]).waitFor();
});

test("a page shows that the preview has ended, and reconnects to the next one", async () => {
  const page = await opened();
  await page.waitForTimeout(100);
  assert.equal(await preview.end(), 0);
  const lost = panel(page).getByText("The preview server does not respond");
  await lost.waitFor();
  await markLoad(page);
  await preview.again();
  await lost.waitFor({ state: "hidden" });
  assert.ok(await isFirstLoad(page), "the page is the same");
  retitle("Air cleaner: look and brush");
  await heading(page, "Air cleaner: look and brush").waitFor();
});

test("before there are pages, a placeholder shows the findings", async () => {
  preview.edit(SOURCE, BACK, "## Put back");
  await preview.end();
  await preview.again();
  // The browser reports this status by itself.
  session.allow(/status of 503/);
  const page = await opened();
  await heading(page, "There are no pages yet").waitFor();
  assert.match(await list(page).innerText(), /air\/air-cleaner\.md:\d+:\d+/);
  assert.ok(!(await panel(page).innerText()).includes("before the errors"));
  await followRule(page);
  await page.goBack();
  await list(page).waitFor();
  preview.edit(SOURCE, "## Put back", BACK);
  await heading(page, title()).waitFor();
});

test("the panel uses the page's language", async () => {
  await session.startPreview("es");
  const page = await opened();
  preview.edit(SOURCE, BACK, "## Put back");
  const region = page.getByRole("region", { name: "Vista previa" });
  await region.getByText("Las páginas no se han actualizado").waitFor();
  assert.match(await region.getByRole("button").innerText(), /^\d+ errores$/);
  assert.equal(await region.locator("ol").getAttribute("lang"), "en-GB");
});

test("markup in a source is escaped in the findings", async () => {
  const page = await opened();
  const hostile = "<img src=x onerror=window.bitten=1></script><script>window.bitten=1</script>";
  preview.edit(SOURCE, BACK, `## Put back\n\n1. [](remove:${hostile.replace(/[ ()]/g, "_")}) ${hostile}`);
  await list(page).waitFor();
  await page.reload();
  await list(page).waitFor();
  assert.ok((await list(page).innerText()).includes("<script>window.bitten=1</script>"));
  assert.equal(await page.evaluate(() => window.bitten), undefined);
});

test("an error in the shop's template is shown with its line, and the page stays", async () => {
  const page = await opened();
  preview.write("../templates/html/wrong_here.html", "{% if %}");
  await list(page).waitFor();
  const drawing = list(page).locator("pre");
  assert.match(await drawing.innerText(), /wrong_here\.html:1:7\n/);
  assert.match(await drawing.innerText(), /^1 \| \{% if %\}$/m);
  assert.ok(await heading(page, title()).isVisible());
  preview.take("../templates/html/wrong_here.html");
  await panel(page).waitFor({ state: "hidden" });
});

test("axe-core finds nothing while the findings are shown", async () => {
  const page = await opened();
  await breakSource(page);
  preview.write("tool.toml", "# Nothing reads this.\n");
  await toggle(page).getByText("advice").waitFor();
  for (const isOpen of [true, false]) {
    for (const colorScheme of ["light", "dark"]) {
      for (const width of [360, 1280]) {
        await page.emulateMedia({ colorScheme });
        await page.setViewportSize({ width, height: 900 });
        assert.deepEqual(await axeViolations(page), [], `${colorScheme}, ${width} px`);
      }
    }
    if (isOpen) await page.keyboard.press("Escape");
  }
});
