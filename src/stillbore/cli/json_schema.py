"""What each command prints with --json, as JSON Schema 2020-12; and the way to write every schema of docs/schemas/.

    python -m stillbore.cli.json_schema docs/schemas

The shapes of files and of the log have schemas of their own (job/json_schema.py, run/json_schema.py); here stand only
those that a command alone knows. A key that is not named is refused: a shape that grows changes its schema too.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path

from stillbore.gauge.letby import VENT_LOOKS
from stillbore.gauge.watch import ALARM, HINT, PHASE, VERDICT
from stillbore.published import Case, Reference
from stillbore.run import json_schema as of_the_log
from stillbore.run.basis import Ask
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

Json = dict[str, object]
TEXT: Json = {"type": "string"}
TEXTS: Json = {"type": "array", "items": TEXT}
FLAG: Json = {"type": "boolean"}
NUMBER: Json = {"type": "number"}
SHARE: Json = {"type": "number", "minimum": 0, "maximum": 1}
COUNT: Json = {"type": "integer", "minimum": 0}
SECONDS: Json = {"type": ["number", "null"]}
WORDS_OF_A_VERDICT: Json = {"enum": [MET, NOT_MET, NOT_PROVEN]}
HASH: Json = {"type": "string", "pattern": "^[0-9a-f]{64}$"}


def closed(optional: tuple[str, ...] = (), /, **properties: Json) -> Json:
    """An object with these keys and no other."""
    return {"type": "object", "properties": properties, "required": [key for key in properties if key not in optional],
            "additionalProperties": False}


def many(items: Json) -> Json:
    return {"type": "array", "items": items}


def or_null(shape: Json) -> Json:
    return {"anyOf": [shape, {"type": "null"}]}


def table_of(items: Json) -> Json:
    """An object with any keys, each with such a value."""
    return {"type": "object", "additionalProperties": items}


RATE = or_null(closed(best=NUMBER, low=NUMBER, high=NUMBER))
FILE_AND_VERDICT: Mapping[str, Json] = {"file": TEXT, "verdict": WORDS_OF_A_VERDICT}


def hold() -> Json:
    return closed(**FILE_AND_VERDICT, decided_at_s=SECONDS, rate_m3_per_h=RATE, limit_m3_per_h=NUMBER,
                  began_at_s=SECONDS, readings_used=COUNT, findings=TEXTS)


def letby() -> Json:
    return closed(**FILE_AND_VERDICT, rate_m3_per_h=or_null(closed(best=NUMBER, high=NUMBER)), limit_m3_per_h=NUMBER,
                  counts_up_to_mbar=NUMBER, counts_until_s=SECONDS, vent={"enum": [*VENT_LOOKS, None]}, findings=TEXTS)


def read() -> Json:
    judged = closed(start_s=NUMBER, verdict=WORDS_OF_A_VERDICT, decided_at_s=SECONDS, rate_m3_per_h=RATE,
                    limit_m3_per_h=NUMBER, findings=TEXTS)
    unjudged = closed(start_s=NUMBER, verdict={"type": "null"})
    found = closed(at_s=NUMBER, kind=TEXT, verdict=TEXT, took_s=SECONDS, settled_mbar=SECONDS, findings=TEXTS)
    watch = closed(start_s=NUMBER, before_venting=FLAG, verdict=TEXT,
                   rate_m3_per_h=or_null(closed(best=NUMBER, upper=NUMBER)), counts_until_s=SECONDS, findings=TEXTS)
    return closed(file=TEXT, segments=many(closed(label=TEXT, start_s=NUMBER, end_s=NUMBER, seen=FLAG)),
                  holds=many({"anyOf": [judged, unjudged]}), break_throughs=many(found), watches=many(watch),
                  findings=TEXTS)


def watch() -> Json:
    return closed(at_s=NUMBER, kind={"enum": [ALARM, VERDICT, PHASE, HINT]}, words=TEXT)


def locate() -> Json:
    move = closed(move={"enum": ["hold", "fluid", "repair"]}, what=TEXT, expected_s=NUMBER)
    return closed(suspicion=many(closed(joint=TEXT, probability=SHARE)), nothing_leaks=SHARE, done=FLAG,
                  next=or_null(move), expected_total_s=NUMBER, advice={"type": ["string", "null"]})


def run_show() -> Json:
    done = closed(at=TEXT, people=TEXTS, stands=FLAG, reopened=TEXT)
    answer = closed(value=TEXT, verdict=TEXT, limit=TEXT, person=TEXT, at=TEXT)
    step = closed(step=TEXT, card=TEXT, hold={"type": ["integer", "null"]}, action=TEXT, asks=TEXTS, evidence=TEXTS,
                  signers=COUNT, against=TEXTS)
    return closed(job=TEXT, plan=HASH, barriers={"type": "integer", "minimum": -1}, weakest_way=TEXTS, here=TEXTS,
                  monitor=TEXT, stopped=TEXT, ended=TEXT, replayed=FLAG, training=FLAG, refused=COUNT,
                  done=table_of(done), answers=table_of(answer), next=or_null(step), events=COUNT, last=HASH)


def procedure_show() -> Json:
    asks: Json = {"type": "object", "required": [each.name for each in fields(Ask)]}
    step: Json = {"type": "object", "properties": {
        "id": TEXT, "card": TEXT, "action": TEXT, "hold": COUNT, "signers": COUNT, "must_be_true": TEXT,
        "evidence": TEXTS, "asks": many(asks), "barriers": {"type": "integer", "minimum": -1}, "way": TEXTS,
        "windows": many(closed(end=TEXT, held_by=TEXTS))},
        "required": ["id", "card", "action", "hold", "signers", "must_be_true", "evidence", "asks", "barriers", "way",
                     "windows"]}
    return closed(name=TEXT, edition=TEXT, statement=TEXT, sha256=HASH, steps=many(step))


def explain() -> Json:
    number: Json = {"type": ["number", "null"]}
    node = {"name": TEXT, "value": number, "low": number, "high": number, "unit": TEXT}
    fact = closed(**node, how=TEXT, origin=TEXT, text=TEXT, by=TEXT, when=TEXT, instrument=TEXT, source=TEXT)
    derived = closed(**node, formula=TEXT, sources=TEXTS, refusal=TEXT, end=TEXT,
                     inputs=table_of({"$ref": "#/$defs/node"}))
    share = closed(fact=TEXT, origin=TEXT, narrower_by=NUMBER, moves_by=number)
    return closed(name=TEXT, title=TEXT, tree={"$ref": "#/$defs/node"}, narrowing=many(share)) | {
        "$defs": {"node": {"anyOf": [fact, derived]}}}


def calc() -> Json:
    """A formula called, described, or all of them listed."""
    about = {"name": TEXT, "formula": TEXT, "source": table_of(TEXT), "checked_against": TEXTS}
    value = closed(value=NUMBER, unit=TEXT)
    called = closed(("basis", "results"), value=NUMBER, unit=TEXT, basis=TEXT, symbol=TEXT, about=TEXT, **about,
                    results=table_of(value))
    described = closed(**about, summary=TEXT, arguments=many(closed(name=TEXT, about=TEXT, unit=TEXT, write_in=TEXT)),
                       results=many(closed(symbol=TEXT, about=TEXT, unit=TEXT)))
    return {"anyOf": [called, described, many(closed(name=TEXT, summary=TEXT, unit=TEXT))]}


def tables() -> Json:
    """One table, or the list of them."""
    whole = closed(name=TEXT, title=TEXT, status=TEXT, notes=TEXT, source=table_of(TEXT), columns=many(
        closed(name=TEXT, unit=TEXT)), rows=many(TEXTS), checksum=TEXT)
    return {"anyOf": [whole, many(closed(name=TEXT, title=TEXT, source=TEXT))]}


def published() -> Json:
    case = dict.fromkeys((each.name for each in fields(Case)), TEXT) | {"given": table_of(TEXT), "widen": NUMBER}
    return closed(cases=many(closed(**case, ours=NUMBER, agrees=FLAG)),
                  references=many(closed(**dict.fromkeys((each.name for each in fields(Reference)), TEXT))),
                  gaps=table_of(TEXTS))


# By the file's name: the command that prints it, its shape.
PRINTED: Mapping[str, tuple[str, Callable[[], Json]]] = {
    "gauge_hold": ("stillbore gauge hold --json", hold), "gauge_letby": ("stillbore gauge letby --json", letby),
    "gauge_read": ("stillbore gauge read --json", read), "gauge_watch": ("stillbore gauge watch --json", watch),
    "locate": ("stillbore locate --json", locate), "run_show": ("stillbore run show --json", run_show),
    "procedure_show": ("stillbore procedure show --json", procedure_show),
    "explain": ("stillbore explain --json", explain), "calc": ("stillbore calc --json", calc),
    "tables": ("stillbore tables --json", tables), "published": ("stillbore published --json", published)}


def schema(name: str) -> Json:
    """The schema of what a command prints, by the name of its file."""
    command, shape = PRINTED[name]
    return {"$schema": of_the_log.DIALECT, "title": command, "description": f"What '{command}' prints. "
            "Gauge commands print one such object for each log, each on lines of its own."} | shape()


def text_of(name: str) -> str:
    """A schema as it is committed."""
    return json.dumps(schema(name), indent=1, ensure_ascii=False) + "\n"


def write(folder: Path) -> list[Path]:
    """Write every schema into a folder; returns the files."""
    files = of_the_log.write(folder)
    for name in PRINTED:
        files.append(folder / f"{name}.schema.json")
        files[-1].write_text(text_of(name), encoding="utf-8")
    return files


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("python -m stillbore.cli.json_schema FOLDER")
    for written in write(Path(sys.argv[1])):
        print(written)
