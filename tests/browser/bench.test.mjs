// The bench view of the live checklist: one step at a time, for gloves, a foot pedal and arm's length.

import assert from "node:assert/strict";
import { test } from "node:test";
import { axeViolations, makePages, overflow, setUp } from "./pages.mjs";

const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
/** It has a hold in the middle. */
const HELD_SHEET = "tarn-yarrow/leak-check-bench-checklist.html";
/** It has figures. */
const DRAWN_SHEET = "tarn-sedge/carburettor-bench-checklist.html";

const session = setUp({ viewport: { width: 1024, height: 768 }, serve: true, pages: makePages });

async function openBench(sheet = SHEET, from = session.pages) {
  const page = await session.open(from.address(sheet));
  await page.waitForSelector("body.live");
  await page.locator(".bench-open").click();
  await page.waitForSelector("body.bench");
  return page;
}

const next = (page) => page.locator(".bench-next");
const back = (page) => page.getByRole("button", { name: "Back", exact: true });
const shown = (page) => page.locator(".lines > li.at-bench");
const number = async (page) => (await shown(page).count() ? parseInt(await shown(page).locator(".numbered > b").innerText(), 10) : null);
const isTicked = async (page) => (await shown(page).locator(".step-tick").getAttribute("aria-pressed")) === "true";
/** The pedal, not faster than a foot. */
async function pedal(page, key) {
  await page.waitForTimeout(260);
  await page.keyboard.press(key);
}

test("the bench view shows one step, and its button ticks it and goes on", async () => {
  const page = await openBench();
  assert.ok(await page.locator(".protection").isVisible(), "what to wear comes before the first step");
  await next(page).click();
  assert.equal(await number(page), 1);
  assert.equal(await page.locator(".lines > li:visible").count(), 1);
  assert.ok(!(await page.locator("header.top").isVisible()));
  assert.match(await next(page).innerText(), /Done, next/);
  await next(page).click();
  assert.equal(await number(page), 2);
  await back(page).click();
  assert.equal(await number(page), 1);
  assert.ok(await isTicked(page));
  assert.match(await next(page).innerText(), /^Next$/);
  // It is the same page: the list has the tick.
  await page.getByRole("button", { name: "List", exact: true }).click();
  assert.ok(!(await page.evaluate(() => document.body.classList.contains("bench"))));
  assert.equal(await page.locator("[aria-pressed=true].step-tick").count(), 1);
  assert.match(await page.locator(".progress").innerText(), /^1 of \d+ steps done/);
});

test("a tap anywhere in the row ticks it, and a second one takes the tick back", async () => {
  const page = await openBench();
  await next(page).click();
  const row = await shown(page).locator(".numbered").boundingBox();
  for (const [x, y] of [[row.width - 8, 8], [row.width - 8, row.height - 8]]) {
    await page.mouse.click(row.x + x, row.y + y);
    assert.ok(await isTicked(page));
    await page.mouse.click(row.x + x, row.y + y);
    assert.ok(!(await isTicked(page)));
  }
  assert.equal(await number(page), 1);
});

test("a foot pedal and the arrow keys turn the steps", async () => {
  const page = await openBench();
  await pedal(page, "PageDown");
  assert.equal(await number(page), 1);
  await pedal(page, "PageDown");
  assert.equal(await number(page), 2);
  await pedal(page, "PageUp");
  assert.equal(await number(page), 1);
  assert.ok(await isTicked(page), "the pedal ticks");
  await pedal(page, "ArrowRight");
  await pedal(page, "ArrowRight");
  assert.equal(await number(page), 3);
  await pedal(page, "ArrowLeft");
  assert.equal(await number(page), 2);
  assert.ok(!(await isTicked(page)), "an arrow only looks");
  // A pedal that bounces or is held is one step.
  await page.waitForTimeout(260);
  await page.keyboard.press("PageDown");
  await page.keyboard.press("PageDown");
  assert.equal(await number(page), 3);
});

