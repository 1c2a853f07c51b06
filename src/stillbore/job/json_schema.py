"""The file formats as JSON Schema 2020-12, for editors and other programs, made from the same data as the loader.

A TOML file is read as JSON with its dates as ISO text. What JSON Schema cannot say of text the loader says: a range
that runs backwards, a number out of bounds, mole fractions that do not add up. The schema refuses nothing that is
written as the loader's own examples are.

    python -m stillbore.job.json_schema docs/schemas
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import DIFFERENCE, PROVENANCE, WRITTEN_HOW, Field, Schema, Section
from stillbore.job.survey import SURVEY
from stillbore.units import COMPONENTS, UNITS, UNKNOWN, written_units

SCHEMAS = (SURVEY, KIT, RULES, PROCEDURE)
Json = dict[str, object]

_NUMBER = r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?"
_DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_TIME = rf"^{_DAY}[T ][0-9]{{2}}:[0-9]{{2}}:[0-9]{{2}}(\.[0-9]+)?(Z|[+-][0-9]{{2}}:[0-9]{{2}})$"
_NOT_BLANK: Json = {"type": "string", "pattern": r"\S"}


def _any_of(words: tuple[str, ...] | list[str]) -> str:
    """An alternation of words as they are, in the syntax that Python and ECMAScript share."""
    return "|".join(re.sub(r"([\\^$.*+?()\[\]{}|/])", r"\\\1", word) for word in sorted(words, key=len, reverse=True))


def _quantity(unit: str, exact: bool = False) -> Json:
    """Text of a quantity: a number, a range or a number with its uncertainty, and one of the units for it."""
    units = [name for name in UNITS[unit] if name]
    need = "?" if "" in UNITS[unit] else ""
    spread = "" if exact else rf"((\.\.|\+/-|±)\s*{_NUMBER}\s*)?"
    return {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*{spread}({_any_of(units)}){need}\s*$" if units
            else rf"^\s*{_NUMBER}\s*{spread}$"}


def _composition() -> Json:
    part = rf"\s*({_any_of(COMPONENTS)})[ =]\s*{_NUMBER}\s*(%|-)?\s*"
    return {"type": "string", "pattern": rf"^{part}(,{part})*,?\s*$"}


def _provenance() -> dict[str, Json]:
    known: dict[str, Json] = {key: {"type": "string"} for key in PROVENANCE}
    known["how"] = {"enum": list(WRITTEN_HOW)}
    known["when"] = {"type": "string", "description": "a time, in TOML without quotes"}
    return known


def _name(entry: Field) -> str:
    """The name under which the shape of a fact stands in ``$defs``."""
    unit = "number" if entry.unit == "-" else re.sub(r"\W+", "_", entry.unit)
    return f"fact_{unit}_or_unknown" if entry.may_be_unknown else f"fact_{unit}"


def _fact(entry: Field) -> Json:
    """A fact: text, or a table with one value or a list of readings. Bounds and order are the loader's."""
    text = _composition() if entry.kind == "composition" else _quantity(entry.unit)
    value: Json = {"anyOf": [{"const": UNKNOWN}, text]} if entry.may_be_unknown else text
    details: Json = {"value": value} | _provenance()
    one_of: list[Json] = [{"required": ["value"]}]
    if entry.kind == "fact":
        details["readings"] = {"type": "array", "minItems": 1, "items": text}
        details["uncertainty"] = _quantity(DIFFERENCE.get(entry.unit, entry.unit), exact=True)
        one_of.append({"required": ["readings"]})
    return {"anyOf": [value, {"type": "object", "properties": details, "additionalProperties": False,
                              "oneOf": one_of}]}


def _plain(entry: Field) -> Json:
    kinds: dict[str, Json] = {
        "text": _NOT_BLANK, "choice": {"enum": list(entry.choices)}, "flag": {"type": "boolean"},
        "count": {"type": "integer", "minimum": 0}, "texts": {"type": "array", "items": _NOT_BLANK},
        "date": {"type": "string", "format": "date", "pattern": f"^{_DAY}$"},
        "time": {"type": "string", "format": "date-time", "pattern": _TIME},
    }
    if entry.may_be_unknown and UNKNOWN not in entry.choices:
        return {"anyOf": [{"const": UNKNOWN}, kinds[entry.kind]]}
    return kinds[entry.kind]


