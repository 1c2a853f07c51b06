"""How each phase of the work looks on a gauge, and which may follow which: the model under the reading of a trace.

The ranges, the order of the work and the usual times began as common practice. Softnesses, worths, spreads and borders
were then searched for on logs of the virtual rig (seeds below 1,000): they are fitted to a simulator and nothing else;
what is read there on other seeds flatters what a field log will give. SI: Pa, Pa/s, s.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log, sqrt
from typing import NamedTuple

LABELS = ("zero", "pump", "hold", "release", "drill", "break", "live", "stopper", "vent", "watch")
LEAST_ROUGHNESS = 5.0  # Pa
WIDEST = 3.5  # usual intervals between the neighbours of a reading, beyond which there is a gap
BORDER = -3.6  # nats for every border: phases last
HIDDEN_ORDER = -15.0  # the same where nothing was read for some seconds
BROKEN_ORDER = -57.0  # nats for a step that the order of the work does not have: a log with a piece missing
OUTLIER = -9.0  # nats; no single block counts for less than this beside the others


class Block(NamedTuple):
    """Some readings in a row: position of the first, how many, mean [Pa], slope from the block before [Pa/s], time
    since its middle [s], sum of squared bends as a variance sum [Pa2], and a label that a note gives it."""

    first: int
    count: int
    mean: float
    slope: float
    step: float
    bends: float
    mark: str


class Range(NamedTuple):
    """A range of pressures [Pa gauge] and how softly each end of it ends [Pa]."""

    low: float
    below: float
    high: float
    above: float


class Lasts(NamedTuple):
    """How long a phase lasts: median [s] and standard deviation of the logarithm."""

    median: float
    spread: float


class State(NamedTuple):
    """One phase: its label, how the gauge moves, whether it is shaken, in which range, how long, what may come next
    with its share, and what must have come about when it ends."""

    label: str
    moves: str
    shaken: bool
    range: Range
    lasts: Lasts
    follows: dict[str, float]
    ends: str = ""


# The motions: lowest and highest slope [Pa/s], softness [Pa/s], and what a block of it is worth beside the others
# [nats]: a motion that allows much explains little.
MOTIONS = {
    "stands": (-4.0, 4.0, 10.0, -0.01),
    "settles": (-250.0, 6.0, 42.0, -0.04),
    "sways": (-47.0, 47.0, 82.0, -0.05),
    "sinks": (-150.0, 4.0, 6.0, 0.09),
    "fills": (-6.0, 70.0, 5.0, -0.03),
    "wanders": (-161.0, 161.0, 100.0, -0.14),
    "climbs": (69.0, 15000.0, 25.0, -1.76),
    "strokes": (32.0, 6000.0, 75.0, -1.98),
}
LEAST_RISE = 800.0  # Pa of a break-through
FULL = 6000.0  # Pa, the least that a rig is pumped to
EMPTIES = (0.05, 4.0, 0.012)  # share of the pressure a second
EMPTIES_WORTH = -2.2

FAR = 1e9
NOUGHT = Range(-150.0, 40.0, 150.0, 40.0)
LIVE = Range(500.0, 150.0, 8000.0, 2500.0)
PHASES: dict[str, State] = {
    "zero": State("zero", "stands", False, NOUGHT, Lasts(35.0, 0.9),
                  {"pump": 0.6, "drill": 0.3, "break": 0.05, "watch": 0.05}),
    "pump": State("pump", "strokes", True, Range(-200.0, 100.0, 12500.0, 300.0), Lasts(8.0, 0.7),
                  {"pause": 0.4, "hold": 0.6}, "full"),
    "pause": State("pump", "settles", False, Range(6000.0, 300.0, 12500.0, 300.0), Lasts(6.0, 0.5), {"pump": 1.0}),
    "hold": State("hold", "settles", False, Range(-100.0, 100.0, 12000.0, 500.0), Lasts(150.0, 0.7),
                  {"release": 0.95, "pump": 0.05}),
    "release": State("release", "empties", True, Range(-150.0, 100.0, 12500.0, 300.0), Lasts(3.0, 0.8),
                     {"rest": 0.7, "pump": 0.1, "drill": 0.2}, "empty"),
    "rest": State("zero", "stands", False, NOUGHT, Lasts(30.0, 0.7), {"pump": 0.3, "drill": 0.6, "break": 0.1}),
    "drill": State("drill", "stands", True, Range(-300.0, 150.0, 400.0, 150.0), Lasts(60.0, 0.5),
                   {"rest": 0.3, "break": 0.7}),
    "break": State("break", "climbs", True, Range(-300.0, 150.0, FAR, 1.0), Lasts(5.0, 1.3), {"live": 1.0}, "rises"),
    "live": State("live", "sways", False, LIVE, Lasts(25.0, 0.8), {"saw": 0.6, "stopper": 0.399, "vent": 0.001}),
    "saw": State("drill", "sways", True, LIVE, Lasts(30.0, 1.0), {"live": 1.0}),
    "reseat": State("stopper", "climbs", True, Range(-300.0, 150.0, FAR, 1.0), Lasts(2.0, 0.8), {"stopper": 1.0},
                    "rises"),
    "stopper": State("stopper", "wanders", True, LIVE, Lasts(14.0, 0.5), {"shut in": 0.75, "vent": 0.25}),
    "shut in": State("watch", "sinks", False, LIVE, Lasts(70.0, 0.6), {"vent": 1.0}),
    "vent": State("vent", "empties", True, Range(-150.0, 100.0, FAR, 1.0), Lasts(5.0, 0.6), {"watch": 1.0}, "empty"),
    "watch": State("watch", "fills", False, Range(-200.0, 100.0, 6000.0, 100.0), Lasts(150.0, 0.6),
                   {"reseat": 0.4, "vent": 0.4, "zero": 0.02, "pump": 0.1, "break": 0.08}),
}
NAMES = tuple(PHASES)
STATES = tuple(PHASES.values())
NUMBER = {name: number for number, name in enumerate(NAMES)}
TURNS = tuple(tuple(NUMBER[name] for name in state.follows) for state in STATES)
# A log may begin anywhere; most begin with the gauge at rest.
START = tuple(log({"zero": 0.5, "hold": 0.1, "pump": 0.1, "live": 0.1}.get(name, 0.01)) for name in NAMES)


def _ways_in() -> tuple[tuple[tuple[int, float], ...], ...]:
    """For every state: (state before, log chance) of every way in."""
    ways: list[list[tuple[int, float]]] = [[] for _ in STATES]
    for number, state in enumerate(STATES):
        for name, share in state.follows.items():
            border = 0.0 if PHASES[name].label == state.label else BORDER
            ways[NUMBER[name]].append((number, log(share) + border))
    return tuple(tuple(way) for way in ways)


WAYS_IN = _ways_in()


def leaving(state: State, lasted: float, before: float, last: float) -> float:
    """Log likelihood of leaving a state after it lasted so long [s], having gone from one pressure to another [Pa]."""
    z = log(lasted / state.lasts.median) / state.lasts.spread
    value = max(-0.5 * z * z, 2.0 * OUTLIER)
    if state.ends == "empty":
        value -= min(abs(last) / 100.0, 20.0)
    elif state.ends == "full":
        value -= min(max(FULL - last, 0.0) / 100.0, 20.0)
    elif state.ends == "rises":
        value -= min(max(LEAST_RISE - (last - before), 0.0) / 100.0, 20.0)
    return value


def outlasting(state: State, lasted: float) -> float:
    """Log likelihood of still being in a state after so long [s]."""
    z = log(max(lasted, 1e-3) / state.lasts.median) / state.lasts.spread
    return max(-0.5 * z * z, 2.0 * OUTLIER) if z > 0.0 else 0.0


def bends_of(times: Sequence[float], pressures: Sequence[float]) -> list[float]:
    """How far every reading stands off the middle between its neighbours [Pa]; 0 at both ends and beside a gap."""
    count = len(times)
    steps = sorted(times[index + 1] - times[index] for index in range(count - 1))
    widest = WIDEST * steps[len(steps) // 2] if steps else 0.0
    return [pressures[index] - 0.5 * (pressures[index - 1] + pressures[index + 1])
            if 0 < index < count - 1 and times[index + 1] - times[index - 1] < widest else 0.0
            for index in range(count)]


def roughness_scale(bends: Iterable[float]) -> float:
    """Standard deviation of a reading while nobody touches the rig [Pa], from how much the calm part of a log bends.

    The root mean square of the smaller six tenths of a Gaussian's absolute values is 0.4715 of its standard deviation.
    """
    ordered = sorted(map(abs, bends))
    calm = ordered[: max(1, 6 * len(ordered) // 10)]
    if not calm:
        return LEAST_ROUGHNESS
    return max(LEAST_ROUGHNESS, sqrt(sum(bend * bend for bend in calm) / len(calm) / 1.5) / 0.4715)


SHAKEN = ((1.2, log(1.2)), (2.8, log(2.8)), (32.0, log(32.0)))  # times the calm roughness
COUNTED = 1.4  # share of the readings that count: neighbouring bends share readings
RESTS = log(0.05)  # share of the time in which a saw or a hand rests
WORKS = log(0.95 / len(SHAKEN))


def emissions(block: Block, rough: float) -> list[float]:
    """Log likelihood of a block in every state, up to a constant."""
    slope, mean, count = block.slope, block.mean, COUNTED * block.count
    # A slope bends too, and a mean over few readings has noise of its own.
    calm = rough * rough + (0.15 * slope * block.step) ** 2
    bends = 0.5 * COUNTED * block.bends / calm
    quiet = max(-bends, 2.0 * OUTLIER)
    shaken = RESTS - bends
    for times, more in SHAKEN:
        worth = WORKS - bends / (times * times) - count * more
        if worth > shaken:
            shaken = worth
    blur = 1.5 * rough / sqrt(block.count) / block.step
    # A shaken reading shakes the slope as well.
    loose = 1.5 * sqrt(block.bends) / block.count / block.step if block.bends > 4.0 * calm else blur
    calm_motion, shaken_motion = {}, {}
    for name, (low, high, softness, worth) in MOTIONS.items():
        beyond = low - slope if slope < low else slope - high
        z = max(beyond - blur, 0.0) / (softness + blur)
        calm_motion[name] = max(-0.5 * z * z, OUTLIER) + worth
        z = max(beyond - loose, 0.0) / (softness + loose)
        shaken_motion[name] = max(-0.5 * z * z, OUTLIER) + worth
    before = abs(mean - slope * block.step) + 30.0
    share = -slope / before
    beyond = max(EMPTIES[0] - share, share - EMPTIES[1], 0.0) / (EMPTIES[2] + blur / before)
    shaken_motion["empties"] = max(-0.5 * beyond * beyond, OUTLIER) + EMPTIES_WORTH
    values = []
    for state in STATES:
        value = shaken + shaken_motion[state.moves] if state.shaken else quiet + calm_motion[state.moves]
        low, below, high, above = state.range
        if mean < low:
            value += max(-0.5 * ((low - mean) / below) ** 2, OUTLIER)
        elif mean > high:
            value += max(-0.5 * ((mean - high) / above) ** 2, OUTLIER)
        values.append(value)
    return values
