// The interpreter and the packages as they are shipped to the browser, under Node.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

export const [built, folder, web] = process.argv.slice(2);

export async function started() {
  const { loadPyodide } = await import(pathToFileURL(join(web, "node_modules/pyodide/pyodide.mjs")));
  const pyodide = await loadPyodide({ stdLibURL: join(built, "python_stdlib.zip"), convertNullToNone: true });
  pyodide.FS.writeFile("/packages.zip", new Uint8Array(readFileSync(join(built, "packages.zip"))));
  pyodide.runPython('import sys; sys.path.append("/packages.zip")');
  return pyodide;
}
