"""What every document of a plan says in the same words: who it is about, on whose figures, of which plan."""

from __future__ import annotations

from datetime import datetime

from stillbore.derive import Traced
from stillbore.plan import Plan
from stillbore.plan.barriers import PIPE_WALL
from stillbore.report.document import Cell, Document, Part, cells
from stillbore.units import show

LONGEST_NAME = 90  # a name from the survey where there is little room
LONGEST_STATEMENT = 330  # what a footer holds; the whole of it stands in the pack's last part
SHORT_HASH = 12  # digits of the plan's hash that stand on every page; the whole of it stands in the pack


def statement(plan: Plan) -> str:
    """Who stands behind the kit's and the rule set's figures; on every page."""
    kit, rules = plan.kit.row("kit"), plan.rules.row("rules")
    return clipped(f"{kit.text('name')}: {kit.text('statement')} {rules.text('name')}: {rules.text('statement')}",
                   LONGEST_STATEMENT)


def mark(plan: Plan) -> str:
    """Which plan a page is of."""
    return f"job {clipped(str(plan.survey.value('job.id')), 20)}, plan {plan.version[:SHORT_HASH]}"


def made_for(plan: Plan) -> datetime:
    """The date of the documents: the start of the working window."""
    start = plan.survey.value("window.start")
    assert isinstance(start, datetime)
    return start


def window(plan: Plan) -> str:
    """The working window in words, with its zone."""
    start, end = made_for(plan), plan.survey.value("window.end")
    assert isinstance(end, datetime)
    until = f"{end:%H:%M}" if end.date() == start.date() else f"{end:%Y-%m-%d %H:%M}"
    zone = start.strftime("%z")
    return f"{start:%Y-%m-%d %H:%M} to {until}, UTC{zone[:3]}:{zone[3:5]}"


def document(plan: Plan, key: str, title: str, *parts: Part) -> Document:
    return Document(key, title, made_for(plan), statement(plan), mark(plan), parts)


def clipped(text: str, most: int) -> str:
    """A text for a page with little room; that something is left out is said."""
    return text if len(text) <= most else f"{text[:most].rstrip()} … (whole in the pack)"


def number(plan: Plan, name: str) -> str:
    """A number of the plan as it is shown, or in words why there is none."""
    found = plan.numbers.get(name)
    return "not worked out" if found is None else found.text


def number_row(plan: Plan, label: str, *names: str, join: str = " to ") -> tuple[Cell, ...]:
    """A row of a sheet: what it is, and one or several numbers of the plan."""
    return cells(label, Cell(join.join(number(plan, name) for name in names), strong=True))


def limit_row(plan: Plan, label: str, name: str, end: str) -> tuple[Cell, ...]:
    """A row with the end of a number's range that has to be kept to: a crew is given one number, not three."""
    found = plan.numbers.get(name)
    value = None if found is None else getattr(found.node, end)
    text = number(plan, name) if found is None or value is None else show(value, found.node.unit, found.shown)
    return cells(label, Cell(text, strong=True))


def why_none(plan: Plan, name: str) -> str:
    """The sentence that says why a number could not be worked out ("" if it could)."""
    found = plan.numbers.get(name)
    return found.node.refusal if found is not None and isinstance(found.node, Traced) else ""


def barriers(count: int, way: tuple[str, ...]) -> tuple[str, str]:
    """The barrier count after a step, and the weakest way, in words."""
    if count == PIPE_WALL:
        return "pipe wall on every way", ""
    if count == 0:
        return "NO barrier", "an open way to the pit"
    return f"{count} barrier" if count == 1 else f"{count} barriers", f"weakest way: {', then '.join(way)}"


def open_holds(plan: Plan) -> str:
    """The holds that stay open, as a list of numbers ("" where there are none)."""
    return ", ".join(str(hold) for hold in plan.open_holds)
