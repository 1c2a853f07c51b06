"""The job sheet: the numbers a crew needs at the pit, on one A4 page that can be read in the rain; on a second page
what follows the cut.

Where the method does not apply there are no numbers to work from on it: the reasons stand in their place.
"""

from __future__ import annotations

from stillbore.job.schema import Row
from stillbore.plan import Plan
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, Finding
from stillbore.plan.travel import PILOT_CONTACT
from stillbore.report import words
from stillbore.report.common import (
    LONGEST_NAME,
    clipped,
    document,
    limit_row,
    number,
    number_row,
    open_holds,
    why_none,
    window,
)
from stillbore.report.document import (
    OPEN,
    STOP,
    Block,
    Callout,
    Cell,
    Columns,
    Document,
    FillIn,
    Paragraph,
    Part,
    Table,
    Tile,
    Tiles,
    cells,
)
from stillbore.report.sheet_after_cut import second_page

REASONS_SHOWN = 5  # findings spelled out on the sheet; the rest are counted, and stand whole in the pack
LONGEST_REASON = 170


def sheet(plan: Plan) -> Document:
    """The job sheet alone."""
    return document(plan, "sheet", f"Job sheet {plan.survey.value('job.id')}", *sheet_parts(plan))


def sheet_parts(plan: Plan) -> tuple[Part, ...]:
    """The job sheet as parts of a document: the isolation, and what follows the cut. Where the method does not apply
    nothing follows."""
    return (_isolation(plan),) if plan.result == DOES_NOT_APPLY else (_isolation(plan), second_page(plan))


def _isolation(plan: Plan) -> Part:
    """The first page."""
    job = plan.survey.row("job")
    facts = (
        ("Job", clipped(job.text("id"), LONGEST_NAME)),
        ("Asset", clipped(job.text("asset"), LONGEST_NAME)),
        ("Premises", clipped(job.text("premises"), LONGEST_NAME)),
        ("Window", window(plan)),
        ("Follow", clipped(job.text("procedure"), LONGEST_NAME)),
        ("Kit", clipped(str(plan.kit.value("kit.name")), LONGEST_NAME)),
    )
    body = _work(plan) if plan.result != DOES_NOT_APPLY else ()
    return Part("sheet", f"Job sheet: {clipped(job.text('place'), LONGEST_NAME)}", "", facts,
                (*_result(plan), *body, stop_lines(plan), *_to_fill_in(plan), Paragraph(words.short_cautions(plan))),
                True)


def _reasons(findings: list[Finding]) -> tuple[str, ...]:
    """The first findings in a line each, and how many more there are."""
    unique = list(dict.fromkeys((clipped(finding.what, LONGEST_REASON), finding.holds) for finding in findings))
    lines = [f"Hold {', '.join(map(str, holds))}: {what}" if holds else what for what, holds in unique[:REASONS_SHOWN]]
    more = len(unique) - len(lines)
    return (*lines, f"And {more} more: see the pack.") if more > 0 else tuple(lines)


def _result(plan: Plan) -> tuple[Block, ...]:
    """The result across the top, and the holds that stay open."""
    found: list[Block] = []
    if plan.result in (DOES_NOT_APPLY, ENGINEER):
        reasons = [finding for finding in plan.findings if finding.level == plan.result]
        title = (f"{words.RESULT[plan.result]}: do not start" if plan.result == DOES_NOT_APPLY
                 else f"{words.RESULT[plan.result]} before any work")
        found.append(Callout(STOP, title, _reasons(reasons)))
    if plan.open_holds:
        reasons = [finding for finding in plan.findings if finding.level == HOLD_OPEN]
        found.append(Callout(OPEN, f"Holds that cannot be signed yet: {open_holds(plan)}", _reasons(reasons)))
    if not found:
        found.append(Paragraph("The method applies; no hold is known to stay open. Each hold is signed at the pit."))
    return tuple(found)


def _travel(plan: Plan) -> Block:
    """The three numbers of the drill, in the kit's own datum, or why there are none."""
    datum = str(plan.kit.value("travel.counted_from"))
    if "travel.feed_target" not in plan.numbers:
        bad = [finding.what for finding in plan.findings if finding.level != "note" and 6 in finding.holds]
        return Callout(STOP, "No travel to drill to", (bad[0] if bad else why_none(plan, "travel.from"),))
    turns = {name: number(plan, f"travel.{name}") for name in ("turns_from", "turns", "turns_to")}
    return Tiles((
        Tile("Travel is counted from", datum.upper(), f"pilot lead {number(plan, 'travel.pilot_lead')}"),
        Tile("From: not less", number(plan, "travel.feed_from"), turns["turns_from"]),
        Tile("AIM AT", number(plan, "travel.feed_target"), turns["turns"]),
        Tile("To: not more", number(plan, "travel.feed_to"), turns["turns_to"]),
    ))


