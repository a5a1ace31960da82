// A published site without its server.

import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { axeViolations, setUp } from "./pages.mjs";

const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
const SOURCE = "driveline/drive-belt.md";
const session = setUp({ viewport: { width: 820, height: 1180 }, serviceWorkers: "allow" });

const ready = (page) =>
  page.evaluate(async () => {
    await navigator.serviceWorker.ready;
    const [name] = await caches.keys();
    return { count: (await (await caches.open(name)).keys()).length, names: await caches.keys() };
  });

test("pages work without the server, are never stale with it, and a new publish replaces what is stored", async () => {
  const pages = session.makePages();
  let server = await session.serve(pages.folder);
  const { port } = server;
  const page = await session.open(server.address("index.html"));
  const first = await ready(page);
  assert.ok(first.count > 150, `${first.count} files are stored`);
  assert.equal(await page.locator("link[rel=manifest]").count(), 1);
  await server.stop();
  // A page that was not visited before, with its style and its script.
  await page.goto(server.address(SHEET));
  await page.waitForSelector("body.live");
  assert.match(await page.locator(".stored-state").innerText(), /^This is a stored copy/);
  await page.locator(".step-tick").first().click();
  await page.reload();
  await page.waitForSelector("body.live");
  assert.equal(await page.locator("[aria-pressed=true].step-tick").count(), 1);
  assert.match(await page.locator(".lines > li").first().innerText(), /Stand the machine level/);
  assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector(".live-bar")).position), "sticky");
  await page.goto(server.address(""));
  assert.ok(await page.locator(".open-jobs li").isVisible());
  // Published again while the browser has the old pages.
  pages.edit(SOURCE, ["off](remove:belt-cover).", "off](remove:belt-cover) with both hands."], ["revision = 2", "revision = 3"]);
  server = await session.serve(pages.folder, port);
  await page.goto(server.address(SHEET));
  await page.waitForSelector("body.live");
  assert.match(await page.locator("main").innerText(), /off\s\(2\) with both hands/, "the first page after a publish is new");
  assert.ok(await page.locator(".stored-state").isHidden(), "the server gave the page");
  await page.waitForFunction(async (old) => {
    const names = await caches.keys();
    return names.length === 1 && names[0] !== old;
  }, first.names[0]);
  await server.stop();
  await page.reload();
  await page.waitForSelector("body.live");
  assert.match(await page.locator("main").innerText(), /off\s\(2\) with both hands/);
  assert.equal(await page.locator("[aria-pressed=true].step-tick").count(), 1);
  session.allow(/ERR_CONNECTION_REFUSED|Failed to load resource|An unknown error occurred when fetching the script/);
});

test("a stored copy says so, and does not call a print up to date", async () => {
  const pages = session.makePages("en-GB", (shop) => {
    const file = join(shop, "shop.toml");
    writeFileSync(file, readFileSync(file, "utf8").replace(/^paper = /m, 'address = "https://sheets.elmbrook.example"\npaper = '));
  });
  const server = await session.serve(pages.folder);
  const page = await session.open(server.address(SHEET));
  await ready(page);
  const stored = page.locator(".stored-state");
  const print = page.locator(".print-state");
  const mark = await print.getAttribute("data-mark");
  const openPrint = (of) => page.goto(server.address(`${SHEET}?print=${of}`));
  await openPrint(mark);
  assert.ok(await stored.isHidden());
  assert.match(await print.innerText(), /^This print is up to date/);
  // The device loses the network while the page is open, and has it again.
  await page.context().setOffline(true);
  await page.waitForFunction(() => !document.querySelector(".stored-state").hidden);
  assert.equal(await stored.innerText(), "This is a stored copy: the server does not answer. It can't tell whether a newer one has been published.");
  assert.equal(await print.innerText(), `This print has the same mark as this stored copy: ${mark}. A newer one may have been published.`);
  await page.context().setOffline(false);
  await page.waitForFunction(() => document.querySelector(".stored-state").hidden);
  assert.match(await print.innerText(), /^This print is up to date/);
  // The device has a network, but the server does not answer.
  await server.stop();
  for (const [of, said] of [[mark, /^This print has the same mark as this stored copy/], ["00c0ffee", /^This print is not the same as this stored copy/]]) {
    await openPrint(of);
    assert.ok(await page.evaluate(() => navigator.onLine));
    assert.ok(await stored.isVisible());
    assert.match(await print.innerText(), said);
    assert.deepEqual(await axeViolations(page), []);
  }
  await page.goto(server.address("index.html"));
  assert.ok(await stored.isVisible(), "every page says it");
  await page.emulateMedia({ media: "print" });
  assert.ok(await stored.isHidden(), "it is not printed");
});

test("from a disk, nothing is stored in advance and no manifest is asked for", async () => {
  const pages = session.makePages();
  const page = await session.open(pages.address("index.html"));
  await page.waitForTimeout(300);
  assert.equal(await page.locator("link[rel=manifest]").count(), 0);
  // A partial run makes neither of the files, and its pages do not ask for them.
  const some = session.makePages("en-GB", () => {}, ["--machine", "tarn-yarrow", "--procedure", "drive-belt"]);
  const server = await session.serve(some.folder);
  const sheet = await session.open(server.address(SHEET));
  await sheet.waitForTimeout(300);
  assert.equal(await sheet.locator("link[rel=manifest]").count(), 0);
  assert.equal(await sheet.evaluate(async () => (await navigator.serviceWorker.getRegistrations()).length), 0);
});
