// Figures whose parts have numbers: what is pointed at is marked everywhere, and a picture can be opened large.

import assert from "node:assert/strict";
import { test } from "node:test";
import { axeViolations, makePages, overflow, setUp } from "./pages.mjs";

const session = setUp({ viewport: { width: 1280, height: 800 }, serve: true, pages: makePages });
const SHEET = "tarn-sedge/float-bowl-shop-sheet.html";
const LIST = "tarn-sedge/carburettor-bench-checklist.html";
const WAYS = [
  ["from a disk", (path) => session.pages.address(path)],
  ["from a server", (path) => session.server.address(path)],
];

/** What is marked: the parts, and how many elements of each kind are. */
const marked = (page) =>
  page.evaluate(() => {
    const lit = [...document.querySelectorAll("[data-part].lit")];
    return {
      parts: [...new Set(lit.map((element) => element.dataset.part))],
      text: lit.filter((element) => element.matches(".n")).length,
      legend: lit.filter((element) => element.matches(".legend > *")).length,
      pictures: new Set(lit.map((element) => element.closest("svg")).filter(Boolean)).size,
      without: document.querySelectorAll(".also-lit").length,
    };
  });

/** The look of an element that must differ when it is marked, other than in colour. */
const look = (locator) =>
  locator.evaluate((element) => {
    const { filter, opacity, boxShadow } = getComputedStyle(element);
    return { filter, opacity, boxShadow };
  });

/** The part with a number in the first crop of a page, and where it is. */
async function firstCrop(page) {
  const crop = page.locator(".what:has(> .crop)").first();
  await crop.scrollIntoViewIfNeeded();
  const group = crop.locator(".crop > g").first();
  return { crop, group, part: await group.getAttribute("data-part") };
}

const viewBox = (page) => page.locator(".viewer .viewed").evaluate((svg) => svg.getAttribute("viewBox").split(" ").map(Number));
const isOpen = (page) => page.evaluate(() => document.querySelector(".viewer")?.open ?? false);

for (const [how, at] of WAYS) {
  test(`what the pointer is at is marked in the text, in pictures and in legends, ${how}`, async () => {
    const page = await session.open(at(SHEET));
    const { crop, group, part } = await firstCrop(page);
    for (const place of [crop.locator(`a[data-part="${part}"]`), group.locator("text")]) {
      await place.hover();
      const found = await marked(page);
      assert.deepEqual(found.parts, [part]);
      assert.ok(found.text > 0 && found.legend > 0 && found.pictures > 1, JSON.stringify(found));
      await page.mouse.move(2, 2);
      assert.deepEqual((await marked(page)).parts, []);
    }
    // From the legend and from the picture of the whole figure.
    const whole = page.locator("figure.whole", { has: page.locator(`g[data-part="${part}"]`) }).first();
    for (const place of [whole.locator(".legend > span").last(), whole.locator("svg > g:last-child > text")]) {
      await place.scrollIntoViewIfNeeded();
      await place.hover();
      const found = await marked(page);
      assert.equal(found.parts.length, 1);
      assert.ok(found.legend > 0 && found.pictures > 0, JSON.stringify(found));
    }
  });
}

test("what is marked differs in more than its colour, and the others are faint", async () => {
  const page = await session.open(session.pages.address(SHEET));
  const { crop, group, part } = await firstCrop(page);
  const number = crop.locator(`a[data-part="${part}"]`);
  const shapes = group.locator("use");
  const [textBefore, shapesBefore] = [await look(number), await look(shapes)];
  const other = page.locator(`.whole svg:has(g[data-part="${part}"]) > g:not([data-part="${part}"])`).first();
  assert.equal((await look(other)).opacity, "1");
  await number.hover();
  await page.waitForTimeout(200);
  const [textAfter, shapesAfter] = [await look(number), await look(shapes)];
  assert.notEqual(textAfter.boxShadow, textBefore.boxShadow);
  assert.notEqual(shapesAfter.filter, shapesBefore.filter);
  assert.ok(parseFloat((await look(other)).opacity) < 0.5);
  await page.emulateMedia({ forcedColors: "active" });
  assert.match(await number.evaluate((element) => getComputedStyle(element).outlineStyle), /solid/);
});

test("a picture without the number of a part marks it too, if it shows it", async () => {
  const page = await session.open(session.pages.address(SHEET));
  const legend = page.locator("figure.whole .legend > span");
  let most = 0;
  for (let index = 0; index < (await legend.count()); index += 1) {
    await legend.nth(index).hover();
    most = Math.max(most, (await marked(page)).without);
  }
  assert.ok(most > 0, "no picture shows a part that another one numbers");
  await page.mouse.move(2, 2);
  assert.equal((await marked(page)).without, 0);
});

