// Readings of an instrument on a cable, where the browser has Web Serial. This file hands on whole lines, each with the
// time at which it was whole; what they mean the app says. The open port outlives the pages that are swapped in, and is
// closed when the crew leaves the gauge's page.
const LONGEST = 200; // bytes of a line; of a longer one a byte more goes on, so that the app refuses it
const AT_ONCE = 100; // lines sent with one request
const MOST_WAITING = 5000; // lines that wait while the app does not answer
const TICK_MS = 1000;
const SILENT_MS = 10_000;
const PATIENCE_MS = 3000; // what is pressed waits so long for the lines before it
const LF = 10, CR = 13;

let run = null; // the open port, its log, and what came of it
let opening = false, passing = false;
let chosen = null; // speed and unit, kept for when the cable is put back
let told = { log: "", key: "", more: "" }; // what stands in the line of the state
let seen = null; // the section as it was last painted

const at = (id) => document.getElementById(id);
// What is changed here has no id: htmx sets the attributes of what has one back, when it has swapped a page in.
const of = (name) => document.querySelector(`[data-cable="${name}"]`);

// Lines out of bytes that come in pieces, cut anywhere. What stands before the first end may have begun before we
// listened, and is left out.
class Lines {
  bytes = [];
  torn = true;

  *take(piece) {
    for (const byte of piece) {
      if (byte !== LF && byte !== CR) {
        if (this.bytes.length <= LONGEST) this.bytes.push(byte);
        continue;
      }
      if (!this.torn && this.bytes.length) yield words(new Uint8Array(this.bytes));
      this.bytes = [];
      this.torn = false;
    }
  }

  tear() {
    this.bytes = [];
    this.torn = true;
  }
}

function words(bytes) {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("latin1").decode(bytes);
  }
}

// The port

async function begin() {
  if (run || opening || !of("certified").reportValidity()) return;
  opening = true;
  const log = of("panel").dataset.log;
  chosen = { unit: of("unit").value, baud: of("baud").value };
  try {
    const port = await navigator.serial.requestPort().catch(() => null);
    if (!port) return say(log, "none");
    try {
      await port.open({ baudRate: Number(chosen.baud) });
    } catch {
      return say(log, "closed");
    }
    if (of("panel")?.dataset.log !== log) return await port.close();
    run = { port, log, unit: chosen.unit, action: of("panel").dataset.action, lines: new Lines(), waiting: [], stamp: 0,
      head: "", unread: 0, heard: performance.now(), disturbed: -SILENT_MS, posts: Promise.resolve(), posting: 0 };
    const opened = run;
    port.addEventListener?.("disconnect", () => end(opened, "pulled"));
    opened.ticks = setInterval(() => tick(opened), TICK_MS);
    navigator.wakeLock?.request("screen").then((awake) => (run === opened ? (opened.awake = awake) : awake.release()), () => {});
    listen(opened);
    say(log, "waiting");
    of("end").focus();
  } finally {
    opening = false;
  }
}

async function listen(its) {
  let stream = null;
  // After a fault on the line the port has a new stream; after its end it has none, or the old one.
  while (run === its && its.port.readable && its.port.readable !== stream) {
    stream = its.port.readable;
    its.reader = stream.getReader();
    try {
      for (let part; !(part = await its.reader.read()).done;) gather(its, part.value);
    } catch {
      its.lines.tear();
      its.disturbed = performance.now();
    } finally {
      its.reader.releaseLock();
    }
  }
  await end(its, "pulled");
  await its.port.close().catch(() => {});
}

// Lines of one piece are whole at one time; a millisecond between them keeps them apart, in their order.
function gather(its, piece) {
  for (const line of its.lines.take(piece)) {
    const now = Date.now();
    its.stamp = now <= its.stamp && now > its.stamp - TICK_MS ? its.stamp + 1 : now;
    its.waiting.push(`${new Date(its.stamp).toISOString()} ${line}`);
    its.heard = performance.now();
  }
  if (its.waiting.length > MOST_WAITING) end(its, "lost");
}

