"""The travel strip: the drill travel at true size, in the kit's own datum, to lay against the feed screw.

Zero is where the datum is met. Left edge: millimetres, or twentieths of an inch. Right edge: turns of the feed screw,
each mark as thick as the screw's play makes it. A check bar runs the same way as the strip, because a printer stretches
paper the way it feeds it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from stillbore.errors import Refused
from stillbore.physics import saw
from stillbore.plan import Plan
from stillbore.plan.travel import PILOT_CONTACT
from stillbore.report.drawings.cross_section import end
from stillbore.report.drawings.ruler import Ruler, ruler_of
from stillbore.report.drawings.shapes import Hatch, Label, Line, Path, Rectangle, Shape, Sheet, View, box, spread
from stillbore.report.drawings.svg import fitted

WIDTH = 0.180
LEFT, STRIP = 0.004, 0.044  # the strip's left edge on the paper, and its width
BANDS = (0.014, 0.031)  # the column of bands, from the strip's left edge
ZERO = 0.032  # where zero lies on the paper
MARGIN = 0.007  # strip before zero and after its last mark
STEP = 0.0048  # least distance between two lines of text beside the strip
TICKS_AFTER = 3  # of the strip after the far wall


@dataclass(frozen=True)
class Mark:
    """A feed with what it means; ``strong``: the one to aim at."""

    key: str
    feed: float
    text: str
    strong: bool = False


@dataclass(frozen=True)
class Feeds:
    """The feeds shown, in the kit's datum, each at the end that matters: whichever tube it is, it is true."""

    loose: float
    full: float
    start: float
    target: float
    finish: float
    far: float
    teeth: float


def _least(plan: Plan, name: str, side: str) -> float | None:
    """The least (side "low") or greatest ("high") of a number over all the tubes the pipe may be."""
    ends = [end(plan, name.replace("*", tube.key), side) for tube in plan.tubes]
    if not ends or any(value is None for value in ends):
        return None
    return (min if side == "low" else max)(value for value in ends if value is not None)


def feeds(plan: Plan) -> Feeds | None:
    """Every feed of the strip, or None where the plan has no travel."""
    lead_low, lead_high = end(plan, "travel.datum_lead", "low"), end(plan, "travel.datum_lead", "high")
    depths = [_least(plan, "travel.*.loose", "low"), _least(plan, "travel.*.full", "high"),
              _least(plan, "travel.*.saw_far_wall", "low"), _least(plan, "travel.*.pilot_far_wall", "low")]
    window = [end(plan, f"travel.{key}", "value") for key in ("feed_from", "feed_target", "feed_to")]
    if lead_low is None or lead_high is None or any(value is None for value in (*depths, *window)):
        return None
    loose, full, saw_far, pilot_far = (float(value) for value in depths)  # type: ignore[arg-type]
    start, target, finish = (float(value) for value in window)  # type: ignore[arg-type]
    found = Feeds(lead_low + loose, lead_high + full, start, target, finish, lead_low + min(saw_far, pilot_far),
                  lead_low)
    order = (0.0, found.loose, found.start, found.target, found.finish, found.far)
    return found if all(first <= second for first, second in zip(order, order[1:], strict=False)) else None


def _turns(plan: Plan, key: str) -> str:
    """Turns to a feed with the screw's play, as '15.1 to 15.3 turns'."""
    low, high = end(plan, f"travel.{key}", "low"), end(plan, f"travel.{key}", "high")
    if low is None or high is None:
        return ""
    first, last = f"{low:.1f}", f"{high:.1f}"
    return f", {first} turns" if first == last else f", {first} to {last} turns"


