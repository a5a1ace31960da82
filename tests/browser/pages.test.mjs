// The pages, checked by axe-core for accessibility (WCAG 2.2, levels A and AA) and by the Nu HTML checker for the
// HTML standard.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { test } from "node:test";
import { promisify } from "node:util";
import { axeViolations, makePages, setUp } from "./pages.mjs";

const PAGES = [
  "index.html",
  "tarn-yarrow/drive-belt-bench-checklist.html",
  "tarn-yarrow/governor-linkage-shop-sheet.html",
  "tarn-yarrow/float-bowl-kit-list.html",
  "tarn-yarrow/machine-data.html",
  "tarn-yarrow/interval-chart.html",
  "tarn-yarrow/caution-sheet.html",
  "tarn-yarrow/hard-to-start-fault-table.html",
  "where-used.html",
  "tarn-yarrow/index.html",
  "procedure/float-bowl.html",
  "cautions.html",
  "tools.html",
  "glossary.html",
  "rules/index.html",
  "rules/trade.html",
];

// axe-core reads the style sheet, which is not possible from a disk.
const session = setUp({ viewport: { width: 1280, height: 720 }, serve: true, pages: makePages });

/** Puts one control into each possible state. */
async function fillSome(page) {
  await page.waitForSelector("body.live");
  await page.locator(".step-tick").first().click();
  for (const [index, typed] of ["9999", "0,1", "x"].entries()) {
    await page.locator(".reading input").nth(index).fill(typed);
    await page.locator(".reading input").nth(index).blur();
  }
  await page.locator(".choice label").first().click();
  // What is before the first step is folded away once a job has begun.
  if (await page.locator(".folded").count()) await page.locator(".fold-toggle").click();
  await page.getByRole("button", { name: "Export", exact: true }).click();
  await page.getByRole("button", { name: "Clear", exact: true }).click();
}

for (const path of PAGES) {
  test(`axe-core finds nothing on ${path}`, async () => {
    const page = await session.open(session.server.address(path));
    if (path.includes("bench-checklist")) await fillSome(page);
    for (const media of ["screen", "print"]) {
      for (const colorScheme of media === "print" ? ["light"] : ["light", "dark"]) {
        // Sheets have the width of their paper.
        for (const width of media === "print" ? [820] : [360, 820, 1280]) {
          await page.emulateMedia({ media, colorScheme });
          await page.setViewportSize({ width, height: 1000 });
          assert.deepEqual(await axeViolations(page), [], `${media}, ${colorScheme}, ${width} px`);
        }
      }
    }
  });
}

test("the Nu HTML checker reports nothing", async () => {
  const jar = join(dirname(createRequire(import.meta.url).resolve("vnu-jar")), "build", "dist", "vnu.jar");
  const files = PAGES.map((path) => join(session.pages.folder, path));
  const run = promisify(execFile);
  const result = await run("java", ["-Xss4m", "-jar", jar, "--stdout", "--format", "text", ...files]).catch(
    (error) => error,
  );
  assert.equal(result.stdout, "Document checking completed. No errors found.\n");
  assert.equal(result.code ?? 0, 0, result.stderr);
});
