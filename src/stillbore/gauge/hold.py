"""The hold: is this rig tighter than the limit? Judged reading by reading, and it may be looked at after every one.

*Met* when the readings speak 1/alpha times louder for a tight rig than for one that leaks at the limit; *not met* when
they speak 1/beta times louder for the limit than for a tenth of it; until then, and at the end of the longest hold,
*not proven*. Both are ratios of likelihoods that may be looked at as often as one likes without spoiling the error
rate, if the priors hold; studies/ measures what happens when they do not.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, log, nan, sqrt

from stillbore.gauge import priors
from stillbore.gauge.filter import GAUGE, INFORMATION, LENGTH, THERMOMETER, log_mixture, predict, start, update
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

# The limit is taken at the largest volume the rig may have, where it moves the gauge least.
VOLUME_SPREAD = 1.2
TENTH = 0.1
EMPTIED = 0.75  # of the test pressure; a rig below it at the first reading has lost its gas before anybody looked
RELAXATION_TIMES = (priors.RELAXATIONS[0].time, priors.RELAXATIONS[1].time, priors.RELAXATIONS[2].time)
RELAXATION_MEANS = (priors.RELAXATIONS[0].mean, priors.RELAXATIONS[1].mean, priors.RELAXATIONS[2].mean)
LOG_WEIGHTS = tuple(log(supposed.weight) for supposed in priors.SUPPOSITIONS)
LOG_DOUBTS = tuple(log(supposed.doubt) for supposed in priors.SUPPOSITIONS)


@dataclass(frozen=True)
class HoldSettings:
    """What a hold is judged by. SI: m3, m3/s of air at atmospheric pressure, Pa, K, s. ``drift`` is a key of
    priors.DRIFTS; ``settle`` is how long after pumping the first reading counts."""

    volume: float
    limit: float
    resolution: float
    drift: str
    by_eye: bool = False
    test_pressure: float = 1.0e4
    atmospheric_pressure: float = 101325.0
    temperature: float = 288.15
    longest: float = 600.0
    alpha: float = 0.023
    beta: float = 0.004

    @property
    def settle(self) -> float:
        return 20.0 if self.by_eye else 10.0

    def first_verdict(self, with_thermometer: bool) -> float:
        """Seconds after pumping before which nothing is said: a thermometer has to catch up with the rig first."""
        return max(60.0 if self.by_eye else 25.0, priors.THERMOMETER_CATCHES_UP if with_thermometer else 0.0)

    @property
    def noises(self) -> tuple[float, float]:
        """Variances of a reading [Pa2]: of the gauge, its own and its resolution's, and of a thermometer."""
        own = priors.NOISE_BY_EYE if self.by_eye else priors.NOISE
        thermometer = priors.THERMOMETER_NOISE * self.per_kelvin
        return own * own + self.resolution * self.resolution / 12.0, thermometer * thermometer

    @property
    def limit_fall(self) -> float:
        """Fall of the gauge at the limit [Pa/s], at the largest volume the rig may have."""
        return self.limit * self.atmospheric_pressure / (VOLUME_SPREAD * self.volume)

    @property
    def per_kelvin(self) -> float:
        """Movement of the gauge per kelvin of the gas [Pa/K]."""
        return (self.test_pressure + self.atmospheric_pressure) / self.temperature


def suppositions(settings: HoldSettings) -> tuple[tuple[float, ...], ...]:
    """What each filter supposes, by priors.SUPPOSITIONS: spread of the drift at the first reading and later [Pa/s], its
    time [s], how fast a thermometer parts from the gas [Pa per root second], spreads of the relaxations [Pa]."""
    place = priors.DRIFTS[settings.drift]
    made = []
    for supposed in priors.SUPPOSITIONS:
        drift = supposed.drift * place.spread * settings.per_kelvin
        made.append((place.first * drift, place.later * drift, place.time, priors.THERMOMETER_PARTS * drift,
                     *(hypot(each.spread, each.drift * drift) for each in priors.RELAXATIONS)))
    return tuple(made)


def begin(state: list[float], reading: float, supposed: tuple[tuple[float, ...], ...], shown_spread: float) -> None:
    """Set every filter to its prior at the first reading; ``shown_spread`` is how far the thermometer's first reading
    may be off [Pa]."""
    means = (reading - 200.0, 0.0, RELAXATION_MEANS[0], RELAXATION_MEANS[1], RELAXATION_MEANS[2], 0.0)
    for index in range(len(supposed)):
        first, _, _, _, quick, middle, slow = supposed[index]
        start(state, index * LENGTH, means, (priors.LEVEL_SPREAD, first, quick, middle, slow, shown_spread))


def take(state: list[float], step: float, reading: float, warmth: float, test_pressure: float,
         supposed: tuple[tuple[float, ...], ...], noises: tuple[float, float]) -> None:
    """Take one reading into every filter: ``step`` seconds after the one before (0 for the first). ``warmth`` is the
    change of the gauge that the thermometer's change stands for [Pa], NaN without one; ``noises`` are the variances of
    a reading of gauge and thermometer [Pa2]."""
    factor = (max(reading, 0.0) / test_pressure) ** priors.LEAK_EXPONENT
    share = priors.RELAXATION_WANDER
    for index in range(len(supposed)):
        _, later, time, apart, quick, middle, slow = supposed[index]
        if step > 0.0:
            predict(state, index * LENGTH, step, factor, later, time, RELAXATION_TIMES,
                    (share * quick, share * middle, share * slow), priors.WANDER, apart)
        update(state, index * LENGTH, reading, GAUGE, noises[0])
        if warmth == warmth:
            update(state, index * LENGTH, warmth, THERMOMETER, noises[1])


