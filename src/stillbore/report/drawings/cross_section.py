"""The cross-section on the drill axis: saw and pilot in the thickest tube the pipe may be, at five depths.

Everything is drawn for one corner: the least outside diameter, the thickest wall, the saw as far off centre as the
saddle may sit, with its run-out. That is the corner in which the hole is full last and the far wall is met first, so
the depths drawn are the plan's own worst ones.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from stillbore.job.schema import Row
from stillbore.plan import Plan
from stillbore.plan.parts import Tube
from stillbore.plan.travel import PILOT_CONTACT
from stillbore.report.drawings.ruler import Ruler, ruler_of
from stillbore.report.drawings.shapes import (
    Circle,
    Dimension,
    Hatch,
    Label,
    Line,
    Path,
    Point,
    Rectangle,
    Shape,
    Sheet,
    View,
    arc,
    box,
    scale_bar,
)
from stillbore.report.drawings.svg import fitted

WIDTH = 0.180
TOP, LINE, FOOT = 0.017, 0.0044, 0.010  # metres of paper: heading, one line of a caption, foot with the scale bar
ABOVE = 0.006  # how much of the saw is drawn above the crown when its teeth, or the pilot, stand there
TALLEST = 0.235  # the highest the drawing may be, to fit a page; where it would be higher it is drawn at half size
DETAILS = (5.0, 2.0)  # scales of the enlarged part; the first that fits its cell is taken
DETAIL_WIDTH = 0.046


@dataclass(frozen=True)
class Corner:
    """The tube and the tool as drawn, in metres: radii, kerf, off-centre, pilot."""

    outer: float
    bore: float
    saw: float
    inner: float
    off: float
    lead: float
    pilot: float
    point: float


@dataclass(frozen=True)
class Stage:
    """One depth: its key, what happens there, the depth of the teeth from saw contact, and what is written below."""

    key: str
    title: str
    depth: float
    captions: tuple[str, ...]


def thickest(plan: Plan) -> Tube:
    return max(plan.tubes, key=lambda tube: tube.wall.high or 0.0)


def end(plan: Plan, name: str, side: str) -> float | None:
    """The low, best or high ("value") of a number of the plan; None where there is none."""
    found = plan.numbers.get(name)
    return None if found is None else getattr(found.node, side)


def _corner(plan: Plan, tube: Tube, row: Row) -> Corner | None:
    running = end(plan, "travel.saw_diameter_running", "high")
    least, wall = tube.outside_diameter.low, tube.wall.high
    facts = [row.fact(key).high for key in ("diameter", "kerf", "pilot_lead", "pilot_diameter", "pilot_point_angle")]
    off = plan.kit.fact("saddle.centring").high
    if running is None or least is None or wall is None or off is None or any(fact is None for fact in facts):
        return None
    diameter, kerf, lead, pilot, angle = (float(fact) for fact in facts)  # type: ignore[arg-type]
    outer = 0.5 * least
    if not 0.0 < wall < outer or not 0.0 < kerf < 0.5 * diameter or not 0.0 < angle <= math.pi:
        return None
    return Corner(outer, outer - wall, 0.5 * running, 0.5 * diameter - kerf, off, lead, 0.5 * pilot,
                  0.5 * pilot / math.tan(0.5 * angle))


def _captions(plan: Plan, corner: Corner, depth: float) -> tuple[str, ...]:
    """The depth in the kit's own datum and from saw contact. The same where the kit counts from saw contact."""
    datum = str(plan.kit.value("travel.counted_from"))
    feed, ruler = depth + (corner.lead if datum == PILOT_CONTACT else 0.0), ruler_of(plan.display)
    return (f"kit: {ruler.feed(feed)} {ruler.sign} from {datum}",
            f"teeth: {ruler.feed(depth)} {ruler.sign} from saw contact")


