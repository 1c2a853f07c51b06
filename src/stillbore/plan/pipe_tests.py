"""The new pipe before it carries gas: strength and tightness test with air."""

from __future__ import annotations

from stillbore.derive import Fact, Node, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import creep, gauge, stopper, tightness
from stillbore.physics import pressure as pressure_physics
from stillbore.physics import volume as volume_physics
from stillbore.plan.parts import MET, NOTE, Workings, verdict_of
from stillbore.plan.renewal import Candidate

MINUTE = constant("time of the short modulus", "s", 60.0, "a bending test lasts about a minute")
FIFTY_YEARS = constant("time of the late modulus", "s", 50 * 365.25 * 86400.0, "fifty years")
ONE = constant("one", "-", 1.0, "one")


def pipe_tests(work: Workings, chosen: Candidate) -> None:
    """Both tests of the pipe chosen."""
    work.section("new_pipe", f"Tests of {chosen.name}")
    volume = work.work("new_pipe.volume", "volume under test", "l", volume_physics.leg_volume, bore=chosen.bore,
                       length=chosen.length)
    strength = _strength(work, chosen, volume)
    hold, per_kelvin, found = _tightness(work, volume)
    _creep(work, chosen, strength, hold, found)
    _energy(work, chosen, strength, volume)
    if per_kelvin.known:
        work.tell(NOTE, f"Warmth moves the gauge by {work.numbers['new_pipe.per_kelvin'].text}: sun on the pipe, or "
                  "ground colder than the air in it, looks like a leak or hides one.",
                  "Let it settle covered; log its temperature. A gauge that rises proves nothing.", 17)


def _strength(work: Workings, chosen: Candidate, volume: Node) -> Node:
    """Pressure and hold of the strength test: the rule set's, or so many times the maximum operating pressure."""
    rule = work.limit("new_pipe.strength_pressure")
    operating = work.survey.fact("pressure.maximum_operating_pressure")
    times = work.work("new_pipe.over_operating", "maximum operating pressure, times the rule set's factor", "mbar",
                      pressure_physics.scaled_pressure, gauge_pressure=operating,
                      factor=work.limit("new_pipe.over_operating"))
    strength = work.take("new_pipe.strength_pressure", "pressure of the strength test, air, at the least", "mbar",
                         _largest(rule, times), "high")
    work.keep("held for, at the least", work.limit("new_pipe.strength_hold"), "min", "new_pipe.strength_hold")
    if not times.known:
        work.tell(NOTE, "The maximum operating pressure is not known, so whether the strength test is high enough is "
                  "not either.", "Find it out before the pipe is tested.", 17)
    return strength


def _largest(*nodes: Node) -> Node:
    """The one with the largest high end; one that is not known outdoes all, for it may be any size."""
    return max(nodes, key=lambda node: (not node.known, node.high or 0.0))


def _gauge(work: Workings, pressure: Fact) -> Row | None:
    """The finest gauge of the kit that does not end below the test pressure."""
    rows = [row for row in (work.kit.row("gauge"), *work.kit.rows("test_gauge"))
            if verdict_of(derive("range over test", gauge.gauge_factor, full_scale=row.fact("range"),
                                 test_pressure=pressure), ONE, "at least") == MET]
    return min(rows, key=lambda row: row.fact("readable_movement").high or 0.0, default=None)


def _tightness(work: Workings, volume: Node) -> tuple[Node, Node, Row | None]:
    """The hold that shows the limit in this volume, the fall to accept, and what warmth does."""
    pressure, air = work.limit("new_pipe.test_pressure"), work.survey.fact("site.barometer")
    limit, rule = work.limit("new_pipe.leak_rate"), work.limit("new_pipe.hold")
    work.keep("pressure of the tightness test, air", pressure, "mbar", "new_pipe.test_pressure")
    work.keep("stands pumped up first, at the least", work.limit("new_pipe.settle"), "min", "new_pipe.settle")
    work.keep("largest leak, as a flow of air", limit, "l/h", "new_pipe.leak_limit")
    per_kelvin = work.work("new_pipe.per_kelvin", "movement of the gauge for a degree of warmth", "mbar/K",
                           tightness.temperature_effect, gauge_pressure=pressure, atmospheric_pressure=air,
                           temperature=work.survey.fact("site.ground_temperature"))
    coarse = work.work("new_pipe.leak_of_rule", "leak that the rule set's fall would let pass in this volume", "l/h",
                       tightness.leak_rate, volume=volume, pressure_drop=work.limit("new_pipe.largest_fall"),
                       duration=rule, atmospheric_pressure=air)
    found = _gauge(work, pressure)
    if found is None:
        work.tell(NOTE, f"No gauge of the kit reaches {work.said(pressure)}: the test of the new pipe cannot be read.",
                  "Write a [[test_gauge]] whose range covers it.", 17)
        return rule, per_kelvin, None
    readable = found.fact("readable_movement")
    shown = work.work("new_pipe.shortest_hold", f"shortest hold that shows the limit on gauge {found.text('id')}",
                      "min", tightness.shortest_hold, leak_rate=limit, volume=volume, readable_movement=readable,
                      movements=work.limit("integrity.movements"), atmospheric_pressure=air)
    over = derive("fall that warmth cannot hide", gauge.fall_to_see, per_kelvin=worst("per kelvin", per_kelvin, "high"),
                  temperature_change=work.limit("new_pipe.temperature_change"), readable_movement=readable)
    warm = work.work("new_pipe.hold_over_warmth", "hold after which the limit stands out from what warmth may do",
                     "min", tightness.shortest_hold, leak_rate=limit, volume=volume, readable_movement=over,
                     movements=ONE, atmospheric_pressure=air)
    hold = work.take("new_pipe.hold", "hold to plan, at the least", "min", _largest(rule, shown, warm), "high")
    work.at_most("hold that shows the limit of the new pipe", hold, work.limit("new_pipe.longest_hold"), "min", NOTE,
                 17, do="Take a finer gauge, keep its warmth steadier, or test it in shorter lengths.")
    _accepted(work, volume, hold, per_kelvin, readable)
    if verdict_of(coarse, limit, "at most") != MET:
        work.tell(NOTE, "In a pipe of this volume the rule set's fall lets a larger leak pass than its leak rate.",
                  "Hold for as long as is planned here, and take the fall of this plan where it is the smaller.", 17)
    return hold, per_kelvin, found


