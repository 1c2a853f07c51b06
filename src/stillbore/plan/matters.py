"""Which fact of the survey matters most: the one that most of what is not met, or not proven, hangs on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stillbore.derive import Fact, Node
from stillbore.plan import Plan
from stillbore.plan.parts import NOTE, Check
from stillbore.verdicts import MET


@dataclass(frozen=True)
class Matter:
    """A fact of the survey that is not exactly known or not measured; the checks that rest on it and are not met, and
    all that rest on it, by title."""

    fact: Fact
    open: tuple[str, ...]
    all: tuple[str, ...]


def matters(plan: Plan) -> tuple[Matter, ...]:
    """Facts of the survey, what matters most first: what is unknown, because the plan then reckons with the worst of
    all that it may be and no check can name the fact; then by the open checks that are more than a note, then by all
    checks. A fact that was measured and on which nothing open rests is left out: measuring it again would change
    nothing. So is one that may be left out of a survey, was, and has no check that rests on it."""
    facts, wanted = [], set()
    for section in plan.survey.schema.sections:
        optional = {field.key for field in section.fields if field.optional}
        for row in plan.survey.rows(section.key):
            facts += row.facts.values()
            wanted |= {id(fact) for key, fact in row.facts.items() if key not in optional}
    own = set(map(id, facts))
    open_checks: dict[Fact, list[str]] = {}
    all_checks: dict[Fact, list[str]] = {}
    grave: dict[Fact, int] = {}
    for check in (check for section in plan.sections for check in section.checks):
        for fact in {each for node in (check.measured, check.limit) for each in _roots(node) if id(each) in own}:
            all_checks.setdefault(fact, []).append(check.title)
            if check.verdict != MET:
                open_checks.setdefault(fact, []).append(check.title)
                grave[fact] = grave.get(fact, 0) + _weighs(check)
    found = [Matter(fact, tuple(open_checks.get(fact, ())), tuple(all_checks.get(fact, ()))) for fact in facts
             if fact in open_checks or (fact in all_checks and not (fact.measured and _known(fact)))
             or (id(fact) in wanted and not _known(fact))]
    return tuple(sorted(found, key=lambda each: (_known(each.fact), -grave.get(each.fact, 0), -len(each.open),
                                                 -len(each.all), each.fact.name)))


def _known(fact: Fact) -> bool:
    return fact.known or bool(fact.composition)


def _weighs(check: Check) -> int:
    return int(check.means != NOTE)


def _roots(node: Node) -> Iterator[Fact]:
    if isinstance(node, Fact):
        yield node
        return
    yield from node.directions
    for child in node.inputs.values():
        yield from _roots(child)
