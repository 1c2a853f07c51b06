"""Gas in a pit, taken as well mixed: how long until a fraction, how high it settles, how much leak is too much.

Fresh-air convention: air_changes times pit_volume of fresh air comes in, the gas comes in besides, and the mixture of
both leaves. (With an extract rate N V the gas is a part of what leaves, and the steady fraction is Q/(N V).) Fractions
are of gas in air by volume. Bulk fractions say nothing of the gas at the opening, and a pit is never well mixed: this
is for urgency, good to a factor of three. Whether anybody may enter is measured, not calculated.
"""

from math import exp, expm1, log, log1p

from stillbore.physics.refusals import (
    NEVER_REACHED,
    NOT_FINITE,
    OK,
    OUT_OF_RANGE,
    finite,
    first_refusal,
    not_negative,
    positive,
)

LITTLE = 1e-12
MUCH = 1e9


def _size_refusal(value: float) -> int:
    code = positive(value)
    if code == OK and not (LITTLE <= value <= MUCH):
        code = OUT_OF_RANGE
    return code


def _or_zero_refusal(value: float, most: float) -> int:
    if finite(value) != OK:
        return NOT_FINITE
    return OK if 0.0 <= value <= most else OUT_OF_RANGE


def _fraction_refusal(fraction_limit: float) -> int:
    """A fraction that a leak can be asked to reach: above nothing, below pure gas."""
    code = positive(fraction_limit)
    if code == OK and not (LITTLE <= fraction_limit < 1.0):
        code = OUT_OF_RANGE
    return code


def unventilated_time_refusal(pit_volume: float, flow: float, fraction_limit: float) -> int:
    return first_refusal((_size_refusal(pit_volume), _size_refusal(flow), _fraction_refusal(fraction_limit)))


def unventilated_time(pit_volume: float, flow: float, fraction_limit: float) -> float:
    """Time until a leak fills an unventilated pit to a fraction, the gas pushing mixture out as it comes.

    Formula:  t = -(V/Q) ln(1 - c)

    Args:
        pit_volume: volume of the pit, V [m3], rises
        flow: flow of gas into the pit, Q [m3/s], falls
        fraction_limit: fraction of gas in the air to be reached, c [-], rises
    Returns:
        t: time [s]
    Source: WELL-MIXED
    """
    return -pit_volume / flow * log1p(-fraction_limit)


def unventilated_time_first_order_refusal(pit_volume: float, flow: float, fraction_limit: float) -> int:
    return unventilated_time_refusal(pit_volume, flow, fraction_limit)


def unventilated_time_first_order(pit_volume: float, flow: float, fraction_limit: float) -> float:
    """Time until a leak fills an unventilated pit to a fraction, no mixture lost: the shorter, simpler answer.

    Formula:  t = c V/Q

    Args:
        pit_volume: volume of the pit, V [m3], rises
        flow: flow of gas into the pit, Q [m3/s], falls
        fraction_limit: fraction of gas in the air to be reached, c [-], rises
    Returns:
        t: time [s]
    Source: WELL-MIXED
    Notes: c/2 short of the displacing form: 2.2 % at 4.4 %.
    """
    return fraction_limit * pit_volume / flow


def _ventilated_refusal(pit_volume: float, flow: float, air_changes: float) -> int:
    return first_refusal((_size_refusal(pit_volume), _size_refusal(flow), _or_zero_refusal(air_changes, 1e3)))


def steady_concentration_refusal(pit_volume: float, flow: float, air_changes: float) -> int:
    return _ventilated_refusal(pit_volume, flow, air_changes)


def steady_concentration(pit_volume: float, flow: float, air_changes: float) -> float:
    """Fraction of gas at which a ventilated pit with a steady leak settles.

    Formula:  c = Q/(Q + N V)

    Args:
        pit_volume: volume of the pit, V [m3], falls
        flow: flow of gas into the pit, Q [m3/s], rises
        air_changes: fresh air a second over the volume, N [1/s], falls
    Returns:
        c: fraction of gas in the air [-]
    Source: WELL-MIXED
    Notes: Fresh-air convention. By extract rate, as much of occupational hygiene writes it, c = Q/(N V).
    """
    return flow / (flow + air_changes * pit_volume)


def ventilated_concentration_refusal(pit_volume: float, flow: float, air_changes: float, duration: float) -> int:
    return first_refusal((_ventilated_refusal(pit_volume, flow, air_changes), _or_zero_refusal(duration, MUCH)))


def ventilated_concentration(pit_volume: float, flow: float, air_changes: float, duration: float) -> float:
    """Fraction of gas in a ventilated pit, some time after a steady leak began in clean air.

    Formula:  c = Q/(Q + N V) (1 - e^(-(N + Q/V) t))

    Args:
        pit_volume: volume of the pit, V [m3], falls
        flow: flow of gas into the pit, Q [m3/s], rises
        air_changes: fresh air a second over the volume, N [1/s], falls
        duration: time since the leak began, t [s], rises
    Returns:
        c: fraction of gas in the air [-]
    Source: WELL-MIXED
    """
    rate = air_changes + flow / pit_volume
    return -steady_concentration(pit_volume, flow, air_changes) * expm1(-rate * duration)


