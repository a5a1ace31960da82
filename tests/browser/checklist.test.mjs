// The live checklist in a real browser, opened from the disk, as in a shop without a server.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { makePages, overflow, setUp } from "./pages.mjs";

/** Its readings: belt deflection 10 mm to 14 mm, governed speed 3000 rpm to 3200 rpm. */
const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
const OTHER_SHEET = "tarn-yarrow/spark-plug-bench-checklist.html";

const session = setUp({ viewport: { width: 820, height: 1180 }, pages: makePages });

async function openSheet(sheet = SHEET) {
  const page = await session.open(session.pages.address(sheet));
  await page.waitForSelector("body.live");
  return page;
}

/** The elements of the belt's reading: box, verdict and remedies. */
function belt(page) {
  const li = page.locator(".reading", { hasText: "belt deflection" }).first();
  return {
    box: li.getByRole("textbox"),
    verdict: li.locator("output"),
    over: li.locator(".if-over"),
    under: li.locator(".if-under"),
  };
}

const position = (page, name) => page.getByRole("radio", { name, exact: true }).first();
const jobNumber = (page) => page.getByLabel("Job number");
const status = (page) => page.locator(".said[role=status]");

async function fill(page) {
  await jobNumber(page).fill("2041");
  await jobNumber(page).blur();
  await page.locator("#step-1-tick").click();
  await page.locator("#step-1-initials").fill("jb");
  await belt(page).box.fill("18,5");
  await belt(page).box.blur();
  await position(page, "rear slot").check();
  await page.locator(".bag input[type=text]").first().fill("B-17");
  await page.locator(".hold input").first().fill("Ada Quill");
  await page.locator("#stop-1-stopped").check();
  await page.locator("#sign-off-0-2").fill("Rowan Field");
  await page.getByLabel("Step or table").fill("Step 11: measure nearer the idler");
}

async function assertFilled(page) {
  assert.equal(await jobNumber(page).inputValue(), "2041");
  assert.equal(await page.locator("#step-1-tick").getAttribute("aria-pressed"), "true");
  assert.equal(await page.locator("#step-2-tick").getAttribute("aria-pressed"), "false");
  assert.equal(await page.locator("#step-1-initials").inputValue(), "jb");
  assert.equal(await belt(page).box.inputValue(), "18,5");
  assert.match(await belt(page).verdict.textContent(), /^over$/);
  assert.ok(await position(page, "rear slot").isChecked());
  assert.ok(!(await position(page, "front slot").isChecked()));
  assert.equal(await page.locator(".bag input[type=text]").first().inputValue(), "B-17");
  assert.equal(await page.locator(".hold input").first().inputValue(), "Ada Quill");
  assert.ok(await page.locator("#stop-1-stopped").isChecked());
  assert.equal(await page.locator("#sign-off-0-2").inputValue(), "Rowan Field");
  assert.match(await page.getByLabel("Step or table").inputValue(), /nearer the idler/);
  assert.match(await page.locator(".progress").textContent(), /^1 of \d+ done Next: step 2$/);
}

async function assertEmpty(page) {
  assert.equal(await page.locator("[aria-pressed=true], input:checked").count(), 0);
  const typed = page.locator(".field > :is(input, textarea):not([list])");
  assert.deepEqual(new Set(await typed.evaluateAll((inputs) => inputs.map((input) => input.value))), new Set([""]));
}

async function exportFile(page, button = "Export") {
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: button, exact: true }).click(),
  ]);
  const path = join(session.pages.folder, download.suggestedFilename());
  await download.saveAs(path);
  return path;
}

async function importFile(page, path) {
  await page.locator("#import").setInputFiles(path);
  await page.waitForFunction(() => document.querySelector(".said[role=status]").textContent);
}

test("entries are restored after the page was closed", async () => {
  const page = await openSheet();
  await fill(page);
  await assertFilled(page);
  await page.reload();
  await assertFilled(page);
  await page.close();
  await assertFilled(await openSheet());
});

