// The open jobs on the front page.

import assert from "node:assert/strict";
import { test } from "node:test";
import { axeViolations, makePages, overflow, setUp } from "./pages.mjs";

const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
const OTHER_SHEET = "tarn-sedge/oil-change-bench-checklist.html";
const session = setUp({ viewport: { width: 820, height: 1180 }, serve: true, pages: makePages });

async function begin(number, ticks, sheet = SHEET, from = session.pages) {
  const page = await session.open(from.address(sheet));
  await page.waitForSelector("body.live");
  if (!(await page.locator("#job-number").isVisible())) await page.locator(".fold-toggle").click();
  await page.locator("#job-number").fill(number);
  await page.locator("#job-number").blur();
  for (let index = 0; index < ticks; index += 1) await page.locator(".step-tick").nth(index).click();
  await page.close();
}

test("open jobs are on the front page, the last one first, and one tap goes on", async () => {
  await begin("2041", 2);
  await begin("2042", 1);
  await begin("", 1, OTHER_SHEET);
  const page = await session.open(session.pages.address("index.html"));
  const lines = page.locator(".open-jobs li");
  assert.equal(await lines.count(), 3);
  const [last, second, first] = await lines.allInnerTexts();
  assert.match(last, /Tarn Sedge water transfer pump: Engine oil.*No job number · step 2 of 56 · since /s);
  assert.match(second, /Job 2042 · step 2 of 51/);
  assert.match(first, /Tarn Yarrow tiller: Drive belt.*Job 2041 · step 3 of 51 · since /s);
  await lines.nth(2).getByRole("link").click();
  await page.waitForSelector("body.live");
  assert.match(page.url(), /drive-belt-bench-checklist\.html#step-3$/);
  assert.equal(await page.locator("#job-number").inputValue(), "2041");
  assert.equal(await page.locator("[aria-pressed=true].step-tick").count(), 2);
});

test("a job that is complete or was cleared is not open, and what is not a record is ignored", async () => {
  const page = await session.open(session.pages.address("index.html"));
  await page.evaluate(() => {
    const ask = { field: "tick", kind: "tick", label: "done", value: true, n: 1, at: "2026-03-02T09:00:00Z" };
    const record = {
      format: "benchleaf-checklist", version: 2, sheet: "m/p-bench-checklist", path: "m/p-bench-checklist", title: "Complete",
      machine: "M", job: "1", begun: ask.at, saved: ask.at, state: { done: 1, all: 1, step: null, missing: 0 },
      steps: [{ asks: [ask] }],
    };
    const put = (name, value) => localStorage.setItem(`benchleaf-job ${JSON.stringify(["m", name])}`, JSON.stringify(value));
    put("complete", record);
    put("cleared", { ...record, title: "Cleared", state: { missing: 3 }, steps: [{ asks: [{ ...ask, value: null }] }] });
    for (const path of ["javascript:alert(1)", "//example.org/x", "../../x", "/etc", 7]) {
      put(`path ${path}`, { ...record, title: "Elsewhere", path, state: { missing: 3 } });
    }
    localStorage.setItem("benchleaf-job x", "{");
    put("null", null);
    put("open", { ...record, title: "<b>Open</b>", state: { done: 0, all: 1, step: 1, missing: 3 } });
  });
  await page.reload();
  assert.deepEqual(await page.locator(".open-jobs a").allInnerTexts(), ["M: <b>Open</b>"]);
});

test("where pages can't see each other's entries, the front page says so", async () => {
  const page = await session.open(session.pages.address("index.html"));
  assert.match(await page.locator(".open-jobs").innerText(), /No open jobs were found.*from a disk/s);
  const served = await session.open(session.server.address("index.html"));
  assert.ok(!(await served.locator(".open-jobs").isVisible()), "a server's pages share their storage");
});

test("the list of open jobs has no fault that axe-core finds and fits a phone", async () => {
  for (const number of ["1", "2", "3", "4", "5", "6", "7"]) await begin(number, 1, SHEET, session.server);
  const page = await session.open(session.server.address("index.html"));
  assert.equal(await page.locator(".open-jobs li:visible").count(), 5);
  assert.equal(await page.locator(".open-jobs summary").innerText(), "+ 2");
  assert.deepEqual(await axeViolations(page), []);
  await page.setViewportSize({ width: 360, height: 740 });
  assert.ok((await overflow(page)) <= 0);
});
