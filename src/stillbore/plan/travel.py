"""Saw, pilot and travel: when the coupon is loose, the hole full, the far wall reached; in the kit's own datum."""

from __future__ import annotations

from dataclasses import replace

from stillbore.derive import Fact, Node, Traced, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import coupon, saw, window
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE, Grid, Workings
from stillbore.plan.pipe import SIZE_NAMES, tubes_of_size
from stillbore.tables import steel_properties
from stillbore.verdicts import MET

PILOT_CONTACT = "pilot contact"


def choose_saw(work: Workings) -> Row | None:
    """The kit's saw for this size, one with life left before one without; or None with a finding."""
    rows = [row for row in work.kit.rows("saw") if row["size"] == work.size]
    if rows:
        return min(rows, key=lambda row: row["holes_cut"] >= row["holes_most"])  # type: ignore[operator]
    sizes = ", ".join(SIZE_NAMES[str(row["size"])] for row in work.kit.rows("saw"))
    work.tell(DOES_NOT_APPLY, f"The kit has no saw for {SIZE_NAMES[work.size]}; it has {sizes}.",
              "Take a kit with a saw for this size.", 6)
    return None


def datum_lead(work: Workings, row: Row) -> Node:
    """What is added to a depth from saw contact to get the feed in the kit's datum."""
    if work.kit.value("travel.counted_from") == PILOT_CONTACT:
        return row.fact("pilot_lead")
    return constant("travel.saw_datum", "m", 0.0, "the kit counts travel from saw contact")


def _depths(work: Workings, row: Row, size: Traced) -> tuple[dict[str, Node], dict[str, Node]]:
    """Start and end of the travel window for every tube it may be, with all that leads to them."""
    centring, lead = work.kit.fact("saddle.centring"), row.fact("pilot_lead")
    hole: dict[str, Node] = {}
    starts: dict[str, Node] = {}
    ends: dict[str, Node] = {}
    work.each("travel.*.loose", "coupon may come loose", "mm", lambda name, tube: derive(
        name, saw.loose_coupon_depth, outside_diameter=tube.outside_diameter, wall=tube.wall,
        saw_diameter=row.fact("diameter"), kerf=row.fact("kerf"), off_centre=centring))
    hole = work.each("travel.*.full", "hole full", "mm", lambda name, tube: derive(
        name, saw.full_hole_depth, outside_diameter=tube.outside_diameter, wall=tube.wall, saw_diameter=size,
        off_centre=centring))
    saw_far = work.each("travel.*.saw_far_wall", "saw reaches far wall", "mm", lambda name, tube: derive(
        name, saw.saw_far_wall_depth, outside_diameter=tube.outside_diameter, wall=tube.wall, saw_diameter=size,
        off_centre=centring))
    pilot_far = work.each("travel.*.pilot_far_wall", "pilot reaches far wall", "mm", lambda name, tube: derive(
        name, saw.pilot_far_wall_depth, outside_diameter=tube.outside_diameter, wall=tube.wall, pilot_lead=lead))
    starts = work.each("travel.*.from", "window from", "mm", lambda name, tube: derive(
        name, window.travel_start, full_hole_depth=hole[tube.key], margin=work.limit("travel.after_full_hole")))
    ends = work.each("travel.*.to", "window to", "mm", lambda name, tube: derive(
        name, window.travel_end, saw_far_wall_depth=saw_far[tube.key], pilot_far_wall_depth=pilot_far[tube.key],
        margin=work.limit("travel.before_far_wall")))
    return starts, ends


def _feed(work: Workings, name: str, title: str, depth: Node, lead: Node) -> Traced:
    return work.work(name, title, "mm", saw.feed_from_pilot_contact, depth=depth, pilot_lead=lead)