test("an unsigned hold can't be passed", async () => {
  const page = await openBench(HELD_SHEET);
  const holds = await page.locator(".lines > li:has(.hold)").evaluateAll((lines) => lines.map((line) => parseInt(line.id.match(/\d+$/)[0], 10)));
  const [held] = holds;
  await next(page).click();
  for (let presses = 0; presses < 200 && (await number(page)) !== held; presses += 1) await next(page).click();
  assert.equal(await number(page), held);
  assert.equal(await next(page).getAttribute("aria-disabled"), "true");
  assert.match(await next(page).innerText(), /Second person signs first/);
  for (const press of [() => next(page).click({ force: true }), () => pedal(page, "PageDown"), () => pedal(page, "ArrowRight")]) {
    await press();
    assert.equal(await number(page), held);
    assert.match(await page.locator(".said[role=status]").innerText(), /must sign at step/);
  }
  // Nor by an address.
  await page.evaluate((wanted) => (location.hash = document.querySelectorAll(".lines > li")[wanted + 1].id), held);
  await page.waitForTimeout(50);
  assert.equal(await number(page), held);
  await shown(page).locator(".hold input").fill("Ada Quill");
  assert.match(await next(page).innerText(), /^Next/);
  await next(page).click();
  assert.notEqual(await number(page), held);
});

test("everything can be entered in the bench view", async () => {
  const page = await openBench();
  await page.getByLabel("Job number").fill("2041");
  await page.getByLabel("Job number").blur();
  let steps = 0;
  for (; steps < 300; steps += 1) {
    if (await page.locator("table.sign-off").isVisible()) break;
    for (const box of await page.locator(".at-bench input:visible:not([type=radio], [type=checkbox]):not([list])").all()) {
      const isReading = await box.evaluate((input) => Boolean(input.closest(".reading")));
      await box.fill(isReading ? "3100" : "jb");
    }
    for (const group of await page.locator(".at-bench [role=radiogroup]").all()) await group.locator(".option").first().click();
    for (const option of await page.locator(".at-bench :is(.state, .bag) .option").all()) await option.click();
    await next(page).click();
  }
  const isMissing = page.locator(".missing-list li");
  assert.equal(await isMissing.count(), 0, await page.locator(".rest-list").innerText());
  await page.locator("table.sign-off input").first().fill("jb");
  await page.getByLabel("Step or table").fill("The slot is worn");
  for (const box of await page.locator("table.sign-off tr td:nth-child(3) input").all()) await box.fill("jb");
  assert.match(await page.locator(".progress").innerText(), /^All \d+ steps done and signed/);
  assert.match(await page.locator(".bench-title").innerText(), /Job 2041/);
  // Back in the list everything is there, and again after a reload.
  await next(page).click();
  await page.reload();
  assert.match(await page.locator(".progress").innerText(), /^All \d+ steps done and signed/);
  assert.equal(await page.locator("table.sign-off input").first().inputValue(), "jb");
});

test("a reload comes back to the step in the bench view", async () => {
  const page = await openBench();
  for (let presses = 0; presses < 4; presses += 1) await next(page).click();
  const before = await number(page);
  await page.reload();
  await page.waitForSelector("body.bench");
  assert.equal(await number(page), before);
  // What was passed over is said.
  await back(page).click();
  await back(page).click();
  await shown(page).locator(".step-tick").click();
  await page.reload();
  await page.keyboard.press("ArrowRight");
  assert.equal(await page.locator(".lines > li:visible").count(), 1);
});

test("text has at least 24 px, values 32 px and targets 60 px, and nothing is cut off", async () => {
  for (const viewport of [{ width: 360, height: 740 }, { width: 820, height: 1180 }, { width: 1280, height: 800 }]) {
    const page = await openBench(DRAWN_SHEET);
    await page.setViewportSize(viewport);
    for (let screens = 0; screens < 200; screens += 1) {
      const found = await page.evaluate(() => {
        const isSeen = (element) => element.checkVisibility() && element.getBoundingClientRect().width > 1;
        const wrong = [];
        const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (walker.nextNode()) {
          const { parentElement: element, textContent: text } = walker.currentNode;
          if (!text.trim() || !isSeen(element) || element.closest(".spoken, .head, caption")) continue;
          const size = parseFloat(getComputedStyle(element).fontSize);
          if (size < 24) wrong.push(`${size} px: ${text.trim().slice(0, 30)}`);
          if (element.matches(".value > b") && size < 32) wrong.push(`value of ${size} px: ${text}`);
        }
        for (const control of document.querySelectorAll("button, input, textarea, .option, .next")) {
          if (!isSeen(control)) continue;
          const box = control.classList.contains("unseen") ? control.parentElement : control;
          const { width, height } = box.getBoundingClientRect();
          if (width < 60 || height < 60) wrong.push(`${width} x ${height}: ${control.id || control.className}`);
        }
        return wrong;
      });
      const place = `screen ${screens} at ${viewport.width} px`;
      assert.deepEqual([...new Set(found)], [], place);
      const wide = await overflow(page);
      assert.ok(wide <= 0, `${place} is ${wide} px too wide`);
      if (await page.locator("table.sign-off").isVisible()) break;
      const hold = page.locator(".at-bench .hold input");
      if (await hold.count()) await hold.first().fill("jb");
      await next(page).click();
    }
    assert.ok(await page.locator("table.sign-off").isVisible());
    await page.evaluate(() => localStorage.clear());
    await page.close();
  }
});

