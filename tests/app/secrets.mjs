import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { built, folder, started } from "./interpreter.mjs";

const { keys } = await import(pathToFileURL(join(built, "keys.js")));
const pyodide = await started();
pyodide.registerJsModule("stillbore_host", keys);
pyodide.globals.set("theirs", readFileSync(join(folder, "P1.secret"), "utf8"));
const told = pyodide.runPython(`
import json
from stillbore.store import keys
opened = keys.open_secret(theirs, "six words that nobody knows", "P1.secret")
made, text = keys.new_secret("other words that nobody knows")
signature = made.sign(b"a message")
json.dumps({"opened": opened.public, "made": made.public, "signature": signature, "text": text, "checks": [
    keys.check(made.public, b"a message", signature), keys.check(made.public, b"another", signature),
    keys.check(opened.public, b"a message", signature)]})
`);
writeFileSync(join(folder, "P2.secret"), JSON.parse(told).text);
console.log(told);