def _worst_window(work: Workings, starts: dict[str, Node], ends: dict[str, Node], lead: Node) -> None:
    """The window that is right whichever tube it is, in the kit's datum, in millimetres and turns."""
    if not all(node.known for node in (*starts.values(), *ends.values())):
        bad = [tube for tube in work.tubes if not (starts[tube.key].known and ends[tube.key].known)]
        refusal = next(node.refusal for tube in bad for node in (starts[tube.key], ends[tube.key])
                       if isinstance(node, Traced) and node.refusal)
        level = ENGINEER if len(work.tubes) == 1 else HOLD_OPEN
        work.tell(level, f"There is no travel that suits {', '.join(tube.title for tube in bad)}: {refusal}",
                  "Centre the saddle better, take a smaller saw, or measure the wall and rule these tubes out.", 6)
        return
    latest = max(starts.values(), key=lambda node: node.high)  # type: ignore[arg-type,return-value]
    earliest = min(ends.values(), key=lambda node: node.low)  # type: ignore[arg-type,return-value]
    start = work.take("travel.from", "window from, worst case, counted from saw contact", "mm", latest, "high")
    end = work.take("travel.to", "window to, worst case, counted from saw contact", "mm", earliest, "low")
    width = work.work("travel.width", "width of the window, worst case", "mm", window.beyond, reached=end, wanted=start)
    if (width.low or 0.0) <= 0.0:
        level = ENGINEER if len(work.tubes) == 1 else HOLD_OPEN
        work.tell(level, "No travel is right for every tube it may be: the hole may not be full before "
                  f"{work.show(start.low or 0.0, 'm', 'mm')}, and the far wall is to be kept clear from "
                  f"{work.show(end.low or 0.0, 'm', 'mm')}.",
                  "Measure the wall to narrow it, centre the saddle better, or take a smaller saw.", 6)
        return
    datum = str(work.kit.value("travel.counted_from"))
    low = _feed(work, "travel.feed_from", f"feed from, counted from {datum}", start, worst("pilot lead", lead, "high"))
    high = _feed(work, "travel.feed_to", f"feed to, counted from {datum}", end, worst("pilot lead", lead, "low"))
    target = work.work("travel.feed_target", f"feed to aim at, counted from {datum}", "mm", window.middle, start=low,
                       end=high)
    pitch, backlash = work.kit.fact("travel.screw_pitch"), work.kit.fact("travel.backlash")
    # Play may or may not have been taken up when the datum was set: "from" reckons with it, "to" without.
    taken_up = constant("travel.play_taken_up", "m", 0.0, "play taken up at the datum")
    most_play = worst("backlash", backlash, "high")
    for key, title, node, play in (("turns_from", "turns from, with backlash", low, most_play),
                                   ("turns", "turns to aim at, with backlash", target, backlash),
                                   ("turns_to", "turns to, play taken up", high, taken_up)):
        work.work(f"travel.{key}", title, "turns", saw.feed_turns, feed=node, screw_pitch=pitch, backlash=play)


def _stated(work: Workings, row: Row, size: Traced, lead: Node) -> None:
    """What the travel stated by the kit's maker makes of each tube, and up to which pilot lead it makes a full hole."""
    if "stated_travel" not in row.facts:
        return
    stated = row.fact("stated_travel")
    datum = str(work.kit.value("travel.counted_from"))
    work.keep(f"travel stated by the kit's maker, counted from {datum}", stated, "mm", "travel.stated")
    depth = work.work("travel.stated_depth", "the same, counted from saw contact", "mm", saw.depth_from_pilot_contact,
                      feed=stated, pilot_lead=lead)
    beyond = work.each("travel.*.stated_beyond_full", "stated travel beyond full hole", "mm", lambda name, tube: derive(
        name, window.beyond, reached=depth, wanted=work.numbers[f"travel.{tube.key}.full"].node))
    for tube in work.tubes:
        _judge_stated(work, beyond[tube.key], f"{work.said(stated)} from {datum}", tube.title)
        for key, level, words in (("saw_far_wall", ENGINEER, "may run the saw into the far wall"),
                                  ("pilot_far_wall", ENGINEER, "may run the pilot into the far wall")):
            far = work.numbers[f"travel.{tube.key}.{key}"].node
            if depth.high is not None and far.low is not None and depth.high >= far.low:
                work.tell(level, f"In the tube {tube.title} the travel stated by the kit's maker, {work.said(stated)} "
                          f"from {datum}, {words}.", "Use the window of this plan; ask the kit's maker.", 6)
    rows = []
    zero = constant("travel.centred", "m", 0.0, "drilled on the axis")
    for tube in tubes_of_size(work.size):
        full = derive("full", saw.full_hole_depth, outside_diameter=_nominal(tube.outside_diameter),
                      wall=_nominal(tube.wall), saw_diameter=size, off_centre=zero)
        over = derive("beyond", window.beyond, reached=depth, wanted=full)
        lead_most = derive("lead", window.beyond, reached=stated, wanted=full)
        if full.value is None or over.value is None or lead_most.value is None:
            rows.append((tube.title, "none", "-", "-"))
            continue
        made = "full hole" if over.value >= 0 else "NOT full"
        lead_text = work.show(lead_most.value, "m", "mm") if datum == PILOT_CONTACT else "does not matter"
        rows.append((tube.title, work.show(full.value, "m", "mm"), f"{_signed(work, over.value)}, {made}", lead_text))
    work.here.grids.append(Grid(
        f"What {work.said(stated)} from {datum} makes of each {SIZE_NAMES[work.size]} tube (nominal size, on the axis)",
        ("tube", "full hole at, from saw contact", "stated travel beyond it", "full hole if the pilot lead is at most"),
        tuple(rows)))


