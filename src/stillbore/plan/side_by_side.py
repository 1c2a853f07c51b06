"""Several plans side by side: the result of each, what decides it, the numbers to work from, and the margins.

It ranks nothing and chooses nothing. All plans of a comparison are made with one kit, one rule set and one system of
units, so that what differs is the service or the route.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from stillbore.plan import Plan
from stillbore.plan.export import plan_json
from stillbore.plan.method import APPLIES
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, Check

FORMAT = "stillbore side by side 1"
DECIDING = (DOES_NOT_APPLY, ENGINEER, HOLD_OPEN)
MISSING = "-"  # this plan has no such number or check
SHOWN = ("inputs", "result", "findings", "open_holds")  # of a plan's JSON
EVERY_PLAN = ("pipe.bore", "renewal.load")  # shown beside what the order of work shows


Row = tuple[str, tuple[str, ...]]


@dataclass(frozen=True)
class Block:
    """A heading, and rows with a label and a text for every plan; ``alike``: one text, the same in all of them."""

    title: str
    rows: tuple[Row, ...]
    alike: bool = False


@dataclass(frozen=True)
class SideBySide:
    """The plans, what each is called, and the blocks of the table."""

    plans: tuple[Plan, ...]
    names: tuple[str, ...]
    blocks: tuple[Block, ...]


def side_by_side(plans: Sequence[Plan]) -> SideBySide:
    """Lay plans beside each other, in the order given."""
    blocks = (Block("Answer", tuple(_answers(plans))), Block("What decides", tuple(_findings(plans))),
              Block("New pipes of the kit", tuple(_candidates(plans))), *_parted("Numbers", _numbers(plans)),
              *_parted("Margins of the checks that may decide", _margins(plans)))
    return SideBySide(tuple(plans), _names(plans), tuple(block for block in blocks if block.rows))


def _parted(title: str, rows: Iterable[Row]) -> tuple[Block, Block]:
    """What differs, and what is the same in every plan: nobody should have to look for the difference."""
    found = tuple(rows)
    alike = tuple((label, texts[:1]) for label, texts in found if len(set(texts)) == 1)
    return (Block(f"{title}: different", tuple(row for row in found if len(set(row[1])) > 1)),
            Block(f"{title}: the same in all", alike, True))


def _names(plans: Sequence[Plan]) -> tuple[str, ...]:
    """What each plan is called: its job and route, and the survey's file where two would be called alike."""
    names = [f"{plan.survey.value('job.id')}, {plan.survey.value('job.route')}" for plan in plans]
    return tuple(f"{name} ({plan.survey.name})" if names.count(name) > 1 else name
                 for name, plan in zip(names, plans, strict=True))


def result_words(plan: Plan) -> str:
    """The result of a plan in a few words; while a deciding hold is open, that it is not yet known."""
    if plan.result != APPLIES:
        return plan.result
    return "applies, as far as is known" if plan.known_enough else "not yet known whether it applies"


def _answers(plans: Sequence[Plan]) -> Iterator[Row]:
    yield "place", tuple(str(plan.survey.value("job.place")) for plan in plans)
    yield "asset", tuple(str(plan.survey.value("job.asset")) for plan in plans)
    yield "houses fed", tuple(str(len(plan.survey.rows("fed"))) for plan in plans)
    yield "the method", tuple(result_words(plan) for plan in plans)
    yield "holds that cannot be signed yet", tuple(", ".join(map(str, plan.open_holds)) or "none known"
                                                   for plan in plans)


def _findings(plans: Sequence[Plan]) -> Iterator[Row]:
    """The findings of each level in one cell, a line each."""
    for level in DECIDING:
        texts = tuple("\n".join(f"- {finding.what}" for finding in plan.findings if finding.level == level)
                      for plan in plans)
        if any(texts):
            yield level, tuple(text or MISSING for text in texts)


def _names_shown(plans: Sequence[Plan]) -> dict[str, str]:
    """The numbers that any of the orders of work shows at its steps, with their titles."""
    shown = [number.name for plan in plans for step in plan.steps for number in step.numbers]
    return {name: next(plan.numbers[name].title for plan in plans if name in plan.numbers)
            for name in dict.fromkeys((*EVERY_PLAN, *shown)) if any(name in plan.numbers for plan in plans)}


def _numbers(plans: Sequence[Plan]) -> Iterator[Row]:
    for name, title in _names_shown(plans).items():
        yield title, tuple(plan.numbers[name].text if name in plan.numbers else MISSING for plan in plans)


def _candidates(plans: Sequence[Plan]) -> Iterator[Row]:
    """Each new pipe: whether it passes, carries the load and can be pushed, in the words of the plan's own table."""
    tables = [{row[0]: (grid.columns, row) for section in plan.sections for grid in section.grids
               if section.key == "renewal" and grid.title == "Candidates" for row in grid.rows} for plan in plans]
    for name in dict.fromkeys(name for table in tables for name in table):
        yield name, tuple("; ".join(_candidate(*table[name])) if name in table else MISSING for table in tables)


def _candidate(columns: tuple[str, ...], row: tuple[str, ...]) -> Iterator[str]:
    return (cell if index == 1 else f"{title}: {cell}"
            for index, (title, cell) in enumerate(zip(columns, row, strict=True)) if index and cell)


def _deciding_checks(plan: Plan) -> dict[str, Check]:
    return {check.title: check for section in plan.sections for check in section.checks
            if check.means in (DOES_NOT_APPLY, ENGINEER)}


def _margins(plans: Sequence[Plan]) -> Iterator[Row]:
    found = [_deciding_checks(plan) for plan in plans]
    for title in dict.fromkeys(title for checks in found for title in checks):
        yield title, tuple(", ".join(filter(None, (checks[title].verdict, checks[title].margin)))
                           if title in checks else MISSING for checks in found)


def side_by_side_json(found: SideBySide) -> dict[str, object]:
    """The comparison as plain values, in a fixed order: of each plan what its own JSON says, cut down to the numbers
    and checks of the table. Values are SI; ``units`` is the system of the texts."""
    cases = []
    names = set(_names_shown(found.plans))
    pipes = tuple(_candidates(found.plans))
    for index, (name, plan) in enumerate(zip(found.names, found.plans, strict=True)):
        whole = plan_json(plan)
        numbers, checks = whole["numbers"], whole["checks"]
        assert isinstance(numbers, dict) and isinstance(checks, list)
        cases.append({
            "name": name, "place": plan.survey.value("job.place"), "asset": plan.survey.value("job.asset"),
            "route": plan.survey.value("job.route"), **{key: whole[key] for key in SHOWN},
            "numbers": {key: value for key, value in numbers.items() if key in names},
            "checks": [check for check in checks if check["if_not_met"] in (DOES_NOT_APPLY, ENGINEER)],
            "new_pipes": {label: texts[index] for label, texts in pipes}})
    return {"format": FORMAT, "units": found.plans[0].display.name, "cases": cases}
