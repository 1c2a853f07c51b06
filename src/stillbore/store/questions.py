"""What does not go together when logs come together. Nothing is decided and nothing thrown away: each is a question
for somebody who was there."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, permutations

from stillbore.errors import StillboreError
from stillbore.record.chain import Line
from stillbore.record.events import Aborted, Done, Event, Opened, Replanned, Signed, Stopped
from stillbore.run.instants import instant
from stillbore.run.question import Question
from stillbore.run.questions import questions_between
from stillbore.store.interface import FORK, Store, Waiting

CLOCKS_APART_S = 60.0  # our choice: below it, two watches set by hand


def questions(store: Store) -> list[Question]:
    """Every question that the jobs of a store raise, each alone and beside each other."""
    found: list[Question] = []
    jobs = {job: store.lines(job) for job in store.digests()}
    for job, lines in jobs.items():
        found += [*_missing(job, store.waiting(job)), *questions_of(lines)]
    return found + questions_between(jobs.values())


def questions_of(lines: Sequence[Line]) -> list[Question]:
    """The questions that one job's lines, in merged order, raise."""
    seen = what_was_seen(lines)
    by = _grouped(lines)
    steps = sorted({step for _, step in by if step})
    found = [_ask("twice", lines, f"Who opened the job? {_both(*pair)} each opened it without having seen the other.",
                  *pair) for pair in _unseen(by, (Opened.KIND, ""), (Opened.KIND, ""), seen)]
    for step in steps:
        key = (Done.KIND, step)
        found += [_ask("done twice", lines, f"Was {step} done twice? {_both(*pair)} each say that it is done, and "
                       "neither had seen the other.", *pair) for pair in _unseen(by, key, key, seen)]
        key = (Signed.KIND, step)
        found += [_ask("signed apart", lines, f"Did those who signed {step} sign the same thing? {_both(*pair)} were "
                       "signed on two devices that had not seen each other.", *pair)
                  for pair in _unseen(by, key, key, seen)]
    halts = (Stopped.KIND, Aborted.KIND, Replanned.KIND)
    for kind, step in [(kind, step) for kind in halts for step in steps]:
        found += [_ask("gone on", lines, f"Did the work go on? {_both(*pair)}: the first says that the work "
                       f"{'is planned anew' if kind == Replanned.KIND else 'stops'}, the second that {step} is done, "
                       "and neither had seen the other.", *pair)
                  for pair in _unseen(by, (kind, ""), (Done.KIND, step), seen)]
    return found + list(_clocks(lines))


# Who had seen what

Seen = Mapping[str, Mapping[str, int]]
Groups = Mapping[tuple[str, str], Mapping[str, Sequence[Line]]]


def what_was_seen(lines: Sequence[Line]) -> Seen:
    """For every line, by hash, the last number of each device's chain that had been seen when it was written, at first
    hand or through what another had seen."""
    seen: dict[str, dict[str, int]] = {}
    for line in lines:
        event = line.event
        own = dict(seen.get(event.prev, {}))
        for head in event.after:
            for device, n in [*seen.get(head.hash, {}).items(), (head.device, head.n)]:
                own[device] = max(n, own.get(device, -1))
        own[event.device] = event.n
        seen[line.hash] = own
    return seen


def _grouped(lines: Iterable[Line]) -> dict[tuple[str, str], dict[str, list[Line]]]:
    """Lines by (kind, step), and by device within; in the order of their chains."""
    found: dict[tuple[str, str], dict[str, list[Line]]] = {}
    for line in lines:
        what = line.event.happening
        step = what.step if isinstance(what, (Done, Signed)) else ""
        found.setdefault((line.event.kind, step), {}).setdefault(line.event.device, []).append(line)
    return found


def _unseen(by: Groups, one: tuple[str, str], other: tuple[str, str], seen: Seen) -> Iterator[tuple[Line, Line]]:
    """For each two devices, the first two lines of these kinds of which neither had seen the other."""
    pairs = combinations if one == other else permutations
    here, there = by.get(one, {}), by.get(other, {})
    for a, b in pairs(sorted(here.keys() | there.keys()), 2):
        pair = _first_unseen(here.get(a, ()), there.get(b, ()), seen)
        if pair:
            yield pair


def _first_unseen(mine: Sequence[Line], theirs: Sequence[Line], seen: Seen) -> tuple[Line, Line] | None:
    """What a device has seen only grows: of the other's lines that mine had not seen, the first had seen the least."""
    for line in mine:
        if not theirs:
            break
        known = seen[line.hash].get(theirs[0].event.device, -1)
        at = bisect_right(theirs, known, key=lambda each: each.event.n)
        if at < len(theirs) and seen[theirs[at].hash].get(line.event.device, -1) < line.event.n:
            return line, theirs[at]
    return None


def _both(one: Line, other: Line) -> str:
    return f"Line {one.event.n} of {one.event.device} and line {other.event.n} of {other.event.device}"


def _ask(sort: str, lines: Sequence[Line], text: str, *about: Line) -> Question:
    return Question(sort, (lines[0].event.job,), tuple(line.hash for line in about), text)


# Clocks and gauges


def _seconds(event: Event) -> float | None:
    try:
        return instant(event).at.timestamp()
    except (ValueError, OverflowError, OSError, StillboreError):
        return None  # an offset or a time that is none; the record's own reader says so


def _clocks(lines: Sequence[Line]) -> Iterator[Question]:
    """A device whose clock, with its offset, is before that of a line it had seen already: at least so far apart."""
    at = {line.hash: _seconds(replace(line.event, paper_at="")) for line in lines}
    by_hash = {line.hash: line for line in lines}
    worst: dict[tuple[str, str], tuple[float, Line, Line]] = {}
    for line in lines:
        for head in line.event.after:
            later, earlier = at[line.hash], at.get(head.hash)
            apart = earlier - later if earlier is not None and later is not None else 0.0
            pair = (line.event.device, head.device)
            if apart > max(CLOCKS_APART_S, worst[pair][0] if pair in worst else 0.0):
                worst[pair] = (apart, line, by_hash[head.hash])
    for (behind, ahead), (apart, line, other) in sorted(worst.items()):
        yield _ask("clocks", lines, f"Which clock is right? That of {behind} is at least {apart:.0f} s behind that of "
                   f"{ahead}: it wrote {line.event.at} having seen what {ahead} wrote at {other.event.at}.",
                   other, line)


# What has not come


def _missing(job: str, waiting: Iterable[Waiting]) -> Iterator[Question]:
    """One question for each device with lines that wait, by the first of them."""
    told: set[tuple[str, str]] = set()
    for each in waiting:
        if (each.device, each.why) in told:
            continue
        told.add((each.device, each.why))
        if each.why == FORK:
            text = (f"Which line {each.n} of {each.device} is right? There are two that follow different ones or stand "
                    "at the same place. The one that came first is shown; the other is kept. Was a device's store "
                    "copied, or a line forged?")
        else:
            text = (f"Where is the rest? Line {each.n} of {each.device} and those after it wait for lines that have "
                    "not come; they are kept, and not shown until they can be.")
        yield Question("fork" if each.why == FORK else "not come", (job,), (each.hash,), text)
