"""What must be true before a step may be signed or done: every reason why not, as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.errors import InputFaults
from stillbore.job.procedure import CHANGES, PIT_NODE
from stillbore.plan.barriers import change, count
from stillbore.run.basis import Ask, Step
from stillbore.run.fold import LET_BY, district_pressure
from stillbore.run.instants import Instant, elapsed
from stillbore.run.state import State
from stillbore.verdicts import MET

MAKES_GOOD = ("closes", "proves", "makes_permanent")
OFF_PIT = ("Arrive", "Give back")  # cards on which nobody needs to stand at the pit


def not_ready(state: State, step: Step, now: Instant) -> list[str]:
    """Why a step cannot be signed now; empty where nothing stands against it but signatures."""
    return [*kept_back(state, step, now), *_people(state, step), *_reds(state), *_answers(state, step),
            *_plan(state, step)]


def kept_back(state: State, step: Step, now: Instant) -> list[str]:
    """Why a step's turn has not come, whatever people do for it: the order of work, what it rests on, the barriers."""
    return [*_place(state, step), *_rests(state, step, now), *_elements(state, step)]


def _shuts_what_was_opened(state: State, step: Step) -> bool:
    """Whether a step only closes or proves, and does so where an earlier step has opened something: it is never kept
    from being done by an older hold that was opened again, because an open end is worse."""
    opened = {name for other in state.basis.steps if other.id in state.done for name in other.touched("opens")}
    return not step.touched("opens") and bool(step.touched(*MAKES_GOOD) & opened)


def _place(state: State, step: Step) -> Iterator[str]:
    """The order of work: earlier hard holds and earlier changes of the barriers come first."""
    places = {other.id: other.place for other in state.basis.steps}
    for other in state.basis.steps[:step.place]:
        if not (other.hold or other.touched(*CHANGES)) or state.stands(other.id) or step.repeats == other.id:
            continue
        completion = state.done.get(other.id)
        if completion is None:
            yield f"{_named(other)} is not done."
        elif places.get(state.due.get(other.id, ""), -1) < step.place and not _shuts_what_was_opened(state, step):
            yield f"{_named(other)} is open again: {completion.reopened}."
    if state.stands(step.id):
        later = next((other for other in state.basis.steps[step.place + 1:] if other.touched("opens") and
                      other.id in state.done), None)
        if step.touched("opens"):
            yield f"{_named(step)} is done; what is open is open."
        elif later and step.touched(*CHANGES) and not step.counts_for:
            yield f"{_named(step)} is done, and {later.id} since; it cannot be done again now."


def _named(step: Step) -> str:
    return f"Hold {step.hold} ({step.id}: {step.action})" if step.hold else f"{step.id} ({step.action})"


def _rests(state: State, step: Step, now: Instant) -> Iterator[str]:
    for name in step.rests_on:
        other, completion = state.basis.step(name), state.done.get(name)
        if other is None or completion is None:
            yield f"It rests on {name}, which is not done."
        elif not completion.stands:
            yield f"It rests on {name}, which is open again: {completion.reopened}."
        elif other.counts_for:
            yield from _stale(state, other, completion.at, now)
    for condition in step.only_if:
        key, _, choices = (part.strip() for part in condition.partition("="))
        answer, completion = state.answers.get(key), state.done.get(key.partition(".")[0])
        wanted = [choice.strip() for choice in choices.split("|")]
        signed = answer is not None and completion is not None and answer.number < completion.number
        if answer is None or answer.value.text not in wanted or not signed:
            found = "not answered" if answer is None else answer.value.written if signed else "not signed"
            yield f"{key} must be {' or '.join(wanted)}; it is {found}."


def _stale(state: State, other: Step, at: Instant, now: Instant) -> Iterator[str]:
    limit = state.basis.limits.get(f"rules.{other.counts_for}")
    if limit is None or limit.low is None:
        yield f"How long {other.id} counts is not known (rule {other.counts_for})."
        return
    gone = elapsed(at, now)
    if gone is None:
        yield f"How long ago {other.id} was cannot be told, because the clocks contradict each other: do it again."
    elif gone > limit.low:
        yield f"{other.id} counts for {limit.text}; {gone:.0f} s have gone since: do it again."


