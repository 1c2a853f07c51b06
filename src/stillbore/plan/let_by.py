"""The isolated leg, and let-by past the stopper: its limit as a rate and as a rise, and up to where a pass counts."""

from __future__ import annotations

from stillbore.derive import Fact, Node, Traced, derive, envelope
from stillbore.physics import pressure as pressure_physics
from stillbore.physics import tightness, volume
from stillbore.plan.parts import ENGINEER, HOLD_OPEN, NOTE, Workings
from stillbore.units import show


def _legs(work: Workings) -> dict[str, Node]:
    """Volume of leg and rig together, for every tube it may be."""
    rig, length = work.numbers["integrity.volume"].node, work.survey.fact("site.leg_length")
    found: dict[str, Node] = {}
    for tube in work.tubes:
        pipe = derive(f"leg.{tube.key}.pipe", volume.leg_volume, bore=work.numbers[f"pipe.{tube.key}.bore"].node,
                      length=length)
        found[tube.key] = derive(f"leg.{tube.key}.volume", volume.joined_volume, volume=pipe, further_volume=rig)
    work.cover("leg.volume", "volume of the leg with the rig", "l", found)
    return found


def _watch(work: Workings, legs: dict[str, Node]) -> Node:
    """Length of the watch: the rule set's, or what it takes to prove the limit on the largest leg it may be: the time
    in which a leak at the limit lifts the gauge by more than warming gas does, and by enough of its movements."""
    movement, movements = work.kit.fact("gauge.readable_movement"), work.limit("integrity.movements")
    telling = work.limit("letby.telling_rise")
    if movement.known and telling.known and movement.high * movements.high <= telling.high:  # type: ignore[operator]
        movement, movements = telling, Fact("once that rise", "-", 1.0, 1.0, 1.0, "constant", "once")
    needed = {key: derive(f"let_by.{key}.shortest_watch", tightness.shortest_hold,
                          leak_rate=work.limit("letby.leak_rate"), volume=leg, readable_movement=movement,
                          movements=movements, atmospheric_pressure=work.survey.fact("site.barometer"))
              for key, leg in legs.items()}
    shortest = work.cover("let_by.shortest_watch", "shortest watch that can prove the limit on this leg", "s", needed)
    work.at_most("watch that can prove the limit", shortest, work.limit("letby.longest_watch"), "s", HOLD_OPEN, 11,
                 do="On a leg of this volume the limit hardly moves the gauge. Isolate less, or take a finer gauge if "
                    "this one is coarser than 0.5 mbar. Flow at the open vent shows let-by too, but none there is no "
                    "proof.")
    rule = work.limit("letby.watch")
    if shortest.known and shortest.high <= rule.high:  # type: ignore[operator]
        return work.take("let_by.watch", "length of the watch", "s", rule, "high")
    if shortest.known and rule.known:
        work.tell(NOTE, f"The rule set's watch of {show(rule.high, 's', 's')} cannot prove the limit on this leg: a "
                  "tight stopper would be called not proven after it.",
                  f"Watch for {show(shortest.high, 's', 's')}, longer if the gauge's verdict is still open. A "
                  "smaller leg is quicker; the look at the open vent is needed all the same.", 11)
    return work.take("let_by.watch", "length of the watch", "s", shortest, "high")


def let_by(work: Workings) -> None:
    """What the watch past the stopper must show."""
    work.section("let_by", "Leg and let-by")
    if not work.tubes:
        work.tell(ENGINEER, "The leg's volume is not known: the size of the pipe is not decided.",
                  "Decide the size first.")
        return
    legs = _legs(work)
    work.keep("let-by limit, as a rate", work.limit("letby.leak_rate"), "l/h", "let_by.limit")
    watch = _watch(work, legs)

    def rises(name: str, rate: Node) -> Traced:
        return envelope(name, {key: derive(name.replace("let_by", f"let_by.{key}"), tightness.fall_for_leak,
                                           leak_rate=rate, volume=leg, duration=watch,
                                           atmospheric_pressure=work.survey.fact("site.barometer"))
                               for key, leg in legs.items()})

    rise = work.keep("rise on this leg over the watch, at the limit",
                     rises("let_by.rise_at_limit", work.limit("letby.leak_rate")), "mbar")
    work.take("let_by.largest_rise", "largest rise to accept over the watch, for the largest leg it may be", "mbar",
              rise, "low")
    work.keep("let-by at which nothing is cut", work.limit("letby.stop_rate"), "l/h", "let_by.stop")
    work.keep("rise on this leg over the watch, at that rate",
              rises("let_by.rise_at_stop", work.limit("letby.stop_rate")), "mbar")
    _counts(work)
    work.keep("a pass is fresh for", work.limit("letby.fresh"), "s", "let_by.fresh")
    work.keep("leave the vent open first, for", work.limit("letby.settle"), "s", "let_by.settle")
    work.tell(NOTE, "A flat gauge can hide let-by if the leg leaks. Look at the open vent as well: without that look "
              "let-by is not proven, whatever the gauge says.",
              "Bubbles or flow at the open vent first, then close it and watch.", 11)


def _counts(work: Workings) -> None:
    """Up to which pressure a pass counts, against the highest to be expected."""
    work.keep("a pass counts up to the district's pressure during the watch, and", work.limit("letby.pressure_margin"),
              "mbar", "let_by.margin")
    counts = work.work("let_by.valid_up_to", "that is, if the district then stands where it was measured",
                       "mbar", pressure_physics.counts_up_to,
                       gauge_pressure=work.survey.fact("pressure.operating"),
                       pressure_margin=work.limit("letby.pressure_margin"))
    if "pressure.highest" in work.numbers:
        work.at_least("a pass against the highest pressure expected", counts, work.numbers["pressure.highest"].node,
                      "mbar", HOLD_OPEN, 11, do="Watch at the higher pressure, or wait until it has gone.")