def _stages(plan: Plan, tube: Tube, corner: Corner) -> tuple[Stage, ...]:
    """The stages that the plan has numbers for, in order of depth."""
    ruler = ruler_of(plan.display)
    pilot_datum = plan.kit.value("travel.counted_from") == PILOT_CONTACT
    first = -corner.lead if pilot_datum else 0.0
    found = [Stage("start", "Start: the pilot touches" if pilot_datum else "Start: the teeth touch", first,
                   _captions(plan, corner, first))]
    loose, full = end(plan, f"travel.{tube.key}.loose", "high"), end(plan, f"travel.{tube.key}.full", "high")
    saw_far = end(plan, f"travel.{tube.key}.saw_far_wall", "low")
    pilot_far = end(plan, f"travel.{tube.key}.pilot_far_wall", "low")
    if loose is not None:
        lows = [end(plan, f"travel.{each.key}.loose", "low") for each in plan.tubes]
        known = [low for low in lows if low is not None]
        lead = corner.lead if pilot_datum else 0.0
        earliest = (f"with a thinner wall from {ruler.feed(min(known) + lead)} {ruler.sign} (kit)",) if known else ()
        found.append(Stage("loose", "Coupon may come loose", loose, (*_captions(plan, corner, loose), *earliest)))
    if full is None:
        found.append(Stage("never", "Never full in this tube", corner.outer, (
            "The saw runs into the side wall:", "there is no travel for this tube.")))
        return tuple(found)
    found.append(Stage("full", "Hole is full, not before", full, _captions(plan, corner, full)))
    start, finish = end(plan, "travel.from", "high"), end(plan, "travel.to", "low")
    target = end(plan, "travel.feed_target", "value")
    if start is not None and finish is not None and target is not None:
        depth = 0.5 * (start + finish)
        captions = _captions(plan, corner, depth)[1]
        datum = plan.kit.value("travel.counted_from")
        found.append(Stage("target", "Aim here", depth, (
            f"kit: {ruler.feed(target)} {ruler.sign} from {datum}", captions,
            f"window {ruler.feed(start)} to {ruler.feed(finish)} from saw contact")))
    if saw_far is not None and pilot_far is not None:
        far = min(saw_far, pilot_far)
        touches = "the saw touches it" if saw_far <= pilot_far else "the pilot touches it"
        found.append(Stage("far", "Far wall: stay short of it", far, (*_captions(plan, corner, far), touches)))
    return tuple(found)


def _surface(corner: Corner, radius: float) -> Callable[[float], float]:
    """Depth below the crown of the upper half of a circle about the tube's axis, at a distance from the axis."""
    return lambda x: corner.outer - math.sqrt(max(radius * radius - x * x, 0.0))


def _coupon(corner: Corner) -> tuple[Point, ...]:
    """The piece between the inner edges of the kerf, from the outer surface to the bore."""
    left, right = corner.off - corner.inner, corner.off + corner.inner
    middle = (0.0, corner.outer)

    def angle(x: float, radius: float) -> float:
        return math.asin(max(-1.0, min(1.0, x / radius)))

    outside = arc(middle, corner.outer, angle(left, corner.outer), angle(right, corner.outer))
    inside = arc(middle, corner.bore, angle(right, corner.bore), angle(left, corner.bore))
    return (*outside, *inside)


def _tool(corner: Corner, depth: float, top: float) -> tuple[Shape, ...]:
    """The tube-shaped saw (its wall as wide as its cut, run-out included) and the pilot ahead of it."""
    kerf = corner.saw - corner.inner
    tip = depth + corner.lead
    shoulder = tip - corner.point
    left, right = corner.off - corner.pilot, corner.off + corner.pilot
    return (
        Path(((left, top), (right, top), (right, shoulder), (corner.off, tip), (left, shoulder)), "pilot",
             name="pilot"),
        Rectangle((corner.off - corner.saw, top), kerf, depth - top, "saw", "saw left"),
        Rectangle((corner.off + corner.inner, top), kerf, depth - top, "saw", "saw right"),
        Line((corner.off, top - 0.0015), (corner.off, tip + 0.003), "centre"),
    )


