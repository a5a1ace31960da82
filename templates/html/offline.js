// The service worker of a published site: its pages can be read and filled in without the server.
//
// Two lines before these say what was published: VERSION, a hash of all files, and FILES, the paths of what is stored
// in advance. While the server answers, every page comes from it, so none is stale after a publish. Only if it does not
// answer, the stored files are used. A new publish gives a new worker, which removes what the old one stored.

"use strict";

const PREFIX = "benchleaf ";
const CACHE = PREFIX + VERSION;
const ROOT = new URL("./", self.location.href);
/** The requests that run at once while files are stored. */
const AT_ONCE = 8;

/** A file with a hash of its content in its name never changes. */
const isFixed = (url) => /-[0-9a-f]{8}\.\w+$/.test(url.pathname);

async function storeAll() {
  const cache = await caches.open(CACHE);
  const rest = [...FILES];
  const storeNext = async () => {
    for (let path = rest.pop(); path !== undefined; path = rest.pop()) {
      const url = new URL(path, ROOT);
      const response = await fetch(url, { cache: "no-cache" });
      if (!response.ok) throw new Error(`${response.status} ${url}`);
      await cache.put(url, response);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, storeNext));
}

self.addEventListener("install", (event) => {
  event.waitUntil(storeAll().then(() => self.skipWaiting()));
});

async function removeOld() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("activate", (event) => event.waitUntil(removeOld()));

async function stored(url) {
  const cache = await caches.open(CACHE);
  const file = new URL(url);
  file.hash = "";
  if (file.pathname.endsWith("/")) file.pathname += "index.html";
  return cache.match(file, { ignoreSearch: true });
}

/** The page with a sign for `page.js` that it was stored. A script can't see where its page came from. */
async function marked(response) {
  const { status, statusText, headers } = response;
  const text = await response.text();
  return new Response(text.replace("<html ", "<html data-stored "), { status, statusText, headers });
}

async function answer(request) {
  const url = new URL(request.url);
  if (isFixed(url)) {
    const found = await stored(url);
    if (found) return found;
  }
  try {
    const redirect = request.mode === "navigate" ? "manual" : "follow";
    const response = await fetch(request.url, { cache: "no-cache", credentials: "same-origin", redirect });
    // What is read once, such as a PDF, can be read again.
    if (response.ok && response.type === "basic") {
      const copy = response.clone();
      const cache = await caches.open(CACHE);
      await cache.put(url, copy).catch(() => {});
    }
    return response;
  } catch (error) {
    const found = await stored(url);
    if (found) return request.mode === "navigate" && /html/.test(found.headers.get("content-type")) ? marked(found) : found;
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const isOwn = request.method === "GET" && request.url.startsWith(ROOT.href) && !request.headers.has("range");
  if (isOwn) event.respondWith(answer(request));
});
