"""``step(state, event) -> Moved | Refused``: whether something may happen now, and what it makes of the state.

Pure: it writes nothing, reads no clock, and changes neither state nor event. A refusal is a value with every reason.
Stopping is always accepted.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from stillbore.job.survey import ROLES
from stillbore.record import events as log
from stillbore.record.events import Event
from stillbore.run.answers import BY_GAUGE_LOG, judge, wrong
from stillbore.run.basis import Ask, Step
from stillbore.run.fold import apply
from stillbore.run.instants import elapsed, instant
from stillbore.run.requirements import OFF_PIT, not_ready, unfinished
from stillbore.run.state import Bases, State
from stillbore.run.statement import override_statement, statement
from stillbore.verdicts import MET

AUTHORISER = "authorising engineer"
PERSON, DAY = re.compile(r"[A-Za-z]{1,4}-?[0-9]{1,6}"), re.compile(r"\d{4}-\d{2}-\d{2}")
# What is accepted while the work is stopped, and what after the job has ended.
WHILE_STOPPED = (log.Answered, log.Kept, log.District, log.Present, log.Enrolled, log.Monitor, log.Noted, log.Corrected,
                 log.Resumed, log.Aborted, log.Replanned)
AFTER_THE_END = (log.Noted, log.Corrected, log.Kept)
ALWAYS = (log.Stopped, log.Refused, log.Sealed, log.Clock, log.Joined)
Check = Callable[[str, bytes, str], bool]


@dataclass(frozen=True)
class Moved:
    """Accepted: the state after it."""

    state: State


@dataclass(frozen=True)
class Refused:
    """Not accepted: every reason why."""

    reasons: tuple[str, ...]


def step(state: State, hash: str, event: Event, bases: Bases, check: Check) -> Moved | Refused:
    """Whether an event may happen now. ``check(key, message, signature)`` verifies an Ed25519 signature, all hex but
    the message; ``bases`` holds the basis of every plan by its version."""
    reasons = tuple(dict.fromkeys(_reasons(state, event, bases, check)))
    if reasons:
        return Refused(reasons)
    after = state.copy()
    apply(after, hash, event, bases)
    return Moved(after)


def _reasons(state: State, event: Event, bases: Bases, check: Check) -> Iterator[str]:
    what = event.happening
    if isinstance(what, ALWAYS):
        return
    yield from _person(state, event)
    if state.ended and not isinstance(what, AFTER_THE_END):
        yield f"The job has ended ({state.ended})."
    if state.stopped and not isinstance(what, WHILE_STOPPED):
        yield f"Work is stopped: {state.stopped}. Somebody has to say why it goes on."
    if isinstance(what, log.Opened) and state.job:
        yield "The job is open already."
    elif isinstance(what, (log.Answered, log.Kept, log.Signed, log.Done, log.Overridden)):
        found = state.basis.step(what.step)
        if found is None:
            yield f"There is no step '{what.step}' in this order of work."
        else:
            yield from _of_step(state, event, found, check)
    elif isinstance(what, log.Replanned):
        yield from _replanned(state, what, bases)
    elif isinstance(what, log.Corrected):
        yield from _corrected(state, what)
    elif isinstance(what, (log.Resumed, log.Aborted)) and not what.reason.strip():
        yield "Say why."
    elif isinstance(what, log.Finished):
        yield from unfinished(state)
    elif isinstance(what, log.Present) and what.who not in state.people:
        yield f"{what.who} is not on this job."
    elif isinstance(what, log.Enrolled):
        yield from _enrolled(state, what.person)


def _person(state: State, event: Event) -> Iterator[str]:
    if isinstance(event.happening, log.Opened):
        return
    person = state.people.get(event.person)
    if person is None:
        yield f"{event.person} is not on this job."
    elif person.role != event.role:
        yield f"{event.person} is {person.role} on this job, not {event.role}."
    elif person.expires and instant(event).at.date().isoformat() > person.expires:
        yield f"The authorisation of {event.person} ended on {person.expires}."


def _of_step(state: State, event: Event, found: Step, check: Check) -> Iterator[str]:
    what = event.happening
    if isinstance(what, log.Answered):
        ask = state.basis.asks.get(f"{found.id}.{what.ask}")
        if ask is None:
            yield f"{found.id} does not ask '{what.ask}'; it asks {', '.join(each.name for each in found.asks)}."
        else:
            yield from _answer(state, ask, what)
    elif isinstance(what, log.Signed):
        yield from _signature(state, event, found, what, check)
    elif isinstance(what, log.Overridden):
        yield from _override(state, event, found, what, check)
    elif isinstance(what, log.Done):
        yield from _back_dated(state, event, found)
        yield from not_ready(state, found, instant(event))
        yield from _signed_enough(state, found)


def _answer(state: State, ask: Ask, what: log.Answered | log.Corrected) -> Iterator[str]:
    fault = wrong(ask, what.value)
    if fault:
        yield fault
        return
    if ask.sort in BY_GAUGE_LOG:
        kept = {each.kept.sha256 for each in state.kept(ask.step) if each.kept.sort == "gauge log"}
        if what.value.how == "judged" and not (what.evidence and set(what.evidence) <= kept):
            yield "The gauge log that this verdict was read from has to be kept first."
        if what.value.how != "judged" and what.verdict == MET:
            yield "Only a gauge log that was judged can be met here; without one it is not proven."
        return
    judged = judge(state, ask, what.value)
    if judged.verdict != what.verdict:
        yield f"The answer says '{what.verdict or 'no verdict'}'; by the limit it is '{judged.verdict or 'none'}'."


def _signature(state: State, event: Event, found: Step, what: log.Signed, check: Check) -> Iterator[str]:
    person = state.people.get(event.person)
    if not found.signers:
        yield f"{found.id} wants no signature."
    if person is None or not person.key or person.key != what.key:
        yield f"This is not the key of {event.person} on this job."
    elif what.statement != statement(state, found, event.person):
        yield "What was signed is not what stands here now; look again and sign again."
    elif not check(what.key, bytes.fromhex(what.statement), what.signature):
        yield "The signature does not hold."
    if any(each.person == event.person for each in state.signed(found.id)):
        yield f"{event.person} has signed this already; it wants another person."
    if event.paper_at == "" and event.person not in state.here and found.card not in OFF_PIT:
        yield f"{event.person} is not at the pit."
    yield from _back_dated(state, event, found)
    yield from not_ready(state, found, instant(event))


def _signed_enough(state: State, found: Step) -> Iterator[str]:
    if not found.signers:
        return
    signed = [each for each in state.signed(found.id) if each.signed.statement == statement(state, found, each.person)]
    people, keys = {each.person for each in signed}, {each.signed.key for each in signed}
    missing = found.signers - min(len(people), len(keys))
    if missing > 0:
        words = {1: "one more person has", 2: "two different people have"}[missing]
        yield f"{found.id} is not signed: {words} to sign it as it stands now, each with an own secret."


def _back_dated(state: State, event: Event, found: Step) -> Iterator[str]:
    """A hard hold is signed when it is true, not later for earlier: neither clock nor paper may go back."""
    if not found.hold:
        return
    now, last = instant(event), state.latest.get(event.device)
    if last is None:
        return
    gone = elapsed(last, now)
    if event.paper_at:
        earlier = max((done.at.at for done in state.done.values()), default=None)
        if earlier is not None and now.at < earlier:
            yield "A hard hold cannot be back-dated: something done later is entered already."
    elif not last.paper and gone is None:
        yield "This device's clock has gone back; a hard hold cannot be back-dated. Put the clock right."


def _override(state: State, event: Event, found: Step, what: log.Overridden, check: Check) -> Iterator[str]:
    ask = next((each for each in found.asks if each.key == what.red), None)
    authoriser = state.people.get(what.authoriser)
    if ask is None and what.red != f"{found.id}.plan":
        yield f"'{what.red}' is nothing that {found.id} can be passed on."
    elif ask is not None and ask.no_override:
        yield f"Nobody may pass this: {ask.about}."
    elif ask is not None and (state.answer(what.red) is None or state.answer(what.red).verdict == MET):  # type: ignore[union-attr]
        yield f"There is nothing to pass: {ask.about} is not answered, or met."
    if not what.reason.strip():
        yield "Say why it is passed."
    if authoriser is None or authoriser.role != AUTHORISER:
        yield f"{what.authoriser} is no {AUTHORISER} on this job."
    elif event.person == what.authoriser:
        yield "A second person has to enter what an authoriser passes."
    elif what.key != authoriser.key or not authoriser.key:
        yield f"This is not the key of {what.authoriser} on this job."
    elif what.statement != override_statement(state, found.id, what.red, what.reason, what.authoriser):
        yield "What was signed is not what stands here now."
    elif not check(what.key, bytes.fromhex(what.statement), what.signature):
        yield "The signature does not hold."


def _enrolled(state: State, person: log.Person) -> Iterator[str]:
    """Who comes later is known as everybody else is: a reference, a role, an authorisation, and a key of their own."""
    old = state.people.get(person.id)
    if not PERSON.fullmatch(person.id):
        yield f"'{person.id[:40]}' is no reference to a person. Write one such as P4, never a name."
    if old is not None and old.key:
        yield f"{person.id} is on this job already, with a key."
    elif old is not None and old.role != person.role:
        yield f"{person.id} is {old.role} on this job, not {person.role}."
    if person.role not in ROLES:
        yield f"'{person.role}' is no role on a job. Write one of: {', '.join(ROLES)}."
    if not person.authorisation.strip():
        yield f"The authorisation of {person.id} is not given."
    if not DAY.fullmatch(person.expires):
        yield f"The last day of {person.id}'s authorisation is not given. Write it as 2031-01-31."
    for other in state.people.values():
        if person.key and other.key == person.key and other.id != person.id:
            yield f"This key is that of {other.id}: two names with one key are one hand."


def _replanned(state: State, what: log.Replanned, bases: Bases) -> Iterator[str]:
    if what.plan not in bases:
        yield "The new plan is not at hand."
    elif what.plan == state.basis.plan:
        yield "This is the plan that counts already."
    elif not dict(bases[what.plan].files).items() <= {file.kind: file.sha256 for file in what.files}.items():
        yield "The files named are not those that the plan was made from."
    if not what.reason.strip():
        yield "Say what was found different, or which rule changed."


def _corrected(state: State, what: log.Corrected) -> Iterator[str]:
    key = next((key for key, answer in state.answers.items() if answer.hash == what.event), None)
    if key is None:
        yield "There is no such answer that still counts."
    elif not what.reason.strip():
        yield "Say why it is corrected."
    elif key in state.basis.asks:
        yield from _answer(state, state.basis.asks[key], what)


def audit(events: Iterable[tuple[str, Event]], bases: Bases, check: Check) -> list[tuple[int, Event, tuple[str, ...]]]:
    """Every event of a log that would have been refused where it stands in the merged order, with the reasons: two
    devices may each have been right by what they knew."""
    state: State | None = None
    found = []
    for number, (hash, event) in enumerate(events):
        if state is None:
            plan = event.happening.plan if isinstance(event.happening, log.Opened) else next(iter(bases))
            state = State.begin(bases[plan])
        reasons = tuple(dict.fromkeys(_reasons(state, event, bases, check)))
        if reasons:
            found.append((number, event, reasons))
        apply(state, hash, event, bases)
    return found
