// The notice that the maker's instructions take precedence, on pages whose own style sheet tries to hide it.

import assert from "node:assert/strict";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { makePages, setUp } from "./pages.mjs";

const HIDING = `
.notices, aside, p, body > p, body > :last-child {
  display: none !important; visibility: hidden !important; opacity: 0 !important; position: absolute !important;
  left: -9999px !important; height: 0 !important; overflow: hidden !important; clip-path: inset(50%) !important;
  font-size: 0 !important; color: transparent !important; transform: scale(0) !important; content-visibility: hidden !important;
}
@media print { p { display: none !important } }
@keyframes hide { to { opacity: 0; display: none } }
body > p { animation: hide 1ms forwards !important }
`;

const pages = () =>
  makePages(
    null,
    (shop) => {
      const folder = join(shop, "..", "templates", "html");
      mkdirSync(folder, { recursive: true });
      writeFileSync(join(folder, "shop.css"), HIDING);
    },
    null,
    "tests/trees/hand-pump",
  );

const session = setUp({ viewport: { width: 820, height: 1180 }, pages });

for (const media of ["screen", "print"]) {
  test(`a style sheet does not hide the notice on ${media}`, async () => {
    for (const path of ["index.html", "hand-pump/cover-shop-sheet.html", "hand-pump/cover-bench-checklist.html"]) {
      const page = await session.open(session.pages.address(path));
      await page.emulateMedia({ media });
      const notice = page.locator("body > p").last();
      await notice.scrollIntoViewIfNeeded();
      assert.match(await notice.innerText(), /instructions, local codes and licensed practice take precedence/, path);
      const seen = await notice.evaluate((element) => {
        const style = getComputedStyle(element);
        const box = element.getBoundingClientRect();
        const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return {
          style: [style.display, style.visibility, style.opacity, style.color, style.fontSize, style.transform],
          isLarge: box.width > 200 && box.height > 12,
          isOnTop: top === element,
        };
      });
      const style = ["block", "visible", "1", "rgb(0, 0, 0)", "13px", "none"];
      assert.deepEqual(seen, { style, isLarge: true, isOnTop: true }, path);
    }
  });
}
