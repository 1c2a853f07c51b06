"""The continuity bond across the cut: its resistance, what it withstands, and the spark when a circuit opens."""

from math import sqrt

from stillbore.physics.refusals import first_refusal, not_negative, positive


def resistance_refusal(resistivity: float, length: float, conductor_area: float) -> int:
    return first_refusal((positive(resistivity), not_negative(length), positive(conductor_area)))


def resistance(resistivity: float, length: float, conductor_area: float) -> float:
    """Resistance of the bond lead, without its clamps.

    Formula:  R = rho l / A

    Args:
        resistivity: resistivity of the conductor, rho [ohm m], rises
        length: length of the lead, l [m], rises
        conductor_area: cross-section of the conductor, A [m2], falls
    Returns:
        R: resistance [ohm]
    Source: CIRCUIT-THEORY
    Notes: At the temperature of the resistivity (20 C in the table conductors); copper gains 0.4 % a kelvin. A
        stranded lead may have 7 to 15 % more (IEC-60228-2004). Clamps on rust have far more than the lead.
    """
    return resistivity * length / conductor_area


def voltage_drop_refusal(resistance: float, current: float) -> int:
    return first_refusal((not_negative(resistance), not_negative(current)))


def voltage_drop(resistance: float, current: float) -> float:
    """Voltage across the bond while a current flows in it.

    Formula:  U = I R

    Args:
        resistance: resistance of the lead with its clamps, R [ohm], rises
        current: current in the bond, I [A], rises
    Returns:
        U: voltage [V]
    Source: CIRCUIT-THEORY
    Notes: Ohmic part only; at 50 Hz three metres of lead (some 3 microhenry) add about 1 milliohm of reactance.
    """
    return resistance * current


def spark_energy_refusal(inductance: float, current: float) -> int:
    return first_refusal((not_negative(inductance), not_negative(current)))


def spark_energy(inductance: float, current: float) -> float:
    """Energy that the inductance of a circuit gives to the spark when its current is broken.

    Formula:  E = L I^2 / 2

    Args:
        inductance: inductance of the circuit that is opened, L [H], rises
        current: current at the moment it is broken, I [A], rises
    Returns:
        E: energy [J]
    Source: CIRCUIT-THEORY
    Notes: An order of magnitude only. The inductance of a street's pipes is not known (the trade takes 50 microhenry),
        an arc that is fed goes on and gives more, and an a.c. current has its peak at 1.41 times what a meter reads.
    """
    return 0.5 * inductance * current * current


def largest_current_refusal(inductance: float, energy: float) -> int:
    return first_refusal((positive(inductance), not_negative(energy)))


def largest_current(inductance: float, energy: float) -> float:
    """Current whose breaking gives a spark of exactly this energy.

    Formula:  I = sqrt(2 E / L)

    Args:
        inductance: inductance of the circuit that is opened, L [H], falls
        energy: energy of the spark, such as the least that ignites the gas, E [J], rises
    Returns:
        I: current, peak value [A]
    Source: CIRCUIT-THEORY
    Notes: An order of magnitude only, as spark_energy; a limit is set well below it.
    """
    return sqrt(2.0 * energy / inductance)


def withstand_current_refusal(withstand_factor: float, conductor_area: float, duration: float) -> int:
    return first_refusal((positive(withstand_factor), positive(conductor_area), positive(duration)))


def withstand_current(withstand_factor: float, conductor_area: float, duration: float) -> float:
    """Fault current that the lead carries for a short time without spoiling its insulation.

    Formula:  I = k A / sqrt(t)

    Args:
        withstand_factor: k, from material, insulation and temperatures [A s^0.5/m2], rises
        conductor_area: cross-section of the conductor, A [m2], rises
        duration: time that the current flows, t [s], falls
    Returns:
        I: current, r.m.s. [A]
    Source: IEC-60364-5-54
    Notes: No heat leaves the conductor: holds up to 5 s. Clamps and contacts may give way earlier.
    """
    return withstand_factor * conductor_area / sqrt(duration)


def total_resistance_refusal(resistance: float, clamp_resistance: float) -> int:
    return first_refusal((not_negative(resistance), not_negative(clamp_resistance)))


def total_resistance(resistance: float, clamp_resistance: float) -> float:
    """Resistance of the bond: lead and clamps in series.

    Formula:  R = R_lead + R_clamps

    Args:
        resistance: resistance of the lead, R_lead [ohm], rises
        clamp_resistance: resistance of both clamps together, R_clamps [ohm], rises
    Returns:
        R: resistance of the bond [ohm]
    Source: STILLBORE-DEFINITION
    """
    return resistance + clamp_resistance