def _id(plan: Plan, row: Row | None, size: str) -> str:
    """The serial number of the saw or stopper that the plan chose, with its size."""
    if row is None:
        return "none for this size"
    return clipped(f"{row.text('id')} ({plan.display.said(row.fact(size))})", LONGEST_NAME)


def _work(plan: Plan) -> tuple[Block, ...]:
    """Every number to work from."""
    pressure = plan.display.said(plan.rules.fact("pressure.maximum_operating_pressure"))
    drilling = () if "travel.feed_target" not in plan.numbers else (
        number_row(plan, "Saddle off centre, at most", "travel.off_centre_allowed"),
        number_row(plan, "Pilot through, from pilot contact", "travel.pilot_through"))
    pipe = Table("Pipe, kit, cut", ("what", "number"), (
        number_row(plan, "Outside diameter", "pipe.outside_diameter"),
        (number_row(plan, "Wall", "pipe.wall") if "pipe.wall" in plan.numbers else
         cells("Wall", Cell("unknown", strong=True))),
        cells("Saw, diameter", Cell(_id(plan, plan.saw, "diameter"), strong=True)),
        cells("Stopper, free diameter", Cell(_id(plan, plan.stopper, "free_diameter"), strong=True)),
        *drilling,
        number_row(plan, "Coupon, size and mass", "travel.coupon_diameter", "travel.coupon_mass", join=", "),
        number_row(plan, "Stopper: hand force, at most", "stopper.setting_force"),
        number_row(plan, "Cut, from saddle's centre", "window.from", "window.to"),
        number_row(plan, "Props apart, at most", "strength.prop_spacing"),
        number_row(plan, "Cut end beyond a prop, at most", "strength.overhang"),
        number_row(plan, "Prove gland or cap at, at most", "stopper.proof_pressure"),
    ), (6, 5))
    gauge = Table("Gauge", ("what", "number"), (
        number_row(plan, "Pressure at the meter, measured", "pressure.operating"),
        number_row(plan, "Highest expected in the window", "pressure.highest"),
        number_row(plan, "Integrity test, air", "integrity.test_pressure"),
        number_row(plan, "– hold, at the least", "integrity.hold"),
        limit_row(plan, "– largest fall", "integrity.largest_fall", "low"),
        limit_row(plan, "– temperature steady within", "integrity.temperature_change", "low"),
        number_row(plan, "Let-by: leave vent open first", "let_by.settle"),
        number_row(plan, "– then shut it and watch", "let_by.watch"),
        limit_row(plan, "– largest rise", "let_by.rise_at_limit", "low"),
        limit_row(plan, "– rise at which nothing is cut", "let_by.rise_at_stop", "low"),
        number_row(plan, "– a pass counts up to: district at the watch, and", "let_by.margin"),
        number_row(plan, "– a pass is fresh for", "let_by.fresh"),
    ), (6, 5))
    band = f"{number(plan, 'break_through.lowest')} to {number(plan, 'break_through.highest')}"
    pictures = words.gauge_pictures(pressure, band, number(plan, "break_through.time"))
    return (_travel(plan), Columns((pipe,), (gauge,)),
            Table("Pilot through: what the gauge shows", ("gauge", "what it means"),
                  tuple(cells(Cell(picture, strong=True), meaning) for picture, meaning in pictures), (5, 8)))


def stop_lines(plan: Plan) -> Callout:
    """What to do if it goes wrong; the same on every sheet."""
    rule = plan.rules.fact
    current = number(plan, "bond.current_limit")
    return Callout(STOP, "If it goes wrong", words.if_it_goes_wrong(
        rule("release.fraction_out").text, rule("release.fraction_emergency").text, current))


def _to_fill_in(plan: Plan) -> tuple[Block, ...]:
    contacts = FillIn("Call (fill in before the start)", tuple((contact, "") for contact in words.CONTACTS))
    signatures = FillIn("Signed by", (("Team leader", "time"), ("Second person", "time"),
                                      ("Second district reading", f"{plan.display.unit('Pa gauge', 'mbar')}, time")))
    if plan.result == DOES_NOT_APPLY or "travel.feed_target" not in plan.numbers:
        return (Columns((contacts,), (signatures,)),)
    return (Columns((_again(plan),), (contacts,)), signatures)


def _again(plan: Plan) -> Block:
    """What the second person works out again, without looking at the feed printed above: the datum and the travel."""
    lead = " + pilot lead" if plan.kit.value("travel.counted_from") == PILOT_CONTACT else ""
    pitch = plan.display.said(plan.kit.fact("travel.screw_pitch"))
    length = plan.display.unit("m", "mm")
    return FillIn("Second person works it out again", (
        ("Travel is counted from", ""),
        ("Pilot lead, measured on this saw", length),
        (f"From saw contact {number(plan, 'travel.from')}{lead} = from", length),
        (f"From saw contact {number(plan, 'travel.to')}{lead} = to", length),
        (f"Middle of the two, {pitch} a turn, + play", "turns"),
    ))
