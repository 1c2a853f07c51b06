"""The holds in their order: each with its values and limits, who signed when, and how fresh what it rested on was."""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.record import events as log
from stillbore.report.document import NOTE, OPEN, Block, Callout, Cell, Columns, Heading, Paragraph, Part, Table, cells
from stillbore.report.record_story import Go, Rested, Story
from stillbore.report.record_words import (
    rows_or_none,
    signature_words,
    span,
    value_cell,
    verdict_words,
    wanted_cell,
    when,
)
from stillbore.run.basis import Ask, Step
from stillbore.run.state import Answer

HOLDS = range(1, 19)  # the hard holds of the trade (handbook, trade.md 2)
ANSWERS = ("question", "answer", "wanted", "verdict", "when, who")
WIDTHS = (4.2, 4, 4, 1.8, 2)


def holds_part(story: Story) -> Part:
    """Every hard hold."""
    blocks: list[Block] = [
        Paragraph("A hold is signed by two people, each with an own secret. People stand here by reference; names are "
                  "kept outside the record. A verdict is that of the moment: it counts for the pressure, the time and "
                  "the temperature of its readings."), _overview(story)]
    for number in sorted({*HOLDS, *(step.hold for step in story.state.basis.steps if step.hold)}):
        step = next((step for step in story.state.basis.steps if step.hold == number), None)
        blocks += _hold(story, number, step)
    return Part("holds", "The holds", "", (), tuple(blocks))


def goes_of(story: Story, step: Step) -> list[Go]:
    """Every time that a step was done, by itself or by the step that repeats it."""
    return [go for go in story.goes if step.id in (go.step.id, go.step.repeats)]


def _overview(story: Story) -> Table:
    rows = []
    for step in sorted((step for step in story.state.basis.steps if step.hold), key=lambda step: step.hold):
        done = story.state.done.get(step.id)
        stands = "NOT SIGNED" if done is None else "signed, stands" if done.stands else "OPEN AGAIN"
        rows.append(cells(f"H{step.hold}", Cell(step.action, step.id), Cell(stands, strong=done is None or
                    not done.stands), when(done.at, story.began) if done else "never",
                    ", ".join(done.people) if done else "nobody"))
    return Table("All holds", ("hold", "what", "state", "when", "signed by"), tuple(rows), (1.6, 9, 3, 2.4, 2))


def _hold(story: Story, number: int, step: Step | None) -> Iterator[Block]:
    if step is None:
        yield Heading(f"Hold {number}")
        yield Callout(OPEN, f"This order of work has no hold {number}", ())
        return
    yield Heading(f"Hold {number}: {step.action}")
    goes = goes_of(story, step)
    done = story.state.done.get(step.id)
    if not goes:
        yield Callout(OPEN, f"Hold {number} was not signed in this log", (f"Must be true: {step.must_be_true}.",))
        yield from _unfinished(story, step)
    elif done and not done.stands:
        yield Callout(OPEN, f"Hold {number} is open again", (done.reopened,))
    for count, go in enumerate(goes, 1):
        times = f", time {count} of {len(goes)}" if len(goes) > 1 else ""
        yield from _go(story, go, times)
    again = [found for found in story.reopenings if found.step == step.id]
    if again and done and done.stands:
        yield Callout(OPEN, f"Hold {number} was opened again", tuple(
            f"{when(found.at, story.began)}: {found.why}" for found in again))
    yield from _passed(story, step)


def _unfinished(story: Story, step: Step) -> Iterator[Block]:
    """What was answered of a hold that was never signed."""
    if not any(ask.key in story.state.answers for ask in step.asks):
        asked = "; ".join(ask.about for ask in step.asks)
        yield Paragraph(f"Nothing that it asks was answered: {asked}." if asked else "It asks nothing.")
        return
    rows = [_answer(story, ask.key, ask, story.state.answers.get(ask.key)) for ask in step.asks]
    table = rows_or_none("What was answered of it", ANSWERS, rows, WIDTHS)
    if table:
        yield table


def _answer(story: Story, key: str, ask: Ask | None, answer: Answer | None) -> tuple[Cell, ...]:
    question = Cell(ask.about, key) if ask else Cell(key)
    if answer is None:
        return cells(question, Cell("NOT ANSWERED", strong=True), "", "", "")
    return cells(question, value_cell(answer.value, ask), wanted_cell(answer, ask), verdict_words(answer.verdict),
                 Cell(when(answer.at, story.began), answer.person))