def _picture(corner: Corner, stage: Stage, ruler: Ruler, scale: float) -> tuple[Shape, ...]:
    """Tube, coupon, tool and the depth of the teeth, with the crown at the origin."""
    middle = (0.0, corner.outer)
    around = tuple(arc(middle, radius, 0.0, 2.0 * math.pi, 180)[:-1] for radius in (corner.outer, corner.bore))
    shapes: list[Shape] = [
        Circle(middle, corner.outer, "pipe", f"{stage.key} outside"),
        Circle(middle, corner.bore, "pipe", f"{stage.key} bore"),
        Hatch(around, "steel"),
    ]
    if stage.key not in ("start", "never"):
        coupon = _coupon(corner)
        shapes += [Path(coupon, "coupon", name=f"{stage.key} coupon"), Hatch((coupon,), "coupon")]
    top = -(corner.lead + ABOVE)
    shapes += _tool(corner, stage.depth, top)
    beside = corner.outer + 0.003 / scale
    shapes += [
        Line((-0.25 * corner.outer, 0.0), (beside + 0.001 / scale, 0.0), "extension"),
        Line((corner.off + corner.saw, stage.depth), (beside + 0.001 / scale, stage.depth), "extension"),
    ]
    if stage.depth != 0.0:
        shapes.append(Dimension((beside, 0.0), (beside, stage.depth), ruler.feed(stage.depth),
                                f"{stage.key} depth"))
    else:
        shapes.append(Label((beside + 0.0012 / scale, 0.0012 / scale), ruler.feed(0.0)))
    return tuple(shapes)


def _detail_scale(corner: Corner) -> float:
    return next((scale for scale in DETAILS if scale * (0.0066 + corner.saw - corner.inner) <= DETAIL_WIDTH), 1.0)


def _detail(corner: Corner, loose: float, full: float | None) -> tuple[Shape, ...]:
    """The edge of the kerf when the coupon comes loose, enlarged: inner edge through, a ledge left outside it."""
    left, right = corner.off + corner.inner - 0.0032, corner.off + corner.saw + 0.0034
    top, bottom = loose - 0.0042, loose + 0.0034
    outside, inside = _surface(corner, corner.outer), _surface(corner, corner.bore)

    def piece(first: float, last: float, cut: float) -> tuple[Point, ...]:
        xs = [first + (last - first) * step / 24 for step in range(25)]
        upper = [(x, min(max(outside(x), cut, top), bottom)) for x in xs]
        lower = [(x, min(max(inside(x), top), bottom) if abs(x) < corner.bore else bottom) for x in xs]
        return (*upper, *((x, max(y, upper[len(xs) - 1 - index][1])) for index, (x, y) in enumerate(reversed(lower))))

    inner, outer = corner.off + corner.inner, corner.off + corner.saw
    frame = box(left, top, right, bottom)
    coupon, ledge, wall = piece(left, inner, top), piece(inner, outer, loose), piece(outer, right, top)
    shapes: list[Shape] = [Path(frame, "area", name="detail")]
    for part, hatch in ((coupon, "coupon"), (ledge, "steel"), (wall, "steel")):
        shapes += [Hatch((part,), hatch), Path(part, "coupon" if hatch == "none" else "break")]
    shapes += [Rectangle((inner, top), outer - inner, loose - top, "saw"),
               Line((left, loose), (right, loose), "level")]
    if full is not None and full < bottom:
        shapes.append(Line((left, full), (right, full), "level"))
    shapes.append(Path(frame, "frame"))
    return tuple(shapes)


def _cell(corner: Corner, stage: Stage, ruler: Ruler, index: int, scale: float, left: float,
          top: float) -> tuple[View, ...]:
    """One stage with its captions, its upper left corner on the paper given."""
    crown = top + scale * (corner.lead + ABOVE) + 0.0025
    text = crown + scale * 2.0 * corner.outer + 0.0065
    lines = (Label((left, text), f"{index}  {stage.title}", bold=True, name=f"{stage.key} title"),
             *(Label((left, text + LINE * (row + 1)), caption, size="small", name=f"{stage.key} caption {row + 1}")
               for row, caption in enumerate(stage.captions)))
    return (View(scale, (left + 0.001 + scale * corner.outer, crown), _picture(corner, stage, ruler, scale)),
            View(1.0, (0.0, 0.0), lines))


def _detail_cell(corner: Corner, loose: float, full: float | None, left: float, top: float) -> tuple[View, ...]:
    shapes = _detail(corner, loose, full)
    frame = shapes[0]
    assert isinstance(frame, Path)
    (first, high), (last, low) = frame.points[0], frame.points[2]
    scale = _detail_scale(corner)
    width, height = scale * (last - first), scale * (low - high)
    inner = left + scale * (corner.off + corner.inner - first)
    outer = left + scale * (corner.off + corner.saw - first)
    beside, under = left + width + 0.001, top + height + 0.0045
    words: list[Shape] = [
        Label((left, under), "coupon", size="small"), Label((0.5 * (inner + outer), under), "ledge", "middle", "small"),
        Label((outer + 0.006, under), "wall", size="small"),
        Label((beside, top + scale * (loose - high) + 0.001), "loose", size="small"),
        Label((left, under + 0.0058), f"Enlarged {scale:.0f}:1: loose is not full", bold=True),
        Label((left, under + 0.0058 + LINE), "The coupon is free, but a ledge is", size="small"),
        Label((left, under + 0.0058 + 2 * LINE), "left: the hole is not full yet.", size="small"),
    ]
    if full is not None and full < low:
        words.append(Label((beside, top + scale * (full - high) + 0.001), "full", size="small"))
    return (View(scale, (left - scale * first, top - scale * high), shapes), View(1.0, (0.0, 0.0), tuple(words)))


