"""How long a job takes, as ranges: triangular steps, good and bad days that most steps share, and when it is done.

A step has a lowest, a likely and a highest time. The sum of many is taken as normal, with the mean and the deviation of
the steps; steps of one day go together, by one correlation for every pair of them.
"""

from math import erf, sqrt

from stillbore.physics.refusals import (
    OK,
    OUT_OF_RANGE,
    SMALLEST_ABOVE_LARGEST,
    finite,
    first_refusal,
    not_negative,
    positive,
)
from stillbore.physics.roots import solve

FARTHEST = 8.0       # deviations from the mean between which a share is looked for
LEAST_SHARE = 1e-6   # shares nearer to none or all are not asked of a model as rough as this


def triangular_mean_refusal(least: float, likely: float, most: float) -> int:
    code = first_refusal((not_negative(least), not_negative(likely), not_negative(most)))
    if code == OK and not (least <= likely <= most):
        code = SMALLEST_ABOVE_LARGEST
    return code


def triangular_mean(least: float, likely: float, most: float) -> float:
    """Mean time of a step known by its lowest, likely and highest time.

    Formula:  mu = (a + m + b) / 3

    Args:
        least: lowest time, a [s], rises
        likely: likely time, m [s], rises
        most: highest time, b [s], rises
    Returns:
        mu: mean time [s]
    Source: TRIANGULAR-DISTRIBUTION
    """
    return (least + likely + most) / 3.0


def triangular_deviation_refusal(least: float, likely: float, most: float) -> int:
    return triangular_mean_refusal(least, likely, most)


def triangular_deviation(least: float, likely: float, most: float) -> float:
    """Standard deviation of the time of a step known by its lowest, likely and highest time.

    Formula:  sigma = sqrt((a^2 + m^2 + b^2 - a m - a b - m b) / 18)

    Args:
        least: lowest time, a [s], falls
        likely: likely time, m [s], turns
        most: highest time, b [s], rises
    Returns:
        sigma: standard deviation [s]
    Source: TRIANGULAR-DISTRIBUTION
    """
    # The same as the formula, as a sum of squares of differences: nothing cancels.
    below, above, whole = likely - least, most - likely, most - least
    return sqrt((below * below + above * above + whole * whole) / 36.0)


def joined_time_refusal(time: float, further_time: float) -> int:
    return first_refusal((not_negative(time), not_negative(further_time)))


def joined_time(time: float, further_time: float) -> float:
    """Two times, one after the other.

    Formula:  T = T_1 + T_2

    Args:
        time: one, T_1 [s], rises
        further_time: the other, T_2 [s], rises
    Returns:
        T: both together [s]
    Source: STILLBORE-DEFINITION
    """
    return time + further_time


def joined_deviation_refusal(deviation: float, further_deviation: float, sum_of_deviations: float,
                             further_sum: float, correlation: float) -> int:
    code = first_refusal((not_negative(deviation), not_negative(further_deviation), not_negative(sum_of_deviations),
                          not_negative(further_sum), not_negative(correlation)))
    return OUT_OF_RANGE if code == OK and correlation > 1.0 else code


def joined_deviation(deviation: float, further_deviation: float, sum_of_deviations: float, further_sum: float,
                     correlation: float) -> float:
    """Deviation of the time of two groups of steps together, every pair of steps alike correlated.

    Formula:  sigma = sqrt(sigma_1^2 + sigma_2^2 + 2 rho S_1 S_2), S the sum of the deviations of a group's steps

    Args:
        deviation: deviation of one group, sigma_1 [s], rises
        further_deviation: deviation of the other, sigma_2 [s], rises
        sum_of_deviations: sum of the deviations of the steps of the one, S_1 [s], rises
        further_sum: sum of the deviations of the steps of the other, S_2 [s], rises
        correlation: correlation of any two steps, rho [-], rises
    Returns:
        sigma: deviation of both together [s]
    Source: VARIANCE-OF-A-SUM
    """
    return sqrt(deviation * deviation + further_deviation * further_deviation
                + 2.0 * correlation * sum_of_deviations * further_sum)


def _share_missing(deviations: float, share: float) -> float:
    return 0.5 * (1.0 + erf(deviations / sqrt(2.0))) - share


def time_at_share_refusal(mean: float, deviation: float, share: float) -> int:
    code = first_refusal((not_negative(mean), not_negative(deviation), positive(share)))
    if code == OK and not (LEAST_SHARE <= share <= 1.0 - LEAST_SHARE):
        code = OUT_OF_RANGE
    return code


def time_at_share(mean: float, deviation: float, share: float) -> float:
    """Time within which a job is done on a share of the days.

    Formula:  T = mu + z sigma, with (1 + erf(z / sqrt(2))) / 2 the share

    Args:
        mean: mean time of the job, mu [s], rises
        deviation: deviation of it, sigma [s], turns
        share: share of the days, F [-], rises
    Returns:
        T: time [s]
    Source: NORMAL-DISTRIBUTION
    Notes: the sum of a dozen steps taken as normal. Against random days of steps that share a good-or-bad-day factor:
        within 1.5 % of the time, at the half late and at nine tenths early, up to a correlation of 0.8. It falls with
        the deviation below half the days, and rises above.
    """
    return mean + deviation * solve(_share_missing, -FARTHEST, FARTHEST, (share,))


def latest_start_refusal(time_of_day: float, duration: float) -> int:
    return first_refusal((finite(time_of_day), not_negative(duration)))


def latest_start(time_of_day: float, duration: float) -> float:
    """Latest start of what has to be done by a time of the day, counted from midnight; below zero is the day before.

    Formula:  t = t_by - T

    Args:
        time_of_day: time by which it has to be done, after midnight, t_by [s], rises
        duration: time that it takes, T [s], falls
    Returns:
        t: latest start, after midnight [s]
    Source: STILLBORE-DEFINITION
    """
    return time_of_day - duration
