"""The district: the pressures to reckon with in the working window, and the band at break-through."""

from __future__ import annotations

from datetime import datetime, timedelta

from stillbore.derive import Node, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import pressure as physics
from stillbore.physics import tightness
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE, Workings

LOOK_AHEAD = timedelta(hours=2)
PRESSURES = ("maximum_operating_pressure", "operating", "lowest")


def _kilopascal_slips(work: Workings) -> None:
    """A pressure in kPa that would be low pressure if it were mbar: the two are mixed up daily."""
    maximum = work.limit("pressure.maximum_operating_pressure").high
    facts = [work.survey.fact(f"pressure.{key}") for key in PRESSURES]
    facts += [row.fact("set_pressure") for row in work.survey.rows("district")]
    for fact in facts:
        if "kPa" in fact.text and fact.high is not None and fact.high > maximum >= fact.high / 10.0:  # type: ignore[operator]
            number = fact.text.replace("kPag", "").replace("kPa", "").strip()
            work.tell(DOES_NOT_APPLY, f"{fact.origin}: {fact.text} is {work.show(fact.high, 'Pa gauge', 'mbar')}, far "
                      f"above low pressure. If kPa was written for mbar, it is {number} mbar.",
                      "Look at the instrument again, and write the unit it shows; if it is kPa, this is not low "
                      "pressure.", 1)


def _window_rows(work: Workings, start: datetime, end: datetime) -> list[Row]:
    return [row for row in work.survey.rows("district")
            if row["from"] < end and row["until"] > start]  # type: ignore[operator]


def _covered(rows: list[Row], start: datetime, end: datetime) -> bool:
    reached = start
    for row in sorted(rows, key=lambda row: row["from"]):  # type: ignore[arg-type,return-value]
        if row["from"] > reached:  # type: ignore[operator]
            return False
        reached = max(reached, row["until"])  # type: ignore[type-var]
    return reached >= end


def _highest(work: Workings) -> Node | None:
    """Highest pressure to be expected in the working window: highest set pressure and what the district runs above it,
    or the pressure measured, if that is higher."""
    start, end = work.survey.value("window.start"), work.survey.value("window.end")
    assert isinstance(start, datetime) and isinstance(end, datetime)
    operating = work.survey.fact("pressure.operating")
    rows = _window_rows(work, start, end)
    above = work.limit("pressure.above_set_pressure")
    if not rows or not _covered(rows, start, end):
        work.tell(HOLD_OPEN, "The set pressure of the district is not known for the whole of the working window. The "
                  "plan reckons with the maximum operating pressure instead.",
                  "Ask pressure control for the profile of the day.", 8, 11)
        base = work.survey.fact("pressure.maximum_operating_pressure")
        known = [fact for fact in (base, operating) if fact.known]
        return worst("pressure.highest", max(known, key=lambda fact: fact.high or 0.0), "high") if known else None
    row = max(rows, key=lambda row: row.fact("set_pressure").high or 0.0)
    expected = derive("pressure.highest", physics.highest_expected, set_pressure=row.fact("set_pressure"),
                      above_set_pressure=above)
    if len({row.fact("set_pressure").text for row in rows}) > 1:
        work.tell(NOTE, "The set pressure changes within the working window. The band at break-through is for the "
                  "pressure measured now.", "Measure again just before drilling, and take the band anew.", 9)
    later = [row for row in _window_rows(work, end, end + LOOK_AHEAD)
             if (row.fact("set_pressure").high or 0.0) > (expected.high or 0.0)]
    for row in later:
        work.tell(NOTE, f"The set pressure rises to {work.said(row.fact('set_pressure'))} at {row['from']:%H:%M}, "
                  "soon after the window ends. A let-by pass from before does not count then.",
                  "If the work runs late, watch again at the higher pressure, or wait.", 11)
    if operating.known and (operating.high or 0.0) > (expected.high or 0.0):
        work.tell(ENGINEER, f"The pressure measured, {work.said(operating)}, is above the highest that the profile "
                  f"lets expect, {work.show(expected.high or 0.0, 'Pa gauge')}.",
                  "Ask pressure control why before going on.", 1, 8)
        return worst("pressure.highest", operating, "high")
    return worst("pressure.highest", expected, "high")