test("by keyboard, a legend is one tab stop, and its parts are marked with the arrow keys", async () => {
  const page = await session.open(session.pages.address(SHEET));
  const legends = page.locator(".legend");
  for (const legend of await legends.all()) assert.equal(await legend.locator("[tabindex='0']").count(), 1);
  const items = legends.first().locator("> [role=button]");
  await items.first().focus();
  await page.keyboard.press("ArrowRight");
  const second = await items.nth(1).getAttribute("data-part");
  assert.deepEqual((await marked(page)).parts, [second]);
  assert.ok(await items.nth(1).evaluate((item) => item === document.activeElement));
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("ArrowLeft");
  const last = await items.last().getAttribute("data-part");
  assert.deepEqual((await marked(page)).parts, [last]);
  // Enter keeps it, when the focus is elsewhere too.
  await page.keyboard.press("Enter");
  assert.equal(await items.last().getAttribute("aria-pressed"), "true");
  await page.keyboard.press("Tab");
  assert.deepEqual((await marked(page)).parts, [last]);
  await page.keyboard.press("Escape");
  assert.deepEqual((await marked(page)).parts, []);
  // The numbers in the text are links, and mark as well.
  const link = page.locator(".what a[data-part]").first();
  await link.focus();
  assert.deepEqual((await marked(page)).parts, [await link.getAttribute("data-part")]);
});

test("a page has few tab stops more than without its script", async () => {
  const stops = (page) => page.evaluate(() => [...document.querySelectorAll("main *")].filter((element) => element.tabIndex >= 0).length);
  const [plain, scripted] = [
    await session.open(session.pages.address(SHEET), { javaScriptEnabled: false }),
    await session.open(session.pages.address(SHEET)),
  ];
  const figures = await scripted.locator("figure.whole").count();
  assert.ok(figures > 0);
  assert.equal((await stops(scripted)) - (await plain.locator("main :is(a[href], button, input)").count()), 2 * figures);
});

test("by touch, a tap on a number keeps it marked, and a second one takes it back", async () => {
  const page = await session.open(session.pages.address(SHEET), { hasTouch: true, viewport: { width: 390, height: 800 } });
  const { group, part } = await firstCrop(page);
  await group.locator("text").tap();
  assert.deepEqual((await marked(page)).parts, [part]);
  await group.locator("text").tap();
  assert.deepEqual((await marked(page)).parts, []);
  await group.locator("text").tap();
  await page.locator("h1").tap();
  assert.deepEqual((await marked(page)).parts, []);
});

for (const [how, at] of WAYS) {
  test(`a whole figure is zoomed and moved by keyboard, and Escape returns the focus, ${how}`, async () => {
    const page = await session.open(at(SHEET));
    const button = page.locator(".figure-open").first();
    await button.focus();
    await page.keyboard.press("Enter");
    assert.ok(await isOpen(page));
    const whole = await viewBox(page);
    await page.keyboard.press("+");
    await page.keyboard.press("+");
    const zoomed = await viewBox(page);
    assert.ok(zoomed[2] < whole[2] * 0.6, `${zoomed}`);
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowUp");
    const moved = await viewBox(page);
    assert.ok(moved[0] > zoomed[0] && moved[1] < zoomed[1] && moved[2] === zoomed[2], `${moved}`);
    for (let presses = 0; presses < 20; presses += 1) await page.keyboard.press("ArrowRight");
    const edge = await viewBox(page);
    assert.ok(Math.abs(edge[0] + edge[2] - whole[0] - whole[2]) < 0.2, "it stops at the edge");
    await page.keyboard.press("-");
    assert.ok((await viewBox(page))[2] > edge[2]);
    await page.keyboard.press("0");
    assert.deepEqual(await viewBox(page), whole);
    await page.keyboard.press("Escape");
    assert.ok(!(await isOpen(page)));
    assert.ok(await button.evaluate((element) => element === document.activeElement));
  });
}

test("with the focus at a number, + opens the picture beside it", async () => {
  const page = await session.open(session.pages.address(SHEET));
  const { crop } = await firstCrop(page);
  const link = crop.locator("a[data-part]").first();
  await link.focus();
  const before = await crop.locator(".crop").getAttribute("viewBox");
  await page.keyboard.press("+");
  assert.equal((await viewBox(page)).join(" "), before);
  assert.ok((await page.locator(".viewer .legend > span").count()) > 0, "its parts are named");
  await page.keyboard.press("Escape");
  assert.ok(await link.evaluate((element) => element === document.activeElement));
});

