"""A document as PDF/A-3b by typst: one fixed template, the document as data, other files embedded.

The same document and attachments always give the same bytes: the date is the document's, system fonts are left aside.
"""

from __future__ import annotations

import importlib.util
import json
import re
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

from stillbore.errors import StillboreError
from stillbore.report.document import Document, code_point, data, plain
from stillbore.units import UNITS

SANS = "Source Sans Pro"
SANS_PACKAGE = "font_source_sans_pro"
EMBEDDED_SERIF, EMBEDDED_MONO = "Libertinus Serif", "DejaVu Sans Mono"  # in typst itself; the mono has the most signs

# What an attachment is to the document, its type, and what a reader is told, by the ending of its name.
KINDS = {
    ".toml": ("source", "application/toml", "A file the plan was made from, as it was read"),
    ".json": ("data", "application/json", "The plan as data"),
    ".jsonl": ("source", "application/jsonl", "The log of the job, sealed event by event"),
    ".csv": ("source", "text/csv", "A log of readings, as it was kept"),
    ".png": ("supplement", "image/png", "A picture, as it was kept"),
    ".jpg": ("supplement", "image/jpeg", "A picture, as it was kept"),
    ".jpeg": ("supplement", "image/jpeg", "A picture, as it was kept"),
}
OTHER = ("supplement", "application/octet-stream", "A file that belongs to the document")

# Prints every letter of a text on its own, so that an error names each that no font has.
LETTERS = b"""#let options = json("options.json")
#set text(font: options.fonts)
#for letter in options.letters.codepoints() [#letter ]
"""

LONGEST_WORD = 32
ZERO_WIDTH_SPACE = "\u200b"
UNBROKEN = re.compile(r"[0-9a-f]{64}|[a-z0-9_]+(?:\.[a-z0-9_]+)+")  # a hash; a number's name, which people copy

# A number and the unit after it, which stay on one line: "0.684" at the end of a line would be a pure number.
WITH_UNIT = re.compile(r"(?<=[\d)]) (?=(?:" + "|".join(sorted(
    {re.escape(unit) for units in UNITS.values() for unit in units if unit}, key=len, reverse=True)) + r")(?![\w/]))")


def _breakable(match: re.Match[str]) -> str:
    """A word too long for a column, with places at which the line may be broken."""
    word = match[0]
    if len(word) <= 2 * LONGEST_WORD and UNBROKEN.fullmatch(word):
        return word
    return ZERO_WIDTH_SPACE.join(word[at:at + LONGEST_WORD] for at in range(0, len(word), LONGEST_WORD))


def _printable(value: object, unknown: frozenset[str], key: str = "") -> object:
    """The document's data with every text, in the drawings too, made fit to print."""
    if isinstance(value, dict):
        return {name: _printable(item, unknown, name) for name, item in value.items()}
    if isinstance(value, list):
        return [_printable(item, unknown) for item in value]
    if not isinstance(value, str):
        return value
    shown = "".join(code_point(letter) if letter in unknown else letter for letter in plain(value))
    if key == "svg":
        return shown
    return re.sub(rf"\S{{{LONGEST_WORD + 1},}}", _breakable, WITH_UNIT.sub("\u00a0", shown))


def _fonts() -> tuple[list[str], list[Path]]:
    """Font families in order of preference, and the folders they are in."""
    found = importlib.util.find_spec(SANS_PACKAGE)
    if found is None or found.origin is None:
        return [EMBEDDED_SERIF, EMBEDDED_MONO], []
    return [SANS, EMBEDDED_MONO], [Path(found.origin).parent / "files"]


def _options(document: Document, families: list[str], attachments: Mapping[str, bytes]) -> dict[str, object]:
    date = document.date
    attached = []
    for index, name in enumerate(attachments):
        relationship, kind, description = KINDS.get(Path(name).suffix.lower(), OTHER)
        attached.append({"name": name, "path": f"attachments/{index}", "relationship": relationship, "type": kind,
                         "description": description})
    return {"fonts": families, "attachments": attached, "year": date.year, "month": date.month, "day": date.day,
            "hour": date.hour, "minute": date.minute}


def to_pdf(document: Document, attachments: Mapping[str, bytes]) -> bytes:
    """The document as PDF/A-3b with the attachments, by name, embedded byte for byte.

    A character that no font at hand can print is printed by its number, as '[U+4E2D]'.
    Raises StillboreError where typst is not installed.
    """
    try:
        import typst
    except ImportError:
        raise StillboreError("The PDF cannot be made: the package typst is not installed.",
                             "Install it with: pip install 'stillbore[documents]'; or ask for HTML.") from None
    families, folders = _fonts()

    def compiled(inputs: dict[str, bytes]) -> bytes:
        with TemporaryDirectory() as name:  # what is handed over in memory has to be UTF-8, and a photo is not
            root = Path(name)
            for place, content in inputs.items():
                (root / place).parent.mkdir(exist_ok=True)
                (root / place).write_bytes(content)
            return typst.compile(root / "main.typ", root=root, format="pdf", pdf_standards="a-3b",
                                 ignore_system_fonts=True, font_paths=folders,
                                 timestamp=int(document.date.timestamp()))

    written = data(document)
    missing: set[str] = set()
    try:  # the letters alone first: to lay the whole document out twice would take long
        letters = "".join(sorted(letter for letter in set(json.dumps(written, ensure_ascii=False)) if letter > "~"))
        compiled({"main.typ": LETTERS, "options.json": json.dumps({"fonts": families, "letters": letters}).encode()})
    except typst.TypstError as error:
        missing = set("".join(re.findall(r"the text `\"(.*?)\"` could not be displayed", error.diagnostic)))
    inputs = {f"attachments/{index}": content for index, content in enumerate(attachments.values())}
    inputs["main.typ"] = files("stillbore.report").joinpath("template.typ").read_bytes()
    inputs["options.json"] = json.dumps(_options(document, families, attachments)).encode()
    inputs["document.json"] = json.dumps(_printable(written, frozenset(missing))).encode()
    return compiled(inputs)
