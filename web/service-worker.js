// Keeps one whole version of the app, so that it starts with no connection; a new version waits until the old is closed
// everywhere. What is not a file of the app is asked of the page's worker, never of the net; the exchange alone goes out.
const VERSION = /*VERSION*/;
const FILES = /*FILES*/;
const CACHE = `stillbore ${VERSION}`;
const OUT = "/stillbore/";

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES)));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin || url.pathname.startsWith(OUT)) return;
  event.respondWith(answer(event, url));
});

async function answer(event, url) {
  const cache = await caches.open(CACHE);
  if (event.request.mode === "navigate") return (await cache.match("/tablet/")) ?? fetch(event.request);
  if (url.pathname.startsWith("/tablet/")) return (await cache.match(url.pathname)) ?? fetch(event.request);
  return ask(event);
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
