/* Stands before the shift log and the worksheets of cleanings: they open without a connection, and entries that wait are sent
   when there is one.
   ASSETS, the files that they need, is written before this by the server; another list makes another worker. Pages that were
   kept before a new version came want the files of their own version: those of the one before are left to them. */
"use strict";

const OWN = "skidbook-shift-files-", STATIC = "/static/", KEPT_WITH = "x-kept-with";
const PAGES = "skidbook-shift-pages", FILES = OWN + ASSETS.join(" ").replace(/[^=]*=(\w{4})\w*/g, "$1");
const LOG = /^\/trains\/\d+\/shift$/, SHEET = /^\/trains\/\d+\/cleanings\/worksheet(\?.*)?$/;
const SIGN_OUT = /^\/(sign-out|account\/sign-out-everywhere)$/;
const PATIENCE_MS = 6000, FRESH_MS = 6 * 3600 * 1000;

importScripts(ASSETS.find((address) => address.includes("shift-queue.js")));

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(FILES).then((cache) => cache.addAll(ASSETS)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith(OWN) && name !== FILES);
    for (const name of old.slice(0, -1)) await caches.delete(name);
    await self.clients.claim();
  })());
});

/* A page is kept when it came as it should, and whole: a page that breaks off must not take the place of the one before. When
   the person may not see it any more, it goes. */
async function keep(path, response) {
  const cache = await caches.open(PAGES);
  if (response.ok && !response.redirected) {
    const headers = new Headers(response.headers);
    ["content-encoding", "content-length", "set-cookie"].forEach((name) => headers.delete(name));
    headers.set(KEPT_WITH, FILES);
    await cache.put(path, new Response(await response.blob(), { status: response.status, headers }));
  } else if ([403, 404].includes(response.status)) {
    await cache.delete(path);
  }
}

/* A log is one page whatever is asked of it; a worksheet is another one for each question. */
async function page(event, url) {
  const sheet = SHEET.test(url.pathname), path = sheet ? url.pathname + url.search : url.pathname;
  const kept = await (await caches.open(PAGES)).match(path);
  const asked = fetch(event.request), keeps = sheet || !url.search;
  event.waitUntil(asked.then((response) => (keeps ? keep(path, response.clone()) : undefined)).catch(() => undefined));
  if (!kept) return asked;
  const late = new Promise((resolve) => { setTimeout(() => resolve(kept), PATIENCE_MS); });
  return Promise.race([asked.catch(() => kept), late]);
}

async function file(request) {
  return await caches.match(request) || fetch(request);
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin) return;
  if (event.request.method === "POST" && SIGN_OUT.test(url.pathname)) event.waitUntil(caches.delete(PAGES));
  if (event.request.method !== "GET") return;
  if (event.request.mode === "navigate" && (LOG.test(url.pathname) || SHEET.test(url.pathname))) event.respondWith(page(event, url));
  else if (url.pathname.startsWith(STATIC) && url.search) event.respondWith(file(event.request));
});

/* Whether a page was kept lately, and by this version. */
async function fresh(path) {
  const kept = await (await caches.open(PAGES)).match(path);
  return kept && kept.headers.get(KEPT_WITH) === FILES && Date.now() - Date.parse(kept.headers.get("date")) < FRESH_MS;
}

/* The page asks to keep itself, and the logs of the other trains of its site where they are missing or old. */
self.addEventListener("message", (event) => {
  const paths = (event.data.keep || []).filter((path) => LOG.test(path) || SHEET.test(path));
  event.waitUntil(Promise.all(paths.map(async (path) => {
    if (path !== event.data.mine && await fresh(path)) return;
    const response = await fetch(path, { redirect: "manual" });
    if (response.type !== "opaqueredirect") await keep(path, response);
  })).catch(() => undefined));
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "shift") return;
  event.waitUntil((async () => {
    const done = await ShiftQueue.drain();
    for (const client of await self.clients.matchAll()) client.postMessage({ done });
    if (done && done.outcome === "later") throw new Error("no connection yet");
  })());
});
