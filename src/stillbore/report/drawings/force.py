"""Force against distance: what pushing the new pipe in takes, in its bore and at the hand, and the three limits."""

from __future__ import annotations

from stillbore.display import Display
from stillbore.plan import Plan
from stillbore.plan.new_pipe import TOWARDS_MAIN, Candidate, Curve
from stillbore.plan.renewal import shown_curve
from stillbore.report.drawings.route import leg_of, numbered
from stillbore.report.drawings.ruler import ruler_of
from stillbore.report.drawings.shapes import Label, Line, Path, Shape, Sheet, View, spread
from stillbore.report.drawings.svg import fitted
from stillbore.units import to_unit

WIDTH = 0.180
LEFT, TOP, HEIGHT = 0.016, 0.024, 0.070  # the frame on the paper
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 100000)
# (what, role of its line): they differ in dash and weight, and each has its name beside it.
LIMITS = (("hand", "hand: may push", "break"), ("snakes", "bore: may snake at", "level"),
          ("spirals", "bore: may spiral at", "cut out"))


class _Chart:
    """Distance [m] to the right from the cut, force [N] upwards; the numbers at the ticks in the units of a display."""

    def __init__(self, curve: Curve, length: float, ratio: int, display: Display) -> None:
        self.ratio, self.length, self.display = ratio, length, display
        limits = [getattr(curve, key).low or 0.0 for key, _, _ in LIMITS]
        self.most = 1.12 * max([*limits, *(max(point[1:]) for point in curve.points), 1.0])

    def at(self, distance: float, force: float) -> tuple[float, float]:
        return LEFT + distance / self.ratio, TOP + HEIGHT * (1.0 - min(force, self.most) / self.most)

    def newtons(self, force: float) -> str:
        """A force in words."""
        return self.display.show(force, "N", "N", 2 if force < 100.0 else 3)

    @property
    def right(self) -> float:
        return LEFT + self.length / self.ratio

    def axes(self) -> tuple[Shape, ...]:
        """Ticks at round distances and forces, their numbers beside them."""
        shapes: list[Shape] = [Path((self.at(0.0, self.most), self.at(0.0, 0.0), self.at(self.length, 0.0)), "frame",
                                    closed=False)]
        newton = self.display.unit("N", "N")
        most = to_unit(self.most, "N", newton)
        force = next(step for step in STEPS if most / step <= 6)
        for count in range(int(most / force) + 1):
            x, y = self.at(0.0, count * force * self.most / most)
            shapes += [Line((x - 0.0015, y), (x, y), "tick"), Label((x - 0.0022, y + 0.0012), f"{count * force:g}",
                                                                     "end")]
        ruler = ruler_of(self.display)
        apart = next(step for step in (0.1, 0.2, 0.5, *STEPS) if step * ruler.far / self.ratio >= 0.012)
        for count in range(int(self.length / (apart * ruler.far) + 1e-9) + 1):
            x, y = self.at(count * apart * ruler.far, 0.0)
            shapes += [Line((x, y), (x, y + 0.0015), "tick"),
                       Label((x, y + 0.0052), f"{count * apart:g}", "middle")]
        bottom = TOP + HEIGHT + 0.0105
        return (*shapes, Label((0.001, TOP - 0.0035), newton, "start"),
                Label((LEFT, bottom), f"{ruler.far_name} from the cut, pushed in", size="small"))


def _lines(chart: _Chart, curve: Curve) -> tuple[Shape, ...]:
    """The two forces and the three limits, named at the right where they end, apart from each other."""
    last = curve.points[-1]
    ends = [(getattr(curve, key).low, f"{words} {chart.newtons(getattr(curve, key).low)}", role, key)
            for key, words, role in LIMITS if getattr(curve, key).low is not None]
    named = [(force, words) for force, words, _, _ in ends]
    named += [(last[1], f"bore: takes {chart.newtons(last[1])}"),
              (last[2], f"hand: takes {chart.newtons(last[2])}")]
    named.sort(key=lambda pair: -pair[0])
    heights = [chart.at(0.0, force)[1] for force, _ in named]
    shapes: list[Shape] = [Line(chart.at(0.0, force), chart.at(chart.length, force), role, f"limit {key}")
                           for force, _, role, key in ends]
    for index, role, name in ((1, "rod", "in the bore"), (2, "bond", "at the hand")):
        shapes.append(Path(tuple(chart.at(point[0], point[index]) for point in curve.points), role, closed=False,
                           name=name))
    for (_, words), wanted, place in zip(named, heights, spread(heights, 0.0045), strict=True):
        edge = chart.right + 0.001
        shapes += [Path(((edge, wanted), (edge + 0.004, place), (edge + 0.0055, place)), "leader", closed=False),
                   Label((edge + 0.0065, place + 0.0011), fitted(words, WIDTH - edge - 0.0065, "small"),
                         size="small")]
    return tuple(shapes)


def _ratio(length: float) -> int:
    """The scale of the distances: the first at which the leg leaves room for the names on its right."""
    return next((ratio for ratio in (5, 10, 20, *STEPS[5:]) if length / ratio <= 0.105), STEPS[-1])


def force(plan: Plan) -> Sheet | None:
    """The sheet, or None where no new pipe is planned or its force is not known."""
    found = plan.renewal
    leg, shown = leg_of(found), shown_curve(found)
    if found is None or leg is None or shown is None or shown.curve is None:
        return None
    curve = shown.curve
    ratio = _ratio(leg.length)
    chart = _Chart(curve, leg.length, ratio, plan.display)
    bends: list[Shape] = []
    for number, each in numbered(found):
        if each.kind.endswith(("bend", "elbow")) and each.distance.low is not None:
            x, y = chart.at(min(each.distance.low, leg.length), 0.0)
            bends += [Line((x, y), (x, TOP), "extension"), Label((x, TOP - 0.0012), str(number), "middle", bold=True)]
    words = (Label((0.001, 0.005), f"Force against distance, {shown.name}, 1:{ratio} along", size="heading",
                   bold=True),
             Label((0.001, 0.0105), fitted(_told(shown, found.side == TOWARDS_MAIN), WIDTH - 0.002, "small"),
                   size="small"),
             Label((0.001, 0.0150), fitted("Limits in the bore are divided by the rule set's factor for the coil. "
                                           "Numbers above: bends, as in the way.", WIDTH - 0.002, "small"),
                   size="small"))
    return Sheet("force", "Force against distance", f"1:{ratio} along the pipe",
                 f"{shown.name} pushed in {plan.display.show(leg.length, 'm', 'm')}: in the bore "
                 f"{chart.newtons(curve.points[-1][1])}, at the hand {chart.newtons(curve.points[-1][2])} at the "
                 "worst; " + "; ".join(f"{words} {chart.newtons(getattr(curve, key).low or 0.0)}"
                                       for key, words, _ in LIMITS) + ".",
                 WIDTH, TOP + HEIGHT + 0.014,
                 (View(1.0, (0.0, 0.0), (*chart.axes(), *bends, *_lines(chart, curve), *words)),))


def _told(shown: Candidate, gas: bool) -> str:
    ahead = "against the gas" if gas else "in the vented leg"
    return f"{shown.name} {ahead}, at the worst. In the bore it snakes, at the hand the gland counts too."
