"""What each event does to the state. It refuses nothing and never fails: what was written has happened. Whether it
should have been accepted is ``step``'s question."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from stillbore.errors import UnitError
from stillbore.job.procedure import CHANGES
from stillbore.plan.barriers import RESULT, Element, count
from stillbore.record import events as log
from stillbore.record.events import Event, Happening
from stillbore.run.answers import span
from stillbore.run.basis import Basis, Step
from stillbore.run.instants import Instant, instant
from stillbore.run.limit import Limit
from stillbore.run.state import Answer, Bases, Completion, Course, Evidence, Reading, Remark, Signature, State
from stillbore.units import parse
from stillbore.verdicts import NOT_MET, NOT_PROVEN

LET_BY = "gauge let-by"


def fold(events: Iterable[tuple[str, Event]], bases: Bases) -> State:
    """The state that a log comes to: pairs of (hash, event) in merged order, and the basis of each plan by its version.
    Raises KeyError for a plan that is not among them."""
    state: State | None = None
    for hash, event in events:
        if state is None:
            plan = event.happening.plan if isinstance(event.happening, log.Opened) else next(iter(bases))
            state = State.begin(bases[plan])
        apply(state, hash, event, bases)
    if state is None:
        raise KeyError("a log without events")
    return state


def apply(state: State, hash: str, event: Event, bases: Bases) -> None:
    """Change the state by one event."""
    state.number += 1
    at = instant(event)
    state.latest[event.device] = at
    change = _CHANGES.get(type(event.happening))
    if change:
        change(state, hash, event, at, event.happening, bases)


def _opened(state: State, hash: str, event: Event, at: Instant, what: log.Opened, bases: Bases) -> None:
    state.job, state.replayed, state.training = event.job, what.replayed, what.training
    state.people.update({person.id: person for person in what.people})
    state.course = (Course(state.number, "", at, state.barriers, state.way),)


def _enrolled(state: State, hash: str, event: Event, at: Instant, what: log.Enrolled, bases: Bases) -> None:
    state.people[what.person.id] = what.person


def _present(state: State, hash: str, event: Event, at: Instant, what: log.Present, bases: Bases) -> None:
    state.present[what.who] = what.here


def _monitor(state: State, hash: str, event: Event, at: Instant, what: log.Monitor, bases: Bases) -> None:
    state.monitor = what.instrument if what.on and what.bumped else ""


def _answered(state: State, hash: str, event: Event, at: Instant, what: log.Answered, bases: Bases) -> None:
    key = f"{what.step}.{what.ask}"
    state.answers[key] = Answer(hash, state.number, event.person, at, what.value, what.verdict, what.limit, what.rule,
                                what.sentence, what.evidence)
    _compare(state, key)
    if what.verdict in (NOT_MET, NOT_PROVEN) and state.stands(what.step):
        # Looked at once more after it was done, and found bad: what was signed before does not outlive that.
        reopen(state, what.step, f"{key} was answered again: {what.verdict}", at)


def _compare(state: State, key: str) -> None:
    """Whether an answer differs from the fact of the survey that it finds out: then the plan has to be made again. A
    fact known as a range has its uncertainty in it; one written as a single value is given the question's."""
    ask, answer = state.basis.asks.get(key), state.answers[key]
    state.different.pop(key, None)
    fact = state.basis.facts.get(ask.tells) if ask and ask.tells else None
    if ask is None or fact is None or not answer.value.number:
        return
    try:
        low, high = span(ask, replace(answer.value, uncertainty=""), fact.unit)
    except UnitError:
        return
    best, room = (low + high) / 2.0, (high - low) / 2.0 if fact.low == fact.high else 0.0
    slack = room + 1e-9 * abs(best)
    if fact.low is None or fact.high is None or not fact.low - slack <= best <= fact.high + slack:
        state.different[key] = ask.tells


def _kept(state: State, hash: str, event: Event, at: Instant, what: log.Kept, bases: Bases) -> None:
    kept = Evidence(hash, state.number, event.person, at, what)
    state.evidence[what.step] = (*state.evidence.get(what.step, ()), kept)


def _signed(state: State, hash: str, event: Event, at: Instant, what: log.Signed, bases: Bases) -> None:
    signature = Signature(hash, state.number, event.person, at, what)
    state.signatures[what.step] = (*state.signatures.get(what.step, ()), signature)


