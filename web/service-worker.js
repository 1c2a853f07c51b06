// Keeps the whole version of the app that is in use, so that it starts with no connection, and the last one fetched. A
// newer version is used only once somebody takes it: no job goes on by another program than it began with because a
// tablet saw the depot. What is not a file of the app is asked of the page's worker, never of the net; the exchange alone
// goes out.
const VERSION = /*VERSION*/;
const FILES = /*FILES*/;
const CACHE = `stillbore ${VERSION}`;
const VERSIONS = "stillbore versions";  // two texts: which version is in use, which was fetched last
const USED = "/used", FETCHED = "/fetched";
const OUT = "/stillbore/";

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    await (await caches.open(CACHE)).addAll(FILES);
    const versions = await caches.open(VERSIONS);
    await versions.put(FETCHED, new Response(CACHE));
    if (!(await caches.has(await text(versions, USED)))) await versions.put(USED, new Response(CACHE));
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    await clear();
    await self.clients.claim();
  })());
});

// Somebody takes the version that was fetched last; whoever asked then starts anew.
self.addEventListener("message", (event) => {
  if (event.data.take) event.waitUntil((async () => {
    const versions = await caches.open(VERSIONS);
    await versions.put(USED, new Response(await text(versions, FETCHED)));
    await self.skipWaiting();
    await clear();
    event.ports[0].postMessage("taken");
  })());
});

async function text(versions, what) {
  return (await (await versions.match(what))?.text()) ?? "";
}

// The version in use; a browser that has thrown it away leaves this one.
async function inUse() {
  const used = await text(await caches.open(VERSIONS), USED);
  return caches.open((await caches.has(used)) ? used : CACHE);
}

async function clear() {
  const versions = await caches.open(VERSIONS);
  const wanted = [VERSIONS, CACHE, await text(versions, USED), await text(versions, FETCHED)];
  for (const name of await caches.keys()) if (!wanted.includes(name)) await caches.delete(name);
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin || url.pathname.startsWith(OUT)) return;
  event.respondWith(answer(event, url));
});

async function answer(event, url) {
  if (event.request.mode !== "navigate" && !url.pathname.startsWith("/tablet/")) return ask(event);
  const cache = await inUse();
  if (event.request.mode === "navigate") return (await cache.match("/tablet/")) ?? fetch(event.request);
  return (await cache.match(url.pathname)) ?? fetch(event.request);
}

// A picture, a style sheet, a request of a script: the page that wants it passes it to its worker.
async function ask(event) {
  const page = await self.clients.get(event.clientId);
  if (!page) return new Response("The app is not open.\n", { status: 503 });
  const { method, url, headers } = event.request;
  const body = await event.request.arrayBuffer();
  const line = new MessageChannel();
  return new Promise((done) => {
    line.port1.onmessage = ({ data }) => done(new Response(nothing(data.status) ? null : data.body, data));
    page.postMessage({ ask: { method, address: url, headers: [...headers], body } }, [line.port2]);
  });
}

function nothing(status) {
  return status === 204 || status === 304;
}
