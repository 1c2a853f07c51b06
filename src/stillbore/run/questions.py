"""The questions of an auditor who trusts nobody, over one job and over several.

They are meant to be few: a job that was done in the ordinary way raises none. A clock that went back is asked about by
``record.verify``, devices of one job that contradict each other by ``store.questions``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.record.events import Value
from stillbore.run.basis import Basis
from stillbore.run.question import Book, Entry, Question
from stillbore.run.questions_of_times import of_times
from stillbore.run.questions_of_values import of_values

__all__ = ["Question", "questions", "questions_between"]
SAME_MINUTE_S = 60.0


def questions(lines: Sequence[Line], plans: Mapping[str, Plan], bases: Mapping[str, Basis],
              kept: Callable[[str], bytes] | None = None) -> list[Question]:
    """What one job's lines, in merged order, make an auditor ask, in the order of the log.

    ``plans`` and ``bases``: every plan and basis by the version that the log gives it (see ``run.files``); what rests
    on one that is not there is not asked. ``kept`` finds a kept file by its hash; it raises StillboreError where it is
    not at hand.
    """
    if not lines:
        return []
    book = Book(lines, plans, bases, kept)
    return sorted([*of_times(book), *of_values(book)], key=lambda each: (each.numbers[:1], each.sort))


def questions_between(jobs: Iterable[Sequence[Line]]) -> list[Question]:
    """What several jobs make an auditor ask: one photo or gauge log in two, one instrument on two within a minute."""
    books = [Book(lines, {}, {}) for lines in jobs if lines]
    return [*_same_files(books), *_same_minute(book for book in books if not _practised(book))]


def _practised(book: Book) -> bool:
    """Whether a job's times come from a script or from training: they say nothing of where an instrument was."""
    return any(what.replayed or what.training for _, what in book.of(log.Opened))


def _same_files(books: Iterable[Book]) -> Iterator[Question]:
    first: dict[tuple[str, str], tuple[Book, Entry]] = {}
    told: set[tuple[str, str, str]] = set()
    for book in books:
        for entry, what in book.of(log.Kept):
            if what.sort not in ("photo", "gauge log"):
                continue
            other, earlier = first.setdefault((what.sort, what.sha256), (book, entry))
            if other.job != book.job and (what.sort, what.sha256, book.job) not in told:
                told.add((what.sort, what.sha256, book.job))
                yield Question("same file on two jobs", (other.job, book.job), (earlier.hash, entry.hash),
                               f"Which job does this {what.sort} show? The same one was kept on {other.job} and on "
                               f"{book.job}.", what.step, (earlier.number,))


class _Use(NamedTuple):
    """An instrument read on a job, when [s since 1970], in which event."""

    instrument: str
    at: float
    job: str
    hash: str
    number: int
    written: str


def _uses(book: Book) -> Iterator[_Use]:
    for entry in book.entries:
        what = entry.event.happening
        value = getattr(what, "value", None)
        name = value.instrument if isinstance(value, Value) else getattr(what, "instrument", "")
        if name and entry.at is not None:
            yield _Use(name, entry.at.at.timestamp(), book.job, entry.hash, entry.number, entry.written)


def _same_minute(books: Iterable[Book]) -> Iterator[Question]:
    """The first time that an instrument was read on two jobs within a minute, for each two jobs."""
    told: set[tuple[str, frozenset[str]]] = set()
    instrument, last = "", dict[str, _Use]()
    for use in sorted(use for book in books for use in _uses(book)):
        recent = last.values() if use.instrument == instrument else ()
        last = {each.job: each for each in recent if use.at - each.at < SAME_MINUTE_S}
        for other in last.values():
            key = (use.instrument, frozenset((use.job, other.job)))
            if other.job != use.job and key not in told:
                told.add(key)
                yield Question("one gauge", (other.job, use.job), (other.hash, use.hash),
                               f"Where was {use.instrument}? It was read on {other.job} at {other.written} and on "
                               f"{use.job} at {use.written}, within a minute.", "", (other.number,))
        instrument, last[use.job] = use.instrument, use
