"""The first page of a record: what it is, how it ended, and everything that was not as it is on an ordinary day.

A stop is never scored, a refusal is no fault, and an override is counted: they stand here because the next crew learns
from them.
"""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.record.verify import END_OPEN
from stillbore.report import words
from stillbore.report.document import (
    CAUTION,
    NOTE,
    OPEN,
    STOP,
    Block,
    Callout,
    Cell,
    Paragraph,
    Part,
    Table,
    Tile,
    Tiles,
    cells,
)
from stillbore.report.record_story import Story
from stillbore.report.record_words import rows_or_none, signature_words, span, when, when_of, zone

REASONS_SHOWN = 2  # of a refusal; the rest are counted, and stand whole in the embedded log
NUMBERS_SHOWN = 6  # of the events that a question is about
KEYS_ELSEWHERE = ("Whose a key is, no document can know: compare the keys in the last part with a key list that you "
                  "have from elsewhere. The whole log and every file that it names are embedded in the PDF; "
                  "'stillbore record verify' takes them out, and checks them and these pages against each other.")
UNCHANGED_NOT_TRUE = ("A seal shows that this record is UNCHANGED since it was signed. It does not show that what it "
                      "says is TRUE.")
SEALED = (UNCHANGED_NOT_TRUE, KEYS_ELSEWHERE)


def exceptions_part(story: Story) -> Part:
    """The first part."""
    job, state = story.plan.survey.row("job"), story.state
    last = story.lines[-1]
    facts = (("Job", state.job), ("Asset", job.text("asset")), ("Premises", job.text("premises")),
             ("Place", job.text("place")), ("Route", job.text("route")),
             ("Ranks above this", job.text("procedure")),
             ("Begun", f"{story.began.at:%Y-%m-%d %H:%M:%S}"),
             ("Last event", when_of(last.event, story.began)), ("Times", f"{zone(story.began)}, by the devices"),
             ("Events", str(len(story.lines))), ("Devices", ", ".join(story.verification.devices)),
             ("Last seal", last.hash[:16]))
    tables = list(_tables(story))
    empty = [name for name, found in tables if found is None]
    blocks: list[Block] = [*_what_it_is(story), *_ending(story), *_counts(story)]
    blocks += [found for _, found in tables if found is not None]
    if empty:
        blocks.append(Paragraph(f"There is none of these in the log: {', '.join(empty)}."))
    cautions = tuple(f"{count}. {line}" for count, line in enumerate(words.cautions(story.plan), 1))
    blocks.append(Callout(CAUTION, "Always", (*cautions, words.RANKS_BELOW)))
    return Part("exceptions", f"Record of job {state.job}: exceptions first",
                "Isolation of a live low-pressure steel gas service with a temporary internal stopper", facts,
                tuple(blocks))


def _what_it_is(story: Story) -> Iterator[Block]:
    state = story.state
    if state.replayed:
        yield Callout(STOP, "Replayed from a file", ("Every time in this record is a script's. It shows how a record "
                                                     "looks; it is no evidence that anything was done.",))
    if state.training:
        yield Callout(STOP, "Training", ("This was practice. Nobody worked on a live pipe, and no pipe is as this "
                                         "record says.",))
    report = story.verification
    if report.state == END_OPEN:
        yield Callout(OPEN, "The end is open", (f"{report.open_end} {report.why}".rstrip(), *SEALED))


def _ending(story: Story) -> Iterator[Block]:
    state = story.state
    closed = story.verification.state != END_OPEN
    links = "; every link of the log holds, and its end is closed and signed" if closed else ""
    seal = SEALED if closed else ()
    if state.ended == "finished":
        yield Callout(NOTE, f"The job was ended as finished{links}", seal)
    elif state.ended:
        yield Callout(OPEN, f"The job was ended before its purpose was reached{links}",
                      (f"Reason: {state.end_reason}", *seal))
    else:
        missing = [step for step in state.basis.steps if not state.stands(step.id) and not step.repeats]
        holds = ", ".join(f"hold {step.hold} ({step.id})" for step in missing if step.hold)
        yield Callout(OPEN, f"The job has not been ended in this log{links}", (
            f"{len(missing)} of {len(state.basis.steps)} steps are not done or open again; among them "
            f"{holds or 'no hold'}.", *seal))
    if state.stopped:
        yield Callout(STOP, "Work is stopped", (state.stopped,))
    if state.different:
        yield Callout(OPEN, "Found otherwise than the plan says, and not planned again", tuple(
            f"{key}: {state.answers[key].value.written} against {fact} of the survey"
            for key, fact in state.different.items()))


