"""As laid: the ends with their ties, the dead leg, the new pipe, and where each lies, as far as anybody measured it."""

from __future__ import annotations

import re
from dataclasses import replace

from stillbore.report.document import OPEN, Block, Callout, Cell, Figure, Paragraph, Part, cells
from stillbore.report.drawings.svg import draw
from stillbore.report.places import LENGTHS, MEASURED_HOLD, UNKNOWN, Place, places
from stillbore.report.record_drawing import FEATURE, Tie, as_laid_sheet
from stillbore.report.record_story import Story
from stillbore.report.record_words import rows_or_none, value_cell
from stillbore.run.basis import Ask

TIE = re.compile(r"(?:.*_)?tie_?(\d+)")
TIES_WANTED = 3


def laid_part(story: Story) -> Part:
    """Sketch and tables. What was not measured says so."""
    asks = [ask for step in story.state.basis.steps if step.hold == MEASURED_HOLD for ask in step.asks]
    blocks: list[Block] = []
    if not asks:
        blocks.append(Callout(OPEN, "This order of work does not ask where things lie", ()))
    elif not any(ask.key in story.state.answers for ask in asks):
        blocks.append(Callout(OPEN, "Nothing was measured before backfill in this log", (
            "Where the ends, the dead leg and the new pipe lie is not known from this record.",)))
    else:
        blocks += _sketch(story, asks)
    rows = [_row(story, ask) for ask in asks if ask.key in story.state.answers or not ask.optional]
    table = rows_or_none("Measured in the open pit, before backfill", ("what", "value", "uncertainty", "who"), rows,
                         (5, 5, 4, 1.4))
    blocks += [table] if table else []
    found = places(story.lines, story.plan)
    where = rows_or_none("Where it lies", ("what", "position, WGS 84", "how well", "how found"),
                         [_place(each) for each in found], (3, 4, 4, 4))
    blocks += [where] if where else []
    blocks.append(Paragraph("Dig by hand: where something lay is not where it must still lie. The coordinates of the "
                            "pit find the house, not the pipe."))
    return Part("laid", "As laid", "", (), tuple(blocks))


def ties_of(story: Story, asks: list[Ask]) -> list[Tie]:
    """Ties by the names of the questions: "tie_1" is a distance, "tie_1_to" says to what."""
    names = {ask.name: story.state.answers.get(ask.key) for ask in asks}
    found = []
    for name, answer in names.items():
        if TIE.fullmatch(name) and answer is not None:
            to = names.get(f"{name}_to")
            found.append(Tie(answer.value.written, to.value.written if to else "to what was not said"))
    return found


def _sketch(story: Story, asks: list[Ask]) -> list[Block]:
    ties = ties_of(story, asks)
    blocks: list[Block] = []
    if len(ties) < TIES_WANTED:
        blocks.append(Callout(OPEN, f"{len(ties) or 'No'} ties; {TIES_WANTED} are wanted", (
            "The end is not found again by these alone.",)))
    rest = [(ask.about, story.state.answers[ask.key].value.written) for ask in asks
            if ask.key in story.state.answers and not ask.name.startswith("tie") and not
            ask.name.endswith(("latitude", "longitude"))]
    if ties or rest:
        drawing = draw(as_laid_sheet(ties[:len(FEATURE)], rest))
        blocks.append(Figure("as-laid", drawing.title, drawing.svg, drawing.width_mm, drawing.height_mm, drawing.scale,
                             drawing.description))
    return blocks


def _row(story: Story, ask: Ask) -> tuple[Cell, ...]:
    answer = story.state.answers.get(ask.key)
    if answer is None:
        return cells(Cell(ask.about, ask.key), Cell("NOT ANSWERED", strong=True), "", "")
    value = answer.value
    spread = f"{value.uncertainty} {value.unit}" if value.uncertainty else \
        Cell(ask.uncertainty, "reckoned with by the order of work; none was said") if ask.uncertainty and value.number \
        else "not said" if value.number else "words"
    return cells(Cell(ask.about, ask.key), value_cell(value, replace(ask, sort="")), spread, answer.person)


def _place(place: Place) -> tuple[Cell, ...]:
    position = f"{place.latitude:.6f}, {place.longitude:.6f}" if place.located else "unknown"
    accuracy = "accuracy unknown" if place.accuracy is None else f"within {place.accuracy:g} m"
    lengths = "; ".join(each.value.written for each in place.said) if place.kind in LENGTHS.values() else ""
    level = f"depth, ties, lengths: {place.level}" if place.level != UNKNOWN else ""
    return cells(Cell(place.title, place.kind), Cell(position, lengths, place.located), Cell(accuracy, level),
                 Cell(place.method, place.how))
