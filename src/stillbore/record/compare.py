"""In what two logs differ: two exports of one job, or two jobs done by one procedure.

Events are the same when their hashes are. What of the work differs is told apart from that, by step: two jobs never
share an event, and yet may differ in one answer only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stillbore.errors import StillboreError
from stillbore.record import events as log
from stillbore.record.answers import questions_answered
from stillbore.record.chain import Line
from stillbore.record.events import moment

SECOND_S = 1.0  # times that differ by less are the same to a reader
ANSWER, DONE, EVIDENCE, TIME, PLAN, END = "answer", "done", "evidence", "time", "plan", "end"


@dataclass(frozen=True)
class Difference:
    """One thing that is not the same in both. ``sort``: one of answer, done, evidence, time, plan, end; ``where``: the
    step, or step and question; ``first`` and ``second``: as each log has it, "" where it has nothing."""

    sort: str
    where: str
    first: str
    second: str
    sentence: str


@dataclass(frozen=True)
class Comparison:
    """Two logs beside each other. ``only_first`` and ``only_second``: hashes of the events that one alone has; of two
    jobs all of them. ``sentences``: what there is to say of the logs as wholes."""

    first_job: str
    second_job: str
    first_events: int
    second_events: int
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]
    differences: tuple[Difference, ...]
    sentences: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether the logs hold the same events."""
        return not self.only_first and not self.only_second


def compare(first: Sequence[Line], second: Sequence[Line]) -> Comparison:
    """Compare two logs, each in merged order. Raises StillboreError where one has no event."""
    if not first or not second:
        raise StillboreError("One of the two logs has no event.", "Give two exported logs.")
    here, there = ({line.hash for line in lines} for lines in (first, second))
    only_first = tuple(line.hash for line in first if line.hash not in there)
    only_second = tuple(line.hash for line in second if line.hash not in here)
    names = _names(first[0].event.job, second[0].event.job)
    found = tuple(_differences(_Work(first), _Work(second), names)) if only_first or only_second else ()
    return Comparison(first[0].event.job, second[0].event.job, len(first), len(second), only_first, only_second, found,
                      tuple(_sentences(first, second, only_first, only_second, len(found), names)))


def _names(first: str, second: str) -> tuple[str, str]:
    return (first, second) if first != second else ("the first", "the second")


def _sentences(first: Sequence[Line], second: Sequence[Line], only_first: Sequence[str], only_second: Sequence[str],
               found: int, names: tuple[str, str]) -> Iterable[str]:
    if first[0].event.job != second[0].event.job:
        yield f"These are two jobs, {first[0].event.job} and {second[0].event.job}; they share no event."
    elif not only_first and not only_second:
        yield f"Both hold the same {len(first)} events."
        return
    else:
        both = len(first) - len(only_first)
        yield (f"{both} events are in both, {len(only_first)} in the first alone, {len(only_second)} in the second "
               "alone.")
        if not only_first or not only_second:
            longer, shorter = ("second", "first") if not only_first else ("first", "second")
            yield f"The {longer} has all that the {shorter} has, and more."
        elif both == 0:
            yield "They have the same number of job and no event in common: one of them is another job, or was made up."
        else:
            at = next(line for line in first if line.hash in set(only_first))
            yield (f"They part at event {at.event.n} of the device {at.event.device}. Where two devices worked apart, "
                   "bring the logs together; if it is one device, one of the two was written anew.")
    yield f"{found} answers, steps, files or times differ between {names[0]} and {names[1]}." if found else \
        "What was answered, done and kept is the same."


class _Work:
    """What a log says of the work: the last answer of each question, when each step was last done, files by step."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self.answers: dict[str, str] = {}
        self.done: dict[str, log.Event] = {}
        self.files: dict[str, list[str]] = {}
        self.plans: list[str] = []
        self.inputs: dict[str, str] = {}
        self.end = ""
        self.start = lines[0].event
        keys = questions_answered(lines)
        for line in lines:
            what = line.event.happening
            if isinstance(what, (log.Answered, log.Corrected)):
                if line.hash in keys:
                    self.answers[keys[line.hash]] = _answer(what)
            elif isinstance(what, log.Done):
                self.done[what.step] = line.event
            elif isinstance(what, log.Kept):
                self.files.setdefault(what.step, []).append(f"{what.sort} {what.name} ({what.sha256[:12]})")
            elif isinstance(what, (log.Opened, log.Replanned)):
                self.plans.append(what.plan)
                self.inputs |= {file.kind: file.sha256 for file in what.files}
            elif isinstance(what, (log.Finished, log.Aborted)):
                self.end = "finished" if isinstance(what, log.Finished) else f"aborted: {what.reason}"

    def after(self, step: str) -> float:
        """Seconds from the first event to a step's being done, by the clocks."""
        done = self.done[step]
        return (moment(done.paper_at or done.at) - moment(self.start.at)).total_seconds()


def _answer(what: log.Answered | log.Corrected) -> str:
    return f"{what.value.written}{f' ({what.verdict})' if what.verdict else ''}"


def _differences(first: _Work, second: _Work, names: tuple[str, str]) -> Iterable[Difference]:
    for kind in sorted(first.inputs.keys() | second.inputs.keys()):
        yield from _differ(PLAN, kind, first.inputs.get(kind, "")[:12], second.inputs.get(kind, "")[:12], names)
    yield from _differ(PLAN, "number of plans", str(len(first.plans)), str(len(second.plans)), names)
    yield from _mapping(ANSWER, first.answers, second.answers, names)
    steps = list(dict.fromkeys((*first.done, *second.done)))
    for step in steps:
        yield from _differ(DONE, step, "done" if step in first.done else "", "done" if step in second.done else "",
                           names)
    yield from _mapping(EVIDENCE, *({step: ", ".join(sorted(kept)) for step, kept in work.files.items()}
                                    for work in (first, second)), names)
    same_job = first.start.job == second.start.job
    for step in (step for step in steps if step in first.done and step in second.done and same_job):
        if abs(first.after(step) - second.after(step)) >= SECOND_S:
            yield from _differ(TIME, step, *(work.done[step].paper_at or work.done[step].at
                                             for work in (first, second)), names)
    yield from _differ(END, "the job", first.end, second.end, names)


def _mapping(sort: str, first: Mapping[str, str], second: Mapping[str, str],
             names: tuple[str, str]) -> Iterable[Difference]:
    for key in dict.fromkeys((*first, *second)):
        yield from _differ(sort, key, first.get(key, ""), second.get(key, ""), names)


def _differ(sort: str, where: str, first: str, second: str, names: tuple[str, str]) -> Iterable[Difference]:
    if first != second:
        yield Difference(sort, where, first, second,
                         f"{where}: {names[0]} has {first or 'nothing'}, {names[1]} has {second or 'nothing'}.")
