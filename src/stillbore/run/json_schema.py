"""What a job leaves as JSON Schema 2020-12, for other programs: the event with every kind, the line of an exported log,
the verification, the comparison of two logs, the plan, the key list.

Events and reports are described by their own types; only what a type cannot say stands here. A whole number has no
decimal point: RFC 8785 writes 1.0 as 1. They are written by cli/json_schema.py, with those of the commands.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import get_args, get_origin, get_type_hints

from stillbore.display import DISPLAYS
from stillbore.job import json_schema as job_files
from stillbore.plan.export import FORMAT as PLAN_FORMAT
from stillbore.plan.side_by_side import FORMAT as SIDE_BY_SIDE
from stillbore.record import events as log
from stillbore.record.chain import FOOTER_FORMAT
from stillbore.record.compare import Comparison, Difference
from stillbore.record.verify import BROKEN, END_OPEN, PAGES_NOT_PROVEN, SIGNER_UNKNOWN, VERIFIED, Report
from stillbore.run.as_json import COMPARISON, VERIFICATION
from stillbore.run.question import Question
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

Json = dict[str, object]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
_SHA256: Json = {"type": "string", "pattern": f"^{log.HASH.pattern}$"}
_FILLED: Json = {"type": "string", "minLength": 1}
_COUNT: Json = {"type": "integer", "minimum": 0}
# RFC 3339, 5.6, with the ranges of its 5.7 that a pattern can hold; 30 February is the reader's to refuse.
_TIME = (r"^(?!0000)[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])[Tt ]([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
         r"(\.[0-9]+)?([Zz]|[+-]([01][0-9]|2[0-3]):[0-5][0-9])$")
_OFFSET = r"^(-?[0-9]{1,9}(\.[0-9]{1,6})?)?$"
_REFERENCE: Json = {"minLength": 1, "not": {"pattern": log.UNSEEN.pattern}}
_VERDICT: Json = {"enum": ["", MET, NOT_MET, NOT_PROVEN]}
# Of each type what its fields cannot say, by the field's name.
NARROWER: Mapping[type, Mapping[str, Json]] = {
    log.Event: {"job": _REFERENCE, "device": _REFERENCE, "person": _REFERENCE, "n": {"minimum": 0},
                "order": {"minimum": 0}, "at": {"pattern": _TIME}, "offset_s": {"pattern": _OFFSET},
                "paper_at": {"anyOf": [{"const": ""}, {"pattern": _TIME}]}},
    log.Value: {"how": {"enum": list(log.HOW)}},
    log.Answered: {"verdict": _VERDICT},
    log.Corrected: {"verdict": _VERDICT},
    log.Kept: {"sort": {"enum": list(log.EVIDENCE)}, "size": {"minimum": 0}},
    Report: {"state": {"enum": [VERIFIED, SIGNER_UNKNOWN, END_OPEN, PAGES_NOT_PROVEN, BROKEN]}},
}
# Of each type what two of its fields say together.
TOGETHER: Mapping[type, Json] = {
    log.Value: {"if": {"properties": {"how": {"const": "not measured"}}},
                "then": {"properties": {"number": {"const": ""}, "text": {"const": ""}, "reason": {"minLength": 1}}},
                "else": {"anyOf": [{"properties": {"number": {"minLength": 1}}},
                                   {"properties": {"text": {"minLength": 1}}}]}},
    log.Event: {"if": {"properties": {"n": {"const": 0}}}, "then": {"properties": {"prev": {"const": ""}}},
                "else": {"properties": {"prev": {"minLength": 1}}}},
}


def _about(made: type) -> Json:
    """The first paragraph of a type's docstring; of a dataclass without one, Python's own signature is left out."""
    text = (made.__doc__ or "").strip().partition("\n\n")[0]
    return {} if text.startswith(f"{made.__name__}(") or not text else {"description": " ".join(text.split())}


def _field(hint: object, shapes: dict[str, Json], longest: bool) -> Json:
    if hint is str:
        return {"type": "string", "maxLength": log.LONGEST_TEXT} if longest else {"type": "string"}
    if hint is int or hint is bool:
        return {"type": "integer" if hint is int else "boolean"}
    if get_origin(hint) is tuple:
        return {"type": "array", "items": _field(get_args(hint)[0], shapes, longest)}
    assert isinstance(hint, type)
    if hint.__name__ not in shapes:
        shapes[hint.__name__] = {}  # the place is taken, so that the order is that of need
        shapes[hint.__name__] = shape(hint, shapes, longest)
    return {"$ref": f"#/$defs/{hint.__name__}"}


def shape(made: type, shapes: dict[str, Json], longest: bool = False) -> Json:
    """The schema of a frozen type: every field wanted, none strange. Types within it go into ``shapes``. ``longest``:
    texts are no longer than an event's may be."""
    hints, narrower = get_type_hints(made), NARROWER.get(made, {})
    properties = {each.name: _field(hints[each.name], shapes, longest) | narrower.get(each.name, {})
                  for each in fields(made)}
    return _about(made) | _closed(properties) | TOGETHER.get(made, {})


