"""The gas: molar mass, compressibility, density, calorific values, Wobbe index, viscosity, heat ratio, flammable limit.

A composition is a tuple of mole fractions in the order of ``units.COMPONENTS``. Two kinds of temperature: a reference
temperature is one of those that ISO 6976 tabulates (0, 15, 15.55, 20 degC for metering, 25 degC as well for
combustion), at 101.325 kPa; ``temperature`` is that of the gas in the pipe.
"""

from math import isfinite, sqrt

from stillbore.physics.constants import STANDARD_ATMOSPHERE
from stillbore.physics.refusals import (
    NEVER_REACHED,
    NOT_COMPOSITION,
    NOT_FINITE,
    OK,
    OUT_OF_RANGE,
    first_refusal,
    positive,
)
from stillbore.tables.flammability import LOWER_LIMITS
from stillbore.tables.gas_heat_capacity import HEAT_CAPACITY_COEFFICIENTS
from stillbore.tables.gas_viscosity import VISCOSITY_COEFFICIENTS
from stillbore.tables.iso6976_components import (
    GROSS_CALORIFIC_VALUES,
    HYDROGEN_ATOMS,
    MOLAR_MASS_AIR,
    MOLAR_MASSES,
    R_ISO6976,
    SUMMATION_FACTORS,
)
from stillbore.tables.iso6976_reference import (
    COMBUSTION_TEMPERATURES,
    COMPRESSIBILITIES_AIR,
    HEATS_OF_VAPORISATION,
    METERING_TEMPERATURES,
)

COUNT = len(MOLAR_MASSES)
SUM_TOLERANCE = 1e-4           # of the fractions, as in units.parse_composition
SAME_TEMPERATURE = 0.01        # [K]; lets 60 degF (15.556 degC) stand for the 15.55 degC of the standard
AT_15_DEGC = 1                 # place of 15 degC among the reference temperatures
LEAST_COMPRESSIBILITY = 0.9    # below it ISO 6976 does not hold: the gas is near condensing
LOWEST_TEMPERATURE = 250.0     # [K]; the span in which viscosity, heat ratio and density were checked
HIGHEST_TEMPERATURE = 325.0
HIGHEST_PRESSURE = 4.0e5       # [Pa abs]; above it Z is no longer near enough linear in pressure


def _place(temperature: float, tabulated: tuple[float, ...]) -> int:
    """The place of a temperature among the tabulated ones, or -1."""
    for place in range(len(tabulated)):
        if abs(temperature - tabulated[place]) < SAME_TEMPERATURE:
            return place
    return -1


def _weighted_sum(fractions: tuple[float, ...], values: tuple[float, ...]) -> float:
    total = 0.0
    for index in range(COUNT):
        total += fractions[index] * values[index]
    return total


def _compressibility(fractions: tuple[float, ...], place: int, pressure: float) -> float:
    root = _weighted_sum(fractions, SUMMATION_FACTORS[place])
    return 1.0 - pressure / STANDARD_ATMOSPHERE * root * root


def _composition_refusal(fractions: tuple[float, ...]) -> int:
    if len(fractions) != COUNT:
        return NOT_COMPOSITION
    total = 0.0
    for index in range(COUNT):
        if not isfinite(fractions[index]):
            return NOT_FINITE
        if not (fractions[index] >= 0.0):
            return NOT_COMPOSITION
        total += fractions[index]
    return OK if abs(total - 1.0) <= SUM_TOLERANCE else NOT_COMPOSITION


def _tabulated_refusal(temperature: float, tabulated: tuple[float, ...]) -> int:
    if not isfinite(temperature):
        return NOT_FINITE
    return OK if _place(temperature, tabulated) >= 0 else OUT_OF_RANGE


def _temperature_refusal(temperature: float) -> int:
    code = positive(temperature)
    if code == OK and not (LOWEST_TEMPERATURE <= temperature <= HIGHEST_TEMPERATURE):
        code = OUT_OF_RANGE
    return code


def molar_mass_refusal(fractions: tuple[float, ...]) -> int:
    return _composition_refusal(fractions)


def molar_mass(fractions: tuple[float, ...]) -> float:
    """Molar mass of the gas.

    Formula:  M = sum(x_i M_i)

    Args:
        fractions: composition of the gas [mole fractions]
    Returns:
        M: molar mass [kg/mol]
    Source: ISO-6976-2016
    """
    return _weighted_sum(fractions, MOLAR_MASSES)


def compressibility_refusal(fractions: tuple[float, ...], reference_temperature: float) -> int:
    code = first_refusal((_composition_refusal(fractions),
                          _tabulated_refusal(reference_temperature, METERING_TEMPERATURES)))
    if code == OK and not (compressibility(fractions, reference_temperature) > LEAST_COMPRESSIBILITY):
        code = OUT_OF_RANGE
    return code


