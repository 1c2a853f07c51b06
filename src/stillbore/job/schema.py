"""The shape of a job file, as data: sections of fields. Loader, template and JSON Schema are all made from it.

A file is TOML. A section is a table ``[pipe]``, or an array of tables ``[[saw]]``. A field is a plain value (text,
choice, date, yes/no, count) or a *fact*: a quantity with how it is known. A fact is written as text, ``"33.6 mm"``, or
as a table: ``{ value = "33.6 mm", how = "measured", by = "P2", when = 2030-05-14T09:20:00Z, instrument = "C7" }``, or
with ``readings = ["3.1 mm", "3.2 mm"], uncertainty = "0.2 mm"``. What a fact does not say its section may say once.
"""

from __future__ import annotations

import difflib
import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from stillbore.derive import Fact
from stillbore.errors import Fault, InputFaults, UnitError
from stillbore.job.lines import key_lines
from stillbore.units import UNKNOWN, Quantity, parse, parse_composition, parse_exact, show, unit_written

PROVENANCE = ("how", "by", "when", "instrument", "source")
LARGEST_FILE = 500_000  # characters; a hostile megabyte can keep the TOML reader busy for minutes
WRITTEN_HOW = ("measured", "record", "assumed")
# The unit of an uncertainty, where it is another than the fact's: a difference has no zero of its own.
DIFFERENCE = {"K": "K difference", "Pa abs": "Pa", "Pa gauge": "Pa"}


@dataclass(frozen=True)
class Field:
    """One key of a file.

    ``kind``: fact, text, choice, date, time, flag, count, texts (list), composition. ``unit`` is the SI unit of a fact.
    ``least`` and ``most`` bound what can be meant at all (SI), not what is allowed: limits live in the rule set.
    ``may_be_unknown``: the text "unknown" is a value. ``optional``: the key may be left out.
    ``missing``: what to say to somebody who left it out, where naming the key is not enough.
    """

    key: str
    kind: str
    about: str
    example: str
    unit: str = ""
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    may_be_unknown: bool = False
    optional: bool = False
    missing: str = ""


@dataclass(frozen=True)
class Section:
    """A table of a file, or an array of tables (``many``); ``how`` is fixed where all facts are of one sort."""

    key: str
    about: str
    fields: tuple[Field, ...]
    many: bool = False
    least_rows: int = 0
    how: str = ""


@dataclass(frozen=True)
class Schema:
    """A file format: name and version (the ``format`` key), and its sections."""

    name: str
    version: int
    about: str
    sections: tuple[Section, ...]

    @property
    def format(self) -> str:
        return f"stillbore {self.name} {self.version}"


@dataclass(frozen=True)
class Row:
    """One table of a file as loaded: plain values and facts by key."""

    place: str
    values: Mapping[str, object] = field(default_factory=dict)
    facts: Mapping[str, Fact] = field(default_factory=dict)

    def __getitem__(self, key: str) -> object:
        return self.values[key]

    def text(self, key: str) -> str:
        """A text value ("" where the optional key was left out)."""
        return str(self.values.get(key, ""))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts (empty where the optional key was left out)."""
        return tuple(self.values.get(key, ()))  # type: ignore[arg-type]

    def fact(self, key: str) -> Fact:
        return self.facts[key]


@dataclass(frozen=True)
class JobFile:
    """A loaded file: its sections as rows, its name, text and SHA-256."""

    schema: Schema
    name: str
    text: str
    sections: Mapping[str, tuple[Row, ...]]

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.text.encode("utf-8")).hexdigest()

    def rows(self, section: str) -> tuple[Row, ...]:
        return self.sections[section]

    def row(self, section: str) -> Row:
        return self.sections[section][0]

    def fact(self, dotted: str) -> Fact:
        section, _, key = dotted.partition(".")
        return self.row(section).facts[key]

    def value(self, dotted: str) -> object:
        section, _, key = dotted.partition(".")
        return self.row(section).values[key]


def _bounds(entry: Field, fact: Fact) -> str:
    """What is wrong with a fact's size, or ""."""
    for end, limit, word in ((fact.low, entry.least, "less"), (fact.high, entry.most, "more")):
        if end is None or limit is None:
            continue
        if (word == "less" and end < limit) or (word == "more" and end > limit):
            unit = unit_written(fact.text, entry.unit)
            return f"{fact.text} is {word} than this can be ({show(limit, entry.unit, unit)})."
    return ""


