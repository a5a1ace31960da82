// What the tests here share: the pages, made by the program itself, and a browser to open them in.

import { execFileSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("../..", import.meta.url));

/** The program to test: `BENCHLEAF` names it, or else it is the one that `cargo build` made. */
const program = process.env.BENCHLEAF ?? join(root, "target", "debug", "benchleaf");

/** Makes the demonstration shop's pages in a folder of their own, in a language. */
export function makePages(language = "en-GB") {
  const all = mkdtempSync(join(tmpdir(), "benchleaf-pages-"));
  const [shop, folder] = [join(all, "shop"), join(all, "pages")];
  cpSync(join(root, "procedures"), shop, { recursive: true });
  const file = join(shop, "shop.toml");
  const text = readFileSync(file, "utf8");
  writeFileSync(file, text.replace(/^language = .*$/m, `language = "${language}"`));
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

/** Opens a page and gathers what goes wrong on it: errors, and any request but for its own files. */
export async function open(context, address) {
  const page = await context.newPage();
  const wrong = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(message.text());
  });
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => {
    const isOwn = /^(file|blob|data):/.test(request.url()) || new URL(request.url()).host === new URL(address).host;
    if (!isOwn) wrong.push(`asked for ${request.url()}`);
  });
  await page.goto(address);
  return { page, wrong };
}