def _accepted(work: Workings, volume: Node, hold: Node, per_kelvin: Node, readable: Fact) -> None:
    """The largest fall to accept over the planned hold, after what a change of temperature can hide."""
    air, change = work.survey.fact("site.barometer"), work.limit("new_pipe.temperature_change")
    fall = work.work("new_pipe.fall_at_limit", "fall of the gauge over that hold at the limit", "mbar",
                     tightness.fall_for_leak, leak_rate=work.limit("new_pipe.leak_rate"), volume=volume, duration=hold,
                     atmospheric_pressure=air)
    accept = work.work("new_pipe.largest_fall", "largest fall to accept, after what such a change can hide", "mbar",
                       gauge.largest_fall, fall=worst("new_pipe.fall_at_limit", fall, "low"),
                       per_kelvin=worst("new_pipe.per_kelvin", per_kelvin, "high"), temperature_change=change,
                       readable_movement=readable)
    work.at_least("largest fall of the new pipe, against what can be read", accept, readable, "mbar", NOTE, 17,
                  do="Hold longer, or let it settle in the ground: as it is, warmth can hide the limit.")
    work.work("new_pipe.temperature_tolerance", "change of temperature that looks like the limit", "K",
              tightness.temperature_tolerance, pressure_movement=fall,
              gauge_pressure=work.limit("new_pipe.test_pressure"), atmospheric_pressure=air,
              temperature=work.survey.fact("site.ground_temperature"))


def _creep(work: Workings, chosen: Candidate, strength: Node, hold: Node, found: Row | None) -> None:
    """How far the gauge falls because the pipe grows: nothing to speak of at a low test pressure, and then said why."""
    short = work.limit("renewal.elasticity")
    exponent = derive("exponent of creep", creep.creep_exponent, elasticity=short,
                      elasticity_late=work.limit("new_pipe.elasticity_late"), time=MINUTE, time_late=FIFTY_YEARS)

    def fall(name: str, title: str, pressure: Node, duration: Node) -> Node:
        return work.work(name, title, "mbar", creep.creep_fall, gauge_pressure=pressure,
                         atmospheric_pressure=work.survey.fact("site.barometer"),
                         outside_diameter=chosen.outside_diameter, wall=chosen.wall, elasticity=short,
                         poisson=work.limit("new_pipe.poisson"), exponent=exponent, reference_time=MINUTE,
                         settled=work.limit("new_pipe.settle"), duration=duration)

    grown = fall("new_pipe.creep", "fall over the hold because the pipe grows", work.limit("new_pipe.test_pressure"),
                 hold)
    fall("new_pipe.creep_strength", "the same in the strength test", strength, work.limit("new_pipe.strength_hold"))
    rests = ("This rests on two figures of a data sheet, a power of time between them, and a stress far below yield; "
             "it is good to a factor of two.")
    if found is None or not grown.known:
        return
    text = work.numbers["new_pipe.creep"].text
    if verdict_of(grown, found.fact("readable_movement"), "at most") == MET:
        work.tell(NOTE, f"New pipe grows under pressure and the gauge falls by {text} without a leak: less than can be "
                  f"read. {rests}", "No allowance is made for it.")
    else:
        work.tell(NOTE, f"New pipe grows under pressure: the gauge falls by {text} without a leak, and that can be "
                  f"read. {rests}", "Let it stand longer before the hold; a fall that dies away is growth, one that "
                  "goes on is not.", 17)


def _energy(work: Workings, chosen: Candidate, strength: Node, volume: Node) -> None:
    """What the air under test can do."""
    work.work("new_pipe.energy", "energy in the air under test, at the most", "J", volume_physics.stored_energy,
              gauge_pressure=strength, volume=volume)
    push = work.work("new_pipe.cap_force", "push of the air on an end cap", "N", stopper.push_out_force,
                     bore=chosen.bore, gauge_pressure=strength)
    if push.known:
        text = work.numbers["new_pipe.cap_force"].text
        work.tell(NOTE, f"The energy is small, and cap ends fly: each is pushed with {text}.",
                  "Hold the ends, stand clear of them, let the air out before one is touched.")