def decide(state: list[float], log_weights: tuple[float, ...], log_doubts: tuple[float, ...], limit_fall: float,
           log_alpha: float, log_beta: float, or_more: bool = False) -> int:
    """1 met, -1 not met, 0 neither yet.

    What is to be shown is weighed by ``log_weights``, what is to be ruled out by ``log_doubts``: a leak at the limit
    that a large drift hides has to be ruled out even where a small drift is likelier. With ``or_more`` a leak above the
    limit is shown by what suits the readings best, not by the limit: a leak of three times the limit is nothing that a
    calm rig at the limit would explain, and would be laid to a large drift.
    """
    if log_mixture(state, log_weights, 0.0) - log_mixture(state, log_doubts, limit_fall) >= -log_alpha:
        return 1
    if (log_mixture(state, log_weights, limit_fall, or_more)
            - log_mixture(state, log_doubts, TENTH * limit_fall) >= -log_beta):
        return -1
    return 0


def mixed_rate(state: list[float], log_weights: tuple[float, ...]) -> tuple[float, float] | None:
    """Mean [Pa/s] and variance of the leak by all filters, each weighed by how well it explains the readings; None
    while nothing is known."""
    parts = []
    for index in range(len(log_weights)):
        a, b, c = state[index * LENGTH + INFORMATION:index * LENGTH + INFORMATION + 3]
        if a <= 0.0:
            return None
        parts.append((log_weights[index] + c + 0.5 * b * b / a - 0.5 * log(a), b / a, 1.0 / a))
    top = max(part[0] for part in parts)
    weights = [exp(part[0] - top) for part in parts]
    total = sum(weights)
    mean = sum(weight * part[1] for weight, part in zip(weights, parts, strict=True)) / total
    return mean, sum(weight * (part[2] + (part[1] - mean) ** 2)
                     for weight, part in zip(weights, parts, strict=True)) / total


@dataclass(frozen=True)
class Rate:
    """A leak as a flow of air at atmospheric pressure [m3/s]: best, and a band of 90 %."""

    best: float
    low: float
    high: float


class Hold:
    """A hold being judged. ``add`` a reading; ``verdict`` may be read after each."""

    def __init__(self, settings: HoldSettings) -> None:
        self.settings = settings
        self.verdict = NOT_PROVEN
        self.decided_at: float | None = None
        self.findings: list[str] = []
        self.supposed = suppositions(settings)
        self.state = [0.0] * (len(self.supposed) * LENGTH)
        self.count = 0
        self.began = self.last = 0.0
        self._temperature: float | None = None
        self._barometer: float | None = None

    def add(self, time: float, pressure: float, temperature: float | None = None,
            barometer: float | None = None) -> str:
        """Take a reading ``time`` seconds after pumping [s, Pa gauge, K, Pa abs]; returns the verdict so far.

        Readings before the settling time are passed over, and so is one that does not come after the last.
        """
        settings = self.settings
        if time < settings.settle or (self.count and time <= self.last):
            return self.verdict
        if self.count == 0:
            self._begin(time, pressure, temperature, barometer)
        step = time - self.last if self.count else 0.0
        warmth = nan
        if temperature is not None and self._temperature is not None:
            warmth = settings.per_kelvin * (temperature - self._temperature)
        weather = 0.0
        if barometer is not None and self._barometer is not None:
            weather = barometer - self._barometer
        take(self.state, step, pressure + weather, warmth, settings.test_pressure, self.supposed, settings.noises)
        self.last = time
        self.count += 1
        earliest = settings.first_verdict(self._temperature is not None)
        if self.decided_at is None and earliest <= time <= settings.longest:
            found = decide(self.state, LOG_WEIGHTS, LOG_DOUBTS, settings.limit_fall, log(settings.alpha),
                           log(settings.beta), True)
            if found:
                self._decide(MET if found > 0 else NOT_MET, time)
        return self.verdict

    def _begin(self, time: float, pressure: float, temperature: float | None, barometer: float | None) -> None:
        self.began = self.last = time
        self._temperature, self._barometer = temperature, barometer
        begin(self.state, pressure, self.supposed, priors.THERMOMETER_START * self.settings.per_kelvin)
        if pressure < EMPTIED * self.settings.test_pressure:
            self.findings.append(
                f"The first reading is {pressure / 100:.1f} mbar; the test began at "
                f"{self.settings.test_pressure / 100:.0f} mbar. The rig had lost its gas before anybody looked: "
                "a large leak.")
            self._decide(NOT_MET, time)

    def _decide(self, verdict: str, time: float) -> None:
        self.verdict, self.decided_at = verdict, time

    @property
    def rate(self) -> Rate | None:
        """The leak rate by all filters, with the volume's uncertainty in the band. None before three readings."""
        if self.count < 3:
            return None
        mixed = mixed_rate(self.state, LOG_WEIGHTS)
        if mixed is None:
            return None
        mean, variance = mixed
        spread = 1.645 * sqrt(variance)
        flow = self.settings.volume / self.settings.atmospheric_pressure
        low, high = (mean - spread) * flow, (mean + spread) * flow
        # The volume may be larger or smaller: each end takes the one that moves it outwards.
        smaller = 2.0 - VOLUME_SPREAD
        return Rate(mean * flow, low * (smaller if low > 0.0 else VOLUME_SPREAD),
                    high * (VOLUME_SPREAD if high > 0.0 else smaller))
