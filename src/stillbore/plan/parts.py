"""What a plan is made of: numbers, checks, findings and sections, and the workings that collect them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from stillbore.derive import Fact, Node, Traced, derive, envelope, span_text, worst
from stillbore.display import METRIC, Display
from stillbore.job.schema import JobFile
from stillbore.units import show_difference
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

if TYPE_CHECKING:
    from stillbore.plan.new_pipe import Renewal

# What a finding means for the method. "hold stays open": it may be planned, but the hold cannot be signed.
DOES_NOT_APPLY = "does not apply"
ENGINEER = "refer to an engineer"
HOLD_OPEN = "hold stays open"
NOTE = "note"
LEVELS = (DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE)


@dataclass(frozen=True)
class Number:
    """A number of the plan: its dotted name, what it is, the node that carries it, and the unit it is shown in, which
    is of the plan's system."""

    name: str
    title: str
    node: Node
    shown: str

    @property
    def text(self) -> str:
        return span_text(self.node, self.shown)


@dataclass(frozen=True)
class Check:
    """A number against a limit of the rule set or the kit.

    ``means`` is the finding level if it is not met.
    """

    title: str
    verdict: str
    measured: Node
    limit: Node
    wanted: str
    shown: str
    means: str

    @property
    def text(self) -> str:
        return f"{span_text(self.measured, self.shown)}; wanted {self.wanted} {span_text(self.limit, self.shown)}"

    @property
    def margin(self) -> str:
        """How far the worst end lies on the right side of the limit ("" where something is unknown)."""
        ends = (self.measured.low, self.measured.high, self.limit.low, self.limit.high)
        if any(end is None for end in ends):
            return ""
        low, high, limit_low, limit_high = ends
        spare = limit_low - high if self.wanted == "at most" else low - limit_high  # type: ignore[operator]
        text = show_difference(abs(spare), self.measured.unit, self.shown)
        return f"{text} to spare" if spare >= 0.0 else f"{text} too {'much' if self.wanted == 'at most' else 'little'}"


@dataclass(frozen=True)
class Finding:
    """Something to be told, what it means for the method, what to do about it, and the holds it keeps open."""

    level: str
    what: str
    do: str
    holds: tuple[int, ...] = ()


