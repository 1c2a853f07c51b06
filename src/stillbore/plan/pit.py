"""The pit: how long, wide and deep, what comes out of it, what stays away from its edge, how it is filled again."""

from __future__ import annotations

from stillbore.derive import Fact, Node, derive, worst
from stillbore.physics import dig, insert, window
from stillbore.plan.parts import MET, NOT_MET, NOTE, Grid, Workings, verdict_of


def pit(work: Workings) -> None:
    """Size, spoil and filling, for every route; against what the survey found."""
    work.section("dig", "The pit")
    length = _length(work)
    width, depth = work.limit("dig.width"), _depth(work)
    work.keep("width", width, "m", "dig.width")
    ground = work.work("dig.volume", "ground dug out", "m3", dig.pit_volume, length=length, width=width, depth=depth)
    work.work("dig.spoil", "spoil, loose", "m3", dig.spoil_volume, volume=ground, bulking=work.limit("dig.bulking"))
    work.work("dig.mass", "its mass", "kg", dig.spoil_mass, volume=ground, density=work.limit("dig.soil_density"))
    work.keep("spoil and kit from the edge, at the least", work.limit("dig.setback"), "m", "dig.setback")
    _support(work, depth)
    _water(work)
    _filling(work, length, width)


def _length(work: Workings) -> Node:
    """From cutting window, saddle, gland and room; the survey's pit and its straight pipe against it."""
    room, half = work.limit("dig.end_room"), work.kit.fact("saddle.half_length")
    house = work.work("dig.house_end", "from the saddle's centre to the end on the house side, at the least", "mm",
                      dig.house_end, cut_start_length=work.numbers["window.from"].node,
                      window_width=work.limit("cut.least_width"), end_room=room)
    work.work("dig.main_end", "from the saddle's centre to the end on the main's side, at the least", "mm",
              insert.joined_length, length=half, further_length=room)
    length = work.work("dig.length", "length, at the least", "m", dig.pit_length, house_end_length=house,
                       half_length=half, end_room=room, least_length=work.limit("dig.least_length"))
    found = work.survey.fact("site.pit_end")
    if found.known:
        work.at_least("the pit found, on the house side", found, house, "mm", NOTE,
                      do="Lengthen it there: the cut, the gland and a person need the room.")
    clear = work.survey.fact("site.clear_length")
    needed = work.numbers["window.needed_length"].node
    if clear.known and needed.known and verdict_of(clear, length, "at least") != MET:
        work.tell(NOTE, f"The pit is longer than the straight pipe found ({work.said(clear)}): a socket, a bend or a "
                  "clamp may lie in it.", f"Put the saddle so that {work.show(needed.high or 0.0, 'm')} of straight "
                  "pipe lie from its end on the main's side to the bond clamp on the house side.")
    return length


def _depth(work: Workings) -> Node:
    """Cover, pipe and the room below it; without a cover nothing is guessed."""
    cover = _cover(work)
    work.keep("cover, from the surface to the pipe's crown", cover, "m", "dig.cover")
    work.keep("room below the pipe", work.limit("dig.below_pipe"), "m", "dig.below_pipe")
    if not cover.known:
        work.tell(NOTE, "The cover of the pipe is not known: depth, spoil and fill of the pit are not worked out.",
                  "Measure it where the pipe is first seen, and write it as cover in [site].")
    return work.work("dig.depth", "depth, from the surface to the floor", "m", dig.pit_depth, cover=cover,
                     outside_diameter=_outside(work), room_below=work.limit("dig.below_pipe"))


def _cover(work: Workings) -> Fact:
    known = work.survey.row("site").facts.get("cover")
    return known or Fact("site.cover", "m", None, None, None, "unknown", f"{work.survey.name}, not written there")


def _outside(work: Workings) -> Node:
    """The largest that the pipe may be outside."""
    if not work.tubes:
        return work.survey.fact("pipe.outside_diameter")
    thickest = max((tube.outside_diameter for tube in work.tubes), key=lambda fact: fact.high or 0.0)
    return worst("largest outside diameter", thickest, "high")


def _support(work: Workings, depth: Node) -> None:
    """Support is assessed whatever the depth; from the rule set's depth on it is set."""
    limit = work.limit("dig.support_depth")
    work.keep("depth from which the sides are supported whatever the ground", limit, "m", "dig.support_depth")
    verdict = verdict_of(depth, limit, "at most")
    if verdict == MET:
        what = "The pit is shallower than the depth from which the rule set supports the sides whatever the ground."
    elif verdict == NOT_MET:
        what = "The pit is deeper than the rule set lets sides stand: they are supported, or laid back."
    else:
        what = "The pit may be deeper than the rule set lets sides stand: reckon with support."
    work.tell(NOTE, f"{what} No depth is free of the need to assess.",
              "A person who may do so looks at the ground before anybody enters, and again after rain, frost or a "
              "break: cracks, made ground, water, old trenches, traffic. A way out on each side.", 3)


def _water(work: Workings) -> None:
    found = work.survey.row("site").text("water") or "unknown"
    if found == "none seen":
        return
    if found == "unknown":
        work.tell(NOTE, "Whether there is water in the ground at the pit is not known.",
                  "Look, and write it as water in [site].")
        return
    work.tell(NOTE, f"Water at the pit: {found}. It weakens the sides, and it runs into an open pipe.",
              "Support the sides, keep the water below the pipe by pumping from a sump, and keep the pump's motor out "
              "of the zone. A stop of the pump is a stop of the work.", 3)


def _filling(work: Workings, length: Node, width: Fact) -> None:
    """Fine fill round the pipe, layers above it, marker tape."""
    surround, tape = work.limit("dig.surround"), work.limit("dig.tape_above")
    cover, outside = _cover(work), _outside(work)
    bed = derive("fine fill from the floor to its top", dig.pit_depth, cover=surround, outside_diameter=outside,
                 room_below=work.limit("dig.below_pipe"))
    above = work.work("dig.above_surround", "from the fine fill to the surface", "mm", window.beyond, reached=cover,
                      wanted=surround)
    fine = work.work("dig.fine_fill", "fine fill, compacted, the pipe not taken off", "m3", dig.pit_volume,
                     length=length, width=width, depth=bed)
    fill = work.work("dig.fill", "fill above it, compacted, the surface itself included", "m3", dig.pit_volume,
                     length=length, width=width, depth=above)
    count = work.work("dig.layers", "layers above the fine fill, at the least", "-", dig.layers, height=above,
                      thickest=work.limit("dig.layer"))
    work.keep("thickest layer", work.limit("dig.layer"), "mm", "dig.layer")
    if cover.known:
        work.at_most("marker tape, against the cover", tape, cover, "mm", NOTE,
                     do="The pipe lies too shallow for tape at its height: protect it as the operator's rule says.")
    work.here.grids.append(Grid("Filled again, from the floor up", ("layer", "how thick", "how much"), (
        ("fine fill, from the floor over the pipe's crown", f"{work.said(surround)} above the crown",
         _text(work, fine)),
        (f"fill in layers, {_whole(count)} of them", f"none above {work.said(work.limit('dig.layer'))}",
         _text(work, fill)),
        ("marker tape over the pipe", f"{work.said(tape)} above the crown", work.span(length, "m")),
        ("the surface", "as it was", "as the road authority says"))))


def _text(work: Workings, node: Node) -> str:
    return work.numbers[node.name].text


def _whole(count: Node) -> str:
    """How many, as whole numbers."""
    if count.low is None or count.high is None:
        return "an unknown number"
    return f"{count.low:.0f}" if count.low == count.high else f"{count.low:.0f} to {count.high:.0f}"
