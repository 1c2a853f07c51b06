"""Pressures of the district as the pit sees them: absolute, highest to be expected, bands, and proof pressures."""

from stillbore.physics.refusals import OK, finite, first_refusal, not_negative, positive


def absolute_pressure_refusal(gauge_pressure: float, atmospheric_pressure: float) -> int:
    return first_refusal((not_negative(gauge_pressure), positive(atmospheric_pressure)))


def absolute_pressure(gauge_pressure: float, atmospheric_pressure: float) -> float:
    """Absolute pressure of a gauge reading.

    Formula:  p_abs = p + p_a

    Args:
        gauge_pressure: gauge reading, p [Pa gauge], rises
        atmospheric_pressure: barometer, p_a [Pa abs], rises
    Returns:
        p_abs: absolute pressure [Pa abs]
    Source: STILLBORE-DEFINITION
    """
    return gauge_pressure + atmospheric_pressure


def highest_expected_refusal(set_pressure: float, above_set_pressure: float) -> int:
    return first_refusal((not_negative(set_pressure), not_negative(above_set_pressure)))


def highest_expected(set_pressure: float, above_set_pressure: float) -> float:
    """Highest pressure to be expected while the governor is set to a pressure.

    Formula:  p_high = p_set + dp

    Args:
        set_pressure: highest set pressure in the working window, p_set [Pa gauge], rises
        above_set_pressure: how far the district can run above it, dp [Pa], rises
    Returns:
        p_high: highest pressure to be expected [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return set_pressure + above_set_pressure


def band_low_refusal(gauge_pressure: float, agreement: float, agreement_fraction: float) -> int:
    code = first_refusal((not_negative(gauge_pressure), not_negative(agreement), not_negative(agreement_fraction)))
    return code if code != OK else not_negative(1.0 - agreement_fraction)


def band_low(gauge_pressure: float, agreement: float, agreement_fraction: float) -> float:
    """Lower end of the band in which the gauge must settle when the pilot is through.

    Formula:  p_low = max(0, p - max(dp, f p))

    Args:
        gauge_pressure: pressure expected, p [Pa gauge], rises
        agreement: half width of the band, dp [Pa], falls
        agreement_fraction: half width as a fraction of the pressure, f, where that is wider [-], falls
    Returns:
        p_low: lower end of the band [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return max(0.0, gauge_pressure - max(agreement, agreement_fraction * gauge_pressure))


def band_high_below_refusal(gauge_pressure: float, agreement: float, agreement_fraction: float,
                            maximum: float) -> int:
    return first_refusal((band_low_refusal(gauge_pressure, agreement, agreement_fraction), not_negative(maximum)))


def band_high_below(gauge_pressure: float, agreement: float, agreement_fraction: float, maximum: float) -> float:
    """Upper end of the band in which the gauge must settle when the pilot is through, never above the maximum.

    Formula:  p_high = min(p_max, p + max(dp, f p))

    Args:
        gauge_pressure: pressure expected, p [Pa gauge], rises
        agreement: half width of the band, dp [Pa], rises
        agreement_fraction: half width as a fraction of the pressure, f, where that is wider [-], rises
        maximum: highest pressure at which the work goes on, p_max [Pa gauge], rises
    Returns:
        p_high: upper end of the band [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return min(maximum, gauge_pressure + max(agreement, agreement_fraction * gauge_pressure))


def counts_up_to_refusal(gauge_pressure: float, pressure_margin: float) -> int:
    return first_refusal((not_negative(gauge_pressure), not_negative(pressure_margin)))


def counts_up_to(gauge_pressure: float, pressure_margin: float) -> float:
    """Pressure up to which a test behind the stopper counts, or that the stopper takes from the other side.

    Formula:  p_max = p + dp

    Args:
        gauge_pressure: pressure it was watched at, or the district's pressure behind the stopper, p [Pa gauge], rises
        pressure_margin: margin of the rule set, or the kit's rating from the house side, dp [Pa], rises
    Returns:
        p_max: pressure up to which it counts [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return gauge_pressure + pressure_margin


def left_after_drop_refusal(gauge_pressure: float, pressure_drop: float) -> int:
    return first_refusal((finite(gauge_pressure), not_negative(pressure_drop)))


def left_after_drop(gauge_pressure: float, pressure_drop: float) -> float:
    """Pressure at the far end of a pipe.

    Formula:  p_2 = p_1 - dp

    Args:
        gauge_pressure: pressure at its beginning, p_1 [Pa gauge], rises
        pressure_drop: what is lost on the way, dp [Pa], falls
    Returns:
        p_2: pressure at its end [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return gauge_pressure - pressure_drop


def scaled_pressure_refusal(gauge_pressure: float, factor: float) -> int:
    return first_refusal((not_negative(gauge_pressure), not_negative(factor)))


def scaled_pressure(gauge_pressure: float, factor: float) -> float:
    """A pressure a number of times over, as a rule for a test pressure has it.

    Formula:  p_t = f p

    Args:
        gauge_pressure: the pressure, p [Pa gauge], rises
        factor: how many times, f [-], rises
    Returns:
        p_t: so many times it [Pa gauge]
    Source: STILLBORE-DEFINITION
    """
    return factor * gauge_pressure
