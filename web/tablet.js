// The shell: starts the worker that holds the app, and asks it for everything that a page would ask of a server.
import { read } from "./snapshot.js";

const waiting = new Map();  // requests by number: who waits for the answer
let worker, began, number = 0, opened;
const TAKE_NEWER = 205;  // "Reset Content": the answer to who takes the newer version
const ready = new Promise((done) => { opened = done; });

function say(text) {
  const said = document.getElementById("said");
  if (said) said.textContent = text;
}

// Asking the worker

async function ask(method, address, headers, body) {
  await ready;
  number += 1;
  const answer = new Promise((done) => waiting.set(number, done));
  worker.postMessage({ number, method, address, headers, body });
  return answer;
}

// As fetch, of the worker, with bodies as a Request writes them.
async function localFetch(address, options = {}) {
  const { method = "GET", body } = options;
  const bare = ["GET", "HEAD"].includes(method.toUpperCase());
  const request = new Request(new URL(address, location.href), { method, body: bare ? undefined : body });
  const given = new Headers(options.headers ?? {});
  for (const [name, value] of request.headers) given.set(name, value);
  given.set("accept-language", navigator.languages.join(","));
  given.set("referer", location.href);
  const found = await ask(method, request.url, [...given], bare ? undefined : await request.arrayBuffer());
  if (found.status === TAKE_NEWER) return takeNewer();
  const empty = found.status === 204 || found.status === 304;
  const response = new Response(empty ? null : found.body, found);
  Object.defineProperty(response, "url", { value: found.address });
  return response;
}

window.localFetch = localFetch;  // for the scripts of the pages: a shorter way than round by the service worker

// Putting pages on the screen

async function show(address, options, remember) {
  const response = await localFetch(address, options);
  if (!(response.headers.get("content-type") ?? "").startsWith("text/html")
      || (response.headers.get("content-disposition") ?? "").startsWith("attachment")) return save(response);
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  document.title = page.title;
  document.documentElement.lang = page.documentElement.lang;
  for (const each of page.head.querySelectorAll("link[rel=stylesheet], script[src]")) adopt(each);
  document.body.replaceWith(document.adoptNode(page.body));
  if (remember) history[remember]({ htmx: true }, "", response.url);
  window.htmx.process(document.body);
  scrollTo(0, 0);
}

// A style sheet or script that the page names and that is not here yet. A script made by a parser would not run.
function adopt(each) {
  const address = each.getAttribute("href") ?? each.getAttribute("src");
  if (document.head.querySelector(`[href="${CSS.escape(address)}"], [src="${CSS.escape(address)}"]`)) return;
  const made = document.createElement(each.tagName);
  for (const { name, value } of each.attributes) made.setAttribute(name, value);
  document.head.append(made);
}

async function save(response) {
  const named = /filename="?([^";]+)/.exec(response.headers.get("content-disposition") ?? "")?.[1];
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await response.blob());
  link.download = named ?? decodeURIComponent(new URL(response.url).pathname.split("/").pop());
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

document.addEventListener("htmx:config:request", (event) => { event.detail.ctx.fetch = localFetch; });
// What htmx leaves alone would leave the page, and start the app anew.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href]");  // of a drawing too
  const written = link?.getAttribute("href") ?? "#";
  if (event.defaultPrevented || written.startsWith("#") || link.getAttribute("target") || event.ctrlKey || event.metaKey) return;
  const address = new URL(written, location.href);
  if (address.origin !== location.origin || address.protocol === "blob:") return;
  event.preventDefault();
  show(address, {}, link.hasAttribute("download") ? "" : "pushState");
});
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "dialog") return;
  event.preventDefault();
  const data = new FormData(form, event.submitter);
  const address = new URL(event.submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? "", location.href);
  if (form.method === "get") {
    address.search = new URLSearchParams(data);
    show(address, {}, "pushState");
  } else {
    const body = form.enctype === "multipart/form-data" ? data : new URLSearchParams(data);
    show(address, { method: "POST", body }, "pushState");
  }
});

