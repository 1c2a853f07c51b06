"""What the service has to carry: the appliances' heat, or the meter's rating; several dwellings with diversity."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.derive import Fact, Node, Traced, constant, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import demand, service
from stillbore.physics import gas as gas_physics
from stillbore.physics import pressure as pressure_physics
from stillbore.plan.gas import REFERENCE, at_reference
from stillbore.plan.parts import NOTE, Workings


@dataclass(frozen=True)
class Load:
    """The load as a flow at 15 degC and one atmosphere, and as the gas flows in the pipe.

    ``certain``: every house's heat input is known; else the rating stands for it, which is more than it takes.
    ``complete``: it is known who is fed; else the load is at least this.
    """

    at_meter: Traced
    in_pipe: Traced
    density: Traced
    reference_density: Traced
    viscosities: tuple[Traced, ...]
    certain: bool
    complete: bool


def load(work: Workings) -> Load:
    """Work out the load and the gas as it flows. Never guessed low: unknown heat is the meter's rating."""
    fractions = work.survey.fact("gas.composition")
    calorific = derive("gross calorific value", gas_physics.gross_calorific_value_volume, fractions=fractions,
                       combustion_temperature=REFERENCE, reference_temperature=REFERENCE)
    work.keep(f"gross calorific value at {at_reference(work)}", calorific, "MJ/m3", "renewal.calorific_value")
    houses = work.survey.rows("fed")
    total: Node | None = None
    for row in houses:
        one = _house(work, row, calorific)
        total = one if total is None else derive("load of all", demand.joined_demand, demand=total, further_demand=one)
    assert total is not None
    share = diversity(work, len(houses))
    if len(houses) > 1:
        work.keep(f"share of the full load of {len(houses)} dwellings at once", share, "%", "renewal.diversity_share")
    at_meter = work.work("renewal.load", f"load to be carried, at {at_reference(work)}", "m3/h",
                         demand.diversified_demand, demand=total, share=share)
    complete = work.survey.value("supply.fed_list_complete") == "yes"
    if not complete:
        work.tell(NOTE, "It is not known whom else the service feeds; the load is at least this.",
                  "Find every meter on it before a new pipe is chosen.")
    reference = _settled(derive("gas density at the meter", gas_physics.reference_density, fractions=fractions,
                                reference_temperature=REFERENCE))
    density, viscosities = _as_it_flows(work, fractions)
    in_pipe = _settled(derive("load as the gas flows", service.flow_at_density, flow=at_meter, density=reference,
                              further_density=density))
    return Load(at_meter, in_pipe, density, reference, viscosities,
                all(row.fact("heat_input").known for row in houses), complete)


def _house(work: Workings, row: Row, calorific: Node) -> Node:
    heat, house = row.fact("heat_input"), row.text("premises")
    if heat.known:
        return derive(f"load of {house}", demand.gas_demand, heat_input=heat, calorific_value=calorific)
    rating = row.facts.get("meter_rating")
    known = rating is not None and rating.known
    work.tell(NOTE, f"The load of {house} is not known; the rating of {'its' if known else 'a usual'} meter is taken.",
              "Read the appliances' plates.")
    return rating if known else work.limit("renewal.meter_rating")  # type: ignore[return-value]


def diversity(work: Workings, dwellings: int) -> Fact:
    """The share of the full load of so many dwellings: the operator's row with the most dwellings that are not more,
    which never has too small a share. The full load where the table has no such row."""
    rows = [row for row in work.rules.rows("diversity") if (row.fact("dwellings").high or 0.0) <= dwellings]
    if not rows:
        return constant("full load", "-", 1.0, "no row of the diversity curve is for so few dwellings")
    return max(rows, key=lambda row: row.fact("dwellings").high or 0.0).fact("share")


def _as_it_flows(work: Workings, fractions: Fact) -> tuple[Traced, tuple[Traced, ...]]:
    """The least density and both ends of the viscosity. The drop of a given mass falls with density; with viscosity it
    rises but for the step at Reynolds 2000, so both its ends are tried."""
    temperature = work.survey.fact("site.ground_temperature")
    absolute = derive("absolute pressure", pressure_physics.absolute_pressure,
                      gauge_pressure=work.survey.fact("pressure.lowest"),
                      atmospheric_pressure=work.survey.fact("site.barometer"))
    warm = worst("ground temperature", temperature, "high")
    density = worst("gas density", derive("gas density", gas_physics.density, fractions=fractions,
                                          pressure=worst("absolute pressure", absolute, "low"), temperature=warm),
                    "low")
    ends = ("high",) if temperature.exact else ("high", "low")
    return density, tuple(
        _settled(derive("gas viscosity", gas_physics.viscosity, fractions=fractions,
                        temperature=worst("ground temperature", temperature, end))) for end in ends)


def _settled(node: Traced) -> Traced:
    """A number without a range as a single value, so that what rests on it does not work it out anew at every
    corner."""
    return worst(node.name, node, "high") if node.known and node.low == node.high else node
