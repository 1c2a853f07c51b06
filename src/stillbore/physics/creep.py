"""A plastic pipe under pressure goes on growing after it is pumped up; the gauge falls and nothing leaks."""

from math import log

from stillbore.physics.refusals import OK, OUT_OF_RANGE, first_refusal, not_negative, positive

THICKEST = 0.2  # wall over outside diameter, the largest for which more wall means less growth


def creep_exponent_refusal(elasticity: float, elasticity_late: float, time: float, time_late: float) -> int:
    code = first_refusal((positive(elasticity), positive(elasticity_late), positive(time), positive(time_late)))
    if code != OK:
        return code
    return OK if time_late > time and elasticity_late < elasticity else OUT_OF_RANGE


def creep_exponent(elasticity: float, elasticity_late: float, time: float, time_late: float) -> float:
    """How fast a plastic softens under load, from its modulus after a short and after a long time.

    Formula:  n = ln(E / E_late) / ln(t_late / t), from E(t) proportional to t^-n

    Args:
        elasticity: modulus after the short time, E [Pa], rises
        elasticity_late: modulus after the long time, E_late [Pa], falls
        time: the short time, t [s], rises
        time_late: the long time, t_late [s], falls
    Returns:
        n: exponent of the time [-]
    Source: CREEP-POWER-LAW
    Notes: A power law between two figures of a data sheet. PE lies near 0.1.
    """
    return log(elasticity / elasticity_late) / log(time_late / time)


def creep_fall_refusal(gauge_pressure: float, atmospheric_pressure: float, outside_diameter: float, wall: float,
                       elasticity: float, poisson: float, exponent: float, reference_time: float, settled: float,
                       duration: float) -> int:
    code = first_refusal((not_negative(gauge_pressure), positive(atmospheric_pressure), positive(outside_diameter),
                          positive(wall), positive(elasticity), not_negative(poisson), not_negative(exponent),
                          positive(reference_time), positive(settled), not_negative(duration)))
    if code != OK:
        return code
    fits = wall <= THICKEST * outside_diameter and poisson <= 0.5 and exponent < 1.0 and settled >= reference_time
    return OK if fits else OUT_OF_RANGE


def creep_fall(gauge_pressure: float, atmospheric_pressure: float, outside_diameter: float, wall: float,
               elasticity: float, poisson: float, exponent: float, reference_time: float, settled: float,
               duration: float) -> float:
    """Fall of the gauge over a hold because the pipe under test goes on growing, without any leak.

    Formula:  dp = (p + p_atm) (p / E) B (((t_1 + t) / t_0)^n - (t_1 / t_0)^n), B = 2 (1 + nu) + (5 - 4 nu) / (k^2 - 1)

    Args:
        gauge_pressure: test pressure, p [Pa gauge], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], rises
        outside_diameter: outside diameter, D; k = D / (D - 2 s) [m], rises
        wall: wall, s [m], falls
        elasticity: modulus after the reference time, E [Pa], falls
        poisson: Poisson's ratio of the plastic, nu [-], falls
        exponent: exponent of the time, n [-], rises
        reference_time: time of that modulus, t_0 [s], falls
        settled: time from pumping up to the start of the hold, t_1 [s], falls
        duration: length of the hold, t [s], rises
    Returns:
        dp: fall of the gauge [Pa]
    Source: CREEP-POWER-LAW, LAME-CYLINDER
    Notes: Linear in the stress, which holds far below yield: 0.2 MPa at 350 mbar in SDR 11 against 23. Closed ends, the
        pipe free; in ground or bore it grows less. PE that is colder than its data sheet creeps less. Good to a factor
        of two.
    """
    ratio = outside_diameter / (outside_diameter - 2.0 * wall)
    growth = 2.0 * (1.0 + poisson) + (5.0 - 4.0 * poisson) / (ratio * ratio - 1.0)
    softer = ((settled + duration) / reference_time) ** exponent - (settled / reference_time) ** exponent
    return (gauge_pressure + atmospheric_pressure) * gauge_pressure / elasticity * growth * softer
