"""What was kept at the pit: gauge logs as charts, photos shown small, and every file with its hash."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from xml.sax.saxutils import escape

from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.readings import read_text
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.report import charts
from stillbore.report.document import OPEN, Block, Callout, Cell, Figure, Heading, Paragraph, Part, cells, plain
from stillbore.report.drawings.svg import FONT, fitted
from stillbore.report.record_pictures import Picture, picture
from stillbore.report.record_story import Story
from stillbore.report.record_words import SHORT, rows_or_none, when_of

LARGEST_LOG = 20_000_000  # bytes of a gauge log that is drawn
MOST_SHOWN = 30_000_000  # bytes of photos that are shown; every photo is embedded, whatever it weighs
ACROSS, WIDE, PHOTO, ROW, EDGE = 3, 182.0, 40.0, 56.0, 2.0  # photos in a row; mm


def evidence_part(story: Story) -> Part:
    """Charts, photos, list."""
    blocks: list[Block] = [Heading("Gauge logs"), *_charts(story), Heading("Photos"), *_photos(story)]
    rows = [cells(Cell(what.step, when_of(line.event, story.began)), what.sort, Cell(what.name, what.caption),
                  Cell(f"{what.size:,} bytes", what.sha256), line.event.person) for line, what in kept_of(story)]
    table = rows_or_none("Every file that was kept, by the SHA-256 of its bytes", (
        "step", "sort", "name", "size and hash", "who"), rows, (1.4, 1.4, 4.2, 6.4, 0.8))
    blocks.append(table or Callout(OPEN, "No evidence was kept in this log", ()))
    return Part("evidence", "Evidence", "Each file is embedded in the PDF as it was kept.", (), tuple(blocks))


def kept_of(story: Story) -> Iterator[tuple[Line, log.Kept]]:
    for _, line in story.of(log.Kept):
        assert isinstance(line.event.happening, log.Kept)
        yield line, line.event.happening


def _charts(story: Story) -> Iterator[Block]:
    found = [(line, what) for line, what in kept_of(story) if what.sort == "gauge log"]
    if not found:
        yield Paragraph("No gauge log was kept.")
    for number, (line, what) in enumerate(found, 1):
        at = when_of(line.event, story.began)
        verdict = _verdict(story, what.sha256)
        try:
            yield from _chart(story, number, what, f"{what.step}: {what.caption or what.name}, kept {at}", verdict)
        except (InputFaults, StillboreError, ValueError, OverflowError) as error:
            why = error.faults[0].what if isinstance(error, InputFaults) else "it is no log of readings"
            yield Callout(OPEN, f"{what.step}: {what.name} cannot be drawn", (why, f"SHA-256 {what.sha256}"))


def _verdict(story: Story, sha256: str) -> str:
    """What was made of a gauge log: the first sentence of the answer that rests on it."""
    for _, line in story.of(log.Answered, log.Corrected):
        what = line.event.happening
        assert isinstance(what, (log.Answered, log.Corrected))
        if sha256 in what.evidence:
            return f"judged: {what.value.written}, {what.verdict or 'not judged'}; limit {what.limit or 'none'}"
    return "kept as evidence; no verdict rests on it"


def _chart(story: Story, number: int, what: log.Kept, title: str, verdict: str) -> tuple[Block, ...]:
    if what.size > LARGEST_LOG:
        raise StillboreError("It is too large to be drawn.", "Look at the embedded file.")
    text = story.kept(what.sha256).decode("utf-8", errors="replace")
    readings = read_text(text, fitted(plain(title), 0.150, "heading", True))
    said = (f"{len(readings):,} readings, {len(readings.doubtful):,} of them doubtful; {what.name}, SHA-256 "
            f"{what.sha256[:SHORT]}; {verdict}.")
    return (Figure(f"gauge-{number}", title, charts.trace_chart(readings, ()), charts.WIDTH, charts.HEIGHT, "",
                   "Pressure against time."), Paragraph(f"{what.step}: {said}"))


def _photos(story: Story) -> Iterator[Block]:
    """Sheets of small pictures, with where and when below each; what cannot be shown is listed."""
    shown: list[tuple[str, str, Picture]] = []
    left, weight = [], 0
    for line, what in kept_of(story):
        if what.sort != "photo":
            continue
        found = picture(story.kept(what.sha256)) if what.size <= MOST_SHOWN else None
        if found is None or weight + what.size > MOST_SHOWN:
            left.append(f"{what.step}: {what.name}, SHA-256 {what.sha256}")
            continue
        weight += what.size
        shown.append((f"{what.step}, {when_of(line.event, story.began)}, {line.event.person}",
                      f"{what.caption or what.name}; {what.sha256[:SHORT]}", found))
    if not shown and not left:
        yield Paragraph("No photo was kept.")
    for first in range(0, len(shown), ACROSS):
        yield _sheet(first, shown[first:first + ACROSS])
    if left:
        yield Callout(OPEN, "Photos that are embedded and not shown here", tuple(left))


def _sheet(first: int, shown: list[tuple[str, str, Picture]]) -> Figure:
    """One row of pictures as a drawing."""
    cell = WIDE / ACROSS
    title = f"Photos {first + 1} to {first + len(shown)}" if len(shown) > 1 else f"Photo {first + 1}"
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDE:g}mm" height="{ROW:g}mm" '
             f'viewBox="0 0 {WIDE:g} {ROW:g}" font-family="{FONT}" font-size="3">', f"<title>{title}</title>",
             f'<rect width="{WIDE:g}" height="{ROW:g}" fill="#fff"/>']
    for number, (where, name, found) in enumerate(shown):
        left, wide = number * cell + EDGE / 2, cell - EDGE
        scale = min(wide / found.width, PHOTO / found.height)
        across, down = found.width * scale, found.height * scale
        parts += [f'<rect x="{left:.2f}" y="1" width="{wide:.2f}" height="{PHOTO:g}" fill="none" stroke="#000" '
                  'stroke-width="0.2"/>',
                  f'<image x="{left + (wide - across) / 2:.2f}" y="{1 + (PHOTO - down) / 2:.2f}" '
                  f'width="{across:.2f}" height="{down:.2f}" '
                  f'href="data:{found.kind};base64,{base64.b64encode(found.data).decode()}"/>']
        for line, words in enumerate((where, name)):
            parts.append(f'<text x="{left:.2f}" y="{PHOTO + 6 + 4.5 * line:g}"'
                         f'{" font-weight=" + chr(34) + "bold" + chr(34) if line == 0 else ""}>'
                         f"{escape(fitted(plain(words), wide * 1e-3, 'small', line == 0))}</text>")
    described = "; ".join(f"{where}: {name}" for where, name, _ in shown)
    return Figure(f"photos-{first + 1}", title, "\n".join([*parts, "</svg>", ""]), WIDE, ROW, "", described)
