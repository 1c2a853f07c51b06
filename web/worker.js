// Holds the interpreter and the one app over the device's storage. One at a time: whoever has the lock.
import { openMedium } from "./medium.js";
import { loadPyodide } from "./pyodide.mjs";
import { forget, keep, whole, withRoomFor } from "./snapshot.js";

const VERSION = /*VERSION*/;
const PACKAGES = "/packages.zip";
const LOCK = "stillbore";
const PATIENCE_MS = 1500;  // a page that has just gone gives its lock back in this time
const boot = crypto.randomUUID();
const times = [];  // what the start spends its time on: [what, ms since the worker began]
const mark = (what) => times.push([what, Math.round(performance.now())]);

let newer = false;  // whether a newer version of the app has been fetched and waits to be taken

self.onmessage = ({ data }) => {
  if (data.start) start(data.snapshot);
  if ("newer" in data) newer = data.newer;
};

async function start(snapshot) {
  try {
    const interpreter = started(snapshot);  // it touches nothing that is stored, and need not wait for the lock
    interpreter.catch(() => {});
    if (!(await locked(AbortSignal.timeout(PATIENCE_MS)))) {
      postMessage({ elsewhere: true });
      await locked();
    }
    mark("lock");
    const handle = await opened(await interpreter);
    const medium = handle.medium.kind;
    self.onmessage = ({ data }) => {
      if ("newer" in data) newer = data.newer;
      else answer(handle, data);
    };
    postMessage({ ready: true, medium, times });
  } catch (error) {
    console.error(error);
    postMessage({ failed: String(error.message ?? error).slice(-600) });
  }
}

// Resolves when the lock is ours, for as long as this worker lives; false where another keeps it.
function locked(signal) {
  return new Promise((done, failed) => {
    navigator.locks.request(LOCK, { signal }, () => {
      done(true);
      return new Promise(() => {});
    }).catch((error) => (signal?.aborted ? done(false) : failed(error)));
  });
}

// The interpreter with the app loaded, as it was kept from a start before where that can be had.
async function started(file) {
  const keys = import("./keys.js");
  const snapshot = await whole(file, VERSION);
  let found;
  try {
    found = await (snapshot ? takenUp(snapshot) : loaded());
  } catch (error) {
    if (!snapshot) throw error;
    console.error(error);
    await forget();
    found = await loaded();
  }
  return { ...found, keys: (await keys).keys };
}

function interpreter(options) {
  return loadPyodide({
    indexURL: new URL("./", import.meta.url).href,
    env: { HOME: "/home/pyodide", PYTHONDONTWRITEBYTECODE: "1" }, convertNullToNone: true, ...options,
  });
}

async function packages(pyodide) {
  pyodide.FS.writeFile(PACKAGES, new Uint8Array(await (await fetch("packages.zip")).arrayBuffer()));
}

// What is loaded needs its packages no more; what is not will: they are fetched while the storage is opened.
async function takenUp(snapshot) {
  mark("snapshot");
  const pyodide = await interpreter({ _loadSnapshot: snapshot, createPyodideModule: await withRoomFor(snapshot) });
  pyodide.runPython("import random; random.seed()");
  mark("interpreter");
  return { pyodide, brought: packages(pyodide) };
}

async function loaded() {
  const pyodide = await interpreter({ _makeSnapshot: true });
  mark("interpreter");
  await packages(pyodide);
  pyodide.runPython(`import sys; sys.path.append("${PACKAGES}")\nfrom stillbore.app.worker import load; load()`);
  mark("packages");
  keep(pyodide.makeMemorySnapshot(), VERSION).catch((error) => console.warn(error));
  mark("kept");
  return { pyodide, brought: null };
}

async function opened({ pyodide, keys, brought }) {
  const medium = await openMedium();
  mark("storage");
  pyodide.registerJsModule("stillbore_host", { ...keys, medium, clock, request, newer: () => newer, origin: location.origin });
  const handle = await pyodide.runPythonAsync("from stillbore.app.worker import begin\nawait begin()");
  await brought;
  mark("app");
  return { call: handle, medium };
}

function clock() {
  return [new Date().toISOString().replace("Z", "+00:00"), boot, Math.round(performance.now())];
}

// A request that is waited for: the interpreter has no other way, and the exchange is one at a time.
function request(method, address, token, body) {
  const asked = new XMLHttpRequest();
  asked.open(method, address, false);
  asked.responseType = "arraybuffer";
  asked.setRequestHeader("Authorization", `Bearer ${token}`);
  asked.setRequestHeader("Content-Type", "application/octet-stream");
  try {
    asked.send(body);
  } catch {
    return [0, new Uint8Array(0)];
  }
  return [asked.status, new Uint8Array(asked.response ?? new ArrayBuffer(0))];
}

// One after the other: a page never sees another's half. A redirect is followed in the same turn, so that the answer to
// what was pressed first is on the screen before what was pressed next.
let before = Promise.resolve();

function answer(handle, asked) {
  before = before.then(async () => {
    try {
      const found = await followed(handle, asked);
      postMessage({ number: asked.number, ...found }, [found.body]);
    } catch (error) {
      console.error(error);
      const body = new TextEncoder().encode(`The app has a fault: ${error}`).buffer;
      postMessage({ number: asked.number, address: asked.address, status: 500, headers: [], body });
    }
  });
}

async function followed(handle, { method, address, headers, body }) {
  for (let hops = 0; ; hops++) {
    const [status, answered, data] = await handle.call(method, address, headers, new Uint8Array(body ?? 0));
    const next = [301, 302, 303, 307, 308].includes(status) && new Headers(answered).get("location");
    if (!next || hops === 10) return { address, status, headers: answered, body: data.buffer };
    address = new URL(next, address).href;
    if (status < 307) {
      [method, body] = ["GET", undefined];
      headers = headers.filter(([name]) => name.toLowerCase() !== "content-type");
    }
  }
}
