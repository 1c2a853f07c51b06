"""Questions about times and people: what was quicker than it can be, out of date, late, or signed by somebody who was
not there."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from itertools import combinations

from stillbore.errors import UnitError
from stillbore.record import events as log
from stillbore.run.answers import BY_GAUGE_LOG
from stillbore.run.basis import Ask
from stillbore.run.instants import elapsed
from stillbore.run.question import Book, Entry, Question
from stillbore.run.requirements import OFF_PIT
from stillbore.units import UNITS, parse
from stillbore.verdicts import MET

# Thresholds of a question, not limits of the work: those stand in the rule set. All are our choice.
STAMP_SLACK_S = 5.0  # a log is ended and handed in with a few taps
CLOCK_SET_S = 60.0  # below it, a clock that was put right by a network
TOGETHER_S = 1.0  # two people who sign on one device hand it over
TOGETHER_STEPS = 3
DISTRICT_OLD_S = 1800.0  # from go or no-go to let-by is 10 to 20 minutes, common practice
SHORTEST = {"gauge hold": "rules.integrity.shortest_hold", "gauge let-by": "rules.letby.watch"}


def of_times(book: Book) -> Iterator[Question]:
    """Every question about times and people that a job raises."""
    for check in (_too_quick, _too_short, _before_fitted, _old_district, _out_of_date, _clock_set, _from_paper, _absent,
                  _together):
        yield from check(book)


def _dones(book: Book, before: Entry, *steps: str) -> list[Entry]:
    return [entry for step in steps for entry in book.done.get(step, ()) if entry.number < before.number]


def _too_quick(book: Book) -> Iterator[Question]:
    """A hold that is said to have lasted longer than there was time for since what it rests on was done."""
    for entry, what, ask in book.answers:
        claimed = _claimed(book, what, ask)
        step = book.step(entry, what.step)
        if claimed is None or step is None or entry.at is None or entry.event.paper_at:
            continue
        began = max(_dones(book, entry, *step.rests_on), key=lambda done: done.number, default=None)
        if began is None or began.at is None or began.event.paper_at:
            continue
        gone = elapsed(began.at, entry.at)
        if gone is not None and gone < claimed - STAMP_SLACK_S:
            yield book.ask("too quick", f"How was there time? {_about(ask, what)} lasted {claimed:.0f} s, and only "
                           f"{gone:.0f} s lie between it and {_step(began)}, which comes before it.", began, entry,
                           step=what.step)


def _step(entry: Entry) -> str:
    return getattr(entry.event.happening, "step", "")


def _about(ask: Ask | None, what: log.Answered) -> str:
    return f"{ask.about} ({what.step})" if ask else f"{what.step}.{what.ask}"


def _claimed(book: Book, what: log.Answered, ask: Ask | None) -> float | None:
    """How long a hold is said to have lasted [s]: by its gauge log, or by the answer that says its time."""
    if ask is None:
        return None
    if ask.sort in SHORTEST:
        return _span(book, what)
    if ask.name == "time" and ask.unit in UNITS["s"] and what.value.number:
        try:
            return parse(what.value.written, "s").low
        except UnitError:
            return None
    return None


def _span(book: Book, what: log.Answered) -> float | None:
    logs = [found for sha256 in what.evidence if (found := book.gauge_log(sha256))]
    return max((found.times[-1] - found.times[0] for found in logs), default=None)


def _too_short(book: Book) -> Iterator[Question]:
    """A gauge log with a verdict that is shorter than the shortest that the rule set knows."""
    for entry, what, ask in book.answers:
        name = SHORTEST.get(ask.sort) if ask else None
        shortest, span = book.limit(entry, name) if name else None, _span(book, what)
        if what.verdict == MET and shortest is not None and span is not None and span < shortest - STAMP_SLACK_S:
            yield book.ask("short watch", f"Was it watched long enough? The gauge log of {_about(ask, what)} is "
                           f"{span:.0f} s long; the rule set wants {shortest:.0f} s.", entry, step=what.step)


def _before_fitted(book: Book) -> Iterator[Question]:
    """A gauge log answered before what it proves was fitted."""
    for entry, what, ask in book.answers:
        step, known = book.step(entry, what.step), book.basis(entry)
        if ask is None or ask.sort not in BY_GAUGE_LOG or step is None or known is None:
            continue
        fitting = {other.id for other in known.steps if other.place < step.place and
                   step.touched("proves") & other.touched("closes")} | set(step.rests_on)
        for other in sorted(fitting):
            if not _dones(book, entry, other):
                yield book.ask("before it was fitted", f"What was tested? {_about(ask, what)} was answered at "
                               f"{entry.written}, before {other} was done.", entry, step=what.step)
                break


def _old_district(book: Book) -> Iterator[Question]:
    """A let-by watch against a pressure of the district that was read long before."""
    district = [entry for entry, _ in book.of(log.District)]
    for entry, what, ask in book.answers:
        readings = [found for found in district if found.number < entry.number]
        if ask is None or ask.sort != "gauge let-by" or not readings or entry.at is None or readings[-1].at is None:
            continue
        gone = elapsed(readings[-1].at, entry.at)
        if gone is not None and gone > DISTRICT_OLD_S:
            yield book.ask("old district reading", f"What was the district's pressure then? {_about(ask, what)} was "
                           f"watched {gone / 60.0:.0f} min after the last reading.", readings[-1], entry,
                           step=what.step)


def _out_of_date(book: Book) -> Iterator[Question]:
    """Kit and people used after their date; each is asked about once, at its first use after it."""
    told: set[str] = set()
    for entry in book.entries:
        for name, until in _dated(book, entry):
            if entry.at is not None and entry.at.at.date() > until and name not in told:
                told.add(name)
                yield book.ask("out of date", f"Was {name} in date? It ended on {until.isoformat()} and was used on "
                               f"{entry.at.at.date().isoformat()}.", entry, step=_step(entry))


def _dated(book: Book, entry: Entry) -> Iterator[tuple[str, date]]:
    """What an event used that has a last day: (name, day)."""
    what, plan = entry.event.happening, book.plan(entry)
    person = book.people.get(entry.event.person)
    if person and person.expires and not isinstance(what, (log.Opened, log.Sealed)):
        with suppress(ValueError):  # a hostile log may write anything there
            yield f"the authorisation of {person.id}", date.fromisoformat(person.expires)
    if plan is None or not isinstance(what, (log.Answered, log.District)):
        return
    gauge, kit, bond = (plan.kit.row(name) for name in ("gauge", "kit", "bond"))
    known = book.basis(entry)
    ask = known.asks.get(f"{what.step}.{what.ask}") if known and isinstance(what, log.Answered) else None
    if what.value.instrument == gauge.text("id") or (ask and ask.sort in BY_GAUGE_LOG):
        yield f"the calibration of gauge {gauge.text('id')}", gauge["calibrated_until"]  # type: ignore[misc]
    if ask and ask.limit.startswith("bond."):
        yield f"the check of bond {bond.text('id')}", bond["checked_until"]  # type: ignore[misc]
    if ask and ask.sort in BY_GAUGE_LOG:
        yield "the inspection of the kit", kit["maker_inspection_until"]  # type: ignore[misc]
        if ask.sort == "gauge let-by" and plan.stopper:
            yield f"the stopper {plan.stopper.text('id')}", plan.stopper["expires"]  # type: ignore[misc]


def _clock_set(book: Book) -> Iterator[Question]:
    """A clock that ran otherwise than the device's own counter: it was set. One that goes back is told by
    ``record.verify``, two devices that disagree by the store."""
    last: dict[str, Entry] = {}
    for entry in book.entries:
        event, before = entry.event, last.get(entry.event.device)
        last[event.device] = entry
        if before is None or not event.boot or event.boot != before.event.boot or \
                min(event.tick_ms, before.event.tick_ms) < 0:
            continue
        clock = (log.moment(event.at) - log.moment(before.event.at)).total_seconds()
        off = clock - (event.tick_ms - before.event.tick_ms) / 1000.0
        if abs(off) > CLOCK_SET_S and clock >= 0.0:
            yield book.ask("clock set", f"Who set the clock of {event.device}? Between {before.event.at} and "
                           f"{event.at} it went {abs(off):.0f} s {'further' if off > 0 else 'less'} than the device's "
                           "own counter.", before, entry)


def _from_paper(book: Book) -> Iterator[Question]:
    """What was entered late from paper: one question for the job, because the answer is one sheet."""
    late = [entry for entry in book.entries if entry.event.paper_at]
    if late:
        steps = ", ".join(sorted({_step(entry) for entry in late} - {""}))
        yield book.ask("from paper", f"Where is the sheet? {len(late)} of {len(book.entries)} events were entered from "
                       f"paper{f' ({steps})' if steps else ''}, the first for {late[0].event.paper_at} at "
                       f"{late[0].event.at}.", *late)


def _absent(book: Book) -> Iterator[Question]:
    """A signature at the pit by somebody who had not come, or had left."""
    here: dict[str, bool] = {}
    for entry in book.entries:
        what = entry.event.happening
        if isinstance(what, log.Present):
            here[what.who] = what.here
        elif isinstance(what, log.Signed) and not here.get(entry.event.person, False):
            step = book.step(entry, what.step)
            if step is not None and step.card not in OFF_PIT:
                yield book.ask("not there", f"Was {entry.event.person} there? That person signed {what.step} without "
                               "being noted as at the pit.", entry, step=what.step)


def _together(book: Book) -> Iterator[Question]:
    """Two people who sign within a second of each other, every time."""
    if book.replayed:
        return
    signed: dict[str, dict[str, Entry]] = {}
    for entry, what in book.of(log.Signed):
        if entry.at is not None and not entry.event.paper_at:
            signed.setdefault(what.step, {})[entry.event.person] = entry
    people = sorted({person for found in signed.values() for person in found})
    for first, second in combinations(people, 2):
        pairs = [(found[first], found[second]) for found in signed.values() if first in found and second in found]
        apart = [abs((b.at.at - a.at.at).total_seconds()) for a, b in pairs]  # type: ignore[union-attr]
        if len(pairs) >= TOGETHER_STEPS and max(apart) <= TOGETHER_S:
            yield book.ask("signed together", f"Were {first} and {second} two people? They signed all of "
                           f"{len(pairs)} steps within {TOGETHER_S:.0f} s of each other.",
                           *(entry for pair in pairs for entry in pair))
