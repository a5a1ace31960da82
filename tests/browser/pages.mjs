// What the tests here share: pages made by the program itself, a browser to open them in, and checks.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { test as anyTest, after, afterEach, before, beforeEach } from "node:test";
import { createInterface } from "node:readline";
import { fileURLToPath, pathToFileURL } from "node:url";
import axe from "axe-core";
import { chromium } from "playwright-core";
import bidi from "playwright-core-bidi";

const root = fileURLToPath(new URL("../..", import.meta.url));

/** The program to test: `BENCHLEAF` names it, or else it is the one that `cargo build` made. */
const program = process.env.BENCHLEAF ?? join(root, "target", "debug", "benchleaf");

/**
 * A copy of a shop's sources in a temporary folder: the demonstration's, unless another folder is given. With a
 * language, in that language.
 */
function copyShop(language, change = () => {}, sources = "procedures") {
  const all = mkdtempSync(join(tmpdir(), "benchleaf-pages-"));
  const shop = join(all, "shop");
  cpSync(join(root, sources), shop, { recursive: true });
  const file = join(shop, "shop.toml");
  const text = readFileSync(file, "utf8");
  if (language) writeFileSync(file, text.replace(/^language = .*$/m, `language = "${language}"`));
  change(shop);
  return { all, shop };
}

/**
 * Makes the demonstration shop's pages in a temporary folder, in a language. `change` may change the
 * copied sources before. `only` are options of `print`, for the sheets of a few jobs instead of all pages. `sources`
 * is the folder of another shop.
 */
export function makePages(language = "en-GB", change = () => {}, only = null, sources = "procedures") {
  const { all, shop } = copyShop(language, change, sources);
  const folder = join(all, "pages");
  const command = only ? ["print", shop, ...only] : ["publish", shop];
  const publish = () =>
    execFileSync(program, [...command, "--html-only", "--output", folder], {
      stdio: ["ignore", "ignore", "inherit"],
    });
  publish();
  return {
    folder,
    /** Changes texts of a source, each from one to another, and makes the pages again. */
    edit(name, ...changes) {
      const file = join(shop, name);
      let text = readFileSync(file, "utf8");
      for (const [before, after] of changes) {
        if (!text.includes(before)) throw new Error(`${name} does not say ${before}`);
        text = text.replace(before, after);
      }
      writeFileSync(file, text);
      publish();
    },
    /** A page's `file:` address. */
    address: (path) => {
      const [file, place] = path.split("#");
      return pathToFileURL(join(folder, file)).href + (place ? `#${place}` : "");
    },
    /** The HTML files in one of its folders. */
    list: (under) =>
      readdirSync(join(folder, under))
        .filter((name) => name.endsWith(".html"))
        .map((name) => join(under, name)),
    remove: () => rmSync(all, { recursive: true, force: true }),
  };
}

/** Starts the preview of a shop, and waits until it prints its address. */
async function runPreview(shop, port) {
  const running = spawn(program, ["preview", shop, "--port", port], {
    stdio: ["ignore", "pipe", "ignore"],
  });
  let address;
  for await (const line of createInterface(running.stdout)) {
    [, address] = /^open (http:\S+)/.exec(line) ?? [];
    if (address) break;
  }
  // Later output is ignored, but has to be read, or the preview would block.
  running.stdout.resume();
  return { running, address };
}

