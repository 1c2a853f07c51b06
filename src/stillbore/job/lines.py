"""Where each key of a TOML file stands, so that a fault can name its line (tomllib does not keep them)."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")


def key_lines(text: str) -> dict[str, int]:
    """Line number (from 1) of every table header and key, by dotted path; the second ``[[saw]]`` is ``saw[1]``.

    A scanner, not a parser: the file has been parsed by tomllib first. It skips what stands inside multi-line
    strings and brackets that are still open.
    """
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    prefix = ""
    open_string = ""
    depth = 0
    for number, line in enumerate(text.splitlines(), 1):
        if open_string:
            if open_string in line:
                open_string = ""
            continue
        if depth == 0:
            header = _HEADER.match(line)
            if header:
                prefix = _unquote(header[2])
                if header[1] == "[[":
                    index = counts.get(prefix, 0)
                    counts[prefix] = index + 1
                    prefix = f"{prefix}[{index}]"
                lines[prefix] = number
                continue
            key = _KEY.match(line)
            if key:
                path = _unquote(key[1])
                lines[f"{prefix}.{path}" if prefix else path] = number
        bare = re.sub(r'"(?:\\.|[^"\\])*"|\'[^\']*\'', '""', line) if '"""' not in line and "'''" not in line else line
        for quotes in ('"""', "'''"):
            if line.count(quotes) % 2:
                open_string = quotes
        bare = bare.split("#")[0]
        depth += bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")
    return lines


def _unquote(path: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in path.split("."))
