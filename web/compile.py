"""Run in the browser's interpreter, under Node: /in.zip to /out.zip, sources to byte code that stands in their place.

Nothing is compressed in the zip: it is compressed on its way, and read often. A file is kept as source where it reads
its own source (anyio's lazy importer), or does not compile.
"""

import importlib.util
import marshal
import zipfile

# Of the standard library: what no part of the app comes to.
LEFT_OUT = ("_pyrepl/", "unittest/", "xmlrpc/", "wsgiref/", "pydoc", "doctest.py", "pdb.py", "bdb.py", "imaplib.py",
            "smtplib.py", "mailbox.py", "ftplib.py", "poplib.py", "optparse.py", "pickletools.py", "_pyio.py",
            "turtle", "tkinter/", "idlelib/", "lib2to3/", "ensurepip/", "venv/", "curses/", "dbm/", "profiling/",
            "cProfile.py", "profile.py", "pstats.py", "trace.py", "tabnanny.py", "pyclbr.py", "webbrowser.py",
            "multiprocessing/", "xml/dom/", "antigravity.py", "this.py", "rlcompleter.py", "tarfile.py",
            "_pydecimal.py", "modulefinder.py", "nntplib.py", "telnetlib.py", "plistlib.py", "cgi", "sqlite3/__main__")
# Text of the far east by tables: only UTF-8, ASCII, Latin-1 and what zip files and hosts need are met here.
ENCODINGS = ("__init__", "aliases", "utf_8", "utf_8_sig", "ascii", "latin_1", "cp437", "idna", "punycode", "utf_16",
             "utf_16_le", "utf_16_be", "cp1252", "charmap", "raw_unicode_escape", "unicode_escape", "hex_codec",
             "base64_codec", "iso8859_1")


def wanted(name):
    if name.startswith("encodings/"):
        return name.removeprefix("encodings/").removesuffix(".py") in ENCODINGS
    return not name.endswith("/") and not name.startswith(LEFT_OUT)


def compiled(name, data):
    if not name.endswith(".py") or b"install_lazy_importer" in data:
        return name, data
    try:
        code = compile(data, name, "exec", dont_inherit=True, optimize=0)
    except SyntaxError:
        return name, data
    # Byte code without a check of its source (PEP 552, flags 0b01): there is none beside it.
    front = importlib.util.MAGIC_NUMBER + (1).to_bytes(4, "little") + bytes(8)
    return name + "c", front + marshal.dumps(code)


with zipfile.ZipFile("/in.zip") as source, zipfile.ZipFile("/out.zip", "w") as out:
    for name in sorted(source.namelist()):
        if wanted(name):
            new, data = compiled(name, source.read(name))
            out.writestr(zipfile.ZipInfo(new), data)
