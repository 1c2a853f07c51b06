"""An order of work as a drawing: nine cards as blocks, a line for each step, and beside them the barrier count as a
step line, so that every one-barrier window is seen. Data in, shapes out; a hold is marked by word and number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from stillbore.report.drawings.shapes import Hatch, Label, Line, Path, Rectangle, Shape, Sheet, View, box
from stillbore.report.drawings.svg import fitted

WIDTH, HEIGHT = 0.420, 0.297  # A3, lying
EDGE, TOP, FOOT, BETWEEN = 0.010, 0.030, 0.012, 0.010
COLUMNS = 2
COLUMN = (WIDTH - 2 * EDGE - (COLUMNS - 1) * BETWEEN) / COLUMNS
HEADING = 1.35  # height of a card's heading, in lines
TALLEST = 0.0062  # m; a line of a step is no taller
NUMBER, SIGNS, ACTION, CHART, HELD = 0.002, 0.013, 0.034, 0.138, 0.172  # m from the column's left edge
LEVEL = 0.008  # m between one barrier count and the next
WALL = 3  # where "pipe wall" stands on the axis; more barriers than two stand at two
AXIS = ("0", "1", "2", "wall")
PIPE_WALL = -1


@dataclass(frozen=True)
class DrawnStep:
    """A step as it is drawn: ``barriers`` after it (-1: pipe wall on every way), and ``window``: what holds the gas
    alone while a way out into the pit is open or not proved, or ""."""

    id: str
    card: str
    action: str
    hold: int
    signers: int
    barriers: int
    window: str


def procedure_sheet(title: str, statement: str, steps: Sequence[DrawnStep]) -> Sheet:
    """The drawing, on one sheet of A3."""
    cards = [(card, list(rows)) for card, rows in groupby(steps, lambda step: step.card)]
    columns = _columns(cards)
    lines = max(sum(HEADING + len(rows) for _, rows in column) for column in columns)
    height = min(TALLEST, (HEIGHT - TOP - FOOT) / lines)
    wide = WIDTH - 2 * EDGE
    shapes: list[Shape] = [Label((EDGE, 0.014), fitted(title, wide, "large", True), size="large", bold=True),
                           Label((EDGE, HEIGHT - 0.005), fitted(statement, wide, "small"), size="small")]
    for number, column in enumerate(columns):
        shapes += _column(EDGE + number * (COLUMN + BETWEEN), height, column)
    windows = [f"{step.id} ({step.window})" for step in steps if step.window]
    described = (f"{len(steps)} steps on {len(cards)} cards; hard holds at "
                 f"{', '.join(f'{step.id} (hold {step.hold})' for step in steps if step.hold)}; one-barrier windows "
                 f"after {', '.join(windows) or 'no step'}.")
    return Sheet("procedure", title, "not to scale", described, WIDTH, HEIGHT, (View(1.0, (0.0, 0.0), tuple(shapes)),))


def _columns(cards: list[tuple[str, list[DrawnStep]]]) -> list[list[tuple[str, list[DrawnStep]]]]:
    """The cards in two columns, cut between cards where the longer column is shortest."""
    sizes = [HEADING + len(rows) for _, rows in cards]
    cut = min(range(1, len(cards) + 1), key=lambda place: max(sum(sizes[:place]), sum(sizes[place:])))
    return [part for part in (cards[:cut], cards[cut:]) if part]


def _level(left: float, barriers: int) -> float:
    return left + CHART + LEVEL * (0.6 + (WALL if barriers == PIPE_WALL else min(barriers, 2)))


def _column(left: float, height: float, column: list[tuple[str, list[DrawnStep]]]) -> list[Shape]:
    shapes: list[Shape] = []
    for label, words in enumerate(AXIS):
        x = _level(left, PIPE_WALL if label == WALL else label)
        shapes.append(Label((x, TOP - 0.002), words, "middle", "small", name=f"axis {words}"))
    shapes += [Label((left + CHART, TOP - 0.0065), "barriers after the step", size="small"),
               Label((left + HELD, TOP - 0.002), "holds alone", size="small")]
    top, places = TOP, []
    for card, rows in column:
        bottom = top + height * (HEADING + len(rows))
        shapes += [Rectangle((left, top), COLUMN, bottom - top, "frame", f"card {card}"),
                   Label((left + NUMBER, top + 0.75 * HEADING * height), card, size="heading", bold=True)]
        for number, step in enumerate(rows):
            y = top + height * (HEADING + number)
            places.append((step, y))
            shapes += _row(left, y, height, step)
        top = bottom
    shapes[:0] = [Line((x, TOP), (x, top), "extension") for x in (_level(left, each) for each in (0, 1, 2, PIPE_WALL))]
    return [*shapes, *_step_line(left, height, places)]


def _row(left: float, top: float, height: float, step: DrawnStep) -> list[Shape]:
    base = top + 0.72 * height
    shapes: list[Shape] = [Label((left + NUMBER, base), step.id, bold=bool(step.hold), name=f"step {step.id}")]
    if step.hold:
        frame = (left + SIGNS - 0.001, top + 0.12 * height)
        shapes += [Rectangle(frame, ACTION - SIGNS - 0.001, 0.76 * height, "frame"),
                   Label((left + SIGNS, base), f"HOLD {step.hold}", bold=True, size="small", name=f"hold {step.hold}")]
    elif step.signers:
        shapes.append(Label((left + SIGNS, base), f"{step.signers} sign", size="small"))
    shapes.append(Label((left + ACTION, base), fitted(step.action, CHART - ACTION - 0.001, bold=bool(step.hold)),
                        bold=bool(step.hold)))
    if step.window:
        band = box(left + CHART, top, left + HELD - 0.001, top + height)
        shapes += [Hatch((band,), "window", f"window {step.id}"),
                   Label((left + HELD, base), fitted(step.window, COLUMN - HELD, "small", True), size="small",
                         bold=True)]
    return shapes


def _step_line(left: float, height: float, places: list[tuple[DrawnStep, float]]) -> list[Shape]:
    """The barrier count down the column: upright beside each step, level where it changes."""
    points = []
    for (step, top), after in pairwise([*places, None]):
        x = _level(left, step.barriers)
        points += [(x, top), (x, after[1] if after else top + height)]
    return [Path(tuple(points), "target", closed=False, name="barriers")]