test("the buttons zoom, and are large enough for a finger, in all languages", async () => {
  for (const language of ["en-GB", "es"]) {
    const pages = language === "en-GB" ? session.pages : session.makePages(language, () => {}, ["--procedure", "float-bowl", "--machine", "tarn-sedge"]);
    const page = await session.open(pages.address(SHEET));
    await page.locator(".figure-open").first().click();
    const names = [];
    for (const button of [...(await page.locator(".viewer button").all()), page.locator(".figure-open").first()]) {
      const { width, height } = await button.boundingBox();
      assert.ok(width >= 44 && height >= 44, `${width} x ${height}`);
      names.push((await button.getAttribute("aria-label")) ?? (await button.innerText()));
    }
    const expected = {
      "en-GB": ["Close", "Smaller", "Larger", "All of the figure", "Open large"],
      es: ["Cerrar", "Reducir", "Ampliar", "Toda la figura", "Ver en grande"],
    };
    assert.deepEqual(names, expected[language]);
    const whole = await viewBox(page);
    await page.locator(".viewer-acts button").nth(1).click();
    assert.ok((await viewBox(page))[2] < whole[2]);
    assert.match(await page.locator(".viewer-scale").innerText(), /140\s%/);
    await page.locator(".viewer-acts button").nth(2).click();
    assert.deepEqual(await viewBox(page), whole);
    await page.getByRole("button", { name: names[0] }).click();
    assert.ok(!(await isOpen(page)));
  }
});

test("two fingers zoom, one finger and the mouse move, and the wheel zooms where the pointer is", async () => {
  const page = await session.open(session.pages.address(SHEET), { hasTouch: true, viewport: { width: 390, height: 800 } });
  await page.locator(".crop").first().scrollIntoViewIfNeeded();
  // Beside the numbers, a tap opens it.
  await page.locator(".crop").first().tap({ position: { x: 4, y: 4 } });
  assert.ok(await isOpen(page));
  const stage = await page.locator(".viewer-stage").boundingBox();
  const [x, y] = [stage.x + stage.width / 2, stage.y + stage.height / 2];
  const client = await page.context().newCDPSession(page);
  const touch = (type, ...points) =>
    client.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([left, top], id) => ({ x: left, y: top, id })) });
  const whole = await viewBox(page);
  await touch("touchStart", [x - 30, y], [x + 30, y]);
  for (const apart of [45, 60, 75, 90]) await touch("touchMove", [x - apart, y], [x + apart, y]);
  await touch("touchEnd");
  const pinched = await viewBox(page);
  const ratio = whole[2] / pinched[2];
  assert.ok(ratio > 2 && ratio < 3.5, `zoomed ${ratio} times`);
  await touch("touchStart", [x, y]);
  for (const by of [10, 20, 40]) await touch("touchMove", [x + by, y + by / 2]);
  await touch("touchEnd");
  const dragged = await viewBox(page);
  assert.ok(dragged[0] < pinched[0] && dragged[2] === pinched[2], `${pinched} to ${dragged}`);
  assert.deepEqual((await marked(page)).parts, [], "a drag marks nothing");
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x - 30, y);
  await page.mouse.up();
  assert.ok((await viewBox(page))[0] > dragged[0]);
  await page.keyboard.press("0");
  const at = () =>
    page.evaluate(([left, top]) => {
      const { x: across, y: down } = new DOMPoint(left, top).matrixTransform(document.querySelector(".viewed").getScreenCTM().inverse());
      return [across, down];
    }, [x + 40, y + 10]);
  const before = await at();
  await page.mouse.move(x + 40, y + 10);
  await page.mouse.wheel(0, -300);
  await page.waitForFunction((width) => document.querySelector(".viewed").viewBox.baseVal.width < width, whole[2]);
  const after = await at();
  assert.ok(Math.hypot(before[0] - after[0], before[1] - after[1]) < 3, `${before} is at ${after}`);
  assert.ok((await overflow(page)) <= 0);
});

