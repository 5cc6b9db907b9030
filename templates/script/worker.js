// Keeps the whole manual on the device. The builder puts VERSION and FILES
// before this text. A version is taken whole or not at all: its files are
// gathered in a cache of its own, and the old one is left alone until the
// reader takes the new one.

/** @type {any} */
const here = self;
/** @type {ServiceWorkerGlobalScope} */
const worker = here;
const SCOPE = worker.registration.scope;
const OURS = "forerun " + SCOPE + " ";
const CACHE = OURS + VERSION;
const HASHED = /\.[0-9a-f]{8,}\.\w+$/;

/**
 * A page is kept under its folder's address, as it is asked for.
 * @param {string} path
 */
const address = (path) => new URL(path.replace(/(^|\/)index\.html$/, "$1"), SCOPE).href;

worker.addEventListener("install", (event) => event.waitUntil(gather()));

async function gather() {
  const cache = await caches.open(CACHE);
  try {
    // A few at a time, so that a slow line still serves the reader.
    const waiting = [...FILES];
    await Promise.all(Array.from({ length: 4 }, async () => {
      for (let file; (file = waiting.shift());) await fetchInto(cache, file);
    }));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

/**
 * @param {Cache} cache
 * @param {string | [string, string]} file
 */
async function fetchInto(cache, file) {
  const [path, integrity] = [file].flat();
  const url = address(path);
  // A file named by its content cannot have changed: what is at hand will do.
  if (HASHED.test(path)) {
    const kept = await caches.match(url);
    if (kept) return cache.put(url, kept);
  }
  const answer = await fetch(url, { cache: HASHED.test(path) ? "default" : "no-cache", ...(integrity && { integrity }) });
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return cache.put(url, answer);
}

worker.addEventListener("message", ({ data }) => { if (data === "take") worker.skipWaiting(); });

worker.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith(OURS) && name !== CACHE) await caches.delete(name);
  }
  await worker.clients.claim();
})()));

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "GET" && request.url.startsWith(SCOPE)) event.respondWith(answer(request));
});

/** @param {Request} request */
async function answer(request) {
  const cache = await caches.open(CACHE);
  const url = new URL(request.url);
  url.hash = url.search = "";
  const kept = await cache.match(address(url.href));
  if (kept) return kept;
  try {
    return await fetch(request);
  } catch {
    if (request.mode !== "navigate") return Response.error();
    // A folder asked for without its last stroke; else the start page.
    const folder = address(url.href + "/");
    return Response.redirect(await cache.match(folder) ? folder : SCOPE);
  }
}