def pressures(work: Workings) -> None:
    """The pressures to reckon with, and whether they are low pressure."""
    work.section("pressure", "Pressure of the district")
    maximum, operating, lowest = (work.survey.fact(f"pressure.{key}") for key in PRESSURES)
    work.keep("maximum operating pressure", maximum, "mbar")
    work.keep("pressure measured at the meter inlet", operating, "mbar")
    work.keep("lowest pressure to be expected", lowest, "mbar")
    _kilopascal_slips(work)
    if operating.known and lowest.known and operating.high < lowest.low:  # type: ignore[operator]
        work.tell(ENGINEER, f"The pressure measured, {work.said(operating)}, is below the lowest to be expected, "
                  f"{work.said(lowest)}. Water, a blockage, the wrong pipe, or a unit.",
                  "Find out why before going on.", 1, 9)
    highest = _highest(work)
    if highest is not None:
        work.keep("highest pressure to be expected in the window", highest, "mbar")
    limit = work.limit("pressure.maximum_operating_pressure")
    if not maximum.known:
        work.tell(ENGINEER, "The maximum operating pressure of the network here is not known. Unknown is medium "
                  "pressure until somebody shows otherwise.", "Get it from network control, in writing.", 1)
    work.at_most("maximum operating pressure", maximum, limit, "mbar", DOES_NOT_APPLY, 1,
                 do="This technique is for low pressure only. Another method, by an engineer.")
    work.at_most("pressure measured", operating, limit, "mbar", DOES_NOT_APPLY, 1,
                 do="Above the maximum: medium pressure. Stop, open nothing, call.")
    own = [operating, *(row.fact("set_pressure") for row in work.survey.rows("district"))]
    above = [fact for fact in own if fact.known and maximum.known and fact.high > maximum.high]  # type: ignore[operator]
    for fact in above:
        work.tell(ENGINEER, f"{fact.name}, {work.said(fact)}, is above the maximum operating pressure of the network, "
                  f"{work.said(maximum)}.", "Ask pressure control which of the two is wrong.", 1, 8)
    work.at_most("maximum operating pressure against what the kit is for", maximum,
                 work.kit.fact("kit.maximum_pressure"), "mbar", DOES_NOT_APPLY, 1, do="Take a kit for this pressure.")
    sources = work.survey.row("pressure").texts("maximum_operating_pressure_sources")
    wanted = work.limit("pressure.sources")
    if len(set(sources)) < (wanted.high or 0.0):
        work.tell(HOLD_OPEN, f"The maximum operating pressure is known from {len(set(sources))} source(s); "
                  f"{wanted.text} independent ones are wanted.", "Find another source.", 1)


def break_through(work: Workings) -> None:
    """The band in which the gauge must settle once the pilot is through, and how fast."""
    work.section("break_through", "Break-through")
    operating = work.survey.fact("pressure.operating")
    maximum = work.limit("pressure.maximum_operating_pressure")
    if operating.known and operating.high <= maximum.low:  # type: ignore[operator]
        band = {"gauge_pressure": operating, "agreement": work.limit("pressure.agreement"),
                "agreement_fraction": work.limit("pressure.agreement_fraction")}
        low = derive("break_through.band_low", physics.band_low, **band)
        high = derive("break_through.band_high", physics.band_high_below, maximum=maximum, **band)
        work.take("break_through.lowest", "the gauge settles at, from", "mbar", low, "low")
        work.take("break_through.highest", "the gauge settles at, to", "mbar", high, "high")
    else:
        work.tell(HOLD_OPEN, "There is no band for the gauge at break-through: the pressure is not known, or is not "
                  "low pressure.", "Measure it at the meter inlet first.", 9)
    work.keep("a clear way brings it up within", work.limit("cut.breakthrough_time"), "s", "break_through.time")
    rig = work.numbers["integrity.volume"].node
    work.work("break_through.fill", "gas that fills the rig", "ml", tightness.fill_volume, volume=rig,
              gauge_pressure=operating, atmospheric_pressure=work.survey.fact("site.barometer"))
    work.tell(NOTE, "No rise, a slow rise or a swinging one is a blockage, water or the wrong pipe. Above the maximum, "
              "or still climbing, is medium pressure: leave everything as it is, clear the pit, call.",
              "Say this aloud before the pilot goes through.", 9)
