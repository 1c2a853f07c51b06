"""The gauge against the test."""

from stillbore.physics.refusals import finite, first_refusal, not_negative, positive


def gauge_factor_refusal(full_scale: float, test_pressure: float) -> int:
    return first_refusal((not_negative(full_scale), positive(test_pressure)))


def gauge_factor(full_scale: float, test_pressure: float) -> float:
    """How far the gauge's range reaches beyond the test pressure.

    Formula:  n = p_full / p_test

    Args:
        full_scale: full scale of the gauge, p_full [Pa gauge], rises
        test_pressure: pressure of the test, p_test [Pa gauge], falls
    Returns:
        n: range over test pressure [-]
    Source: STILLBORE-DEFINITION
    """
    return full_scale / test_pressure


def readable_refusal(readable_movement: float, movements: float) -> int:
    return first_refusal((not_negative(readable_movement), not_negative(movements)))


def readable(readable_movement: float, movements: float) -> float:
    """Movement of the gauge that counts as one: several readable ones.

    Formula:  dp = n q

    Args:
        readable_movement: smallest movement that can be read, q [Pa], rises
        movements: how many of them count, n [-], rises
    Returns:
        dp: movement that counts [Pa]
    Source: STILLBORE-DEFINITION
    """
    return movements * readable_movement


def fall_to_see_refusal(per_kelvin: float, temperature_change: float, readable_movement: float) -> int:
    return first_refusal((not_negative(per_kelvin), not_negative(temperature_change), not_negative(readable_movement)))


def fall_to_see(per_kelvin: float, temperature_change: float, readable_movement: float) -> float:
    """Fall at the limit from which largest_fall leaves a movement that can be read.

    Formula:  dp = k dT + 2 q

    Args:
        per_kelvin: movement of the gauge for one kelvin, k [Pa/K], rises
        temperature_change: change of temperature that is let pass, dT [K difference], rises
        readable_movement: smallest movement that can be read, q [Pa], rises
    Returns:
        dp: fall at the limit [Pa]
    Source: STILLBORE-DEFINITION
    """
    return per_kelvin * temperature_change + 2.0 * readable_movement


def largest_fall_refusal(fall: float, per_kelvin: float, temperature_change: float, readable_movement: float) -> int:
    return first_refusal((finite(fall), not_negative(per_kelvin), not_negative(temperature_change),
                          not_negative(readable_movement)))


def largest_fall(fall: float, per_kelvin: float, temperature_change: float, readable_movement: float) -> float:
    """Largest fall to accept in a hold, so that a warming rig cannot hide the limit: below zero the hold is too short.

    Formula:  dp = dp_limit - k dT - q

    Args:
        fall: fall of the gauge at the limit, dp_limit [Pa], rises
        per_kelvin: movement of the gauge for one kelvin, k [Pa/K], falls
        temperature_change: change of temperature that is let pass, dT [K difference], falls
        readable_movement: smallest movement that can be read, q [Pa], falls
    Returns:
        dp: largest fall to accept [Pa]
    Source: STILLBORE-DEFINITION
    """
    return fall - per_kelvin * temperature_change - readable_movement
