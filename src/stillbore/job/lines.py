"""Where each key of a TOML file stands, so that a fault can name its line (tomllib does not keep them)."""

from __future__ import annotations

import re

_NAME = r"""(?:[\w-]+|"[^"]*"|'[^']*')"""
_PATH = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER = re.compile(rf"^\s*(\[\[?)\s*({_PATH})\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(rf"^\s*({_PATH})\s*=")
# What changes the state of the scan: a string from end to end, the start of one that goes on, a comment, a bracket.
_TOKEN = re.compile(r'''"{3}|\'{3}|"(?:\\.|[^"\\])*"|'[^']*'|#|[\[{]|[\]}]''')


def key_lines(text: str) -> dict[str, int]:
    """Line number (from 1) of every table header and key, by dotted path; the second ``[[saw]]`` is ``saw[1]``.

    A scanner, not a parser: the file has been parsed by tomllib first. It skips what stands inside multi-line
    strings and brackets that are still open.
    """
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    prefix = ""
    open_string, depth = "", 0
    for number, line in enumerate(text.split("\n"), 1):
        if depth == 0 and not open_string:
            header = _HEADER.match(line)
            if header:
                prefix = _indexed(_unquote(header[2]), counts, header[1] == "[[")
                lines[prefix] = number
                continue
            key = _KEY.match(line)
            if key:
                path = _unquote(key[1])
                lines[f"{prefix}.{path}" if prefix else path] = number
                line = line[key.end():]
        open_string, depth = _after(line, open_string, depth)
    return lines


def _indexed(path: str, counts: dict[str, int], again: bool) -> str:
    """The path of a header with the row of every array of tables it lies in; ``again`` starts a new row."""
    parts = path.split(".")
    built = ""
    for place, part in enumerate(parts):
        built = f"{built}.{part}" if built else part
        if again and place == len(parts) - 1:
            counts[built] = counts.get(built, -1) + 1
        if built in counts:
            built = f"{built}[{counts[built]}]"
    return built


def _after(line: str, open_string: str, depth: int) -> tuple[str, int]:
    """The multi-line string that is open after a line, and how many brackets are."""
    at = 0
    while True:
        if open_string:
            end = re.compile(r'(?:\\.|[^\\])*?"{3,5}' if open_string == '"""' else r".*?'{3,5}").match(line, at)
            if end is None:
                return open_string, depth
            open_string, at = "", end.end()
        token = _TOKEN.search(line, at)
        if token is None or token[0] == "#":
            return "", depth
        at = token.end()
        if token[0] in ('"""', "'''"):
            open_string = token[0]
        elif token[0] in "[{":
            depth += 1
        elif token[0] in "]}":
            depth -= 1


def _unquote(path: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in path.split("."))
