// How soon the preview shows an edit. Its time is taken while no other test runs.

import assert from "node:assert/strict";
import { test } from "node:test";
import { median, setUpPreview } from "./pages.mjs";

const SHEET = "tarn-yarrow/air-cleaner-shop-sheet.html";
const SOURCE = "air/air-cleaner.md";
const TITLE = /^title = "(.*)"$/m;

let preview;
const session = setUpPreview((started) => (preview = started));

// The goal is 300 ms with the program as it is installed, on a machine with nothing else to do. A debug
// build is slower by several times, and what is asserted of it is that nobody waits for a timer.
const AT_MOST = Number(process.env.BENCHLEAF_PREVIEW_MS ?? 5000);
const now = () => performance.timeOrigin + performance.now();

test("from save to screen", async (t) => {
  const page = await session.open(preview.address(SHEET));
  // The page itself records when it was first painted. Asking from here would add time.
  await page.addInitScript(() => {
    const look = () => {
      const text = document.querySelector("h1")?.textContent;
      const painted = performance.getEntriesByName("first-contentful-paint")[0];
      if (text && painted) {
        window.shown = { text, at: performance.timeOrigin + painted.startTime };
      } else {
        requestAnimationFrame(look);
      }
    };
    look();
  });
  const times = [];
  for (let count = 0; count < 10; count += 1) {
    const text = `Air cleaner: time ${count}`;
    const source = preview.read(SOURCE).replace(TITLE, `title = "${text}"`);
    await page.waitForTimeout(200);
    const start = now();
    preview.write(SOURCE, source);
    const shown = await page.waitForFunction(
      (text) => window.shown?.text === text && window.shown.at,
      text,
    );
    times.push((await shown.jsonValue()) - start);
  }
  const middle = median(times);
  t.diagnostic(`median of 10: ${middle.toFixed(0)} ms (${times.map(Math.round).join(", ")})`);
  assert.ok(Math.min(...times) > 0 && middle < AT_MOST, `${middle} ms`);
});
