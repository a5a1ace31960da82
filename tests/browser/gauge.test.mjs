// The scale of a reading on the live checklist: its pointers follow what is typed.

import assert from "node:assert/strict";
import { makePages, setUp, test } from "./pages.mjs";

const SHEET = "tarn-sedge/spark-plug-bench-checklist.html";
const only = ["--machine", "tarn-sedge", "--procedure", "spark-plug", "--sheet", "bench-checklist"];
const session = setUp({ viewport: { width: 390, height: 844 }, serve: true, pages: () => makePages(null, () => {}, only) });

/** The middle of each pointer that is shown in the first scale, from its left edge, and whether it is above its middle. */
const pointers = (scale) =>
  scale.evaluate((svg) => {
    const all = svg.getBoundingClientRect();
    const shown = [...svg.querySelectorAll("polygon")].filter((pointer) => pointer.style.display !== "none");
    return shown.map((pointer) => {
      const { left, width, top, height } = pointer.getBoundingClientRect();
      return { x: left + width / 2 - all.left, isAbove: top + height / 2 < all.top + all.height / 2 };
    });
  });

/** Where the thick lines of the two limits are, from the left edge of the scale. */
const limits = (scale) =>
  scale.evaluate((svg) => {
    const left = svg.getBoundingClientRect().left;
    return [...svg.querySelectorAll("line")].map((line) => {
      const { x, width } = line.getBoundingClientRect();
      return x + width / 2 - left;
    });
  });

test("a pointer follows a typed reading", async () => {
  const page = await session.open(session.pages.address(SHEET));
  await page.waitForSelector("body.live");
  const step = page.locator(".lines > li:has(.gauge)").first();
  const scale = step.locator(".gauge svg");
  const [box] = await step.locator(".reading input").all();
  assert.deepEqual(await pointers(scale), []);
  const [least, most] = await limits(scale);
  const at = async (text) => {
    await box.fill(text);
    const [pointer, ...others] = await pointers(scale);
    assert.deepEqual(others, []);
    assert.ok(pointer.isAbove);
    return pointer.x;
  };
  assert.ok(Math.abs((await at("0.65")) - least) < 2, "at the lower limit");
  assert.ok(Math.abs((await at("0,75")) - most) < 2, "at the upper limit");
  const middle = await at("0.70");
  assert.ok(Math.abs(middle - (least + most) / 2) < 2, "between them");
  // What is far beyond the scale is at its end.
  const { width } = await scale.boundingBox();
  assert.ok((await at("9")) > width - 8);
  await box.fill("about one");
  assert.deepEqual(await pointers(scale), []);
});