test("the bench view has no fault that axe-core finds", async () => {
  for (const scheme of ["light", "dark"]) {
    // axe-core reads the style sheets, which a browser allows only from a server.
    const page = await openBench(HELD_SHEET, session.server);
    await page.emulateMedia({ colorScheme: scheme });
    for (let screens = 0; screens < 9; screens += 1) {
      assert.deepEqual(await axeViolations(page), [], `screen ${screens}, ${scheme}`);
      await page.keyboard.press("ArrowRight");
      await page.waitForTimeout(260);
    }
    await page.evaluate(() => localStorage.clear());
    await page.close();
  }
});

test("the focus is never behind the bar or the buttons", async () => {
  const page = await openBench();
  await page.setViewportSize({ width: 820, height: 600 });
  for (let screens = 0; screens < 12; screens += 1) {
    for (let presses = 0; presses < 6; presses += 1) {
      await page.keyboard.press("Tab");
      const { isCovered, what } = await page.evaluate(() => {
        const active = document.activeElement;
        const { top, bottom } = active.getBoundingClientRect();
        const bar = document.querySelector(".live-bar");
        const acts = document.querySelector(".bench-acts");
        const isOwn = bar.contains(active) || acts.contains(active) || active === document.body;
        const isCovered = !isOwn && (top < bar.getBoundingClientRect().bottom - 1 || bottom > acts.getBoundingClientRect().top + 1);
        return { isCovered, what: active.id || active.className };
      });
      assert.ok(!isCovered, `${what} on screen ${screens}`);
    }
    await next(page).click();
  }
});

test("the screen is kept awake while a job is open", async () => {
  await session.context.addInitScript(() => {
    globalThis.locks = { held: 0, asked: 0 };
    const request = async () => {
      globalThis.locks.held += 1;
      globalThis.locks.asked += 1;
      return { released: false, release: () => (globalThis.locks.held -= 1) };
    };
    Object.defineProperty(navigator, "wakeLock", { value: { request } });
  });
  const page = await openBench();
  const held = () => page.evaluate(() => globalThis.locks.held);
  assert.equal(await held(), 0, "no job has begun");
  await next(page).click();
  await next(page).click();
  assert.equal(await held(), 1);
  await next(page).click();
  assert.equal(await page.evaluate(() => globalThis.locks.asked), 1);
  await page.getByRole("button", { name: "List", exact: true }).click();
  assert.equal(await held(), 1);
  const clear = page.locator(".keep .acts button", { hasText: /Clear|Tap again/ });
  await page.locator(".fold-toggle").click();
  await clear.click();
  await clear.click();
  assert.equal(await held(), 0);
});

test("one clock counts from the first entry, beside the time allowed, and can be stopped", async () => {
  await session.context.clock.install({ time: new Date("2026-03-02T09:00:00Z") });
  const page = await openBench();
  const clock = page.locator(".clock");
  assert.equal(await clock.innerText(), "");
  await next(page).click();
  await next(page).click();
  const allowed = await page.locator("[data-fact=time-allowed]").textContent();
  const [, hours = 0, minutes = 0] = /^(?:(\d+)\sh)?\s?(?:(\d+)\smin)?$/.exec(allowed);
  const inHours = `${hours}:${String(minutes).padStart(2, "0")}`;
  await page.clock.runFor(13 * 60_000 + 6000);
  assert.equal(await clock.innerText(), `0:13 of ${inHours} h`);
  await page.getByRole("button", { name: "Stop the clock" }).click();
  assert.equal(await clock.innerText(), `0:13 of ${inHours} h, stopped`);
  await page.clock.runFor(30 * 60_000);
  await page.reload();
  assert.equal(await clock.innerText(), `0:13 of ${inHours} h, stopped`);
  await page.getByRole("button", { name: "Start the clock" }).click();
  await page.clock.runFor(4 * 60_000);
  assert.equal(await clock.innerText(), `0:17 of ${inHours} h`);
  await page.clock.runFor((Number(hours) * 60 + Number(minutes)) * 60_000);
  assert.match(await clock.innerText(), /over the time allowed/);
});
