// Kit lists and fault tables: their boxes are live as those of a checklist are.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { axeViolations, makePages, overflow, setUp } from "./pages.mjs";

const KIT = "tarn-yarrow/drive-belt-kit-list.html";
const FAULTS = "tarn-yarrow/hard-to-start-fault-table.html";
const session = setUp({ viewport: { width: 820, height: 1180 }, serve: true, pages: makePages });

async function openSheet(path, from = session.pages) {
  const page = await session.open(from.address(path));
  await page.waitForSelector("body.live");
  return page;
}

const bar = async (page) => (await page.locator(".progress").innerText()).trim();

test("what was pulled is ticked on the kit list, kept and exported", async () => {
  const page = await openSheet(KIT);
  const rows = await page.locator("tr:has(.tick)").count();
  assert.match(await bar(page), new RegExp(`^0 of ${rows} lines done`));
  assert.ok(!(await page.locator(".bench-open").isVisible()));
  await page.locator("#job-number").fill("2041");
  await page.locator("#job-number").blur();
  const tick = page.getByRole("checkbox", { name: /penetrating oil.*Pulled/ });
  await page.locator("tr", { hasText: "penetrating oil" }).locator(".option").click();
  assert.ok(await tick.isChecked());
  assert.match(await bar(page), new RegExp(`^1 of ${rows} lines done`));
  await page.reload();
  assert.ok(await tick.isChecked());
  assert.equal(await page.locator("#job-number").inputValue(), "2041");
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Hand over", exact: true }).click(),
  ]);
  const path = join(session.pages.folder, "kit.json");
  await download.saveAs(path);
  const record = JSON.parse(readFileSync(path, "utf8"));
  assert.equal(record.steps.find((one) => one.text[0] === "penetrating oil").asks[0].value, true);
});

test("the results of a fault table are chosen and kept", async () => {
  const page = await openSheet(FAULTS);
  assert.ok(await page.getByText("doesn't fire within six pulls").isVisible());
  const row = page.locator("tr", { hasText: "The starter slips" });
  await row.locator(".option", { hasText: "not OK" }).click();
  await page.reload();
  assert.ok(await row.getByRole("radio", { name: "not OK" }).isChecked());
  assert.ok(!(await row.getByRole("radio", { name: "OK", exact: true }).isChecked()));
  assert.match(await bar(page), /^1 of \d+ lines done/);
});

test("an empty kit list and fault table print as they do without the script", async () => {
  for (const sheet of [KIT, FAULTS]) {
    const page = await openSheet(sheet);
    const without = await session.open(session.pages.address(sheet), { javaScriptEnabled: false });
    const words = async (from, name) => {
      const path = join(session.pages.folder, name);
      await from.pdf({ path, preferCSSPageSize: true });
      const layout = execFileSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" });
      return layout.split("\n").map((line) => line.trim()).filter(Boolean);
    };
    assert.deepEqual(await words(page, "live.pdf"), await words(without, "plain.pdf"), sheet);
  }
});

test("both have no fault that axe-core finds, and targets for a finger", async () => {
  for (const sheet of [KIT, FAULTS]) {
    const page = await openSheet(sheet, session.server);
    assert.deepEqual(await axeViolations(page), [], sheet);
    await page.setViewportSize({ width: 360, height: 740 });
    assert.ok((await overflow(page)) <= 0, sheet);
    const small = await page.locator("td .option").evaluateAll((options) =>
      options.map((option) => option.getBoundingClientRect()).filter(({ width, height }) => width < 44 || height < 44).length,
    );
    assert.equal(small, 0, sheet);
  }
});
