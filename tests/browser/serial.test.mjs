// The serial number on the checklist of a variant: which sheet is right for it.

import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { makePages, setUp, test } from "./pages.mjs";

/** The tree `hand-pump` with a machine for early serial numbers and a variant for later ones. */
function makeVariants() {
  return makePages(null, addVariant, null, "tests/trees/hand-pump");
}

function addVariant(shop) {
  const change = (name, ...edits) => {
    let text = readFileSync(join(shop, name), "utf8");
    for (const [before, after] of edits) {
      assert.ok(text.includes(before), `${name} does not say ${before}`);
      text = text.replace(before, after);
    }
    writeFileSync(join(shop, name), text);
  };
  change("machines/hand-pump.toml", ["name = ", 'to = "HP-2399"\nname = ']);
  change("air/cover.md", ['["hand-pump"]', '["hand-pump", "late-pump"]']);
  const late = 'name = "Tarn Rush, late"\nlike = "hand-pump"\nfrom = "HP-2400"\nto = "HP-9999"\n';
  writeFileSync(join(shop, "machines/late-pump.toml"), late);
}

const session = setUp({ pages: makeVariants });
const SHEET = "hand-pump/cover-bench-checklist.html";

const warning = (page) => page.textContent(".messages [role=alert]");

async function enter(page, serial) {
  const input = page.getByLabel("Serial number");
  await input.fill(serial);
  await input.blur();
}

test("a serial number of another variant names the machine whose sheet is right", async () => {
  const page = await session.open(session.pages.address(SHEET));
  await page.click(".fold-toggle");
  for (const [serial, said] of [
    ["HP-2399", ""],
    ["hp-5", ""],
    ["17", ""],
    ["", ""],
    ["HP-2400", "Tarn Rush, late"],
    ["2400", "Tarn Rush, late"],
    // By its digits: as a text it would come before HP-2399.
    ["HP-10000", "Ask before you go on"],
    ["HQ-17", "Ask before you go on"],
    ["none", "Ask before you go on"],
    ["HP-0001", ""],
  ]) {
    await enter(page, serial);
    const text = await warning(page);
    assert.ok(said ? text.includes(said) : text === "", `${serial}: ${text}`);
  }
});

test("the sheet says which serial numbers it is for, and leads to the sheet for others", async () => {
  const page = await session.open(session.pages.address(SHEET));
  await page.click(".fold-toggle");
  assert.match(await page.textContent("#job-panel"), /Serial numbers\s*up to HP-2399/);
  await page.locator("#job-panel p a", { hasText: "Tarn Rush, late" }).click();
  await page.waitForURL(/late-pump\/cover-bench-checklist/);
  await page.waitForSelector("body.live");
  await page.click(".fold-toggle");
  assert.match(await page.textContent("#job-panel"), /HP-2400 to HP-9999/);
  await enter(page, "HP-0001");
  assert.match(await warning(page), /It belongs to: Tarn Rush hand pump/);
});
