"""Let-by past the stopper: how fast the leg fills, with a bound; up to which pressure and until when that counts; and
what it would mean for the pit.

The filter of the hold, turned round: the leg is vented and shut, and what comes past the stopper lifts the gauge. What
drives it is the district's pressure less the leg's. A rate says nothing above the pressure it was watched at, because
a stopper loses its seal at a threshold. And a flat gauge proves nothing by itself: a leg that leaks as fast as the
stopper lets by stands flat too. So the open vent is looked at first, and without that look let-by is *not proven*.
"""

from __future__ import annotations

from collections.abc import MutableSequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, sqrt

from stillbore.gauge import priors
from stillbore.gauge.filter import GAUGE, LENGTH, predict, start, update
from stillbore.gauge.growing import Growing
from stillbore.gauge.hold import decide, mixed_rate
from stillbore.gauge.readings import Log
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

VENT_LOOKS = ("none", "bubbles", "flow")  # what was seen at the open vent
VOLUME_SPREAD = 1.3  # the leg's volume is known worse than the rig's
# K/s: the leg lies in the ground, and only the rig on it stands in the weather. Without a source: it was set after a
# look at how far tight legs of the virtual rig drift (decisions/0013), so the figures measured there flatter it.
DRIFT = 0.006 / 60.0
# What is left of venting: the gas has cooled and warms again, which lifts the gauge as let-by does. Time [s], mean and
# standard deviation [Pa]; negative, because it rises out of it. For a vent left open half a minute.
REWARMING = ((5.0, -50.0, 200.0), (20.0, -20.0, 100.0), (80.0, -20.0, 70.0))
USABLE = 0.4  # of the district's pressure; above it the drive falls too fast for a rate
SCALES = ((1.0, 0.8), (4.0, 0.2))  # factors on that drift, and their weights: a drift thought too small hides let-by
LOG_WEIGHTS = (log(SCALES[0][1]), log(SCALES[1][1]))
LOG_DOUBTS = (log(0.6), log(0.4))  # what is to be ruled out is weighed more on the large drift
ALPHA, BETA = 0.02, 0.01
LONGEST_NEEDED = 3600.0  # s
FIRST_VERDICT = 30.0  # s after the vent was shut
BOUND = 1.645  # standard deviations, one-sided 95 %
LEAST_READINGS = 15  # on one side of a jump of the clock; fewer show no slope
FALLS = -2.0  # Pa/s over the watch before venting: somebody or something draws on the leg


@dataclass(frozen=True)
class LetBySettings:
    """What a let-by watch is judged by. SI. ``district`` is the pressure behind the stopper during the watch,
    ``highest`` the highest foreseen, ``margin`` how far above the watched pressure a pass still counts, ``stop`` the
    rate at which nothing is cut whatever else, ``fresh`` how long a pass counts."""

    volume: float
    limit: float
    stop: float
    district: float
    highest: float
    margin: float
    fresh: float
    resolution: float
    vent: str | None = None
    leg_falls: bool = False  # seen before venting: another user or a leak, either of which hides let-by
    by_eye: bool = False
    atmospheric_pressure: float = 101325.0
    temperature: float = 283.0

    @property
    def limit_rise(self) -> float:
        """Rise of the gauge at the limit [Pa/s], in the largest leg it may be."""
        return self.limit * self.atmospheric_pressure / (VOLUME_SPREAD * self.volume)

    @property
    def noise(self) -> float:
        own = priors.NOISE_BY_EYE if self.by_eye else priors.NOISE
        return own * own + self.resolution * self.resolution / 12.0


@dataclass(frozen=True)
class LetByReport:
    """A judged watch: verdict, best rate and upper bound [m3/s]; pressure up to which, and log time until which, it
    counts."""

    verdict: str
    best: float | None
    upper: float | None
    counts_up_to: float
    counts_until: float | None
    findings: tuple[str, ...]


def begin_watch(state: MutableSequence[float], reading: float, drift_spreads: tuple[float, float]) -> None:
    """Set both filters to their priors at the first reading after the vent was shut."""
    for index in range(2):
        means = (reading + 90.0, 0.0, REWARMING[0][1], REWARMING[1][1], REWARMING[2][1], 0.0)
        spreads = (priors.LEVEL_SPREAD, drift_spreads[index], REWARMING[0][2], REWARMING[1][2], REWARMING[2][2], 0.0)
        start(state, index * LENGTH, means, spreads)