def compressibility(fractions: tuple[float, ...], reference_temperature: float) -> float:
    """Compression factor of the gas at a metering reference temperature and 101.325 kPa.

    Formula:  Z = 1 - (sum(x_i s_i))^2

    Args:
        fractions: composition of the gas [mole fractions]
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], turns
    Returns:
        Z: compression factor [-]
    Source: ISO-6976-2016
    Notes: refused where Z is 0.9 or below, as in the standard. Hydrogen has a negative summation factor, so that Z of
        a blend can rise or fall with the reference temperature.
    """
    return _compressibility(fractions, _place(reference_temperature, METERING_TEMPERATURES), STANDARD_ATMOSPHERE)


def reference_density(fractions: tuple[float, ...], reference_temperature: float) -> float:
    """Density of the gas at a metering reference temperature and 101.325 kPa.

    Formula:  rho = p M / (Z R T)

    Args:
        fractions: composition of the gas [mole fractions]
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        rho: density of the real gas [kg/m3]
    Source: ISO-6976-2016
    """
    compression = compressibility(fractions, reference_temperature)
    return STANDARD_ATMOSPHERE * molar_mass(fractions) / (compression * R_ISO6976 * reference_temperature)


reference_density_refusal = compressibility_refusal


def relative_density(fractions: tuple[float, ...], reference_temperature: float) -> float:
    """Relative density of the gas: its density over that of dry air in the same condition.

    Formula:  d = (M / M_air) (Z_air / Z)

    Args:
        fractions: composition of the gas [mole fractions]
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], turns
    Returns:
        d: relative density of the real gas [-]
    Source: ISO-6976-2016
    """
    compression_air = COMPRESSIBILITIES_AIR[_place(reference_temperature, METERING_TEMPERATURES)]
    return (molar_mass(fractions) / MOLAR_MASS_AIR * compression_air
            / compressibility(fractions, reference_temperature))


relative_density_refusal = compressibility_refusal


def _combustion_refusal(fractions: tuple[float, ...], combustion_temperature: float) -> int:
    return first_refusal((_composition_refusal(fractions),
                          _tabulated_refusal(combustion_temperature, COMBUSTION_TEMPERATURES)))


def gross_calorific_value_molar(fractions: tuple[float, ...], combustion_temperature: float) -> float:
    """Gross calorific value per mole: the water formed is condensed.

    Formula:  H_G = sum(x_i H_Gi)

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
    Returns:
        H_G: gross calorific value of the ideal gas [J/mol]
    Source: ISO-6976-2016
    Notes: water vapour in the gas counts with its heat of condensation. It falls with the combustion temperature for
        every component but carbon monoxide.
    """
    return _weighted_sum(fractions, GROSS_CALORIFIC_VALUES[_place(combustion_temperature, COMBUSTION_TEMPERATURES)])


gross_calorific_value_molar_refusal = _combustion_refusal


def net_calorific_value_molar(fractions: tuple[float, ...], combustion_temperature: float) -> float:
    """Net calorific value per mole: the water formed stays vapour.

    Formula:  H_N = H_G - L_0 sum(x_i b_i / 2), with b_i the hydrogen atoms of the molecule

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
    Returns:
        H_N: net calorific value of the ideal gas [J/mol]
    Source: ISO-6976-2016
    Notes: the edition of 1995 tabulated net values apart; they differ in the fifth figure.
    """
    vaporisation = HEATS_OF_VAPORISATION[_place(combustion_temperature, COMBUSTION_TEMPERATURES)]
    return (gross_calorific_value_molar(fractions, combustion_temperature)
            - 0.5 * vaporisation * _weighted_sum(fractions, HYDROGEN_ATOMS))


net_calorific_value_molar_refusal = _combustion_refusal


def gross_calorific_value_mass(fractions: tuple[float, ...], combustion_temperature: float) -> float:
    """Gross calorific value per kilogram.

    Formula:  H_mG = H_G / M

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
    Returns:
        H_mG: gross calorific value by mass [J/kg]
    Source: ISO-6976-2016
    """
    return gross_calorific_value_molar(fractions, combustion_temperature) / molar_mass(fractions)


gross_calorific_value_mass_refusal = _combustion_refusal


def net_calorific_value_mass(fractions: tuple[float, ...], combustion_temperature: float) -> float:
    """Net calorific value per kilogram.

    Formula:  H_mN = H_N / M

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
    Returns:
        H_mN: net calorific value by mass [J/kg]
    Source: ISO-6976-2016
    """
    return net_calorific_value_molar(fractions, combustion_temperature) / molar_mass(fractions)


net_calorific_value_mass_refusal = _combustion_refusal


