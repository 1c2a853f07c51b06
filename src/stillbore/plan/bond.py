"""The continuity bond: resistance, current limits, and the spark if it were broken."""

from __future__ import annotations

from stillbore.derive import constant
from stillbore.physics import bond as physics
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, NOTE, Workings
from stillbore.tables import conductors, ignition_energy
from stillbore.units import COMPONENTS


def has_hydrogen(work: Workings) -> bool:
    """Whether the gas counts as one with hydrogen, by name or by composition."""
    fraction = work.survey.fact("gas.composition").composition[COMPONENTS.index("H2")]
    threshold = work.limit("bond.hydrogen_from").low
    return "hydrogen" in str(work.survey.value("gas.name")) or fraction >= threshold  # type: ignore[operator]


def bond(work: Workings) -> None:
    """Check lead, current and voltage; compare the spark with the gas's ignition energy."""
    work.section("bond", "Continuity bond")
    kit = work.kit.fact
    conductor = {"conductor": "copper, single lead", "insulation": "PVC 70 C"}
    resistivity = constant("resistivity of copper", "ohm m", conductors.TABLE.number("resistivity", **conductor),
                           conductors.TABLE.title)
    lead = work.work("bond.lead", "resistance of the lead", "mohm", physics.resistance, resistivity=resistivity,
                     length=kit("bond.lead_length"), conductor_area=kit("bond.conductor_area"))
    total = work.work("bond.resistance", "resistance of the bond", "mohm", physics.total_resistance, resistance=lead,
                      clamp_resistance=kit("bond.clamp_resistance"))
    work.at_most("resistance of the bond", total, work.limit("bond.resistance"), "mohm", ENGINEER, 13,
                 do="Clean the clamps and the pipe; take another lead.")
    current, voltage = work.survey.fact("electrical.bond_current"), work.survey.fact("electrical.pipe_to_earth_voltage")
    hydrogen = has_hydrogen(work)
    limit = work.limit("bond.current_with_hydrogen" if hydrogen else "bond.current")
    work.keep("current in the bond", current, "A", "bond.current")
    work.keep("current at which the work stops", limit, "A", "bond.current_limit")
    work.at_most("current in the bond", current, limit, "A", DOES_NOT_APPLY, 13, 16,
                 do="Leave the lead on, and call the electricity network. Never break a bond with current in it.")
    work.at_most("current in the bond, caution", current, work.limit("bond.current_caution"), "A", ENGINEER)
    work.keep("voltage of the pipe to earth", voltage, "V", "bond.voltage")
    work.at_most("voltage of the pipe to earth", voltage, work.limit("bond.voltage"), "V", DOES_NOT_APPLY, 13,
                 do="Stop, touch nothing, and call the electricity network.")
    work.at_most("voltage of the pipe to earth, caution", voltage, work.limit("bond.voltage_caution"), "V", ENGINEER)
    gas = "hydrogen" if hydrogen else "natural gas"
    energy = constant("bond.ignition_energy", "J", ignition_energy.TABLE.number("ignition_energy", gas=gas),
                      ignition_energy.TABLE.title)
    work.keep(f"least energy that ignites {gas}", energy, "mJ")
    inductance = kit("bond.circuit_inductance")
    work.work("bond.spark", "spark if the bond were broken with this current", "uJ", physics.spark_energy,
              inductance=inductance, current=current)
    at_limit = work.work("bond.spark_at_limit", "spark at the current at which the work stops", "mJ",
                         physics.spark_energy, inductance=inductance, current=limit)
    work.at_most("spark at the current at which the work stops", at_limit, energy, "mJ", ENGINEER,
                 do="The limit of the rule set lets a spark through that could ignite: have it looked at.")
    work.work("bond.igniting_current", "peak current whose spark could ignite (a clamp meter shows 0.7 of it)", "A",
              physics.largest_current, inductance=inductance, energy=energy)
    work.tell(NOTE, "The spark is an order of magnitude: it rests on the inductance of the loop, not measured.",
              "Keep to the limit; do not reason from the spark.")