def _go(story: Story, go: Go, times: str) -> Iterator[Block]:
    """A hold as it was signed once."""
    by = f" by {go.step.id}" if times else f" ({go.step.id})"
    asks, answered = {ask.key: ask for ask in go.step.asks}, dict(go.answers)
    rows = [_answer(story, key, asks.get(key), answered.get(key)) for key in dict.fromkeys((*asks, *answered))
            if key in answered or not asks[key].optional]
    done = f"Done at {when(go.completion.at, story.began)}{by}{times}"
    yield rows_or_none(done, ANSWERS, rows, WIDTHS) or Paragraph(f"{done}; it asks nothing.", True)
    sentences = [answer.sentence for _, answer in go.answers if answer.evidence and answer.sentence]
    if sentences:
        yield Callout(NOTE, "What the gauge log was judged to show", tuple(dict.fromkeys(sentences)))
    rested = rows_or_none("What it rested on", ("step", "how old it was then", "it counts for"),
                          [_rested(story, each) for each in go.rested], (5, 3, 3))
    signed = rows_or_none("Signed", ("who", "when", "signature"), [
        cells(Cell(each.person, role_of(story, each.person)), when(each.at, story.began),
              signature_words(story.check, each.signed.key, each.signed.statement, each.signed.signature))
        for each in go.signatures], (3, 2.2, 5.8))
    if not go.step.signers:
        signed = Paragraph("It wants no signature.")
    yield Columns((signed or Callout(OPEN, "NOT SIGNED", ("It was marked as done without a signature.",)),),
                  (rested or Paragraph("It rests on no other step."),))


def role_of(story: Story, person: str) -> str:
    found = story.state.people.get(person)
    return found.role if found else "not on this job"


def _rested(story: Story, rested: Rested) -> tuple[Cell, ...]:
    step = story.step(rested.step)
    name = Cell(rested.step, step.action if step else "")
    if not rested.done:
        return cells(name, Cell("NOT DONE", strong=True), "")
    return cells(name, span(rested.age), Cell(rested.counts_for, strong=True) if rested.counts_for else
                 "as long as it stands")


def _passed(story: Story, step: Step) -> Iterator[Block]:
    passed = [line.event for _, line in story.of(log.Overridden) if line.event.happening.step == step.id]  # type: ignore[attr-defined]
    if passed:
        yield Callout(OPEN, "Passed on the word of an authoriser", tuple(
            f"{event.happening.red} by {event.happening.authoriser}, entered by {event.person}: "  # type: ignore[attr-defined]
            f"{event.happening.reason}" for event in passed))  # type: ignore[attr-defined]


def steps_part(story: Story) -> Part:
    """Every other step that was done, in the order of the log, and what was not done."""
    blocks: list[Block] = []
    rows = []
    for go in story.goes:
        if go.step.hold or _repeats_a_hold(story, go.step):
            continue
        said = "; ".join(f"{key.partition('.')[2].replace('_', ' ')}: {answer.value.written}"
                         + (f" ({answer.verdict})" if answer.verdict else "") for key, answer in go.answers)
        rows.append(cells(Cell(go.step.id, when(go.completion.at, story.began)), go.step.action,
                          said or "it asks nothing", _by(story, go)))
    table = rows_or_none("Checks", ("step", "what", "answers", "done by"), rows, (1.6, 5, 7.6, 1.8))
    blocks.append(table or Paragraph("No other step was done."))
    left = [step for step in story.state.basis.steps if step.id not in story.state.done and not step.hold and
            not step.repeats]
    missing = rows_or_none("Not done in this log", ("step", "what"), [cells(step.id, step.action) for step in left],
                           (1.6, 14))
    blocks.append(missing or Paragraph("Every step of the order of work was done at least once."))
    return Part("steps", "Every other step", "", (), tuple(blocks))


def _by(story: Story, go: Go) -> Cell:
    """Who did a step, and whether their signatures hold where it wants some."""
    found = [signature_words(story.check, each.signed.key, each.signed.statement, each.signed.signature)
             for each in go.signatures]
    bad = sum(cell.strong for cell in found)
    note = f"{bad} SIGNATURES DO NOT HOLD" if bad else f"{len(found)} signatures hold" if found else \
        "NOT SIGNED" if go.step.signers else ""
    return Cell(", ".join(go.completion.people), note, bool(bad))


def _repeats_a_hold(story: Story, step: Step) -> bool:
    repeated = story.step(step.repeats) if step.repeats else None
    return bool(repeated and repeated.hold)
