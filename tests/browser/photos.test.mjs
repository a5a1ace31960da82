// Photos on the steps of a live checklist, and handing a job over.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { axeViolations, makePages, setUp } from "./pages.mjs";

const SHEET = "tarn-yarrow/drive-belt-bench-checklist.html";
const session = setUp({ viewport: { width: 820, height: 1180 }, serve: true, pages: makePages });

async function openSheet(from = session.pages) {
  const page = await session.open(from.address(SHEET));
  await page.waitForSelector("body.live");
  return page;
}

/** A picture file of this size, as a camera gives it. */
async function picture(page, width, height, name = "camera.png") {
  const address = await page.evaluate(
    ([w, h]) => {
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [w, h];
      const pen = canvas.getContext("2d");
      for (let x = 0; x < w; x += 40) {
        pen.fillStyle = `hsl(${x % 360} 60% 50%)`;
        pen.fillRect(x, 0, 40, h);
      }
      return canvas.toDataURL("image/png");
    },
    [width, height],
  );
  return { name, mimeType: "image/png", buffer: Buffer.from(address.split(",")[1], "base64") };
}

async function addPhoto(page, step, ...files) {
  const [chooser] = await Promise.all([
    page.waitForEvent("filechooser"),
    page.getByRole("button", { name: `Add a photo: Step ${step}`, exact: true }).click(),
  ]);
  await chooser.setFiles(...files);
}

const photos = (page, step) => page.locator(`#step-${step} .photo`);
const sizes = (page, step) =>
  photos(page, step).locator("img").evaluateAll((images) => images.map((img) => [img.naturalWidth, img.naturalHeight]));

async function exported(page, button = "Export") {
  const toggle = page.locator(".fold-toggle");
  if (button === "Export" && (await toggle.getAttribute("aria-expanded")) === "false") await toggle.click();
  const target = page.getByRole("button", { name: button, exact: true });
  const [download] = await Promise.all([page.waitForEvent("download"), target.click()]);
  const path = join(session.pages.folder, download.suggestedFilename());
  await download.saveAs(path);
  return path;
}

test("a photo is scaled down, kept, exported, imported and removed", async () => {
  const page = await openSheet();
  await addPhoto(page, 3, await picture(page, 3000, 2000));
  await photos(page, 3).first().waitFor();
  assert.deepEqual(await sizes(page, 3), [[1280, 853]]);
  assert.match(await photos(page, 3).locator("img").getAttribute("alt"), /^Photo: Step 3, /);
  await page.reload();
  await photos(page, 3).first().waitFor();
  assert.deepEqual(await sizes(page, 3), [[1280, 853]]);
  // The same picture again is the same photo.
  await addPhoto(page, 3, await picture(page, 3000, 2000));
  await addPhoto(page, 5, await picture(page, 60, 90));
  await photos(page, 5).first().waitFor();
  assert.equal(await photos(page, 3).count(), 1);
  const path = await exported(page);
  const record = JSON.parse(readFileSync(path, "utf8"));
  assert.equal(record.photos.length, 2);
  assert.ok(record.photos.every(({ data }) => data.startsWith("data:image/jpeg;base64,")));
  assert.ok(JSON.stringify(record.photos).length < 400_000);
  // On a device without them.
  const other = await session.open(session.pages.address(SHEET), {});
  await other.locator("#import").setInputFiles(path);
  await photos(other, 5).first().waitFor();
  assert.deepEqual([await sizes(other, 3), await sizes(other, 5)], [[[1280, 853]], [[60, 90]]]);
  await other.reload();
  await photos(other, 5).locator("img").waitFor();
  // Removed at a second tap, and for good.
  await photos(page, 5).getByRole("button", { name: "Remove" }).click();
  await photos(page, 5).getByRole("button", { name: "Tap again to remove" }).click();
  await page.waitForFunction(() => !document.querySelector("#step-5 .photo"));
  await page.reload();
  await photos(page, 3).first().waitFor();
  assert.equal(await photos(page, 5).count(), 0);
});