def _marks(plan: Plan, at: Feeds) -> tuple[Mark, ...]:
    pilot_datum, ruler = plan.kit.value("travel.counted_from") == PILOT_CONTACT, ruler_of(plan.display)
    marks = [Mark("zero", 0.0, "0: the pilot touches the pipe" if pilot_datum else "0: the saw's teeth touch the pipe"),
             Mark("loose", at.loose, f"{ruler.feed(at.loose)} {ruler.sign}: from here the coupon may be loose"),
             Mark("full", at.full, f"{ruler.feed(at.full)} {ruler.sign}: hole full not before"),
             Mark("from", at.start, f"{ruler.feed(at.start)} {ruler.sign}: window from{_turns(plan, 'turns_from')}"),
             Mark("target", at.target, f"AIM AT {ruler.feed(at.target)} {ruler.sign}{_turns(plan, 'turns')}", True),
             Mark("to", at.finish, f"{ruler.feed(at.finish)} {ruler.sign}: window to{_turns(plan, 'turns_to')}"),
             Mark("far", at.far, f"{ruler.feed(at.far)} {ruler.sign}: far wall, stay short of it")]
    if pilot_datum:
        marks.append(Mark("teeth", at.teeth, f"{ruler.feed(at.teeth)} {ruler.sign}: the saw's teeth touch"))
    stated = end(plan, "travel.stated", "value")
    if stated is not None and 0.0 < stated < at.far:
        place = "before the window" if stated < at.start else "inside the window" if stated <= at.finish else \
            "beyond the window"
        marks.append(Mark("stated", stated, f"{ruler.feed(stated)} {ruler.sign}: stated by the kit's maker, {place}"))
    return tuple(sorted(marks, key=lambda mark: mark.feed))


def _scale(ruler: Ruler, last: int) -> tuple[Shape, ...]:
    """A tick for every mark of the ruler from zero, longer where a number stands, longest at the round ones."""
    shapes: list[Shape] = []
    for count in range(last + 1):
        long, numbered = count % ruler.long_every == 0, count % ruler.number_every == 0
        feed = count * ruler.ticks
        shapes.append(Line((0.0, feed), (0.006 if long else 0.0045 if numbered else 0.003, feed), "tick",
                           f"tick {count}"))
        if numbered:
            shapes.append(Label((0.0131, feed + 0.0012), ruler.tick_text(count), "end", bold=long))
    return tuple(shapes)


def _bands(at: Feeds, last: float) -> tuple[Shape, ...]:
    """What each stretch of travel means: loose (level lines), window (sloping lines), far wall (black)."""
    left, right = BANDS
    loose, window = box(left, at.loose, right, at.full), box(left, at.start, right, at.finish)
    return (
        Path(box(left, 0.0, right, at.far), "area", name="travel"),
        Hatch((loose,), "loose"), Path(loose, "frame", name="band loose"),
        Hatch((window,), "window"), Path(window, "frame", name="band window"),
        Rectangle((left, at.far), right - left, last - at.far, "never", "band far"),
        Line((0.0, at.target), (STRIP, at.target), "leader", "target"),
        Line((left, at.target), (right, at.target), "target"),
        Path(((0.0, at.target), (-0.003, at.target - 0.0012), (-0.003, at.target + 0.0012)), "arrow"),
    )


def _screw(plan: Plan, last: float) -> tuple[Shape, ...]:
    """Turns along the right edge: each mark reaches from the feed with the most play to that with the least."""
    pitch, play = plan.kit.fact("travel.screw_pitch"), plan.kit.fact("travel.backlash")
    if not pitch.exact or pitch.low is None or play.low is None or play.high is None:
        return ()
    every = next(step for step in (1, 2, 5, 10, 20, 50, 100) if step * pitch.low >= 0.0042 or step == 100)
    shapes: list[Shape] = []
    for turns in range(1, math.floor((last + play.low) / pitch.low) + 1):
        try:
            first = saw.feed_from_turns(turns=float(turns), screw_pitch=pitch.low, backlash=play.high)
            second = saw.feed_from_turns(turns=float(turns), screw_pitch=pitch.low, backlash=play.low)
        except Refused:
            return ()
        numbered = turns % every == 0
        length = 0.0045 if numbered else 0.003
        if second > last:
            break
        shapes.append(Rectangle((STRIP - length, first), length, second - first, "turns", f"turns {turns}"))
        if numbered:
            shapes.append(Label((STRIP - 0.0055, 0.5 * (first + second) + 0.0012), str(turns), "end"))
    return tuple(shapes)


