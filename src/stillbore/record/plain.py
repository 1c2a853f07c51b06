"""An event as plain data, ready for canonical JSON; and back, checked whole."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import get_args, get_origin, get_type_hints

from stillbore.errors import StillboreError
from stillbore.record.events import (
    EVIDENCE,
    FORMAT,
    HOW,
    KINDS,
    LONGEST_TEXT,
    UNSEEN,
    Event,
    Happening,
    Kept,
    Value,
    moment,
)
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

OFFSET = re.compile(r"-?\d{1,9}(\.\d{1,6})?")
WORDS = {str: "text", int: "whole number", bool: "true or false", list: "list", dict: "object"}


def to_data(event: Event) -> dict[str, object]:
    """The event as plain data, ready for canonical JSON."""
    found = {name: _data(getattr(event, name)) for name in (each.name for each in fields(event))}
    return {"format": FORMAT, "kind": event.kind, "version": event.happening.VERSION, **found}


def _data(value: object) -> object:
    if isinstance(value, tuple):
        return [_data(item) for item in value]
    if isinstance(value, (str, int)):
        return value
    return {each.name: _data(getattr(value, each.name)) for each in fields(value)}  # type: ignore[arg-type]


def from_data(data: object, short: bool = False) -> Event:
    """An event from plain data, checked whole. Raises StillboreError with the first thing that is wrong. ``short``: all
    of it together is no longer than a text may be, so that no text has to be measured."""
    if not isinstance(data, dict):
        raise _wrong("event", "is no object")
    if data.get("format") != FORMAT:
        raise _wrong("format", f"is not '{FORMAT}'")
    kind, version = data.get("kind"), data.get("version")
    if not isinstance(kind, str) or kind not in KINDS:
        raise _wrong("kind", f"'{kind}' is not known")
    if version != KINDS[kind].VERSION or isinstance(version, bool):
        raise _wrong("version", f"{version} of '{kind}' is not known to this program")
    rest = dict(data)
    del rest["format"], rest["kind"], rest["version"]
    event = _object(Event, rest, "event", KINDS[kind], short)
    assert isinstance(event, Event)
    moment(event.at)
    if event.paper_at:
        moment(event.paper_at)
    if event.offset_s and not OFFSET.fullmatch(event.offset_s):
        raise _wrong("offset_s", "is no plain number of seconds")
    if not (event.job and event.device and event.person):
        raise _wrong("job, device or person", "is blank")
    if UNSEEN.search(event.job + event.device + event.person):
        raise _wrong("job, device or person", "has a character in it that cannot be seen")
    if event.n < 0 or event.order < 0 or bool(event.prev) != (event.n > 0):
        raise _wrong("n", "does not agree with 'prev'")
    _check_values(event.happening)
    return event


def _check_values(happening: Happening) -> None:
    value = getattr(happening, "value", None)
    if isinstance(value, Value):
        if value.how not in HOW:
            raise _wrong("how", f"'{value.how}' is not one of {', '.join(HOW)}")
        if value.how == "not measured" and (not value.reason or value.number or value.text):
            raise _wrong("value", "is not measured, and says no reason or a value all the same")
        if value.how != "not measured" and not (value.number or value.text):
            raise _wrong("value", "is blank; 'not measured' with a reason is a value, blank is not")
    if getattr(happening, "verdict", "") not in ("", MET, NOT_MET, NOT_PROVEN):
        raise _wrong("verdict", "is none that is known")
    if isinstance(happening, Kept) and (happening.sort not in EVIDENCE or happening.size < 0):
        raise _wrong("sort", f"is not one of {', '.join(EVIDENCE)}, or the size is below zero")


def _wrong(place: str, what: str) -> StillboreError:
    return StillboreError(f"This is no event: '{place}' {what}.",
                          "Take the log as it was exported, or a newer program.")


class _Shape:
    """What a frozen type wants of plain data: its names, the plain type of each, which are texts, and which are to be
    made from what is inside them."""

    def __init__(self, made: type) -> None:
        hints = get_type_hints(made)
        self.names = tuple(each.name for each in fields(made))
        self.hints = tuple(hints[name] for name in self.names)
        self.types = tuple(hint if hint in (str, int, bool) else list if get_origin(hint) is tuple else dict
                           for hint in self.hints)
        self.texts = tuple(place for place, hint in enumerate(self.hints) if hint is str)
        # Of each: its place, what it is made of, and whether there are many of it.
        self.inside = tuple((place, get_args(hint)[0] if get_origin(hint) is tuple else hint, get_origin(hint) is tuple)
                            for place, hint in enumerate(self.hints) if hint not in (str, int, bool))


_SHAPES: dict[type, _Shape] = {}


def _object(made: type, data: object, place: str, happening: type = Happening, short: bool = False) -> object:
    """One frozen type from plain data; every field is wanted, none may be strange. ``happening`` is the type to make
    where a Happening is wanted. The types are looked at all at once: a log has a hundred thousand lines."""
    if not isinstance(data, dict):
        raise _wrong(place, "is no object")
    shape = _SHAPES.get(made)
    if shape is None:
        shape = _SHAPES[made] = _Shape(made)
    values = list(map(data.get, shape.names))
    if len(data) != len(values) or tuple(map(type, values)) != shape.types:
        raise _odd(shape, data, place)
    for at in () if short else shape.texts:
        if len(values[at]) > LONGEST_TEXT:  # type: ignore[arg-type]
            raise _wrong(shape.names[at], f"is longer than {LONGEST_TEXT} characters")
    for at, what, many in shape.inside:
        if not many:
            values[at] = _object(happening if what is Happening else what, values[at], shape.names[at], short=short)
        else:
            values[at] = _many(what, values[at], shape.names[at]) if values[at] else ()  # type: ignore[arg-type]
    return made(*values)


def _many(what: type, values: list[object], place: str) -> tuple[object, ...]:
    if what is not str:
        return tuple(_object(what, value, place) for value in values)
    if not all(type(value) is str and len(value) <= LONGEST_TEXT for value in values):
        raise _wrong(place, f"holds what is no text of at most {LONGEST_TEXT} characters")
    return tuple(values)


def _odd(shape: _Shape, data: dict[object, object], place: str) -> StillboreError:
    """Which field is too much, lacking, or of another type."""
    odd = sorted(map(str, data.keys() ^ set(shape.names)))
    if odd:
        return _wrong(place, f"lacks or has too much of: {', '.join(odd)}")
    name, wanted = next((name, wanted) for name, wanted in zip(shape.names, shape.types, strict=True)
                        if type(data[name]) is not wanted)
    return _wrong(name, f"is no {WORDS[wanted]}")