def _layout(corner: Corner, cells: int) -> tuple[float, int, float]:
    """Scale, columns and height of a cell: real size where the page holds it, else half size."""
    for scale in (1.0, 0.5):
        columns = 3 if scale * 2.0 * corner.outer + 0.014 <= WIDTH / 3 else 2
        tool = scale * (corner.lead + ABOVE) + 0.0025
        tall = tool + max(scale * 2.0 * corner.outer, 0.030) + 0.0065 + 3.4 * LINE + 0.003
        if TOP + tall * math.ceil(cells / columns) + FOOT <= TALLEST:
            break
    return scale, columns, tall


def cross_section(plan: Plan) -> Sheet | None:
    """The sheet, or None where the plan has no tube, no saw or no numbers for them."""
    row = plan.saw
    if not plan.tubes or row is None:
        return None
    tube, ruler = thickest(plan), ruler_of(plan.display)
    corner = _corner(plan, tube, row)
    if corner is None:
        return None
    stages = _stages(plan, tube, corner)
    scale, columns, tall = _layout(corner, len(stages) + 1)
    pitch = WIDTH / columns
    places = [(pitch * (index % columns) + 0.001, TOP + tall * (index // columns)) for index in range(len(stages) + 1)]
    views: list[View] = []
    for index, (stage, (left, top)) in enumerate(zip(stages, places, strict=False)):
        views += _cell(corner, stage, ruler, index + 1, scale, left, top)
    loose = next((stage.depth for stage in stages if stage.key == "loose"), None)
    full = next((stage.depth for stage in stages if stage.key == "full"), None)
    cells = len(stages)
    if loose is not None:
        left, top = places[-1]
        views += _detail_cell(corner, loose, full, left, top + scale * (corner.lead + ABOVE))
        cells += 1
    height = TOP + tall * math.ceil(cells / columns) + FOOT
    wall = f"{ruler.feed(tube.wall.high or 0.0)} {ruler.sign}"
    tool = (f"{row.text('id')}: saw {ruler.feed(2 * corner.saw)} {ruler.sign} as it runs, kerf "
            f"{ruler.feed(row.fact('kerf').high or 0.0)} {ruler.sign}, pilot {ruler.feed(corner.lead)} {ruler.sign} "
            "ahead")
    words = "1:1" if scale == 1.0 else "1:2"
    enlarged = f"{_detail_scale(corner):.0f}:1"
    title = f"Cross-section on the drill axis, {'real size (1:1)' if scale == 1.0 else 'half size (1:2)'}"
    head = (Label((0.001, 0.005), title, size="heading", bold=True),
            Label((0.001, 0.0105), fitted(f"Drawn for the thickest the pipe may be: {tube.title}, wall {wall}; saw "
                                          f"{ruler.feed(corner.off)} {ruler.sign} off centre.", WIDTH, "small"),
                  size="small"),
            Label((0.001, 0.0148), fitted(tool, WIDTH, "small"), size="small"))
    length, pieces = ruler.bar
    bar = scale_bar((0.0, 0.0), length * ruler.unit, pieces, 0.0025 / scale,
                    f"{length:.0f} {ruler.sign} at {words} (the enlarged part is {enlarged})")
    views += [View(1.0, (0.0, 0.0), head), View(scale, (0.001, height - 0.006), bar)]
    told = "; ".join(f"{stage.title.lower()}: {', '.join(stage.captions)}" for stage in stages)
    return Sheet("cross_section", "Cross-section on the drill axis", f"{words}, with one part enlarged {enlarged}",
                 f"Tube-shaped saw and pilot in the thickest tube the pipe may be ({tube.title}, wall {wall}). {told}.",
                 WIDTH, height, tuple(views))
