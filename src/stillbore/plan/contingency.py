"""If it goes wrong: what comes out, and how long the pit takes to a share of the flammable limit. For urgency only."""

from __future__ import annotations

from stillbore.derive import Node, Traced, constant, derive, worst
from stillbore.physics import dilution, fanno, orifice
from stillbore.physics import gas as gas_physics
from stillbore.physics import pressure as pressure_physics
from stillbore.plan.parts import ENGINEER, NOTE, Grid, Workings
from stillbore.tables import flammability
from stillbore.units import show


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


def contingency(work: Workings) -> None:
    """Flows at low and medium pressure, and times of the pit."""
    work.section("if_it_goes_wrong", "If it goes wrong")
    if not work.tubes or "travel.saw_diameter_running" not in work.numbers:
        work.tell(ENGINEER, "The flows cannot be worked out without a size and a saw.", "Decide the size first.")
        return
    bores = [work.numbers[f"pipe.{tube.key}.bore"].node for tube in work.tubes]
    widest = worst("widest bore", max(bores, key=lambda node: node.high or 0.0), "high")
    highest = work.numbers.get("pressure.highest")
    medium = work.limit("pressure.medium_pressure")
    hole = work.numbers["travel.saw_diameter_running"].node
    flows: dict[str, Node] = {"let-by at the stop rate": work.limit("letby.stop_rate")}
    if highest is not None:
        flows["drilled hole open"] = _hole(work, "if_it_goes_wrong.hole", "drilled hole open, at the highest pressure",
                                           highest.node, hole)
        end = flows["cut end open"] = _open_end(work, "if_it_goes_wrong.open_end",
                                          "cut end open, stopper gone, at the highest pressure", highest.node, widest)
        if not end.known:
            work.tell(NOTE, "The flow out of the cut end cannot be worked out: the length from the main is not known, "
                      "or may be nothing. Reckon with the whole bore open.", "Find out where the main is.")
    _hole(work, "if_it_goes_wrong.hole_medium", f"drilled hole open, if it were {work.said(medium)}", medium, hole)
    _open_end(work, "if_it_goes_wrong.open_end_medium", f"cut end open, if it were {work.said(medium)}", medium, widest)
    _times(work, flows)


def _times(work: Workings, flows: dict[str, Node]) -> None:
    """How long the still pit takes to each share of the limit; the shortest time counts."""
    measured = work.survey.fact("site.pit_volume")
    pit = measured if measured.known else work.limit("release.usual_pit_volume")
    work.keep("volume of the pit" + ("" if measured.known else ", the rule set's usual one"),
              pit, "m3", "if_it_goes_wrong.pit_volume")
    limit = work.work("if_it_goes_wrong.flammable_limit", "lower flammable limit, IEC basis", "%",
                      gas_physics.lower_flammable_limit, fractions=work.survey.fact("gas.composition"))
    rows = []
    shares = {"out": work.limit("release.fraction_out"), "emergency": work.limit("release.fraction_emergency")}
    levels = {key: work.work(f"if_it_goes_wrong.fraction_{key}", f"concentration at {share.text} of it", "%",
                             dilution.share_of_limit, share=share, flammable_limit=limit)
              for key, share in shares.items()}
    for title, flow in flows.items():
        cells = [title]
        for key, level in (*levels.items(), ("limit", limit)):
            name = f"if_it_goes_wrong.{title.replace(' ', '_').replace('-', '_')}.time_to_{key}"
            time = derive(name, dilution.unventilated_time, pit_volume=pit, flow=flow, fraction_limit=level)
            work.keep(f"{title}: time to {_level_title(key, shares)}", time, "s")
            cells.append("not known" if time.low is None else _time_text(time.low))
        rows.append(tuple(cells))
    grid_title = (f"Shortest time in a still pit; flammable limit {work.show(limit.value or 0.0, '-', '%')} by "
                  f"{flammability.TABLE.source}")
    work.here.grids.append(Grid(grid_title, ("what leaks", *(f"to {_level_title(key, shares)}" for key in
                                                            (*levels, "limit"))), tuple(rows)))
    work.tell(NOTE, "These times say how urgent it is, good to a factor of three. They are no reason to stay: whether "
              "anybody may enter is measured.", "Look at the gas monitor, which must be set to the same limit.")


def _level_title(key: str, shares: dict[str, object]) -> str:
    return "the flammable limit" if key == "limit" else f"{shares[key].text} of it"  # type: ignore[attr-defined]


def _time_text(seconds: float) -> str:
    if seconds < 1.0:
        return "under 1 s"
    unit = "s" if seconds < 120.0 else "min" if seconds < 7200.0 else "h"
    return show(seconds, "s", unit, 2)