def take_watch(state: MutableSequence[float], step: float, reading: float, district: float,
               drift_spreads: tuple[float, float], noise: float) -> None:
    """Take one reading into both filters, ``step`` seconds after the one before (0 for the first). What drives let-by
    is what is left of the district's pressure; it lifts the gauge, so it is a leak that blows backwards."""
    wanders = (priors.RELAXATION_WANDER * REWARMING[0][2], priors.RELAXATION_WANDER * REWARMING[1][2],
               priors.RELAXATION_WANDER * REWARMING[2][2])
    times = (REWARMING[0][0], REWARMING[1][0], REWARMING[2][0])
    for index in range(2):
        if step > 0.0:
            predict(state, index * LENGTH, step, -(district - reading) / district, drift_spreads[index],
                    priors.DRIFT_TIME, times, wanders, priors.WANDER)
        update(state, index * LENGTH, reading, GAUGE, noise)


class LetBy:
    """A watch being judged. ``add`` a reading; ``decided`` says after each whether the readings have shown enough."""

    def __init__(self, settings: LetBySettings) -> None:
        self.settings = settings
        self.state = [0.0] * (2 * LENGTH)
        self.count = 0
        self.first = self.last = 0.0
        self.usable = True
        self.decided = NOT_PROVEN
        self.decided_at: float | None = None
        self.drift_spreads = drift_spreads(settings)

    def add(self, time: float, pressure: float) -> None:
        """Take a reading [s, Pa gauge]; one above the usable range, or not after the last, is passed over."""
        settings = self.settings
        if self.count and time <= self.last:
            return
        if pressure > USABLE * settings.district:
            self.usable = False
            return
        if self.count == 0:
            self.first = self.last = time
            begin_watch(self.state, pressure, self.drift_spreads)
        take_watch(self.state, time - self.last, pressure, settings.district, self.drift_spreads, settings.noise)
        self.last = time
        self.count += 1
        if self.decided_at is None and time - self.first >= FIRST_VERDICT:
            found = decide(self.state, LOG_WEIGHTS, LOG_DOUBTS, settings.limit_rise, log(ALPHA), log(BETA))
            if found:
                self.decided, self.decided_at = MET if found > 0 else NOT_MET, time

    def rate(self) -> tuple[float, float] | None:
        """Best rate and its upper bound at the district's pressure [m3/s of gas at atmospheric pressure]."""
        mixed = mixed_rate(self.state, LOG_WEIGHTS)
        if self.count < 3 or mixed is None:
            return None
        mean, variance = mixed
        flow = self.settings.volume / self.settings.atmospheric_pressure
        return mean * flow, max(0.0, VOLUME_SPREAD * (mean + BOUND * sqrt(variance))) * flow


def drift_spreads(settings: LetBySettings) -> tuple[float, float]:
    """Spread of the drift in both filters [Pa/s]."""
    declared = DRIFT * settings.atmospheric_pressure / settings.temperature
    return declared * SCALES[0][0], declared * SCALES[1][0]


def judge_watch(log: Log, settings: LetBySettings, growing: Growing | None = None) -> LetByReport:
    """Judge a watch whose log begins when the vent was shut. Only the readings before the first jump of its clock are
    counted; after it a leg that is full is still seen, but nothing is met. ``growing`` is the same for a log that is
    judged again as it grows."""
    jump = next((index for index in log.jumps if index), len(log))
    samples, usable = [], True
    for index, (time, pressure, _, _) in enumerate(log.samples()):
        doubt = log.doubtful.get(index)
        if doubt == "clipped" or doubt is None and index >= jump and pressure > USABLE * settings.district:
            usable = False
        elif doubt is None and index < jump:
            samples.append((time, pressure))
    # A judge that hears of what is not among its readings is none to keep.
    judge = (growing if growing and usable else Growing()).judged(LetBy, settings, samples, to_the_end=True)
    judge.usable &= usable
    report = judge_so_far(judge, settings, list(log.findings))
    if jump == len(log):
        return report
    return replace(report, verdict=NOT_MET if report.verdict == NOT_MET else NOT_PROVEN, counts_until=None,
                   findings=(*report.findings, f"The time is not known across {log.times[jump]:.0f} s. Only readings "
                             "before it were counted, and without the rest nothing is proven. Watch again."))


def judge_so_far(judge: LetBy, settings: LetBySettings, findings: list[str] | None = None) -> LetByReport:
    """The verdict of a watch on the readings it has been given."""
    findings = findings or []
    counts_up_to = settings.district + settings.margin
    rate = judge.rate()
    if rate is None and not judge.usable:
        findings.append("The leg fills at once when the vent is shut: the stopper lets by freely, or is not set.")
        return LetByReport(NOT_MET, None, None, counts_up_to, None, tuple(findings))
    if rate is None:
        findings.append("There are too few readings for a rate.")
        return LetByReport(NOT_PROVEN, None, None, counts_up_to, None, tuple(findings))
    best, upper = rate
    if not judge.usable:
        findings.append(f"The leg rose above {USABLE:.0%} of the district's pressure: the stopper lets by freely.")
    verdict = _verdict(judge, settings, findings)
    return LetByReport(verdict, best, upper, counts_up_to, judge.last + settings.fresh if verdict == MET else None,
                       tuple(findings))


