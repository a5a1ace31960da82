// What the tests here share: the pages, made by the program itself, and a browser to open them in.

import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("../..", import.meta.url));

/** The program to test: `BENCHLEAF` names it, or else it is the one that `cargo build` made. */
const program = process.env.BENCHLEAF ?? join(root, "target", "debug", "benchleaf");

/** A copy of the demonstration shop's sources, in a folder of its own, in a language. */
function copyShop(language, change = () => {}) {
  const all = mkdtempSync(join(tmpdir(), "benchleaf-pages-"));
  const shop = join(all, "shop");
  cpSync(join(root, "procedures"), shop, { recursive: true });
  const file = join(shop, "shop.toml");
  const text = readFileSync(file, "utf8");
  writeFileSync(file, text.replace(/^language = .*$/m, `language = "${language}"`));
  change(shop);
  return { all, shop };
}

/**
 * Makes the demonstration shop's pages in a folder of their own, in a language; `change` may do
 * something to the shop's own folder before.
 */
export function makePages(language = "en-GB", change = () => {}) {
  const { all, shop } = copyShop(language, change);
  const folder = join(all, "pages");
  execFileSync(program, ["publish", shop, "--html-only", "--output", folder], {
    stdio: ["ignore", "ignore", "inherit"],
  });
  return {
    folder,
    /** A page's address, from a disk: no server is started here. */
    address: (path) => {
      const [file, place] = path.split("#");
      return pathToFileURL(join(folder, file)).href + (place ? `#${place}` : "");
    },
    /** The HTML files of a folder of it. */
    list: (under) =>
      readdirSync(join(folder, under))
        .filter((name) => name.endsWith(".html"))
        .map((name) => join(under, name)),
    remove: () => rmSync(all, { recursive: true, force: true }),
  };
}

/** Starts the preview of a shop, and waits until it says where it is. */
async function runPreview(shop, port) {
  const running = spawn(program, ["preview", shop, "--port", port], {
    stdio: ["ignore", "pipe", "ignore"],
  });
  let address;
  for await (const line of createInterface(running.stdout)) {
    [, address] = /^open (http:\S+)/.exec(line) ?? [];
    if (address) break;
  }
  // What it says later is nobody's, and must not stop it.
  running.stdout.resume();
  return { running, address };
}

/** The preview of a copy of the demonstration shop. */
export async function startPreview(language = "en-GB") {
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
    /** Ends it as Ctrl-C does; gives its exit status. */
    async end() {
      const ended = new Promise((resolve) => running.once("exit", resolve));
      running.kill("SIGINT");
      return ended;
    },
    /** Starts it again where it was. */
    async again() {
      ({ running, address } = await runPreview(shop, new URL(address).port));
    },
    remove() {
      running.kill("SIGKILL");
      rmSync(all, { recursive: true, force: true });
    },
  };
}

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
export async function serve(folder) {
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
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  const { port } = server.address();
  return { address: (path) => `http://127.0.0.1:${port}/${path}`, stop: () => server.close() };
}

/** Opens a page and gathers what goes wrong on it: errors, and any request but for its own files
 * or to the server it came from. */
export async function open(context, address) {
  const page = await context.newPage();
  const wrong = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(message.text());
  });
  page.on("pageerror", (error) => wrong.push(String(error)));
  const { origin } = new URL(address);
  page.on("request", (request) => {
    const isOwn = request.url().startsWith(`${origin}/`) || /^(file|blob|data):/.test(request.url());
    if (!isOwn) wrong.push(`asked for ${request.url()}`);
  });
  await page.goto(address);
  return { page, wrong };
}