def _judge_stated(work: Workings, beyond: Node, stated: str, tube: str) -> None:
    """Say where the stated travel is short of a full hole, surely or perhaps."""
    advice = "Use the window of this plan; ask the kit's maker about datum and pilot lead."
    travel = f"the travel stated by the kit's maker, {stated},"
    if not beyond.known:
        if isinstance(beyond, Traced) and beyond.refusal:
            work.tell(NOTE, f"In the tube {tube} {travel} may not make a full hole at all: {beyond.refusal}", advice, 6)
        return
    assert beyond.low is not None and beyond.high is not None
    if beyond.low >= 0.0:
        return
    surely = beyond.high < 0.0
    short = work.display.show_difference(-beyond.low, "m", "mm")
    work.tell(ENGINEER if surely else NOTE,
              f"In the tube {tube} {travel} {'is' if surely else 'may be'} short of a full hole, by up to {short}: the "
              "coupon may be loose and the hole not full.", advice, 6)


def _signed(work: Workings, value: float) -> str:
    """A length beyond (+) or short of (-) another."""
    return f"{'-' if value < 0.0 else '+'}{work.display.show_difference(abs(value), 'm', 'mm')}"


def _nominal(fact: Fact) -> Fact:
    middle = fact.value if fact.value is not None else 0.5 * (fact.low + fact.high)  # type: ignore[operator]
    return replace(fact, value=middle, low=middle, high=middle)


def _pilot(work: Workings, row: Row) -> None:
    """The band in which the pilot lead must lie, over every tube it may be: the pilot must be through the wall, over
    its whole width, before the saw bites (which is the depth at which it is through, counted from its own contact), and
    its tip must stay clear of the far wall."""
    lead = row.fact("pilot_lead")
    through = work.each("travel.*.pilot_through", "pilot through, from pilot contact", "mm", lambda name, tube: derive(
        name, saw.pilot_through_depth, outside_diameter=tube.outside_diameter, wall=tube.wall,
        pilot_diameter=row.fact("pilot_diameter"), point_angle=row.fact("pilot_point_angle"),
        off_centre=work.kit.fact("saddle.centring")))
    most = work.each("travel.*.lead_most", "largest pilot lead", "mm", lambda name, tube: derive(
        name, saw.pilot_lead_most, outside_diameter=tube.outside_diameter, wall=tube.wall,
        margin=work.limit("travel.before_far_wall")))
    work.keep("pilot lead of the kit", lead, "mm", "travel.pilot_lead")
    work.cover("travel.gas_from", "gas from, when the pilot's tip is through, from pilot contact", "mm",
               work.each("travel.*.gas_from", "pilot's tip through", "mm", lambda name, tube: derive(
                   name, saw.first_break_depth, wall=tube.wall)))
    cover = work.cover("travel.pilot_through", "pilot through, from pilot contact", "mm", through)
    least_lead = work.take("travel.lead_least", "least pilot lead, worst case", "mm", cover, "high")
    most_lead = work.take("travel.lead_most", "largest pilot lead, worst case", "mm",
                          min(most.values(), key=lambda node: node.low or 0.0), "low")
    level = NOTE if len(work.tubes) > 1 else ENGINEER
    work.at_least("pilot lead: through before the saw bites", lead, least_lead, "mm", level,
                  do="Set the pilot further out, or expect saw and pilot to cut together.")
    work.at_most("pilot lead: the tip clear of the far wall", lead, most_lead, "mm", level,
                 do="Set the pilot further in.")


