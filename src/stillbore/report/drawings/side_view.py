"""The side view in the pit: pipe, saddle, branches, stopper, cutting window, bond, props, thread and the pit's end.

Lengths along the pipe are to scale, and so are the pipe, the saddle's length and its height. The heights of branches,
props and pit floor are symbols, because no survey knows them; the drawing says so. Zero is the saddle's centre; the
house lies to the right.
"""

from __future__ import annotations

import math

from stillbore.plan import Plan
from stillbore.report.drawings.pit import Pit, clamps, extent, pit_of, remarks_on
from stillbore.report.drawings.shapes import (
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
    box,
    break_line,
    scale_bar,
)
from stillbore.report.drawings.svg import fitted, text_width

WIDTH = 0.180
SCALES = (5, 10, 20, 50, 100, 200, 500)  # one to so many; the first that fits is taken
ROW = 0.0068  # from one dimension line to the next, in metres of paper
TALLEST = 0.050  # the highest a branch may come out on paper
FLOOR = 0.020  # paper from the pipe's invert to the pit floor, a symbol


class _Drawing:
    """Collects the shapes of the view at scale, and gives paper lengths in real metres."""

    def __init__(self, pit: Pit, scale: float, left: float, right: float) -> None:
        self.pit, self.scale, self.left, self.right = pit, scale, left, right
        self.shapes: list[Shape] = []
        self.crown, self.invert = 0.0, 2.0 * pit.radius
        self.floor = self.invert + self.paper(FLOOR)

    @property
    def origin(self) -> float:
        """Where the saddle's centre lies across the paper: the picture stands in the middle."""
        return 0.5 * (WIDTH - self.scale * (self.right - self.left)) - self.scale * self.left

    def across(self, x: float) -> float:
        """Where a place along the pipe lies across the paper."""
        return self.origin + self.scale * x

    def paper(self, length: float) -> float:
        """The real length that is so long on paper."""
        return length / self.scale

    def add(self, *shapes: Shape) -> None:
        self.shapes += shapes

    def ground(self) -> None:
        """Pit floor and the pit's end on the house side, with short sloping strokes on the ground's side. The main's
        side of the pit is in no survey, and is broken off."""
        pit, thick = self.pit, self.paper(0.003)
        wall = pit.pit_end if pit.pit_end is not None else self.right
        top = -self.paper(0.012)
        self.add(Line((self.left, self.floor), (wall, self.floor), "ground"),
                 Hatch((box(self.left, self.floor, wall, self.floor + thick),), "ground"))
        if pit.pit_end is not None:
            gap = (self.crown - self.paper(0.001), self.invert + self.paper(0.001))
            for first, last in ((top, gap[0]), (gap[1], self.floor + thick)):
                self.add(Line((wall, first), (wall, min(last, self.floor)), "ground"),
                         Hatch((box(wall, first, wall + thick, last),), "ground"))

    def pipe(self) -> None:
        pit, middle = self.pit, self.pit.radius
        self.add(Rectangle((self.left, self.crown), self.right - self.left, 2.0 * pit.radius, "area"))
        for y, role in ((self.crown, "pipe edge"), (self.invert, "pipe edge"), (middle - pit.bore, "bore"),
                        (middle + pit.bore, "bore")):
            self.add(Line((self.left, y), (self.right, y), role))
        for x in (self.left, self.right):
            self.add(break_line((x, middle), 2.0 * pit.radius + self.paper(0.005), self.paper(0.0016)))

    def window(self) -> None:
        """Where the pipe may be cut; an empty window is drawn as none and said in words."""
        pit = self.pit
        place = -self.paper(0.0135)
        if pit.cut_from is None or pit.cut_to is None:
            self.add(Label((pit.half + self.paper(0.003), place), "WINDOW NOT KNOWN", bold=True))
            return
        if pit.cut_to <= pit.cut_from:
            self.add(Label((pit.half + self.paper(0.003), place), "NO PLACE TO CUT", bold=True))
            return
        area = box(pit.cut_from, self.crown, pit.cut_to, self.invert)
        middle = 0.5 * (pit.cut_from + pit.cut_to)
        bracket = -self.paper(0.005)
        self.add(Path(area, "area", name="window"), Hatch((area,), "window"), Path(area, "pipe edge"),
                 Path(((pit.cut_from, -self.paper(0.001)), (pit.cut_from, bracket), (pit.cut_to, bracket),
                       (pit.cut_to, -self.paper(0.001))), "frame", closed=False),
                 Label((middle, place), "CUTTING WINDOW", "middle", bold=True),
                 Label((middle, place + self.paper(0.005)),
                       f"from {pit.ruler.at_least(pit.cut_from)} to {pit.ruler.at_most(pit.cut_to)} "
                       f"{pit.ruler.sign}", "middle"))

    def saddle(self) -> None:
        pit = self.pit
        over, under = self.paper(0.0035), self.paper(0.0025)
        self.add(Rectangle((-pit.half, -over), 2.0 * pit.half, over, "kit", "saddle"),
                 Rectangle((-pit.half, self.invert), 2.0 * pit.half, under, "kit"))
        for x in (-0.75 * pit.half, 0.75 * pit.half):
            self.add(Line((x, -over - self.paper(0.001)), (x, self.invert + under + self.paper(0.001)), "kit"))

    def stopper(self) -> None:
        """In the bore on the main's side of the hole, its rod coming down its branch. How deep is the kit's mark."""
        pit = self.pit
        if pit.stopper is None:
            return
        right = -0.5 * pit.hole - 0.5 * pit.radius
        area = box(right - pit.stopper, pit.radius - pit.bore, right, pit.radius + pit.bore)
        self.add(Path(area, "stopper", name="stopper"), Hatch((area,), "stopper"), Path(area, "pipe edge"))

    def rod(self, top: Point) -> None:
        if self.pit.stopper is None:
            return
        hole = (0.0, -self.paper(0.002))
        right = -0.5 * self.pit.hole - 0.5 * self.pit.radius
        bend = tuple(((1 - t) ** 2 * hole[0] + t * t * right, (1 - t) ** 2 * hole[1] + (1 - (1 - t) ** 2)
                      * self.pit.radius) for t in (step / 12 for step in range(13)))
        self.add(Path((top, *bend), "rod", closed=False, name="rod"))

    def branches(self) -> None:
        """One upright branch, or an upright one for the drill and one leaning to the house for the stopper."""
        pit = self.pit
        wide = 0.62 * pit.hole
        flange, over = -pit.height, self.paper(0.0035)
        if pit.single:
            self.saddle()
            self.branch((0.0, -over), (0.0, min(flange, -over - self.paper(0.004))), wide, capped=False)
            self.rod((0.0, min(flange, -over) - self.paper(0.017)))
            return
        lean = math.radians(40.0)
        tall = max(pit.height, over + self.paper(0.004))
        reach = (tall * math.tan(lean), -tall)
        self.branch((over * math.tan(lean), -over), reach, 0.85 * wide, capped=False)
        rod = (reach[0] + self.paper(0.017) * math.sin(lean), reach[1] - self.paper(0.017) * math.cos(lean))
        self.branch((0.0, -over), (0.0, -tall), wide, capped=True)
        self.saddle()
        self.rod(rod)

    def branch(self, foot: Point, head: Point, half_width: float, capped: bool) -> None:
        """A branch from the saddle to its flange; above it a cap, or a valve with the stopper's gland."""
        tall = math.dist(foot, head)
        along = ((head[0] - foot[0]) / tall, (head[1] - foot[1]) / tall)

        def at(up: float, side: float) -> Point:
            """A point so far up the branch from its flange, and so far to the side."""
            return (head[0] + along[0] * up - along[1] * side, head[1] + along[1] * up + along[0] * side)

        flange = self.paper(0.0013)
        self.add(Path((at(-tall, -half_width), at(0.0, -half_width), at(0.0, half_width), at(-tall, half_width)),
                      "kit"),
                 Path((at(-flange, -1.5 * half_width), at(0.0, -1.5 * half_width), at(0.0, 1.5 * half_width),
                       at(-flange, 1.5 * half_width)), "kit black", name="flange"))
        if capped:
            high = self.paper(0.004)
            self.add(Path((at(0.0, -1.2 * half_width), at(high, -1.2 * half_width), at(high, 1.2 * half_width),
                           at(0.0, 1.2 * half_width)), "kit", name="cap"))
            return
        valve, gland = self.paper(0.009), self.paper(0.0125)
        if pit_valve := self.pit.valve:
            self.add(Path((at(0.0, -half_width), at(valve, half_width), at(valve, -half_width), at(0.0, half_width)),
                          "kit", name=f"valve {pit_valve}"))
        self.add(Path((at(valve, -0.6 * half_width), at(gland, -0.6 * half_width), at(gland, 0.6 * half_width),
                       at(valve, 0.6 * half_width)), "kit"))

    def props(self) -> None:
        pit = self.pit
        if pit.prop is None:
            return
        top = self.invert
        for x, name in ((-pit.prop, "prop main"), (pit.prop, "prop house")):
            wide, narrow = pit.prop_half, 0.5 * pit.prop_half
            self.add(Path(((x - wide, top), (x + wide, top), (x + narrow, top + self.paper(0.003)),
                           (x + narrow, self.floor), (x - narrow, self.floor), (x - narrow, top + self.paper(0.003))),
                          "prop", name=name))

    def bond(self) -> None:
        """Two clamps and the lead between them, hanging below the pipe."""
        pit = self.pit
        main, house = clamps(pit)
        edge, ends = self.paper(0.0016), (main + 0.5 * pit.clamp, house + 0.5 * pit.clamp)
        for x, name in ((main, "clamp main"), (house, "clamp house")):
            self.add(Rectangle((x, self.crown - edge), pit.clamp, edge, "clamp", name),
                     Rectangle((x, self.invert), pit.clamp, edge, "clamp"))
        hang, start = self.paper(0.011), self.invert + edge
        points = tuple((ends[0] + t * (ends[1] - ends[0]), start + hang * (1.0 - (2.0 * t - 1.0) ** 4))
                       for t in (step / 40 for step in range(41)))
        self.add(Path(points, "bond", closed=False, name="bond lead"))

    def thread(self) -> None:
        pit = self.pit
        if pit.thread is None or pit.thread > self.right - 0.005:
            return
        over = self.paper(0.0012)
        self.add(Rectangle((pit.thread, self.crown - over), min(0.03, self.right - pit.thread),
                           2.0 * pit.radius + 2.0 * over, "thread", "thread"))
        for step in range(1, 4):
            x = pit.thread + step * self.paper(0.0008)
            self.add(Line((x, self.crown - over), (x, self.invert + over), "extension"))

    def names(self) -> None:
        """What is what: on the main's side in a column left of the saddle, on the house side above the pipe."""
        pit = self.pit
        column = -pit.half - self.paper(0.006)
        room = self.across(column) - 0.001
        named: list[tuple[float, Point, str, bool]] = []
        if not pit.single:
            named.append((0.027, (0.0, -pit.height - self.paper(0.002)), "drill branch, capped", False))
        named.append((0.0195, (-0.8 * pit.half, -self.paper(0.0035)), "saddle", False))
        if pit.stopper is not None:
            place = -0.5 * pit.hole - 0.5 * pit.radius - 0.7 * pit.stopper
            named.append((0.012, (place, pit.radius), f"stopper {pit.stopper_text}, {pit.ruler.whole(pit.stopper)} "
                          f"{pit.ruler.sign}", True))
        for rise, tip, text, bold in named:
            start = (column, -self.paper(rise))
            self.add(Line((column + self.paper(0.001), start[1] - self.paper(0.0011)), tip, "leader"),
                     Label(start, fitted(text, room, bold=bold), "end", bold=bold))
        tall = self.scale * pit.height + 0.006
        lean = 0.0 if pit.single else math.tan(math.radians(40.0))
        tip = (self.paper(tall * lean + 0.001), -self.paper(tall))
        start = (max(self.paper(tall * lean + 0.014), 0.5 * pit.half), -self.paper(tall + 0.008))
        room = WIDTH - self.across(start[0])
        words = "branch for drill and stopper" if pit.single else "stopper branch"
        opened = f"{words}, {pit.valve} open"
        words = opened if pit.valve and text_width(opened) <= room else words
        self.add(Line((start[0] - self.paper(0.001), start[1] - self.paper(0.0011)), tip, "leader"),
                 Label(start, fitted(words, room)))
        if any(isinstance(shape, Rectangle) and shape.name == "thread" for shape in self.shapes):
            at = (pit.thread or 0.0) + self.paper(0.002)
            edge = min(at + self.paper(0.005), (pit.pit_end or self.right) - self.paper(0.0015))
            self.add(Line((at, -self.paper(0.0052)), (at, -self.paper(0.0012)), "leader"),
                     Label((edge, -self.paper(0.006)), "thread", "end"))
        beside = -0.5 * (pit.prop if pit.prop is not None else pit.half)
        self.add(Label((beside, self.invert + self.paper(0.0172)), fitted(f"bond lead {pit.lead}", 0.05), "middle"))

    def directions(self, top: float) -> None:
        """Arrows out of the drawing: to the main, where the gas is, and to the house."""
        y, head = -self.paper(top), self.paper(0.003)
        for tip, sign, text, anchor in ((self.left, 1.0, "MAIN, gas", "start"), (self.right, -1.0, "HOUSE", "end")):
            tail = tip + sign * self.paper(0.010)
            self.add(Line((tip, y), (tail, y), "rod"),
                     Path(((tip - sign * head, y), (tip + sign * self.paper(0.001), y - self.paper(0.0015)),
                           (tip + sign * self.paper(0.001), y + self.paper(0.0015))), "arrow"),
                     Label((tail + sign * self.paper(0.0015), y + self.paper(0.0016)), text, anchor, "large", True))

    def dimensions(self) -> float:
        """Dimension lines below the floor, each longer than the one above; returns where they end."""
        pit, rule = self.pit, self.pit.ruler
        rows: list[tuple[float, float, str, str, str]] = []
        if pit.prop is not None and pit.spacing is not None:
            text = f"props {rule.whole(2.0 * pit.prop)}, at most {rule.at_most(pit.spacing)}"
            rows.append((-pit.prop, pit.prop, text, "props", "middle"))
            if pit.overhang is not None and pit.prop + pit.overhang <= self.right:
                text = f"cut end at most {rule.at_most(pit.overhang)} from a prop"
                after = self.across(pit.prop + pit.overhang) + 0.002
                rows.append((pit.prop, pit.prop + pit.overhang, text, "overhang",
                             "end" if after + text_width(text) <= WIDTH else "start"))
        known = ((pit.cut_from, "cut from", rule.at_least, "window from"),
                 (pit.cut_to, "cut to", rule.at_most, "window to"),
                 (pit.thread, "thread", rule.whole, "thread distance"), (pit.pit_end, "pit end", rule.whole, "pit end"))
        found = [(value, words, rounded, name) for value, words, rounded, name in known
                 if value is not None and 0.0 < value <= self.right]
        for value, words, rounded, name in sorted(found, key=lambda row: row[0]):
            rows.append((0.0, value, f"{words} {rounded(value)}", name, "middle"))
        y = self.floor + self.paper(0.0105)
        for first, last, text, name, text_at in rows:
            for x in (first, last):
                top = self.floor + self.paper(0.004) if name == "props" else self.invert + self.paper(0.001)
                self.add(Line((x, top), (x, y + self.paper(0.001)), "extension"))
            self.add(Dimension((first, y), (last, y), text, name, text_at))
            y += self.paper(ROW) * (0.6 if name == "props" else 1.0)
        return y


