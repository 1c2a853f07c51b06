"""The published schemas of what a job leaves: committed as generated; and what reader and schema say of one document is
the same, for events of every kind made from their types, and for those events spoilt in one place.

The judge beside the reader is jsonschema, an independent implementation of JSON Schema 2020-12."""

import copy
import json
import tomllib
from dataclasses import fields
from datetime import UTC, timedelta, timezone
from pathlib import Path
from typing import get_args, get_origin, get_type_hints

import jsonschema
import pytest
import referencing
from hypothesis import given, settings
from hypothesis import strategies as st

from stillbore.display import US
from stillbore.errors import InputFaults, StillboreError
from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.plan.export import plan_json
from stillbore.plan.side_by_side import side_by_side, side_by_side_json
from stillbore.record import events as log
from stillbore.record.chain import export, footer_message, seal_line
from stillbore.record.compare import compare
from stillbore.record.plain import from_data, to_data
from stillbore.record.verify import known_key, verify
from stillbore.run.as_json import comparison_json, verification_json
from stillbore.run.json_schema import SCHEMAS, text_of
from stillbore.run.question import Question
from stillbore.store.keys import Secret, check, key_entry, load_keys
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

COMMITTED = Path(__file__).parents[2] / "docs" / "schemas"
EXAMPLES = Path(__file__).parents[2] / "src" / "stillbore" / "examples"
REGISTRY = referencing.Registry().with_resource(
    "event.schema.json", referencing.Resource.from_contents(SCHEMAS["event"]()))


def validator(name):
    return jsonschema.Draft202012Validator(SCHEMAS[name](), registry=REGISTRY)


EVENT, LINE = validator("event"), validator("line")

# Events as their types say they can be

TEXT = st.text(max_size=8)
FILLED = st.text(min_size=1, max_size=8)
REFERENCES = FILLED.filter(lambda text: log.UNSEEN.search(text) is None)
ZONES = st.sampled_from([UTC, timezone(timedelta(hours=5, minutes=30)), timezone(-timedelta(hours=3))])
OFFSETS = st.sampled_from(["", "0.000", "-7200.5", "12"])
TIMES = st.datetimes(timezones=ZONES).map(lambda at: at.isoformat())
VALUES = st.one_of(
    st.builds(log.Value, number=FILLED, uncertainty=TEXT, unit=TEXT, text=TEXT, instrument=TEXT, reason=TEXT,
              how=st.sampled_from(log.HOW[:-1])),
    st.builds(log.Value, text=FILLED, how=st.sampled_from(log.HOW[:-1])),
    st.builds(log.Value, how=st.just("not measured"), reason=FILLED, instrument=TEXT))
NAMED = {"verdict": st.sampled_from(["", MET, NOT_MET, NOT_PROVEN]), "sort": st.sampled_from(log.EVIDENCE),
         "size": st.integers(0, 2**53 - 1)}


def made(hint, name=""):
    """A strategy for anything of a type."""
    if name in NAMED:
        return NAMED[name]
    if hint is log.Value:
        return VALUES
    if hint in (str, int, bool):
        return {str: TEXT, int: st.integers(-1, 2**53 - 1), bool: st.booleans()}[hint]
    if get_origin(hint) is tuple:
        return st.lists(made(get_args(hint)[0]), max_size=2).map(tuple)
    hints = get_type_hints(hint)
    return st.builds(hint, **{each.name: made(hints[each.name], each.name) for each in fields(hint)})


@st.composite
def events(draw, kind):
    n = draw(st.integers(0, 3))
    return log.Event(draw(REFERENCES), draw(REFERENCES), n, draw(st.integers(0, 9)), draw(REFERENCES), draw(TEXT),
                     draw(TIMES), draw(made(kind)), draw(FILLED) if n else "", draw(TEXT), draw(st.integers(-1, 9)),
                     draw(OFFSETS), draw(st.just("") | TIMES), draw(made(tuple[log.Head, ...])))


EVERY_KIND = pytest.mark.parametrize("kind", log.KINDS.values(), ids=list(log.KINDS))


@EVERY_KIND
@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_an_event_of_every_kind_validates_and_comes_back(kind, data):
    event = data.draw(events(kind))
    plain = json.loads(json.dumps(to_data(event)))
    EVENT.validate(plain)
    assert from_data(plain) == event
    LINE.validate(json.loads(seal_line(event).raw))