def _coupon(work: Workings, row: Row) -> None:
    density = constant("steel density", "kg/m3",
                       steel_properties.TABLE.number("steel_density", steel="S195T"), steel_properties.TABLE.title)
    work.work("travel.coupon_diameter", "coupon diameter", "mm", coupon.coupon_diameter,
              saw_diameter=row.fact("diameter"), kerf=row.fact("kerf"))
    masses = work.each("travel.*.coupon_mass", "coupon mass", "g", lambda name, tube: derive(
        name, coupon.coupon_mass, outside_diameter=tube.outside_diameter, wall=tube.wall,
        saw_diameter=row.fact("diameter"), kerf=row.fact("kerf"), pilot_diameter=row.fact("pilot_diameter"),
        steel_density=density))
    work.cover("travel.coupon_mass", "coupon mass", "g", masses)


def _off_centre(work: Workings, size: Traced) -> None:
    largest = work.each("travel.*.off_centre_most", "largest off-centre for a full hole", "mm",
                        lambda name, tube: derive(name, saw.largest_off_centre, outside_diameter=tube.outside_diameter,
                                                  wall=tube.wall, saw_diameter=size))
    allowed = {key: derive(f"travel.{key}.off_centre_allowed", window.largest_usable_off_centre,
                           largest_off_centre=node, share=work.limit("travel.share_of_off_centre"))
               for key, node in largest.items()}
    if not all(node.known for node in allowed.values()):
        work.tell(HOLD_OPEN, "How far off centre the saddle may sit cannot be said for every tube it may be: in some "
                  "there is no full hole even on the axis.", "Measure the wall, or take a smaller saw.", 6)
    else:
        thickest = min(allowed.values(), key=lambda node: node.low)  # type: ignore[arg-type,return-value]
        limit = work.take("travel.off_centre_most", "off-centre that the rule set allows, worst case", "mm", thickest,
                          "low")
        # The window was worked out for the kit's centring: the saddle may not sit further off, whatever else.
        work.work("travel.off_centre_allowed", "off-centre the saddle may have", "mm", window.lesser, first=limit,
                  second=worst("saddle.centring", work.kit.fact("saddle.centring"), "high"))
        work.at_most("off-centre the saddle may have", work.kit.fact("saddle.centring"), limit, "mm",
                     NOTE, 6, do="Measure the off-centre once the saddle is on, and centre it within this.")
    ratio = work.each("travel.*.saw_to_bore", "saw to bore", "-", lambda name, tube: derive(
        name, saw.saw_to_bore_ratio, outside_diameter=tube.outside_diameter, wall=tube.wall, saw_diameter=size))
    widest = max(ratio.values(), key=lambda node: node.high or 0.0)
    cover = work.cover("travel.saw_to_bore", "saw to bore", "-", ratio)
    level = HOLD_OPEN if len(work.tubes) > 1 else ENGINEER
    if work.at_most("saw to bore", cover, work.limit("travel.saw_to_bore"), "-", level, 6,
                    do="Take a smaller saw, or measure the wall.") == MET:
        work.at_most("saw to bore, caution", widest, work.limit("travel.saw_to_bore_caution"), "-", NOTE,
                     do="Centre the saddle with care: this saw forgives little.")


def travel(work: Workings) -> Row | None:
    """Work out the travel window; returns the saw chosen."""
    work.section("travel", "Saw, pilot, travel")
    if not work.tubes:
        work.tell(ENGINEER, "No travel can be planned: the size of the pipe is not decided.",
                  "Decide the size first.", 6)
        return None
    row = choose_saw(work)
    if row is None:
        return None
    work.keep("saw diameter", row.fact("diameter"), "mm", "travel.saw_diameter")
    size = work.work("travel.saw_diameter_running", "saw diameter with run-out", "mm", saw.effective_saw_diameter,
                     saw_diameter=row.fact("diameter"), run_out=row.fact("run_out"))
    lead = datum_lead(work, row)
    work.keep(f"feed when the saw touches, counted from {work.kit.value('travel.counted_from')}", lead, "mm",
              "travel.datum_lead")
    starts, ends = _depths(work, row, size)
    _worst_window(work, starts, ends, lead)
    _off_centre(work, size)
    _pilot(work, row)
    _coupon(work, row)
    _stated(work, row, size, lead)
    return row

