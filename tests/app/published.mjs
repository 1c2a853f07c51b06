import { started } from "./interpreter.mjs";

const pyodide = await started();
console.log(pyodide.runPython(`
import json, sys
assert sys.platform == "emscripten"
from stillbore.published import cases, row
rows = [row(case) for case in cases()]
json.dumps({"cases": len(rows), "disagree": [each.case.function for each in rows if not each.agrees],
            "ours": [each.ours for each in rows]})
`));