def _is_fact(entry: Field) -> bool:
    return entry.kind in ("fact", "composition")


def _each_fact(section: Section, says: str) -> Json:
    """Every fact of a section that is there says this much itself."""
    return {"properties": {entry.key: {"$ref": f"#/$defs/{says}"} for entry in section.fields if _is_fact(entry)}}


def _says() -> dict[str, Json]:
    """What a fact may have to say itself, where its section does not say it."""
    unknown: list[Json] = [{"const": UNKNOWN}, {"type": "object", "properties": {"value": {"const": UNKNOWN}},
                                               "required": ["value"]}]
    not_measured: Json = {"properties": {"how": {"enum": [how for how in WRITTEN_HOW if how != "measured"]}}}
    found: dict[str, Json] = {
        "says_source": {"type": "object", "required": ["source"]},
        "says_how": {"anyOf": [*unknown, {"type": "object", "required": ["how"]}]},
    }
    for key in ("by", "when"):
        has: Json = {"type": "object", "required": [key], "properties": {key: {"pattern": "."}}}
        found[f"says_{key}"] = {"anyOf": [*unknown, has, {"type": "object", "required": ["how"]} | not_measured]}
        found[f"says_{key}_if_measured"] = {"anyOf": [{"type": "string"}, has, {"type": "object"} | not_measured]}
    return found


def _said_once(section: Section) -> list[Json]:
    """What a fact does not say its section says once: how it is known; of a measured one, by whom and when."""
    if section.how == "rule":
        return [{"anyOf": [{"required": ["source"]}, _each_fact(section, "says_source")]}]
    if section.how:
        return []
    measured: Json = {"required": ["how"], "properties": {"how": {"const": "measured"}}}
    rules: list[Json] = [{"anyOf": [{"required": ["how"]}, _each_fact(section, "says_how")]}]
    rules += [{"anyOf": [{"required": [key], "properties": {key: {"pattern": "."}}},
                         _each_fact(section, f"says_{key}"),
                         {"not": measured} | _each_fact(section, f"says_{key}_if_measured")]}
              for key in ("by", "when")]
    return rules


def _section(section: Section) -> Json:
    has_facts = any(_is_fact(entry) for entry in section.fields)
    properties: dict[str, Json] = {key: value for key, value in _provenance().items() if has_facts}
    for entry in section.fields:
        note = f"{entry.about}; in {written_units(entry.unit)}" if entry.kind == "fact" else entry.about
        properties[entry.key] = {"description": note} | ({"$ref": f"#/$defs/{_name(entry)}"} if _is_fact(entry)
                                                         else _plain(entry))
    table: Json = {"type": "object", "properties": properties, "additionalProperties": False,
                   "required": [entry.key for entry in section.fields if not entry.optional]}
    rules = _said_once(section) if has_facts else []
    if rules:
        table["allOf"] = rules
    if not section.many:
        return {"description": section.about} | table
    return {"description": section.about, "type": "array", "minItems": section.least_rows, "items": table}


def json_schema(schema: Schema) -> Json:
    """The JSON Schema of a file format."""
    must = [section.key for section in schema.sections
            if (section.least_rows > 0 if section.many else not all(entry.optional for entry in section.fields))]
    shapes = {_name(entry): _fact(entry) for section in schema.sections for entry in section.fields
              if _is_fact(entry)}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": schema.format,
        "description": f"{schema.about} The file is TOML, read as JSON with its dates as ISO text. Ranges written "
                       "backwards, numbers out of bounds and mole fractions that do not add up are the loader's to "
                       "refuse.",
        "type": "object",
        "properties": {"format": {"const": schema.format}}
        | {section.key: _section(section) for section in schema.sections},
        "required": ["format", *must],
        "additionalProperties": False,
        "$defs": shapes | _says() if shapes else {},
    }


def text_of(schema: Schema) -> str:
    """The schema as it is committed."""
    return json.dumps(json_schema(schema), indent=1, ensure_ascii=False) + "\n"


def write(folder: Path) -> list[Path]:
    """Write every schema into a folder; returns the files."""
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for schema in SCHEMAS:
        files.append(folder / f"{schema.name}.schema.json")
        files[-1].write_text(text_of(schema), encoding="utf-8")
    return files


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("python -m stillbore.job.json_schema FOLDER")
    for written in write(Path(sys.argv[1])):
        print(written)