test("a reading is compared with its limits, with a decimal comma or point", async () => {
  const page = await openSheet();
  const { box, verdict, over, under } = belt(page);
  const cases = [
    ["14", "within"],
    ["14,0", "within"],
    ["14.01", "over"],
    ["14,01", "over"],
    ["10", "within"],
    ["9.9", "under"],
    [" 1 2 ", "within"],
    ["-12", "below what is possible"],
    ["12 mm", "not a number"],
    ["12.5.1", "not a number"],
    ["", ""],
  ];
  for (const [typed, expected] of cases) {
    await box.fill(typed);
    await box.blur();
    assert.equal(await verdict.textContent(), expected, typed);
    const due = [over, under].map((remedy) => remedy.evaluate((element) => element.classList.contains("due")));
    assert.deepEqual(await Promise.all(due), [expected === "over", expected === "under"], typed);
  }
  // After a moment, without leaving the box.
  await box.pressSequentially("15");
  await page.waitForFunction(() => document.querySelector("output.verdict").textContent === "over");
});

test("a number that may have a separator of thousands is queried", async () => {
  const page = await openSheet();
  const speed = page.locator(".reading", { hasText: "governed speed" }).first();
  for (const [typed, expected] of [
    ["3150", /^within$/],
    ["3 150", /^within$/],
    ["3,150", /^3150 or 3\.15\?/],
    ["3.150", /^3150 or 3\.15\?/],
    ["2,500", /^2500 or 2\.5\?/],
    ["2.50", /^under$/],
  ]) {
    await speed.getByRole("textbox").fill(typed);
    await speed.getByRole("textbox").blur();
    assert.match(await speed.locator("output").textContent(), expected, typed);
  }
});

test("a second tap undoes a choice", async () => {
  const page = await openSheet();
  const option = page.locator("label.option", { hasText: "rear slot" });
  await option.click();
  assert.ok(await position(page, "rear slot").isChecked());
  await option.click();
  assert.ok(!(await position(page, "rear slot").isChecked()));
  await page.reload();
  assert.ok(!(await position(page, "rear slot").isChecked()));
});

test("entries are exported, cleared at a second tap, and imported", async () => {
  const page = await openSheet();
  await fill(page);
  const file = await exportFile(page);
  assert.match(file, /tarn-yarrow-drive-belt-bench-checklist-2041\.json$/);
  const record = JSON.parse(readFileSync(file, "utf8"));
  assert.deepEqual(
    [record.format, record.version, record.path, record.job],
    ["benchleaf-checklist", 1, SHEET.replace(".html", ""), "2041"],
  );
  assert.equal(record.entries["step-1-tick"].value, true);
  assert.ok(!Number.isNaN(Date.parse(record.entries["step-1-tick"].at)));

  const clear = page.locator(".acts button").last();
  await clear.click();
  assert.match(await clear.textContent(), /^Tap again/);
  await assertFilled(page);
  await clear.click();
  await assertEmpty(page);
  await page.reload();
  await assertEmpty(page);

  await importFile(page, file);
  await assertFilled(page);
  await page.reload();
  await assertFilled(page);
});

test("a file of another sheet or mark, or a damaged one, is refused entirely", async () => {
  const other = await openSheet(OTHER_SHEET);
  await other.locator("#step-1-tick").click();
  const ofOther = await exportFile(other);
  await other.close();
  const page = await openSheet();
  await page.locator("#step-2-tick").click();
  const own = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  const at = own.saved;
  const spoilt = {
    "other-mark": [{ ...own, mark: "00000000" }, /with mark 00000000/],
    "no-place": [{ ...own, entries: { ...own.entries, "step-999-tick": { value: true, at } } }, /does not fit this sheet/],
    "wrong-type": [{ ...own, entries: { "step-1-tick": { value: "yes", at } } }, /does not fit this sheet/],
    "no-such-position": [{ ...own, entries: { "step-12-0": { value: "attic", at } } }, /does not fit this sheet/],
    "no-time": [{ ...own, entries: { "step-1-tick": { value: true } } }, /does not fit this sheet/],
    version: [{ ...own, version: 2 }, /another version/],
    format: [{ entries: own.entries }, /contains no checklist entries/],
    text: ["{", /contains no checklist entries/],
  };
  const files = [[ofOther, /another sheet, tarn-yarrow\/spark-plug-bench-checklist/]];
  for (const [name, [content, message]] of Object.entries(spoilt)) {
    const path = join(session.pages.folder, `${name}.json`);
    writeFileSync(path, typeof content === "string" ? content : JSON.stringify(content));
    files.push([path, message]);
  }
  for (const [path, message] of files) {
    await page.evaluate(() => document.querySelector(".said[role=status]").replaceChildren());
    await importFile(page, path);
    assert.match(await status(page).textContent(), message, path);
    assert.equal(await page.locator("[aria-pressed=true]").count(), 1, path);
    assert.equal(await page.locator("#step-2-tick").getAttribute("aria-pressed"), "true", path);
  }
});

