"""What stood between the gas and the pit, minute by minute: the barrier count, the one-barrier windows and how long
each was, and the district's pressure as a series of its own."""

from __future__ import annotations

from stillbore.record import events as log
from stillbore.report.common import barriers
from stillbore.report.document import Block, Callout, Cell, Figure, Paragraph, Part, cells
from stillbore.report.drawings.svg import draw
from stillbore.report.record_drawing import Mark, Span, timeline_sheet
from stillbore.report.record_story import Story, Window
from stillbore.report.record_words import rows_or_none, span, value_cell, when
from stillbore.run.instants import instant
from stillbore.units import parse

CLOSER = 0.6  # of the job; where the barriers changed in less of it, that part is drawn again, larger


def timeline_part(story: Story) -> Part:
    """Drawings and tables of what stood between the gas and the pit."""
    blocks: list[Block] = [Paragraph(
        "Barriers are the fewest proved parts that gas has to pass on any way from the main to the pit; what is shut "
        "but not proved does not count. In a one-barrier window a way out into the pit is open, or not proved, and one "
        "part alone holds the gas. Lengths are told for the next plan; nobody is measured by them.")]
    blocks += _figures(story)
    rows = [_window_row(story, letter, window) for letter, window in lettered(story)]
    table = rows_or_none("One-barrier windows", ("", "held alone by", "way out", "from", "to", "length"), rows,
                         (0.6, 3, 3.4, 2.6, 2.6, 2.4))
    blocks.append(table or Paragraph("There was no one-barrier window in this log."))
    if any(window.until is None for window in story.windows):
        blocks.append(Callout("open", "The log ends inside a one-barrier window", (
            "A one-barrier state is never left unattended: whoever reads this asks what came next.",)))
    course = rows_or_none("Barriers between the gas and the pit", ("from", "after step", "count", "weakest way"), [
        cells(when(each.at, story.began), each.step or "the beginning", Cell(barriers(each.barriers, each.way)[0],
              strong=True), ", ".join(each.way) or "there is none") for each in story.state.course], (2, 2, 4, 7))
    if course:
        blocks.append(course)
    blocks += _district(story)
    return Part("timeline", "What stood between the gas and the pit", "", (), tuple(blocks))


def lettered(story: Story) -> list[tuple[str, Window]]:
    """The windows in their order, each with a letter (a to z, then a1...)."""
    letters = "abcdefghijklmnopqrstuvwxyz"
    return [(letters[number % 26] + (str(number // 26) if number >= 26 else ""), window)
            for number, window in enumerate(story.windows)]


def _window_row(story: Story, letter: str, window: Window) -> tuple[Cell, ...]:
    until = Cell(when(window.until, story.began), f"after {window.closed_by}") if window.until else \
        Cell("NOT CLOSED", "in this log", True)
    length = span(window.length) if window.until else "until the log's end at least"
    return cells(letter, window.holder, ", ".join(window.ends),
                 Cell(when(window.at, story.began), f"after {window.opened_by}"), until, Cell(length, strong=True))


def _figures(story: Story) -> list[Block]:
    moments = [instant(line.event).at.timestamp() for line in story.lines]
    first, last = min(moments), max(moments)
    found: list[Block] = [_figure(story, "timeline", "The whole job", first, last)]
    changes = [each.at.at.timestamp() for each in story.state.course[1:]]
    changes += [window.until.at.timestamp() for window in story.windows if window.until]
    if changes and (max(changes) - min(changes)) < CLOSER * (last - first):
        room = max(0.03 * (max(changes) - min(changes)), 20.0)
        found.append(_figure(story, "timeline-close", "From the first change of the barriers to the last",
                             min(changes) - room, max(changes) + room))
    return found


def _figure(story: Story, key: str, title: str, first: float, last: float) -> Figure:
    end = max(instant(line.event).at.timestamp() for line in story.lines)
    course = [(each.at.at.timestamp(), each.barriers) for each in story.state.course]
    windows = [Span(letter, window.at.at.timestamp(), window.until.at.timestamp() if window.until else end,
                    span(window.length) if window.until else "not closed") for letter, window in lettered(story)]
    holds = [Mark(f"H{go.step.hold or _repeated(story, go.step.repeats)}", go.completion.at.at.timestamp())
             for go in story.goes if go.step.hold or _repeated(story, go.step.repeats)]
    stops = [Mark("STOP" if line.event.kind == "stopped" else "ABORTED", instant(line.event).at.timestamp())
             for _, line in story.of(log.Stopped, log.Aborted)]
    drawing = draw(timeline_sheet(key, title, (first, max(last, first + 1.0)), story.began.at.tzinfo, course, windows,
                                  holds, stops, _readings(story)))
    return Figure(key, title, drawing.svg, drawing.width_mm, drawing.height_mm, "", drawing.description)


def _repeated(story: Story, step: str) -> int:
    found = story.step(step) if step else None
    return found.hold if found else 0


def _readings(story: Story) -> list[tuple[float, float]]:
    """Readings of the district that are numbers: when [s since 1970], [mbar]."""
    found = []
    for reading in story.state.district:
        try:
            pressure = parse(reading.value.written, "Pa gauge").value if reading.value.number else None
        except ValueError:  # UnitError is one
            pressure = None
        if pressure is not None:
            found.append((reading.at.at.timestamp(), pressure / 100.0))
    return found


def _district(story: Story) -> list[Block]:
    people = {line.hash: line.event.person for _, line in story.of(log.District)}
    table = rows_or_none("The district's pressure, a series of its own: the rig's gauge cannot see past the stopper", (
        "when", "pressure", "read where", "who"), [
        cells(when(each.at, story.began), value_cell(each.value), each.place or "place not said", people[each.hash])
        for each in story.state.district], (2, 4, 6, 2))
    return [table or Callout("open", "No reading of the district is in this log", (
        "What the stopper was watched against is not known.",))]