test("a file with another photo than its id says is refused, and so is a file that is no picture", async () => {
  const page = await openSheet();
  await addPhoto(page, 3, { name: "notes.txt", mimeType: "text/plain", buffer: Buffer.from("no picture") });
  const said = page.locator(".said[role=status]");
  await page.waitForFunction(() => document.querySelector(".said[role=status]").textContent);
  assert.match(await said.innerText(), /notes\.txt is not a picture/);
  await addPhoto(page, 3, await picture(page, 50, 50));
  await photos(page, 3).first().waitFor();
  const path = await exported(page);
  const record = JSON.parse(readFileSync(path, "utf8"));
  record.photos[0].data = `${record.photos[0].data.slice(0, -8)}AAAAAAA=`;
  delete record.digest;
  record.digest = await page.evaluate((data) => Live.digest(data), record);
  writeFileSync(path, JSON.stringify(record));
  await page.evaluate(() => document.querySelector(".said[role=status]").replaceChildren());
  await page.locator("#import").setInputFiles(path);
  await page.waitForFunction(() => document.querySelector(".said[role=status]").textContent);
  assert.match(await said.innerText(), /Nothing was imported: `photos\[0\]` is not a photo that matches its id/);
});

test("if the browser has no room for photos, the page says so and they are exported all the same", async () => {
  await session.context.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new DOMException("full", "QuotaExceededError");
    };
  });
  const page = await openSheet();
  await addPhoto(page, 3, await picture(page, 50, 50));
  await photos(page, 3).locator("img").waitFor();
  assert.match(await page.locator(".said[role=alert]").innerText(), /no room for 1 photos: they are lost/);
  const record = JSON.parse(readFileSync(await exported(page), "utf8"));
  assert.equal(record.photos.length, 1);
  page.once("dialog", (dialog) => dialog.accept());
});

test("one button writes the file and prints the sheet with entries, photos, who and when", async () => {
  await session.context.addInitScript(() => {
    globalThis.printed = 0;
    globalThis.print = () => (globalThis.printed += 1);
  });
  const page = await openSheet();
  await page.getByLabel("Job number").fill("2041");
  await page.getByLabel("Job number").blur();
  await page.locator(".fold-toggle").click();
  await page.getByLabel("Mechanic", { exact: true }).first().fill("Rowan Field");
  await page.locator(".reading input").first().fill("18");
  await page.locator("#stop-1-signed").fill("rf");
  await addPhoto(page, 3, await picture(page, 640, 480));
  await photos(page, 3).first().waitFor();
  const path = await exported(page, "Hand over");
  await page.waitForFunction(() => globalThis.printed === 1);
  const record = JSON.parse(readFileSync(path, "utf8"));
  assert.equal(record.photos.length, 1);
  const pdf = join(session.pages.folder, "handed.pdf");
  await page.pdf({ path: pdf, preferCSSPageSize: true });
  const text = execFileSync("pdftotext", ["-layout", pdf, "-"], { encoding: "utf8" });
  for (const said of ["2041", "Rowan Field", "18", "over", "rf", "handed over on"]) assert.ok(text.includes(said), said);
  const joined = text.replace(/\s+/g, "");
  assert.ok(joined.includes(record.digest), "the paper names the file's digest");
  assert.ok(joined.includes("tarn-yarrow-drive-belt-bench-checklist-2041.json"));
  for (const chrome of ["Remove", "Hand over", "Writes the file"]) assert.ok(!text.includes(chrome), chrome);
  assert.match(execFileSync("pdfimages", ["-list", pdf], { encoding: "utf8" }), /\b640\s+480\b/);
  // After another entry, the note is no longer true.
  await page.locator("#stop-1-signed").fill("jb");
  assert.equal(await page.locator(".handed").textContent(), "");
});

test("photos and handing over have no fault that axe-core finds", async () => {
  const page = await openSheet(session.server);
  await addPhoto(page, 3, await picture(page, 640, 480));
  await photos(page, 3).first().waitFor();
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    assert.deepEqual(await axeViolations(page), [], scheme);
  }
  await page.locator(".bench-open").click();
  assert.deepEqual(await axeViolations(page), []);
});