def _district(state: State, hash: str, event: Event, at: Instant, what: log.District, bases: Bases) -> None:
    state.district = (*state.district, Reading(hash, state.number, at, what.value, what.place))
    if not state.watched_at:
        return
    pressure = district_pressure(state)
    margin = state.basis.limits.get("rules.letby.pressure_margin")
    for step, watched in list(state.watched_at.items()):
        if pressure is not None and pressure > watched + ((margin.low or 0.0) if margin else 0.0) and \
                state.stands(step):
            reopen(state, step, "the district has risen above what the let-by watch counts for", at)


def district_pressure(state: State) -> float | None:
    """The upper end of the last reading of the district [Pa gauge]; None where there is none that can be read."""
    if not state.district:
        return None
    value = state.district[-1].value
    try:
        return _pressure(value)
    except (UnitError, ValueError):
        return None


def _pressure(value: log.Value) -> float | None:
    return parse(value.written, "Pa gauge").high if value.number else None


def _done(state: State, hash: str, event: Event, at: Instant, what: log.Done, bases: Bases) -> None:
    step = state.basis.step(what.step)
    if step is None:
        return
    people = tuple(signature.person for signature in state.signed(step.id)) or (event.person,)
    answers = tuple(found for ask in step.asks if (found := state.answer(ask.key)))
    if state.stands(step.id):  # done again though it stood: what rests on it has to be looked at again
        _reopen_resting(state, step, f"{step.id} was done again", at)
    _change_elements(state, step, at)
    before, (state.barriers, state.way) = (state.barriers, state.way), count(state.elements)
    if before != (state.barriers, state.way):
        state.course = (*state.course, Course(state.number, step.id, at, state.barriers, state.way))
    completion = Completion(hash, state.number, step.id, at, people, state.basis.plan, state.barriers, answers)
    for done in filter(None, (step.id, step.repeats)):
        if done in state.done:
            state.earlier = (*state.earlier, state.done[done])
        state.done[done] = completion
        state.since[done] = state.number
        state.due.pop(done, None)
        if any(ask.sort == LET_BY for ask in step.asks):
            state.watched_at[done] = district_pressure(state) or 0.0


def _change_elements(state: State, step: Step, at: Instant) -> None:
    for change in CHANGES:
        for name in step.changes[change]:
            element = state.elements.get(name)
            if element:
                state.elements[name] = Element(name, element.ends, RESULT[change])
    moved = step.touched("opens", "closes") - step.touched("proves")
    for other in state.basis.steps:
        if other.id != step.id and moved & other.touched("proves") and state.stands(other.id):
            reopen(state, other.id, f"{step.id} has moved {', '.join(sorted(moved & other.touched('proves')))}", at,
                   step)


def still_wanted(state: State, step: Step) -> bool:
    """Whether anything not yet done rests on a step, or on what rests on it; if not, doing it again serves nothing. It
    is not looked for behind a step that opened something: what is open no longer rests on anything."""
    names, looked = {step.id, step.repeats} - {""}, set()
    while names - looked:
        looked |= names
        for other in state.basis.steps:
            if names & set(other.rests_on):
                if not state.stands(other.id):
                    return True
                if not other.touched("opens"):
                    names = names | {other.id}
    return False


def reopen(state: State, step_id: str, why: str, at: Instant, by: Step | None = None) -> None:
    """A step no longer stands: it is due again, and so is what rests on it. A step that opened something is never
    undone by paper, and one that nothing undone rests on is not done again; both are remarked."""
    step = state.basis.step(step_id)
    completion = state.done.get(step_id)
    if step is None or completion is None or not completion.stands:
        return
    if step.touched("opens"):
        state.remarks = (*state.remarks, Remark(state.number, step_id, at, f"Was done before {why}."))
        return
    later = next((other.id for other in state.basis.steps if other.repeats == step_id and by and
                  other.place > by.place), "")
    if not later and not still_wanted(state, step):
        if by and by.place > step.place:
            return  # the order of work itself goes on from there
        state.remarks = (*state.remarks, Remark(state.number, step_id, at,
                                                f"It no longer rests on what it did ({why}), and nothing that is "
                                                "still to be done rests on it."))
        return
    state.done[step_id] = replace(completion, reopened=why)
    state.since[step_id] = state.number
    state.watched_at.pop(step_id, None)
    state.due[step_id] = later or step_id
    _reopen_resting(state, step, f"{step_id} is open again: {why}", at)


def _reopen_resting(state: State, step: Step, why: str, at: Instant) -> None:
    for other in state.basis.steps:
        if step.id in other.rests_on and state.stands(other.id) and other.place > step.place and \
                not other.touched("opens"):
            reopen(state, other.id, why, at)


