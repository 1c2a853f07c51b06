"""The text of a job file from plain data: what a form was filled in with, as a file that the loader reads."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime

from stillbore.job.schema import Schema


def toml_text(schema: Schema, data: Mapping[str, object]) -> str:
    """The file: its format, then the sections in the schema's order. ``data``: for each section a mapping, or a list of
    mappings; values are text, numbers, flags, dates, lists, and facts as mappings. What is None or empty is left out:
    a blank is no value, and the loader says what is missing."""
    lines = [f'format = "{schema.format}"']
    for section in schema.sections:
        given = data.get(section.key)
        rows = given if isinstance(given, list) else [given]
        for row in rows:
            if isinstance(row, Mapping) and (row or section.many):
                lines += ["", f"[[{section.key}]]" if section.many else f"[{section.key}]"]
                lines += [f"{_key(key)} = {_value(value)}" for key, value in row.items() if not _blank(value)]
    return "\n".join(lines) + "\n"


def _blank(value: object) -> bool:
    return value is None or value == "" or value == {}


def _key(key: str) -> str:
    return key if key.replace("_", "a").replace("-", "a").isalnum() and key.isascii() else _text(key)


def _text(value: str) -> str:
    """A basic string: JSON's escapes are TOML's; what JSON leaves bare and TOML forbids is written by its number."""
    written = json.dumps(value.encode("utf-8", "replace").decode(), ensure_ascii=False)
    return written.replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items() if not _blank(each))
        return f"{{ {inside} }}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(_value, value))}]"
    return str(value) if isinstance(value, (int, float)) else _text(str(value))
