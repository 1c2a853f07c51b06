"""What comes out, and what it warms."""

from stillbore.physics.constants import STANDARD_ATMOSPHERE
from stillbore.physics.gas import compressibility, compressibility_refusal
from stillbore.physics.refusals import first_refusal, not_negative, positive
from stillbore.tables.iso6976_components import MOLAR_MASSES, R_ISO6976

METHANE = 0  # place of methane among units.COMPONENTS


def lost_volume_refusal(flow: float, duration: float) -> int:
    return first_refusal((not_negative(flow), not_negative(duration)))


def lost_volume(flow: float, duration: float) -> float:
    """Volume that a leak loses in a time.

    Formula:  V = Q t

    Args:
        flow: leak, Q [m3/s], rises
        duration: time, t [s], rises
    Returns:
        V: volume, at the conditions of the flow [m3]
    Source: FLOW-CONTINUITY
    """
    return flow * duration


def warming_refusal(volume: float, methane_density: float, warming_factor: float) -> int:
    return first_refusal((not_negative(volume), not_negative(methane_density), positive(warming_factor)))


def warming(volume: float, methane_density: float, warming_factor: float) -> float:
    """Carbon dioxide that warms as much as the methane in a volume of gas.

    Formula:  m = V rho_CH4 G

    Args:
        volume: volume of gas, V [m3], rises
        methane_density: methane in a cubic metre of it, rho_CH4 [kg/m3], rises
        warming_factor: warming of methane over that of carbon dioxide, by mass, G [-], rises
    Returns:
        m: mass of carbon dioxide [kg]
    Source: IPCC-AR6
    Notes: Over a hundred years 29.8 for fossil methane; right within a half.
    """
    return volume * methane_density * warming_factor


def methane_density_refusal(fractions: tuple[float, ...], reference_temperature: float) -> int:
    return compressibility_refusal(fractions, reference_temperature)


def methane_density(fractions: tuple[float, ...], reference_temperature: float) -> float:
    """Methane in a cubic metre of the gas, at a metering reference temperature and 101.325 kPa.

    Formula:  rho_CH4 = x_CH4 M_CH4 p / (Z R T)

    Args:
        fractions: composition of the gas [mole fractions]
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        rho_CH4: mass of methane in a volume of the gas [kg/m3]
    Source: ISO-6976-2016
    """
    compression = compressibility(fractions, reference_temperature)
    return (fractions[METHANE] * MOLAR_MASSES[METHANE] * STANDARD_ATMOSPHERE
            / (compression * R_ISO6976 * reference_temperature))


def lost_energy_refusal(volume: float, calorific_value: float) -> int:
    return first_refusal((not_negative(volume), not_negative(calorific_value)))


def lost_energy(volume: float, calorific_value: float) -> float:
    """Heat that a volume of gas would have given.

    Formula:  E = V H

    Args:
        volume: volume of gas, V [m3], rises
        calorific_value: calorific value by volume, at the conditions of the volume, H [J/m3], rises
    Returns:
        E: heat [J]
    Source: ENERGY-BALANCE
    """
    return volume * calorific_value
