// The live checklist in a real browser, opened from the disk, as in a shop without a server.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { download, makePages, overflow, setUp, test } from "./pages.mjs";

/** Its readings: belt deflection 10 mm to 14 mm, governed speed 3000 rpm to 3200 rpm. */
const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
const SOURCE = "driveline/drive-belt.md";
const OTHER_SHEET = "tarn-yarrow/spark-plug-bench-checklist.html";
/** It has a hold in the middle, after the leak check, and one at the end. */
const HELD_SHEET = "tarn-yarrow/leak-check-bench-checklist.html";

const session = setUp({ viewport: { width: 820, height: 1180 }, serve: true, pages: makePages });

/** The sheets of the drive belt alone, from sources that the test changes. */
const makeSheets = (change) =>
  session.makePages("en-GB", change, ["--machine", "tarn-yarrow", "--procedure", "drive-belt"]);

async function openSheet(sheet = SHEET, pages = session.pages) {
  const page = await session.open(pages.address(sheet));
  await page.waitForSelector("body.live");
  return page;
}

/** The step whose text begins so. */
const step = (page, text) => page.locator(".lines > li", { has: page.locator(".what > p:first-of-type", { hasText: text }) }).first();
const tickOf = (page, text) => step(page, text).locator(".step-tick");
const isTicked = async (page, text) => (await tickOf(page, text).getAttribute("aria-pressed")) === "true";

/** The elements of the belt's first reading: box, verdict and panel. */
function belt(page, from = page) {
  const li = from.locator(".reading", { hasText: "belt deflection" }).first();
  return { box: li.getByRole("textbox"), verdict: li.locator("output"), panel: li.locator(".out") };
}

const position = (page, name) => page.getByRole("radio", { name, exact: true }).first();
const jobNumber = (page) => page.getByLabel("Job number");
const status = (page) => page.locator(".said[role=status]");
const alert = (page) => page.locator(".said[role=alert]");
const bar = async (page) => (await page.locator(".progress").textContent()).trim();

/** Opens the panel of the job. */
async function unfold(page) {
  const toggle = page.locator(".fold-toggle");
  if ((await toggle.getAttribute("aria-expanded")) === "false") await toggle.click();
}

async function setJob(page, number) {
  await unfold(page);
  await jobNumber(page).fill(number);
  await jobNumber(page).blur();
}

const FIRST = "Stand the machine level in the bay";
const SECOND = "Put the fire extinguisher within reach";

async function fill(page) {
  await setJob(page, "2041");
  await page.getByLabel("Serial number").fill("TY-0113");
  await tickOf(page, SECOND).click();
  await belt(page).box.fill("18,5");
  await belt(page).box.blur();
  await position(page, "rear slot").check();
  await page.locator(".bag input[type=text]").first().fill("B-17");
  await page.locator("#stop-1-signed").fill("jb");
  await page.locator(".hold input").first().fill("Ada Quill");
  await page.locator("table.sign-off input").first().fill("Rowan Field");
  await page.getByLabel("Step or table").fill("Step 11: measure nearer the idler");
}

async function assertFilled(page) {
  assert.equal(await jobNumber(page).inputValue(), "2041");
  assert.equal(await page.getByLabel("Serial number").inputValue(), "TY-0113");
  assert.ok(await isTicked(page, SECOND));
  assert.ok(!(await isTicked(page, "Lift the belt cover off")));
  assert.equal(await belt(page).box.inputValue(), "18,5");
  assert.equal(await belt(page).verdict.textContent(), "over");
  assert.ok(await position(page, "rear slot").isChecked());
  assert.ok(!(await position(page, "front slot").isChecked()));
  assert.equal(await page.locator(".bag input[type=text]").first().inputValue(), "B-17");
  assert.equal(await page.locator("#stop-1-signed").inputValue(), "jb");
  assert.equal(await page.locator(".hold input").first().inputValue(), "Ada Quill");
  assert.equal(await page.locator("table.sign-off input").first().inputValue(), "Rowan Field");
  assert.match(await page.getByLabel("Step or table").inputValue(), /nearer the idler/);
}

async function assertEmpty(page) {
  assert.equal(await page.locator("[aria-pressed=true], .lines > li input:checked").count(), 0);
  const typed = page.locator(".field > :is(input, textarea):not([list])");
  assert.deepEqual(new Set(await typed.evaluateAll((inputs) => inputs.map((input) => input.value))), new Set([""]));
}

async function exportFile(page, button = "Export") {
  const target = page.getByRole("button", { name: button, exact: true });
  if (!(await target.isVisible())) await unfold(page);
  const { name, save } = await download(page, () => target.click());
  const path = join(session.pages.folder, name);
  await save(path);
  return path;
}

async function importFile(page, path) {
  await page.evaluate(() => document.querySelector(".said[role=status]").replaceChildren());
  await page.locator("#import").setInputFiles(path);
  await page.waitForFunction(() => document.querySelector(".said[role=status]").textContent);
  return (await status(page).locator("p").textContent()).trim();
}

