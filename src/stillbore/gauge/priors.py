"""What is believed of a rig before the first reading: how it drifts, relaxes and is read. Owned here, in one place.

All figures are common practice or fitted to nothing: they are the priors of one worked way of judging a hold, and what
they cost or save is measured by studies/ on a simulator that shares none of them.
"""

from __future__ import annotations

# Standard deviation of the drift of the gas's temperature, in K/s, by what the crew says of the place. Common practice.
DRIFTS = {"shade": 0.03 / 60.0, "ordinary": 0.10 / 60.0, "sun": 0.40 / 60.0}
DRIFT_TIME = 300.0  # s, how long a drift keeps its direction

# A drift declared too small is the hole through which a leak is passed; so the judge weighs the declared one against
# one four times as large. Pairs of (factor on the declared drift, weight).
SCALES = ((1.0, 0.88), (4.0, 0.12))
# What has to be ruled out is weighed otherwise: more on the large drift, which hides a leak best.
DOUBTS = (0.62, 0.38)
# A thermometer takes most of the drift away, whatever its size was.
SCALES_WITH_THERMOMETER = ((0.35, 0.8), (1.4, 0.2))

# What is left of pumping when the first reading counts, as three relaxations of the gauge: time [s], mean and standard
# deviation [Pa]. The mean is above zero because pumped gas is warm and hoses creep. They are for a rig that is topped
# up once after pumping, which is common practice.
RELAXATIONS = ((5.0, 28.0, 112.0), (20.0, 14.0, 56.0), (80.0, 14.0, 42.0))
RELAXATION_WANDER = 0.02  # share of its spread by which a relaxation wanders

# How much of what the thermometer shows the gas follows: mean and standard deviation.
FOLLOWS = (0.92, 0.12)

WANDER = 0.5  # Pa per root second, what no other term explains
NOISE = 5.0  # Pa, a digital gauge beside its resolution
NOISE_BY_EYE = 20.0  # Pa, a dial or fluid gauge read by eye
LEVEL_SPREAD = 5000.0  # Pa, the first reading is nearly free
LEAK_EXPONENT = 0.75  # leak against pressure: between an orifice, one half, and a laminar leak, one