test("a draft moves to its job number, and jobs are kept separately", async () => {
  const page = await openSheet();
  const pressed = () => page.locator("[aria-pressed=true]").count();
  const number = async (text) => {
    await jobNumber(page).fill(text);
    await jobNumber(page).blur();
  };
  await page.locator("#step-1-tick").click();
  await number("1");
  assert.equal(await pressed(), 1);
  await number("2");
  assert.equal(await pressed(), 0);
  await page.locator("#step-3-tick").click();
  await page.locator("#step-4-tick").click();
  await number("1");
  assert.equal(await pressed(), 1);
  await number("2");
  assert.equal(await pressed(), 2);
  await number("");
  assert.equal(await pressed(), 0, "nothing is left of the draft");
  // A corrected typing error: the same entries under another number.
  await number("2");
  await number("3");
  assert.equal(await pressed(), 0);
  await page.getByRole("button", { name: /move the entries here/ }).click();
  assert.equal(await pressed(), 2);
  await page.reload();
  assert.equal(await pressed(), 2);
  assert.equal(await jobNumber(page).inputValue(), "3");
});

test("entries of a sheet that has changed are offered, not applied", async () => {
  const page = await openSheet();
  await fill(page);
  // Makes the stored entries those of an earlier version of the sheet.
  await page.evaluate(() => {
    for (const name of Object.keys(localStorage)) {
      const text = localStorage.getItem(name);
      localStorage.removeItem(name);
      const mark = JSON.parse(document.getElementById("live").textContent).mark;
      localStorage.setItem(name.replace(mark, "0ld0ld00"), text.replace(mark, "0ld0ld00"));
    }
  });
  await page.reload();
  await assertEmpty(page);
  assert.match(await page.locator(".other").textContent(), /Job 2041.*mark 0ld0ld00/);
  const record = JSON.parse(readFileSync(await exportFile(page, "Export those entries"), "utf8"));
  assert.equal(record.entries["step-1-initials"].value, "jb");
  assert.equal(record.mark, "0ld0ld00");
});

test("entries without a place on the sheet are kept for the export", async () => {
  const page = await openSheet();
  await fill(page);
  await page.evaluate(() => {
    const name = Object.keys(localStorage).find((key) => key.includes('"2041"'));
    localStorage.setItem(name, localStorage.getItem(name).replace("step-1-initials", "step-0-x"));
  });
  await page.reload();
  assert.equal(await belt(page).box.inputValue(), "18,5");
  assert.equal(await page.locator("#step-1-initials").inputValue(), "");
  await page.locator("#step-2-tick").click();
  const record = JSON.parse(readFileSync(await exportFile(page, "Export those entries"), "utf8"));
  assert.equal(record.entries["step-0-x"].value, "jb");
});

test("if the browser cannot save entries, the page says so and still works", async () => {
  await session.context.addInitScript(() => {
    for (const name of ["getItem", "setItem", "removeItem"]) {
      Storage.prototype[name] = () => {
        throw new DOMException("no", "SecurityError");
      };
    }
  });
  const page = await openSheet();
  await fill(page);
  await assertFilled(page);
  assert.match(await page.locator("[role=alert]").textContent(), /cannot save entries/);
  const record = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  assert.equal(record.entries["step-1-initials"].value, "jb");
});