def time_to_concentration_refusal(pit_volume: float, flow: float, air_changes: float, fraction_limit: float) -> int:
    code = first_refusal((_ventilated_refusal(pit_volume, flow, air_changes), _fraction_refusal(fraction_limit)))
    if code == OK and not (fraction_limit * (1.0 + 1e-12) < steady_concentration(pit_volume, flow, air_changes)):
        code = NEVER_REACHED
    return code


def time_to_concentration(pit_volume: float, flow: float, air_changes: float, fraction_limit: float) -> float:
    """Time until a steady leak brings a ventilated pit from clean air to a fraction.

    Formula:  t = -ln(1 - c (Q + N V)/Q)/(N + Q/V)

    Args:
        pit_volume: volume of the pit, V [m3], rises
        flow: flow of gas into the pit, Q [m3/s], falls
        air_changes: fresh air a second over the volume, N [1/s], rises
        fraction_limit: fraction of gas in the air to be reached, c [-], rises
    Returns:
        t: time [s]
    Source: WELL-MIXED
    Notes: Refused where the pit settles below the fraction: it is never reached.
    """
    rate = air_changes + flow / pit_volume
    return -log1p(-fraction_limit / steady_concentration(pit_volume, flow, air_changes)) / rate


def largest_leak_for_concentration_refusal(pit_volume: float, air_changes: float, mixing_factor: float,
                                           fraction_limit: float) -> int:
    return first_refusal((_size_refusal(pit_volume), _or_zero_refusal(air_changes, 1e3),
                          _or_zero_refusal(mixing_factor, 1.0), _fraction_refusal(fraction_limit)))


def largest_leak_for_concentration(pit_volume: float, air_changes: float, mixing_factor: float,
                                   fraction_limit: float) -> float:
    """Largest steady leak that a ventilated pit can take without ever passing a fraction.

    Formula:  Q = c N V m/(1 - c)

    Args:
        pit_volume: volume of the pit, V [m3], rises
        air_changes: fresh air a second over the volume, N [1/s], rises
        mixing_factor: part of the fresh air that does mix, m [-], rises
        fraction_limit: fraction of gas in the air not to be passed, c [-], rises
    Returns:
        Q: flow of gas into the pit [m3/s]
    Source: WELL-MIXED
    Notes: Inverse of steady_concentration with m N air changes. m from 1 (fully mixed) to about 1/6 is common practice.
    """
    return fraction_limit * air_changes * pit_volume * mixing_factor / (1.0 - fraction_limit)


def share_of_limit_refusal(share: float, flammable_limit: float) -> int:
    return first_refusal((not_negative(share), positive(flammable_limit)))


def share_of_limit(share: float, flammable_limit: float) -> float:
    """Concentration at a share of the lower flammable limit.

    Formula:  c = s L

    Args:
        share: share of the limit, s [-], rises
        flammable_limit: lower flammable limit, L [-], rises
    Returns:
        c: concentration, as a volume fraction [-]
    Source: STILLBORE-DEFINITION
    Notes: a share of the limit means nothing without the limit it is of: 4.4 % for methane by IEC 60079-20-1, 5 % in
        older practice.
    """
    return share * flammable_limit


def share_reached_refusal(concentration: float, flammable_limit: float) -> int:
    return first_refusal((not_negative(concentration), positive(flammable_limit)))


def share_reached(concentration: float, flammable_limit: float) -> float:
    """Share of the lower flammable limit at a concentration.

    Formula:  s = c / L

    Args:
        concentration: concentration, as a volume fraction, c [-], rises
        flammable_limit: lower flammable limit, L [-], falls
    Returns:
        s: share of the limit; above one it can burn, or is too rich [-]
    Source: STILLBORE-DEFINITION
    """
    return concentration / flammable_limit


def airing_time_refusal(concentration: float, air_changes: float, fraction_limit: float) -> int:
    code = first_refusal((_or_zero_refusal(concentration, 1.0), _size_refusal(air_changes),
                          _fraction_refusal(fraction_limit)))
    return code if code != OK or air_changes <= 1e3 else OUT_OF_RANGE


def airing_time(concentration: float, air_changes: float, fraction_limit: float) -> float:
    """Time until fresh air brings a pit down to a fraction, nothing leaking any more.

    Formula:  t = ln(c_0/c)/N, nothing where c_0 <= c

    Args:
        concentration: fraction of gas when the leak ends, c_0 [-], rises
        air_changes: fresh air a second over the volume, N [1/s], falls
        fraction_limit: fraction of gas in the air to come down to, c [-], falls
    Returns:
        t: time [s]
    Source: WELL-MIXED
    """
    return log(concentration / fraction_limit) / air_changes if concentration > fraction_limit else 0.0


def airing_concentration_refusal(concentration: float, air_changes: float, duration: float) -> int:
    return first_refusal((_or_zero_refusal(concentration, 1.0), _or_zero_refusal(air_changes, 1e3),
                          _or_zero_refusal(duration, MUCH)))


def airing_concentration(concentration: float, air_changes: float, duration: float) -> float:
    """Fraction of gas left in a pit, some time after the leak ended.

    Formula:  c = c_0 e^(-N t)

    Args:
        concentration: fraction of gas when the leak ends, c_0 [-], rises
        air_changes: fresh air a second over the volume, N [1/s], falls
        duration: time since the leak ended, t [s], falls
    Returns:
        c: fraction of gas in the air [-]
    Source: WELL-MIXED
    """
    return concentration * exp(-air_changes * duration)
