"""If it goes wrong: what comes out, at low pressure and if it were medium. What it does in the pit is pit_air's."""

from __future__ import annotations

from stillbore.derive import Node, Traced, constant, derive, worst
from stillbore.physics import fanno, orifice
from stillbore.physics import gas as gas_physics
from stillbore.physics import pressure as pressure_physics
from stillbore.plan.parts import ENGINEER, NOTE, Workings

LET_BY, HOLE, CUT_END = "let-by at the stop rate", "drilled hole open", "cut end open"


def _gas_properties(work: Workings, gauge_pressure: Node) -> dict[str, Node]:
    """Absolute pressure, viscosity and the rest of the gas at a gauge pressure."""
    fractions, temperature = work.survey.fact("gas.composition"), work.survey.fact("site.ground_temperature")
    middle = worst("ground temperature", temperature, "low")
    absolute = derive("absolute pressure", pressure_physics.absolute_pressure, gauge_pressure=gauge_pressure,
                      atmospheric_pressure=work.survey.fact("site.barometer"))
    return {
        "absolute": absolute,
        "temperature": middle,
        "viscosity": derive("gas viscosity", gas_physics.viscosity, fractions=fractions, temperature=middle),
        "molar_mass": derive("molar mass", gas_physics.molar_mass, fractions=fractions),
        "heat_ratio": derive("ratio of specific heats", gas_physics.heat_ratio, fractions=fractions,
                             temperature=middle),
    }


def _open_end(work: Workings, name: str, title: str, gauge_pressure: Node, bore: Node) -> Traced:
    """Flow out of the cut end at standard conditions, stopper gone, by compressible flow with friction."""
    gas = _gas_properties(work, gauge_pressure)
    site = work.survey.fact
    mass = derive("mass flow", fanno.open_end_mass_flow, pressure_up=gas["absolute"],
                  pressure_down=site("site.barometer"), temperature=gas["temperature"], molar_mass=gas["molar_mass"],
                  compressibility=IDEAL, heat_ratio=gas["heat_ratio"], length=site("site.upstream_length"), bore=bore,
                  roughness=work.limit("release.roughness"), viscosity=gas["viscosity"],
                  loss_coefficient=work.limit("release.loss_coefficient"))
    return work.work(name, title, "m3/h", orifice.standard_volume_flow, mass_flow=mass, molar_mass=gas["molar_mass"])


def _hole(work: Workings, name: str, title: str, gauge_pressure: Node, diameter: Node) -> Traced:
    gas = _gas_properties(work, gauge_pressure)
    return work.work(name, title, "m3/h", orifice.hole_volume_flow, hole_diameter=diameter, pressure_up=gas["absolute"],
                     pressure_down=work.survey.fact("site.barometer"), temperature=gas["temperature"],
                     molar_mass=gas["molar_mass"], compressibility=IDEAL, heat_ratio=gas["heat_ratio"],
                     discharge_coefficient=work.limit("release.discharge_coefficient"))


# The gas is taken as ideal in the outflow formulas: within 1 % below 3 bar.
IDEAL = constant("compressibility", "-", 1.0, "taken as ideal; within 1 % below 3 bar")


def contingency(work: Workings) -> dict[str, Node]:
    """Flows at low and medium pressure; returns those that can come into the pit, by what leaks."""
    work.section("if_it_goes_wrong", "If it goes wrong")
    flows: dict[str, Node] = {LET_BY: work.limit("letby.stop_rate")}
    if not work.tubes or "travel.saw_diameter_running" not in work.numbers:
        work.tell(ENGINEER, "The flows cannot be worked out without a size and a saw.", "Decide the size first.")
        return flows
    bores = [work.numbers[f"pipe.{tube.key}.bore"].node for tube in work.tubes]
    widest = worst("widest bore", max(bores, key=lambda node: node.high or 0.0), "high")
    highest = work.numbers.get("pressure.highest")
    medium = work.limit("pressure.medium_pressure")
    hole = work.numbers["travel.saw_diameter_running"].node
    if highest is not None:
        flows[HOLE] = _hole(work, "if_it_goes_wrong.hole", f"{HOLE}, at the highest pressure", highest.node, hole)
        end = flows[CUT_END] = _open_end(work, "if_it_goes_wrong.open_end",
                                         f"{CUT_END}, stopper gone, at the highest pressure", highest.node, widest)
        if not end.known:
            work.tell(NOTE, "The flow out of the cut end cannot be worked out: the length from the main is not known, "
                      "or may be nothing. Reckon with the whole bore open.", "Find out where the main is.")
    _hole(work, "if_it_goes_wrong.hole_medium", f"drilled hole open, if it were {work.said(medium)}", medium, hole)
    _open_end(work, "if_it_goes_wrong.open_end_medium", f"cut end open, if it were {work.said(medium)}", medium, widest)
    return flows