/** The digest of an exported file, made without the page. */
function digestOf({ digest, ...rest }) {
  const sorted = (value) =>
    Array.isArray(value)
      ? value.map(sorted)
      : value && typeof value === "object"
        ? Object.fromEntries(Object.keys(value).sort().map((name) => [name, sorted(value[name])]))
        : value;
  return `sha256:${createHash("sha256").update(JSON.stringify(sorted(rest))).digest("hex")}`;
}

/** Writes a record with the digest that belongs to it. */
function writeRecord(name, record) {
  const path = join(session.pages.folder, `${name}.json`);
  writeFileSync(path, typeof record === "string" ? record : JSON.stringify({ ...record, digest: digestOf(record) }));
  return path;
}

const askOf = (record, text, field) =>
  record.steps.find((one) => one.text[0]?.startsWith(text)).asks.find((ask) => ask.field === field);

// Done means done

test("steps, readings, positions, choices and signatures count as missing until they are there", async () => {
  const page = await openSheet();
  const counts = async () => {
    const text = await bar(page);
    const number = (pattern) => Number(pattern.exec(text)?.[1] ?? 0);
    return {
      done: number(/^(\d+) of/),
      readings: number(/(\d+) readings?/),
      positions: number(/(\d+) positions?/),
      choices: number(/(\d+) choices?/),
      signatures: number(/(\d+) signatures?/),
      out: number(/(\d+) out of limits/),
    };
  };
  const before = await counts();
  assert.equal(before.done, 0);
  for (const kind of ["readings", "positions", "choices", "signatures"]) assert.ok(before[kind] > 0, kind);
  // Ticking everything is not enough.
  for (const button of await page.locator(".step-tick").all()) await button.click();
  let now = await counts();
  assert.ok(now.done < (await page.locator(".lines > li").count()));
  assert.deepEqual({ ...now, done: 0 }, before);
  // A number that can't be read, or can be read in two ways, is no value.
  for (const typed of ["about 12", "1,250"]) {
    await belt(page).box.fill(typed);
    await belt(page).box.blur();
    assert.equal((await counts()).readings, before.readings, typed);
  }
  await belt(page).box.fill("12");
  await belt(page).box.blur();
  await position(page, "rear slot").check();
  now = await counts();
  assert.equal(now.readings, before.readings - 1);
  assert.equal(now.positions, before.positions - 1);
  assert.equal(now.out, 0);
  await belt(page).box.fill("18");
  await belt(page).box.blur();
  assert.equal((await counts()).out, 1);
  await page.locator("#stop-1-signed").fill("jb");
  assert.equal((await counts()).signatures, before.signatures - 1);
  // Fill in all the rest: nothing is missing.
  for (const box of await page.locator(".reading .box input").all()) {
    await box.fill("3100");
    await box.blur();
  }
  for (const group of await page.locator("[role=radiogroup]").all()) await group.locator(".option").first().click();
  for (const box of await page.locator(".state .option, .bag .option").all()) {
    if (!(await box.locator("input").isChecked())) await box.click();
  }
  for (const box of await page.locator(".hold input, .signs input, .initials:not(.paper), .sign:not(.paper)").all()) {
    await box.fill("jb");
  }
  const { done, out, ...missing } = await counts();
  assert.deepEqual(missing, { readings: 0, positions: 0, choices: 0, signatures: 0 });
  assert.match(await bar(page), /^All \d+ steps done and signed \d out of limits$/);
});

test("a reading out of limits says what to do, and is listed at the signature until a later one is right", async () => {
  const page = await openSheet();
  const { box, panel } = belt(page);
  assert.ok(!(await panel.isVisible()));
  await box.fill("18");
  await box.blur();
  assert.ok(await panel.isVisible());
  assert.match(await panel.innerText(), /^OVER\b/i);
  const list = page.locator(".out-list");
  assert.match(await list.innerText(), /belt deflection.*18 mm.*over.*10 mm to 14 mm/);
  assert.match(await bar(page), /1 out of limits/);
  const left = step(page, "With the rule, measure the deflection as left");
  await belt(page, left).box.fill("12");
  await belt(page, left).box.blur();
  assert.equal(await list.count(), 0);
  assert.doesNotMatch(await bar(page), /out of limits/);
  await belt(page, left).box.fill("9");
  await belt(page, left).box.blur();
  assert.match(await list.innerText(), /9 mm.*under/);
  assert.match(await belt(page, left).panel.innerText(), /^UNDER\b/i);
});

test("nothing behind an unsigned hold can be filled in", async () => {
  const page = await openSheet(HELD_SHEET);
  const hold = page.locator(".lines > li", { has: page.locator(".hold") }).first();
  const next = page.locator(".lines > li:has(.hold) ~ li, section:has(.lines .hold) ~ section .lines > li").first();
  const tick = next.locator(".step-tick");
  const number = await hold.locator(".numbered > b").innerText();
  // It is announced as disabled, so the driver would wait.
  await tick.click({ force: true });
  assert.equal(await tick.getAttribute("aria-pressed"), "false");
  assert.match(await status(page).innerText(), new RegExp(`Second person must sign at step ${parseInt(number, 10)}`));
  const box = page.locator(".reading .box input").last();
  assert.ok(!(await box.isEditable()));
  await page.locator("table.sign-off input").first().focus();
  await page.keyboard.type("Ada");
  assert.equal(await page.locator("table.sign-off input").first().inputValue(), "");
  // The message leads to the hold.
  await status(page).getByRole("button", { name: /^Go to step/ }).click();
  await hold.locator(".hold input").fill("Ada Quill");
  await tick.click();
  assert.equal(await tick.getAttribute("aria-pressed"), "true");
  assert.ok(await box.isEditable());
  // What is entered stays when the signature is taken back, but nothing more is added.
  await hold.locator(".hold input").fill("");
  assert.equal(await tick.getAttribute("aria-pressed"), "true");
  await tick.click({ force: true });
  assert.equal(await tick.getAttribute("aria-pressed"), "true");
});