// Starting

async function keepForOffline() {
  if (!navigator.serviceWorker || !navigator.locks) {
    say("This address is not one that the browser trusts, so that nothing can be kept on the device. Ask the depot for "
      + "the right address and its certificate. Go on with the paper card.");
    return false;
  }
  if (!navigator.serviceWorker.controller) say("Fetching the app once, about 6 MB. From then on it starts with no connection.");
  const kept = await navigator.serviceWorker.register("/service-worker.js", { scope: "/" });
  kept.addEventListener("updatefound", () => {
    kept.installing?.addEventListener("statechange", ({ target }) => {
      if (target.state === "installed" && worker) lookForNewer();
    });
  });
  if (!navigator.serviceWorker.controller) {
    await new Promise((done, failed) => {
      navigator.serviceWorker.addEventListener("controllerchange", done, { once: true });
      kept.installing?.addEventListener("statechange", ({ target }) => {
        if (target.state === "redundant") failed(new Error("it could not be fetched whole, or the storage is full"));
      });
    });
  }
  return true;
}

// Whether a newer version than the one in use has been fetched: the app says so, and goes on as it is.
async function lookForNewer() {
  const versions = await caches.open("stillbore versions");
  const [used, fetched] = await Promise.all(["/used", "/fetched"].map(async (what) => (await versions.match(what))?.text()));
  worker.postMessage({ newer: Boolean(used && fetched) && used !== fetched });
}

// Does not return: the page starts anew.
async function takeNewer() {
  const waiting = (await navigator.serviceWorker.getRegistration())?.waiting;
  const line = new MessageChannel();
  const taken = new Promise((done) => { line.port1.onmessage = done; });
  (waiting ?? navigator.serviceWorker.controller).postMessage({ take: true }, [line.port2]);
  await taken;
  location.assign("/");
  return new Promise(() => {});
}

function startWorker() {
  began = performance.now();
  const snapshot = read();
  // The worker will ask for the same: by then much of it is compiled, and the browser finds it again.
  WebAssembly.compileStreaming(fetch("/tablet/pyodide.asm.wasm")).catch(() => {});
  worker = new Worker("/tablet/worker.js", { type: "module" });
  worker.onmessage = ({ data }) => {
    if (data.number) {
      waiting.get(data.number)?.(data);
      waiting.delete(data.number);
    } else if (data.elsewhere) {
      say("The app is open in another tab already. Use that one, or close it: this one then goes on by itself.");
    } else if (data.failed) {
      say(`The app does not start: ${data.failed}. Go on with the paper card.`);
    } else if (data.ready) {
      document.documentElement.dataset.storage = data.medium;
      for (const [what, ms] of data.times) performance.mark(`worker: ${what}`, { startTime: began + ms });
      opened();
    }
  };
  worker.onerror = (event) => say(`The app does not start: ${event.message}. Go on with the paper card.`);
  snapshot.then((file) => worker.postMessage({ start: true, snapshot: file }, file ? [file] : []));
}

async function start() {
  if (navigator.serviceWorker?.controller) startWorker();
  if (!(await keepForOffline())) return;
  if (!worker) startWorker();
  navigator.serviceWorker.addEventListener("message", async ({ data, ports }) => {
    if (data.ask) {
      const { method, address, headers, body } = data.ask;
      ports[0].postMessage(await ask(method, address, headers, body));
    }
  });
  navigator.serviceWorker.startMessages();
  await lookForNewer();
  await ready;
  const here = location.pathname.startsWith("/tablet") ? "/" : location.pathname + location.search;
  performance.mark("stillbore asks for its first page");
  await show(here, {}, "replaceState");
  performance.mark("stillbore shows its first page");
  // The browser may clear what is not marked to stay; where it will not mark it, handing over often is the way.
  document.documentElement.dataset.kept = String(await navigator.storage.persist?.() ?? false);
}

start().catch((error) => say(`The app does not start: ${error.message}. Go on with the paper card.`));