# The same, spoilt in one place

WRONG = (None, True, 0, -1, 1.5, "x", "", [], {}, "y" * (log.LONGEST_TEXT + 1), "met", "photo", "not measured",
         "2030-05-14T08:20:00", "2030-13-14T08:20:00+00:00", "2030-05-14T08:20:00+00:00", ["x"])


def places(data, path=()):
    """The path of everything within plain data."""
    for key in data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
        yield (*path, key)
        yield from places(data[key], (*path, key))


def holder(data, path):
    for key in path[:-1]:
        data = data[key]
    return data


@st.composite
def spoilt(draw, plain):
    """Plain data with one place changed, taken out, or with a key put beside it."""
    data = copy.deepcopy(plain)
    path = draw(st.sampled_from(list(places(plain))))
    inside = holder(data, path)
    way = draw(st.sampled_from(["change", "take out", "put in"]))
    if way == "change":
        inside[path[-1]] = draw(st.sampled_from(WRONG))
    elif way == "take out":
        del inside[path[-1]]
    elif isinstance(inside, dict):
        inside["strange"] = "x"
    return data


def reader_takes(data):
    try:
        from_data(data)
    except StillboreError:
        return False
    return True


@EVERY_KIND
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_reader_and_schema_agree_on_a_spoilt_event(kind, data):
    plain = json.loads(json.dumps(to_data(data.draw(events(kind)))))
    changed = data.draw(spoilt(plain))
    assert EVENT.is_valid(changed) == reader_takes(changed), next(iter(EVENT.iter_errors(changed)), "no error")


GOOD = {"format": log.FORMAT, "kind": "district", "version": 1, "job": "J", "device": "D1", "n": 1, "order": 1,
        "person": "P1", "role": "team leader", "at": "2030-05-14T08:20:00+00:00", "prev": "0" * 64, "boot": "",
        "tick_ms": -1, "offset_s": "", "paper_at": "", "after": [],
        "happening": {"value": {"number": "30.1", "uncertainty": "", "unit": "mbar", "text": "", "instrument": "",
                                "how": "measured", "reason": ""}, "place": "neighbour"}}
SPOILT = {
    "another format": (("format",), "stillbore event 2"), "kind not known": (("kind",), "guessed"),
    "a newer version": (("version",), 2), "the kind of another": (("kind",), "done"),
    "before the first": (("n",), -1), "a first with one before": (("n",), 0), "a second with none": (("prev",), ""),
    "no clock": (("at",), "this morning"), "no offset": (("at",), "2030-05-14T08:20:00"),
    "hour 25": (("at",), "2030-05-14T25:20:00+00:00"), "nobody": (("person",), ""), "no device": (("device",), ""),
    "half a count": (("order",), 0.5), "yes for a count": (("order",), True), "text for a count": (("order",), "1"),
    "long": (("role",), "x" * 4001), "blank value": (("happening", "value", "number"), ""),
    "guessed": (("happening", "value", "how"), "guessed"),
    "not measured, and yet": (("happening", "value", "how"), "not measured"),
    "a number of JSON": (("happening", "value", "number"), 30.1), "null": (("happening", "place"), None)}


@pytest.mark.parametrize("name", SPOILT)
def test_what_is_no_event_is_refused_by_both(name):
    assert EVENT.is_valid(GOOD) and reader_takes(GOOD)
    path, value = SPOILT[name]
    data = copy.deepcopy(GOOD)
    holder(data, path)[path[-1]] = value
    assert not reader_takes(data), "the reader takes it"
    assert not EVENT.is_valid(data), "the schema takes it"


# Whole documents

SECRET = Secret(bytes(range(32)))


def short_log(job="J-1", more=()):
    """A log of one device."""
    opened = log.Opened((log.FileHash("survey", "s.toml", "0" * 64),), "1" * 64, "0", (), SECRET.public)
    lines, prev = [], ""
    for n, what in enumerate((opened, log.Noted("", "begun"), *more)):
        at = f"2030-05-14T08:20:0{n}+00:00"
        lines.append(seal_line(log.Event(job, "D1", n, n, "P1", "team leader", at, what, prev)))
        prev = lines[-1].hash
    return lines


