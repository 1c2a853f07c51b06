"""A hold judged from its log: where it begins, which readings may be used, the verdict, and what would have helped."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from math import nan

from stillbore.gauge import priors
from stillbore.gauge.filter import INFORMATION, LENGTH
from stillbore.gauge.growing import Growing
from stillbore.gauge.hold import Hold, HoldSettings, Rate, begin, suppositions, take
from stillbore.gauge.readings import Log
from stillbore.verdicts import NOT_PROVEN

PUMPED_FROM = 0.75  # of the highest reading: a log that begins below it has the pumping in it
LOOK_FOR_PUMPING = 180.0  # s
TENTH_BAND = (0.085, 0.115)  # of the test pressure: the same number in kPa
MOST_BUNDLES = 20  # of readings, for advice alone: its figures are within a fiftieth of those by every reading
MOST_DOUBTFUL = 0.2  # of the readings of a hold; beyond it there is no verdict


@dataclass(frozen=True)
class HoldReport:
    """A judged hold. ``began_at`` is the time in the log at which pumping ended; ``decided_at`` is counted in the log's
    own time; ``used`` counts the readings that the verdict rests on."""

    verdict: str
    began_at: float
    decided_at: float | None
    rate: Rate | None
    settings: HoldSettings
    used: int
    findings: tuple[str, ...]


def beginning(log: Log) -> int:
    """Index of the sample at which pumping has ended: where the log first comes within 1 % of its early maximum, if it
    begins well below that; else its first sample."""
    early = [index for index in range(bisect_right(log.times, LOOK_FOR_PUMPING)) if index not in log.doubtful]
    if not early:
        return 0
    top = max(log.pressures[index] for index in early)
    if top <= 0.0 or log.pressures[early[0]] >= PUMPED_FROM * top:
        return early[0]
    return next(index for index in early if log.pressures[index] >= 0.99 * top)


def judge_hold(log: Log, settings: HoldSettings, growing: Growing | None = None) -> HoldReport:
    """Judge the hold in a log. No verdict rests on a doubtful reading; too many of them, and there is none. Nor does
    one rest on a reading after the first jump of the clock: the time across it is not known. ``growing`` is the same
    for a log that is judged again as it grows."""
    first = beginning(log)
    began = log.times[first]
    with_thermometer = any(reading == reading for reading in log.temperatures)
    findings = list(log.findings)
    end = bisect_right(log.times, began + settings.longest)
    jump = next((index for index in log.jumps if first < index < end), None)
    if jump is not None:
        findings.append(f"The time is not known across {log.times[jump]:.0f} s. The verdict rests on the readings of "
                        "this hold before it alone; if they do not suffice, pump up and hold again.")
    window = range(first, end if jump is None else jump)
    doubtful = [index for index in window if index in log.doubtful]
    suspicion = _unit_suspicion(log, first, settings)
    if suspicion:
        findings.append(suspicion)
    if suspicion or len(doubtful) > MOST_DOUBTFUL * len(window):
        findings.append("There is no verdict: too many readings cannot be relied on.")
        return HoldReport(NOT_PROVEN, began, None, None, settings, 0, tuple(findings))
    if doubtful:
        findings.append(f"{len(doubtful)} doubtful readings were left out of the verdict.")
    samples = [(time - began, *rest) for time, *rest in (log.sample(index) for index in window
                                                         if index not in log.doubtful)]
    hold = (growing or Growing()).judged(Hold, settings, samples, to_the_end=False)
    findings += hold.findings + _remarks(hold, log, window, with_thermometer)
    decided = None if hold.decided_at is None else began + hold.decided_at
    return HoldReport(hold.verdict, began, decided, hold.rate, settings, hold.count, tuple(findings))


def _unit_suspicion(log: Log, first: int, settings: HoldSettings) -> str:
    share = log.pressures[first] / settings.test_pressure
    if TENTH_BAND[0] <= share <= TENTH_BAND[1]:
        return (f"The hold begins at {log.pressures[first] / 100:.3g} mbar, a tenth of the test pressure: was it "
                "written in kPa? Write the unit the gauge shows.")
    return ""


def _remarks(hold: Hold, log: Log, window: range, with_thermometer: bool) -> list[str]:
    """What the log shows beside the verdict: warmth that hides or mimics a leak, and what would have helped most."""
    said = []
    if with_thermometer and window:
        known = [log.temperatures[index] for index in window if log.temperatures[index] == log.temperatures[index]]
        if known:
            change = known[-1] - known[0]
            expected = change * hold.settings.per_kelvin
            moved = log.pressures[window[-1]] - log.pressures[window[0]]
            if change > 0.3 and moved < 0.4 * expected:
                said.append(f"The rig warmed by {change:.1f} K, which alone lifts the gauge by {expected / 100:.1f} "
                            f"mbar; it moved by {moved / 100:+.1f} mbar. A gauge that stays flat in the sun may hide "
                            "a leak.")
            elif change < -0.3 and moved < 0.0:
                said.append(f"The rig cooled by {-change:.1f} K, which alone pulls the gauge down by "
                            f"{-expected / 100:.1f} mbar; it moved by {moved / 100:+.1f} mbar. A fall in a cloud's "
                            "shadow is no leak by itself.")
    earliest = hold.settings.first_verdict(with_thermometer)
    lasted = log.times[window[-1]] - log.times[window[0]] if window else 0.0
    if hold.verdict == NOT_PROVEN and lasted < earliest:
        said.append(f"Nothing is decided before {earliest:.0f} s after pumping; the readings so far end at "
                    f"{lasted:.0f} s.")
    elif hold.verdict == NOT_PROVEN and hold.count > 2:
        said.append(_what_would_help(hold, with_thermometer))
    return said


def _what_would_help(hold: Hold, with_thermometer: bool) -> str:
    """Which change would have made the limit stand out most: worked out by running the filter again over as many
    readings with the drift, the thermometer or the time changed."""
    settings, steps = hold.settings, max(hold.count, 3)
    interval = max((hold.last - hold.began) / max(hold.count - 1, 1), 0.05)
    now = _information(settings, with_thermometer, steps, interval)
    options = {"twice the time": _information(settings, with_thermometer, 2 * steps, interval)}
    if settings.drift != "shade":
        options["shade"] = _information(replace(settings, drift="shade"), with_thermometer, steps, interval)
    if not with_thermometer:
        options["a thermometer on the rig"] = _information(settings, True, steps, interval)
    ranked = sorted(options.items(), key=lambda pair: -pair[1])
    words = ", ".join(f"{what} (the limit would stand out {(value / now) ** 0.5:.1f} times as clearly)"
                      for what, value in ranked)
    return f"What would have helped, most first: {words}."


def _information(settings: HoldSettings, with_thermometer: bool, count: int, interval: float) -> float:
    """What ``count`` readings tell about a leak, by the filter with the declared drift [s2/Pa2]. Many readings are
    taken in bundles, each as one with less noise, so that advice costs the same after every reading."""
    bundle = -(-count // MOST_BUNDLES)
    gauge, thermometer = settings.noises
    noises = (gauge / bundle, thermometer / bundle)
    supposed = suppositions(settings)[:1]
    warmth = 0.0 if with_thermometer else nan
    state = [0.0] * LENGTH
    begin(state, settings.test_pressure, supposed, priors.THERMOMETER_START * settings.per_kelvin)
    for number in range(count // bundle):
        take(state, bundle * interval if number else 0.0, settings.test_pressure, warmth, settings.test_pressure,
             supposed, noises)
    return max(state[INFORMATION], 1e-30)