test("a noted position comes back in the step that refits the part", async () => {
  const pages = makeSheets((shop) => {
    const file = join(shop, SOURCE);
    const text = readFileSync(file, "utf8");
    // The keeper is no linkage: its position is noted in words.
    writeFileSync(file, text.replace("7. [Take the belt", "7. [Note how it sits](note:belt-keeper). [Take the belt"));
  });
  const page = await openSheet(SHEET, pages);
  const cable = step(page, "Fit the clutch cable").locator(".found");
  const keeper = step(page, "Set the belt keeper on").locator(".found");
  assert.ok(!(await cable.isVisible()));
  await position(page, "rear slot").check();
  assert.equal(await cable.innerText(), "found: rear slot");
  await position(page, "front slot").check();
  assert.equal(await cable.innerText(), "found: front slot");
  assert.ok(!(await keeper.isVisible()));
  await step(page, "Note how it sits").locator(".words input").fill("finger up");
  assert.equal(await keeper.innerText(), "found: finger up");
  await page.reload();
  assert.equal(await keeper.innerText(), "found: finger up");
});

// Nothing entered is lost or hidden

test("entries are restored after the page was closed", async () => {
  const page = await openSheet();
  await fill(page);
  await assertFilled(page);
  await page.reload();
  await assertFilled(page);
  await page.close();
  await assertFilled(await openSheet());
});

test("once a job has begun, step 1 is on the first screen", async () => {
  for (const viewport of [{ width: 360, height: 740 }, { width: 820, height: 1180 }, { width: 1280, height: 800 }]) {
    const page = await openSheet();
    await page.setViewportSize(viewport);
    await tickOf(page, SECOND).click();
    await page.reload();
    const { bottom } = await step(page, FIRST).evaluate((element) => element.getBoundingClientRect().toJSON());
    assert.ok(bottom <= viewport.height, `${bottom} of ${viewport.height} px`);
    await page.close();
  }
});

test("on a small phone, the bar is as wide as the page once the clock runs", async () => {
  const page = await openSheet();
  await tickOf(page, FIRST).click();
  await page.locator(".clock").waitFor();
  for (const width of [320, 360, 390]) {
    await page.setViewportSize({ width, height: 740 });
    assert.ok((await overflow(page)) <= 0, `${width} px`);
    // Not a letter in each line.
    const progress = await page.locator(".progress").boundingBox();
    assert.ok(progress.width > 150, `${progress.width} px`);
  }
});