async function end(its, key, more = "") {
  if (run !== its) return;
  run = null;
  clearInterval(its.ticks);
  its.awake?.release();
  its.reader?.cancel().catch(() => {}); // what listens goes on from there, and closes the port
  await Promise.race([drain(its), patience()]);
  say(its.log, its.refused ? "refused" : its.waiting.length ? "lost" : key, its.refused ?? more);
}

async function drain(its) {
  for (let before = -1; its.waiting.length && its.waiting.length !== before;) {
    before = its.waiting.length;
    await send(its);
  }
}

const patience = () => new Promise((done) => setTimeout(done, PATIENCE_MS));

// What the app is sent, and what it answers

function tick(its) {
  const now = performance.now();
  if (!its.posting) send(its);
  say(its.log, its.held ? "held" : now - its.heard > SILENT_MS ? "silent" : now - its.disturbed < SILENT_MS ? "disturbed"
    : its.stamp ? "reading" : "waiting");
}

function send(its) {
  its.posting += 1;
  return (its.posts = its.posts.then(() => post(its)).finally(() => { its.posting -= 1; }));
}

async function post(its) {
  const lines = its.waiting.slice(0, AT_ONCE);
  if (!lines.length || its.refused) return;
  const { unit, head, unread } = its;
  const body = new URLSearchParams({ act: "serial", lines: lines.join("\n"), unit, head, unread });
  let answer, page;
  try {
    answer = await fetch(its.action, { method: "POST", body });
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    its.held = true; // the same lines go again; the app takes none twice
    return;
  }
  its.held = false;
  if (!answer.ok) {
    its.refused = page.querySelector("[data-refused], main, body").textContent.trim();
    end(its, "refused");
    return;
  }
  its.waiting.splice(0, lines.length);
  const read = page.getElementById("cable-read");
  its.head = read.dataset.head;
  its.unread = read.dataset.unread;
  if (of("panel")?.dataset.log !== its.log) return;
  for (const part of page.querySelectorAll("[data-live]")) at(part.id)?.replaceWith(document.adoptNode(part));
  of("keys").hidden = !at("gauge-last").children.length;
}

// The page

function say(log, key, more = "") {
  told = { log, key, more };
  paint();
}

function paint() {
  const section = of("panel");
  if (!section || !navigator.serial) return;
  const state = of("state"), setup = of("setup"), within = of("running").contains(document.activeElement);
  const { key, more } = told.log === section.dataset.log ? told : { key: "", more: "" };
  setup.hidden = run !== null;
  of("running").hidden = !run;
  section.hidden = !run && !key;
  const text = key ? `${state.dataset[key]} ${more}`.trim() : "";
  if (state.textContent !== text) state.textContent = text;
  if (run) of("certified").checked = false; // asked anew before the next time
  else if (within) state.focus();
}

// Pages come whole, or are swapped in.
function look() {
  const section = of("panel");
  if (run && section?.dataset.log !== run.log) {
    told = { log: "", key: "", more: "" };
    end(run, "");
  }
  if (section === seen) return;
  seen = section;
  if (section && chosen) for (const name of ["unit", "baud"]) of(name).value = chosen[name];
  paint();
}

document.addEventListener("click", (event) => {
  const key = event.target.closest?.("button[data-cable]")?.dataset.cable;
  if (key === "begin") begin();
  if (key === "end" && run) end(run, "ended");
});

// What is pressed on the gauge's page comes after the lines that came before it; a log that is kept is at its end.
document.addEventListener("submit", async (event) => {
  const { target: form, submitter } = event;
  if (!run || passing || form.getAttribute("action") !== run.action) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  await Promise.race([submitter?.value === "keep" ? end(run, "ended") : send(run), patience()]);
  await new Promise((done) => setTimeout(done)); // a form is not submitted again while it still is
  passing = true;
  if (form.isConnected) form.requestSubmit(submitter);
  passing = false;
}, true);

new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });
look();