def test_every_line_of_an_export_validates_the_footer_too():
    data = export(short_log(), "2030-05-14T09:00:00+00:00", "D1", SECRET.public, SECRET.sign)
    lines = [json.loads(line) for line in data.splitlines()]
    for line in lines:
        LINE.validate(line)
    assert "footer" in lines[-1]
    for path, value in ((("footer", "count"), 0), (("footer", "all"), "x"), (("signature",), ""),
                        (("footer", "more"), 1)):
        spoilt_line = copy.deepcopy(lines[-1])
        holder(spoilt_line, path)[path[-1]] = value
        assert not LINE.is_valid(spoilt_line), path
    assert footer_message(lines[-1]["footer"])  # what is signed is the footer that was described


def test_verifications_validate():
    data = export(short_log(), "2030-05-14T09:00:00+00:00", "D1", SECRET.public, SECRET.sign)
    known = {known_key("device", "D1", SECRET.public)}
    asked = [Question("even wall", ("J-1",), ("0" * 64,), "Was it?", "C9", (3,))]
    states = set()
    for found in (verify(data, check, known), verify(data, check, set()), verify(data[:-500], check, set()),
                  verify(b"x" + data, check, set())):
        plain = verification_json(found, asked)
        validator("verification").validate(plain)
        states.add(plain["state"])
        assert plain["asked"][0]["step"] == "C9"
        assert not validator("verification").is_valid(plain | {"state": "fine"})
    assert states == {"verified", "intact, signer unknown", "intact, end open", "broken"}


def test_comparisons_validate():
    for other in (short_log(), short_log(more=(log.Done("B6"),)), short_log("J-2")):
        plain = comparison_json(compare(short_log(), other))
        validator("comparison").validate(plain)
        assert not validator("comparison").is_valid(plain | {"first_events": "2"})


def test_plans_validate():
    plain = plan_json(plan(load_job(EXAMPLES / "service.toml")))
    validator("plan").validate(json.loads(json.dumps(plain)))
    for key in plain:
        assert not validator("plan").is_valid({name: value for name, value in plain.items() if name != key})
    assert any(number["value"] is None or number["low"] != number["high"] for number in plain["numbers"].values())


def test_plans_side_by_side_validate():
    """By a route as well; every key of a case is wanted, and none other."""
    plans = [plan(load_job(EXAMPLES / "service.toml", route=route), US) for route in (None, "cap and abandon")]
    plain = json.loads(json.dumps(side_by_side_json(side_by_side(plans))))
    validator("side_by_side").validate(plain)
    for key in plain["cases"][0]:
        cut = {name: value for name, value in plain["cases"][0].items() if name != key}
        assert not validator("side_by_side").is_valid(plain | {"cases": [cut]}), key
    assert not validator("side_by_side").is_valid(plain | {"cases": []})
    assert not validator("side_by_side").is_valid(plain | {"best": "J-0001"})


KEYS = 'format = "stillbore keys 1"\n' + key_entry("P1", "person", "a" * 64) + key_entry("D1", "device", "b" * 64)


@pytest.mark.parametrize("text,good", [
    (KEYS, True), ('format = "stillbore keys 1"\n', True), (KEYS.replace("keys 1", "keys 2"), False),
    (KEYS.replace('"person"', '"animal"'), False), (KEYS.replace("a" * 64, "A" * 64), False),
    (KEYS.replace('id = "P1"\n', ""), False), (KEYS.replace("public", "private"), False),
    (KEYS.replace('"P1"', "1"), False), (KEYS + 'note = "x"\n', False)])
def test_key_lists_are_taken_or_refused_by_both(tmp_path, text, good):
    path = tmp_path / "keys.toml"
    path.write_text(text, encoding="utf-8")
    try:
        load_keys(path)
        taken = True
    except InputFaults:
        taken = False
    assert taken == validator("keys").is_valid(tomllib.loads(text)) == good


# The folder


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_committed_file_is_the_generated_one(name):
    jsonschema.Draft202012Validator.check_schema(SCHEMAS[name]())
    committed = (COMMITTED / f"{name}.schema.json").read_text(encoding="utf-8")
    assert committed == text_of(name), "run: make schemas"


def test_every_kind_of_event_is_described():
    described = {name for rule in SCHEMAS["event"]()["allOf"] if "anyOf" in rule
                 for name in (kind["properties"]["kind"]["const"] for kind in rule["anyOf"])}
    assert described == set(log.KINDS) and len(described) > 15