def _closed(properties: Json, optional: tuple[str, ...] = ()) -> Json:
    return {"type": "object", "properties": properties, "required": [key for key in properties if key not in optional],
            "additionalProperties": False}


def _list(items: Json) -> Json:
    return {"type": "array", "items": items}


def _document(title: str, description: str, body: Json, shapes: Mapping[str, Json] | None = None) -> Json:
    found: Json = {"$schema": DIALECT, "title": title, "description": description} | body
    return found | ({"$defs": dict(shapes)} if shapes else {})


def event_schema() -> Json:
    """The event: the envelope, and the happening of every kind."""
    shapes: dict[str, Json] = {}
    kinds = [{"properties": {"kind": {"const": name}, "version": {"const": kind.VERSION},
                             "happening": _field(kind, shapes, True)}} for name, kind in log.KINDS.items()]
    hints = get_type_hints(log.Event)
    envelope: Json = {each.name: _field(hints[each.name], shapes, True) | NARROWER[log.Event].get(each.name, {})
                      for each in fields(log.Event) if each.name != "happening"}
    body = _closed({"format": {"const": log.FORMAT}, "kind": {"enum": list(log.KINDS)}, "version": {"type": "integer"},
                    **envelope, "happening": {"type": "object"}})
    return _document(log.FORMAT, "One event of a job's log. A date that no calendar has is the reader's to refuse.",
                     body | {"allOf": [TOGETHER[log.Event], {"anyOf": kinds}]}, shapes)


def line_schema() -> Json:
    """A line of an exported log: an event with its hash, or the footer."""
    shapes: dict[str, Json] = {}
    heads = _list(_field(log.Head, shapes, False))
    foot = _closed({"format": {"const": FOOTER_FORMAT}, "job": _FILLED, "count": {"type": "integer", "minimum": 1},
                    "heads": heads | {"minItems": 1}, "last": _SHA256, "all": _SHA256,
                    "at": {"type": "string", "pattern": _TIME}, "by": _FILLED})
    key, signature = ({"type": "string", "pattern": f"^[0-9a-f]{{{digits}}}$"} for digits in (64, 128))
    body: Json = {"anyOf": [_closed({"event": {"$ref": "event.schema.json"}, "hash": _SHA256}),
                            _closed({"footer": foot, "key": key, "signature": signature})]}
    return _document("stillbore log 1", "One line of an exported log (JSON Lines): an event with the SHA-256 of its "
                     "canonical form, or, as the last line, the footer. Whether hashes, chains and signatures hold "
                     "is told by: stillbore record verify.", body, shapes)


def verification_schema() -> Json:
    """What ``record verify`` found, as run.as_json writes it."""
    shapes: dict[str, Json] = {}
    found = shape(Report, shapes)
    properties = {"format": {"const": VERIFICATION}, "sentence": {"type": "string"},
                  **found["properties"], "asked": _list(_field(Question, shapes, False)),
                  "said": _list({"type": "string"})}  # type: ignore[dict-item]
    return _document(VERIFICATION, "What a stranger found out about a log, and the questions it raises. "
                     "Unchanged is not the same as true.", _closed(properties), shapes)


def comparison_schema() -> Json:
    """In what two logs differ."""
    shapes: dict[str, Json] = {}
    _field(Difference, shapes, False)
    found = shape(Comparison, shapes)
    properties = {"format": {"const": COMPARISON}, **found["properties"]}  # type: ignore[dict-item]
    return _document(COMPARISON, "In what two logs differ.", _closed(properties), shapes)


_TEXT: Json = {"type": "string"}


