"""Whether an order of work can come to its end, also when something done has to be done again.

It is worked through by the very rules of a job (``fold`` and ``requirements``), as if every answer were good: once as
it stands, and again from many moments on with one proof or hold opened anew, as a correction or a watch gone stale does
it. Where nothing more can be done and the end is not reached, that is a trap. Aborting is always left; a trap is an
order of work that leaves nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from stillbore.errors import Fault
from stillbore.job.procedure import CHANGES
from stillbore.job.schema import JobFile
from stillbore.plan.barriers import elements
from stillbore.record import events as log
from stillbore.record.events import Event, Happening, Value
from stillbore.run.basis import Basis, Step
from stillbore.run.fold import apply, reopen
from stillbore.run.instants import instant
from stillbore.run.limit import Limit
from stillbore.run.requirements import kept_back
from stillbore.run.state import State

MOST_ROUNDS = 4  # how often a step may be done on one way to the end; more would be going round in a ring


def _event(what: Happening) -> Event:
    return Event("", "D", 0, 0, "", "", "2030-01-01T00:00:00+00:00", what)


NOW = instant(_event(log.Finished()))


def allowed(condition: str) -> tuple[str, tuple[str, ...]]:
    """The question of an ``only_if``, and the answers that will do."""
    key, _, choices = condition.partition("=")
    return key.strip(), tuple(choice.strip() for choice in choices.split("|"))


def traps(table: tuple[Step, ...], procedure: JobFile, kit: JobFile, limits: Mapping[str, Limit]) -> list[Fault]:
    """Every trap, named once where it was first found."""
    basis = Basis("", "", table, limits, MappingProxyType({}), MappingProxyType(elements(procedure, kit)),
                  MappingProxyType({}), MappingProxyType({}))
    places = {row.text("id"): row.place for row in procedure.rows("step")}
    whole = _Walk(State.begin(basis))
    whole.go()
    if whole.stuck:
        return [Fault(places[whole.stuck], f"The work cannot come past {whole.stuck}: {whole.why}.",
                      "Mend what keeps it back.")]
    found: dict[tuple[str, str], Fault] = {}
    for answers, said in _other_answers(table):
        walk = _Walk(State.begin(basis), answers)
        walk.go()
        if walk.stuck:
            found.setdefault((walk.stuck, said), Fault(
                places[walk.stuck], f"Once {said}, the work cannot come past {walk.stuck}: {walk.why}.",
                "Let the question be asked again before it, or let the step be done with that answer."))
    for moment, state in _moments(whole):
        for step in table:
            walk = _opened_again(state, step)
            if walk is None:
                continue
            walk.go()
            if walk.stuck:
                found.setdefault((walk.stuck, step.id), Fault(
                    places[step.id], f"After {moment}, once {step.id} is open again, the work cannot come past "
                    f"{walk.stuck}: {walk.why}.", f"Let a later step do {step.id} again (repeats), or let less rest "
                    "on it."))
    return list(found.values())


def _other_answers(table: tuple[Step, ...]) -> Iterator[tuple[dict[str, str], str]]:
    """For each question that a later step depends on, each answer that is good enough for its own step."""
    asks = {ask.key: ask for step in table for ask in step.asks}
    for key in sorted({allowed(condition)[0] for step in table for condition in step.only_if}):
        ask = asks[key]
        for choice in ask.good or ask.choices or (("yes", "no") if not ask.wanted else (ask.wanted,)):
            yield {key: choice}, f"{key} is '{choice}'"


def _moments(whole: _Walk) -> Iterator[tuple[str, State]]:
    """After each step that changes a barrier or is a hard hold, and before each that rests on what counts for a time
    only."""
    after = [*whole.states[1:], whole.state]
    for number, step in enumerate(whole.order):
        following = whole.order[number + 1] if number + 1 < len(whole.order) else None
        timed = following and any(other.counts_for for name in following.rests_on
                                  if (other := whole.state.basis.step(name)))
        if timed or step.hold or step.touched(*CHANGES):
            yield step.id, after[number]


def _opened_again(state: State, step: Step) -> _Walk | None:
    """The walk from here on with a step opened again, or None where that changes nothing."""
    if not (step.hold or step.counts_for or step.touched("proves")) or not state.stands(step.id):
        return None
    changed = state.copy()
    reopen(changed, step.id, "it was looked at again", NOW)
    return None if changed.done == state.done else _Walk(changed)


@dataclass
class _Walk:
    """Everything done that can be, in the order of the table; what nobody asks of is left alone. ``order`` and
    ``states``: what was done, and the state before each. ``stuck``: the first step that can never be done, and why."""

    state: State
    answers: dict[str, str] = field(default_factory=dict)
    order: list[Step] = field(default_factory=list)
    states: list[State] = field(default_factory=list)
    stuck: str = ""
    why: str = ""

    def go(self) -> None:
        basis = self.state.basis
        while waiting := [step for name in self.state.next_steps if (step := basis.step(name))]:
            step = next((step for step in waiting if not kept_back(self.state, step, NOW)), None)
            if step is None:
                step = next((again for each in waiting for again in self._ask_again(each)), None)
            if step is None or sum(done.id == step.id for done in self.order) >= MOST_ROUNDS:
                self._stop(waiting[0])
                return
            self._do(step)

    def _stop(self, step: Step) -> None:
        reasons = kept_back(self.state, step, NOW) or ["it goes round in a ring"]
        self.stuck, self.why = step.id, reasons[0].rstrip(".")

    def _ask_again(self, step: Step) -> Iterator[Step]:
        """Steps whose answer keeps this one back, and which can be asked again."""
        for key, choices in map(allowed, step.only_if):
            asked = self.state.basis.step(key.partition(".")[0])
            answer = self.state.answers.get(key)
            if asked and answer and answer.value.text not in choices and not kept_back(self.state, asked, NOW):
                self.answers[key] = choices[0]
                yield asked

    def _do(self, step: Step) -> None:
        self.states.append(self.state.copy())
        self.order.append(step)
        for ask in step.asks:
            wanted = self.answers.get(ask.key) or next(iter(ask.good), "") or ask.wanted or next(iter(ask.choices), "")
            apply(self.state, "", _event(log.Answered(step.id, ask.name, Value(text=wanted, how="seen"))), {})
        apply(self.state, "", _event(log.Done(step.id)), {})
