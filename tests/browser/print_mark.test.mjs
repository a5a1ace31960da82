// The page that the QR code of a print opens. It says whether the print is current.

import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { axeViolations, makePages, setUp } from "./pages.mjs";

const ADDRESS = "https://sheets.elmbrook.example";

/** The sheets of one job, with the address that a code needs. */
const withAddress = (language) => () =>
  makePages(
    language,
    (shop) => {
      const file = join(shop, "shop.toml");
      writeFileSync(file, readFileSync(file, "utf8").replace(/^paper = /m, `address = "${ADDRESS}"\npaper = `));
    },
    ["--machine", "tarn-yarrow", "--procedure", "drive-belt"],
  );

const session = setUp({ viewport: { width: 820, height: 1180 }, pages: withAddress("en-GB"), serve: true });
const SHEETS = ["shop-sheet", "bench-checklist", "kit-list"].map((kind) => `tarn-yarrow/drive-belt-${kind}.html`);

/** Opens a sheet as the code of a print does. */
const openPrint = (sheet, print) => session.open(`${session.pages.address(sheet)}?print=${encodeURIComponent(print)}`);
const stateOf = (page) => page.locator(".print-state");

async function markOf(sheet) {
  const page = await session.open(session.pages.address(sheet));
  assert.ok(await stateOf(page).isHidden(), "a page that no print led to says nothing");
  return stateOf(page).getAttribute("data-mark");
}

test("a print with the page's mark is up to date, and another is not", async () => {
  for (const sheet of SHEETS) {
    const mark = await markOf(sheet);
    const current = await openPrint(sheet, mark);
    assert.equal(await stateOf(current).innerText(), `This print is up to date. It has the same mark as this page: ${mark}.`);
    const old = await openPrint(sheet, "00c0ffee");
    const said = await stateOf(old).innerText();
    assert.match(said, /^This print is out of date/);
    assert.ok(said.includes("00c0ffee") && said.includes(mark), said);
    assert.ok(await stateOf(old).isVisible());
    await old.emulateMedia({ media: "print" });
    assert.ok(await stateOf(old).isHidden(), "it is not printed");
  }
});

test("what is not a mark is ignored", async () => {
  for (const print of ["", "x", "00c0ffee0", "00C0FFEE", "<b>00c0ffee</b>", "$&$&$&$&"]) {
    const page = await openPrint(SHEETS[0], print);
    assert.ok(await stateOf(page).isHidden(), print);
  }
});

test("a print of an earlier revision is out of date after the sheet is made again", async () => {
  const pages = withAddress("en-GB")();
  try {
    const [, sheet] = SHEETS;
    const printed = await session.open(pages.address(sheet));
    const mark = await stateOf(printed).getAttribute("data-mark");
    pages.edit("driveline/drive-belt.md", ["off](remove:belt-cover).", "off](remove:belt-cover) with both hands."]);
    const page = await session.open(`${pages.address(sheet)}?print=${mark}`);
    assert.match(await stateOf(page).innerText(), /^This print is out of date/);
  } finally {
    pages.remove();
  }
});

test("axe-core finds nothing, in light and dark", async () => {
  for (const colorScheme of ["light", "dark"]) {
    for (const print of [await markOf(SHEETS[0]), "00c0ffee"]) {
      const page = await session.open(`${session.server.address(SHEETS[0])}?print=${print}`);
      await page.emulateMedia({ colorScheme });
      assert.deepEqual(await axeViolations(page), [], `${colorScheme}, ${print}`);
    }
  }
});
