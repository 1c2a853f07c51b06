"""What goes in the old pipe's place: the load, and each new pipe that the crew carries, whether it passes, carries and
can be pushed. None is chosen because it happens to pass: a smaller one that starves the house is told as that."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.derive import Fact, Node, Traced, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import demand, flow, insert, tube
from stillbore.physics import gas as gas_physics
from stillbore.physics import pressure as pressure_physics
from stillbore.physics import volume as volume_physics
from stillbore.plan.parts import ENGINEER, MET, NOT_MET, NOT_PROVEN, NOTE, Grid, Workings, verdict_of

PASSES, ROD_FIRST, DOES_NOT_PASS, UNKNOWN = "passes", "rod first", "does not pass", "not known"
RANK = (PASSES, UNKNOWN, ROD_FIRST, DOES_NOT_PASS)
REFERENCE = constant("reference temperature", "K", 288.15, "ISO 6976: combustion and metering at 15 degC")
TOWARDS_MAIN = "renew towards the main"


@dataclass(frozen=True)
class Candidate:
    """A new pipe and how it fares: passing (with the place where it stops), carrying, pushing.

    ``length`` is that of the whole new pipe from main to meter, ``covered`` of the part that lies in the old one.
    """

    name: str
    key: str
    outside_diameter: Fact
    wall: Fact
    bore: Traced
    length: Node
    covered: Node
    passing: str
    where: str
    carries: str
    pushed: str

    @property
    def will_do(self) -> bool:
        return self.passing == PASSES and self.carries == MET and self.pushed == MET


def renewal(work: Workings) -> Candidate | None:
    """Work out load and candidates, and take the smallest that does all; None where none does or the service is
    abandoned."""
    route = str(work.survey.value("job.route"))
    if route == "cap and abandon":
        return None
    work.section("renewal", "The new pipe")
    load = _load(work)
    rows = work.kit.rows("insert")
    if not rows or not work.tubes:
        work.tell(ENGINEER, "The new pipe cannot be chosen: the kit names none, or the size of the old one is not "
                  "known.", "Write an [[insert]] for each pipe carried; measure the old one.")
        return None
    bores = [work.numbers[f"pipe.{each.key}.bore"].node for each in work.tubes]
    narrowest = worst("narrowest bore", min(bores, key=lambda node: node.low or 0.0), "low")
    found = [_candidate(work, row, narrowest, load, route) for row in rows]
    titles = ("new pipe", "passes", "carries the load", "can be pushed", "why not")
    work.here.grids.append(Grid("Candidates", titles, tuple(
        (each.name, each.passing, each.carries, each.pushed, each.where) for each in found)))
    return _choice(work, found)


def _load(work: Workings) -> Traced:
    """The flow to be reckoned with, at the conditions of the meter: heat input, or the meter's rating where nothing is
    known; several houses with diversity."""
    calorific = derive("gross calorific value", gas_physics.gross_calorific_value_volume,
                       fractions=work.survey.fact("gas.composition"), combustion_temperature=REFERENCE,
                       reference_temperature=REFERENCE)
    work.keep("gross calorific value at 15 degC", calorific, "MJ/m3", "renewal.calorific_value")
    houses = work.survey.rows("fed")
    total: Node | None = None
    for row in houses:
        heat = row.fact("heat_input")
        one: Node = work.limit("renewal.meter_rating") if not heat.known else derive(
            f"load of {row.text('premises')}", demand.gas_demand, heat_input=heat, calorific_value=calorific)
        if not heat.known:
            work.tell(NOTE, f"The load of {row.text('premises')} is not known; the rating of the meter is taken.",
                      "Read the appliances.")
        total = one if total is None else derive("load of all", demand.joined_demand, demand=total, further_demand=one)
    count = constant("houses", "-", float(len(houses)), "survey")
    share = derive("diversity", demand.diversity, dwellings=count, floor=work.limit("renewal.diversity"))
    assert total is not None
    return work.work("renewal.load", "load to be carried", "m3/h", demand.diversified_demand, demand=total, share=share)


def _candidate(work: Workings, row: Row, bore: Node, load: Node, route: str) -> Candidate:
    name, site = row.text("id"), work.survey.fact
    key = f"renewal.{name.lower().replace(' ', '_').replace('.', '_')}"
    room = work.work(f"{key}.room", f"{name}: room in the bore", "mm", insert.clearance, bore=bore,
                     outside_diameter=row.fact("outside_diameter"), scale=work.limit("renewal.scale"))
    passing, where = _passes(work, row, room)
    inner = derive(f"bore of {name}", tube.bore, outside_diameter=row.fact("outside_diameter"), wall=row.fact("wall"))
    length = derive("length of the new pipe", insert.joined_length, length=site("site.upstream_length"),
                    further_length=site("site.leg_length"))
    carries = _carries(work, key, name, inner, length, load)
    pushed_over = site("site.upstream_length" if route == TOWARDS_MAIN else "site.leg_length")
    pushed = _pushed(work, key, name, row, bore, pushed_over) if passing != DOES_NOT_PASS else NOT_MET
    work.work(f"{key}.annulus", f"{name}: annulus to be filled", "l", insert.annulus_volume, bore=bore,
              outside_diameter=row.fact("outside_diameter"), length=pushed_over)
    work.work(f"{key}.movement", f"{name}: movement with warmth over its length", "mm", insert.thermal_movement,
              expansion=work.limit("renewal.expansion"), length=length,
              temperature_change=work.limit("renewal.warming"))
    work.work(f"{key}.volume", f"{name}: volume to be tested and purged", "l", volume_physics.leg_volume, bore=inner,
              length=length)
    return Candidate(name, key, row.fact("outside_diameter"), row.fact("wall"), inner, length, pushed_over, passing,
                     where, carries, pushed)


def _passes(work: Workings, row: Row, room: Node) -> tuple[str, str]:
    """Whether it goes through bore and bends, and where it stops."""
    if not room.known or room.low is None or room.high is None:
        return UNKNOWN, "the bore is not known"
    if room.high < 0.0:
        return DOES_NOT_PASS, "it does not go into the bore"
    worst_so_far, where = (PASSES, "") if room.low >= 0.0 else (ROD_FIRST, "the bore may be too narrow")
    for bend in work.survey.rows("bend"):
        found = _through(work, row, room, bend)
        if RANK.index(found) > RANK.index(worst_so_far):
            worst_so_far, where = found, f"{bend.text('kind')} at {bend.fact('distance').text}"
    return worst_so_far, where


def _through(work: Workings, row: Row, room: Node, bend: Row) -> str:
    """Whether it goes through one bend. It may cut the corner as far as its room allows."""
    if bend.text("kind") == "screwed elbow":
        return DOES_NOT_PASS
    if bend.text("kind") != "pulled bend" or room.low is None or room.low < 0.0:
        return ROD_FIRST
    if not (bend.fact("angle").known and bend.fact("radius").known):
        return UNKNOWN
    lies = derive("radius in the bend", insert.corner_radius, bend_radius=bend.fact("radius"), clearance=room,
                  bend_angle=bend.fact("angle"))
    cold, warm = (derive("least radius", insert.least_radius, outside_diameter=row.fact("outside_diameter"),
                         diameters=work.limit(f"renewal.{key}")) for key in ("radius", "radius_warm"))
    if verdict_of(lies, cold, "at least") == MET:
        return PASSES
    return DOES_NOT_PASS if verdict_of(lies, warm, "at least") == NOT_MET else ROD_FIRST


def _carries(work: Workings, key: str, name: str, bore: Node, length: Node, load: Node) -> str:
    """Whether the load goes through it within the largest drop, and what is left at the meter."""
    fractions, temperature = work.survey.fact("gas.composition"), work.survey.fact("site.ground_temperature")
    lowest = work.survey.fact("pressure.lowest")
    cold = worst("ground temperature", temperature, "low")
    absolute = derive("absolute pressure", pressure_physics.absolute_pressure, gauge_pressure=lowest,
                      atmospheric_pressure=work.survey.fact("site.barometer"))
    density = derive("gas density", gas_physics.density, fractions=fractions, pressure=absolute, temperature=cold)
    viscosity = derive("gas viscosity", gas_physics.viscosity, fractions=fractions, temperature=cold)
    drop = work.work(f"{key}.drop", f"{name}: pressure drop at the load", "mbar", flow.pressure_drop, flow=load,
                     length=length, bore=bore, roughness=work.limit("renewal.roughness"), density=density,
                     viscosity=viscosity, loss_coefficient=work.limit("renewal.fittings"))
    left = work.work(f"{key}.at_meter", f"{name}: pressure left at the meter, from the lowest", "mbar",
                     pressure_physics.left_after_drop, gauge_pressure=lowest, pressure_drop=drop)
    both = (verdict_of(drop, work.limit("renewal.pressure_drop"), "at most"),
            verdict_of(left, work.limit("renewal.meter_pressure"), "at least"))
    return NOT_MET if NOT_MET in both else NOT_PROVEN if NOT_PROVEN in both else MET


def _pushed(work: Workings, key: str, name: str, row: Row, bore: Node, length: Node) -> str:
    """Whether a hand can push it so far before it snakes in the bore."""
    outside, wall = row.fact("outside_diameter"), row.fact("wall")
    weight = derive("weight of the new pipe", insert.weight_per_length, outside_diameter=outside, wall=wall,
                    density=work.limit("renewal.density"))
    turned: Node = constant("no bend", "rad", 0.0, "survey")
    for bend in work.survey.rows("bend"):
        turned = derive("turned", insert.joined_angle, bend_angle=turned, further_angle=bend.fact("angle"))
    force = work.work(f"{key}.push", f"{name}: force to push it", "N", insert.push_force,
                      force_in=work.limit("renewal.gland"), weight=weight, friction=work.limit("renewal.friction"),
                      length=length, turned=turned)
    snakes = work.work(f"{key}.snakes", f"{name}: push at which it snakes", "N", insert.sinusoidal_buckling,
                       elasticity=work.limit("renewal.elasticity"),
                       second_moment=derive("second moment", tube.second_moment, outside_diameter=outside, wall=wall),
                       weight=weight, radial_clearance=derive("room beside it", insert.radial_clearance, bore=bore,
                                                              outside_diameter=outside))
    both = (verdict_of(force, snakes, "at most"), verdict_of(force, work.limit("renewal.push"), "at most"))
    return NOT_MET if NOT_MET in both else NOT_PROVEN if NOT_PROVEN in both else MET


def _choice(work: Workings, found: list[Candidate]) -> Candidate | None:
    """What the table comes to. A person chooses; nothing smaller is chosen silently."""
    fit = sorted((each for each in found if each.will_do), key=lambda each: each.outside_diameter.high or 0.0)
    if fit:
        work.tell(NOTE, f"Passes, carries the load and can be pushed: {', '.join(each.name for each in fit)}.",
                  "The planner chooses; the annulus and the test follow from the choice.")
    else:
        work.tell(ENGINEER, "No new pipe carried by this kit plainly passes, carries the load and can be pushed.",
                  "Rod what may pass; else open cut, another route, or a transfer to a new main.")
    for each in found:
        if each.passing == PASSES and each.carries == NOT_MET:
            work.tell(NOTE, f"{each.name} passes and starves the house: the load does not go through it.",
                      "Do not take it because it fits.")
        elif each.carries == MET and each.passing in (ROD_FIRST, DOES_NOT_PASS):
            work.tell(NOTE, f"{each.name} carries the load; {each.passing}: {each.where}.",
                      "Rod it with a gauge of its size first." if each.passing == ROD_FIRST else
                      "Dig where it stops, or choose another way.")
    return fit[0] if fit else None