test("a timer continues after a reload and keeps its time", async () => {
  await session.context.clock.install({ time: new Date("2026-03-02T09:00:00Z") });
  const page = await openSheet();
  const timer = page.locator("#step-8-timer");
  await timer.click();
  await session.context.clock.runFor(65000);
  assert.match(await timer.textContent(), /^Stop 1:0[4-6]/);
  await page.reload();
  await session.context.clock.runFor(10000);
  assert.match(await timer.textContent(), /^Stop 1:1[56]/);
  await timer.click();
  const taken = await timer.textContent();
  await session.context.clock.runFor(60000);
  assert.equal(await timer.textContent(), taken);
  await page.reload();
  assert.equal(await timer.textContent(), taken);
});

test("the printed sheet has the entries, and an empty one no controls", async () => {
  const page = await openSheet();
  const text = async (name) => {
    const path = join(session.pages.folder, name);
    await page.pdf({ path, preferCSSPageSize: true });
    return execFileSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" });
  };
  const empty = await text("empty.pdf");
  await fill(page);
  const long = "a long remark on paper, ".repeat(12);
  await page.getByLabel("Step or table").fill(long);
  const filled = await text("filled.pdf");
  for (const typed of ["2041", "18,5", "B-17", "Ada Quill", "Rowan Field", "over", "JB"]) {
    assert.ok(filled.includes(typed), typed);
    if (typed !== "over") assert.ok(!empty.includes(typed), typed);
  }
  assert.equal(filled.match(/a\s+long\s+remark\s+on\s+paper/g)?.length, 12);
  for (const chrome of ["Export", "Import", "Clear", "Start timer", "done", "Next:"]) {
    const lines = (sheet) => sheet.split("\n").filter((line) => line.includes(chrome)).length;
    const plain = chrome === "done" ? lines(empty) : 0;
    assert.equal(lines(filled), plain, chrome);
  }
});

test("an empty sheet prints as it does without the script", async () => {
  const without = await session.open(session.pages.address(SHEET), { javaScriptEnabled: false });
  const page = await openSheet();
  /** Every word with its page and position in points. */
  const words = async (from, name) => {
    const path = join(session.pages.folder, name);
    await from.pdf({ path, preferCSSPageSize: true });
    const layout = execFileSync("pdftotext", ["-bbox", path, "-"], { encoding: "utf8" });
    return layout.split("\n").filter((line) => /<(page|word) /.test(line));
  };
  const [live, still] = [await words(page, "live.pdf"), await words(without, "plain.pdf")];
  assert.ok(live.length > 500);
  const parted = live.findIndex((word, index) => word !== still[index]);
  assert.equal(live[parted], still[parted]);
  assert.equal(live.length, still.length);
});

test("everything can be used with the keyboard alone", async () => {
  const page = await openSheet();
  const focused = () => page.evaluate(() => document.activeElement.id);
  const tabTo = async (id) => {
    for (let presses = 0; presses < 400; presses += 1) {
      if ((await focused()) === id) return;
      await page.keyboard.press("Tab");
    }
    assert.fail(`${id} is not reached`);
  };
  const isSeen = () =>
    page.evaluate(() => {
      const active = document.activeElement;
      const drawn = active.classList.contains("unseen") ? active.nextElementSibling : active;
      const { outlineStyle, outlineWidth } = getComputedStyle(drawn);
      const { top, bottom } = drawn.getBoundingClientRect();
      const bar = document.querySelector(".progress").getBoundingClientRect();
      return outlineStyle !== "none" && parseFloat(outlineWidth) >= 2 && top >= bar.bottom && bottom <= innerHeight;
    });
  const pressed = (id) => page.locator(`#${id}`).getAttribute("aria-pressed");
  await tabTo("step-1-tick");
  await page.keyboard.press("Space");
  assert.equal(await pressed("step-1-tick"), "true");
  await page.keyboard.press("Enter");
  assert.equal(await pressed("step-1-tick"), "false");
  await page.keyboard.press("Enter");
  await tabTo("step-2-tick");
  assert.ok(await isSeen(), "the focus is seen on a step");

  await tabTo(await belt(page).box.getAttribute("id"));
  assert.ok(await isSeen(), "the focus is seen on a reading");
  await page.keyboard.type("9,5");
  await page.keyboard.press("Enter");
  assert.equal(await belt(page).verdict.textContent(), "under");

  await tabTo(await position(page, "front slot").getAttribute("id"));
  assert.ok(await isSeen(), "the focus is seen on a position");
  await page.keyboard.press("Space");
  assert.ok(await position(page, "front slot").isChecked());
  await page.keyboard.press("ArrowRight");
  assert.ok(await position(page, "rear slot").isChecked());
  await page.keyboard.press("Delete");
  assert.ok(!(await position(page, "rear slot").isChecked()));
  await page.keyboard.press("Enter");
  assert.ok(await position(page, "rear slot").isChecked());
  await tabTo("step-13-tick");
  // Backwards, because the progress bar could cover the focused element.
  for (let presses = 0; presses < 25; presses += 1) {
    await page.keyboard.press("Shift+Tab");
    assert.ok(await isSeen(), `the focus is seen on ${await focused()}`);
  }
  await page.locator(".next").focus();
  await page.keyboard.press("Enter");
  assert.equal(await focused(), "step-2-tick");
});

