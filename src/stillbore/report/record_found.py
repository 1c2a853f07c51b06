"""What was found against what was on record, and every plan that was made anew because of it."""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.derive import Fact
from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.report.document import OPEN, Block, Callout, Cell, Heading, Paragraph, Part, cells
from stillbore.report.record_story import Story
from stillbore.report.record_words import NOT_KNOWN, rows_or_none, value_cell, when, when_of
from stillbore.run.basis import Ask
from stillbore.run.state import Answer
from stillbore.units import show

ON_RECORD = ("material", "size", "grade", "document")


def found_part(story: Story) -> Part:
    """Facts of the survey beside what was measured at the pit."""
    blocks: list[Block] = [
        Paragraph("A measurement on site ranks above a record. What was found otherwise makes a new plan, and opens "
                  "again what rested on the old one."), *_old_record(story), *_facts(story), *_replans(story)]
    return Part("found", "What was found against what was on record", "", (), tuple(blocks))


def _old_record(story: Story) -> Iterator[Block]:
    row = story.first_plan.survey.row("record")
    rows = [cells(key, Cell(row.text(key) or "nothing", strong=True)) for key in ON_RECORD if key in row.values]
    table = rows_or_none("What the old papers said", ("what", "on record"), rows, (4, 7))
    if table:
        yield table


def _facts(story: Story) -> Iterator[Block]:
    rows = [_row(story, ask) for ask in story.state.basis.asks.values() if ask.tells]
    table = rows_or_none("Survey before the work, and what was found", (
        "what", "in the first survey", "found at the pit", "when, who", "how the two lie"), rows, (4, 3.4, 3.4, 2, 3.4))
    yield table or Paragraph("This order of work asks for nothing that the survey says already.")


def _row(story: Story, ask: Ask) -> tuple[Cell, ...]:
    answer = story.state.answers.get(ask.key)
    surveyed = survey_fact(story.first_plan, ask.tells)
    before = Cell(NOT_KNOWN, "the survey does not say") if surveyed is None else \
        Cell(surveyed.text or show(surveyed.value, surveyed.unit),
             " ".join(filter(None, (surveyed.how, surveyed.by, surveyed.when[:16]))))
    if answer is None:
        return cells(Cell(ask.about, ask.key), before, Cell("NOT ANSWERED", strong=True), "", NOT_KNOWN)
    return cells(Cell(ask.about, ask.key), before, value_cell(answer.value, ask),
                 f"{when(answer.at, story.began)}, {answer.person}", _how_they_lie(story, ask, answer))


def survey_fact(plan: Plan, name: str) -> Fact | None:
    """A fact of the survey by its dotted name; None where the survey does not have it."""
    section, _, key = name.partition(".")
    if section not in plan.survey.sections or not plan.survey.sections[section]:
        return None
    return plan.survey.row(section).facts.get(key)


def _how_they_lie(story: Story, ask: Ask, answer: Answer) -> Cell:
    """Agreeing, or different; and whether it was planned again."""
    if not answer.value.number:
        return Cell(NOT_KNOWN, "no number was given")
    if ask.key in story.state.different:
        return Cell("DIFFERENT", "and not planned again", True)
    last = survey_fact(story.plan, ask.tells)
    if ask.key in story.differed:
        return Cell("DIFFERENT", f"planned again with {last.text if last else NOT_KNOWN}", True)
    return Cell("agrees", "within what the survey allows")


def _replans(story: Story) -> Iterator[Block]:
    yield Heading("New plans during the job")
    found = list(story.of(log.Replanned))
    if not found:
        yield Paragraph(f"None: the job was done by the plan that it was opened with, {story.opened.plan}.")
    before = story.opened.files
    for count, (number, line) in enumerate(found, 1):
        what = line.event.happening
        assert isinstance(what, log.Replanned)
        old = {file.kind: file.sha256 for file in before}
        files = [f"{file.kind} ({file.name})" for file in what.files if old.get(file.kind) != file.sha256 and
                 file.kind != "plan"]
        before = what.files
        again = [each.step for each in story.reopenings if each.number == number]
        yield Callout(OPEN, f"Plan {count + 1}, at {when_of(line.event, story.began)} by {line.event.person}", (
            f"Reason: {what.reason}", f"Changed files: {', '.join(files) or 'none'}. Plan {what.plan}.",
            f"Opened again by it: {', '.join(again) or 'nothing'}."))
        table = rows_or_none(f"What plan {count + 1} changed", ("number", "before", "after"), [
            cells(Cell("", change.name), change.before or "was not there",
                  Cell(change.after or "is not there", strong=True)) for change in what.changes], (6, 4, 4))
        yield table or Paragraph("It changed no number.")


def numbers_part(story: Story) -> Part:
    """The plan's key numbers: those that the order of work shows at its steps."""
    blocks: list[Block] = []
    for count, (version, basis) in enumerate(story.bases.items(), 1):
        names = dict.fromkeys(name for step in basis.steps for name in step.shows)
        rows = [cells(Cell(found.title, name), Cell(found.written, strong=True)) if found else
                cells(Cell(name), Cell(NOT_KNOWN, "the plan does not have it", True))
                for name in names for found in (basis.limits.get(name),)]
        blocks += [Heading(f"Plan {count}: {version}"), Paragraph(f"Result: {basis.result}. Holds that it left "
                   f"open: {', '.join(map(str, basis.open_holds)) or 'none'}.")]
        table = rows_or_none("Numbers that the order of work shows", ("number", "value (range)"), rows, (9, 7))
        blocks.append(table or Paragraph("This order of work shows no numbers."))
    return Part("numbers", "The plan's key numbers", "The whole plan is embedded as plan.json.", (), tuple(blocks))
