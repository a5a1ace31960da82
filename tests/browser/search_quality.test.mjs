// Whether a search finds what somebody means. `queries.txt` has queries as people type them, each with its right answers;
// the share of them with a right answer among the first results is measured and may not fall.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { makePages, setUp } from "./pages.mjs";

/** A right answer has to be among this many results. */
const FIRST = 3;
const GOAL = 0.95;
/** The share of the queries that are kept apart. Their number is small: one more miss is 3 %. */
const GOAL_APART = 0.85;

const here = dirname(fileURLToPath(import.meta.url));
const session = setUp({ viewport: { width: 820, height: 1180 } });

/** The queries by shop. Every fourth of all is kept apart. */
function queries() {
  const shops = [];
  let count = 0;
  for (const line of readFileSync(join(here, "queries.txt"), "utf8").split("\n")) {
    if (line === "" || line.startsWith("#")) continue;
    const [, folder] = /^shop (.+)$/.exec(line) ?? [];
    if (folder) {
      shops.push({ folder, queries: [] });
      continue;
    }
    const [typed, answers] = line.split("|").map((text) => text.trim());
    count += 1;
    shops.at(-1).queries.push({ typed, answers: answers.split(";").map((answer) => answer.trim()), isApart: count % 4 === 0 });
  }
  return shops;
}

/** The answers that an address stands for: `part bowl-nut`, and `part bowl-nut @tarn-yarrow`. */
function answersAt(href) {
  const kinds = [
    [/^([^/]+)\/(.+)-shop-sheet\.html#step-/, "step"],
    [/^([^/]+)\/(.+)-shop-sheet\.html$/, "procedure"],
    [/^procedure\/([^.]+)\.html$/, "procedure"],
    [/^([^/]+)\/index\.html$/, "machine"],
    [/^([^/]+)\/parts\.html#(part|reading)-(.+)$/, null],
    [/^([^/]+)\/parts-list\.html#drawn-(.+)$/, "part"],
    [/^([^/]+)\/(.+)-fault-table\.html$/, "fault"],
    [/^[a-z]+\.html#(tool|supply|caution|term)-(.+)$/, null],
  ];
  for (const [pattern, kind] of kinds) {
    const [all, one, two, three] = pattern.exec(href) ?? [];
    if (!all) continue;
    if (kind && two) return [`${kind} ${two}`, `${kind} ${two} @${one}`];
    if (kind) return [`${kind} ${one}`];
    return three ? [`${two} ${three}`, `${two} ${three} @${one}`] : [`${one} ${two}`];
  }
  return [];
}

async function openSearch(pages) {
  const page = await session.open(pages.address("index.html"));
  await page.locator("#search-field").focus();
  await page.waitForFunction(() => globalThis.benchleafSearch);
  return page;
}

/** The first results: for each its addresses, on all its machines. */
async function firstResults(page, typed) {
  await page.locator("#search-field").fill(typed);
  return page.locator(".search [role=option]:not(.search-other)").evaluateAll(
    (options, first) =>
      options.slice(0, first).map((option) => {
        const others = option.nextElementSibling?.matches(".search-others") ? [...option.nextElementSibling.children] : [];
        return [option, ...others].map((link) => link.getAttribute("href"));
      }),
    FIRST,
  );
}

const share = (found) => found.filter(Boolean).length / found.length;

test("a right answer is among the first three results for 95 % of what people type", async (t) => {
  const outcomes = [];
  for (const { folder, queries: asked } of queries()) {
    const pages = session.makePages(null, () => {}, null, folder);
    const page = await openSearch(pages);
    for (const { typed, answers, isApart } of asked) {
      const results = await firstResults(page, typed);
      const found = results.flat().flatMap(answersAt);
      // A fluid has no address of its own on its machine's page.
      const fluids = results.flat().filter((href) => href.endsWith("#fluids"));
      const isRight = (answer) => {
        const [, machine] = /^fluid \S+(?: @(\S+))?$/.exec(answer) ?? [];
        return found.includes(answer) || (answer.startsWith("fluid") && fluids.some((href) => !machine || href.startsWith(machine)));
      };
      outcomes.push({ typed, isApart, isFound: answers.some(isRight), results });
    }
  }
  assert.ok(outcomes.length >= 120);
  const [tuned, apart] = [false, true].map((isApart) => outcomes.filter((outcome) => outcome.isApart === isApart));
  assert.ok(apart.length >= 30);
  for (const { typed, isFound, results } of tuned) {
    if (!isFound) t.diagnostic(`not found: ${typed}: ${results.map(([first]) => first).join(", ")}`);
  }
  const [all, ofTuned, ofApart] = [outcomes, tuned, apart].map((some) => share(some.map(({ isFound }) => isFound)));
  const percent = (part) => `${(100 * part).toFixed(1)} %`;
  t.diagnostic(`${outcomes.length} queries: ${percent(all)}; ${apart.length} kept apart: ${percent(ofApart)}`);
  assert.ok(ofTuned >= GOAL, percent(ofTuned));
  assert.ok(ofApart >= GOAL_APART, percent(ofApart));
  assert.ok(all >= GOAL, percent(all));
});