def _volume_refusal(fractions: tuple[float, ...], combustion_temperature: float, reference_temperature: float) -> int:
    return first_refusal((_combustion_refusal(fractions, combustion_temperature),
                          compressibility_refusal(fractions, reference_temperature)))


def _molar_volume(fractions: tuple[float, ...], reference_temperature: float) -> float:
    return (compressibility(fractions, reference_temperature) * R_ISO6976 * reference_temperature
            / STANDARD_ATMOSPHERE)


def gross_calorific_value_volume(fractions: tuple[float, ...], combustion_temperature: float,
                                 reference_temperature: float) -> float:
    """Gross calorific value per cubic metre of real gas, metered at the reference temperature and 101.325 kPa.

    Formula:  H_vG = H_G p / (Z R T)

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        H_vG: gross calorific value by volume [J/m3]
    Source: ISO-6976-2016
    """
    return (gross_calorific_value_molar(fractions, combustion_temperature)
            / _molar_volume(fractions, reference_temperature))


gross_calorific_value_volume_refusal = _volume_refusal


def net_calorific_value_volume(fractions: tuple[float, ...], combustion_temperature: float,
                               reference_temperature: float) -> float:
    """Net calorific value per cubic metre of real gas, metered at the reference temperature and 101.325 kPa.

    Formula:  H_vN = H_N p / (Z R T)

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        H_vN: net calorific value by volume [J/m3]
    Source: ISO-6976-2016
    """
    return (net_calorific_value_molar(fractions, combustion_temperature)
            / _molar_volume(fractions, reference_temperature))


net_calorific_value_volume_refusal = _volume_refusal


def wobbe_gross(fractions: tuple[float, ...], combustion_temperature: float, reference_temperature: float) -> float:
    """Gross Wobbe index: two gases with the same index give a burner the same heat at the same pressure.

    Formula:  W_G = H_vG / sqrt(d)

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        W_G: gross Wobbe index [J/m3]
    Source: ISO-6976-2016
    """
    return (gross_calorific_value_volume(fractions, combustion_temperature, reference_temperature)
            / sqrt(relative_density(fractions, reference_temperature)))


wobbe_gross_refusal = _volume_refusal


def wobbe_net(fractions: tuple[float, ...], combustion_temperature: float, reference_temperature: float) -> float:
    """Net Wobbe index.

    Formula:  W_N = H_vN / sqrt(d)

    Args:
        fractions: composition of the gas [mole fractions]
        combustion_temperature: combustion reference temperature, 0, 15, 15.55, 20 or 25 degC [K], turns
        reference_temperature: metering reference temperature, 0, 15, 15.55 or 20 degC [K], falls
    Returns:
        W_N: net Wobbe index [J/m3]
    Source: ISO-6976-2016
    """
    return (net_calorific_value_volume(fractions, combustion_temperature, reference_temperature)
            / sqrt(relative_density(fractions, reference_temperature)))


wobbe_net_refusal = _volume_refusal


def density_refusal(fractions: tuple[float, ...], pressure: float, temperature: float) -> int:
    code = first_refusal((_composition_refusal(fractions), positive(pressure), _temperature_refusal(temperature)))
    if code == OK and not (pressure <= HIGHEST_PRESSURE
                           and _compressibility(fractions, AT_15_DEGC, pressure) > LEAST_COMPRESSIBILITY):
        code = OUT_OF_RANGE
    return code


def density(fractions: tuple[float, ...], pressure: float, temperature: float) -> float:
    """Density of the gas as it stands in the pipe.

    Formula:  rho = p M / (Z R T), with Z = 1 - (p / p_0) (sum(x_i s_i))^2 and s_i at 15 degC

    Args:
        fractions: composition of the gas [mole fractions]
        pressure: absolute pressure of the gas, p [Pa abs], rises
        temperature: temperature of the gas, T [K], falls
    Returns:
        rho: density of the real gas [kg/m3]
    Source: ISO-6976-2016
    Notes: our use of the standard's Z outside its reference conditions. Against GERG-2008 from 0 to 30 degC: natural
        gas and its hydrogen blend within 0.05 % below 1.2 bar abs and 0.2 % up to 4 bar abs (0.6 % from 250 to 325 K),
        hydrogen within 0.08 % and 0.3 %, propane within 0.4 % and 2 %. Hydrogen errs because the standard's square
        cannot make Z exceed one. Whether something would condense (propane, hexane, water in the cold) is not asked.
    """
    compression = _compressibility(fractions, AT_15_DEGC, pressure)
    return pressure * molar_mass(fractions) / (compression * R_ISO6976 * temperature)


def _polynomial(coefficients: tuple[float, ...], temperature: float) -> float:
    total = 0.0
    power = 1.0
    for order in range(len(coefficients)):
        total += coefficients[order] * power
        power *= temperature
    return total


