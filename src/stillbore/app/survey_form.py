"""A section of a job file as a form, and what was filled in as plain data again. Both are made from the schema, so that
the form can never fall behind the loader; what is wrong, the loader says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from stillbore.errors import Fault
from stillbore.job.schema import PROVENANCE, WRITTEN_HOW, Field, Section
from stillbore.units import UNITS, UNKNOWN

FACTS = ("fact", "composition")
READINGS = ";"  # between the readings of one fact; a composition has commas of its own


@dataclass(frozen=True)
class Shown:
    """One field of the form: its name there, the schema's field, what stands in it now, the unit beside it and those
    there are, what is wrong with it, and what else is known of the same thing."""

    name: str
    field: Field
    value: str
    unit: str = ""
    units: tuple[str, ...] = ()
    uncertainty: str = ""
    unknown: bool = False
    own: Mapping[str, str] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    beside: tuple[tuple[str, str], ...] = ()

    @property
    def is_fact(self) -> bool:
        return self.field.kind in FACTS


@dataclass(frozen=True)
class ShownRow:
    """One table of the section: its number, its fields, and how its facts are known where they do not say so
    themselves (None where no fact is in it, or all are of one sort)."""

    number: int
    fields: tuple[Shown, ...]
    shared: Mapping[str, str] | None
    faults: tuple[Fault, ...] = ()


def path_of(fault: Fault) -> str:
    """Where in the file a fault stands, as the loader writes it: ``pipe.wall`` or ``person[0].role``."""
    return fault.place.rpartition(", ")[2]


def shown_rows(section: Section, given: object, faults: list[Fault],
               beside: Mapping[str, tuple[tuple[str, str], ...]]) -> list[ShownRow]:
    """The section as it stands in the file, with what is wrong in it."""
    rows = given if isinstance(given, list) else [given] if isinstance(given, Mapping) else []
    rows = rows or ([{}] if not section.many or section.least_rows else [])
    found = []
    for number, row in enumerate(rows):
        row = row if isinstance(row, Mapping) else {}
        path = f"{section.key}[{number}]" if section.many else section.key
        has_facts = any(each.kind in FACTS for each in section.fields)
        known = {each.key for each in section.fields}
        shared = {key: _text(row.get(key)) for key in PROVENANCE if key not in known} if has_facts and not section.how \
            else None
        fields = tuple(_shown(each, row.get(each.key), f"{number}.{each.key}",
                              tuple(fault for fault in faults if _is_at(fault, f"{path}.{each.key}")),
                              beside.get(f"{section.key}.{each.key}", ())) for each in section.fields)
        found.append(ShownRow(number, fields, shared, tuple(fault for fault in faults if path_of(fault) == path)))
    return found


def _is_at(fault: Fault, path: str) -> bool:
    return path_of(fault) == path or path_of(fault).startswith(f"{path}.")


def _shown(entry: Field, raw: object, name: str, faults: tuple[Fault, ...],
           beside: tuple[tuple[str, str], ...]) -> Shown:
    if entry.kind == "texts":
        lines = "\n".join(map(str, raw)) if isinstance(raw, list) else _text(raw)
        return Shown(name, entry, lines, faults=faults, beside=beside)
    if entry.kind not in FACTS:
        return Shown(name, entry, _text(raw), faults=faults, beside=beside)
    details = raw if isinstance(raw, Mapping) else {"value": raw}
    readings = details.get("readings")
    texts = list(map(str, readings)) if isinstance(readings, list) else [_text(details.get("value"))]
    units = tuple(name for name in UNITS[entry.unit] if name) if entry.kind == "fact" else ()
    parts = [_parted(text, units) for text in texts]
    unit = next((unit for _, unit in parts if unit), "")
    same = all(each in ("", unit) for _, each in parts)
    value = f"{READINGS} ".join(number if same else text for (number, _), text in zip(parts, texts, strict=True))
    own = {key: _text(details.get(key)) for key in PROVENANCE} if isinstance(raw, Mapping) else {}
    unknown = texts == [UNKNOWN]
    return Shown(name, entry, "" if unknown else value, unit or (units[0] if units else ""), units,
                 _text(details.get("uncertainty")), unknown, own, faults, beside)


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.isoformat() if isinstance(value, date) else "" if value is None else str(value)


def _parted(text: str, units: tuple[str, ...]) -> tuple[str, str]:
    """A quantity as number and unit; the whole text and "" where the unit cannot be told."""
    for unit in sorted(units, key=len, reverse=True):
        number = text.removesuffix(unit).rstrip()
        if text.endswith(unit) and number[-1:].isdigit():
            return number, unit
    return text, ""


def read_rows(section: Section, given: object, sent: Mapping[str, str]) -> list[dict[str, object]]:
    """What was filled in, as plain data for ``job.toml_text``. A key of the file that the form does not know stays."""
    rows = given if isinstance(given, list) else [given] if isinstance(given, Mapping) else []
    numbers = sorted({int(name.partition(".")[0]) for name in sent if name.partition(".")[0].isdecimal()})
    found = []
    for number in numbers:
        old = rows[number] if number < len(rows) and isinstance(rows[number], Mapping) else {}
        known = {each.key for each in section.fields}
        kept = known | set(PROVENANCE)
        row: dict[str, object] = {key: value for key, value in old.items() if key not in kept}
        row |= dict(_provenance({key: sent.get(f"{number}.{key}", "") for key in PROVENANCE if key not in known}))
        for entry in section.fields:
            row[entry.key] = _read(entry, f"{number}.{entry.key}", sent)
        found.append(row)
    return found


def _provenance(texts: Mapping[str, str]) -> Iterator[tuple[str, object]]:
    for key, text in texts.items():
        if text:
            yield key, _moment(text) if key == "when" else text


def _read(entry: Field, name: str, sent: Mapping[str, str]) -> object:
    text = sent.get(name, "").strip()
    if entry.kind == "texts":
        return [line.strip() for line in text.splitlines() if line.strip()] if text else None
    if entry.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    if entry.kind == "count":
        return int(text) if text.isdecimal() and text.isascii() and len(text) < 10 else text
    if entry.kind in ("date", "time"):
        return _moment(text)
    return _read_fact(entry, name, text, sent) if entry.kind in FACTS else text


def _read_fact(entry: Field, name: str, text: str, sent: Mapping[str, str]) -> object:
    unit = sent.get(f"{name}.unit", "")
    details = dict(_provenance({key: sent.get(f"{name}.{key}", "") for key in PROVENANCE}))
    if sent.get(f"{name}.unknown"):
        return UNKNOWN
    if not text:
        return None
    pieces = [_with_unit(piece.strip(), unit) for piece in text.split(READINGS) if piece.strip()]
    spread = sent.get(f"{name}.uncertainty", "").strip()
    if spread:
        details["uncertainty"] = _with_unit(spread, unit)
    if entry.kind == "fact" and len(pieces) > 1:
        return {"readings": pieces, **details}
    return {"value": pieces[0] if pieces else text, **details} if details else pieces[0] if pieces else text


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit and text[-1:].isdigit() else text


def _moment(text: str) -> object:
    """A date or a time as such; what is neither stays text, and the loader says so."""
    try:
        return datetime.fromisoformat(text) if len(text) > 10 else date.fromisoformat(text)
    except ValueError:
        return text


HOW = WRITTEN_HOW
