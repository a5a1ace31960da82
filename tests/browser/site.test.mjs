// The site's pages in a real browser, opened from a disk and from a server: navigation, the sheets of a procedure's
// machines, and addresses of steps.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
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

const text = async (locator) => (await locator.innerText()).replace(/\s+/g, " ");
const inSight = (locator) =>
  locator.evaluate((element) => {
    const box = element.getBoundingClientRect();
    const bar = document.querySelector(".here")?.getBoundingClientRect().bottom ?? 0;
    return box.top >= bar - 1 && box.top < innerHeight;
  });

for (const [how, at] of WAYS) {
  test(`from the front page to a checklist and back, ${how}`, async () => {
    await withPage(at("index.html"), async (page) => {
      await page.locator("main").getByRole("link", { name: "Tarn Yarrow tiller" }).click();
      assert.match(await text(page.locator("h1")), /Tarn Yarrow tiller/);
      const row = page.locator(".entries-list li", { hasText: "Float bowl and main jet" });
      await row.getByRole("link", { name: "Float bowl and main jet" }).click();
      assert.match(page.url(), /tarn-yarrow\/float-bowl-shop-sheet.html$/);
      await page.locator(".column").getByRole("link", { name: "Bench checklist" }).click();
      await page.waitForSelector("body.bench-checklist");
      await page.locator(".here").getByRole("link", { name: "Float bowl and main jet" }).click();
      assert.match(page.url(), /tarn-yarrow\/float-bowl-shop-sheet.html$/);
      await page.locator(".home").click();
      assert.match(await text(page.locator("h1")), /Shop manual/);
    });
  });

  test(`a procedure's page leads to the sheet of each machine, and a sheet to the others, ${how}`, async () => {
    await withPage(at("procedure/float-bowl.html"), async (page) => {
      // No machine's values are shown before a machine is chosen.
      assert.equal(await page.locator(".step, .value").count(), 0);
      await page.locator("main").getByRole("link", { name: "Tarn Yarrow tiller" }).click();
      assert.equal(await text(page.locator(".machine")), "Tarn Yarrow tiller");
      const before = await text(page.locator("main"));
      await page.locator(".machines").getByRole("link", { name: "Tarn Comfrey generator" }).click();
      await page.waitForURL(/tarn-comfrey\/float-bowl-shop-sheet.html/);
      assert.equal(await text(page.locator(".machine")), "Tarn Comfrey generator");
      assert.notEqual(await text(page.locator("main")), before);
      const current = page.locator(".machines [aria-current]");
      assert.equal(await current.count(), 1);
      assert.equal(await text(current), "Tarn Comfrey generator");
      assert.match(await page.title(), /Tarn Comfrey generator/);
      await page.goBack();
      assert.equal(await text(page.locator(".machine")), "Tarn Yarrow tiller");
    });
  });

  test(`a rule is found from the front page, by its address and by search, ${how}`, async () => {
    await withPage(at("index.html"), async (page) => {
      await page.locator("main").getByRole("link", { name: "Checking rules" }).click();
      await page.locator("main").getByRole("link", { name: "part-left-off" }).click();
      assert.match(page.url(), /rules\/rehearsal\.html#part-left-off$/);
      const rule = page.locator("#part-left-off");
      assert.ok(await inSight(rule));
      assert.match(await text(rule), /part-left-off error .*At the bench: .*Example: .*remove:pump-rod.*Fix: /);
      await page.locator(".search input").fill("ignition-still-live");
      await follow(page, page.getByRole("option", { name: /ignition-still-live/ }));
      assert.match(page.url(), /rules\/rehearsal\.html#ignition-still-live$/);
      // The text names another rule.
      await page.locator("#ignition-still-live").getByRole("link", { name: "energy-not-proved" }).click();
      assert.ok(await inSight(page.locator("#energy-not-proved")));
    });
  });

  test(`an address leads to a step of a machine, ${how}`, async () => {
    await withPage(at("tarn-sedge/float-bowl-shop-sheet.html#step-24"), async (page) => {
      assert.equal(await text(page.locator(".machine")), "Tarn Sedge water transfer pump");
      const step = page.locator("#step-24");
      assert.match(await text(step), /^24/);
      assert.ok(await inSight(step));
    });
  });
}

test("changing the machine leads to the same step", async () => {
  await withPage(session.pages.address("tarn-yarrow/float-bowl-shop-sheet.html#step-14"), async (page) => {
    const same = await page.locator("#step-14").getAttribute("data-same");
    // A click would first scroll to the link.
    await page.locator(".machines").getByRole("link", { name: "Tarn Sedge" }).evaluate((link) => link.click());
    await page.waitForURL(/tarn-sedge\/float-bowl-shop-sheet.html#step-\d+$/);
    const there = page.locator(`[data-same="${same}"]`);
    assert.equal(`#${await there.getAttribute("id")}`, new URL(page.url()).hash);
    assert.ok(await inSight(there));
    await page.goBack();
    assert.match(page.url(), /tarn-yarrow/);
  });
  // From the top of the page, it leads to the top.
  await withPage(session.pages.address("tarn-yarrow/float-bowl-shop-sheet.html"), async (page) => {
    await page.locator(".machines").getByRole("link", { name: "Tarn Sedge" }).click();
    await page.waitForURL(/tarn-sedge\/float-bowl-shop-sheet.html$/);
  });
});

test("a checklist leads to the checklists of the other machines", async () => {
  await withPage(session.pages.address("tarn-yarrow/float-bowl-bench-checklist.html"), async (page) => {
    await page.waitForSelector("body.live");
    if (await page.locator(".folded").count()) await page.locator(".fold-toggle").click();
    await page.locator(".machines").getByRole("link", { name: "Tarn Sedge" }).click();
    await page.waitForURL(/tarn-sedge\/float-bowl-bench-checklist.html$/);
  });
});

test("a procedure of one machine has only its sheets", async () => {
  assert.ok(!session.pages.list("procedure").includes("procedure/shaft-seal.html"));
  await withPage(session.pages.address("index.html"), async (page) => {
    await page.locator("main").getByRole("link", { name: "Water", exact: true }).click();
    await page.locator("main").getByRole("link", { name: /shaft seal/i }).first().click();
    await page.waitForURL(/tarn-sedge\/shaft-seal-shop-sheet.html$/);
    assert.equal(await page.locator(".machines").count(), 0);
  });
});

test("a step that a machine does not have is not on its sheet", async () => {
  const counts = [];
  for (const machine of ["tarn-yarrow", "tarn-sedge", "tarn-comfrey"]) {
    await withPage(session.pages.address(`${machine}/oil-change-shop-sheet.html`), async (page) => {
      counts.push(await page.locator(".steps > li").count());
    });
  }
  assert.ok(new Set(counts).size > 1, counts.join());
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
    await page.waitForURL(/tarn-comfrey\/float-bowl/);
    const next = await text(page.locator(".next-page a"));
    await press((focusedText) => focusedText === next);
    await page.keyboard.press("Enter");
    await page.waitForURL((url) => !url.href.includes("float-bowl"));
    assert.equal(await text(page.locator("h1")), next);
    assert.match(page.url(), /tarn-comfrey/);
  });
});

test("previous and next lead through every sheet of a machine and back", async () => {
  await withPage(session.pages.address("tarn-yarrow/leak-check-shop-sheet.html"), async (page) => {
    while (await page.locator(".previous a").count()) await follow(page, page.locator(".previous a"));
    const seen = [];
    while (true) {
      seen.push(await text(page.locator("h1")));
      const next = page.locator(".next-page a");
      if ((await next.count()) === 0) break;
      await follow(page, next);
    }
    const sheets = session.pages.list("tarn-yarrow").filter((name) => name.endsWith("-shop-sheet.html"));
    assert.equal(seen.length, sheets.length);
    assert.equal(new Set(seen).size, seen.length);
    for (const title of seen.slice(0, -1).reverse()) {
      await follow(page, page.locator(".previous a"));
      assert.equal(await text(page.locator("h1")), title);
    }
  });
});

test("without scripts, the links to other machines lead to their sheets", async () => {
  const address = session.pages.address("tarn-yarrow/float-bowl-shop-sheet.html");
  const page = await session.open(address, { javaScriptEnabled: false });
  await follow(page, page.locator(".machines").getByRole("link", { name: "Tarn Sedge" }));
  assert.equal(await text(page.locator(".machine")), "Tarn Sedge water transfer pump");
  assert.ok((await page.locator(".steps > li").count()) > 10);
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
  // The page hears of the change a moment after it.
  await page.locator('.colours[aria-pressed="false"]').waitFor();
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

test("no page is wider than the screen", async () => {
  const paths = [
    "index.html",
    "tarn-yarrow/index.html",
    "tarn-yarrow/parts.html",
    "tarn-yarrow/interval-chart.html",
    "tarn-yarrow/machine-data.html",
    "tarn-yarrow/hard-to-start-fault-table.html",
    "procedure/float-bowl.html",
    "tarn-yarrow/float-bowl-shop-sheet.html",
    "part-numbers.html",
    "glossary.html",
    "rules/index.html",
    "rules/rehearsal.html",
  ];
  for (const path of paths) {
    const page = await session.open(session.pages.address(path));
    for (const width of [360, 660, 820]) {
      await page.setViewportSize({ width, height: 800 });
      const wide = await overflow(page);
      assert.ok(wide <= 0, `${path} is ${wide} px too wide at ${width} px`);
    }
    await page.close();
  }
});

test("the front page begins with the symptoms, and leads to each machine by its picture", async () => {
  await withPage(session.pages.address("index.html"), async (page) => {
    const heads = await page.locator("main h2").allInnerTexts();
    assert.deepEqual(heads.slice(0, 3), ["What does it do?", "Open jobs on this device", "Machines"]);
    // A symptom of one machine leads to its fault table, and one of several to the list of its machines.
    await page.locator("main").getByRole("link", { name: "Gives no water, or too little" }).click();
    await page.waitForURL(/tarn-sedge\/low-pressure-fault-table.html$/);
    await page.goBack();
    await page.locator("main").getByRole("link", { name: "Hard to start" }).click();
    await page.waitForURL(/symptoms.html#fault-hard-to-start$/);
    await page.locator("#fault-hard-to-start").getByRole("link", { name: "Tarn Mallow mower" }).click();
    await page.waitForURL(/tarn-mallow\/hard-to-start-fault-table.html$/);
    await page.locator(".home").click();
    await page.waitForURL(/\/index.html$/);
    const pictures = page.locator(".links-cards img");
    assert.equal(await pictures.count(), 5);
    assert.ok(await pictures.evaluateAll((images) => images.every((image) => image.naturalWidth > 0)));
    // The whole card is the link.
    const box = await pictures.first().boundingBox();
    await page.mouse.click(box.x + 5, box.y + 5);
    await page.waitForURL(/tarn-bracken\/index.html$/);
  });
});

test("a machine's page leads with its picture, and to where its values are used", async () => {
  await withPage(session.pages.address("tarn-yarrow/index.html"), async (page) => {
    assert.ok(await inSight(page.locator(".picture")));
    const heads = await page.locator("main h2").allInnerTexts();
    assert.deepEqual(heads.slice(0, 4), ["What does it do?", "Inspections", "Maintenance due", "Values used most"]);
    assert.equal(await page.locator(".values dd").count(), 5);
    await page.locator(".values").getByRole("link", { name: "governed speed" }).click();
    await page.waitForURL(/parts.html#reading-governed-speed$/);
    assert.ok(await inSight(page.locator("#reading-governed-speed")));
    // Each step where the reading is taken is a link.
    const row = page.locator("tr", { has: page.locator("#reading-governed-speed") });
    const step = row.getByRole("link", { name: /^\d+$/ }).first();
    const number = await text(step);
    await step.click();
    await page.waitForURL(new RegExp(`-shop-sheet.html#step-${number}$`));
    assert.ok(await inSight(page.locator(`#step-${number}`)));
  });
});

test("a machine's name is apart from its picture and from what is above it", async () => {
  for (const width of [360, 820, 1280]) {
    for (const path of ["index.html", "tarn-comfrey/index.html"]) {
      const page = await session.open(session.pages.address(path), { viewport: { width, height: 800 } });
      const gaps = await page.evaluate(() => {
        // The box of the text, without the padding around it.
        const boxOf = (element) => {
          const range = document.createRange();
          range.selectNodeContents(element);
          return range.getBoundingClientRect();
        };
        const between = (one, other) =>
          Math.max(one.left - other.right, other.left - one.right, one.top - other.bottom, other.top - one.bottom);
        const pairs = [...document.querySelectorAll(".links-cards li")].map((card) => ["a", "img"].map((name) => card.querySelector(name)));
        const [title, picture, kind] = ["h1", ".picture", ".sheet-kind"].map((name) => document.querySelector(name));
        if (picture) pairs.push([title, picture]);
        const all = pairs.map(([name, image]) => between(boxOf(name), image.getBoundingClientRect()));
        return { pictures: all, kind: kind ? title.getBoundingClientRect().top - kind.getBoundingClientRect().bottom : 4 };
      });
      const what = `${path} at ${width} px: ${JSON.stringify(gaps)}`;
      assert.ok(gaps.pictures.length > 0 && Math.min(...gaps.pictures) >= 8, what);
      assert.ok(gaps.kind >= 4, what);
      await page.close();
    }
  }
});

test("an anchor is below the bar that stays visible", async () => {
  const targets = [
    ["tarn-yarrow/float-bowl-shop-sheet.html", ["#step-30", "#section-5", "#torques", "#figure-1"]],
    ["tarn-yarrow/float-bowl-bench-checklist.html", ["#step-30", "#section-5"]],
    ["tarn-yarrow/parts.html", ["#part-fuel-cap", "#reading-governed-speed"]],
    ["tarn-yarrow/machine-data.html", ["#fluids"]],
    ["cautions.html", ["#caution-petrol-fire"]],
  ];
  for (const width of [360, 820, 1280]) {
    for (const [path, places] of targets) {
      const page = await session.open(session.pages.address(path), { viewport: { width, height: 800 } });
      for (const place of places) {
        await page.evaluate((hash) => { location.hash = hash; }, place);
        await page.waitForTimeout(50);
        const at = await page.evaluate((id) => {
          const element = document.getElementById(id);
          const title = element.querySelector(":scope > :is(h2, h3)") ?? element;
          const bars = [...document.querySelectorAll("body *")].filter((one) => {
            const { position, bottom } = getComputedStyle(one);
            const isBar = position === "sticky" || (position === "fixed" && bottom === "auto");
            const box = one.getBoundingClientRect();
            return isBar && box.top <= 1 && box.height < innerHeight / 2 && box.width > 0;
          });
          const bar = Math.max(0, ...bars.map((one) => one.getBoundingClientRect().bottom));
          return { top: title.getBoundingClientRect().top, bar, bottom: innerHeight };
        }, place.slice(1));
        assert.ok(at.top >= at.bar && at.top < at.bottom, `${path}${place} at ${width} px: ${JSON.stringify(at)}`);
      }
      await page.close();
    }
  }
});

test("a job that is printed from the browser is one machine's, on pages that are full", async () => {
  for (const name of ["float-bowl-shop-sheet", "governor-linkage-shop-sheet", "float-bowl-bench-checklist"]) {
    await withPage(session.pages.address(`tarn-comfrey/${name}.html`), async (page) => {
      const path = join(session.pages.folder, "printed.pdf");
      await page.pdf({ path, preferCSSPageSize: true });
      const printed = execFileSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" });
      const pages = printed.split("\f").slice(0, -1);
      assert.ok(pages.length > 1 && pages.length <= 10, `${name}: ${pages.length} pages`);
      for (const [index, printedPage] of pages.entries()) {
        const lines = printedPage.split("\n").filter((line) => line.trim());
        // The last page may have a few lines only.
        const least = index === pages.length - 1 ? 5 : 25;
        assert.ok(lines.length >= least, `${name}, page ${index + 1}: ${lines.length} lines`);
        assert.match(printedPage, /Tarn Comfrey generator/);
        assert.match(printedPage, new RegExp(`Page ${index + 1} of ${pages.length}`));
        for (const other of ["Tarn Yarrow", "Tarn Sedge", "Ctrl K", "Front page", "Shop sheet · "]) {
          assert.ok(!printedPage.includes(other), `${name}, page ${index + 1}: ${other}`);
        }
      }
      assert.match(pages[0], /^\s*\S/);
    });
  }
});

test("on a phone, each row of a table is a card with the titles of the columns", async () => {
  await withPage(
    session.pages.address("tarn-yarrow/machine-data.html"),
    async (page) => {
      const table = page.locator("#torques table");
      const row = table.locator("tbody tr").first();
      const [name, value] = [await row.locator("th").boundingBox(), await row.locator("td").first().boundingBox()];
      assert.ok(value.y >= name.y + name.height - 1, "the value is below the name");
      const label = await row.locator("td").first().evaluate((cell) => getComputedStyle(cell, "::before").content);
      const title = await table.locator("thead th").nth(1).evaluate((cell) => cell.textContent);
      assert.ok(label.includes(title), `${label} and ${title}`);
      assert.ok((await overflow(page)) <= 0, "the table is as wide as the screen");
    },
    360,
  );
});