def side_view(plan: Plan) -> Sheet | None:
    """The sheet, or None where the plan has no tube."""
    pit = pit_of(plan) if plan.tubes else None
    if pit is None:
        return None
    left, right = extent(pit)
    fits = (ratio for ratio in SCALES if (right - left) / ratio <= WIDTH - 0.012 and pit.height / ratio <= TALLEST)
    ratio = next(fits, SCALES[-1])
    scale = 1.0 / ratio
    picture = _Drawing(pit, scale, left, right)
    head = max(0.036, scale * pit.height + 0.024)
    picture.ground()
    picture.pipe()
    picture.stopper()
    picture.window()
    picture.bond()
    picture.thread()
    picture.props()
    picture.branches()
    picture.names()
    picture.directions(head)
    crown = 0.012 + head + 0.008
    centre = Line((0.0, -picture.paper(head - 0.004)), (0.0, picture.floor), "centre")
    deepest = crown + scale * picture.dimensions()
    remarks = remarks_on(pit, right)
    words: list[Shape] = [
        Label((0.001, 0.005), f"Side view in the pit, 1:{ratio}: stopper set, before the cut", size="heading",
              bold=True),
        Label((0.001, 0.0105), f"Lengths in {pit.ruler.name} from the saddle's centre.", size="small")]
    text = deepest + 0.001
    for row, remark in enumerate(remarks):
        words.append(Label((0.001, text + 0.0044 * row), remark, size="small"))
    foot = text + 0.0044 * len(remarks)
    length, pieces = pit.ruler.bar_along
    bar = View(scale, (0.001, foot), scale_bar((0.0, 0.0), length * pit.ruler.unit * ratio / 5, pieces, 0.0025 * ratio,
                                               f"{length * ratio / 5:.0f} {pit.ruler.sign} at 1:{ratio}"))
    build = "one branch for drill and stopper" if pit.single else "a drill branch and a stopper branch"
    cut = (f"cut from {pit.ruler.at_least(pit.cut_from)} to {pit.ruler.at_most(pit.cut_to)} {pit.ruler.sign} from the "
           "saddle's centre on the house side"
           if pit.cut_from is not None and pit.cut_to is not None and pit.cut_from < pit.cut_to
           else "there is no place to cut, or it is not known")
    return Sheet("side_view", "Side view in the pit", f"1:{ratio} along the pipe",
                 f"The main is on the left, the house on the right. A saddle with {build}; the stopper stands in the "
                 f"pipe towards the main; {cut}; the bond lead goes across the cut. {' '.join(remarks)}",
                 WIDTH, foot + 0.006,
                 (View(scale, (picture.origin, crown), (*picture.shapes, centre)),
                  View(1.0, (0.0, 0.0), tuple(words)), bar))
