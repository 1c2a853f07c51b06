"""Flow formulas in which codes and handbooks size low-pressure gas pipe: each with its own constants and habits.

They do not agree with each other nor with Colebrook; the ledger and tests/reference/test_sizing.py say by how much.
A plan sizes with flow.py; these are for those who must show the number of their own code. Each works in the units it
was written in; the conversion is here, and only here.
"""

from math import sqrt

from stillbore.physics.refusals import OK, OUT_OF_RANGE, first_refusal, positive

INCH = 0.0254
FOOT = 0.3048
INCH_OF_WATER = 249.08891  # Pa, at 4 degC; the fuel gas code rounds it to 27.7 in to the psi (0.07 % less)
CUBIC_FEET_AN_HOUR = FOOT**3 / 3600.0
MBAR = 100.0
CUBIC_METRES_AN_HOUR = 1.0 / 3600.0

# The fuel gas code's factor for viscosity, density and temperature, natural gas of relative density 0.60.
NATURAL_GAS_FACTOR = 0.6094


def _size_refusal(value: float, low: float, high: float) -> int:
    code = positive(value)
    if code == OK and not (low <= value <= high):
        code = OUT_OF_RANGE
    return code


def _pipe_refusal(pressure_drop: float, length: float, bore: float) -> int:
    return first_refusal((_size_refusal(pressure_drop, 1e-3, 10342.1), _size_refusal(length, 1e-2, 1e5),
                          _size_refusal(bore, 1e-3, 1.0)))


def code_flow_refusal(pressure_drop: float, length: float, bore: float) -> int:
    return _pipe_refusal(pressure_drop, length, bore)


def code_flow(pressure_drop: float, length: float, bore: float) -> float:
    """Natural gas that a pipe carries by the fuel gas code's low-pressure formula, the one behind its tables.

    Formula:  Q = 2313 d^2.623 (dH/(C L))^0.541, C = 0.6094; ft3/h, in, in of water, ft

    Args:
        pressure_drop: allowed drop, dH [Pa], rises
        length: length of pipe, L [m], falls
        bore: inside diameter, d [m], rises
    Returns:
        Q: flow of natural gas at 60 degF and 30 in of mercury [m3/s]
    Source: NFPA-54-2012, IFGC-2018
    Notes: Relative density 0.60, inlet below 1.5 psi; refused above. The coefficient 2313 is from memory, checked
        against the tables (within 1 %); the code calls the pipe smooth, and its tables for steel and PE share it.
    """
    inches = bore / INCH
    slope = pressure_drop / INCH_OF_WATER / (NATURAL_GAS_FACTOR * length / FOOT)
    return 2313.0 * inches**2.623 * slope**0.541 * CUBIC_FEET_AN_HOUR


def code_diameter_refusal(flow: float, pressure_drop: float, length: float) -> int:
    return first_refusal((_size_refusal(flow, 1e-9, 1e3), _size_refusal(pressure_drop, 1e-3, 10342.1),
                          _size_refusal(length, 1e-2, 1e5)))


def code_diameter(flow: float, pressure_drop: float, length: float) -> float:
    """Bore that the fuel gas code's low-pressure formula asks for, for natural gas.

    Formula:  d = Q^0.381/(19.17 (dH/(C L))^0.206), C = 0.6094; in, ft3/h, in of water, ft

    Args:
        flow: flow of natural gas at 60 degF and 30 in of mercury, Q [m3/s], rises
        pressure_drop: allowed drop, dH [Pa], falls
        length: length of pipe, L [m], rises
    Returns:
        d: inside diameter [m]
    Source: NFPA-54-2012, IFGC-2018
    Notes: The form printed in the code, coefficients from memory, checked against its tables. Its exponents are rounded
        apart from those of code_flow, so it asks for 0.3 % less bore, which is 0.7 % in flow.
    """
    slope = pressure_drop / INCH_OF_WATER / (NATURAL_GAS_FACTOR * length / FOOT)
    return (flow / CUBIC_FEET_AN_HOUR)**0.381 / (19.17 * slope**0.206) * INCH


def spitzglass_flow_refusal(pressure_drop: float, length: float, bore: float, relative_density: float) -> int:
    return first_refusal((_pipe_refusal(pressure_drop, length, bore), _size_refusal(relative_density, 0.01, 10.0)))


def spitzglass_flow(pressure_drop: float, length: float, bore: float, relative_density: float) -> float:
    """Flow that a pipe carries by the Spitzglass formula for low pressure.

    Formula:  Q = 3550 sqrt(d^5/(1 + 3.6/d + 0.03 d)) sqrt(h/(L s)); ft3/h, in, in of water, ft

    Args:
        pressure_drop: allowed drop, h [Pa], rises
        length: length of pipe, L [m], falls
        bore: inside diameter, d [m], rises
        relative_density: density over that of air, s [-], falls
    Returns:
        Q: flow at standard conditions [m3/s]
    Source: SPITZGLASS-LOW
    Notes: Meant for below 1 psi. Its 3.6/d term makes small pipes much rougher than the fuel gas code does: against the
        code's tables for 0.5 in of water 24 % less flow at 3/4 in and 10 ft, 2 % more at 2 in and 100 ft. Never test
        one against the other.
    """
    inches = bore / INCH
    shape = inches**5 / (1.0 + 3.6 / inches + 0.03 * inches)
    slope = pressure_drop / INCH_OF_WATER / (length / FOOT * relative_density)
    return 3550.0 * sqrt(shape) * sqrt(slope) * CUBIC_FEET_AN_HOUR


def pole_flow_refusal(pressure_drop: float, length: float, bore: float, relative_density: float) -> int:
    return first_refusal((_pipe_refusal(pressure_drop, length, bore), _size_refusal(relative_density, 0.01, 10.0)))


def pole_flow(pressure_drop: float, length: float, bore: float, relative_density: float) -> float:
    """Flow that a pipe carries by Pole's formula, the oldest rule for low-pressure gas.

    Formula:  Q = 0.0071 sqrt(d^5 h/(s L)); m3/h, mm, mbar, m

    Args:
        pressure_drop: allowed drop, h [Pa], rises
        length: length of pipe, L [m], falls
        bore: inside diameter, d [m], rises
        relative_density: density over that of air, s [-], falls
    Returns:
        Q: flow at standard conditions [m3/s]
    Source: POLE-FORMULA
    Notes: A constant friction factor, whatever the Reynolds number. Constant from memory; the imperial parent,
        1350 with inches, inches of water and yards, converts to 0.00712, so this one is 0.3 % low.
    """
    millimetres = bore * 1000.0
    slope = pressure_drop / MBAR / (relative_density * length)
    return 0.0071 * sqrt(millimetres**5 * slope) * CUBIC_METRES_AN_HOUR
