"""Water in a low point of the service: the pressure that it holds back, against the district's."""

from __future__ import annotations

from stillbore.derive import constant
from stillbore.physics import tightness
from stillbore.plan.parts import HOLD_OPEN, Workings

# 1 mbar = 10.2 mm of water.
WATER = constant("density of water", "kg/m3", 1000.0, "NIST SP 811: conventional millimetre of water")
LOWER = ("pressure.lowest", "lowest pressure to be expected"), ("pressure.operating", "pressure measured")


def water(work: Workings) -> None:
    """What is told of a service in which water stands; nothing where nobody wrote of any."""
    depth = work.survey.row("site").facts.get("water_depth")
    if depth is None or depth.high == 0.0:
        return
    work.section("water", "Water in the service")
    if not depth.known:
        work.tell(HOLD_OPEN, "Water stands in the service and nobody knows how deep. It can hold the whole pressure of "
                  "the district back: a gauge at zero beyond it proves nothing.",
                  "Draw the water off, or measure on the district's side of it.", 8, 9)
        return
    work.keep("depth of the water in the low point", depth, "mm", "water.depth")
    seal = work.work("water.seal", "pressure that this water holds back", "mbar", tightness.water_head, height=depth,
                     density=WATER)
    assert seal.high is not None
    held = work.show(seal.high, "Pa", "mbar")
    hidden = [(title, fact) for name, title in LOWER
              if (fact := work.survey.fact(name)).low is None or fact.low <= seal.high]
    if hidden:
        titles = " and the ".join(f"{title}, {work.said(fact) or 'not known'}" for title, fact in hidden)
        work.tell(HOLD_OPEN, f"Water in a low point holds back up to {held}. The {titles}, cannot be seen through it: "
                  "the pipe looks dead and is live, and gas comes when the water moves.",
                  "Draw the water off and measure again; until then reckon the pipe live.", 8, 9, 11)
    else:
        work.tell(HOLD_OPEN, f"Water in a low point holds back up to {held}: a gauge beyond it reads that much less "
                  "than the district has, and swings when the water moves.",
                  "Draw the water off and measure again.", 9)