def viscosity_refusal(fractions: tuple[float, ...], temperature: float) -> int:
    return first_refusal((_composition_refusal(fractions), _temperature_refusal(temperature)))


def viscosity(fractions: tuple[float, ...], temperature: float) -> float:
    """Dynamic viscosity of the gas at low pressure.

    Formula:  mu = sum(x_i mu_i / sum(x_j phi_ij)),
              phi_ij = (1 + (mu_i / mu_j)^(1/2) (M_j / M_i)^(1/4))^2 / (8 (1 + M_i / M_j))^(1/2),
              mu_i = A_i + B_i T + C_i T^2 + D_i T^3 + E_i T^4

    Args:
        fractions: composition of the gas [mole fractions]
        temperature: temperature of the gas, T [K], rises
    Returns:
        mu: dynamic viscosity [Pa s]
    Source: WILKE-1950, VDI-HEAT-ATLAS-2010
    Notes: pressure does not enter: below 4 bar abs it moves the viscosity of methane by less than 0.5 %. Wilke's
        rule reads high where hydrogen prevails: 1 % at a fifth, 3 % at four fifths, against kinetic theory.
        Measurements of methane lie about 1 % lower.
    """
    total = 0.0
    for this in range(COUNT):
        if fractions[this] > 0.0:
            own = _polynomial(VISCOSITY_COEFFICIENTS[this], temperature)
            drag = 0.0
            for other in range(COUNT):
                if fractions[other] > 0.0:
                    theirs = _polynomial(VISCOSITY_COEFFICIENTS[other], temperature)
                    masses = MOLAR_MASSES[this] / MOLAR_MASSES[other]
                    step = 1.0 + sqrt(own / theirs) / sqrt(sqrt(masses))
                    drag += fractions[other] * step * step / sqrt(8.0 * (1.0 + masses))
            total += fractions[this] * own / drag
    return total


def heat_ratio_refusal(fractions: tuple[float, ...], temperature: float) -> int:
    return first_refusal((_composition_refusal(fractions), _temperature_refusal(temperature)))


def heat_ratio(fractions: tuple[float, ...], temperature: float) -> float:
    """Ratio of the specific heats of the gas, taken as ideal.

    Formula:  gamma = c / (c - 1), with c = cp/R = sum(x_i (a0 + a1 T + a2 T^2 + a3 T^3 + a4 T^4)_i)

    Args:
        fractions: composition of the gas [mole fractions]
        temperature: temperature of the gas, T [K], turns
    Returns:
        gamma: cp / cv [-]
    Source: POLING-2001
    Notes: falls with temperature for every fuel gas; for air, nitrogen and carbon monoxide it hardly moves. The real
        gas at 1 bar abs has 0.3 % more for methane, 1 % more for propane.
    """
    fractions_sum = 0.0
    capacity = 0.0
    for index in range(COUNT):
        if fractions[index] > 0.0:
            fractions_sum += fractions[index]
            capacity += fractions[index] * _polynomial(HEAT_CAPACITY_COEFFICIENTS[index], temperature)
    return capacity / (capacity - fractions_sum)


def _le_chatelier(fractions: tuple[float, ...], limits: tuple[float, ...]) -> float:
    """The lower limit of the whole gas, or infinity where nothing in it burns. A limit of 0 marks what does not."""
    burning = 0.0
    weighted = 0.0
    for index in range(COUNT):
        if limits[index] > 0.0:
            burning += fractions[index]
            weighted += fractions[index] / limits[index]
    if not (weighted > 0.0):
        return float("inf")
    of_burning_part = burning / weighted
    return of_burning_part / burning


def lower_flammable_limit_refusal(fractions: tuple[float, ...]) -> int:
    code = _composition_refusal(fractions)
    if code == OK and not (_le_chatelier(fractions, LOWER_LIMITS) < 1.0):
        code = NEVER_REACHED
    return code


def lower_flammable_limit(fractions: tuple[float, ...]) -> float:
    """Lower flammable limit of the gas in air, on the IEC basis (methane 4.4 %).

    Formula:  L = (y / sum(x_i / L_i)) / y, over the components that burn, y = sum(x_i)

    Args:
        fractions: composition of the gas [mole fractions]
    Returns:
        L: volume fraction of the gas in air [-]
    Source: LE-CHATELIER-1891, IEC-60079-20-1-2010
    Notes: the limit of the burning part by Le Chatelier's rule, divided by the share y that burns: nitrogen and
        carbon dioxide in the gas only dilute it. In truth they also cool the flame, so the figure errs low, on the
        cautious side. Older tables and many monitors use methane 5.0 %: a reading in % LFL must say its basis.
    """
    return _le_chatelier(fractions, LOWER_LIMITS)
