"""What is believed of a rig before the first reading: how it drifts, relaxes and is read. Owned here, in one place.

All figures are common practice, or were set on tuning seeds of the virtual rig (decisions/0015): they are the priors of
one worked way of judging a hold. What they cost or save is measured by studies/ on other seeds of that rig, which
shares no code and no model family with the judge; figures set on it flatter all the same.
"""

from __future__ import annotations

from typing import NamedTuple


class Drift(NamedTuple):
    """How the gas's temperature drifts in a place: the standard deviation that crews mean by the word [K/s], common
    practice; that at the first reading and that later on as multiples of it; and how long a drift keeps its direction
    [s]."""

    spread: float
    first: float
    later: float
    time: float


# A hold begins when the rig is furthest from rest with air and ground, so the drift is larger at first, and keeps its
# direction for minutes. In sun, clouds turn it about.
DRIFTS = {"shade": Drift(0.03 / 60.0, 1.7, 0.68, 290.0), "ordinary": Drift(0.10 / 60.0, 1.7, 0.68, 290.0),
          "sun": Drift(0.40 / 60.0, 1.5, 1.0, 200.0)}


class Supposition(NamedTuple):
    """One way the rig may be: its drift as a multiple of what was declared; how likely that is thought where something
    is to be shown, and where it is to be ruled out."""

    drift: float
    weight: float
    doubt: float


# A drift declared too small is the hole through which a leak is passed. So three sizes of it are weighed against each
# other; and what has to be ruled out is weighed more on the large ones, which hide a leak best.
SUPPOSITIONS = (Supposition(1.0, 0.73, 0.56), Supposition(2.1, 0.23, 0.28), Supposition(4.2, 0.04, 0.16))


class Relaxation(NamedTuple):
    """Something that dies away after pumping: its time [s]; mean and standard deviation [Pa] of what is left of pumping
    when the first reading counts; and the standard deviation that comes on top where the rig is out of balance with
    its surroundings, in seconds of its drift."""

    time: float
    mean: float
    spread: float
    drift: float


# The means are above zero because pumped gas is warm and hoses creep. They are for a rig that is topped up once after
# pumping, which is common practice.
RELAXATIONS = (Relaxation(5.0, 40.0, 57.0, 0.0), Relaxation(20.0, 20.0, 28.0, 30.0), Relaxation(80.0, 20.0, 21.0, 46.0))

# A thermometer on the rig. It lags, rounds, and feels the metal where the gas feels linings too; so its readings are
# believed little one by one, and it may part from the gas as fast as the drift is large.
THERMOMETER_NOISE = 0.23  # K, of one reading: rounding repeats itself from reading to reading
THERMOMETER_START = 0.10  # K, of the first reading, from which all changes are counted
THERMOMETER_PARTS = 4.0  # root seconds: times the spread of the drift it gives K per root second
THERMOMETER_CATCHES_UP = 50.0  # s after pumping; before, what lags may not show the sun that has just come out

LEAK_EXPONENT = 0.75  # leak against pressure: between an orifice, one half, and a laminar leak, one

# Shared with let-by.
RELAXATION_WANDER = 0.02  # share of its spread by which a relaxation wanders
DRIFT_TIME = 300.0  # s, how long the drift of a leg in the ground keeps its direction
WANDER = 0.5  # Pa per root second, what no other term explains
NOISE = 5.0  # Pa, a digital gauge beside its resolution
NOISE_BY_EYE = 20.0  # Pa, a dial or fluid gauge read by eye
LEVEL_SPREAD = 5000.0  # Pa, the first reading is nearly free
