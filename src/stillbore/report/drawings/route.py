"""The way of the new pipe: the leg of the old one drawn straight, its bends and steps where they lie, and below it for
each new pipe how far it gets. Lengths along the pipe are to scale, widths are symbols."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.display import Display
from stillbore.plan import Plan
from stillbore.plan.new_pipe import DOES_NOT_PASS, PASSES, TOWARDS_MAIN, Candidate, Obstacle, Renewal
from stillbore.plan.parts import capital
from stillbore.report.drawings.ruler import ruler_of
from stillbore.report.drawings.shapes import Label, Line, Path, Shape, Sheet, View, scale_bar, spread
from stillbore.report.drawings.svg import fitted

WIDTH = 0.180
LEFT, RIGHT = 0.024, 0.156  # where the leg may lie on the paper
SCALES = (5, 10, 20, 25, 40, 50, 75, 100, 200, 500, 1000, 2000, 5000)  # one to so many; the first that fits is taken
PIPE = 0.036  # where the pipe's middle lies on the paper
HALF = {"3/4": 0.0020, "1": 0.0027, "1 1/4": 0.0034, "1 1/2": 0.0040, "2": 0.0048}  # half widths on paper, symbols
LINE, ROW = 0.0046, 0.0128
MOST_ROWS, MOST_REMARKS = 9, 12  # what a page holds


def ratio_of(length: float) -> int:
    """The scale at which a length fits the drawing: one to so many."""
    return next((ratio for ratio in SCALES if length / ratio <= RIGHT - LEFT), SCALES[-1])


@dataclass(frozen=True)
class Leg:
    """The leg on paper: its length [m], the scale, and on which side its far end lies (the main is left)."""

    length: float
    ratio: int
    to_the_left: bool

    @property
    def edge(self) -> float:
        """Where the cut lies across the paper."""
        half = 0.5 * self.length / self.ratio
        middle = 0.5 * (LEFT + RIGHT)
        return middle + half if self.to_the_left else middle - half

    def across(self, distance: float) -> float:
        """Where a distance from the cut lies across the paper; nothing lies past the end."""
        step = min(distance, self.length) / self.ratio
        return self.edge - step if self.to_the_left else self.edge + step


def leg_of(found: Renewal | None) -> Leg | None:
    """The leg, or None where there is no renewal or nobody knows how long it is."""
    length = found.covered.high if found is not None else None
    if found is None or length is None or not length > 0.0:
        return None
    return Leg(length, ratio_of(length), found.side == TOWARDS_MAIN)


def numbered(found: Renewal) -> tuple[tuple[int, Obstacle], ...]:
    """The obstacles by the numbers they have in both drawings."""
    return tuple(enumerate(found.obstacles, 1))


def _pipe(plan: Plan, found: Renewal, leg: Leg) -> tuple[Shape, ...]:
    """The old pipe from the cut to its far end, wider and narrower where it is."""
    places = [0.0, leg.length]
    steps = [(each.distance.low or 0.0, (each.distance.low or 0.0) + (each.length.high or 0.0), HALF[
        each.row.text("size")]) for each in found.obstacles
        if each.length is not None and each.distance.known and each.length.known]
    places += [place for start, end, _ in steps for place in (start, end) if 0.0 < place < leg.length]
    places = sorted(set(places))
    upper: list[tuple[float, float]] = []
    for first, last in zip(places, places[1:], strict=False):
        half = next((width for start, end, width in steps if start <= first < end), HALF[plan.size])
        upper += [(leg.across(first), half), (leg.across(last), half)]
    outline = (*((x, PIPE - half) for x, half in upper), *((x, PIPE + half) for x, half in reversed(upper)))
    middle = (leg.across(0.0), leg.across(leg.length))
    return (Path(outline, "pipe", name="old pipe"), Line((middle[0], PIPE), (middle[1], PIPE), "centre"))


def _marks(found: Renewal, leg: Leg) -> tuple[Shape, ...]:
    """A numbered mark over each obstacle that is located, a bar as long as nobody knows where it lies."""
    located = [(number, each) for number, each in numbered(found) if each.distance.known]
    if leg.to_the_left:
        located.reverse()
    middles = [leg.across(0.5 * ((each.distance.low or 0.0) + (each.distance.high or 0.0))) for _, each in located]
    shapes: list[Shape] = []
    for (number, each), x, place in zip(located, middles, spread(middles, 0.0055), strict=True):
        ends = sorted(leg.across(end or 0.0) for end in (each.distance.low, each.distance.high))
        bar = PIPE - 0.0062
        shapes += [Line((ends[0] - 0.0004, bar), (ends[1] + 0.0004, bar), "target", f"place {number}"),
                   Path(((x, bar), (place, bar - 0.0035)), "leader", closed=False),
                   Label((place, bar - 0.0045), str(number), "middle", bold=True)]
    return tuple(shapes)


def _ends(leg: Leg) -> tuple[Shape, ...]:
    cut, far = leg.across(0.0), leg.across(leg.length)
    words = ("MAIN", "CUT, pit") if leg.to_the_left else ("CUT, pit", "HOUSE")
    left, right = min(cut, far), max(cut, far)
    return (Line((left, PIPE - 0.010), (left, PIPE + 0.010), "ground"),
            Line((right, PIPE - 0.010), (right, PIPE + 0.010), "ground"),
            Label((left - 0.0015, PIPE + 0.0095), words[0], "end", bold=True),
            Label((right + 0.0015, PIPE + 0.0095), words[1], bold=True))


def _row(each: Candidate, leg: Leg, top: float, display: Display) -> tuple[Shape, ...]:
    """How far one pipe gets: a thick line as far as it goes, dashed from where it is doubtful, a cross where it
    stops."""
    y = top + 0.0073
    doubtful = [place.distance.low for place, found in each.way.each if found not in (PASSES, DOES_NOT_PASS)
                and place.distance.low is not None]
    stops = each.way.stops if each.way.stops is not None else leg.length
    nowhere = each.passing == DOES_NOT_PASS and each.way.stops is None  # it stops, and nobody knows where
    unsure = 0.0 if nowhere or (each.passing != PASSES and not doubtful and stops == leg.length) else \
        min([*doubtful, stops])
    words = fitted(f"{each.name}: {_verdict(each, display)}", WIDTH - 0.002)
    shapes: list[Shape] = [Label((0.001, top + 0.0032), words, bold=each.passing != PASSES)]
    if unsure > 0.0:
        shapes.append(Line((leg.across(0.0), y), (leg.across(min(unsure, stops)), y), "rod", f"goes {each.key}"))
    if stops > unsure:
        shapes.append(Line((leg.across(unsure), y), (leg.across(stops), y), "bond", f"doubtful {each.key}"))
    if each.passing == DOES_NOT_PASS and not nowhere:
        x, arm = leg.across(stops), 0.0017
        shapes += [Line((x - arm, y - arm), (x + arm, y + arm), "target", f"stops {each.key}"),
                   Line((x - arm, y + arm), (x + arm, y - arm), "target")]
    return tuple(shapes)


def _verdict(each: Candidate, display: Display) -> str:
    """Whether a pipe passes, and what stops it, in the units of a display."""
    where = next((place_of(place, display) for place, _ in each.way.each if place.where == each.where), each.where)
    return f"{each.passing}{': ' + where if where else ''}"


def place_of(each: Obstacle, display: Display) -> str:
    """What an obstacle is and where it begins, in the units of a display."""
    return f"{each.title} at {display.said(each.distance)}" if each.distance.known else each.where


def _remark(number: int, each: Obstacle, display: Display) -> str:
    """An obstacle in a line of the legend."""
    facts = each.row.facts
    parts = [place_of(each, display)]
    for key, words in (("angle", "turns {}"), ("radius", "radius {}"), ("flattening", "flattened {}")):
        if each.length is None and key in facts:
            parts.append(words.format(display.said(facts[key]) or "unknown"))
    if each.length is not None:
        parts.append(f"{display.said(each.length) or 'unknown'} long")
    return f"{number}  {capital(', '.join(parts))}"


def route(plan: Plan) -> Sheet | None:
    """The sheet, or None where no new pipe is planned or the leg's length is not known."""
    found = plan.renewal
    leg = leg_of(found)
    if found is None or leg is None or not plan.size:
        return None
    shown = found.candidates[:MOST_ROWS]
    top = PIPE + 0.0145
    rows: list[Shape] = [shape for place, each in enumerate(shown)
                         for shape in _row(each, leg, top + ROW * place, plan.display)]
    foot = top + ROW * len(shown) + 0.003
    remarks = [_remark(number, each, plan.display) for number, each in numbered(found)[:MOST_REMARKS]] or \
        ["No bend, step or fitting is in the survey."]
    hidden = len(found.obstacles) - MOST_REMARKS, len(found.candidates) - MOST_ROWS
    if max(hidden) > 0:
        remarks.append(f"Not drawn for want of room: {max(hidden[0], 0)} bends, {max(hidden[1], 0)} new pipes.")
    lines = [*remarks, "Thick: it goes. Dashed: doubtful or not known, rod first. Cross: it stops."]
    words: list[Shape] = [
        Label((0.001, 0.005), f"Way of the new pipe {found.side}, 1:{leg.ratio}", size="heading", bold=True),
        Label((0.001, 0.0105), "Drawn straight, for no survey says which way a bend turns. Distances from the cut; "
              "widths are symbols.", size="small"),
        *(Label((0.001, foot + LINE * place), fitted(line, WIDTH - 0.002, "small"), size="small")
          for place, line in enumerate(lines))]
    bottom = foot + LINE * len(lines)
    length, said = ruler_of(plan.display).far_bar(0.05 * leg.ratio)
    bar = View(1.0 / leg.ratio, (0.001, bottom), scale_bar((0.0, 0.0), length, 4, 0.0025 * leg.ratio,
                                                          f"{said} at 1:{leg.ratio}"))
    told = "; ".join(f"{each.name}: {_verdict(each, plan.display)}" for each in found.candidates)
    return Sheet("route", "Way of the new pipe", f"1:{leg.ratio} along the pipe",
                 f"The leg of the old pipe {found.side}, {plan.display.show(leg.length, 'm', 'm')} at the most. "
                 f"{' '.join(remarks)} {told}.", WIDTH, bottom + 0.007,
                 (View(1.0, (0.0, 0.0), (*_pipe(plan, found, leg), *_marks(found, leg), *_ends(leg), *rows, *words)),
                  bar))