def _counts(story: Story) -> tuple[Block, ...]:
    """Counts, so that nothing can be overlooked; never a score."""
    number = {kind: str(sum(1 for _ in story.of(kind))) for kind in (log.Stopped, log.Refused, log.Overridden,
                                                                      log.Corrected, log.Replanned)}
    late = str(sum(bool(line.event.paper_at) for line in story.lines))
    missing = str(len(list(_not_measured(story))))
    return (Tiles((Tile("Stops", number[log.Stopped], "never scored"), Tile("Refused", number[log.Refused]),
                   Tile("Overrides", number[log.Overridden]), Tile("Corrections", number[log.Corrected]))),
            Tiles((Tile("New plans", number[log.Replanned]), Tile("Opened again", str(len(story.reopenings)), "steps"),
                   Tile("From paper", late, "events"), Tile("Not measured", missing))))


def _tables(story: Story) -> Iterator[tuple[str, Table | None]]:
    """Each kind of exception with its name; None where the log has none of it."""
    first = story.began
    yield "stops", rows_or_none("Stops, and going on", ("when", "who", "what", "why"), [
        cells(when_of(line.event, first), line.event.person,
              Cell(line.event.kind, strong=line.event.kind == "stopped"), _reason(line))
        for _, line in story.of(log.Stopped, log.Resumed, log.Aborted)], (2, 1, 2, 8))
    yield "overrides", rows_or_none("Passed on the word of an authoriser", (
        "when", "step", "what was passed", "reason", "authoriser; entered by", "signature"),
        list(_overrides(story)), (2, 1.2, 3, 5, 2.4, 3.4))
    yield "corrections", rows_or_none("Corrections: the old value stays in the log", (
        "when", "answer", "from", "to", "who", "why"), list(_corrections(story)), (2, 2, 2.5, 2.5, 1, 5))
    yield "steps opened again", rows_or_none("Steps and holds that were opened again", ("when", "step", "why", "since"),
                                             list(_reopenings(story)), (2, 3, 6, 3))
    yield "refusals", rows_or_none("Refused when it was tried; nothing was changed by it", (
        "when", "who", "what was tried", "why not"), list(_refusals(story)), (2, 1, 2.4, 8.6))
    yield "values not measured", rows_or_none("Not measured", ("when", "question", "why", "who"),
                                              list(_not_measured(story)), (2, 4, 6, 1))
    yield "entries from paper", rows_or_none("Entered late, from paper", (
        "done at, by the paper", "entered at", "what", "who"), list(_late(story)), (3, 3, 5, 1))
    yield "remarks", rows_or_none("Remarks", ("when", "step", "who", "what"), [
        cells(when_of(line.event, first), getattr(line.event.happening, "step", "") or "the job", line.event.person,
              getattr(line.event.happening, "text", "")) for _, line in story.of(log.Noted)], (2, 1.2, 1, 9))
    yield "what the program remarks", rows_or_none("What the program remarks", ("when", "step", "what"), [
        cells(when(remark.at, first), remark.step or "the job", remark.what) for remark in story.state.remarks
        if not isinstance(story.lines[remark.number].event.happening, (log.Stopped, log.Resumed, log.Overridden,
                                                                       log.Corrected))], (2, 1.2, 9))
    yield "events that would have been refused where they stand", rows_or_none(
        "Accepted on one device, but not as things stood in the whole log", ("event", "what", "who", "why not"),
        [cells(str(number), f"{event.kind} {getattr(event.happening, 'step', '')}", event.person, "; ".join(reasons))
         for number, event, reasons in story.would_be_refused], (1, 2, 1, 9))
    yield "questions an auditor would ask", rows_or_none(
        "What an auditor would ask; a question is no accusation", ("events", "step", "question"),
        [cells(_numbers(question.numbers), question.step or "the job", question.text) for question in story.asked],
        (1.8, 1.2, 9))
    yield "numbers that this program works out otherwise", rows_or_none(
        "Worked out by another version of the program", ("what",), [cells(said) for said in story.said], (1,))
    yield "clocks that went back", rows_or_none("Clocks", ("what",), [
        cells(said) for said in story.verification.questions], (1,))


