// The dimensions of a part on the live checklist: what is found decides whether the part is used again.

import assert from "node:assert/strict";
import { appendFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { axeViolations, makePages, overflow, setUp, test } from "./pages.mjs";

const SHAFT = `
[part.shaft]
name = "shaft"

[part.shaft.dimension.pin]
name = "pin diameter"
new = "29.98 mm to 30.00 mm"
desired = "29.98 mm"
wear-limit = "at least 29.92 mm"
where = "at two places, 90° apart"
beyond = "Renew the shaft."

[part.shaft.dimension.runout]
name = "run-out"
new = "max 0.02 mm"
wear-limit = "max 0.05 mm"
`;

const JOB = `+++
title = "Shaft: measure"
machines = ["hand-pump"]
+++

It wears.

## Measure

1. [](inspect:shaft)
2. [](measure:shaft/runout)
`;

const SHEET = "hand-pump/shaft-bench-checklist.html";

const pages = () =>
  makePages(
    null,
    (shop) => {
      appendFileSync(join(shop, "machines", "hand-pump.toml"), SHAFT);
      writeFileSync(join(shop, "air", "shaft.md"), JOB);
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

/** The row of a dimension at a step, and what is in it. */
function row(page, step, name) {
  const whole = page.locator(`#step-${step} .wear tbody tr`, { hasText: name });
  return {
    whole,
    box: whole.getByRole("textbox"),
    verdict: whole.locator("output"),
    panel: whole.locator(".out"),
    ticked: () => whole.locator(".option:has(.ticked)").allInnerTexts(),
  };
}

async function enter(found, text) {
  await found.box.fill(text);
  await found.box.blur();
}

/** The right edge of what is in the table of the first step. */
const right = (page) =>
  page.locator("#step-1 .wear, #step-1 .wear *").evaluateAll((all) =>
    Math.max(...all.map((element) => element.getBoundingClientRect().right)),
  );

const texts = async (list) => (await list).map((text) => text.trim());

test("a step has the dimensions that it measures", async () => {
  const page = await openSheet();
  assert.equal(await page.locator("#step-1 .wear tbody tr").count(), 2);
  assert.equal(await page.locator("#step-2 .wear tbody tr").count(), 1);
  const text = (await row(page, 1, "pin diameter").whole.innerText()).replace(/\s/g, " ");
  for (const part of ["at two places, 90° apart", "29.98 mm to 30.00 mm", "at least 29.92 mm"]) {
    assert.ok(text.includes(part), text);
  }
});

test("within the limit the part is used again, beyond it the page says what is done", async () => {
  const page = await openSheet();
  const pin = row(page, 1, "pin diameter");
  assert.deepEqual(await texts(pin.ticked()), []);
  await enter(pin, "29.92");
  assert.equal(await pin.verdict.textContent(), "reuse");
  assert.deepEqual(await texts(pin.ticked()), ["reuse"]);
  assert.ok(await pin.panel.isHidden());
  await enter(pin, "29,91");
  assert.equal(await pin.verdict.textContent(), "beyond the wear limit");
  assert.deepEqual(await texts(pin.ticked()), ["renew"]);
  assert.match(await pin.panel.innerText(), /beyond the wear limit.*Renew the shaft\./i);
  assert.match(await page.locator(".progress").innerText(), /1 out of limits/);
  // What is no value decides nothing.
  await enter(pin, "thick");
  assert.deepEqual(await texts(pin.ticked()), []);
  assert.ok(await pin.panel.isHidden());
  await enter(pin, "");
  assert.equal(await pin.verdict.textContent(), "");
});

test("a greatest value is beyond its limit above it", async () => {
  const page = await openSheet();
  const single = row(page, 2, "run-out");
  await enter(single, "0.05");
  assert.deepEqual(await texts(single.ticked()), ["reuse"]);
  await enter(single, "0.06");
  assert.deepEqual(await texts(single.ticked()), ["renew"]);
  assert.ok(await single.panel.isVisible());
});

test("what was found is there again after the page is opened again", async () => {
  const page = await openSheet();
  await enter(row(page, 1, "pin diameter"), "29.90");
  await enter(row(page, 1, "run-out"), "0.01");
  await page.reload();
  await page.waitForSelector("body.live");
  assert.equal(await row(page, 1, "pin diameter").box.inputValue(), "29.90");
  assert.deepEqual(await texts(row(page, 1, "pin diameter").ticked()), ["renew"]);
  assert.deepEqual(await texts(row(page, 1, "run-out").ticked()), ["reuse"]);
});

test("the table fits on a tablet, on a phone and in the bench view, and is accessible", async () => {
  const page = await openSheet(session.server);
  await enter(row(page, 1, "pin diameter"), "29.90");
  assert.ok((await overflow(page)) <= 0);
  assert.deepEqual(await axeViolations(page), []);
  await page.setViewportSize({ width: 360, height: 740 });
  assert.ok((await right(page)) <= 360);
  assert.match(await row(page, 1, "pin diameter").whole.innerText(), /pin diameter/);
  const heads = await row(page, 1, "pin diameter").whole.locator("td.limits").evaluate(
    (cell) => getComputedStyle(cell, "::before").content,
  );
  assert.match(heads, /Wear limit/);
  await page.setViewportSize({ width: 820, height: 1180 });
  await page.getByRole("button", { name: "Bench view" }).click();
  assert.ok((await overflow(page)) <= 0);
  assert.ok(await row(page, 1, "pin diameter").box.isVisible());
});
