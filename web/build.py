"""Build the app for the browser: what npm brought, our own package and the installed distributions it needs, compiled
for the interpreter in the browser, and a list of it all for the service worker.

    python web/build.py [--quick]        after: npm ci --ignore-scripts (in web/)

``--quick`` compresses less, for who changes the app and tries it.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

from stillbore.version import PACKED, code_hash

WEB = Path(__file__).parent
PACKAGE = WEB.parent / "src" / "stillbore"
BUILT = PACKAGE / "app" / "web"
MODULES = WEB / "node_modules"
# The distributions that the app imports, as they are installed beside this interpreter: both hosts run the same.
DISTRIBUTIONS = ("starlette", "anyio", "idna", "typing_extensions", "jinja2", "markupsafe", "python-multipart")
OURS = ("index.html", "tablet.css", "tablet.js", "worker.js", "snapshot.js", "medium.js", "keys.js", "app.webmanifest", "icon.svg")
FETCHED = {  # from npm: what is needed of it, and as what
    "pyodide/pyodide.mjs": "pyodide.mjs", "pyodide/pyodide.asm.mjs": "pyodide.asm.mjs",
    "pyodide/pyodide.asm.wasm": "pyodide.asm.wasm",
    **{f"@noble/hashes/{name}.js": f"hashes/{name}.js"
       for name in ("scrypt", "pbkdf2", "hmac", "sha2", "_md", "_u64", "utils")},
    **{f"@noble/ciphers/{name}.js": f"ciphers/{name}.js" for name in ("chacha", "_arx", "_poly1305", "utils")},
    "@noble/ed25519/index.js": "ed25519.js", "htmx.org/dist/htmx.min.js": "htmx.min.js"}
LICENCES = {"@noble/hashes/LICENSE": "noble-hashes", "@noble/ciphers/LICENSE": "noble-ciphers",
            "@noble/ed25519/LICENSE": "noble-ed25519", "htmx.org/LICENSE": "htmx"}
# Not wanted in the browser: the command line, the virtual rig, the example job with its evidence, what needs compiled
# libraries, and this build itself.
LEFT_OUT = ("cli/", "programme/", "practice/", "examples/evidence/", "examples/job.run", "app/web/", "__main__.py")


def main() -> None:
    shutil.rmtree(BUILT, ignore_errors=True)
    BUILT.mkdir(parents=True)
    for name in OURS:
        shutil.copy(WEB / name, BUILT / name)
    for source, name in FETCHED.items():
        (BUILT / name).parent.mkdir(exist_ok=True)
        shutil.copy(MODULES / source, BUILT / name)
    (BUILT / "packages.raw.zip").write_bytes(b"")
    with zipfile.ZipFile(BUILT / "packages.raw.zip", "w") as bundle:
        for name, content in sorted([*_own(), *_installed()]):
            bundle.writestr(zipfile.ZipInfo(name), content)  # no times: the same input gives the same bytes
    for source, name in ((MODULES / "pyodide/python_stdlib.zip", "python_stdlib.zip"),
                         (BUILT / "packages.raw.zip", "packages.zip")):
        subprocess.run(["node", WEB / "compile.mjs", source, BUILT / name], check=True)
    (BUILT / "packages.raw.zip").unlink()
    lock = json.loads((MODULES / "pyodide/pyodide-lock.json").read_text(encoding="utf-8"))
    (BUILT / "pyodide-lock.json").write_text(json.dumps({"info": lock["info"], "packages": {}}), encoding="utf-8")
    _licences()
    _stamp()
    subprocess.run(["node", WEB / "compress.mjs", BUILT, "1" if "--quick" in sys.argv else "10"], check=True)
    sizes = {path: path.stat().st_size for path in BUILT.rglob("*") if path.is_file()}
    packed = sum(size for path, size in sizes.items() if path.suffix == ".br")
    print(f"{BUILT.name}: {packed / 1e6:.2f} MB to download, compressed")


def _own() -> list[tuple[str, bytes]]:
    """Our own package, without what the browser does not run."""
    found = []
    for path in PACKAGE.rglob("*"):
        name = path.relative_to(PACKAGE).as_posix()
        if path.is_file() and "__pycache__" not in name and not name.startswith(LEFT_OUT):
            found.append((f"stillbore/{name}", path.read_bytes()))
    return [*found, (f"stillbore/{PACKED}", code_hash().encode())]


def _installed() -> list[tuple[str, bytes]]:
    """The files of the distributions. Compiled libraries are left out: who has one falls back to Python."""
    found = []
    for each in DISTRIBUTIONS:
        for file in importlib.metadata.distribution(each).files or ():
            name = file.as_posix()
            wanted = name.endswith((".py", "/METADATA")) or "licen" in name.lower() or name.endswith("py.typed")
            if wanted and not name.startswith("..") and "_speedups" not in name and "pytest_plugin" not in name:
                found.append((name, Path(str(file.locate())).read_bytes()))
    return found


def _licences() -> None:
    (BUILT / "licences").mkdir()
    for source, name in LICENCES.items():
        shutil.copy(MODULES / source, BUILT / "licences" / f"{name}.txt")
    version = json.loads((MODULES / "pyodide/package.json").read_text(encoding="utf-8"))["version"]
    (BUILT / "licences" / "pyodide.txt").write_text(
        f"Pyodide {version}: Mozilla Public License 2.0. Its source: the repository pyodide/pyodide, that version.\n"
        "It holds CPython and its standard library: Python Software Foundation License 2.\n", encoding="utf-8")


def _stamp() -> None:
    """Into the service worker the list of all files; into it and the worker a version that changes with any file."""
    names = sorted(path.relative_to(BUILT).as_posix() for path in BUILT.rglob("*")
                   if path.is_file() and path.suffix != ".br" and path.parent.name != "licences")
    digest = hashlib.sha256()
    for name in names:
        digest.update(name.encode() + (BUILT / name).read_bytes())
    values = {"VERSION": digest.hexdigest()[:16],
              "FILES": ["/tablet/", *(f"/tablet/{name}" for name in names if name != "index.html")]}
    for script in ("service-worker.js", "worker.js"):
        text = (WEB / script).read_text(encoding="utf-8")
        for name, value in values.items():
            text = text.replace(f"/*{name}*/", json.dumps(value))
        (BUILT / script).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
