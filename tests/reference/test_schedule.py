"""Times of a job against scipy's distributions and numpy's covariance matrix."""

import random

import numpy
import pytest
from scipy.stats import norm, triang

from stillbore.physics import schedule


@pytest.mark.parametrize("share", [1e-6, 0.01, 0.1, 0.5, 0.9, 0.99, 1.0 - 1e-6])
def test_quantiles_of_the_normal_distribution(share):
    assert schedule.time_at_share(1000.0, 100.0, share) == pytest.approx(1000.0 + 100.0 * norm.ppf(share), rel=1e-9)


def test_mean_and_deviation_of_a_triangular_step():
    draw = random.Random(5)
    for _ in range(60):
        least, likely, most = sorted(draw.uniform(0.0, 7200.0) for _ in range(3))
        theirs = triang((likely - least) / (most - least), least, most - least)
        assert schedule.triangular_mean(least, likely, most) == pytest.approx(theirs.mean(), rel=1e-12)
        assert schedule.triangular_deviation(least, likely, most) == pytest.approx(theirs.std(), rel=1e-12)


def test_groups_of_steps_join_to_the_whole_covariance():
    """However the steps are grouped, the deviation is the root of the sum over the whole covariance matrix."""
    draw = random.Random(6)
    for _ in range(40):
        deviations = [draw.uniform(1.0, 900.0) for _ in range(draw.randint(2, 14))]
        correlation = draw.random()
        matrix = correlation * numpy.outer(deviations, deviations)
        numpy.fill_diagonal(matrix, numpy.square(deviations))
        groups = [(deviation, deviation) for deviation in deviations]
        while len(groups) > 1:
            (one, one_sum), (other, other_sum) = (groups.pop(draw.randrange(len(groups))) for _ in range(2))
            groups.append((schedule.joined_deviation(one, other, one_sum, other_sum, correlation),
                           one_sum + other_sum))
        assert groups[0][0] == pytest.approx(numpy.sqrt(matrix.sum()), rel=1e-12)
