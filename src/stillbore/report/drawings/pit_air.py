"""Gas in the pit against time, both in equal steps of the logarithm: let-by, a lost stopper, a live cut."""

from __future__ import annotations

from stillbore.plan import Plan
from stillbore.plan.pit_air import Curve, curves
from stillbore.report.drawings.frame import Axis, Frame
from stillbore.report.drawings.shapes import Label, Line, Path, Shape, Sheet, View, spread
from stillbore.units import show

WIDTH, HEIGHT = 0.180, 0.112
LEFT, RIGHT, TOP, BOTTOM = 0.018, 0.127, 0.016, 0.098
TIMES = ((1.0, "1 s"), (10.0, "10 s"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"))
SHARES = ((0.001, "0.1 %"), (0.01, "1 %"), (0.1, "10 %"), (1.0, "100 %"), (10.0, "1000 %"))
LEAST, MOST = 3e-4, 80.0  # shares of the limit at the edges: pure propane is 59 times its own
WORDS_AT = 2.0  # [s] where the words of a level begin: clear of the steep curves
STEP = 0.0078  # between the words of two curves, which have two lines each
ROLES = {"let_by_still": "curve dots", "let_by_airy": "curve mixed", "live_cut_still": "curve long",
         "live_cut_airy": "curve short", "lost_stopper": "curve"}


def pit_air_chart(plan: Plan) -> Sheet | None:
    """The sheet, or None where the plan has no pit."""
    found = curves(plan.numbers, plan.rules) if "pit_air.pit_volume" in plan.numbers else ()
    if not found:
        return None
    frame = Frame(Axis(found[0].points[0][0], found[0].points[-1][0], LEFT, RIGHT, True),
                  Axis(LEAST, MOST, BOTTOM, TOP, True))
    limit = plan.numbers["gas.flammable_limit"]
    shapes = [*frame.drawn(TIMES, SHARES), *_levels(plan, frame)]
    for curve in found:
        path = frame.curve(curve.points, ROLES[curve.key], f"curve {curve.key}")
        shapes += [path] if path else []
    shapes += _words(plan, found, frame)
    pit = plan.numbers["pit_air.pit_volume"].node.low
    assert pit is not None
    paper: tuple[Shape, ...] = (
        Label((0.001, 0.005), "Gas in the pit against time", size="heading", bold=True),
        Label((0.001, 0.0105), f"Share of the flammable limit ({limit.text}, IEC basis); pit of "
              f"{plan.display.show(pit, 'm3', 'm3', 2)}, taken as well mixed", size="small"),
        Label((RIGHT, BOTTOM + 0.0085), "time since it began", "end", "small"),
        Label((0.001, HEIGHT - 0.001), "How urgent it is, to a factor of three. No reason to stay or to enter: that is "
              "measured.", size="normal", bold=True))
    told = "; ".join(f"{_title(plan, curve)}: {_end_text(curve)}" for curve in found)
    return Sheet("pit_air", "Gas in the pit against time", "",
                 f"Share of the lower flammable limit against time, from half a second to two hours. {told}.", WIDTH,
                 HEIGHT, (View(1.0, (0.0, 0.0), (*paper, *shapes)),))


def _levels(plan: Plan, frame: Frame) -> tuple[Shape, ...]:
    """The flammable limit, and the shares of it at which the pit is left and at which it is an emergency."""
    shapes: list[Shape] = []
    for key, words in (("fraction_out", "out of the pit"), ("fraction_emergency", "emergency")):
        share = plan.rules.fact(f"release.{key}")
        if share.low is not None:
            y = frame.up.place(share.low)
            shapes += [Line((LEFT, y), (RIGHT, y), "level", f"level {key}"),
                       Label((frame.along.place(WORDS_AT), y - 0.0008), f"{share.text}: {words}", size="small")]
    y = frame.up.place(1.0)
    return (*shapes, Line((LEFT, y), (RIGHT, y), "curve heavy", "level limit"),
            Label((frame.along.place(WORDS_AT), y - 0.0012), "flammable limit", size="small", bold=True))


def _title(plan: Plan, curve: Curve) -> str:
    """What a curve is, in the plan's units: the rate in it is the rule set's, as it was written."""
    rate = plan.rules.fact("letby.stop_rate")
    return curve.title.replace(rate.text, plan.display.said(rate))


def _words(plan: Plan, found: tuple[Curve, ...], frame: Frame) -> list[Shape]:
    """What each curve is, to the right of its end, with a leader and a sample of its dashes."""
    ends = sorted((frame.up.place(curve.points[-1][1]), curve) for curve in found)
    places = spread([place for place, _ in ends], STEP)
    shift = min(0.0, BOTTOM - places[-1])
    shapes: list[Shape] = []
    for (at, curve), wanted in zip(ends, places, strict=True):
        place = wanted + shift
        shapes.append(Path(((RIGHT, at), (RIGHT + 0.003, place), (RIGHT + 0.004, place)), "leader", closed=False))
        shapes.append(Line((RIGHT + 0.004, place), (RIGHT + 0.012, place), ROLES[curve.key]))
        first, _, rest = _title(plan, curve).partition(", ")
        shapes += [Label((RIGHT + 0.0132, place - 0.0003), first, size="small", name=f"words {curve.key}"),
                   Label((RIGHT + 0.0132, place + 0.0030), rest, size="small")]
    return shapes


def _end_text(curve: Curve) -> str:
    return f"{show(curve.points[-1][1], '-', '%', 2)} of the limit in the end"
