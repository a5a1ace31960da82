// Steps of the live checklist that depend on what is found: what is entered decides whether they are asked for.

import assert from "node:assert/strict";
import { appendFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { axeViolations, makePages, overflow, setUp, test } from "./pages.mjs";

const MACHINE = `
[part.strainer]
name = "strainer"
reuse = "whole, with no tear"

[part.shaft]
name = "shaft"

[part.shaft.dimension.pin]
name = "pin diameter"
wear-limit = "at least 29.92 mm"

[part.shaft.dimension.runout]
name = "run-out"
wear-limit = "max 0.05 mm"

[reading.height]
name = "float height, on the bench"
limits = "18 mm to 19 mm"

[reading.oil]
name = "oil level"
marks = ["MIN", "MAX"]
under = "Top up"
`;

const JOB = `+++
title = "Float: set"
machines = ["hand-pump"]
+++

It sticks.

## Set

1. [](measure:height)
2. [Bend the tang](adjust:height). {#bend if="height.out"}
3. [](measure:height) {if="height.out" until="height.within" back-to="bend" at-most="3"}
4. [](inspect:strainer)
5. [](renew:strainer) {if="strainer.renew"}
6. [](hold:mechanic) {if="strainer.renew"}
7. [](inspect:shaft)
8. Lay the shaft aside. {if="shaft.renew"}
9. Wipe the shaft. {if="shaft.reuse"}
10. [](measure:oil)
11. Top it up. {if="oil.under"}
`;

const SHEET = "hand-pump/float-bench-checklist.html";

const pages = () =>
  makePages(
    null,
    (shop) => {
      appendFileSync(join(shop, "machines", "hand-pump.toml"), MACHINE);
      writeFileSync(join(shop, "air", "float.md"), JOB);
    },
    null,
    "tests/trees/hand-pump",
  );

const session = setUp({ viewport: { width: 820, height: 1180 }, serve: true, pages });

async function openSheet(from = session.pages) {
  const page = await session.open(from.address(SHEET));
  await page.waitForSelector("body.live");
  return page;
}

const step = (page, number) => page.locator(`#step-${number}`);
const isNotNeeded = (page, number) => step(page, number).evaluate((line) => line.classList.contains("not-needed"));
const isTicked = async (page, number) => (await step(page, number).locator(".only-if .ticked").count()) === 1;

async function enter(page, number, text) {
  const box = step(page, number).getByRole("textbox").first();
  await box.fill(text);
  await box.blur();
}

/** How many entries the page says are missing. */
async function missing(page) {
  const text = await page.locator(".progress").innerText();
  const [done, all] = text.match(/(\d+) of (\d+)/).slice(1).map(Number);
  return all - done;
}

test("the sheet says above a step when it is done, with a short name", async () => {
  const page = await openSheet();
  const line = (await step(page, 2).locator(".only-if").innerText()).replace(/\s+/g, " ");
  assert.equal(line, "Only if the float height is out of its limits: not needed");
  assert.match(await step(page, 3).innerText(), /Repeat from step\s2 until the float height is within its limits, at most 3\stimes/);
});

test("a reading decides which steps are asked for", async () => {
  const page = await openSheet();
  // Until it is measured, nothing is known.
  assert.equal(await isNotNeeded(page, 2), false);
  const before = await missing(page);
  await enter(page, 1, "18.5");
  assert.ok((await isNotNeeded(page, 2)) && (await isNotNeeded(page, 3)));
  assert.ok((await isTicked(page, 2)) && (await isTicked(page, 3)));
  assert.ok((await missing(page)) <= before - 3, `${await missing(page)} of ${before}`);
  await enter(page, 1, "19.5");
  assert.ok(!(await isNotNeeded(page, 2)) && !(await isTicked(page, 2)));
  // The step that measures it again does not decide about itself.
  await enter(page, 3, "18.6");
  assert.ok(!(await isNotNeeded(page, 2)) && !(await isNotNeeded(page, 3)));
  await enter(page, 1, "");
  assert.equal(await isNotNeeded(page, 2), false);
});

test("a decision about a part does, and a hold that is not needed holds nothing up", async () => {
  const page = await openSheet();
  const options = step(page, 4).getByRole("radio");
  await options.nth(1).check();
  assert.equal(await isNotNeeded(page, 5), false);
  assert.ok(await step(page, 9).evaluate((line) => line.classList.contains("held")));
  await options.nth(0).check();
  assert.ok((await isNotNeeded(page, 5)) && (await isNotNeeded(page, 6)));
  assert.equal(await step(page, 9).evaluate((line) => line.classList.contains("held")), false);
});

test("so does a level between its marks", async () => {
  const page = await openSheet();
  await step(page, 4).getByRole("radio").nth(0).check();
  const boxes = step(page, 10).getByRole("radio");
  assert.equal(await isNotNeeded(page, 11), false);
  await boxes.nth(1).check();
  assert.equal(await isNotNeeded(page, 11), true);
  await boxes.nth(0).check();
  assert.equal(await isNotNeeded(page, 11), false);
});

test("all dimensions of a part decide together", async () => {
  const page = await openSheet();
  await step(page, 4).getByRole("radio").nth(0).check();
  const boxes = step(page, 7).getByRole("textbox");
  await boxes.nth(0).fill("29.95");
  await boxes.nth(0).blur();
  // One of two is measured.
  assert.deepEqual([await isNotNeeded(page, 8), await isNotNeeded(page, 9)], [false, false]);
  await boxes.nth(1).fill("0.02");
  await boxes.nth(1).blur();
  assert.deepEqual([await isNotNeeded(page, 8), await isNotNeeded(page, 9)], [true, false]);
  await boxes.nth(1).fill("0.06");
  await boxes.nth(1).blur();
  assert.deepEqual([await isNotNeeded(page, 8), await isNotNeeded(page, 9)], [false, true]);
});

test("the lines fit on a phone and are accessible", async () => {
  const page = await openSheet(session.server);
  await enter(page, 1, "18.5");
  for (const width of [820, 400, 320]) {
    await page.setViewportSize({ width, height: 900 });
    assert.ok((await overflow(page)) <= 0, `${width}`);
  }
  assert.deepEqual(await axeViolations(page), []);
});