class _Reader:
    """Reads one file against its schema and keeps every fault."""

    def __init__(self, schema: Schema, name: str, text: str) -> None:
        self.schema = schema
        self.name = name
        self.lines = key_lines(text)
        self.faults: list[Fault] = []

    def place(self, path: str) -> str:
        probe = path
        while probe and probe not in self.lines:
            probe = probe.rpartition(".")[0]
        return f"{self.name}, line {self.lines[probe]}, {path}" if probe else f"{self.name}, {path}"

    def fault(self, path: str, what: str, fix: str) -> None:
        self.faults.append(Fault(self.place(path), what, fix))

    def unknown_keys(self, given: Mapping[str, object], known: list[str], path: str) -> None:
        for key in given:
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1)
                self.fault(f"{path}.{key}" if path else key, f"The key '{key}' is not known here.",
                           f"Did you mean '{near[0]}'?" if near else f"Known are: {', '.join(known)}.")

    def read(self, data: Mapping[str, object]) -> dict[str, tuple[Row, ...]]:
        sections: dict[str, tuple[Row, ...]] = {}
        self.unknown_keys(data, ["format", *(section.key for section in self.schema.sections)], "")
        if data.get("format") != self.schema.format:
            self.fault("format", f"This is not marked as a {self.schema.name} file of version {self.schema.version}.",
                       f'Its first line must be: format = "{self.schema.format}"')
        for section in self.schema.sections:
            given = data.get(section.key, [] if section.many else None)
            if section.many:
                rows = given if isinstance(given, list) else [given]
                if not all(isinstance(row, dict) for row in rows) or rows is not given:
                    self.fault(section.key, f"'{section.key}' is not an array of tables ({section.about}).",
                               f"Write each under its own [[{section.key}]], with two brackets.")
                if len(rows) < section.least_rows:
                    self.fault(section.key, f"There is no [[{section.key}]] ({section.about}).",
                               f"Write at least {section.least_rows}.")
                sections[section.key] = tuple(self.row(section, row, f"{section.key}[{index}]")
                                              for index, row in enumerate(rows) if isinstance(row, dict))
            elif isinstance(given, dict):
                sections[section.key] = (self.row(section, given, section.key),)
            elif all(entry.optional for entry in section.fields):
                sections[section.key] = (Row(self.place(section.key)),)
            else:
                self.fault(section.key, f"The section [{section.key}] ({section.about}) is missing.",
                           "Write it; 'stillbore new' shows how.")
        return sections

    def row(self, section: Section, given: Mapping[str, object], path: str) -> Row:
        known = [entry.key for entry in section.fields]
        has_facts = any(entry.kind in ("fact", "composition") for entry in section.fields)
        shared = {key: given[key] for key in PROVENANCE if has_facts and key in given and key not in known}
        self.unknown_keys(given, known + (list(PROVENANCE) if has_facts else []), path)
        values: dict[str, object] = {}
        facts: dict[str, Fact] = {}
        for entry in section.fields:
            here = f"{path}.{entry.key}"
            if entry.key not in given:
                if not entry.optional:
                    or_unknown = ', or "unknown".' if entry.may_be_unknown else "."
                    self.fault(here, f"'{entry.key}' ({entry.about}) is missing.",
                               entry.missing or f"Write {entry.key} = {entry.example}{or_unknown}")
                continue
            if entry.kind in ("fact", "composition"):
                fact = self.fact(section, entry, given[entry.key], shared, here)
                if fact is not None:
                    facts[entry.key] = fact
            else:
                value = self.plain(entry, given[entry.key], here)
                if value is not None:
                    values[entry.key] = value
        return Row(self.place(path), values, facts)

    def plain(self, entry: Field, value: object, path: str) -> object:
        if entry.may_be_unknown and value == UNKNOWN:
            return UNKNOWN
        problem = ""
        if entry.kind == "choice" and value not in entry.choices:
            near = difflib.get_close_matches(str(value), entry.choices, n=1)
            problem = f"is not one of: {', '.join(entry.choices)}." + (f" Did you mean '{near[0]}'?" if near else "")
        elif entry.kind == "text" and not (isinstance(value, str) and value.strip()):
            problem = "is not text."
        elif entry.kind == "texts" and not (isinstance(value, list) and all(isinstance(item, str) and item.strip()
                                                                            for item in value)):
            problem = "is not a list of texts, none of them blank."
        elif entry.kind == "flag" and not isinstance(value, bool):
            problem = "is not true or false."
        elif entry.kind == "count" and (isinstance(value, bool) or not isinstance(value, int) or value < 0):
            problem = "is not a whole number of zero or more."
        elif entry.kind == "date" and (isinstance(value, datetime) or not isinstance(value, date)):
            problem = "is not a date."
        elif entry.kind == "time" and not (isinstance(value, datetime) and value.tzinfo is not None):
            problem = "is not a time with its zone."
        if problem:
            self.fault(path, f"'{value}' {problem}", f"Write for example {entry.key} = {entry.example}")
            return None
        return value

    def fact(self, section: Section, entry: Field, given: object, shared: Mapping[str, object],
             path: str) -> Fact | None:
        details: dict[str, object] = dict(shared)
        if isinstance(given, dict):
            self.unknown_keys(given, ["value", "readings", "uncertainty", *PROVENANCE], path)
            details |= given
        else:
            details["value"] = given
        written = details.get("value")
        how = section.how or str(details.get("how", ""))
        if written == UNKNOWN and "readings" not in details:
            if not entry.may_be_unknown:
                self.fault(path, f"'{entry.key}' ({entry.about}) cannot be unknown.",
                           f"Write {entry.key} = {entry.example}")
                return None
            how = "unknown"
        elif not section.how and how not in WRITTEN_HOW:
            self.fault(path, f"It is not said how '{entry.key}' is known.",
                       'Write how = "measured", "record" or "assumed" in the fact or once in its section.')
            return None
        common = Fact(path, entry.unit, None, None, None, how, self.place(path), text=str(written or ""),
                      by=str(details.get("by", "")), when=_when_text(details.get("when")),
                      instrument=str(details.get("instrument", "")), source=str(details.get("source", "")))
        if how == "unknown":
            return common
        when = details.get("when")
        if when is not None and not isinstance(when, date):
            self.fault(path, f"'{when}' is not a time.", "Write when = 2030-05-14T09:20:00Z, without quotes.")
        if how == "measured" and not (common.by and common.when):
            self.fault(path, f"'{entry.key}' is measured, but not by whom and when.",
                       'Write by = "…" and when = 2030-05-14T09:20:00Z in the fact or once in its section.')
        if how == "rule" and not common.source:
            self.fault(path, f"The limit '{entry.key}' has no source.",
                       'Write source = "common practice", or the document and clause it comes from.')
        try:
            fact = self.sized(entry, details, common)
        except UnitError as error:
            self.fault(path, error.what, error.fix)
            return None
        problem = _bounds(entry, fact)
        if problem:
            self.fault(path, problem, f"Check the number and its unit; {entry.about}, for example {entry.example}.")
        return fact

    def sized(self, entry: Field, details: Mapping[str, object], common: Fact) -> Fact:
        """The fact with its value and range. Raises UnitError."""
        if entry.kind == "composition":
            return replace(common, composition=parse_composition(str(details.get("value", ""))))
        spread = 0.0
        if "uncertainty" in details:
            spread = parse_exact(str(details["uncertainty"]), DIFFERENCE.get(entry.unit, entry.unit))
            if spread < 0.0:
                raise UnitError(f"The uncertainty '{details['uncertainty']}' is negative.",
                                "Write it as a positive number.")
        readings = details.get("readings")
        if readings is not None:
            if not isinstance(readings, list) or not readings or "value" in details:
                raise UnitError("A fact has either one value or a list of readings.",
                                'Write readings = ["3.1 mm", "3.2 mm"] and no value.')
            quantities = [parse(str(reading), entry.unit) for reading in readings]
            low = min(quantity.low for quantity in quantities)
            high = max(quantity.high for quantity in quantities)
            values = [0.5 * (quantity.low + quantity.high) for quantity in quantities]
            return replace(common, value=sum(values) / len(values), low=low - spread, high=high + spread,
                           readings=len(values), spread=spread,
                           text=", ".join(str(reading) for reading in readings))
        if "value" not in details:
            raise UnitError("There is no value.", f"Write it as text: {entry.example}.")
        if not isinstance(details["value"], str):
            raise UnitError(f"'{details.get('value')}' has no unit.", f"Write it as text: {entry.example}.")
        quantity: Quantity = parse(str(details["value"]), entry.unit)
        own = spread if quantity.value is None else spread + 0.5 * (quantity.high - quantity.low)
        return replace(common, value=quantity.value, low=quantity.low - spread, high=quantity.high + spread, spread=own)


