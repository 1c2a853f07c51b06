// Lays a .br beside every file of a folder that is worth it:  node compress.mjs FOLDER
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { brotliCompressSync, constants } from "node:zlib";

const folder = process.argv[2];
for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
  if (!entry.isFile()) continue;
  const path = join(entry.parentPath ?? entry.path, entry.name);
  const data = readFileSync(path);
  writeFileSync(`${path}.br`, brotliCompressSync(data, { params: {
    [constants.BROTLI_PARAM_QUALITY]: Number(process.argv[3] ?? 10), [constants.BROTLI_PARAM_SIZE_HINT]: data.length,
    [constants.BROTLI_PARAM_LGWIN]: 24 } }));
}
