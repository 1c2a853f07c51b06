"""The gas: what everything downstream takes from its composition."""

from __future__ import annotations

from collections.abc import Callable

from stillbore.derive import constant, derive
from stillbore.physics import gas as physics
from stillbore.physics import pressure as pressure_physics
from stillbore.plan.parts import NOTE, Workings
from stillbore.tables import flammability
from stillbore.units import COMPONENTS

REFERENCE = constant("reference temperature", "K", 288.15, "ISO 6976: combustion and metering at 15 degC")
BURNT_AND_METERED: tuple[tuple[str, str, str, Callable[..., float]], ...] = (
    ("gross", "gross calorific value", "MJ/m3", physics.gross_calorific_value_volume),
    ("net", "net calorific value", "MJ/m3", physics.net_calorific_value_volume),
    ("wobbe_gross", "gross Wobbe index", "MJ/m3", physics.wobbe_gross),
    ("wobbe_net", "net Wobbe index", "MJ/m3", physics.wobbe_net),
)
METERED: tuple[tuple[str, str, str, Callable[..., float]], ...] = (
    ("compressibility", "compressibility Z", "-", physics.compressibility),
    ("density", "density", "kg/m3", physics.reference_density),
    ("relative_density", "density over that of air", "-", physics.relative_density),
)


def at_reference(work: Workings) -> str:
    """The reference temperature in a title."""
    assert REFERENCE.value is not None
    return work.show(REFERENCE.value, "K", "degC", 2)


def gas(work: Workings) -> None:
    """Molar mass, densities, calorific values, Wobbe indices, viscosity, heat ratio and flammable limit."""
    work.section("gas", "The gas")
    fractions, temperature = work.survey.fact("gas.composition"), work.survey.fact("site.ground_temperature")
    name = str(work.survey.value("gas.name"))
    work.keep(f"{name}, mole fractions", fractions, "mole fractions", "gas.composition")
    if fractions.how == "table":
        work.tell(NOTE, f"The survey has no analysis of the gas; that of '{name}' in the table of named gases is "
                  "taken, which is typical of its kind and no more.", "Ask the network for its analysis.")
    work.work("gas.molar_mass", "molar mass", "kg/kmol", physics.molar_mass, fractions=fractions)
    for key, title, shown, function in METERED:
        work.work(f"gas.{key}", f"{title}, at {at_reference(work)} and one atmosphere", shown, function,
                  fractions=fractions, reference_temperature=REFERENCE)
    for key, title, shown, function in BURNT_AND_METERED:
        work.work(f"gas.{key}", f"{title}, burnt and metered at {at_reference(work)}", shown, function,
                  fractions=fractions, combustion_temperature=REFERENCE, reference_temperature=REFERENCE)
    absolute = derive("absolute pressure", pressure_physics.absolute_pressure,
                      gauge_pressure=work.survey.fact("pressure.operating"),
                      atmospheric_pressure=work.survey.fact("site.barometer"))
    work.work("gas.pipe_density", "density in the pipe, at the pressure measured", "kg/m3", physics.density,
              fractions=fractions, pressure=absolute, temperature=temperature)
    work.work("gas.viscosity", "viscosity, at the temperature of the ground", "uPa s", physics.viscosity,
              fractions=fractions, temperature=temperature)
    work.work("gas.heat_ratio", "ratio of specific heats", "-", physics.heat_ratio, fractions=fractions,
              temperature=temperature)
    methane = flammability.TABLE.printed("lower_iec", component=COMPONENTS[0])
    work.work("gas.flammable_limit", f"lower flammable limit, IEC basis (methane {methane} %)", "%",
              physics.lower_flammable_limit, fractions=fractions)
    work.tell(NOTE, f"Every share of the flammable limit in this plan is of this limit, by {flammability.TABLE.source} "
              "and Le Chatelier's rule. Older practice puts methane at "
              f"{flammability.TABLE.printed('lower_older', component=COMPONENTS[0])} %.",
              "Set the monitors to the same limit, or reckon the difference.")