def _plan_shapes() -> dict[str, Json]:
    """What a plan and a comparison of plans are made of, by the key it stands under."""
    texts = _list(_TEXT)
    number: Json = {"type": ["number", "null"]}
    entry = _closed({"title": _TEXT, "value": number, "low": number, "high": number, "unit": _TEXT, "shown": _TEXT,
                     "text": _TEXT, "formula": _TEXT, "source": _TEXT, "how": _TEXT, "refusal": _TEXT, "inputs": texts})
    check = _closed({"section": _TEXT, "title": _TEXT, "verdict": _TEXT, "measured": {"$ref": "#/$defs/node"},
                     "wanted": _TEXT, "limit": {"$ref": "#/$defs/node"}, "margin": _TEXT, "text": _TEXT,
                     "if_not_met": _TEXT})
    finding = _closed({"section": _TEXT, "level": _TEXT, "what": _TEXT, "do": _TEXT,
                       "holds": _list({"type": "integer"})})
    kinds = [schema.name for schema in job_files.SCHEMAS]
    return {"inputs": _closed(dict.fromkeys(kinds, _closed({"name": _TEXT, "sha256": _SHA256}))), "result": _TEXT,
            "numbers": {"type": "object", "additionalProperties": entry}, "checks": _list(check),
            "findings": _list(finding), "open_holds": {"type": "object", "propertyNames": {"pattern": "^[0-9]+$"},
                                                       "additionalProperties": texts}}


def _node() -> dict[str, Json]:
    number: Json = {"type": ["number", "null"]}
    return {"node": _closed({"name": _TEXT, "value": number, "low": number, "high": number, "unit": _TEXT})}


def plan_schema() -> Json:
    """The plan, as plan.export writes it."""
    shapes = _plan_shapes()
    step = _closed({"id": _TEXT, "card": _TEXT, "action": _TEXT, "must_be_true": _TEXT, "stop_if": _TEXT,
                    "hold": {"type": ["integer", "null"]}, "two_people": {"type": "boolean"}, "shows": _list(_TEXT),
                    "barriers": {"type": "integer", "minimum": -1}, "weakest_way": _list(_TEXT)})
    body = _closed({"format": {"const": PLAN_FORMAT}, "program": _TEXT, "plan": _SHA256, "inputs": shapes["inputs"],
                    "units": {"enum": list(DISPLAYS)}, "result": _TEXT, "size": _TEXT,
                    "tubes": _list(_closed({"key": _TEXT, "title": _TEXT})),
                    **{key: shapes[key] for key in ("numbers", "checks", "findings", "open_holds")},
                    "steps": _list(step)})
    return _document(PLAN_FORMAT, "A plan. Numbers are SI; text is as shown. A number that is not known is null: "
                     "reckon with the worst.", body, _node())


def side_by_side_schema() -> Json:
    """Plans side by side, as plan.side_by_side writes them."""
    case = _closed({**dict.fromkeys(("name", "place", "asset", "route"), _TEXT), **_plan_shapes(),
                    "new_pipes": {"type": "object", "additionalProperties": _TEXT}})
    body = _closed({"format": {"const": SIDE_BY_SIDE}, "units": {"enum": list(DISPLAYS)},
                    "cases": _list(case) | {"minItems": 1}})
    return _document(SIDE_BY_SIDE, "Plans side by side. Each case says what its own plan says, cut down to what is "
                     "compared; its route may be supposed, and not be the survey's.", body, _node())


def keys_schema() -> Json:
    """The key list: TOML, read as JSON."""
    key = _closed({"id": {"type": "string"}, "kind": {"enum": ["person", "device"]}, "public": _SHA256})
    return _document("stillbore keys 1", "Whose key is whose. The file is TOML, read as JSON. Two entries for one key, "
                     "or two keys for one person, are the reader's to refuse.",
                     _closed({"format": {"const": "stillbore keys 1"}, "key": _list(key)}, optional=("key",)))


SCHEMAS = {"event": event_schema, "line": line_schema, "verification": verification_schema,
           "comparison": comparison_schema, "plan": plan_schema, "side_by_side": side_by_side_schema,
           "keys": keys_schema}


def text_of(name: str) -> str:
    """A schema as it is committed."""
    return json.dumps(SCHEMAS[name](), indent=1, ensure_ascii=False) + "\n"


def write(folder: Path) -> list[Path]:
    """Write every schema into a folder, those of the job's files too; returns the files."""
    files = job_files.write(folder)
    for name in SCHEMAS:
        files.append(folder / f"{name}.schema.json")
        files[-1].write_text(text_of(name), encoding="utf-8")
    return files
