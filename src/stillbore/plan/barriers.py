"""How many barriers stand between the gas and the pit, after each step.

The rig is a graph: spaces (the main, the leg, the kit's compartments, the pit) joined by elements (joints, valves,
the stopper, the wall under the saddle, the pipe at the cut). An element holds gas back only when it is closed *and*
proved; sound pipe and proved permanent fittings rank as pipe wall, through which nothing leaks. The count is the least
number of proved elements that gas has to pass on any way from the main to the pit.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import dataclass

from stillbore.derive import Fact as Root
from stillbore.errors import Fault, InputFaults
from stillbore.job.procedure import CHANGES, PIT_NODE, SOURCE_NODE
from stillbore.job.schema import JobFile, Row
from stillbore.plan.parts import DOES_NOT_APPLY, Number, Workings

# What gas has to pass in each state; None is no way through.
WEIGHT: Mapping[str, int | None] = {"open": 0, "closed": 0, "proved": 1, "permanent": None}
RESULT = dict(zip(CHANGES, ("open", "closed", "proved", "permanent"), strict=True))
PIPE_WALL = -1  # the count where every way is closed by pipe wall


@dataclass(frozen=True)
class Element:
    """Something between two spaces that is open, closed, proved or permanent."""

    name: str
    ends: tuple[str, str]
    state: str


@dataclass(frozen=True)
class PlannedStep:
    """A step of the order of work with the numbers it shows, and the barriers after it."""

    row: Row
    numbers: tuple[Number, ...]
    barriers: int
    way: tuple[str, ...]

    @property
    def hold(self) -> int:
        return int(self.row.values.get("hold", 0))  # type: ignore[call-overload]


def elements(procedure: JobFile, kit: JobFile) -> dict[str, Element]:
    """Every element before the first step: the kit's joints and valves are open, because nothing is fitted yet."""
    found = {}
    for row in kit.rows("joint"):
        found[row.text("id")] = Element(row.text("id"), (row.text("compartment"), PIT_NODE), "open")
    for row in kit.rows("valve"):
        found[row.text("id")] = Element(row.text("id"), _ends(row), "open")
    for row in procedure.rows("element"):
        found[row.text("id")] = Element(row.text("id"), _ends(row), row.text("state"))
    return found


def _ends(row: Row) -> tuple[str, str]:
    first, second = row.texts("between")
    return first, second


def _wrong(place: str, what: str, fix: str) -> InputFaults:
    return InputFaults([Fault(place, f"The step {what}.", fix)])


def change(state: Mapping[str, Element], changes: Mapping[str, tuple[str, ...]], place: str) -> dict[str, Element]:
    """The elements after a step, by what it opens, closes, proves and makes permanent. Only a closed element can be
    proved, only a proved one made permanent (or one that is so already: a step may be done again): InputFaults.
    ``place`` is where the step stands."""
    after = dict(state)
    for sort in CHANGES:
        for name in changes[sort]:
            element = after[name]
            if sort == "proves" and element.state == "open":
                raise _wrong(place, f"proves '{name}', which is open", "Close it in this step or an earlier one.")
            if sort == "makes_permanent" and element.state not in ("proved", "permanent"):
                raise _wrong(place, f"makes '{name}' permanent, which is not proved", "Prove it first.")
            after[name] = Element(name, element.ends, RESULT[sort])
    return after


def apply(state: Mapping[str, Element], step: Row) -> dict[str, Element]:
    """The elements after a step of the procedure. Raises InputFaults as ``change`` does."""
    return change(state, {sort: step.texts(sort) for sort in CHANGES}, f"{step.place}, step '{step.text('id')}'")


def count(state: Mapping[str, Element]) -> tuple[int, tuple[str, ...]]:
    """The barrier count and the weakest way: the proved elements that gas would have to pass on it, main to pit."""
    ways: dict[str, list[tuple[str, int, str]]] = {}
    for element in state.values():
        weight = WEIGHT[element.state]
        if weight is None:
            continue
        first, second = element.ends
        ways.setdefault(first, []).append((second, weight, element.name))
        ways.setdefault(second, []).append((first, weight, element.name))
    queue: list[tuple[int, str, tuple[str, ...]]] = [(0, SOURCE_NODE, ())]
    done: set[str] = set()
    while queue:
        passed, space, way = heapq.heappop(queue)
        if space == PIT_NODE:
            return passed, way
        if space in done:
            continue
        done.add(space)
        for other, weight, name in ways.get(space, ()):
            if other not in done:
                heapq.heappush(queue, (passed + weight, other, (*way, name) if weight else way))
    return PIPE_WALL, ()


def exposed(work: Workings, steps: tuple[PlannedStep, ...]) -> None:
    """Say where the order of work leaves nothing proved between the gas and the pit."""
    for step in steps:
        if step.barriers == 0:
            where = f"{step.row.text('id')} ({step.row.text('action')})"
            work.tell(DOES_NOT_APPLY, f"After step {where} nothing proved stands between the gas and the pit.",
                      "Mend the order of work: prove before something is opened.")


def _seen(state: Mapping[str, Element], gauge: str) -> frozenset[str]:
    """The spaces open to the gauge."""
    spaces = {gauge}
    grown = True
    while grown:
        grown = False
        for element in state.values():
            if element.state == "open" and len(spaces & set(element.ends)) == 1 and PIT_NODE not in element.ends:
                spaces |= set(element.ends)
                grown = True
    return frozenset(spaces)


def _unknown(name: str, row: Row) -> Number:
    return Number(name, name, Root(name, "-", None, None, None, "unknown", row.place), "-")


def planned_steps(procedure: JobFile, kit: JobFile, numbers: Mapping[str, Number]) -> tuple[PlannedStep, ...]:
    """Every step with its numbers and the barriers after it."""
    state = elements(procedure, kit)
    gauge = kit.row("gauge").text("compartment")
    found = []
    for row in procedure.rows("step"):
        state = apply(state, row)
        seen = _seen(state, gauge) if gauge else None
        blind = [name for name in row.texts("proves") if seen is not None and not seen & set(state[name].ends)
                 and not row.values.get("other_gauge", False)]
        if blind:
            what = f"The step '{row.text('id')}' proves '{', '.join(blind)}'"
            raise InputFaults([Fault(row.place, f"{what}, which the gauge cannot see then: a shut valve parts them.",
                                     "Open the valve, or put the gauge where it sees it.")])
        barriers, way = count(state)
        # A number that this plan does not have stands on the card as unknown; it does not vanish from it.
        shown = tuple(numbers.get(name) or _unknown(name, row) for name in row.texts("shows"))
        found.append(PlannedStep(row, shown, barriers, way))
    return tuple(found)
