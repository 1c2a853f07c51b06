"""An order of work gone through once, watching what stands between the gas and the pit.

A *one-barrier window* begins where a step opens a way out into the pit behind one proved element, and lasts until that
way out is closed and proved. Never two at once; never begun on a proof that may be stale; none left at the end
(handbook, trade.md 2.1).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from stillbore.errors import Fault, InputFaults
from stillbore.job.procedure import CHANGES, PIT_NODE
from stillbore.job.schema import JobFile
from stillbore.plan.barriers import PIPE_WALL, RESULT, Element, apply, count, elements, planned_steps
from stillbore.run.basis import Step, steps

UNPROVED = ("open", "closed")


@dataclass(frozen=True)
class Way:
    """A way out into the pit that is open or not proved: the element at its end, and the proved elements, as few as
    can be, that hold the gas back from it."""

    end: str
    held_by: tuple[str, ...]


def ways_out(state: Mapping[str, Element]) -> list[Way]:
    """Every way out into the pit that is open or not proved, and that gas could reach past proved elements."""
    found = []
    for name, element in state.items():
        if PIT_NODE in element.ends and element.state in UNPROVED:
            alone = {other: replace(each, state="permanent") if PIT_NODE in each.ends else each
                     for other, each in state.items()} | {name: replace(element, state="open")}
            barriers, held_by = count(alone)
            if barriers != PIPE_WALL:
                found.append(Way(name, held_by))
    return found


@dataclass(frozen=True)
class Stage:
    """A step, where it stands, and what is so after it: the elements, the barrier count with the weakest way, and the
    ways out of every one-barrier window. ``faults``: what the step cannot do."""

    step: Step
    place: str
    state: Mapping[str, Element]
    barriers: int
    way: tuple[str, ...]
    windows: tuple[Way, ...] = ()
    faults: tuple[Fault, ...] = ()


def stages(procedure: JobFile, kit: JobFile) -> list[Stage]:
    """The whole order of work, step by step, also where it is wrong."""
    state, opened, found = elements(procedure, kit), False, []
    for row, step in zip(procedure.rows("step"), steps(procedure), strict=True):
        wrong: tuple[Fault, ...] = ()
        try:
            state = apply(state, row)
        except InputFaults as error:
            wrong, state = error.faults, _anyhow(state, step)
        # Before anything has been opened, the pipe itself holds the gas: that is no window.
        opened = opened or bool(step.touched("opens"))
        windows = tuple(way for way in ways_out(state) if len(way.held_by) == 1) if opened else ()
        found.append(Stage(step, row.place, state, *count(state), windows, wrong))
    return found


def barrier_faults(procedure: JobFile, kit: JobFile) -> list[Fault]:
    """What the barriers come to, step by step, that must not be."""
    course, found = stages(procedure, kit), []
    table = tuple(stage.step for stage in course)
    opened: set[str] = set()
    before: Stage | None = None
    for stage in course:
        opened |= stage.step.touched("opens")
        found += stage.faults
        found += [Fault(stage.place, what, fix) for what, fix in (*_exposed(before, stage),
                                                                  *_windows(before, stage, table, opened))]
        before = stage
    found += [Fault(course[-1].place, what, fix) for what, fix in _left(course[-1].state, table)]
    if not found:
        try:
            planned_steps(procedure, kit, {})  # whether the gauge can see what is proved
        except InputFaults as error:
            found += error.faults
    return found


def _anyhow(state: Mapping[str, Element], step: Step) -> dict[str, Element]:
    """The elements as the step says, though it cannot be so: to go on looking."""
    return {**state, **{name: replace(state[name], state=RESULT[sort]) for sort in CHANGES
                        for name in step.changes[sort]}}


def _exposed(before: Stage | None, stage: Stage) -> Iterator[tuple[str, str]]:
    if stage.barriers == 0 and (before is None or before.barriers != 0):
        yield (f"After {stage.step.id} nothing proved stands between the gas and the pit.",
               "Prove something before this is opened or moved.")


def _windows(before: Stage | None, stage: Stage, table: tuple[Step, ...],
             opened: set[str]) -> Iterator[tuple[str, str]]:
    new = set(stage.windows) - set(before.windows if before else ())
    if new and (sum(way.end in opened for way in stage.windows) > 1 or
                len({way.held_by for way in stage.windows}) > 1):
        yield (f"After {stage.step.id} there are two one-barrier windows at once: "
               f"{', '.join(f'{way.end} (held by {way.held_by[0]} alone)' for way in stage.windows)}.",
               "Close and prove the one before the other is opened.")
    for way in stage.windows:
        if way.end in stage.step.touched("opens"):
            yield from _fresh(stage.step, way, table)


def _fresh(step: Step, way: Way, table: tuple[Step, ...]) -> Iterator[tuple[str, str]]:
    """Whether a window rests on a proof of what will hold alone, one that goes stale."""
    holder = way.held_by[0]
    proofs = [other for other in table[:step.place] if holder in other.touched("proves")]
    rested = [other for other in proofs if other.id in step.rests_on]
    if not rested:
        proved = f", such as {proofs[-1].id}" if proofs else ""
        yield (f"{step.id} opens {way.end} with {holder} alone behind it, and does not rest on the proof of {holder}.",
               f"Write the step that proves it into rests_on{proved}.")
    elif not any(other.counts_for for other in rested):
        yield (f"{step.id} opens {way.end} with {holder} alone behind it, and the proof of {holder} "
               f"({rested[-1].id}) never goes stale.", 'Say how long it counts, as counts_for = "letby.fresh".')


def _left(state: Mapping[str, Element], table: tuple[Step, ...]) -> Iterator[tuple[str, str]]:
    moved = {name for step in table for sort in CHANGES for name in step.changes[sort]}
    ends = {way.end for way in ways_out(state)}
    for name in sorted(ends):
        yield (f"At the end {name} is {state[name].state} into the pit, not proved, and gas can come to it.",
               "Close it and prove it before the end.")
    for name in sorted(moved - ends):
        if state[name].state == "closed":
            yield f"At the end {name} is closed and not proved.", "Prove it before the end."