def _replanned(state: State, hash: str, event: Event, at: Instant, what: log.Replanned, bases: Bases) -> None:
    old, state.basis = state.basis, bases[what.plan]
    for key in list(state.different):
        if key in state.answers:
            _compare(state, key)
    for step in old.steps:
        changed = rests_differently(old, state.basis, step) if state.stands(step.id) else ""
        if changed:
            reopen(state, step.id, f"the plan has changed: {changed}", at)


def rests_differently(old: Basis, new: Basis, step: Step) -> str:
    """What of the things that a step rested on is another in the new plan, in words; "" where nothing is."""
    after = new.step(step.id)
    if after is None or replace(after, place=0) != replace(step, place=0):
        return "the step itself"
    if step.hold and new.open_holds.get(step.hold) and new.open_holds.get(step.hold) != old.open_holds.get(step.hold):
        return new.open_holds[step.hold][0]
    names = {name for ask in step.asks for name in (ask.limit, ask.limit_to) if name} | set(step.shows)
    if step.counts_for:
        names.add(f"rules.{step.counts_for}")
    moved = sorted(name for name in names if _moved(old.limits.get(name), new.limits.get(name)))
    return ", ".join(moved)


def _moved(old: Limit | None, new: Limit | None) -> bool:
    if old is None or new is None or old.low is None or new.low is None:
        return (old.low if old else None) != (new.low if new else None)
    assert old.high is not None and new.high is not None
    room = 1e-9 * max(abs(old.low), abs(old.high))
    return abs(old.low - new.low) > room or abs(old.high - new.high) > room


def _overridden(state: State, hash: str, event: Event, at: Instant, what: log.Overridden, bases: Bases) -> None:
    state.overrides[what.red] = (state.number, what)
    state.remarks = (*state.remarks, Remark(state.number, what.step, at,
                                            f"{what.red} was passed by {what.authoriser}: {what.reason}"))


def _stopped(state: State, hash: str, event: Event, at: Instant, what: log.Stopped, bases: Bases) -> None:
    state.stopped = what.reason
    state.remarks = (*state.remarks, Remark(state.number, "", at, f"Stopped: {what.reason}"))


def _resumed(state: State, hash: str, event: Event, at: Instant, what: log.Resumed, bases: Bases) -> None:
    state.stopped = ""
    state.remarks = (*state.remarks, Remark(state.number, "", at, f"Resumed: {what.reason}"))


def _corrected(state: State, hash: str, event: Event, at: Instant, what: log.Corrected, bases: Bases) -> None:
    key = next((key for key, answer in state.answers.items() if answer.hash == what.event), None)
    if key is None:
        state.remarks = (*state.remarks, Remark(state.number, "", at, "A correction of an answer that no longer "
                                                f"counted: {what.value.written}; {what.reason}"))
        return
    step = key.partition(".")[0]
    stood = state.answers[key]
    number = state.number if state.answer(key) else stood.number
    state.answers[key] = replace(stood, hash=hash, number=number, person=event.person, at=at, value=what.value,
                                 verdict=what.verdict, limit=what.limit, rule=what.rule, sentence=what.sentence,
                                 evidence=what.evidence)
    state.remarks = (*state.remarks, Remark(state.number, step, at, f"{key} corrected from {stood.value.written} to "
                                            f"{what.value.written}: {what.reason}"))
    _compare(state, key)
    if state.stands(step):
        reopen(state, step, f"{key} was corrected", at)


def _refused(state: State, hash: str, event: Event, at: Instant, what: log.Refused, bases: Bases) -> None:
    state.refused += 1


def _ended(state: State, hash: str, event: Event, at: Instant, what: Happening, bases: Bases) -> None:
    state.ended = "aborted" if isinstance(what, log.Aborted) else "finished"
    state.end_reason = what.reason if isinstance(what, log.Aborted) else ""


_CHANGES: dict[type[Happening], Callable[..., None]] = {
    log.Opened: _opened, log.Enrolled: _enrolled, log.Present: _present, log.Monitor: _monitor, log.Answered: _answered,
    log.Kept: _kept, log.Signed: _signed, log.District: _district, log.Done: _done, log.Replanned: _replanned,
    log.Overridden: _overridden, log.Stopped: _stopped, log.Resumed: _resumed, log.Corrected: _corrected,
    log.Refused: _refused, log.Aborted: _ended, log.Finished: _ended}
