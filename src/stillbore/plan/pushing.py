"""Push or pull: the force against the distance through the bends, against snaking, the hand and the allowable pull."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stillbore.derive import Fact, Node, Traced, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import insert, push, tube
from stillbore.plan.new_pipe import TOWARDS_MAIN, Curve, NewPipe, Obstacle, both, pit_bore
from stillbore.plan.parts import NOT_MET, NOT_PROVEN, Workings, verdict_of

BENDS = ("pulled bend", "easy screwed bend", "screwed elbow")
NOTHING = constant("no gland", "N", 0.0, "the gland is no load on the pipe in the bore")
LIMITS = (("snakes", "push in the bore at which it may snake", insert.sinusoidal_buckling),
          ("spirals", "push in the bore at which it may wind into a spiral", insert.helical_buckling))


@dataclass(frozen=True)
class Pushing:
    """Whether a pipe can be pushed and pulled over its leg, how far the push goes, and the curve."""

    pushed: str
    pulled: str
    force: Traced
    inside: Traced
    reach: Traced
    snakes: Traced
    pull: Traced
    curve: Curve | None


def pushing(work: Workings, pipe: NewPipe, side: str, length: Node, way: tuple[Obstacle, ...]) -> Pushing:
    """Work out forces and limits. The whole weight is taken before all bends, which is the most. The gland stands at
    the pit: the hand pushes against it, but it is no load on the pipe in the bore, which is what snakes."""
    key, name, outside = pipe.key, pipe.name, pipe.outside_diameter
    weight = derive("weight of the new pipe", insert.weight_per_length, outside_diameter=outside, wall=pipe.wall,
                    density=work.limit("renewal.density"))
    friction, hand = work.limit("renewal.friction"), work.limit("renewal.push")
    at_nose = _at_nose(work, outside, side)
    at_hand = derive("gland and nose", push.held_back, gland_force=work.limit("renewal.gland"),
                     gauge_pressure=at_nose, outside_diameter=outside)
    in_bore = derive("nose", push.held_back, gland_force=NOTHING, gauge_pressure=at_nose, outside_diameter=outside)
    bends = [(place, _angle(place)) for place in way if place.kind in BENDS]
    turned: Node = constant("no bend", "rad", 0.0, "survey")
    for _, angle in bends:
        turned = derive("turned", insert.joined_angle, bend_angle=turned, further_angle=angle)
    way_in = {"weight": weight, "friction": friction, "turned": turned}
    force = work.work(f"{key}.push", f"{name}: force of the hand to push it all the way", "N", insert.push_force,
                      force_in=at_hand, length=length, **way_in)
    inside = work.work(f"{key}.push_in_bore", f"{name}: force in the bore then", "N", insert.push_force,
                       force_in=in_bore, length=length, **way_in)
    stiffness = {"elasticity": work.limit("renewal.elasticity"),
                 "second_moment": derive("second moment", tube.second_moment, outside_diameter=outside, wall=pipe.wall),
                 "weight": weight,
                 "radial_clearance": derive("room beside it", insert.radial_clearance, bore=pit_bore(work).widest,
                                            outside_diameter=outside)}
    factor = work.limit("renewal.push_factor")
    snakes, spirals = (work.work(f"{key}.{word}", f"{name}: {title}", "N", push.usable_force, factor=factor,
                                 force=derive(title, function, **stiffness)) for word, title, function in LIMITS)
    at_worst = {word: worst(node.name, node, "high") for word, node in way_in.items()}
    reach = _nearer(*(derive(f"{key}.reach", push.push_reach, force=worst("most", most, "low"),
                             force_in=worst("held back", start, "high"), **at_worst)
                      for most, start in ((hand, at_hand), (snakes, in_bore))))
    work.keep(f"{name}: how far it can be pushed at the least, all bends counted", reach, "m")
    pull = _pull(work, pipe)
    curve = _curve((in_bore, at_hand), way_in, length, bends, (hand, snakes, spirals))
    pushed = both(verdict_of(force, hand, "at most"), _straight(inside, snakes, spirals))
    return Pushing(pushed, verdict_of(force, pull, "at most"), force, inside, reach, snakes, pull, curve)


def _straight(inside: Traced, snakes: Node, spirals: Node) -> str:
    """Whether it stays straight in the bore. Between snaking and spiral it may still go, with more friction than
    reckoned; in a spiral it locks."""
    found = verdict_of(inside, snakes, "at most")
    return NOT_PROVEN if found == NOT_MET and verdict_of(inside, spirals, "at most") != NOT_MET else found


def _nearer(*reaches: Traced) -> Traced:
    """The shorter of two reaches; one that is never got to is the shortest."""
    return min(reaches, key=lambda node: node.low if node.low is not None else -1.0)


def _at_nose(work: Workings, outside: Fact, side: str) -> Node:
    """The pressure ahead of the nose: the district's, towards the main; the leg to the house is vented."""
    highest = work.numbers.get("pressure.highest")
    if side != TOWARDS_MAIN:
        return constant("vented leg", "Pa gauge", 0.0, "the leg to the house is isolated and vented")
    return highest.node if highest is not None else work.survey.fact("pressure.maximum_operating_pressure")


