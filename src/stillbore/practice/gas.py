"""How gas is carried and how it passes through openings, for the virtual rig only.

Gas is counted in moles, so that air and natural gas obey one ideal gas law however they are mixed. An opening lets gas
through by two laws side by side: viscous flow in a long crack (laminar, by the difference of the squares of the
absolute pressures) and a short hole (nozzle flow, subcritical or choked). All SI, pressures absolute.
"""

from __future__ import annotations

import math

import numba

GAS_CONSTANT = 8.314462618  # J/(mol K)
ATMOSPHERE = 101325.0  # Pa, the pressure at which a leak is stated
ZERO_CELSIUS = 273.15

# Air, and natural gas as the service carries it: molar mass [kg/mol], heat capacity at constant volume [J/(mol K)],
# viscosity [Pa s]. Common practice; pure figures, without a composition.
AIR_MASS, AIR_CV, AIR_VISCOSITY = 0.028965, 20.79, 1.8e-5
FUEL_MASS, FUEL_CV, FUEL_VISCOSITY = 0.0176, 26.9, 1.08e-5


@numba.njit(cache=True)
def hole_flux(up: float, down: float, temperature: float, fuel: float) -> float:
    """Moles a second through one square metre of effective hole [mol/(s m2)]: the isentropic nozzle of the textbooks.

    Pressures [Pa abs], ``up`` above ``down``, both above nought; ``temperature`` [K] and ``fuel``, the share of natural
    gas, are those upstream.
    """
    mass = AIR_MASS + fuel * (FUEL_MASS - AIR_MASS)
    k = 1.0 + GAS_CONSTANT / (AIR_CV + fuel * (FUEL_CV - AIR_CV))
    ratio = down / up
    if ratio < 0.6:  # every gas's critical ratio lies below; beyond it nothing more passes
        ratio = max(ratio, (2.0 / (k + 1.0)) ** (k / (k - 1.0)))
    # r^(2/k) - r^((k+1)/k), written so that it keeps its digits when hardly any pressure drives it.
    logarithm = math.log(ratio)
    shape = math.exp(2.0 / k * logarithm) * -math.expm1((k - 1.0) / k * logarithm)
    return up * math.sqrt(2.0 * k / (k - 1.0) * shape / (mass * GAS_CONSTANT * temperature))


@numba.njit(cache=True)
def crack_drive(up: float, down: float, temperature: float, fuel: float) -> float:
    """What drives a laminar crack [Pa/(K s)]; moles a second are this times its coefficient [mol K/Pa]."""
    viscosity = AIR_VISCOSITY + fuel * (FUEL_VISCOSITY - AIR_VISCOSITY)
    return (up * up - down * down) / (viscosity * temperature)


def moles_per_second(flow: float, temperature: float) -> float:
    """Moles a second of a flow [m3/s] stated at one atmosphere and this temperature [K]."""
    return flow * ATMOSPHERE / (GAS_CONSTANT * temperature)


def opening_for(flow: float, laminar_share: float, up: float, down: float, temperature: float,
                fuel: float = 0.0) -> tuple[float, float]:
    """Crack coefficient and hole area that together pass ``flow`` [m3/s at one atmosphere] under these pressures."""
    moles = moles_per_second(flow, temperature)
    return (laminar_share * moles / crack_drive(up, down, temperature, fuel),
            (1.0 - laminar_share) * moles / hole_flux(up, down, temperature, fuel))
