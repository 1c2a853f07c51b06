"""An event as plain data, ready for canonical JSON; and back, checked whole."""

from __future__ import annotations

from dataclasses import fields
from typing import get_args, get_origin, get_type_hints

from stillbore.errors import StillboreError
from stillbore.record.events import (
    EVIDENCE,
    FORMAT,
    HOW,
    KINDS,
    LONGEST_TEXT,
    MET,
    NOT_MET,
    NOT_PROVEN,
    Event,
    Happening,
    Kept,
    Value,
    moment,
)


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


def from_data(data: object) -> Event:
    """An event from plain data, checked whole. Raises StillboreError with the first thing that is wrong."""
    if not isinstance(data, dict):
        raise _wrong("event", "is no object")
    if data.get("format") != FORMAT:
        raise _wrong("format", f"is not '{FORMAT}'")
    kind, version = data.get("kind"), data.get("version")
    if not isinstance(kind, str) or kind not in KINDS:
        raise _wrong("kind", f"'{kind}' is not known")
    if version != KINDS[kind].VERSION or isinstance(version, bool):
        raise _wrong("version", f"{version} of '{kind}' is not known to this program")
    rest = {key: item for key, item in data.items() if key not in ("format", "kind", "version", "happening")}
    if "happening" not in data:
        raise _wrong("happening", "is missing")
    happening = _object(KINDS[kind], data["happening"], "happening")
    event = _object(Event, {**rest, "happening": happening}, "event")
    assert isinstance(event, Event)
    moment(event.at)
    if event.paper_at:
        moment(event.paper_at)
    for name, text in (("job", event.job), ("device", event.device), ("person", event.person)):
        if not text:
            raise _wrong(name, "is blank")
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


# Of each type its fields: name, and the plain type (str, int, bool) or what else is wanted there.
_FIELDS: dict[type, dict[str, object]] = {}


def _fields_of(made: type) -> dict[str, object]:
    if made not in _FIELDS:
        hints = get_type_hints(made)
        _FIELDS[made] = {each.name: hints[each.name] for each in fields(made)}
    return _FIELDS[made]


def _object(made: type, data: object, place: str) -> object:
    """One frozen type from plain data; every field is wanted, none may be strange."""
    if not isinstance(data, dict):
        raise _wrong(place, "is no object")
    wanted = _fields_of(made)
    if data.keys() != wanted.keys():
        odd = sorted(data.keys() ^ wanted.keys())
        raise _wrong(place, f"lacks or has too much of: {', '.join(map(str, odd))}")
    found = []
    for name, hint in wanted.items():  # plain fields here, for speed: a log has a hundred thousand lines
        value = data[name]
        if hint is str and type(value) is str and len(value) <= LONGEST_TEXT or hint is int and type(value) is int:
            found.append(value)
        else:
            found.append(_field(hint, value, name))
    return made(*found)


def _field(hint: object, value: object, place: str) -> object:
    if hint in (str, int, bool):
        if type(value) is not hint:
            raise _wrong(place, f"is no {hint.__name__}")  # type: ignore[union-attr]
        if isinstance(value, str) and len(value) > LONGEST_TEXT:
            raise _wrong(place, f"is longer than {LONGEST_TEXT} characters")
        return value
    if get_origin(hint) is tuple:
        if not isinstance(value, list):
            raise _wrong(place, "is no list")
        return tuple(_field(get_args(hint)[0], item, place) for item in value) if value else ()
    if hint is Happening and isinstance(value, Happening):
        return value
    assert isinstance(hint, type)
    return _object(hint, value, place)
