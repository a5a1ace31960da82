// The main flows of the live checklist in Firefox: the tests of `checklist.test.mjs` with these names.

import assert from "node:assert/strict";
import { test } from "node:test";

const FLOWS = [
  "steps, readings, positions, choices and signatures count as missing until they are there",
  "a reading out of limits says what to do, and is listed at the signature until a later one is right",
  "nothing behind an unsigned hold can be filled in",
  "entries are restored after the page was closed",
  "a draft moves to its job number, and jobs are kept separately",
  "entries are exported, cleared at a second tap, and imported",
];

process.env.BENCHLEAF_BROWSER = "firefox";
const { inFirefox } = await import("./pages.mjs");
for (const name of FLOWS) inFirefox.add(name);
await import("./checklist.test.mjs");

test("every flow that is to run in Firefox exists", () => {
  assert.deepEqual([...inFirefox], []);
});