def _elements(state: State, step: Step) -> Iterator[str]:
    """The barriers must be such that the step can change them."""
    if not step.touched(*CHANGES):
        return
    try:
        after = change(state.elements, step.changes, step.id)
    except InputFaults as error:
        yield from (fault.what for fault in error.faults)
        return
    # Not only what opens: setting the stopper anew behind an open end takes the one barrier away that there is.
    if count(after)[0] == 0 and (step.touched("opens") or state.barriers != 0):
        yield "After it nothing proved would stand between the gas and the pit."


def _people(state: State, step: Step) -> Iterator[str]:
    """Two people at the pit, always; a gas monitor where the step wants one. No override."""
    if _shuts_what_was_opened(state, step) and not step.hold:
        return
    if step.card not in OFF_PIT:
        least = state.basis.limits["rules.people.least"].high or 2.0
        if len(state.here) < least:
            yield f"At the pit: {', '.join(state.here) or 'nobody'}. There must be {least:.0f} people, always."
    if step.monitor and not state.monitor:
        yield "No gas monitor is on and bump tested."


def _reds(state: State) -> Iterator[str]:
    """What stops everything: the district above the maximum, by its last reading."""
    pressure, maximum = district_pressure(state), state.basis.limits["rules.pressure.maximum_operating_pressure"]
    if pressure is not None and maximum.low is not None and pressure > maximum.low:
        yield (f"The last reading of the district, {state.district[-1].value.written}, is above {maximum.text}: "
               "leave everything as it is, clear the pit, call.")


def _answers(state: State, step: Step) -> Iterator[str]:
    for ask in step.asks:
        answer = state.answer(ask.key)
        if answer is None:
            if not ask.optional:
                yield f"Not answered yet: {ask.about}."
        elif not _passed(state, ask) and (ask.wanted or answer.verdict):
            yield answer.sentence or f"{ask.about}: {answer.value.written} is {answer.verdict}."
        elif step.hold and answer.value.how == "not measured" and not _passed(state, ask):
            yield f"{ask.about}: a hold cannot rest on what was not measured."
        if answer is not None and ask.key in state.different:
            yield (f"{ask.about}: {answer.value.written} is not what the survey says ({state.different[ask.key]}). "
                   "Put it into the survey and plan again.")
        if answer is not None and ask.sort == LET_BY and not state.district:
            yield "No reading of the district has been taken: what let-by was watched against is not known."
    for sort in step.evidence:
        if not any(found.kept.sort == sort for found in state.kept(step.id)):
            yield f"Evidence is wanted: {sort}."


def _passed(state: State, ask: Ask) -> bool:
    """Whether an answer is met, or was passed by an authoriser after it was given, where that is allowed at all."""
    answer = state.answer(ask.key)
    if answer is None:
        return False
    if answer.verdict == MET or (not answer.verdict and not ask.wanted and answer.value.how != "not measured"):
        return True
    override = state.overrides.get(ask.key)
    return override is not None and override[0] > answer.number and not ask.no_override


def _plan(state: State, step: Step) -> Iterator[str]:
    """What the plan itself leaves open for a hold."""
    override = state.overrides.get(f"{step.id}.plan")
    if step.hold and not (override and override[0] > state.since.get(step.id, -1)):
        for what in state.basis.open_holds.get(step.hold, ()):
            yield f"The plan leaves this hold open: {what}"


def unfinished(state: State) -> list[str]:
    """Why the job cannot be finished: steps not done, elements neither proved nor permanent on a way to the pit."""
    reasons = [f"{_named(step)} is {'open again' if step.id in state.done else 'not done'}."
               for step in state.basis.steps if not state.stands(step.id) and not step.repeats]
    if state.barriers == 0:
        reasons.append("Nothing proved stands between the gas and the pit.")
    loose = sorted(name for name, element in state.elements.items()
                   if PIT_NODE in element.ends and element.state == "open" and state.barriers == 0)
    if loose:
        reasons.append(f"Open to the pit: {', '.join(loose)}.")
    return reasons