def _numbers(numbers: tuple[int, ...]) -> Cell:
    more = len(numbers) - NUMBERS_SHOWN
    return Cell(", ".join(map(str, numbers[:NUMBERS_SHOWN])), f"and {more} more" if more > 0 else "")


def _reason(line: Line) -> str:
    return getattr(line.event.happening, "reason", "") or "no reason was given"


def _overrides(story: Story) -> Iterator[tuple[Cell, ...]]:
    for _, line in story.of(log.Overridden):
        what = line.event.happening
        assert isinstance(what, log.Overridden)
        ask = next((basis.asks[what.red] for basis in story.bases.values() if what.red in basis.asks), None)
        yield cells(when_of(line.event, story.began), what.step,
                    Cell(ask.about if ask else "what the plan leaves open", what.red, True), what.reason,
                    f"{what.authoriser}; {line.event.person}",
                    signature_words(story.check, what.key, what.statement, what.signature))


def _corrections(story: Story) -> Iterator[tuple[Cell, ...]]:
    values = {line.hash: line.event.happening.value.written for _, line in story.of(log.Answered, log.Corrected)}  # type: ignore[attr-defined]
    for _, line in story.of(log.Corrected):
        what = line.event.happening
        assert isinstance(what, log.Corrected)
        yield cells(when_of(line.event, story.began), story.keys.get(line.hash, "an answer that is not there"),
                    values.get(what.event, "an answer that is not there"), Cell(what.value.written, strong=True),
                    line.event.person, what.reason)


def _reopenings(story: Story) -> Iterator[tuple[Cell, ...]]:
    for found in story.reopenings:
        step = story.step(found.step)
        again = next((go for go in story.goes if go.completion.number > found.number and
                      found.step in (go.step.id, go.step.repeats)), None)
        since = f"done again {when(again.completion.at, story.began)}" if again else "NOT DONE AGAIN"
        hold = f"hold {step.hold}" if step and step.hold else ""
        yield cells(when(found.at, story.began), Cell(found.step, hold, bool(hold)), found.why,
                    Cell(since, strong=again is None))


def _refusals(story: Story) -> Iterator[tuple[Cell, ...]]:
    for _, line in story.of(log.Refused):
        what = line.event.happening
        assert isinstance(what, log.Refused)
        more = len(what.reasons) - REASONS_SHOWN
        yield cells(when_of(line.event, story.began), line.event.person, f"{what.tried} {what.step}".rstrip(),
                    Cell(" ".join(what.reasons[:REASONS_SHOWN]),
                         f"and {more} more reasons, in the embedded log" if more > 0 else ""))


def _not_measured(story: Story) -> Iterator[tuple[Cell, ...]]:
    for _, line in story.of(log.Answered, log.Corrected):
        value = line.event.happening.value  # type: ignore[attr-defined]
        if value.how == "not measured":
            yield cells(when_of(line.event, story.began), story.keys.get(line.hash, "unknown"),
                        value.reason or "no reason was given", line.event.person)


def _late(story: Story) -> Iterator[tuple[Cell, ...]]:
    for _, line in story.of(*log.KINDS.values()):
        event = line.event
        if event.paper_at:
            gone = log.moment(event.at) - log.moment(event.paper_at)
            yield cells(event.paper_at, Cell(event.at, f"{span(gone.total_seconds())} later"),
                        f"{event.kind} {getattr(event.happening, 'step', '')}".rstrip(), event.person)


