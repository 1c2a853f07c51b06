// Compiles the Python files of a zip with the very interpreter that will run them:  node compile.mjs IN.zip OUT.zip
import { readFileSync, writeFileSync } from "node:fs";
import { loadPyodide } from "pyodide";

const [from, to] = process.argv.slice(2);
const pyodide = await loadPyodide();
pyodide.FS.writeFile("/in.zip", readFileSync(from));
pyodide.runPython(readFileSync(new URL("compile.py", import.meta.url), "utf8"));
writeFileSync(to, pyodide.FS.readFile("/out.zip"));
