// What the tests here share: the pages, made by the program itself, and a browser to open them in.

import { execFileSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("../..", import.meta.url));

/** The program to test: `BENCHLEAF` names it, or else it is the one that `cargo build` made. */
const program = process.env.BENCHLEAF ?? join(root, "target", "debug", "benchleaf");

/** Makes the demonstration shop's pages in a folder of their own. */
export function makePages() {
  const folder = mkdtempSync(join(tmpdir(), "benchleaf-pages-"));
  execFileSync(program, ["publish", "procedures", "--html-only", "--output", folder], {
    cwd: root,
    stdio: ["ignore", "ignore", "inherit"],
  });
  return {
    folder,
    /** A page's address, from a disk: no server is started here. */
    address: (path) => pathToFileURL(join(folder, path)).href,
    /** The HTML files of a folder of it. */
    list: (under) =>
      readdirSync(join(folder, under))
        .filter((name) => name.endsWith(".html"))
        .map((name) => join(under, name)),
    remove: () => rmSync(folder, { recursive: true, force: true }),
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

/** Opens a page and gathers what goes wrong on it: errors, and any request but for its own files. */
export async function open(context, address) {
  const page = await context.newPage();
  const wrong = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(message.text());
  });
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => {
    if (!/^(file|blob|data):/.test(request.url())) wrong.push(`asked for ${request.url()}`);
  });
  await page.goto(address);
  return { page, wrong };
}
