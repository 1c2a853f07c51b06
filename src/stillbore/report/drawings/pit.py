"""What the side view is made of: the lengths of the pit, where clamps and props stand, and what cannot be drawn."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from stillbore.plan import Plan
from stillbore.report.drawings.cross_section import end
from stillbore.report.drawings.ruler import Ruler, ruler_of


@dataclass(frozen=True)
class Pit:
    """What the drawing is made of, in metres from the saddle's centre; None where nobody knows."""

    radius: float
    bore: float
    half: float
    height: float
    hole: float
    single: bool
    stopper: float | None
    stopper_text: str
    cut_from: float | None
    cut_to: float | None
    spacing: float | None
    overhang: float | None
    prop: float | None
    prop_half: float
    clamp: float
    lead: str
    thread: float | None
    pit_end: float | None
    valve: str
    ruler: Ruler


def _low(plan: Plan, name: str) -> float | None:
    return plan.survey.fact(name).low


def _props(plan: Plan, half_width: float) -> float | None:
    """How far each prop stands from the saddle's centre: outside the saddle and, where the plan's spacing allows it,
    outside the length the gland needs. None where there is no room for a prop on each side."""
    spacing = end(plan, "strength.prop_spacing", "low")
    half, grip = plan.kit.fact("saddle.half_length").high, plan.kit.fact("saddle.gland_grip").high
    tail = plan.kit.fact("saddle.stopper_tail").high
    if spacing is None or half is None or grip is None or tail is None:
        return None
    nearest, wanted = half + half_width, half + tail + grip + half_width
    place = min(wanted, 0.5 * spacing)
    return place if place >= nearest else None


def pit_of(plan: Plan) -> Pit | None:
    tube, kit = plan.tubes[0], plan.kit.fact
    outside, wall = tube.outside_diameter, tube.wall
    half, height, clamp = (kit(f"saddle.{key}").high for key in ("half_length", "height", "bond_clamp"))
    if outside.low is None or outside.high is None or wall.low is None or half is None or height is None or not half:
        return None
    radius = 0.25 * (outside.low + outside.high)
    stopper = plan.stopper
    hole = plan.saw.fact("diameter").high if plan.saw is not None else None
    length = stopper.fact("length").high if stopper is not None else None
    valves = [row.text("id") for row in plan.kit.rows("valve") if "gauge" not in row.text("id")]
    prop_half = 0.012
    return Pit(
        radius=radius, bore=max(radius - wall.low, 0.5 * radius), half=half, height=height,
        hole=hole if hole is not None else 1.4 * radius, single=plan.kit.value("kit.build") == "single branch",
        stopper=length, stopper_text=stopper.text("id") if stopper is not None else "",
        cut_from=end(plan, "window.from", "high"), cut_to=end(plan, "window.to", "low"),
        spacing=end(plan, "strength.prop_spacing", "low"), overhang=end(plan, "strength.overhang", "low"),
        prop=_props(plan, prop_half), prop_half=prop_half, clamp=clamp or 0.0,
        lead=plan.display.said(plan.kit.fact("bond.lead_length")), thread=_low(plan, "site.nearest_thread"),
        pit_end=_low(plan, "site.pit_end"), valve=valves[0] if valves else "",
        ruler=ruler_of(plan.display))


def clamps(pit: Pit) -> tuple[float, float]:
    """Where the two bond clamps begin: on the main's side outside saddle and prop, on the house side at the end of the
    pit, or short of the thread where that lies before it."""
    outermost = max(pit.half, (pit.prop or 0.0) + pit.prop_half)
    stop = pit.pit_end
    if stop is None:
        stop = max(pit.cut_to or 0.0, pit.cut_from or 0.0, pit.half) + 2.0 * pit.clamp
    if pit.thread is not None and stop - pit.clamp < pit.thread + 0.02 and pit.thread < stop:
        stop = pit.thread
    return -(outermost + 1.5 * pit.clamp) - pit.clamp, max(stop - pit.clamp, outermost)


def extent(pit: Pit) -> tuple[float, float]:
    """From where to where along the pipe is drawn."""
    main, house = clamps(pit)
    known = [house + pit.clamp, pit.half, pit.cut_from or 0.0, pit.cut_to or 0.0, pit.pit_end or 0.0]
    return main - 0.02, max(known) + 0.02


def remarks_on(pit: Pit, right: float) -> list[str]:
    """What the drawing cannot show, in sentences."""
    said, rule = [], pit.ruler
    if pit.prop is None:
        said.append("Props: no room for one on each side of the saddle, or their distance is not known; none is drawn.")
    elif pit.spacing is not None and pit.overhang is not None:
        said.append(f"Prop the pipe on both sides of the saddle, at most {rule.at_most(pit.spacing)} {rule.sign} "
                    "apart, and prop the kit itself. Set the props clear of gland and cutter, and at most "
                    f"{rule.at_most(pit.overhang)} {rule.sign} from the cut: none is moved while the pipe is open.")
    if pit.cut_from is not None and pit.cut_to is not None and pit.cut_to <= pit.cut_from:
        said.append(f"There is no place to cut: the nearest it may be, {rule.at_least(pit.cut_from)} {rule.sign}, lies "
                    f"beyond the farthest, {rule.at_most(pit.cut_to)} {rule.sign}.")
    if pit.thread is None:
        said.append("Nearest threaded joint: not known.")
    elif pit.thread > right - 0.005:
        said.append(f"Nearest threaded joint: {rule.whole(pit.thread)} {rule.sign} from the saddle's centre, beyond "
                    "the drawing.")
    else:
        said.append("Which side of the saddle the thread is on is not in the survey: it is drawn on the house side.")
    if pit.pit_end is None:
        said.append("End of the pit on the house side: not known.")
    if pit.stopper is None:
        said.append("The kit has no stopper of this size: none is drawn.")
    said.append("To scale: the pipe, the saddle's length and height, and all lengths along the pipe. Symbols: "
                "branches, valve, props, lead, pit floor. How deep the stopper goes is the kit's own mark.")
    return [line for sentence in said for line in textwrap.wrap(sentence, 108)]