/** The preview of a copy of the demonstration shop. */
async function startPreview(language = "en-GB") {
  const { all, shop } = copyShop(language);
  let { running, address } = await runPreview(shop, "0");
  const path = (name) => join(shop, name);
  return {
    shop,
    address: (page) => address + page,
    read: (name) => readFileSync(path(name), "utf8"),
    write(name, text) {
      mkdirSync(dirname(path(name)), { recursive: true });
      writeFileSync(path(name), text);
    },
    take: (name) => rmSync(path(name)),
    /** Changes one text of a source. */
    edit(name, before, after) {
      const text = readFileSync(path(name), "utf8");
      if (!text.includes(before)) throw new Error(`${name} does not say ${before}`);
      writeFileSync(path(name), text.replace(before, after));
    },
    /** Ends it as Ctrl-C does, and returns its exit status. */
    async end() {
      const ended = new Promise((resolve) => running.once("exit", resolve));
      running.kill("SIGINT");
      return ended;
    },
    /** Starts it again at the same port. */
    async again() {
      ({ running, address } = await runPreview(shop, new URL(address).port));
    },
    remove() {
      running.kill("SIGKILL");
      rmSync(all, { recursive: true, force: true });
    },
  };
}

/**
 * Whether the tests run in Firefox. It is Debian's, driven by WebDriver BiDi: the newer `playwright-core` asks for commands
 * that the extended support release does not have yet.
 */
const isFirefox = process.env.BENCHLEAF_BROWSER === "firefox";

/** The names of the tests that also run in Firefox. `firefox.test.mjs` fills it. A test is taken out when it begins. */
export const inFirefox = new Set();

/** As `test` of `node:test`. In Firefox, the other tests are left out. */
export const test = (name, ...rest) => {
  if (!isFirefox || inFirefox.delete(name)) anyTest(name, ...rest);
};

const launchFirefox = () =>
  bidi._bidiFirefox.launch({ executablePath: process.env.BENCHLEAF_FIREFOX ?? "/usr/bin/firefox-esr" });

export const launch = () =>
  chromium.launch({
    executablePath: process.env.BENCHLEAF_CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });

/** Serves a folder on this machine, as any web server would. */
async function serve(folder, port = 0) {
  const types = { html: "text/html; charset=utf-8", css: "text/css", js: "text/javascript", svg: "image/svg+xml" };
  const server = createServer((request, response) => {
    const { pathname } = new URL(request.url, "http://localhost");
    try {
      const bytes = readFileSync(join(folder, decodeURIComponent(pathname)));
      response.setHeader("Content-Type", types[pathname.split(".").pop()] ?? "application/octet-stream");
      response.end(bytes);
    } catch {
      response.statusCode = pathname === "/favicon.ico" ? 204 : 404;
      response.end();
    }
  });
  await new Promise((done) => server.listen(port, "127.0.0.1", done));
  const taken = server.address().port;
  return {
    port: taken,
    address: (path) => `http://127.0.0.1:${taken}/${path}`,
    stop: () =>
      new Promise((done) => {
        server.close(done);
        server.closeAllConnections();
      }),
  };
}

/**
 * The set-up of a file of tests: a browser for all of them, and for each test a browser context of
 * its own, so that no test finds the storage of another.
 *
 * `viewport` is the contexts' size. `pages` makes the pages that all tests share, and with `serve`
 * they are also served over HTTP. `serviceWorkers` allows those of the pages, which would serve them otherwise than
 * the server.
 *
 * A page that `open` opens has to stay without errors until its test ends: see `allow`.
 */