def _words(marks: tuple[Mark, ...], top: float) -> tuple[Shape, ...]:
    """What each mark means, beside the strip, with a leader from its place. The mark to aim at keeps more room."""
    places = spread([ZERO + mark.feed for mark in marks], STEP)
    shapes: list[Shape] = []
    edge, elbow, text = LEFT + STRIP, LEFT + STRIP + 0.006, LEFT + STRIP + 0.0075
    lift = max(0.0, top - places[0])
    for mark, wanted in zip(marks, places, strict=True):
        place = wanted + lift
        shapes.append(Path(((edge, ZERO + mark.feed), (elbow, place), (text - 0.0007, place)), "leader", closed=False))
        shapes.append(Label((text, place + 0.0012), mark.text, size="normal", bold=mark.strong,
                            name=f"mark {mark.key}"))
    return tuple(shapes)


def _check_bar(x: float, top: float, length: float) -> tuple[Shape, ...]:
    return (Rectangle((x - 0.0008, top), 0.0016, length, "check bar", "check bar"),
            Rectangle((x - 0.003, top), 0.006, 0.0003, "check bar"),
            Rectangle((x - 0.003, top + length - 0.0003), 0.006, 0.0003, "check bar"))


def travel_strip(plan: Plan) -> Sheet | None:
    """The sheet, or None where the plan has no travel to print."""
    row, at = plan.saw, feeds(plan)
    if row is None or at is None:
        return None
    ruler = ruler_of(plan.display)
    count = math.ceil(at.far / ruler.ticks) + TICKS_AFTER
    last, check = count * ruler.ticks, ruler.check * ruler.unit
    marks = _marks(plan, at)
    datum = str(plan.kit.value("travel.counted_from"))
    strip = View(1.0, (LEFT, ZERO), (
        Rectangle((0.0, -MARGIN), STRIP, MARGIN + last + MARGIN, "cut out", "strip"),
        *_bands(at, last), *_scale(ruler, count), *_screw(plan, last),
        Label((0.0008, -0.0030), ruler.sign, size="small"),
        Label((0.5 * sum(BANDS), -0.0030), "travel", "middle", "small"),
        Label((STRIP - 0.0008, -0.0030), "turns", "end", "small"),
        Label((0.5 * STRIP, last + 0.0048), fitted(f"{plan.survey.value('job.id')} {row.text('id')}", STRIP - 0.004,
                                                   "small"), "middle", "small")))
    words = _words(marks, ZERO - 0.002)
    bottom = max(ZERO + last + MARGIN, ZERO + check, *(label.at[1] for label in words if isinstance(label, Label)))
    x = WIDTH - 0.006
    paper: tuple[Shape, ...] = (
        Label((0.001, 0.005), "Travel strip, true size (1:1)", size="heading", bold=True),
        Label((0.001, 0.0105), fitted(f"Counted from {datum}: there lay 0 on the feed screw's mark. Turns count from "
                                      "there, play included.", WIDTH, "small"), size="small"),
        Label((0.001, 0.0148), fitted(f"Job {plan.survey.value('job.id')}, service {plan.survey.value('job.asset')}, "
                                      f"{plan.kit.value('kit.name')}, {row.text('id')}, plan {plan.version[:8]}",
                                      WIDTH, "small"), size="small"),
        Label((WIDTH, 0.0215), f"print at 100 %; check that this bar is {ruler.check:.0f} {ruler.sign}", "end",
              bold=True, name="check words"),
        *words, *_check_bar(x, ZERO - 0.006, check))
    told = "; ".join(mark.text for mark in marks)
    return Sheet("travel_strip", "Travel strip", "1:1, to be printed at 100 %",
                 f"Drill travel at true size, counted from {datum}. {told}.", WIDTH, bottom + 0.003,
                 (strip, View(1.0, (0.0, 0.0), paper)))
