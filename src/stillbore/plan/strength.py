"""Strength of the drilled tube under the kit and a hand, and how far apart the props may stand."""

from __future__ import annotations

from dataclasses import replace

from stillbore.derive import Node, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import strength as physics
from stillbore.physics import tube as tube_physics
from stillbore.plan.parts import ENGINEER, NOTE, Workings
from stillbore.tables import steel_properties


def thin_wall(work: Workings) -> Node:
    """The wall to reckon with for strength: what is left under the deepest pit. Where that is not known, the least wall
    that the rule set lets be drilled, because a thinner one is not drilled, or what was measured, if that is less."""
    sound = work.numbers.get("pipe.least_wall")
    if sound is not None and sound.node.known and (sound.node.low or 0.0) > 0.0:
        return worst("strength.wall", sound.node, "low")
    least, measured = work.limit("pipe.least_wall"), work.survey.fact("pipe.wall")
    if measured.known and measured.low < least.low:  # type: ignore[operator]
        return worst("strength.wall", measured, "low")
    return least


def strength(work: Workings, saw_row: Row | None) -> None:
    """Stress beside the hole, propped and unpropped, and the prop spacing."""
    work.section("strength", "Strength and props")
    if saw_row is None or not work.tubes:
        work.tell(ENGINEER, "The strength of the drilled tube cannot be worked out without a size and a saw.",
                  "Decide the size first.")
        return
    outside = min((tube.outside_diameter for tube in work.tubes), key=lambda fact: fact.low or 0.0)
    outside = replace(outside, value=outside.low, high=outside.low)  # the smaller tube is the weaker
    wall: Node = thin_wall(work)
    work.keep("wall to reckon with: thin and corroded", wall, "mm", "strength.wall")
    steel = steel_properties.TABLE
    density = constant("steel density", "kg/m3", steel.number("steel_density", steel="S195T"), steel.title)
    hole = work.numbers["travel.saw_diameter_running"].node
    section = work.work("strength.section_modulus", "section modulus left beside the hole", "mm3",
                        physics.drilled_section_modulus, outside_diameter=outside, wall=wall, hole_diameter=hole)
    load = work.work("strength.load", "load of kit and hand", "N", physics.kit_load, mass=work.kit.fact("kit.mass"),
                     hand_load=work.kit.fact("kit.hand_load"))
    thick = max((tube.wall for tube in work.tubes), key=lambda fact: fact.high or 0.0)
    mass = derive("strength.mass_per_length", tube_physics.mass_per_length,
                  outside_diameter=work.tubes[0].outside_diameter, wall=thick, steel_density=density)
    weight = derive("strength.weight_per_length", physics.weight_per_length, mass_per_length=worst(
        "strength.mass_per_length", mass, "high"))
    limit = work.limit("strength.largest_stress")
    work.keep("largest stress allowed", limit, "MPa", "strength.largest_stress")
    span, overhang = work.limit("strength.unpropped_span"), work.limit("strength.free_cantilever")
    for key, title, function, length in (
            ("span_built_in", "held at both ends", physics.built_in_moment, span),
            ("span_pinned", "resting at both ends", physics.pinned_moment, span),
            ("cantilever", "after the cut, unpropped end", physics.cantilever_moment, overhang)):
        moment = derive(f"strength.{key}_moment", function, load=load, weight_per_length=weight, length=length)
        stress = work.work(f"strength.{key}_stress", f"stress without props, {title} over {work.said(length)}", "MPa",
                           physics.bending_stress, bending_moment=moment, section_modulus=section)
        work.at_most(f"without props, {title}", stress, limit, "MPa", NOTE, do="Prop it, at the spacing below.")
    spacing = work.work("strength.prop_spacing", "props at most this far apart, over the saddle", "m",
                        physics.longest_prop_spacing_pinned, section_modulus=section, stress_limit=limit, load=load,
                        weight_per_length=weight)
    work.work("strength.overhang", "and the cut end at most this far beyond a prop", "m", physics.longest_overhang,
              section_modulus=section, stress_limit=limit, load=load, weight_per_length=weight)
    # A prop each side must stand outside the saddle, so the spacing has to be at least the saddle's length.
    length = derive("saddle length", physics.whole_length, half_length=work.kit.fact("saddle.half_length"))
    work.at_least("room for a prop on each side of the saddle", spacing, length, "m", ENGINEER, 13,
                  do="Carry the kit's weight from above, or find sounder pipe.")
    work.tell(NOTE, "Prop the pipe on both sides of the saddle before the kit goes on, and prop the kit itself; the "
              "cut end must not hang free.", "A hand on the drill of an unpropped cut end bends this pipe.")
    work.at_least("saddle to the nearest threaded joint", work.survey.fact("site.nearest_thread"),
                  work.limit("strength.thread_to_saddle"), "mm", ENGINEER, 13,
                  do="Prop both sides of the joint, or move the saddle.")
    if not work.survey.fact("pipe.wall").measured:
        work.tell(NOTE, "Strength is reckoned with the least wall the rule set lets be drilled, because the wall "
                  "has not been measured.", "Measure the wall.")
