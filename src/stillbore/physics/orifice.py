"""Flow of gas through a hole in a thin wall: sub-critical and choked, and the hole that a flow betrays.

Absolute pressures throughout. One function holds both branches and takes the one that the critical ratio says.
"""

from math import expm1, log1p, pi, sqrt
from typing import NamedTuple

from stillbore.physics.constants import CELSIUS_ZERO, R_MOLAR, STANDARD_ATMOSPHERE
from stillbore.physics.refusals import NEVER_REACHED, OK, OUT_OF_RANGE, REVERSED, first_refusal, not_negative, positive

STANDARD_TEMPERATURE = CELSIUS_ZERO + 15.0


class HoleFlow(NamedTuple):
    """Mass flow through a hole, and whether it is choked there (1) or not (0)."""

    mass_flow: float
    choked: float


def _size_refusal(value: float, low: float, high: float) -> int:
    code = positive(value)
    if code == OK and not (low <= value <= high):
        code = OUT_OF_RANGE
    return code


def heat_ratio_refusal(heat_ratio: float) -> int:
    """cp/cv of a gas: 5/3 for a monatomic one is the most there is, and at 1 the formulas have no value."""
    return _size_refusal(heat_ratio, 1.01, 1.7)


def gas_refusal(pressure_up: float, pressure_down: float, temperature: float, molar_mass: float,
                compressibility: float, heat_ratio: float) -> int:
    """What every flow of a compressible gas from one pressure to another needs."""
    code = first_refusal((_size_refusal(pressure_up, 1.0, 1e9), _size_refusal(pressure_down, 1e-3, 1e9),
                          _size_refusal(temperature, 10.0, 5000.0), _size_refusal(molar_mass, 1e-4, 1.0),
                          _size_refusal(compressibility, 0.05, 5.0), heat_ratio_refusal(heat_ratio)))
    if code == OK and pressure_down > pressure_up:
        code = REVERSED
    return code


def critical_pressure_ratio_refusal(heat_ratio: float) -> int:
    return heat_ratio_refusal(heat_ratio)


def critical_pressure_ratio(heat_ratio: float) -> float:
    """Ratio of downstream to upstream absolute pressure at and below which a hole is choked.

    Formula:  r_c = (2/(k + 1))^(k/(k - 1))

    Args:
        heat_ratio: cp over cv, k [-], falls
    Returns:
        r_c: critical pressure ratio [-]
    Source: IEC-60079-10-1-2015
    """
    return (2.0 / (heat_ratio + 1.0))**(heat_ratio / (heat_ratio - 1.0))


def choking_pressure_refusal(pressure_down: float, heat_ratio: float) -> int:
    return first_refusal((_size_refusal(pressure_down, 1e-3, 1e9), heat_ratio_refusal(heat_ratio)))


def choking_pressure(pressure_down: float, heat_ratio: float) -> float:
    """Absolute pressure upstream of a hole from which on it is choked: about 0.85 bar gauge for natural gas into air.

    Formula:  p_c = p_a ((k + 1)/2)^(k/(k - 1))

    Args:
        pressure_down: pressure behind the hole, p_a [Pa abs], rises
        heat_ratio: cp over cv, k [-], rises
    Returns:
        p_c: pressure upstream at which choking sets in [Pa abs]
    Source: IEC-60079-10-1-2015
    """
    return pressure_down / critical_pressure_ratio(heat_ratio)


def throat_pressure_refusal(pressure_up: float, heat_ratio: float) -> int:
    return first_refusal((_size_refusal(pressure_up, 1.0, 1e9), heat_ratio_refusal(heat_ratio)))


def throat_pressure(pressure_up: float, heat_ratio: float) -> float:
    """Absolute pressure in a choked hole, below which the air outside can no longer pull the flow up.

    Formula:  p_star = p (2/(k + 1))^(k/(k - 1))

    Args:
        pressure_up: pressure upstream, p [Pa abs], rises
        heat_ratio: cp over cv, k [-], falls
    Returns:
        p_star: pressure in the hole when it is choked [Pa abs]
    Source: IEC-60079-10-1-2015
    """
    return pressure_up * critical_pressure_ratio(heat_ratio)


