// The contact sheets show a sheet and a page of every kind that there is.

import assert from "node:assert/strict";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { PAGES, SHEETS } from "./contact_sheets.mjs";
import { makePages } from "./pages.mjs";

test("the contact sheets have a page and a sheet of every kind", () => {
  const pages = makePages();
  try {
    /** The kind of a page: the classes of its body. */
    const kindOf = (path) => /<body class="([^"]*)"/.exec(readFileSync(join(pages.folder, path), "utf8"))[1];
    const all = readdirSync(pages.folder, { recursive: true }).filter((path) => path.endsWith(".html"));
    const paths = PAGES.map(({ path }) => path);
    const printed = SHEETS.filter(({ pdf }) => pdf !== "manual").map(({ pdf }) => `${pdf}.html`);
    for (const path of [...paths, ...printed]) assert.ok(existsSync(join(pages.folder, path)), path);
    const kinds = new Set(all.map(kindOf));
    assert.ok(kinds.size > 9);
    const without = (all, some) => [...all].filter((kind) => !some.map(kindOf).includes(kind));
    assert.deepEqual(without(kinds, paths), [], "kinds without a page");
    const sheets = [...kinds].filter((kind) => kind.startsWith("sheet "));
    assert.deepEqual(without(sheets, printed), [], "kinds without a printed sheet");
  } finally {
    pages.remove();
  }
});