def _angle(place: Obstacle) -> Fact:
    """What a bend turns by; unknown stays unknown, a bend without an angle too."""
    return place.row.facts.get("angle") or Fact(f"angle of {place.title}", "rad", None, None, None, "unknown", "survey")


def _pull(work: Workings, pipe: NewPipe) -> Traced:
    """The pull that the pipe bears in the ground's warmth, for as long as a pull lasts."""
    stress = derive("stress for this pull", push.derated_stress, stress=work.limit("renewal.pull_stress"),
                    time_share=_share(work, "pull_time", work.limit("renewal.pull_time")),
                    temperature_share=_share(work, "pull_temperature", work.survey.fact("site.ground_temperature")))
    outside = worst("outside diameter", pipe.outside_diameter, "low")
    ratio = derive("dimension ratio", push.dimension_ratio, outside_diameter=outside,
                   wall=worst("least wall", pipe.wall, "low"))
    return work.work(f"{pipe.key}.pull", f"{pipe.name}: pull that it bears", "N", insert.allowable_pull,
                     outside_diameter=outside, dimension_ratio=ratio, stress=stress)


def _share(work: Workings, table: str, value: Fact) -> Fact:
    """The share of the first row that reaches up to a value; unknown where none does: nothing is read past a table."""
    def reaches(row: Row) -> float:
        return row.fact("until").high or 0.0

    rows = sorted((row for row in work.rules.rows(table) if reaches(row) >= (value.high or 0.0)), key=reaches)
    if rows and value.known:
        return rows[0].fact("share")
    return Fact(f"{table} beyond the rule set's table", "-", None, None, None, "unknown", f"rule set, {table}")


def _curve(starts: tuple[Node, Node], way_in: Mapping[str, Node], length: Node, bends: list[tuple[Obstacle, Fact]],
           limits: tuple[Node, Node, Node]) -> Curve | None:
    """Points of force against distance at their worst, a jump at each bend; the bends where they may be nearest. None
    where a place or an angle is not known."""
    ends = (*starts, *way_in.values(), length)
    if not all(node.known for node in ends) or not all(place.distance.known for place, _ in bends):
        return None
    weight, friction, whole = (node.high or 0.0 for node in (way_in["weight"], way_in["friction"], length))

    def point(distance: float, turned: float) -> tuple[float, float, float]:
        in_bore, at_hand = (insert.push_force(start.high or 0.0, weight, friction, distance, turned)
                            for start in starts)
        return distance, in_bore, at_hand

    turned, points = 0.0, [point(0.0, 0.0)]
    for place, angle in bends:
        distance = min(place.distance.low or 0.0, whole)
        points.append(point(distance, turned))
        turned += angle.high or 0.0
        points.append(point(distance, turned))
    points.append(point(whole, turned))
    return Curve(tuple(points), *limits)
