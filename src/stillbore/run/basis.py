"""What a job rests on at one moment: the order of work as a table, and the limits and open holds of one plan.

A basis is made from a plan and never changes; a fact found different makes another plan, and with it another basis.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from stillbore.job.procedure import CHANGES
from stillbore.job.schema import JobFile, Row
from stillbore.plan import Plan
from stillbore.plan.barriers import Element, elements
from stillbore.plan.parts import Number
from stillbore.units import show


@dataclass(frozen=True)
class Limit:
    """A number of the plan or the rule set: SI, with its unit and the unit it is shown in; None where not known."""

    name: str
    low: float | None
    high: float | None
    unit: str
    shown: str

    @property
    def text(self) -> str:
        if self.low is None or self.high is None:
            return "unknown"
        first = show(self.low, self.unit, self.shown or None)
        return first if self.low == self.high else f"{first} to {show(self.high, self.unit, self.shown or None)}"


@dataclass(frozen=True)
class Ask:
    """A question of a step. See job.procedure for the meaning of each field."""

    step: str
    name: str
    sort: str
    about: str
    unit: str = ""
    wanted: str = ""
    limit: str = ""
    limit_to: str = ""
    same_as: str = ""
    choices: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    uncertainty: str = ""
    no_override: bool = False
    optional: bool = False
    tells: str = ""

    @property
    def key(self) -> str:
        return f"{self.step}.{self.name}"


@dataclass(frozen=True)
class Step:
    """A step of the order of work. See job.procedure for the meaning of each field."""

    place: int
    id: str
    card: str
    action: str
    must_be_true: str
    stop_if: str
    hold: int
    signers: int
    rests_on: tuple[str, ...]
    only_if: tuple[str, ...]
    counts_for: str
    repeats: str
    evidence: tuple[str, ...]
    monitor: bool
    shows: tuple[str, ...]
    changes: Mapping[str, tuple[str, ...]]
    asks: tuple[Ask, ...]

    def touched(self, *changes: str) -> frozenset[str]:
        """The elements that this step changes in one of the given ways ("opens", "closes", ...)."""
        return frozenset(name for change in changes for name in self.changes[change])


@dataclass(frozen=True)
class Basis:
    """The table, the limits by dotted name (plan numbers and rules), what the plan leaves open by hold, the elements
    before the first step, the hash of each file, and the facts of the survey by dotted name."""

    plan: str
    steps: tuple[Step, ...]
    limits: Mapping[str, Limit]
    open_holds: Mapping[int, tuple[str, ...]]
    elements: Mapping[str, Element]
    files: Mapping[str, str]
    facts: Mapping[str, Limit]

    def step(self, step_id: str) -> Step | None:
        return self._by_id.get(step_id)

    @cached_property
    def _by_id(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}

    @cached_property
    def asks(self) -> dict[str, Ask]:
        """Every question by its key, "B6.pressure"."""
        return {ask.key: ask for step in self.steps for ask in step.asks}


def _asks(rows: tuple[Row, ...]) -> dict[str, tuple[Ask, ...]]:
    found: dict[str, tuple[Ask, ...]] = {}
    for row in rows:
        text = {key: row.text(key) for key in ("name", "sort", "about", "unit", "wanted", "limit", "limit_to",
                                               "same_as", "uncertainty", "tells")}
        flags = {key: bool(row.values.get(key, False)) for key in ("no_override", "optional")}
        ask = Ask(row.text("step"), choices=row.texts("choices"), good=row.texts("good"), **text, **flags)
        found[ask.step] = (*found.get(ask.step, ()), ask)
    return found


def _step(place: int, row: Row, asks: tuple[Ask, ...]) -> Step:
    return Step(place, row.text("id"), row.text("card"), row.text("action"), row.text("must_be_true"),
                row.text("stop_if"), int(row.values.get("hold", 0)),  # type: ignore[call-overload]
                2 if row.values.get("two_people", False) else 0, row.texts("rests_on"), row.texts("only_if"),
                row.text("counts_for"), row.text("repeats"), row.texts("evidence"),
                bool(row.values.get("monitor", False)), row.texts("shows"),
                MappingProxyType({change: row.texts(change) for change in CHANGES}), asks)


def _facts(file: JobFile, prefix: str) -> dict[str, Limit]:
    """Every fact of a file by its dotted name; of a list of tables there is no one name, so they are left out."""
    found = {}
    for section in file.schema.sections:
        if not section.many:
            for key, fact in file.row(section.key).facts.items():
                name = f"{prefix}{section.key}.{key}"
                found[name] = Limit(name, fact.low, fact.high, fact.unit, "")
    return found


def steps(procedure: JobFile) -> tuple[Step, ...]:
    """The steps of an order of work with their questions, in its order."""
    asks = _asks(procedure.rows("ask"))
    return tuple(_step(place, row, asks.get(row.text("id"), ())) for place, row in enumerate(procedure.rows("step")))


def limits(numbers: Mapping[str, Number], kit: JobFile, rules: JobFile) -> Mapping[str, Limit]:
    """What a question can be held to, by dotted name: numbers of the plan, facts of the kit and the rules."""
    found = {name: Limit(name, number.node.low, number.node.high, number.node.unit, number.shown)
             for name, number in numbers.items()}
    return MappingProxyType(found | _facts(rules, "rules.") | _facts(kit, "kit."))


def basis(plan: Plan) -> Basis:
    """What a job rests on, from its plan."""
    holds = {hold: tuple(finding.what for finding in found) for hold, found in plan.open_holds.items()}
    files = {kind: file.sha256 for kind, file in vars(plan.files).items()}
    return Basis(plan.version, steps(plan.files.procedure), limits(plan.numbers, plan.kit, plan.rules),
                 MappingProxyType(holds), MappingProxyType(elements(plan.files.procedure, plan.files.kit)),
                 MappingProxyType(files), MappingProxyType(_facts(plan.files.survey, "")))
