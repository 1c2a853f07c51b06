"""What acts on the rig from outside, by class: how warm it stands, sun, hands, wind, barometer. Physical causes, in SI.

Every spread here is invented or common practice, and none of it is known to the judges. The classes are set by their
causes; ``studies/`` prints the rms slope of the gas temperature that each makes, so that a class can be compared with
what a crew calls it.
"""

from __future__ import annotations

from typing import NamedTuple


class Causes(NamedTuple):
    """Spreads of the causes of one class. Temperatures in K, powers in W, pressures in Pa."""

    offset: float  # rig against air at the start, standard deviation
    air_swing: float  # slow swing of the air temperature, standard deviation
    sun: float  # sun absorbed when it shines, mean
    sun_chance: float  # how often the place sees sun at all
    hand: float  # a hand on the rig, mean
    hand_chance: float  # how often somebody touches it during a hold
    puff: float  # wind on the open side of the gauge, standard deviation
    barometer_slope: float  # Pa/s, standard deviation


CAUSES = {
    "shade": Causes(1.0, 0.3, 0.4, 0.3, 0.3, 0.1, 1.5, 0.02),
    "ordinary": Causes(2.8, 0.7, 4.0, 0.5, 3.0, 0.3, 2.5, 0.028),
    "sun": Causes(3.0, 0.8, 16.0, 1.0, 8.0, 0.5, 3.0, 0.028),
}