def _mass_flux(pressure_up: float, pressure_down: float, temperature: float, molar_mass: float,
               compressibility: float, heat_ratio: float) -> float:
    """Mass flow per area of a perfect nozzle; the hole's pressure is the outside one, or the critical if higher."""
    throat = max(pressure_down, pressure_up * critical_pressure_ratio(heat_ratio))
    log_ratio = log1p((throat - pressure_up) / pressure_up)
    # 1 - r^((k-1)/k), by expm1 because a few millibar would leave it few digits
    expansion = -expm1((heat_ratio - 1.0) / heat_ratio * log_ratio)
    density_ratio = 1.0 + expm1(log_ratio / heat_ratio)
    return (pressure_up * density_ratio * sqrt(molar_mass / (compressibility * R_MOLAR * temperature)
                                               * 2.0 * heat_ratio / (heat_ratio - 1.0) * expansion))


def hole_mass_flow_refusal(hole_diameter: float, pressure_up: float, pressure_down: float, temperature: float,
                           molar_mass: float, compressibility: float, heat_ratio: float,
                           discharge_coefficient: float) -> int:
    return first_refusal((
        _size_refusal(hole_diameter, 1e-9, 10.0),
        gas_refusal(pressure_up, pressure_down, temperature, molar_mass, compressibility, heat_ratio),
        _size_refusal(discharge_coefficient, 1e-3, 1.0)))


def hole_mass_flow(hole_diameter: float, pressure_up: float, pressure_down: float, temperature: float,
                   molar_mass: float, compressibility: float, heat_ratio: float,
                   discharge_coefficient: float) -> HoleFlow:
    """Mass flow of gas through a hole, choked or not, with a flag that says which.

    Formula:  W = C A p sqrt(M/(Z R T) 2k/(k-1) (1 - r^((k-1)/k))) r^(1/k), r = max(p_a/p, (2/(k+1))^(k/(k-1)))

    Args:
        hole_diameter: diameter of the hole, A = pi d^2/4 [m], rises
        pressure_up: pressure upstream, at rest, p [Pa abs], rises
        pressure_down: pressure behind the hole, p_a [Pa abs], falls
        temperature: temperature upstream, T [K], falls
        molar_mass: molar mass, M [kg/mol], rises
        compressibility: real-gas factor upstream, Z [-], falls
        heat_ratio: cp over cv, k [-], rises
        discharge_coefficient: discharge coefficient, C [-], rises
    Returns:
        mass_flow: mass flow, W [kg/s]
        choked: 1 when the hole is choked, 0 when not [-]
    Source: IEC-60079-10-1-2015
    Notes: With r at the critical ratio the formula is the standard's choked one. Gas upstream at rest: hole small
        against the pipe, else see fanno.open_end_mass_flow. C is about 0.6 to 0.62 for a sharp edge at low pressure,
        0.75 to 0.85 choked, 1 as the worst (common practice). Very fine leaks are laminar and pass less.
    """
    area = 0.25 * pi * hole_diameter * hole_diameter
    flux = _mass_flux(pressure_up, pressure_down, temperature, molar_mass, compressibility, heat_ratio)
    choked = 1.0 if pressure_down <= pressure_up * critical_pressure_ratio(heat_ratio) else 0.0
    return HoleFlow(discharge_coefficient * area * flux, choked)


def hole_volume_flow_refusal(hole_diameter: float, pressure_up: float, pressure_down: float, temperature: float,
                             molar_mass: float, compressibility: float, heat_ratio: float,
                             discharge_coefficient: float) -> int:
    return hole_mass_flow_refusal(hole_diameter, pressure_up, pressure_down, temperature, molar_mass, compressibility,
                                  heat_ratio, discharge_coefficient)