export function setUp({ viewport, pages = null, serve: isServed = false, serviceWorkers = "block" }) {
  let opened = [];
  let allowed = [];
  let atEnd = [];
  const session = {
    browser: null,
    context: null,
    pages: null,
    server: null,

    /** Opens a page in the test's context, or in a new one with these options. */
    async open(address, options = null) {
      let { context } = session;
      if (options) {
        context = await session.browser.newContext({ viewport, serviceWorkers, ...options });
        atEnd.push(() => context.close());
      }
      const page = await context.newPage();
      const errors = watch(page, address);
      opened.push({ address, errors });
      await page.goto(address);
      return page;
    },

    /** Makes pages that are removed when the test ends. */
    makePages(...settings) {
      const made = makePages(...settings);
      atEnd.push(() => made.remove());
      return made;
    },

    /** Serves a folder over HTTP until the test ends. */
    async serve(folder, port) {
      const server = await serve(folder, port);
      atEnd.push(() => server.stop());
      return server;
    },

    /** Errors that this test provokes. At least one of them has to occur. */
    allow(pattern) {
      allowed.push(pattern);
    },
  };

  before(async () => {
    session.pages = pages?.();
    if (isServed) session.server = await serve(session.pages.folder);
    session.browser = await (isFirefox ? launchFirefox() : launch());
  });
  after(async () => {
    await session.browser?.close();
    session.server?.stop();
    session.pages?.remove();
  });
  beforeEach(async () => {
    [opened, allowed, atEnd] = [[], [], []];
    session.context = await session.browser.newContext({ viewport, serviceWorkers });
  });
  afterEach(async () => {
    await session.context.close();
    for (const end of atEnd) await end();
    const errors = opened.flatMap(({ address, errors }) => errors.map((error) => `${address}: ${error}`));
    for (const pattern of allowed) {
      assert.ok(errors.some((error) => pattern.test(error)), `an error that matches ${pattern} is expected`);
    }
    const others = errors.filter((error) => !allowed.some((pattern) => pattern.test(error)));
    assert.deepEqual(others, []);
  });
  return session;
}

/**
 * The set-up of a file of tests of the preview. Each test has a preview of its own, which `use` is given, and can start
 * one in another language in its place.
 */
export function setUpPreview(use) {
  const session = setUp({ viewport: { width: 820, height: 900 } });
  let preview;
  session.startPreview = async (language) => {
    preview?.remove();
    preview = await startPreview(language);
    use(preview);
  };
  beforeEach(() => session.startPreview());
  afterEach(() => {
    preview.remove();
    preview = null;
  });
  return session;
}

/** The errors of a page, and its requests for anything but its own files or the server it came from. */
function watch(page, address) {
  const errors = [];
  page.on("console", (message) => {
    // The driver says that it blocks them.
    if (/Service Worker registration blocked/.test(message.text())) return;
    if (["error", "warning"].includes(message.type())) errors.push(message.text());
  });
  page.on("pageerror", (error) => errors.push(String(error)));
  const { origin } = new URL(address);
  page.on("request", (request) => {
    const isOwn = request.url().startsWith(`${origin}/`) || /^(file|blob|data):/.test(request.url());
    if (!isOwn) errors.push(`asked for ${request.url()}`);
  });
  return errors;
}

/**
 * The file that a page hands out: its name, and a function that saves it at a path. WebDriver BiDi tells nothing of
 * downloads in Firefox, so there the file is taken from the link that the page clicks.
 */
export async function download(page, begin) {
  if (!isFirefox) {
    const [file] = await Promise.all([page.waitForEvent("download"), begin()]);
    return { name: file.suggestedFilename(), save: (path) => file.saveAs(path) };
  }
  await page.evaluate(() => {
    const { click } = HTMLAnchorElement.prototype;
    HTMLAnchorElement.prototype.click = function () {
      if (!this.hasAttribute("download")) return click.call(this);
      globalThis.handedOut = fetch(this.href).then(async (file) => [this.download, await file.text()]);
    };
  });
  await begin();
  const [name, text] = await (await page.waitForFunction(() => globalThis.handedOut)).jsonValue();
  return { name, save: async (path) => writeFileSync(path, text) };
}

/** What axe-core finds wrong with a page as it is now. */
export async function axeViolations(page) {
  if (!(await page.evaluate(() => "axe" in globalThis))) await page.evaluate(axe.source);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run({ resultTypes: ["violations"] }));
  assert.ok(passes.length > 9, "axe-core has checked something");
  return violations.flatMap(({ id, help, nodes }) =>
    nodes.slice(0, 3).map(({ target, failureSummary }) => `${id}: ${help}: ${target} ${failureSummary}`),
  );
}

/** How much a page is wider than its window, in pixels. */
export const overflow = (page) => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

export function median(times) {
  const sorted = [...times].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  return (sorted[Math.ceil(middle) - 1] + sorted[Math.floor(middle)]) / 2;
}