@dataclass(frozen=True)
class Grid:
    """A small table: heading, column titles, rows of text."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass
class Section:
    """One question of the plan and its answer."""

    key: str
    title: str
    numbers: list[Number] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    grids: list[Grid] = field(default_factory=list)


@dataclass(frozen=True)
class Tube:
    """A tube that the pipe may be: a key for number names, its title, and its dimensions."""

    key: str
    title: str
    outside_diameter: Fact
    wall: Fact


class Workings:
    """A plan under construction: the files, the sections so far, and every number by name."""

    def __init__(self, survey: JobFile, kit: JobFile, rules: JobFile, display: Display = METRIC) -> None:
        self.survey = survey
        self.kit = kit
        self.rules = rules
        self.display = display
        self.sections: list[Section] = []
        self.numbers: dict[str, Number] = {}
        self.tubes: tuple[Tube, ...] = ()
        self.size = ""
        self.renewal: Renewal | None = None

    def section(self, key: str, title: str) -> None:
        self.sections.append(Section(key, title))

    @property
    def here(self) -> Section:
        return self.sections[-1]

    def keep(self, title: str, node: Node, shown: str, name: str = "") -> Node:
        """Show a node under its own name, or a name of the plan; ``shown`` is the unit where the plan is in metric
        units. A name is given once."""
        number = Number(name or node.name, title, node, self.display.unit_of(shown, node))
        assert number.name not in self.numbers, f"the number {number.name} is given twice"
        self.numbers[number.name] = number
        self.here.numbers.append(number)
        return node

    def work(self, name: str, title: str, shown: str, function: Callable[..., object], /, result: str = "",
             **inputs: Node) -> Traced:
        """Derive a number and show it."""
        node = derive(name, function, result, **inputs)
        self.keep(title, node, shown)
        return node

    def cover(self, name: str, title: str, shown: str, nodes: dict[str, Node]) -> Traced:
        """Show the envelope over the tubes it may be."""
        node = envelope(name, nodes)
        self.keep(title, node, shown)
        return node

    def take(self, name: str, title: str, shown: str, node: Node, end: str) -> Traced:
        """Show the worst end of a number as the value to reckon with."""
        found = worst(name, node, end)
        self.keep(title, found, shown)
        return found

    def each(self, name: str, title: str, shown: str, make: Callable[[str, Tube], Traced]) -> dict[str, Node]:
        """Work a number out for every tube it may be (``name`` with the tube's key in place of the star) and show
        each; returns them by the tube's key."""
        found: dict[str, Node] = {}
        for tube in self.tubes:
            node = make(name.replace("*", tube.key), tube)
            self.keep(f"{title}, {tube.title}", node, shown)
            found[tube.key] = node
        return found

    def limit(self, dotted: str) -> Fact:
        return self.rules.fact(dotted)

    def show(self, value: float, si_unit: str, metric: str | None = None, significant: int = 3) -> str:
        """An SI value in a sentence, in the plan's system of units."""
        return self.display.show(value, si_unit, metric, significant)

    def span(self, node: Node, metric: str | None = None) -> str:
        """A number with its range in a sentence, in the plan's system of units."""
        return self.display.span(node, metric)

    def said(self, fact: Fact, metric: str | None = None) -> str:
        """A fact in a sentence, in the plan's system of units."""
        return self.display.said(fact, metric)

    def tell(self, level: str, what: str, do: str, *holds: int) -> None:
        self.here.findings.append(Finding(level, what, do, tuple(holds)))

    def at_most(self, title: str, measured: Node, limit: Node, shown: str, means: str, *holds: int,
                do: str = "") -> str:
        """Check that the whole range of a number is at or below a limit."""
        return self._check(title, measured, limit, "at most", shown, means, holds, do)

    def at_least(self, title: str, measured: Node, limit: Node, shown: str, means: str, *holds: int,
                 do: str = "") -> str:
        """Check that the whole range of a number is at or above a limit."""
        return self._check(title, measured, limit, "at least", shown, means, holds, do)

    def _check(self, title: str, measured: Node, limit: Node, wanted: str, shown: str, means: str,
               holds: Iterable[int], do: str) -> str:
        verdict = verdict_of(measured, limit, wanted)
        check = Check(title, verdict, measured, limit, wanted, self.display.unit_of(shown, measured, limit), means)
        self.here.checks.append(check)
        if verdict == NOT_MET:
            if means == NOTE and holds:
                means = HOLD_OPEN  # known bad is not quieter than uncertain
            advice = do or "Change what it depends on, or choose another way."
            self.here.findings.append(Finding(means, f"{capital(title)}: {check.text}.", advice, tuple(holds)))
        elif verdict == NOT_PROVEN:
            self.here.findings.append(_not_proven(check, tuple(holds), do))
        return verdict


def capital(sentence: str) -> str:
    """A sentence with its first letter capital."""
    return sentence[:1].upper() + sentence[1:]


def _not_proven(check: Check, holds: tuple[int, ...], do: str) -> Finding:
    """What to tell when a check is not proven: an unknown wants measuring, a range that straddles wants narrowing, or
    what would be done if it were not met."""
    reason = f" {check.measured.refusal}" if isinstance(check.measured, Traced) and check.measured.refusal else ""
    what = f"{capital(check.title)} is not proven: {check.text}.{reason}"
    if not (check.measured.known and check.limit.known):
        level = HOLD_OPEN if holds else NOTE
        return Finding(level, what, "Measure it; until then the hold stays open." if holds else "Measure it.", holds)
    return Finding(HOLD_OPEN if holds else check.means, what, f"Measure it more closely. {do}".strip(), holds)


def verdict_of(measured: Node, limit: Node, wanted: str) -> str:
    """Met only if the whole range clears the whole of the limit; not met only if none of it does."""
    if (not measured.known or not limit.known or (isinstance(measured, Traced) and measured.refusal)):
        return NOT_PROVEN
    assert measured.low is not None and measured.high is not None and limit.low is not None and limit.high is not None
    # A hair of slack, so that a limit met to the last printed digit is not lost to the last bit.
    slack = 1e-9 * max(abs(limit.low), abs(limit.high))
    if wanted == "at most":
        if measured.high <= limit.low + slack:
            return MET
        return NOT_MET if measured.low > limit.high + slack else NOT_PROVEN
    if measured.low >= limit.high - slack:
        return MET
    return NOT_MET if measured.high < limit.low - slack else NOT_PROVEN