test("the first tick does not fold away what is above it", async () => {
  const page = await openSheet();
  const protection = page.locator(".protection");
  await tickOf(page, SECOND).click();
  assert.ok(await jobNumber(page).isVisible());
  assert.ok(await protection.isVisible());
  await page.reload();
  assert.ok(!(await jobNumber(page).isVisible()));
  assert.ok(!(await protection.isVisible()));
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

test("after republishing, unchanged steps keep their entries, and changed ones ask again and say what has changed", async () => {
  const pages = makeSheets();
  let page = await openSheet(SHEET, pages);
  await fill(page);
  await tickOf(page, "Lift the belt cover off").click();
  await tickOf(page, "Take the belt keeper off").click();
  await page.close();
  pages.edit(
    SOURCE,
    // A new step moves all later ones.
    ["## Take off\n\n", "## Take off\n\n1. Lay a [cloth](apply:cloth) under the cover.\n"],
    ["[Lift the belt cover off](remove:belt-cover).", "[Lift the belt cover off](remove:belt-cover) with both hands."],
    ["[Take the belt keeper off](remove:belt-keeper).", "[Slide the belt keeper out](remove:belt-keeper) towards you."],
    ["revision = 2", "revision = 3"],
  );
  pages.edit("machines/tarn-yarrow.toml", ["10 mm to 14 mm (0.39 in to 0.55 in)", "10 mm to 20 mm"]);
  page = await openSheet(SHEET, pages);
  assert.equal(await jobNumber(page).inputValue(), "2041");
  assert.ok(await isTicked(page, SECOND));
  assert.ok(await position(page, "rear slot").isChecked(), "an unchanged step that was moved");
  assert.equal(await page.locator(".bag input[type=text]").first().inputValue(), "B-17");
  assert.equal(await page.locator("#stop-1-signed").inputValue(), "jb", "the signature of an unchanged group");
  assert.equal(await page.locator("table.sign-off input").first().inputValue(), "", "the whole job is signed again");
  // Changed steps.
  assert.ok(!(await isTicked(page, "Lift the belt cover off")));
  const cover = step(page, "Lift the belt cover off").locator(".changed");
  assert.match(await cover.innerText(), /has changed.*Entered before the change: done/s);
  assert.equal((await cover.locator("ins").innerText()).trim(), "(2) with both hands.");
  assert.equal((await cover.locator("del").innerText()).trim(), "(2).");
  const keeper = step(page, "Slide the belt keeper out").locator(".changed");
  assert.deepEqual(await keeper.locator("del").allInnerTexts(), ["Take", "off (4)."]);
  // New limits: the value is asked again.
  assert.equal(await belt(page).box.inputValue(), "");
  const reading = step(page, "Measure the deflection as found").locator(".changed");
  assert.match(await reading.innerText(), /18,5 mm/);
  assert.match(await reading.locator("del").first().innerText(), /14/);
  // They are done again, which removes nothing.
  await tickOf(page, "Lift the belt cover off").click();
  await page.reload();
  assert.ok(await isTicked(page, "Lift the belt cover off"));
  // A step that is gone is not lost.
  await page.close();
  pages.edit(SOURCE, ["1. Lay a [cloth](apply:cloth) under the cover.\n", ""], ["5. [Lift the cable out](remove:clutch-cable) of its slot. The idler drops away from the belt.", "5. [Lift the cable out](remove:clutch-cable) of its slot."]);
  page = await openSheet(SHEET, pages);
  assert.ok(await isTicked(page, "Lift the belt cover off"));
});

test("an entry of a step that is no longer on the sheet is listed and exported", async () => {
  const pages = makeSheets((shop) => {
    const file = join(shop, SOURCE);
    writeFileSync(file, readFileSync(file, "utf8").replace("## Take off\n\n", "## Take off\n\n1. Count the spare washers in the blue tin.\n"));
  });
  let page = await openSheet(SHEET, pages);
  await tickOf(page, "Count the spare washers").click();
  await page.close();
  pages.edit(SOURCE, ["1. Count the spare washers in the blue tin.\n", ""]);
  page = await openSheet(SHEET, pages);
  await unfold(page);
  assert.match(await page.locator(".lost").innerText(), /Count the spare washers.*done/s);
  const record = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  assert.equal(askOf(record, "Count the spare washers", "tick").value, true);
});

test("the language can be switched in the middle of a job", async () => {
  const pages = makeSheets((shop) => {
    const file = join(shop, "shop.toml");
    writeFileSync(file, readFileSync(file, "utf8").replace(/^language = .*$/m, 'language = ["en-GB", "es"]'));
  });
  const server = await session.serve(pages.folder);
  const page = await session.open(server.address(SHEET));
  await fill(page);
  const idsOf = () => page.locator(".lines > li").evaluateAll((lines) => lines.map((line) => line.dataset.id));
  const ids = await idsOf();
  await page.goto(server.address(`es/${SHEET}`));
  assert.equal(await page.locator("html").getAttribute("lang"), "es");
  assert.deepEqual(await idsOf(), ids);
  assert.equal(await page.locator("#job-number").inputValue(), "2041");
  assert.ok(await isTicked(page, SECOND));
  assert.equal(await page.locator(".reading input").first().inputValue(), "18,5");
  assert.ok(await position(page, "rear slot").isChecked());
  assert.equal(await page.locator(".changed").count(), 0);
  await tickOf(page, FIRST).click();
  await page.goto(server.address(SHEET));
  assert.ok(await isTicked(page, FIRST));
  await assertFilled(page);
});

test("two windows on one job are merged entry by entry", async () => {
  const [page, other] = [await openSheet(), await openSheet()];
  await tickOf(page, SECOND).click();
  await other.waitForFunction(() => document.querySelectorAll("[aria-pressed=true]").length === 1);
  // Both change something before either hears of the other.
  await Promise.all([belt(page).box.fill("12"), position(other, "rear slot").check()]);
  for (const one of [page, other]) {
    await one.waitForFunction(() => document.querySelector(".reading input").value === "12");
    await one.waitForFunction(() => document.querySelectorAll(".choice input:checked").length === 1);
    assert.ok(await isTicked(one, SECOND));
  }
  await tickOf(other, SECOND).click();
  await page.waitForFunction(() => document.querySelectorAll("[aria-pressed=true]").length === 0);
  await page.reload();
  assert.ok(!(await isTicked(page, SECOND)));
  assert.equal(await belt(page).box.inputValue(), "12");
});

test("full storage keeps what is stored, says what is not, and stores it when there is room", async () => {
  const page = await openSheet();
  await fill(page);
  await page.evaluate(() => {
    let text = "x".repeat(1 << 20);
    for (let count = 0; text.length; count += 1) {
      try {
        localStorage.setItem(`filling ${count}`, text);
      } catch {
        text = text.slice(0, text.length / 2);
      }
    }
  });
  await tickOf(page, FIRST).click();
  await tickOf(page, "Lift the belt cover off").click();
  assert.match(await alert(page).innerText(), /storage of this browser is full: 2 entries are not stored/);
  const record = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  assert.equal(askOf(record, FIRST, "tick").value, true);
  // The next visitor finds what was stored before.
  const other = await openSheet();
  await assertFilled(other);
  assert.ok(!(await isTicked(other, FIRST)));
  await other.close();
  // Leaving the page is questioned.
  const dialog = new Promise((resolve) => page.once("dialog", resolve));
  page.close({ runBeforeUnload: true });
  const asked = await dialog;
  assert.equal(asked.type(), "beforeunload");
  await asked.dismiss();
  // A number of another job is taken, and the old record stays until there is room.
  await page.evaluate(() => Object.keys(localStorage).filter((name) => name.startsWith("filling")).forEach((name) => localStorage.removeItem(name)));
  await tickOf(page, "Take the belt keeper off").click();
  assert.equal(await alert(page).innerText(), "");
  await page.reload();
  await assertFilled(page).catch(() => {});
  assert.ok(await isTicked(page, FIRST));
});

test("a stored record that can't be read is kept and offered as a file", async () => {
  const page = await openSheet();
  await fill(page);
  await page.evaluate(() => {
    const name = Object.keys(localStorage).find((key) => key.includes('"2041"'));
    localStorage.setItem(name, localStorage.getItem(name).slice(0, 400));
  });
  await page.reload();
  await assertEmpty(page);
  await setJob(page, "2041");
  await tickOf(page, FIRST).click();
  await page.reload();
  await unfold(page);
  assert.match(await page.locator(".unreadable").innerText(), /Job 2041: stored entries cannot be read/);
  const file = await exportFile(page, "Export as stored");
  assert.match(readFileSync(file, "utf8"), /^\{"format":"benchleaf-checklist"/);
  const remove = page.getByRole("button", { name: "Delete", exact: true });
  await remove.click();
  await page.getByRole("button", { name: /^Tap again/ }).click();
  await page.reload();
  assert.equal(await page.locator(".unreadable").count(), 0);
  assert.ok(await isTicked(page, FIRST));
});

test("if the browser cannot save entries, the page says so, warns when it is left, and still works", async () => {
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
  assert.match(await alert(page).innerText(), /does not store entries of this page: \d+ entries are lost/);
  const record = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  assert.equal(record.serial, "TY-0113");
  const dialog = new Promise((resolve) => page.once("dialog", resolve));
  page.close({ runBeforeUnload: true });
  await (await dialog).accept();
});

test("a clock that is set back loses nothing", async () => {
  await session.context.clock.install({ time: new Date("2026-03-02T09:00:00Z") });
  const page = await openSheet();
  await belt(page).box.fill("18");
  await session.context.clock.setFixedTime(new Date("2024-01-01T00:00:00Z"));
  await belt(page).box.fill("12");
  await tickOf(page, FIRST).click();
  await page.reload();
  assert.equal(await belt(page).box.inputValue(), "12");
  assert.ok(await isTicked(page, FIRST));
});

test("a draft moves to its job number, and jobs are kept separately", async () => {
  const page = await openSheet();
  const pressed = () => page.locator("[aria-pressed=true]").count();
  await tickOf(page, FIRST).click();
  await setJob(page, "1");
  assert.equal(await pressed(), 1);
  await setJob(page, "2");
  assert.equal(await pressed(), 0);
  await tickOf(page, SECOND).click();
  await tickOf(page, "Lift the belt cover off").click();
  await setJob(page, "1");
  assert.equal(await pressed(), 1);
  await page.getByRole("button", { name: "Open: Job 2" }).click();
  assert.equal(await pressed(), 2);
  await setJob(page, "");
  assert.equal(await pressed(), 0, "nothing is left of the draft");
  // A corrected typing error: the same entries under another number.
  await setJob(page, "2");
  await setJob(page, "3");
  assert.equal(await pressed(), 0);
  await page.getByRole("button", { name: /move the entries/ }).click();
  assert.equal(await pressed(), 2);
  await page.reload();
  assert.equal(await pressed(), 2);
  assert.equal(await jobNumber(page).inputValue(), "3");
  assert.equal(await page.getByRole("button", { name: "Open: Job 2" }).count(), 0);
});

// Export and import

test("a file can be judged without the page", async () => {
  const page = await openSheet();
  await fill(page);
  const file = await exportFile(page);
  assert.match(file, /tarn-yarrow-drive-belt-bench-checklist-2041\.json$/);
  const record = JSON.parse(readFileSync(file, "utf8"));
  const { format, version, sheet, job, serial, machine, title, revision, mark } = record;
  assert.deepEqual(
    { format, version, sheet, job, serial, machine, title, revision },
    {
      format: "benchleaf-checklist",
      version: 2,
      sheet: SHEET.replace(".html", ""),
      job: "2041",
      serial: "TY-0113",
      machine: "Tarn Yarrow tiller",
      title: "Drive belt: look, renew where due, set",
      revision: 2,
    },
  );
  assert.match(mark, /^[0-9a-f]{8}$/);
  assert.equal(record.digest, digestOf(record));
  const steps = record.steps.filter((one) => one.number !== null);
  assert.deepEqual(
    steps.map((one) => one.number),
    steps.map((_, index) => index + 1),
  );
  assert.equal(new Set(record.steps.map((one) => one.id)).size, record.steps.length);
  const reading = steps.find((one) => one.text[0].startsWith("Measure the deflection as found")).asks.find((one) => one.kind === "reading");
  const { kind, label, limits, unit, least, most, value, verdict } = reading;
  assert.deepEqual(
    { kind, label, unit, least, most, value, verdict },
    { kind: "reading", label: "belt deflection, drive lever pulled, as found", unit: "mm", least: "10", most: "14", value: "18,5", verdict: "over" },
  );
  assert.match(limits, /10 mm to 14 mm/);
  assert.ok(!Number.isNaN(Date.parse(reading.at)));
});

test("entries are exported, cleared at a second tap, and imported", async () => {
  const page = await openSheet();
  await fill(page);
  const file = await exportFile(page);
  const clear = page.locator(".keep .acts button", { hasText: /Clear|Tap again/ });
  await clear.click();
  assert.match(await clear.textContent(), /^Tap again/);
  await assertFilled(page);
  await clear.click();
  await assertEmpty(page);
  await page.reload();
  await assertEmpty(page);
  assert.match(await importFile(page, file), /^Job 2041: \d+ entries imported\.$/);
  await assertFilled(page);
  await page.reload();
  await assertFilled(page);
});

test("a file of an earlier revision is imported, and changed steps ask again", async () => {
  const pages = makeSheets();
  const page = await openSheet(SHEET, pages);
  await fill(page);
  await tickOf(page, "Lift the belt cover off").click();
  const file = await exportFile(page);
  await page.close();
  pages.edit(SOURCE, ["off](remove:belt-cover).", "off](remove:belt-cover) with both hands."], ["revision = 2", "revision = 3"]);
  const other = await openSheet(SHEET, pages);
  await other.evaluate(() => localStorage.clear());
  await other.reload();
  await assertEmpty(other);
  assert.match(await importFile(other, file), /The file is of revision 2.*\d+ steps have changed/);
  assert.ok(await isTicked(other, SECOND));
  assert.ok(!(await isTicked(other, "Lift the belt cover off")));
  assert.equal(await step(other, "Lift the belt cover off").locator(".changed").count(), 1);
});

test("entries that differ in a file and on the device are decided by the person, all others are joined", async () => {
  const page = await openSheet();
  await fill(page);
  const file = await exportFile(page);
  await belt(page).box.fill("12");
  await tickOf(page, FIRST).click();
  for (const [answer, expected] of [
    ["Those on this device", "12"],
    ["Those in the file", "18,5"],
  ]) {
    assert.match(await importFile(page, file), /1 entries in the file differ/);
    await page.getByRole("button", { name: answer }).click();
    assert.equal(await belt(page).box.inputValue(), expected, answer);
    assert.ok(await isTicked(page, FIRST), "an entry that only the device has");
    await page.reload();
    assert.equal(await belt(page).box.inputValue(), expected, answer);
  }
});

test("a file that can't be imported is refused entirely, and the page says why", async () => {
  const other = await openSheet(OTHER_SHEET);
  await other.locator(".step-tick").first().click();
  const ofOther = await exportFile(other);
  await other.close();
  const page = await openSheet();
  await tickOf(page, SECOND).click();
  const own = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  /** The file with one thing changed, by a path such as `steps.1.asks.0.value`. */
  const withChange = (path, value) => {
    const copy = structuredClone(own);
    const names = path.split(".");
    const last = names.pop();
    const target = names.reduce((inside, name) => inside[name], copy);
    if (value === undefined) delete target[last];
    else target[last] = value;
    return copy;
  };
  const index = own.steps.findIndex((one) => one.text[0]?.startsWith(SECOND));
  const ask = `steps.${index}.asks.${own.steps[index].asks.findIndex((one) => one.field === "tick")}`;
  const inWords = ask.replace(/\.(\d+)/g, "[$1]");
  const choice = own.steps.findIndex((one) => one.asks.some((inside) => inside.options));
  const choiceAsk = own.steps[choice].asks.findIndex((inside) => inside.options);
  const changedAfterwards = structuredClone(own);
  changedAfterwards.job = "2042";
  const tooDeep = JSON.stringify(own).replace('"shop":', `"more":${"[".repeat(20000)}${"]".repeat(20000)},"shop":`);
  const cases = [
    [ofOther, /another sheet: .*spark plug.*, Tarn Yarrow tiller \(tarn-yarrow\/spark-plug-bench-checklist\)/i],
    [writeRecord("text", "{"), /not valid JSON/],
    [writeRecord("list", "[]"), /no exported checklist/],
    [writeRecord("null", "null"), /no exported checklist/],
    [writeRecord("format", withChange("format", "other")), /no exported checklist/],
    [writeRecord("version", withChange("version", 3)), /version 3 of the format/],
    [writeRecord("no-version", withChange("version")), /version undefined of the format/],
    [writeRecord("changed", JSON.stringify(changedAfterwards)), /changed after it was exported/],
    [writeRecord("no-digest", JSON.stringify({ ...own, digest: undefined })), /changed after it was exported/],
    [writeRecord("deep", tooDeep), /changed after it was exported/],
    [writeRecord("job", withChange("job", 7)), /`job` is not a text/],
    [writeRecord("steps", withChange("steps", {})), /`steps` is not a list/],
    [writeRecord("id", withChange(`steps.${index}.id`, "<b>")), new RegExp(`\`steps\\[${index}\\]\\.id\` is not a name`)],
    [writeRecord("proto", JSON.stringify(own).replace(`"id":"${own.steps[index].id}"`, '"id":"__proto__"')), /`steps\[\d+\]\.id` is not a name/],
    [writeRecord("twice", withChange("steps", [...own.steps, own.steps[0]])), /is there twice/],
    [writeRecord("value", withChange(`${ask}.value`, 5)), `${inWords}.value\` is not the value of an entry`],
    [writeRecord("yes", withChange(`${ask}.value`, "yes")), new RegExp(`Step ${index + 1}: .*done`)],
    [writeRecord("long", withChange(`${ask}.value`, "x".repeat(4001))), /not a text of at most 4000 characters/],
    [writeRecord("at", withChange(`${ask}.at`, "soon")), /`.*\.at` is not a date/],
    [writeRecord("n", withChange(`${ask}.n`, 2 ** 52)), /`.*\.n` is not a whole number/],
    [writeRecord("minus", withChange(`${ask}.n`, -1)), /`.*\.n` is not a whole number/],
    [writeRecord("field", withChange(`${ask}.field`, "other")), /has no such entry/],
    [
      writeRecord("option", withChange(`steps.${choice}.asks.${choiceAsk}`, { ...own.steps[choice].asks[choiceAsk], value: { option: 9, text: "attic" }, n: 1, at: own.saved })),
      /has no such entry, or not with this value/,
    ],
    [writeRecord("many", withChange("steps", Array.from({ length: 5001 }, () => own.steps[0]))), /more than 5000/],
    [writeRecord("large", "x".repeat(30_000_001)), /the file has 30 MB. At most 30 MB/],
  ];
  for (const [path, message] of cases) {
    const said = await importFile(page, path);
    assert.match(said, /^Nothing was imported: /, path);
    if (message instanceof RegExp) assert.match(said, message, path);
    else assert.ok(said.includes(message), `${path}: ${said}`);
    assert.equal(await page.locator("[aria-pressed=true]").count(), 1, path);
    assert.ok(await isTicked(page, SECOND), path);
  }
  assert.equal(await page.evaluate(() => ({}).value), undefined);
  assert.match(await importFile(page, writeRecord("right", own)), /^No job number: 1 entries imported/);
});

// Waiting

/** A step of it waits for 5 minutes. */
const WAITING_SHEET = "tarn-sedge/oil-change-bench-checklist.html";

test("a step that waits counts down, over a reload and in another step, and sounds when the time is up", async () => {
  await session.context.clock.install({ time: new Date("2026-03-02T09:00:00Z") });
  await session.context.addInitScript(() => {
    globalThis.tones = 0;
    const node = () => ({ connect: (next) => next, frequency: {}, gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, stop() {} });
    globalThis.AudioContext = class {
      currentTime = 0;
      resume = async () => {};
      createGain = node;
      createOscillator = () => ({ ...node(), start: () => (globalThis.tones += 1) });
    };
  });
  const page = await openSheet(WAITING_SHEET);
  assert.equal(await page.locator(".wait").count(), 1, "only one step waits");
  const wait = page.locator(".wait");
  const left = wait.locator(".left");
  await wait.getByRole("button", { name: "Start the countdown" }).click();
  await page.clock.runFor(63_000);
  assert.match(await left.innerText(), /^3:5\d left$/);
  await page.reload();
  assert.match(await left.innerText(), /^3:5\d left$/);
  const tones = () => page.evaluate(() => globalThis.tones);
  await page.clock.runFor(200_000);
  assert.equal(await tones(), 0);
  await page.clock.runFor(60_000);
  assert.equal(await tones(), 3);
  assert.equal(await left.innerText(), "time is up");
  assert.match(await status(page).innerText(), /^Step \d+: the time is up\./);
  // It does not sound again, and the time stays.
  await page.clock.runFor(60_000);
  await page.reload();
  await page.clock.runFor(5000);
  assert.equal(await tones(), 0);
  assert.notEqual(await wait.locator(".write").innerText(), "");
  const record = JSON.parse(readFileSync(await exportFile(page), "utf8"));
  const ask = record.steps.flatMap((one) => one.asks).find((one) => one.kind === "wait");
  assert.equal(ask.value.ms, 300_000);
});

// Paper

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
  for (const typed of ["2041", "TY-0113", "18,5", "B-17", "Ada Quill", "Rowan Field", "over", "jb"]) {
    assert.ok(filled.includes(typed), typed);
    if (typed !== "over") assert.ok(!empty.includes(typed), typed);
  }
  assert.equal(filled.match(/a\s+long\s+remark\s+on\s+paper/g)?.length, 12);
  assert.match(filled, /Out of limits:/);
  for (const chrome of ["Export", "Import", "Clear", "steps done", "Next:"]) {
    assert.ok(!filled.includes(chrome), chrome);
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

// Keyboard, touch, languages

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
      const { top, bottom, left, width } = drawn.getBoundingClientRect();
      // What is drawn at the upper and the lower edge is the element itself, and not a bar above it.
      const isOnTop = [top + 1, bottom - 1].every((y) => {
        const hit = document.elementFromPoint(left + width / 2, y);
        return hit && (active.contains(hit) || hit.contains(active) || hit === drawn);
      });
      return outlineStyle !== "none" && parseFloat(outlineWidth) >= 2 && isOnTop && top >= 0 && bottom <= innerHeight;
    });
  const idOf = (locator) => locator.getAttribute("id");
  const [first, second] = [await idOf(tickOf(page, FIRST)), await idOf(tickOf(page, SECOND))];
  const pressed = (id) => page.locator(`#${id}`).getAttribute("aria-pressed");
  await tabTo(first);
  await page.keyboard.press("Space");
  assert.equal(await pressed(first), "true");
  await page.keyboard.press("Enter");
  assert.equal(await pressed(first), "false");
  await page.keyboard.press("Enter");
  await tabTo(second);
  assert.ok(await isSeen(), "the focus is seen on a step");

  await tabTo(await idOf(belt(page).box));
  assert.ok(await isSeen(), "the focus is seen on a reading");
  await page.keyboard.type("9,5");
  await page.keyboard.press("Enter");
  assert.equal(await belt(page).verdict.textContent(), "under");

  await tabTo(await idOf(position(page, "front slot")));
  assert.ok(await isSeen(), "the focus is seen on a position");
  await page.keyboard.press("Space");
  assert.ok(await position(page, "front slot").isChecked());
  await page.keyboard.press("ArrowRight");
  assert.ok(await position(page, "rear slot").isChecked());
  await page.keyboard.press("Delete");
  assert.ok(!(await position(page, "rear slot").isChecked()));
  await page.keyboard.press("Enter");
  assert.ok(await position(page, "rear slot").isChecked());
  await tabTo(await idOf(tickOf(page, "Lift the cable out")));
  // Backwards, because the bar could cover the focused element.
  const isFirst = () => page.evaluate(() => document.activeElement.classList.contains("jump"));
  let presses = 0;
  for (; presses < 100 && !(await isFirst()); presses += 1) {
    await page.keyboard.press("Shift+Tab");
    const what = await page.evaluate(() => document.activeElement.outerHTML.slice(0, 80));
    assert.ok(await isSeen(), `the focus is seen on ${what}`);
  }
  assert.ok(presses > 12 && presses < 100, `${presses} presses back to the top`);
  await page.locator(".next").focus();
  await page.keyboard.press("Enter");
  assert.notEqual(await focused(), "");
});

