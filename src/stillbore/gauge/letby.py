"""Let-by past the stopper: how fast the leg fills, with a bound; up to which pressure and until when that counts; and
what it would mean for the pit.

The filter of the hold, turned round: the leg is vented and shut, and what comes past the stopper lifts the gauge. What
drives it is the district's pressure less the leg's. A rate says nothing above the pressure it was watched at, because
a stopper loses its seal at a threshold. And a flat gauge proves nothing by itself: a leg that leaks as fast as the
stopper lets by stands flat too. So the open vent is looked at first, and without that look let-by is *not proven*.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

from stillbore.gauge import priors
from stillbore.gauge.filter import INFORMATION, LENGTH, predict, start, update
from stillbore.gauge.hold import MET, NOT_MET, NOT_PROVEN
from stillbore.gauge.readings import Log

VENT_LOOKS = ("none", "bubbles", "flow")  # what was seen at the open vent
VOLUME_SPREAD = 1.3  # the leg's volume is known worse than the rig's
DRIFT = 0.02 / 60.0  # K/s; the leg lies in the ground. Common practice.
# What is left of venting: the gas has cooled and warms again, which lifts the gauge as let-by does. Time [s], mean and
# standard deviation [Pa]; negative, because it rises out of it. For a vent left open half a minute.
REWARMING = ((5.0, -50.0, 200.0), (20.0, -20.0, 100.0), (80.0, -20.0, 70.0))
USABLE = 0.4  # of the district's pressure; above it the drive falls too fast for a rate
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
    by_eye: bool = False
    atmospheric_pressure: float = 101325.0
    temperature: float = 283.0

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


class LetBy:
    """A watch being judged, reading by reading."""

    def __init__(self, settings: LetBySettings) -> None:
        self.settings = settings
        self.state = [0.0] * LENGTH
        self.count = 0
        self.first = self.last = 0.0
        self.usable = True
        self.drift = DRIFT * (settings.atmospheric_pressure / settings.temperature)

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
            start(self.state, 0, (pressure + 90.0, 0.0, *(mean for _, mean, _ in REWARMING), 0.0),
                  (priors.LEVEL_SPREAD, self.drift, *(spread for _, _, spread in REWARMING), 0.0))
        else:
            # Falls are positive in the filter, so a rate past the stopper is a negative leak: the drive says so.
            drive = -(settings.district - pressure) / settings.district
            wanders = (priors.RELAXATION_WANDER * REWARMING[0][2], priors.RELAXATION_WANDER * REWARMING[1][2],
                       priors.RELAXATION_WANDER * REWARMING[2][2])
            predict(self.state, 0, time - self.last, drive, self.drift, priors.DRIFT_TIME,
                    (REWARMING[0][0], REWARMING[1][0], REWARMING[2][0]), wanders, priors.WANDER)
        update(self.state, 0, pressure, 0.0, settings.noise)
        self.last = time
        self.count += 1

    def rate(self) -> tuple[float, float] | None:
        """Best rate and its upper bound at the district's pressure [m3/s of gas at atmospheric pressure]."""
        a, b = self.state[INFORMATION], self.state[INFORMATION + 1]
        if self.count < 3 or a <= 0.0:
            return None
        flow = self.settings.volume / self.settings.atmospheric_pressure
        return b / a * flow, max(0.0, VOLUME_SPREAD * (b / a + BOUND / sqrt(a))) * flow


def judge_watch(log: Log, settings: LetBySettings) -> LetByReport:
    """Judge a watch whose log begins when the vent was shut. Only the readings before the first jump of its clock are
    counted; after it a leg that is full is still seen, but nothing is met."""
    judge = LetBy(settings)
    jump = next((index for index in log.jumps if index), len(log))
    for index, (time, pressure, _, _) in enumerate(log.samples()):
        doubt = log.doubtful.get(index)
        if doubt == "clipped" or doubt is None and index >= jump and pressure > USABLE * settings.district:
            judge.usable = False
        elif doubt is None and index < jump:
            judge.add(time, pressure)
    report = _report(judge, settings, list(log.findings))
    if jump == len(log):
        return report
    return replace(report, verdict=NOT_MET if report.verdict == NOT_MET else NOT_PROVEN, counts_until=None,
                   findings=(*report.findings, f"The time is not known across {log.times[jump]:.0f} s. Only readings "
                             "before it were counted, and without the rest nothing is proven. Watch again."))


def _report(judge: LetBy, settings: LetBySettings, findings: list[str]) -> LetByReport:
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
    verdict = _verdict(judge, settings, upper, findings)
    return LetByReport(verdict, best, upper, counts_up_to, judge.last + settings.fresh if verdict == MET else None,
                       tuple(findings))


def _verdict(judge: LetBy, settings: LetBySettings, upper: float, findings: list[str]) -> str:
    best = judge.rate()[0]  # type: ignore[index]
    lower = 2.0 * best - upper / VOLUME_SPREAD
    if not judge.usable or lower > settings.limit or best >= settings.stop:
        findings.append("Let-by is above the limit. Set the stopper again once, then a new stopper, then stop.")
        return NOT_MET
    if settings.vent == "flow":
        findings.append("Flow was seen at the open vent: gas passes the stopper, whatever the gauge says.")
        return NOT_MET
    if settings.vent == "bubbles":
        findings.append("Bubbles were seen at the open vent: gas passes the stopper. A flat gauge beside them is a leg "
                        "that leaks as fast as the stopper lets by.")
        return NOT_MET
    proved = upper <= settings.limit
    if not proved:
        findings.append("The watch is too short, or the leg too large, to show the limit on this gauge. Watch longer.")
    if settings.vent is None:
        findings.append("Nobody has said what was seen at the open vent. Without that look let-by is not proven: a leg "
                        "that leaks can hide it.")
        proved = False
    if settings.highest > settings.district + settings.margin:
        findings.append(f"The district is expected to reach {settings.highest / 100:.0f} mbar; this watch counts up to "
                        f"{(settings.district + settings.margin) / 100:.0f} mbar. A stopper can hold at one pressure "
                        "and let by at a higher one. Above what it was watched at it is not proven.")
        proved = False
    return MET if proved else NOT_PROVEN


def watch_before_venting(log: Log) -> tuple[float, str]:
    """Slope of the leg's pressure before it is vented [Pa/s], and what it means: a leg that falls has another user, or
    leaks; it is not vented until that is known."""
    slopes = [_slope(log, first, end) for first, end in zip([0, *log.jumps], [*log.jumps, len(log)], strict=True)
              if not log.jumps or end - first >= LEAST_READINGS]
    slope = min(slopes, default=0.0)
    if slope < FALLS:
        return slope, (f"The isolated leg falls by {-slope * 0.6:.1f} mbar a minute before it is vented: another user, "
                       "or a leaking leg. Do not vent until it is known which.")
    return slope, ("The isolated leg is steady before venting." if len(log.jumps) == 0 else
                   "The clock jumps before venting: whether the isolated leg is steady across it is not known. Watch "
                   "again.")


def _slope(log: Log, first: int, end: int) -> float:
    """Slope of the usable pressures between two places [Pa/s], by least squares."""
    readings = [(log.times[index], log.pressures[index]) for index in range(first, end) if index not in log.doubtful]
    if not readings:
        return 0.0
    middle_time, middle = (sum(values) / len(readings) for values in zip(*readings, strict=True))
    spread = sum((time - middle_time) ** 2 for time, _ in readings)
    both = sum((time - middle_time) * (pressure - middle) for time, pressure in readings)
    return both / spread if spread > 0.0 else 0.0
