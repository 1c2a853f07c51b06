"""The gauge against the test."""

from stillbore.physics.refusals import first_refusal, not_negative, positive


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