@lru_cache(maxsize=64)
def needed_watch(settings: LetBySettings, interval: float = 5.0) -> float | None:
    """About how long a watch past a tight stopper takes to show the limit [s], by the judge itself on a leg that stands
    at nought; None if an hour is not enough."""
    judge = LetBy(settings)
    time = 0.0
    while time <= LONGEST_NEEDED:
        judge.add(time, 0.0)
        if judge.decided == MET:
            return time
        time += interval
    return None


def _needed_words(settings: LetBySettings) -> str:
    needed = needed_watch(settings)
    if needed is None:
        return "even an hour would not show it; isolate less, or take a finer gauge"
    return f"a tight stopper takes about {needed:.0f} s to show it here"


def _verdict(judge: LetBy, settings: LetBySettings, findings: list[str]) -> str:
    best = judge.rate()[0]  # type: ignore[index]
    if not judge.usable or judge.decided == NOT_MET or best >= settings.stop:
        findings.append("Let-by is above the limit. Set the stopper again once, then a new stopper, then stop.")
        return NOT_MET
    if settings.vent == "flow":
        findings.append("Flow was seen at the open vent: gas passes the stopper, whatever the gauge says.")
        return NOT_MET
    if settings.vent == "bubbles":
        findings.append("Bubbles were seen at the open vent: gas passes the stopper. A flat gauge beside them is a leg "
                        "that leaks as fast as the stopper lets by.")
        return NOT_MET
    proved = judge.decided == MET
    if not proved:
        findings.append("The watch is too short, or the leg too large, to show the limit on this gauge. Watch longer: "
                        f"{_needed_words(settings)}.")
    if settings.vent is None:
        findings.append("Nobody has said what was seen at the open vent. Without that look let-by is not proven: a leg "
                        "that leaks can hide it.")
        proved = False
    if settings.leg_falls:
        findings.append("The leg fell before it was vented, or was not seen standing: what draws on it or leaks from "
                        "it hides let-by. Not proven until the leg stands.")
        proved = False
    if settings.highest > settings.district + settings.margin:
        findings.append(f"The district is expected to reach {settings.highest / 100:.0f} mbar; this watch counts up to "
                        f"{(settings.district + settings.margin) / 100:.0f} mbar. A stopper can hold at one pressure "
                        "and let by at a higher one. Above what it was watched at it is not proven.")
        proved = False
    return MET if proved else NOT_PROVEN


class Slope:
    """The slope of a straight line through readings, by least squares, one reading at a time."""

    def __init__(self) -> None:
        self.count = 0
        self.time = self.pressure = self.spread = self.both = 0.0  # means, and sums about them

    def add(self, time: float, pressure: float) -> None:
        """Take a reading; Welford's recurrence keeps the sums about the means."""
        self.count += 1
        off = time - self.time
        self.time += off / self.count
        self.pressure += (pressure - self.pressure) / self.count
        self.spread += off * (time - self.time)
        self.both += off * (pressure - self.pressure)

    @property
    def value(self) -> float:
        """Pressure over time, 0 while it cannot be told."""
        return self.both / self.spread if self.spread > 0.0 else 0.0


def falling_leg(slope: float) -> str:
    """What a leg that falls before it is vented means; "" for one that does not."""
    if slope >= FALLS:
        return ""
    return (f"The isolated leg falls by {-slope * 0.6:.1f} mbar a minute before it is vented: another user, or a "
            "leaking leg. Do not vent until it is known which.")


def watch_before_venting(log: Log) -> tuple[float, str]:
    """Slope of the leg's pressure before it is vented [Pa/s], and what it means: a leg that falls has another user, or
    leaks; it is not vented until that is known."""
    lines, jumps = [Slope()], set(log.jumps)
    for index, (time, pressure) in enumerate(zip(log.times, log.pressures, strict=True)):
        if index in jumps and lines[-1].count:
            lines.append(Slope())
        if index not in log.doubtful:
            lines[-1].add(time, pressure)
    slope = min((line.value for line in lines if len(lines) == 1 or line.count >= LEAST_READINGS), default=0.0)
    steady = ("The isolated leg is steady before venting." if len(lines) == 1 else
              "The clock jumps before venting: whether the isolated leg is steady across it is not known. Watch again.")
    return slope, falling_leg(slope) or steady