for (const [how, at] of WAYS) {
  test(`a link to a part leads to its picture, with the part marked, ${how}`, async () => {
    const page = await session.open(at("tarn-sedge/parts.html"));
    await page.locator('a[href="parts-list.html#drawn-main-jet"]').click();
    await page.waitForURL(/parts-list\.html#drawn-main-jet$/);
    await page.waitForLoadState("load");
    const found = await marked(page);
    assert.deepEqual(found.parts, ["main-jet"]);
    assert.ok(found.pictures > 0, JSON.stringify(found));
    const picture = page.locator("svg.has-lit").first();
    const seen = await picture.locator('[data-part="main-jet"] circle').boundingBox();
    assert.ok(seen.y >= 0 && seen.y + seen.height <= 800, JSON.stringify(seen));
    // The next link on the same page leads to another part, and the name of a part to where it is used.
    await page.evaluate(() => (location.hash = "#drawn-float"));
    await page.waitForFunction(() => document.querySelector("tr.lit")?.dataset.part === "float");
    assert.deepEqual((await marked(page)).parts, ["float"]);
    await page.locator("tr.lit a[href]").first().click();
    await page.waitForURL(/parts\.html#part-float$/);
  });
}

test("in a parts list, the rows mark their parts in the picture, and the open picture names them", async () => {
  const page = await session.open(session.pages.address("tarn-sedge/parts-list.html"));
  const rows = page.locator("tr[data-part]");
  const count = await rows.count();
  assert.equal(count, await page.locator("section:has(> figure.whole) tbody tr").count());
  for (const at of [0, 3, count - 1]) {
    const part = await rows.nth(at).getAttribute("data-part");
    await rows.nth(at).locator("th").hover();
    const found = await marked(page);
    assert.deepEqual(found.parts, [part]);
    assert.ok(found.pictures > 0, JSON.stringify(found));
  }
  await page.locator(".figure-open").first().click();
  const names = await page.locator(".viewer .legend > span").allTextContents();
  const table = page.locator("section:has(> figure.whole)").first().locator("tbody tr");
  const rowsOfTable = await table.evaluateAll((all) => all.map((row) => `${row.cells[0].textContent} ${row.cells[1].textContent}`));
  assert.deepEqual(names, rowsOfTable);
});

test("without scripts, the pictures have their texts, and the whole figure lists its parts", async () => {
  const page = await session.open(session.pages.address(SHEET), { javaScriptEnabled: false });
  for (const picture of await page.locator("svg:is(.marked, .what > svg)").all()) {
    assert.equal(await picture.getAttribute("role"), "img");
    assert.ok((await picture.getAttribute("aria-label")).trim());
    const { width, height } = await picture.boundingBox();
    assert.ok(width > 90 && height > 40, `${width} x ${height}`);
  }
  const whole = page.locator("figure.whole").first();
  const numbers = await whole.locator("svg text").allTextContents();
  assert.deepEqual(await whole.locator(".legend b").allTextContents(), numbers);
  assert.ok(numbers.length > 2);
  assert.equal(await page.locator(".figure-open, .viewer").count(), 0);
});

test("a crop is beside its text where there is room, and below it on a phone", async () => {
  for (const sheet of [SHEET, LIST]) {
    for (const width of [390, 820, 1280]) {
      const page = await session.open(session.pages.address(sheet), { viewport: { width, height: 800 } });
      assert.ok((await overflow(page)) <= 0, `${sheet} at ${width} px`);
      const { crop } = await firstCrop(page);
      const [text, picture] = [await crop.locator("> p").first().boundingBox(), await crop.locator(".crop").boundingBox()];
      if (width < 640) assert.ok(picture.y >= text.y + text.height - 1 && text.width > 200, `${sheet} at ${width} px`);
      else assert.ok(picture.x >= text.x + text.width && picture.y < text.y + text.height, `${sheet} at ${width} px`);
    }
  }
});

test("in dark colours, a drawing keeps its white ground and its black lines", async () => {
  const page = await session.open(session.pages.address(SHEET), { colorScheme: "dark" });
  const colours = await page.locator(".crop").first().evaluate((svg) => {
    const { backgroundColor, stroke } = getComputedStyle(svg);
    return [backgroundColor, stroke, getComputedStyle(svg.querySelector("text")).fill];
  });
  assert.deepEqual(colours, ["rgb(255, 255, 255)", "rgb(0, 0, 0)", "rgb(17, 17, 17)"]);
});

test("axe-core finds nothing, in light and dark, with a part marked and a picture open", async () => {
  for (const colorScheme of ["light", "dark"]) {
    for (const sheet of [SHEET, LIST]) {
      const page = await session.open(session.server.address(sheet), { colorScheme });
      assert.deepEqual(await axeViolations(page), [], `${sheet}, ${colorScheme}`);
      await page.locator(".legend > span").first().click();
      assert.deepEqual(await axeViolations(page), [], `${sheet}, ${colorScheme}, marked`);
      await page.locator(".figure-open").first().click();
      assert.deepEqual(await axeViolations(page), [], `${sheet}, ${colorScheme}, open`);
    }
  }
});

test("at the bench, the picture of the step is large, and its section's if it has none", async () => {
  const page = await session.open(session.pages.address(LIST));
  await page.waitForSelector("body.live");
  await page.locator(".bench-open").click();
  const seen = { crop: 0, whole: 0, link: 0 };
  for (let screens = 0; screens < 200 && !Object.values(seen).every(Boolean); screens += 1) {
    const picture = page.locator("svg:is(.marked, .crop):visible").first();
    if (await picture.count()) {
      const isCrop = await picture.evaluate((svg) => svg.matches(".crop"));
      const { width } = await picture.boundingBox();
      assert.ok(width >= 330, `${width} px`);
      seen[isCrop ? "crop" : "whole"] += 1;
      if (isCrop) {
        const tick = page.locator(".at-bench .step-tick");
        const before = await tick.getAttribute("aria-pressed");
        await picture.click({ position: { x: 4, y: 4 } });
        assert.ok(await isOpen(page));
        // The keys of the bench view are not for the picture.
        await page.keyboard.press("+");
        await page.keyboard.press("ArrowRight");
        await page.keyboard.press("Escape");
        assert.ok(await page.evaluate(() => document.body.classList.contains("bench")));
        assert.ok(await picture.isVisible(), "it is still the same step");
        assert.equal(await tick.getAttribute("aria-pressed"), before);
        // The number of a figure that is not on the sheet as a whole leads nowhere.
        const link = page.locator(".at-bench a[data-part]").first();
        if (await link.count()) {
          await link.click();
          assert.ok(await isOpen(page), "a number opens the whole figure");
          assert.equal(await page.locator(".viewer .viewed > g.lit").count(), 1);
          await page.keyboard.press("Escape");
          seen.link += 1;
        }
      }
    }
    const hold = page.locator(".at-bench .hold input");
    if (await hold.count()) await hold.first().fill("jb");
    await page.locator(".bench-next").click();
  }
  assert.ok(Object.values(seen).every(Boolean), JSON.stringify(seen));
});

test("on paper, crops are small, and whole figures fit into their space", async () => {
  const MILLIMETRE = 96 / 25.4;
  for (const [sheet, most] of [[SHEET, 27], [LIST, 19]]) {
    const page = await session.open(session.pages.address(sheet), { viewport: { width: 680, height: 900 } });
    await page.emulateMedia({ media: "print" });
    const sizes = await page.evaluate(() =>
      [...document.querySelectorAll("svg:is(.marked, .crop)")].map((svg) => {
        const { width, height } = svg.getBoundingClientRect();
        return { isCrop: svg.matches(".crop"), width, height };
      }),
    );
    assert.ok(sizes.some(({ isCrop }) => isCrop) && sizes.some(({ isCrop }) => !isCrop));
    for (const { isCrop, width, height } of sizes) {
      const [wide, high] = [width / MILLIMETRE, height / MILLIMETRE];
      if (isCrop) assert.ok(wide > most - 0.5 && wide < most + 0.5 && high < 16, `${wide} mm x ${high} mm`);
      else assert.ok(wide > 20 && wide < 100.5 && high < 52.5, `${wide} mm x ${high} mm`);
    }
    assert.equal(await page.locator(".figure-open:visible").count(), 0);
  }
});

test("each crop shows all of its parts and numbers", async () => {
  let crops = 0;
  for (const path of session.pages.list("tarn-sedge")) {
    const page = await session.open(session.pages.address(path));
    const found = await page.evaluate(() => {
      const wrong = [];
      const all = document.querySelectorAll(".crop");
      for (const svg of all) {
        const [left, top, width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
        for (const element of svg.querySelectorAll("g > :is(use, circle, ellipse)")) {
          const box = element.getBBox();
          const isIn = box.x >= left && box.y >= top && box.x + box.width <= left + width && box.y + box.height <= top + height;
          if (!isIn || !box.width) wrong.push(`${svg.getAttribute("aria-label")}: ${element.outerHTML}`);
        }
      }
      return { wrong, count: all.length };
    });
    assert.deepEqual(found.wrong, [], path);
    crops += found.count;
    await page.close();
  }
  assert.ok(crops > 50, `${crops} crops`);
});