test("touch targets are at least 44 px, and ids are unique", async () => {
  for (const width of [360, 820, 1280]) {
    const page = await openSheet();
    await page.setViewportSize({ width, height: 900 });
    const small = await page.evaluate(() => {
      const controls = document.querySelectorAll("main :is(button, input, textarea, .next)");
      return [...controls]
        .map((control) => [control.id || control.textContent, (control.classList.contains("unseen") ? control.parentElement : control).getBoundingClientRect()])
        .filter(([, { width, height }]) => width < 44 || height < 44)
        .map(([name, { width, height }]) => `${name}: ${width} x ${height}`);
    });
    assert.deepEqual(small, [], `${width} px`);
    const wide = await overflow(page);
    assert.ok(wide <= 0, `the page is ${wide} px too wide at ${width} px`);
    const twice = await page.evaluate(() => {
      const ids = [...document.querySelectorAll("[id]")].map((element) => element.id);
      return ids.filter((id, index) => ids.indexOf(id) !== index);
    });
    assert.deepEqual(twice, []);
    await page.close();
  }
});

test("the script uses the page's language", async () => {
  const page = await session.open(session.makePages("es").address(SHEET));
  assert.equal(await page.locator("html").getAttribute("lang"), "es");
  assert.match(await page.locator(".progress").textContent(), /^Hecho: 0 de \d+ Siguiente: paso 1$/);
  assert.deepEqual(await page.locator(".acts > *").allTextContents(), ["Exportar", "Importar", "Borrar"]);
  await page.locator(".reading input").first().fill("18,5");
  await page.locator(".reading input").first().blur();
  assert.equal(await page.locator("output").first().textContent(), "por encima");
});

test("controls are visible with forced colours", async () => {
  const page = await openSheet();
  await page.emulateMedia({ forcedColors: "active" });
  await fill(page);
  const seen = await page.evaluate(() => {
    const mark = getComputedStyle(document.querySelector("#step-1-tick > .tick"), "::after");
    const box = getComputedStyle(document.querySelector("#step-2-tick > .tick"));
    const input = getComputedStyle(document.querySelector(".reading input"));
    const ground = getComputedStyle(document.body).backgroundColor;
    return [mark.borderRightColor, box.borderTopColor, input.borderTopColor].map((colour) => colour !== ground);
  });
  assert.deepEqual(seen, [true, true, true]);
});

test("the script runs on every checklist without an error", async () => {
  const sheets = session.pages.list("tarn-sedge").filter((name) => name.includes("bench-checklist"));
  assert.ok(sheets.length > 5);
  for (const sheet of sheets) {
    const page = await openSheet(sheet);
    assert.equal(await page.locator("main [aria-hidden=true].write:not(.paper)").count(), 0, sheet);
    await page.close();
  }
});
