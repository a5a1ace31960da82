// The site's pages in a real browser, opened from a disk and from a server: navigation, the choice of a machine on the
// page of a procedure, and addresses of steps.

import assert from "node:assert/strict";
import { test } from "node:test";
import { makePages, overflow, setUp } from "./pages.mjs";

const session = setUp({ viewport: { width: 1280, height: 800 }, serve: true, pages: makePages });

const WAYS = [
  ["from a disk", (path) => session.pages.address(path)],
  ["from a server", (path) => session.server.address(path)],
];

/** Opens a page in a new browser context of some width, and calls `act` with it. */
async function withPage(address, act, width = 1280) {
  await act(await session.open(address, { viewport: { width, height: 800 } }));
}

/** Follows a link to another page, and waits until that is loaded. */
async function follow(page, link) {
  const from = page.url();
  await link.click();
  await page.waitForURL((url) => url.href !== from);
}

const shown = (page) => page.locator(".on-machine:visible");
const text = async (locator) => (await locator.innerText()).replace(/\s+/g, " ");
const inSight = (locator) =>
  locator.evaluate((element) => {
    const box = element.getBoundingClientRect();
    const bar = document.querySelector(".machines")?.getBoundingClientRect().bottom ?? 0;
    return box.top >= bar - 1 && box.top < innerHeight;
  });

for (const [how, at] of WAYS) {
  test(`from the front page to a checklist and back, ${how}`, async () => {
    await withPage(at("index.html"), async (page) => {
      await page.locator("main").getByRole("link", { name: "Tarn Yarrow tiller" }).click();
      assert.match(await text(page.locator("h1")), /Tarn Yarrow tiller/);
      const row = page.locator(".entries-list li", { hasText: "Float bowl and main jet" });
      await row.getByRole("link", { name: "Float bowl and main jet" }).click();
      assert.equal(new URL(page.url()).hash, "#on.tarn-yarrow");
      await shown(page).getByRole("link", { name: "Bench checklist" }).click();
      await page.waitForSelector("body.bench-checklist");
      await page.locator(".here").getByRole("link", { name: "Float bowl and main jet" }).click();
      assert.equal(new URL(page.url()).hash, "#on.tarn-yarrow");
      await page.locator(".home").click();
      assert.match(await text(page.locator("h1")), /Shop manual/);
    });
  });

  test(`one machine is shown at a time, with its own values, ${how}`, async () => {
    await withPage(at("procedure/float-bowl.html"), async (page) => {
      // No machine's values are shown before a machine is chosen.
      assert.equal(await shown(page).count(), 0);
      assert.match(await text(page.locator(".choose:visible")), /Choose the machine/);
      await page.locator(".machines").getByRole("link", { name: "Tarn Yarrow tiller" }).click();
      assert.equal(await shown(page).count(), 1);
      assert.equal(await page.locator(".choose:visible").count(), 0);
      const before = await text(shown(page));
      await page.locator(".machines").getByRole("link", { name: "Tarn Comfrey generator" }).click();
      assert.equal(await shown(page).count(), 1);
      assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
      assert.notEqual(await text(shown(page)), before);
      assert.equal(new URL(page.url()).hash, "#on.tarn-comfrey");
      const current = page.locator(".machines [aria-current]");
      assert.equal(await current.count(), 1);
      assert.equal(await text(current), "Tarn Comfrey generator");
      // The address includes the machine, so it can be shared.
      await page.reload();
      assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
      assert.match(await page.title(), /^Tarn Comfrey generator · /);
      await page.goBack();
      assert.equal(await text(shown(page).locator("h2")), "Tarn Yarrow tiller");
      await page.goBack();
      assert.equal(await shown(page).count(), 0);
    });
  });

  test(`an address leads to a step of a machine, ${how}`, async () => {
    await withPage(at("procedure/float-bowl.html#on.tarn-sedge.step-24"), async (page) => {
      assert.equal(await text(shown(page).locator("h2")), "Tarn Sedge water transfer pump");
      const step = page.locator(`[id="on.tarn-sedge.step-24"]`);
      assert.match(await text(step), /^24/);
      assert.ok(await inSight(step));
    });
  });
}

test("changing the machine keeps the position at the same step", async () => {
  await withPage(session.pages.address("procedure/float-bowl.html#on.tarn-yarrow.step-14"), async (page) => {
    const same = await page.locator(`[id="on.tarn-yarrow.step-14"]`).getAttribute("data-same");
    const top = await page.locator(`[id="on.tarn-yarrow.step-14"]`).evaluate((element) => element.getBoundingClientRect().top);
    // By the mouse, because `click` would first scroll to the original position of the bar.
    const box = await page.locator(".machines").getByRole("link", { name: "Tarn Sedge" }).boundingBox();
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
    const there = page.locator(`.on-machine:visible [data-same="${same}"]`);
    const after = await there.evaluate((element) => element.getBoundingClientRect().top);
    assert.ok(Math.abs(after - top) < 2, `${top} and ${after}`);
  });
});

test("an unknown id of a machine shows that machine, and one of no machine shows none", async () => {
  await withPage(session.pages.address("procedure/float-bowl.html#on.tarn-comfrey.step-999"), async (page) => {
    assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
  });
  for (const lost of ["nope", "on.tarn-x9.step-4", "tarn-comfrey"]) {
    await withPage(session.pages.address(`procedure/float-bowl.html#${lost}`), async (page) => {
      assert.equal(await shown(page).count(), 0, lost);
      assert.equal(await page.locator(".choose").isVisible(), true, lost);
    });
  }
});

