// Named files that grow at the end, as stillbore.store.medium wants them. On disk when commit() has been awaited.

const NAMES = ["events.log", "events.log.torn", "files.pack", "files.pack.torn", "drawer.0", "drawer.1"];
const FOLDER = "stillbore";

export async function openMedium() {
  try {
    return await OriginFiles.open();
  } catch (error) {
    console.warn("no OPFS, so IndexedDB:", error);
    return await Database.open();
  }
}

// The origin's private file system, by synchronous handles: a flush is a sync of the disk.
class OriginFiles {
  static async open() {
    const root = await navigator.storage.getDirectory();
    const folder = await root.getDirectoryHandle(FOLDER, { create: true });
    const made = new OriginFiles();
    for (const name of NAMES) made.handles.set(name, await handleOf(await folder.getFileHandle(name, { create: true })));
    return made;
  }

  kind = "OPFS";
  handles = new Map();
  changed = new Set();

  size(name) {
    return this.handles.get(name).getSize();
  }

  read(name, at, length) {
    const out = new Uint8Array(Math.max(0, Math.min(length, this.size(name) - at)));
    const got = this.handles.get(name).read(out, { at });  // without {at} it would read from where the last one ended
    return out.subarray(0, got);
  }

  append(name, data) {
    this.changed.add(name);
    const done = this.handles.get(name).write(data, { at: this.size(name) });
    if (done !== data.length) throw new Error(`only ${done} of ${data.length} bytes were taken`);
  }

  cut(name, size) {
    this.changed.add(name);
    this.handles.get(name).truncate(size);
  }

  async commit() {
    for (const name of this.changed) this.handles.get(name).flush();
    this.changed.clear();
  }
}

// A page that has just gone may hold the file for a moment longer.
async function handleOf(file) {
  for (let tries = 0; ; tries++) {
    try {
      return await file.createSyncAccessHandle();
    } catch (error) {
      if (error.name !== "NoModificationAllowedError" || tries === 20) throw error;
      await new Promise((done) => setTimeout(done, 50));
    }
  }
}

// Pieces in IndexedDB, in transactions that are strictly durable; all of it is held in memory too.
class Database {
  static async open() {
    const made = new Database();
    made.database = await new Promise((done, failed) => {
      const asked = indexedDB.open(FOLDER, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("pieces");
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    await made.load();
    return made;
  }

  kind = "IndexedDB";

  async load() {
    this.files = new Map(NAMES.map((name) => [name, new Uint8Array(0)]));
    this.pieces = new Map(NAMES.map((name) => [name, 0]));
    this.waiting = [];
    const store = this.database.transaction("pieces").objectStore("pieces");
    const [names, data] = await Promise.all([answerOf(store.getAllKeys()), answerOf(store.getAll())]);
    names.forEach(([name, number], at) => {
      this.grow(name, data[at]);
      this.pieces.set(name, number + 1);
    });
  }

  grow(name, data) {
    const old = this.files.get(name);
    const whole = new Uint8Array(old.length + data.length);
    whole.set(old);
    whole.set(data, old.length);
    this.files.set(name, whole);
  }

  size(name) {
    return this.files.get(name).length;
  }

  read(name, at, length) {
    return this.files.get(name).slice(at, at + length);
  }

  append(name, data) {
    const copy = data.slice();
    const number = this.pieces.get(name);
    this.grow(name, copy);
    this.pieces.set(name, number + 1);
    this.waiting.push((store) => store.put(copy, [name, number]));
  }

  cut(name, size) {
    const left = this.files.get(name).slice(0, size);
    this.files.set(name, left);
    this.pieces.set(name, 1);
    this.waiting.push((store) => {
      store.delete(IDBKeyRange.bound([name, 0], [name, Infinity]));
      store.put(left, [name, 0]);
    });
  }

  async commit() {
    if (!this.waiting.length) return;
    try {
      await new Promise((done, failed) => {
        const work = this.database.transaction("pieces", "readwrite", { durability: "strict" });
        work.oncomplete = done;
        work.onabort = work.onerror = () => failed(work.error);
        for (const each of this.waiting) each(work.objectStore("pieces"));
      });
      this.waiting = [];
    } catch (error) {
      await this.load();
      throw error;
    }
  }
}

function answerOf(asked) {
  return new Promise((done, failed) => {
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}
