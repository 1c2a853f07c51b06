"""The pit from above, along the pipe and across it: what is dug, what stays away from the edge, how it is filled again.

Zero along the pipe is the saddle's centre, the house to the right. Every length is drawn at the largest it may be; the
figures beside it give the whole range. Where the cover is not known there is only the view from above.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from stillbore.plan import Plan
from stillbore.plan.parts import capital
from stillbore.report.drawings.ruler import ruler_of
from stillbore.report.drawings.shapes import (
    Circle,
    Dimension,
    Hatch,
    Label,
    Line,
    Path,
    Rectangle,
    Shape,
    Sheet,
    View,
    box,
    scale_bar,
)
from stillbore.report.drawings.svg import fitted

WIDTH = 0.180
TALLEST = 0.245
SCALES = (20, 25, 50, 100, 200, 500)  # one to so many; the first that fits is taken
GROUND = 0.15  # ground drawn beside and below the pit, in metres of ground
TEXT = 0.034  # paper for the figures beside the section
NARROW = 0.034  # a section that is shorter than this on paper has all its figures beside it
GAP = 0.010  # paper between the two sections
HEAD, FOOT = 0.018, 0.050  # paper above the view from above, and for the figures below it


@dataclass(frozen=True)
class Pit:
    """What is drawn, in metres; the heights are None where the cover is not known."""

    left: float
    right: float
    width: float
    setback: float
    half: float
    cut_from: float | None
    cut_to: float | None
    pipe: float
    cover: float | None
    depth: float | None
    below: float
    above: float | None
    layers: int
    tape: float

    @property
    def length(self) -> float:
        return self.right - self.left


def _end(plan: Plan, name: str) -> float | None:
    return plan.numbers[name].node.high if name in plan.numbers else None


def _pit(plan: Plan) -> Pit | None:
    main, length, width = (_end(plan, f"dig.{key}") for key in ("main_end", "length", "width"))
    setback, half = _end(plan, "dig.setback"), plan.kit.fact("saddle.half_length").high
    outside = max((tube.outside_diameter.high or 0.0 for tube in plan.tubes), default=0.0)
    if main is None or length is None or width is None or setback is None or half is None or not outside:
        return None
    cut = tuple(getattr(plan.numbers[f"window.{key}"].node, end) for key, end in (("from", "high"), ("to", "low")))
    known = None not in cut and cut[0] < cut[1]
    layers = _end(plan, "dig.layers")
    return Pit(-main, length - main, width, setback, half, *(cut if known else (None, None)), outside,
               _end(plan, "dig.cover"), _end(plan, "dig.depth"), _end(plan, "dig.below_pipe") or 0.0,
               _end(plan, "dig.above_surround") if layers is not None else None, round(layers or 0.0),
               plan.rules.fact("dig.tape_above").high or 0.0)


def _span(plan: Plan, name: str) -> str:
    """A range as the ruler of the plan writes it."""
    node = plan.numbers[name].node
    return ruler_of(plan.display).whole_span(node.low or 0.0, node.high or 0.0)


class _Views:
    """The three views at one scale."""

    def __init__(self, plan: Plan, pit: Pit, ratio: int) -> None:
        self.plan, self.pit, self.ratio, self.scale = plan, pit, ratio, 1.0 / ratio

    def paper(self, length: float) -> float:
        """The real length that is so long on paper."""
        return length * self.ratio

    def span(self, name: str) -> str:
        return _span(self.plan, name)

    def from_above(self) -> tuple[Shape, ...]:
        pit, paper = self.pit, self.paper
        half, ring, mark = 0.5 * pit.width, 0.5 * pit.width + pit.setback, paper(0.002)
        left, right = pit.left - pit.setback, pit.right + pit.setback
        thick = paper(0.003)
        edge = Hatch((box(pit.left - thick, -half - thick, pit.right + thick, half + thick),
                      box(pit.left, -half, pit.right, half)), "ground")
        pipe = 0.5 * pit.pipe
        shapes: list[Shape] = [
            edge, Rectangle((pit.left, -half), pit.length, pit.width, "ground", "pit from above"),
            Path(box(left, -ring, right, ring), "cut out", name="setback"),
            Rectangle((left - mark, -pipe), right - left + 2.0 * mark, pit.pipe, "area"),
            Line((left - mark, -pipe), (right + mark, -pipe), "pipe edge"),
            Line((left - mark, pipe), (right + mark, pipe), "pipe edge")]
        if pit.cut_from is not None and pit.cut_to is not None:
            area = box(pit.cut_from, -pipe, pit.cut_to, pipe)
            shapes += [Hatch((area,), "window"), Path(area, "pipe edge"),
                       Line((0.5 * (pit.cut_from + pit.cut_to), -pipe), (pit.cut_to, -half + paper(0.0055)), "leader"),
                       Label((pit.cut_to, -half + paper(0.0048)), "cut here", "middle")]
        shapes += [
            Rectangle((-pit.half, -1.6 * pipe - paper(0.001)), 2.0 * pit.half, 3.2 * pipe + paper(0.002), "kit",
                      "saddle"),
            Label((0.0, -1.6 * pipe - paper(0.0025)), "saddle", "middle"),
            Line((0.0, -half + paper(0.001)), (0.0, half - paper(0.001)), "centre"),
            Label((left + paper(0.0015), -pipe - paper(0.0015)), "MAIN, gas", bold=True),
            Label((right - paper(0.0015), -pipe - paper(0.0015)), "HOUSE", "end", bold=True),
            Label((left + paper(0.002), ring - paper(0.002)), "Spoil and kit stay outside this line."),
            Label((pit.left + paper(0.001), half - paper(0.0015)), "way out", size="small"),
            Label((pit.right - paper(0.001), half - paper(0.0015)), "way out", "end", "small")]
        return (*shapes, *self._measures_from_above())

    def _measures_from_above(self) -> tuple[Shape, ...]:
        pit, paper = self.pit, self.paper
        half = 0.5 * pit.width
        first, second = half + paper(0.009), half + paper(0.0165)
        edges = (Line((x, half + paper(0.004)), (x, last + paper(0.001)), "extension")
                 for x, last in ((pit.left, second), (0.0, first), (pit.right, second)))
        beside = pit.right + paper(0.007)
        return (*edges,
                Dimension((pit.left, first), (0.0, first), self.span("dig.main_end"), "main end"),
                Dimension((0.0, first), (pit.right, first), ruler_of(self.plan.display).whole(pit.right), "house end"),
                Dimension((pit.left, second), (pit.right, second), f"length {self.span('dig.length')}", "length"),
                Dimension((beside, -half), (beside, half), self.span("dig.width"), "width", "end"),
                Line((pit.right, -half), (beside, -half), "extension"),
                Line((pit.right, half), (beside, half), "extension"),
                Dimension((0.5 * pit.left, -half - pit.setback), (0.5 * pit.left, -half), self.span("dig.setback"),
                          "setback"))

    def _ground(self, left: float, right: float, depth: float) -> tuple[Shape, ...]:
        """Ground beside and below an open pit, with its surface."""
        outer = (*((x, y) for x, y in ((left - GROUND, 0.0), (left, 0.0), (left, depth), (right, depth), (right, 0.0),
                                       (right + GROUND, 0.0), (right + GROUND, depth + 0.5 * GROUND),
                                       (left - GROUND, depth + 0.5 * GROUND))),)
        return (Hatch((outer,), "ground"),
                Path(((left - GROUND, 0.0), (left, 0.0), (left, depth), (right, depth), (right, 0.0),
                      (right + GROUND, 0.0)), "ground", closed=False))

    def along(self, cover: float, depth: float) -> tuple[Shape, ...]:
        """The open pit along the pipe."""
        pit, paper = self.pit, self.paper
        invert = cover + pit.pipe
        tall = self.plan.kit.fact("saddle.height").high or 0.0
        ends = (pit.left - GROUND, pit.right + GROUND)
        at, beside = pit.left + paper(0.004), pit.right + GROUND + paper(0.004)
        if pit.length < paper(NARROW):
            at, beside = beside, beside + paper(TEXT)
        return (*self._ground(pit.left, pit.right, depth),
                Rectangle((ends[0], cover), ends[1] - ends[0], pit.pipe, "area", "pipe"),
                Line((ends[0], cover), (ends[1], cover), "pipe edge"),
                Line((ends[0], invert), (ends[1], invert), "pipe edge"),
                Rectangle((-pit.half, cover - 0.004 - 0.25 * tall), 2.0 * pit.half, pit.pipe + 0.5 * tall + 0.008,
                          "kit"),
                Rectangle((-0.3 * pit.half, cover - tall), 0.6 * pit.half, 0.75 * tall - 0.004, "kit", "branch"),
                Dimension((at, 0.0), (at, cover), f"cover {self.span('dig.cover')}", "cover"),
                Dimension((at, invert), (at, depth), self.span("dig.below_pipe"), "below pipe"),
                Dimension((beside, 0.0), (beside, depth), fitted(f"depth {self.span('dig.depth')}", TEXT), "depth"),
                Line((pit.right, depth), (beside + paper(0.001), depth), "extension"),
                Label((pit.left - GROUND, -paper(0.002)), "Along the pipe, open", "start", bold=True))

    def across(self, cover: float, depth: float) -> tuple[Shape, ...]:
        """The pit across the pipe, filled again."""
        pit, paper = self.pit, self.paper
        half, narrow = 0.5 * pit.width, pit.length < paper(NARROW)
        aside = half + GROUND + paper(0.002)  # where a narrow section has its words
        shapes: list[Shape] = [*self._ground(-half, half, depth),
                               Label((-half - GROUND, -paper(0.002)), "Across it, filled again", "start", bold=True)]
        if pit.above is not None and pit.layers:
            each = pit.above / pit.layers
            for number in range(pit.layers):
                top = number * each
                name = f"layer {pit.layers - number}"
                shapes.append(Line((-half, top + each), (half, top + each), "level", name))
                middle = top + 0.5 * each + paper(0.0012)
                if not narrow:
                    shapes.append(Label((half - paper(0.001), middle), name, "end", "small"))
                elif number == 0:
                    shapes.append(Label((aside, middle), name, size="small"))
            bare = box(-half, pit.above + paper(0.001), -half + paper(0.014), pit.above + paper(0.0055))
            fine = box(-half, pit.above, half, depth)
            shapes += [Hatch((fine,) if narrow else (fine, bare), "loose", "fine fill"),
                       Label((aside if narrow else -half + paper(0.001), pit.above + paper(0.0043)), "fine fill",
                             size="small")]
        if pit.tape < cover:
            place = cover - pit.tape
            shapes += [Line((-0.3 * half, place), (0.3 * half, place), "rod", "tape"),
                       Label((aside, place + paper(0.001)), "tape", size="small") if narrow else
                       Label((-0.35 * half, place + paper(0.001)), "tape", "end", "small")]
        shapes.append(Circle((0.0, cover + 0.5 * pit.pipe), 0.5 * pit.pipe, "pipe", "pipe across"))
        shapes.append(Line((-half, depth), (half, depth), "ground"))
        return tuple(shapes)


def _beside(pit: Pit, ratio: int) -> float:
    """Paper for the figures beside the section along the pipe."""
    return 2.0 * TEXT if pit.length / ratio < NARROW else TEXT


def _above_fits(pit: Pit, ratio: int) -> bool:
    wide, tall = pit.length + 2.0 * pit.setback, pit.width + 2.0 * pit.setback
    return wide / ratio <= WIDTH - 0.010 and tall / ratio <= 0.5 * (TALLEST - HEAD - FOOT) + 0.015


def _sections_fit(pit: Pit, ratio: int, left: float) -> bool:
    """Whether both sections fit into the width, and into the height that is left."""
    wide = (4.0 * GROUND + pit.length + pit.width) / ratio + _beside(pit, ratio) + GAP
    return wide <= WIDTH - 0.004 and ((pit.depth or 0.0) + 0.5 * GROUND) / ratio <= left


def _remarks(plan: Plan, pit: Pit) -> list[str]:
    """What the drawing cannot show, in sentences."""
    grid = next(grid for section in plan.sections if section.key == "dig" for grid in section.grids)
    said = [f"Drawn at the largest of each range, in {ruler_of(plan.display).name}; length and ends are the least.",
            "No depth is free of the need to assess: whether the sides are supported is decided at the pit."]
    if pit.depth is None:
        said.append("Depth: not known, because the cover is not. There is no section.")
    said += ["Filled again from the floor up:", *(f"{capital(row[0])}: {row[1]}; {row[2]}." for row in grid.rows)]
    return [line for sentence in said for line in textwrap.wrap(sentence, 108)]


def pit_views(plan: Plan) -> Sheet | None:
    """The sheet, or None where the plan has no pipe."""
    pit = _pit(plan)
    if pit is None:
        return None
    ratio = next((ratio for ratio in SCALES if _above_fits(pit, ratio)), SCALES[-1])
    scale = 1.0 / ratio
    ring = scale * (0.5 * pit.width + pit.setback)
    middle = 0.5 * (WIDTH - scale * (pit.left + pit.right))
    drawn = [View(scale, (middle, HEAD + ring), _Views(plan, pit, ratio).from_above())]
    below = HEAD + 2.0 * ring + 0.010
    section = ratio
    if pit.cover is not None and pit.depth is not None:
        left = TALLEST - below - FOOT + 0.010
        section = next((one for one in SCALES if one >= ratio and _sections_fit(pit, one, left)), SCALES[-1])
        views, small = _Views(plan, pit, section), 1.0 / section
        first = 0.002 + small * (GROUND - pit.left)
        second = (first + small * (pit.right + GROUND) + _beside(pit, section) + GAP
                  + small * (GROUND + 0.5 * pit.width))
        drawn += [View(small, (first, below), views.along(pit.cover, pit.depth)),
                  View(small, (second, below), views.across(pit.cover, pit.depth))]
        below += small * (pit.depth + 0.5 * GROUND) + 0.006
    remarks, ruler = _remarks(plan, pit), ruler_of(plan.display)
    scales = f"1:{ratio}" if section == ratio else f"1:{ratio}, its sections 1:{section}"
    words: list[Shape] = [
        Label((0.001, 0.005), f"The pit, {scales}", size="heading", bold=True),
        Label((0.001, 0.0105), f"From above, along the pipe and across it. Lengths in {ruler.name}.", size="small"),
        *(Label((0.001, below + 0.0044 * row), remark, size="small") for row, remark in enumerate(remarks))]
    foot = below + 0.0044 * len(remarks)
    length, pieces = ruler.bar_along
    bar = View(scale, (0.001, foot), scale_bar((0.0, 0.0), length * ruler.unit * ratio / 5, pieces, 0.0025 * ratio,
                                               f"{length * ratio / 5:.0f} {ruler.sign} at 1:{ratio}"))
    depth = f", {_span(plan, 'dig.depth')} {ruler.sign} deep" if pit.depth is not None else "; its depth is not known"
    return Sheet("pit", "The pit", scales,
                 "The main is on the left, the house on the right. The pit is "
                 f"{_span(plan, 'dig.length')} {ruler.sign} long, "
                 f"{_span(plan, 'dig.width')} {ruler.sign} wide{depth}. Spoil and kit stay "
                 f"{_span(plan, 'dig.setback')} {ruler.sign} from its edge. {' '.join(remarks)}", WIDTH, foot + 0.006,
                 (*drawn, View(1.0, (0.0, 0.0), tuple(words)), bar))