test("the first tick is at most 8 presses of Tab from the top of the page", async () => {
  const page = await openSheet();
  const count = async () => {
    await page.reload();
    for (let presses = 1; presses < 30; presses += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate(() => document.activeElement.classList.contains("step-tick"))) return presses;
    }
    return Infinity;
  };
  assert.ok((await count()) <= 8, `${await count()} presses before the job has begun`);
  await tickOf(page, SECOND).click();
  assert.ok((await count()) <= 8, `${await count()} presses when it has begun`);
});

test("the target of a link is visible below the bar, however high the bar is", async () => {
  const page = await openSheet();
  await page.setViewportSize({ width: 360, height: 740 });
  await setJob(page, "7");
  await belt(page).box.fill("18");
  await belt(page).box.blur();
  // A message in the bar.
  await setJob(page, "8");
  await belt(page).box.fill("18");
  await belt(page).box.blur();
  await setJob(page, "7");
  assert.ok(await status(page).isVisible());
  const links = await page.locator(".missing-list a, .out-list a").all();
  assert.ok(links.length > 5);
  for (const link of links.slice(0, 6)) {
    const href = await link.getAttribute("href");
    await link.evaluate((element) => element.click());
    await page.waitForFunction((wanted) => location.hash === wanted, href);
    const { top, bar } = await page.evaluate((wanted) => ({
      top: document.getElementById(wanted.slice(1)).getBoundingClientRect().top,
      bar: document.querySelector(".live-bar").getBoundingClientRect().bottom,
    }), href);
    assert.ok(top >= bar, `${href} at ${top}, below the bar at ${bar}`);
  }
});

test("touch targets are at least 44 px, and ids are unique", async () => {
  for (const width of [360, 820, 1280]) {
    const page = await openSheet();
    await page.setViewportSize({ width, height: 900 });
    const small = await page.evaluate(() => {
      const controls = document.querySelectorAll("main :is(button, input, textarea, .next)");
      return [...controls]
        .filter((control) => control.checkVisibility())
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
  assert.match(await bar(page), /^Hecho: 0 de \d+ pasos falta: /);
  assert.deepEqual(await page.locator(".keep .acts > *").allTextContents(), ["Exportar", "Importar", "Borrar", ""].filter(Boolean));
  await page.locator(".reading input").first().fill("18,5");
  await page.locator(".reading input").first().blur();
  assert.equal(await page.locator("output").first().textContent(), "por encima");
});

test("controls are visible with forced colours", async () => {
  const page = await openSheet();
  await page.emulateMedia({ forcedColors: "active" });
  await fill(page);
  const seen = await page.evaluate(() => {
    const mark = getComputedStyle(document.querySelector("[aria-pressed=true] > .tick"), "::after");
    const box = getComputedStyle(document.querySelector("[aria-pressed=false] > .tick"));
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