def hole_volume_flow(hole_diameter: float, pressure_up: float, pressure_down: float, temperature: float,
                     molar_mass: float, compressibility: float, heat_ratio: float,
                     discharge_coefficient: float) -> float:
    """Flow of gas through a hole as a volume at 15 degC and one standard atmosphere.

    Formula:  Q = W R T_s/(M p_s), T_s = 288.15 K, p_s = 101325 Pa

    Args:
        hole_diameter: diameter of the hole [m], rises
        pressure_up: pressure upstream, at rest [Pa abs], rises
        pressure_down: pressure behind the hole [Pa abs], falls
        temperature: temperature upstream [K], falls
        molar_mass: molar mass, M [kg/mol], falls
        compressibility: real-gas factor upstream, Z [-], falls
        heat_ratio: cp over cv, k [-], rises
        discharge_coefficient: discharge coefficient, C [-], rises
    Returns:
        Q: flow at 15 degC and 101325 Pa [m3/s]
    Source: IEC-60079-10-1-2015
    Notes: W is that of hole_mass_flow. The gas is taken as ideal at standard conditions, which makes the volume of
        natural gas about 0.2 % too large.
    """
    mass_flow = hole_mass_flow(hole_diameter, pressure_up, pressure_down, temperature, molar_mass, compressibility,
                               heat_ratio, discharge_coefficient).mass_flow
    return standard_volume_flow(mass_flow, molar_mass)


def hole_diameter_for_flow_refusal(flow: float, pressure_up: float, pressure_down: float, temperature: float,
                                   molar_mass: float, compressibility: float, heat_ratio: float,
                                   discharge_coefficient: float) -> int:
    code = first_refusal((
        _size_refusal(flow, 1e-15, 1e6),
        gas_refusal(pressure_up, pressure_down, temperature, molar_mass, compressibility, heat_ratio),
        _size_refusal(discharge_coefficient, 1e-3, 1.0)))
    if code == OK and not (pressure_down < pressure_up):
        code = NEVER_REACHED
    return code


def hole_diameter_for_flow(flow: float, pressure_up: float, pressure_down: float, temperature: float,
                           molar_mass: float, compressibility: float, heat_ratio: float,
                           discharge_coefficient: float) -> float:
    """Diameter of the round hole that would pass a given flow: what a leak rate says of the fault's size.

    Formula:  d = sqrt(4 W/(pi C w)), W = Q M p_s/(R T_s), w the mass flow per area of hole_mass_flow at C = 1

    Args:
        flow: flow at 15 degC and 101325 Pa, Q [m3/s], rises
        pressure_up: pressure upstream, at rest [Pa abs], falls
        pressure_down: pressure behind the hole [Pa abs], rises
        temperature: temperature upstream [K], rises
        molar_mass: molar mass, M [kg/mol], rises
        compressibility: real-gas factor upstream, Z [-], rises
        heat_ratio: cp over cv, k [-], falls
        discharge_coefficient: discharge coefficient, C [-], falls
    Returns:
        d: diameter of the hole [m]
    Source: IEC-60079-10-1-2015
    Notes: Inverse of hole_volume_flow. A flow goes with the area, so this is closed form and needs no solver.
    """
    mass_flow = flow * molar_mass * STANDARD_ATMOSPHERE / (R_MOLAR * STANDARD_TEMPERATURE)
    flux = _mass_flux(pressure_up, pressure_down, temperature, molar_mass, compressibility, heat_ratio)
    return sqrt(4.0 * mass_flow / (pi * discharge_coefficient * flux))


def standard_volume_flow_refusal(mass_flow: float, molar_mass: float) -> int:
    return first_refusal((not_negative(mass_flow), positive(molar_mass)))


def standard_volume_flow(mass_flow: float, molar_mass: float) -> float:
    """A mass flow as a volume at 15 C and 101 325 Pa, the gas taken as ideal.

    Formula:  Q = W R T_0 / (p_0 M)

    Args:
        mass_flow: mass flow, W [kg/s], rises
        molar_mass: molar mass, M [kg/mol], falls
    Returns:
        Q: volume flow at standard conditions [m3/s]
    Source: BIPM-SI-2019
    """
    return mass_flow * R_MOLAR * STANDARD_TEMPERATURE / (STANDARD_ATMOSPHERE * molar_mass)
