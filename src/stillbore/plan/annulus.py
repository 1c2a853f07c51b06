"""The space between old pipe and new: how much fills it, what a wrong amount means, the watch after it; and what moves
with warmth, the new pipe and the cut steel each for itself."""

from __future__ import annotations

from stillbore.derive import Node, Traced, constant, derive, envelope, worst
from stillbore.physics import gauge as gauge_physics
from stillbore.physics import insert, tightness, volume
from stillbore.physics import movement as movement_physics
from stillbore.plan.dead_leg import RENEW_HOUSE
from stillbore.plan.parts import MET, NOTE, Workings, verdict_of
from stillbore.plan.renewal import Candidate

METRE = constant("a metre", "m", 1.0, "a metre")


def annulus(work: Workings, chosen: Candidate) -> None:
    """What is injected round the new pipe, and how the filling is proved."""
    work.section("annulus", f"Annulus round {chosen.name}")
    whole = work.cover("annulus.volume", "annulus to be filled, over the length in the old pipe", "l",
                       _volumes(work, chosen, chosen.covered))
    metres = _volumes(work, chosen, METRE)
    work.cover("annulus.each_metre", "the same, by the length that is in", "l/m",
               {key: _each_metre(node.name, node) for key, node in metres.items()})
    if not whole.known:
        work.tell(NOTE, f"The annulus cannot be worked out. {whole.refusal}", "Measure the bore and the length that is "
                  "in; until then no amount injected says that it is full.")
        return
    by_metre = _band(work, "annulus.each_metre", "injected, by the length that is in,",
                     envelope("annulus of a metre", metres), by_length=True)
    by_whole = _band(work, "annulus", "injected", whole)
    if not by_metre:
        work.tell(NOTE, "No amount injected would show both that the annulus is full and that nothing runs elsewhere: "
                  "so narrow a space is not known closely enough.",
                  "Measure the bore at the cut; go by the vent and by the watch.")
    elif not by_whole:
        work.tell(NOTE, "The length in the old pipe is not known closely enough for one amount.",
                  "Go by what goes in for the length that is in.")
    _watch(work, whole)


def _volumes(work: Workings, chosen: Candidate, length: Node) -> dict[str, Node]:
    """The annulus for every tube that the old pipe may be."""
    return {tube.key: derive(f"annulus of {tube.title}", insert.annulus_volume,
                             bore=work.numbers[f"pipe.{tube.key}.bore"].node,
                             outside_diameter=chosen.outside_diameter, length=length) for tube in work.tubes}


def _each_metre(name: str, amount: Node) -> Traced:
    return derive(name, volume.volume_each_length, volume=amount, length=METRE)


def _band(work: Workings, name: str, words: str, volumes: Node, by_length: bool = False) -> bool:
    """Between which amounts neither a void nor a leak is meant, whichever volume of the range is the true one; whether
    there is any such amount. ``by_length``: the volumes are of a metre, and the amounts are shown by the length."""
    ends = {"least": (f"{words} less than this: a void is left", "largest annulus", "high"),
            "most": (f"{words} more than this: it runs into the main or the ground", "smallest annulus", "low")}
    found = []
    for key, (title, of, end) in ends.items():
        node = derive(f"{name}.{key}", volume.scaled_volume, volume=worst(of, volumes, end),
                      factor=work.limit(f"renewal.annulus_{key}"))
        found.append(work.keep(title, _each_metre(node.name, node) if by_length else node, "l/m" if by_length else "l"))
    return verdict_of(*found, "at most") == MET


def _watch(work: Workings, whole: Node) -> None:
    """The watch on the vented and closed annulus: what leak shows as the largest rise, and what warmth does."""
    air, temperature = work.survey.fact("site.barometer"), work.survey.fact("site.ground_temperature")
    rise, watch = work.limit("annulus.largest_rise"), work.limit("annulus.watch")
    work.keep("watch after the filling, at the least", watch, "min", "annulus.watch")
    work.keep("largest rise in it", rise, "mbar", "annulus.largest_rise")
    work.work("annulus.leak_at_limit", "gas that shows as that rise, were the whole annulus still open", "l/h",
              tightness.leak_rate, volume=worst("annulus.volume", whole, "high"), pressure_drop=rise, duration=watch,
              atmospheric_pressure=air)
    counts = derive("movement that counts", gauge_physics.readable,
                    readable_movement=work.kit.fact("gauge.readable_movement"),
                    movements=work.limit("integrity.movements"))
    work.at_least("largest rise in the annulus, against what can be read", rise, counts, "mbar", NOTE, 17,
                  do="Take a finer gauge.")
    warmth = work.work("annulus.warmth", "warming that looks like that rise", "K", tightness.temperature_tolerance,
                       pressure_movement=rise, gauge_pressure=constant("vented", "Pa gauge", 0.0, "vented to the air"),
                       atmospheric_pressure=air, temperature=temperature)
    low = work.show(warmth.low, "K difference", significant=1) if warmth.low is not None else "a little"
    work.tell(NOTE, f"A filling that cures gives off heat: {low} of warming looks like gas in the annulus, and a "
              "cooling one hides it.",
              "Vent, wait until the warmth of curing has gone, then watch. The saddle closes the annulus as well: it "
              "stays sealed until the watch is met.")


def movement(work: Workings, chosen: Candidate | None) -> None:
    """How far new pipe and old move with warmth, and the snake that the new one draws on. The ends of old pipe that the
    cut leaves move on every route."""
    work.section("movement", "Movement with warmth")
    site = work.survey.fact
    sides = (("main", "the main's", "site.upstream_length"), ("house", "the house", "site.leg_length"))
    for side, words, length in sides:
        work.work(f"movement.steel_{side}", f"old steel on {words} side", "mm", insert.thermal_movement,
                  expansion=work.limit("renewal.steel_expansion"), length=site(length),
                  temperature_change=work.limit("renewal.steel_warming"))
    work.keep("it may spring at the cut", work.limit("cut.spring"), "mm", "movement.spring")
    spring = work.said(work.limit("cut.spring"))
    work.tell(NOTE, f"Old pipe that has lain under strain may spring when it is cut: {spring}.",
              "Hold both ends as the cut goes through.")
    if chosen is None:
        return
    moved = work.work("movement.new_pipe", f"{chosen.name}, over its whole length", "mm", insert.thermal_movement,
                      expansion=work.limit("renewal.expansion"), length=chosen.length,
                      temperature_change=work.limit("renewal.warming"))
    outside = site("site.upstream_length" if work.survey.value("job.route") == RENEW_HOUSE else "site.leg_length")
    left = work.work("movement.snake", "length to leave over in a snake, outside the old pipe", "mm",
                     movement_physics.snake, share=work.limit("renewal.snake"), length=outside)
    work.at_least("snake, against the movement", left, moved, "mm", NOTE,
                  do="Lay more of it over: inside the old pipe there is no room for a snake.")
    work.tell(NOTE, f"{chosen.name} goes in warm and lies cold.", "Let it come to the ground's temperature before the "
              "last joint, and anchor it at the transition.")
