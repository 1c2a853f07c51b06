"""The district: pressures in the window, the band at break-through, the leg, and let-by past the stopper."""

from __future__ import annotations

from datetime import datetime, timedelta

from stillbore.derive import Node, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import gas as gas_physics
from stillbore.physics import gauge, tightness, volume
from stillbore.physics import pressure as physics
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE, Workings
from stillbore.units import show

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
            work.tell(DOES_NOT_APPLY, f"{fact.origin}: {fact.text} is {show(fact.high, 'Pa gauge', 'mbar')}, far above "
                      f"low pressure. If kPa was written for mbar, it is {number} mbar.",
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
        if not base.known:
            return None
        return worst("pressure.highest", base, "high")
    row = max(rows, key=lambda row: row.fact("set_pressure").high or 0.0)
    expected = derive("pressure.highest", physics.highest_expected, set_pressure=row.fact("set_pressure"),
                      above_set_pressure=above)
    later = [row for row in _window_rows(work, end, end + LOOK_AHEAD)
             if (row.fact("set_pressure").high or 0.0) > (expected.high or 0.0)]
    for row in later:
        work.tell(NOTE, f"The set pressure rises to {row.fact('set_pressure').text} at {row['from']:%H:%M}, soon after "
                  "the window ends. A let-by pass from before does not count then.",
                  "If the work runs late, watch again at the higher pressure, or wait.", 11)
    if operating.known and (operating.high or 0.0) > (expected.high or 0.0):
        work.tell(ENGINEER, f"The pressure measured, {operating.text}, is above the highest that the profile lets "
                  f"expect, {show(expected.high or 0.0, 'Pa gauge')}.",
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
        work.tell(ENGINEER, f"The pressure measured, {operating.text}, is below the lowest to be expected, "
                  f"{lowest.text}. Water, a blockage, the wrong pipe, or a unit.",
                  "Find out why before going on.", 1, 9)
    highest = _highest(work)
    if highest is not None:
        work.keep("highest pressure to be expected in the window", highest, "mbar")
    limit = work.limit("pressure.maximum_operating_pressure")
    work.at_most("maximum operating pressure", maximum, limit, "mbar", DOES_NOT_APPLY, 1,
                 do="This technique is for low pressure only. Another method, by an engineer.")
    work.at_most("pressure measured", operating, limit, "mbar", DOES_NOT_APPLY, 1,
                 do="Above the maximum: medium pressure. Stop, open nothing, call.")
    work.at_most("pressure against what the kit is for", highest or maximum, work.kit.fact("kit.maximum_pressure"),
                 "mbar", DOES_NOT_APPLY, 1, do="Take a kit for this pressure.")
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


def leg_and_let_by(work: Workings) -> None:
    """The isolated leg, the let-by limit as a rate and as a rise on this leg, and up to where a pass counts."""
    work.section("let_by", "Leg and let-by")
    if not work.tubes:
        work.tell(ENGINEER, "The leg's volume is not known: the size of the pipe is not decided.",
                  "Decide the size first.")
        return
    rig, air = work.numbers["integrity.volume"].node, work.survey.fact("site.barometer")
    length = work.survey.fact("site.leg_length")
    legs: dict[str, Node] = {}
    for tube in work.tubes:
        pipe = derive(f"leg.{tube.key}.pipe", volume.leg_volume, bore=work.numbers[f"pipe.{tube.key}.bore"].node,
                      length=length)
        legs[tube.key] = derive(f"leg.{tube.key}.volume", volume.joined_volume, volume=pipe, further_volume=rig)
    work.cover("leg.volume", "volume of the leg with the rig", "l", legs)
    limit, watch = work.limit("letby.leak_rate"), work.limit("letby.watch")
    work.keep("let-by limit, as a rate", limit, "l/h", "let_by.limit")
    work.keep("length of the watch", watch, "s", "let_by.watch")
    rises = {key: derive(f"let_by.{key}.rise", tightness.fall_for_leak, leak_rate=limit, volume=node, duration=watch,
                         atmospheric_pressure=air) for key, node in legs.items()}
    rise = work.cover("let_by.rise_at_limit", "rise on this leg over the watch, at the limit", "mbar", rises)
    work.take("let_by.largest_rise", "largest rise to accept over the watch, for the largest leg it may be", "mbar",
              rise, "low")
    stop = {key: derive(f"let_by.{key}.stop_rise", tightness.fall_for_leak, leak_rate=work.limit("letby.stop_rate"),
                        volume=node, duration=watch, atmospheric_pressure=air) for key, node in legs.items()}
    work.keep("let-by at which nothing is cut", work.limit("letby.stop_rate"), "l/h", "let_by.stop")
    work.cover("let_by.rise_at_stop", "rise on this leg over the watch, at that rate", "mbar", stop)
    readable = derive("let_by.readable", gauge.readable, readable_movement=work.kit.fact("gauge.readable_movement"),
                      movements=work.limit("integrity.movements"))
    work.at_least("rise at the limit, against what the gauge can show", rise, readable, "mbar", HOLD_OPEN, 11,
                  do="Watch longer: on a leg of this volume the limit hardly moves the gauge.")
    counts = work.work("let_by.valid_up_to", "pressure up to which a pass counts, watched at the pressure measured",
                       "mbar", physics.counts_up_to, gauge_pressure=work.survey.fact("pressure.operating"),
                       pressure_margin=work.limit("letby.pressure_margin"))
    if "pressure.highest" in work.numbers:
        work.at_least("a pass against the highest pressure expected", counts, work.numbers["pressure.highest"].node,
                      "mbar", HOLD_OPEN, 11, do="Watch at the higher pressure, or wait until it has gone.")
    work.keep("a pass is fresh for", work.limit("letby.fresh"), "s", "let_by.fresh")
    work.keep("leave the vent open first, for", work.limit("letby.settle"), "s", "let_by.settle")
    work.tell(NOTE, "A flat gauge can hide let-by if the leg leaks. Look at the open vent as well: without that look "
              "let-by is not proven, whatever the gauge says.",
              "Bubbles or flow at the open vent first, then close it and watch.", 11)


def gas_properties(work: Workings, gauge_pressure: Node) -> dict[str, Node]:
    """Absolute pressure, viscosity and the rest of the gas at a gauge pressure, for whoever needs them."""
    fractions, temperature = work.survey.fact("gas.composition"), work.survey.fact("site.ground_temperature")
    middle = worst("ground temperature", temperature, "low")
    absolute = derive("absolute pressure", physics.absolute_pressure, gauge_pressure=gauge_pressure,
                      atmospheric_pressure=work.survey.fact("site.barometer"))
    return {
        "absolute": absolute,
        "temperature": middle,
        "viscosity": derive("gas viscosity", gas_physics.viscosity, fractions=fractions, temperature=middle),
        "molar_mass": derive("molar mass", gas_physics.molar_mass, fractions=fractions),
        "heat_ratio": derive("ratio of specific heats", gas_physics.heat_ratio, fractions=fractions,
                             temperature=middle),
    }



