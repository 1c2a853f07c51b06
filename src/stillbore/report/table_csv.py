"""A record as tables that a spreadsheet opens: CSV by RFC 4180, UTF-8, with a header, lines ended by CRLF.

A cell that a spreadsheet would take for a formula is marked with an apostrophe before it: a remark typed at the pit
must not run on a desk. Numbers are left alone. Blank is not a value: what is not known says so.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.answers import questions_answered
from stillbore.record.canonical import canonical
from stillbore.record.chain import Line
from stillbore.record.plain import to_data
from stillbore.run.basis import basis
from stillbore.run.fold import fold
from stillbore.run.state import Bases

UNKNOWN, NOT_ANSWERED, NOT_DONE = "unknown", "not answered", "not done"
NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
# What begins a formula in a spreadsheet, also behind blanks, and in full width.
FORMULA = re.compile(r"[\s\x00]*[=+\-@\t\r\n＝＋－＠]")


def table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table as CSV."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([cell(value) for value in row] for row in rows)
    return text.getvalue().encode()


def cell(value: object) -> str:
    """A value as a cell that is text and nothing else to a spreadsheet."""
    text = str(value)
    return f"'{text}" if FORMULA.match(text) and not NUMBER.fullmatch(text) else text


EVENTS = ("number", "device", "n", "order", "at", "offset_s", "paper_at", "person", "role", "kind", "step", "what",
          "hash")


def events(lines: Sequence[Line]) -> bytes:
    """Every event in merged order; ``what`` is what happened, as JSON."""
    def rows() -> Iterable[tuple[object, ...]]:
        for number, line in enumerate(lines):
            event = line.event
            yield (number, event.device, event.n, event.order, event.at, event.offset_s or UNKNOWN, event.paper_at,
                   event.person, event.role, event.kind, getattr(event.happening, "step", ""),
                   canonical(to_data(event)["happening"]).decode(), line.hash)

    return table(EVENTS, rows())


ANSWERS = ("step", "question", "value", "number", "uncertainty", "unit", "text", "how", "reason", "instrument",
           "verdict", "limit", "rule", "sentence", "evidence", "person", "at", "counts", "event")


def answers(lines: Sequence[Line]) -> bytes:
    """Every answer that was given, in merged order. ``counts`` says whether it still does: corrections and later
    answers stand beside what they took the place of."""
    keys = questions_answered(lines)
    last = {key: hash for hash, key in keys.items()}
    return table(ANSWERS, (_answer(line, line.event.happening, keys.get(line.hash, f"{UNKNOWN}.{UNKNOWN}"),
                                   last.get(keys.get(line.hash, "")) == line.hash)
                           for line in lines if isinstance(line.event.happening, (log.Answered, log.Corrected))))


def _answer(line: Line, what: log.Answered | log.Corrected, key: str, counts: bool) -> tuple[object, ...]:
    value = what.value
    numbers = (value.number, value.uncertainty or UNKNOWN, value.unit) if value.number else ("", "", "")
    return (*key.split(".", 1), value.written, *numbers, value.text, value.how, value.reason,
            value.instrument or UNKNOWN, what.verdict or "not judged", what.limit, what.rule, what.sentence,
            " ".join(what.evidence), line.event.person, line.event.paper_at or line.event.at, "yes" if counts else "no",
            line.hash)


HOLDS = ("hold", "step", "card", "action", "state", "why", "question", "value", "verdict", "limit", "people", "done_at",
         "barriers", "plan", "event")


def holds(lines: Sequence[Line], plan: Plan, bases: Bases | None = None) -> bytes:
    """Every hard hold of the plan with each of its questions: signed and standing, open again, or not done. ``bases``:
    of every plan of the log, where there is more than one."""
    known = basis(plan)
    state = fold(((line.hash, line.event) for line in lines), bases or {known.plan: known})

    def rows() -> Iterable[tuple[object, ...]]:
        for step in sorted((step for step in state.basis.steps if step.hold), key=lambda step: step.hold):
            done = state.done.get(step.id)
            stands = NOT_DONE if done is None else "stands" if done.stands else "open again"
            end = (" ".join(done.people), done.at.text, done.barriers, done.plan, done.hash) if done else \
                ("", NOT_DONE, "", "", "")
            for ask in step.asks or (None,):
                answer = state.answers.get(ask.key) if ask else None
                said = (answer.value.written, answer.verdict or "not judged", answer.limit) if answer else \
                    (NOT_ANSWERED, "", "")
                yield (step.hold, step.id, step.card, step.action, stands, done.reopened if done else "",
                       ask.name if ask else "", *said, *end)

    return table(HOLDS, rows())
