"""The integrity test of the rig: what its limit looks like on this gauge, how long it takes, what warmth does."""

from __future__ import annotations

from dataclasses import replace

from stillbore.derive import Fact, Node, derive, worst
from stillbore.physics import gauge, tightness, volume
from stillbore.plan.parts import ENGINEER, NOTE, Workings


def rig_volume(work: Workings) -> Node:
    """Volume of every compartment of the rig together, with the rule set's uncertainty."""
    rows = work.kit.rows("compartment")
    total: Node = rows[0].fact("volume")
    for number, row in enumerate(rows[1:], 1):
        total = derive(f"integrity.volume of {number + 1} compartments", volume.joined_volume, volume=total,
                       further_volume=row.fact("volume"))
    spread = work.limit("integrity.volume_uncertainty")
    factor = replace(spread, name="integrity.volume_factor", value=1.0, low=1.0 - spread.high,  # type: ignore[operator]
                     high=1.0 + spread.high)  # type: ignore[operator]
    return derive("integrity.volume", volume.scaled_volume, volume=total, factor=factor)


def integrity(work: Workings) -> None:
    """The hold at the kit's test pressure, with air."""
    work.section("integrity", "Integrity test of the rig")
    rig = work.keep("volume of the rig", rig_volume(work), "l")
    site, kit = work.survey.fact, work.kit.fact
    pressure, air = kit("kit.test_pressure"), site("site.barometer")
    readable, limit = kit("gauge.readable_movement"), work.limit("integrity.leak_rate")
    work.keep("pressure of the test, air", pressure, "mbar", "integrity.test_pressure")
    work.keep("largest leak, as a flow of air", limit, "ml/min", "integrity.leak_limit")
    minute = Fact("one minute", "s", 60.0, 60.0, 60.0, "constant", "a minute")
    work.work("integrity.leak_of_one_division", "leak that moves the gauge by one readable movement in a minute",
              "ml/min", tightness.smallest_leak, volume=rig, readable_movement=readable, duration=minute,
              atmospheric_pressure=air)
    shown = work.work("integrity.shortest_hold", "shortest hold that can show the limit", "s", tightness.shortest_hold,
                      leak_rate=limit, volume=rig, readable_movement=readable,
                      movements=work.limit("integrity.movements"), atmospheric_pressure=air)
    work.at_most("hold that can show the limit", shown, work.limit("integrity.longest_hold"), "s", ENGINEER, 7,
                 do="Take a finer gauge or a smaller rig.")
    rule = work.limit("integrity.shortest_hold")
    longer = shown if (shown.high or 0.0) > (rule.high or 0.0) else rule
    hold = work.take("integrity.hold", "hold to plan, at the least", "s", longer, "high")
    fall = work.work("integrity.fall_at_limit", "fall of the gauge over that hold at the limit", "mbar",
                     tightness.fall_for_leak, leak_rate=limit, volume=rig, duration=hold, atmospheric_pressure=air)
    per_kelvin = work.work("integrity.per_kelvin", "movement of the gauge with its temperature", "mbar/K",
                           tightness.temperature_effect, gauge_pressure=pressure, atmospheric_pressure=air,
                           temperature=site("site.ground_temperature"))
    change = work.limit("integrity.temperature_change")
    work.keep("temperature steady within", change, "K", "integrity.temperature_change")
    accept = work.work("integrity.largest_fall", "largest fall to accept, after what such a change can hide", "mbar",
                       gauge.largest_fall, fall=worst("integrity.fall_at_limit", fall, "low"),
                       per_kelvin=worst("integrity.per_kelvin", per_kelvin, "high"), temperature_change=change,
                       readable_movement=readable)
    work.at_least("largest fall to accept, against what can be read", accept, readable, "mbar", NOTE, 7,
                  do="Hold longer, shade the rig, or log its temperature: as it is, warmth can hide the limit.")
    tolerance = work.work("integrity.temperature_tolerance", "change of temperature that looks like the limit", "K",
                          tightness.temperature_tolerance, pressure_movement=fall, gauge_pressure=pressure,
                          atmospheric_pressure=air, temperature=site("site.ground_temperature"))
    work.work("integrity.hiding_warmth", "warming that hides a leak at the limit", "K/min",
              tightness.temperature_rate_hiding_leak, leak_rate=limit, volume=rig, gauge_pressure=pressure,
              atmospheric_pressure=air, temperature=site("site.ground_temperature"))
    work.at_least("temperature change that the test tolerates", tolerance, work.limit("integrity.temperature_change"),
                  "K", NOTE, 7, do="Shade the rig and log its temperature; a longer hold tolerates more.")
    factor = work.work("integrity.gauge_factor", "range of the gauge over the test pressure", "-", gauge.gauge_factor,
                       full_scale=kit("gauge.range"), test_pressure=pressure)
    work.at_least("range of the gauge", factor, work.limit("integrity.gauge_over_test"), "-", ENGINEER, 7,
                  do="Take a gauge with a larger range; one that clips hides medium pressure.")
    highest = work.numbers["pressure.maximum_operating_pressure"].node
    work.at_least("test pressure against the maximum operating pressure", pressure, highest, "mbar", ENGINEER, 7,
                  do="The proof must be at or above the pressure it stands for.")
    _housing(work, hold)
    work.tell(NOTE, "The test is valid for its pressure, time and temperature. It says nothing about medium pressure.",
              "Start after the warmth of pumping has gone; keep hands and sun off the rig.")


def _housing(work: Workings, hold: Node) -> None:
    """Of a rig with one branch: what proves the branch valve and the housing on it, shut off from the rest."""
    if work.kit.value("kit.build") != "single branch":
        return
    rows = [row for row in work.kit.rows("compartment") if row.text("id") != "saddle"]
    space: Node = rows[0].fact("volume")
    for row in rows[1:]:
        space = derive("housing.volume", volume.joined_volume, volume=space, further_volume=row.fact("volume"))
    air = work.survey.fact("site.barometer")
    work.keep("volume of branch and housing", space, "l", "housing.volume")
    work.work("housing.rise_at_limit", "rise in the housing over the watch, if the branch valve lets by at the limit",
              "mbar", tightness.fall_for_leak, leak_rate=work.limit("letby.leak_rate"), volume=space,
              duration=work.limit("letby.watch"), atmospheric_pressure=air)
    work.work("housing.largest_fall", "largest fall of the housing over the hold", "mbar", tightness.fall_for_leak,
              leak_rate=work.limit("integrity.leak_rate"), volume=space, duration=hold, atmospheric_pressure=air)