def _when_text(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else str(value or "")


def load_text(schema: Schema, text: str, name: str) -> JobFile:
    """Load a file's text against its schema. Raises InputFaults with every fault at once."""
    if len(text) > LARGEST_FILE:
        raise InputFaults([Fault(name, f"This is {len(text):,} characters long; a {schema.name} has a few thousand.",
                                 "Check that it is the right file.")])
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # TOMLDecodeError, and what tomllib lets through of hostile text
        reason = "it is nested too deep" if isinstance(error, RecursionError) else error
        raise InputFaults([Fault(name, f"This is not TOML: {reason}.",
                                 "Mend that line; text stands in quotes, a section header in brackets.")]) from None
    reader = _Reader(schema, name, text)
    sections = reader.read(data)
    if reader.faults:
        raise InputFaults(reader.faults)
    return JobFile(schema, name, text, sections)


def load(schema: Schema, path: Path) -> JobFile:
    """Load a file from disk. Raises InputFaults, also when it cannot be read."""
    try:
        # Bytes, because reading as text would turn line ends of Windows, and the hash would not be the file's.
        text = path.read_bytes().decode("utf-8")
    except (OSError, ValueError) as error:  # not UTF-8, or a path that cannot be one
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise InputFaults([Fault(str(path), f"The {schema.name} cannot be read: {reason}.",
                                 "Check the path; 'stillbore new' writes a survey to fill in.")]) from None
    return load_text(schema, text, path.name)