test("the machine stays chosen after the skip link, a reload, and on the next page", async () => {
  await withPage(session.pages.address("procedure/carburettor.html#on.tarn-comfrey"), async (page) => {
    const isIt = async () => assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
    await page.locator(".jump").focus();
    await page.keyboard.press("Enter");
    assert.equal(new URL(page.url()).hash, "#main");
    await isIt();
    await page.reload();
    await isIt();
    await page.locator(".next-page a").click();
    await isIt();
    await page.goBack();
    await isIt();
  });
});

test("a step that a machine does not have is not shown for it", async () => {
  await withPage(session.pages.address("procedure/oil-change.html"), async (page) => {
    const count = {};
    for (const part of await page.locator(".on-machine").all()) {
      count[await part.getAttribute("id")] = await part.locator(".step").count();
    }
    assert.ok(new Set(Object.values(count)).size > 1, JSON.stringify(count));
  });
});

test("with the keyboard alone, a machine is chosen and the next page opened", async () => {
  await withPage(session.pages.address("procedure/float-bowl.html"), async (page) => {
    const press = async (until) => {
      for (let count = 0; count < 400; count += 1) {
        await page.keyboard.press("Tab");
        const focusedText = await page.evaluate(() => document.activeElement?.innerText?.trim() ?? "");
        if (until(focusedText)) return;
      }
      assert.fail("the element was not reached");
    };
    await press((focusedText) => focusedText === "Tarn Comfrey generator");
    await page.keyboard.press("Enter");
    assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
    await page.keyboard.press("Shift+Tab");
    await page.keyboard.press("Enter");
    assert.equal(await text(page.locator(".machine-said")), "Tarn Sedge water transfer pump");
    const next = await text(page.locator(".next-page a"));
    await press((focusedText) => focusedText === next);
    await page.keyboard.press("Enter");
    await page.waitForLoadState();
    assert.equal(await text(page.locator("h1")), next);
  });
});

test("previous and next lead through every procedure and back", async () => {
  await withPage(session.pages.address("procedure/leak-check.html"), async (page) => {
    const seen = [];
    while (true) {
      seen.push(await text(page.locator("h1")));
      const next = page.locator(".next-page a");
      if ((await next.count()) === 0) break;
      await follow(page, next);
    }
    assert.equal(seen.length, session.pages.list("procedure").length);
    assert.equal(new Set(seen).size, seen.length);
    for (const title of seen.slice(0, -1).reverse()) {
      await follow(page, page.locator(".previous a"));
      assert.equal(await text(page.locator("h1")), title);
    }
  });
});

test("without the script, all machines are shown one below the other", async () => {
  const page = await session.open(session.pages.address("procedure/float-bowl.html"), { javaScriptEnabled: false });
  assert.deepEqual(await shown(page).locator("h2").allInnerTexts(), [
    "Tarn Yarrow tiller",
    "Tarn Sedge water transfer pump",
    "Tarn Comfrey generator",
  ]);
});

test("on paper, only the chosen machine is printed, without the machine bar", async () => {
  await withPage(session.pages.address("procedure/float-bowl.html#on.tarn-comfrey"), async (page) => {
    await page.emulateMedia({ media: "print" });
    assert.equal(await shown(page).count(), 1);
    assert.equal(await page.locator(".machines").isVisible(), false);
    assert.equal(await text(shown(page).locator("h2")), "Tarn Comfrey generator");
  });
});

test("colours follow the system until the reader chooses, and the choice is kept", async () => {
  const page = await session.open(session.server.address("index.html"), { colorScheme: "light" });
  const scheme = () => page.evaluate(() => getComputedStyle(document.documentElement).colorScheme);
  const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  const light = await ground();
  await page.emulateMedia({ colorScheme: "dark" });
  const dark = await ground();
  assert.notEqual(dark, light);
  await page.emulateMedia({ colorScheme: "light" });
  const button = page.locator(".colours");
  assert.equal(await button.getAttribute("aria-pressed"), "false");
  await button.click();
  assert.equal(await button.getAttribute("aria-pressed"), "true");
  assert.equal(await ground(), dark);
  await follow(page, page.locator("main").getByRole("link", { name: "Tarn Yarrow tiller" }));
  assert.equal(await ground(), dark);
  assert.equal(await scheme(), "dark");
  // The system's own setting is not stored.
  await page.locator(".colours").click();
  assert.equal(await ground(), light);
  assert.equal(await page.evaluate(() => localStorage.length), 0);
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  assert.equal(await ground(), "rgb(255, 255, 255)");
});

test("on a narrow screen, the side column opens from the menu and closes with Escape", async () => {
  await withPage(session.pages.address("tarn-yarrow/machine-data.html"), async (page) => {
    const column = page.locator(".column");
    assert.equal(await column.isVisible(), false);
    await page.locator(".menu").click();
    assert.equal(await column.isVisible(), true);
    await page.keyboard.press("Escape");
    assert.equal(await column.isVisible(), false);
    await page.setViewportSize({ width: 1280, height: 800 });
    assert.equal(await column.isVisible(), true);
    assert.equal(await page.locator(".menu").isVisible(), false);
  }, 500);
});

test("no page is wider than the screen of a phone", async () => {
  for (const path of ["index.html", "tarn-yarrow/index.html", "procedure/float-bowl.html", "glossary.html"]) {
    await withPage(
      session.pages.address(path),
      async (page) => {
        const wide = await overflow(page);
        assert.ok(wide <= 0, `${path} is ${wide} px too wide`);
      },
      360,
    );
  }
});
