"""What a job rests on at one moment: the order of work as a table, and the limits and open holds of one plan.

A basis is made from a plan as it is kept, and never changes; a fact found different makes another plan, and with it
another basis.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from stillbore.job.files import JobFiles
from stillbore.job.procedure import CHANGES
from stillbore.job.schema import JobFile, Row
from stillbore.plan import Plan
from stillbore.plan.barriers import Element, elements
from stillbore.run.kept_plan import KeptPlan, kept_plan
from stillbore.run.limit import Limit


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
    """The plan's version and result, the table, the limits by dotted name (plan numbers, rules and kit), what the plan
    leaves open by hold, the elements before the first step, the hash of each file, and the facts of the survey by
    dotted name."""

    plan: str
    result: str
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


def limits(numbers: Mapping[str, Limit], kit: JobFile, rules: JobFile) -> Mapping[str, Limit]:
    """What a question can be held to, by dotted name: numbers of the plan, facts of the kit and the rules."""
    return MappingProxyType({**numbers, **_facts(rules, "rules."), **_facts(kit, "kit.")})


def basis_of(version: str, files: JobFiles, kept: KeptPlan) -> Basis:
    """What a job rests on, from its files and its plan as they are kept, under the version that the log gives it."""
    return Basis(version, kept.result, steps(files.procedure), limits(kept.numbers, files.kit, files.rules),
                 kept.open_holds, MappingProxyType(elements(files.procedure, files.kit)),
                 MappingProxyType({kind: file.sha256 for kind, file in vars(files).items()}),
                 MappingProxyType(_facts(files.survey, "")))


def basis(plan: Plan) -> Basis:
    """What a job that is opened now rests on."""
    return basis_of(plan.version, plan.files, kept_plan(plan))
