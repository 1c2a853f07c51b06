// The memory of the interpreter with the app loaded in it, kept on the device: the next start takes it up instead of
// loading everything again. It is made before the storage is opened, so no job and no key is in it. Behind it stand the
// version that it was made of and the hash of both: one of another version, or not whole to the last byte, is not used.
const NAME = "interpreter", HASH = 32;
const ROOM = 10;  // times its size must be free on the device, or it is not kept: the jobs come first

const folder = () => navigator.storage.getDirectory();
const hash = async (bytes) => new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));

// The file as it is; undefined where there is none.
export async function read() {
  try {
    return await (await (await (await folder()).getFileHandle(NAME)).getFile()).arrayBuffer();
  } catch {
    return undefined;
  }
}

// More than half of the memory is nought. Only blocks that are not are kept, behind how long it all is and which they are.
const BLOCK = 65536;

function packed(memory, mark) {
  const words = new Uint32Array(memory.buffer, memory.byteOffset, memory.length >> 2), full = [];
  for (let at = 0; at < memory.length; at += BLOCK) {
    if (words.subarray(at >> 2, (at + BLOCK) >> 2).some((each) => each)) full.push(at);
  }
  const head = new Uint8Array(new Uint32Array([memory.length, full.length, ...full]).buffer);
  const all = new Uint8Array(head.length + full.length * BLOCK + mark.length);
  all.set(head);
  full.forEach((at, number) => all.set(memory.subarray(at, at + BLOCK), head.length + number * BLOCK));
  all.set(mark, all.length - mark.length);
  return all;
}

function unpacked(bytes) {
  const [length, count] = new Uint32Array(bytes.buffer, 0, 2), full = new Uint32Array(bytes.buffer, 8, count);
  const memory = new Uint8Array(length);
  full.forEach((at, number) => {
    const begin = 8 + 4 * count + number * BLOCK;
    memory.set(bytes.subarray(begin, begin + Math.min(BLOCK, length - at)), at);
  });
  return memory;
}

// The memory in a file; undefined where it is not to be used.
export async function whole(file, version) {
  const mark = new TextEncoder().encode(version), end = (file?.byteLength ?? 0) - HASH - mark.length;
  if (end <= 0) return undefined;
  const right = [...mark, ...(await hash(new Uint8Array(file, 0, end + mark.length)))];
  if (!new Uint8Array(file, end).every((each, at) => each === right[at])) return undefined;
  return unpacked(new Uint8Array(file, 0, end));
}

export async function keep(memory, version) {
  const { quota, usage } = await navigator.storage.estimate();
  if (quota - usage < ROOM * memory.length) return;
  const all = packed(memory, new TextEncoder().encode(version)), right = await hash(all);
  const handle = await (await (await folder()).getFileHandle(NAME, { create: true })).createSyncAccessHandle();
  try {
    handle.truncate(0);
    handle.write(all, { at: 0 });
    handle.write(right, { at: all.length });
    handle.flush();
  } finally {
    handle.close();
  }
}

export async function forget() {
  await (await folder()).removeEntry(NAME);
}

// How the interpreter is made that takes it up: its memory begins smaller, and has to hold it.
export async function withRoomFor(memory) {
  const create = (await import("./pyodide.asm.mjs")).default;
  return async (settings) => {
    const made = await create(settings);
    while (made.HEAP8.length < memory.length) made._malloc(2 ** 20);  // what lies there is overwritten
    return made;
  };
}
