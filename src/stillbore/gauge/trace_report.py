"""A whole trace judged: every hold, every watch and the break-through in it, each by its own judge."""

from __future__ import annotations

from dataclasses import dataclass, replace

from stillbore.gauge.breakthrough import BreakThrough, Expected, judge_break_through, no_rise
from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.hold_log import HoldReport, judge_hold
from stillbore.gauge.letby import LetByReport, LetBySettings, falling_leg, judge_watch, watch_before_venting
from stillbore.gauge.readings import Log
from stillbore.gauge.trace import Segment, read_trace, usable
from stillbore.verdicts import MET, NOT_PROVEN


@dataclass(frozen=True)
class TraceSettings:
    """What a trace is judged by. ``hold`` and ``let_by`` are None where volume or limit were not given: then that part
    is read, and not judged. A let-by setting whose district is 0 takes the pressure the gauge showed before the stopper
    was set."""

    expected: Expected
    hold: HoldSettings | None = None
    let_by: LetBySettings | None = None


@dataclass(frozen=True)
class JudgedWatch:
    """A watch: its segment, whether it stood before venting, its verdict, and the let-by report where there is one."""

    segment: Segment
    before_venting: bool
    verdict: str
    report: LetByReport | None
    findings: tuple[str, ...]


@dataclass(frozen=True)
class TraceReport:
    segments: tuple[Segment, ...]
    holds: tuple[tuple[Segment, HoldReport | None], ...]
    watches: tuple[JudgedWatch, ...]
    break_throughs: tuple[BreakThrough, ...]
    findings: tuple[str, ...]


UNDER_TEST = ("pump", "hold", "release")
TOO_MUCH = 1.2  # times the test pressure
JUMPED = "The clock jumped, or nothing was read, while the gauge came up: how long it took is not known."
UNSEEN = ("Nothing in the log shows when the vent was shut: with a tight stopper nothing moves then. Write 'vent shut' "
          "in the note column. Until that is known, let-by is not proven.")


def part(log: Log, first: int, last: int) -> Log:
    """Readings ``first`` to ``last`` of a log as a log of their own, with the same times."""
    return Log(log.name, log.times[first:last + 1], log.pressures[first:last + 1], log.temperatures[first:last + 1],
               log.barometers[first:last + 1],
               doubtful={index - first: why for index, why in log.doubtful.items() if first <= index <= last})


def judge_trace(log: Log, settings: TraceSettings) -> TraceReport:
    """Read a log and judge what is in it."""
    segments = read_trace(log)
    findings = list(log.findings)
    holds = tuple((segment, _judge_hold(log, segment, settings.hold)) for segment in segments
                  if segment.label == "hold")
    if holds and settings.hold is None:
        findings.append("The hold is not judged: give its volume and its limit.")
    watches = tuple(_judge_watch(log, segments, number, settings.let_by) for number, segment in enumerate(segments)
                    if segment.label == "watch")
    if settings.let_by is None and any(not watch.before_venting for watch in watches):
        findings.append("The let-by watch is not judged: give the volume of the leg and the limit.")
    findings += _too_high(log, segments, settings)
    return TraceReport(tuple(segments), holds, watches, tuple(_break_throughs(log, segments, settings.expected)),
                       tuple(findings))


def _judge_hold(log: Log, segment: Segment, settings: HoldSettings | None) -> HoldReport | None:
    return None if settings is None else judge_hold(part(log, segment.first, segment.last), settings)


def _judge_watch(log: Log, segments: list[Segment], number: int, settings: LetBySettings | None) -> JudgedWatch:
    segment = segments[number]
    before = segments[number - 1].label if number else ""
    piece = part(log, segment.first, segment.last)
    if before == "stopper":
        _, words = watch_before_venting(piece)
        return JudgedWatch(segment, True, NOT_PROVEN, None, (words,))
    if settings is None:
        return JudgedWatch(segment, False, NOT_PROVEN, None, ())
    said: tuple[str, ...] = ()
    if settings.district <= 0.0:
        district = _district(log, segments[:number])
        if district is None:
            return JudgedWatch(segment, False, NOT_PROVEN, None, (
                "The pressure behind the stopper is not known: read the district and give it.",))
        settings = replace(settings, district=district, highest=max(settings.highest, district))
        said = (f"The district is taken to stand at {district / 100:.1f} mbar, as the gauge showed before the stopper "
                "was set. Behind the stopper the gauge cannot see it: read it elsewhere.",)
    report = judge_watch(piece, replace(settings, leg_falls=_leg_fell(log, segments[:number])))
    verdict = report.verdict
    if not segment.seen:
        said = (*said, UNSEEN)
        verdict = NOT_PROVEN if verdict != "not met" else verdict
    return JudgedWatch(segment, False, verdict, report, (*said, *report.findings))


def _leg_fell(log: Log, earlier: list[Segment]) -> bool:
    """Whether the leg fell in the last watch before venting, or was set off by a stopper and not seen standing: a
    neighbour empties a small leg within seconds, and that looks like a vent."""
    for before, segment in zip(reversed(earlier[:-1]), reversed(earlier), strict=False):
        if segment.label == "watch" and before.label == "stopper":
            return bool(falling_leg(watch_before_venting(part(log, segment.first, segment.last))[0]))
    return any(segment.label == "stopper" for segment in earlier)


def _district(log: Log, earlier: list[Segment]) -> float | None:
    """What the gauge showed while it last saw the district: the mean of the last live stretch."""
    for segment in reversed(earlier):
        if segment.label == "live":
            values = [log.pressures[index] for index in range(segment.first, segment.last + 1)
                      if index not in log.doubtful]
            return sum(values) / len(values) if values else None
    return None


def _break_throughs(log: Log, segments: list[Segment], expected: Expected) -> list[BreakThrough]:
    found = []
    kept = usable(log)
    for number, segment in enumerate(segments):
        after = segments[number + 1].label if number + 1 < len(segments) else ""
        if segment.label == "break":
            last = segments[number + 1].last if after == "live" else segment.last
            inside = [index for index in kept if segment.first <= index <= last]
            clipped = any(log.doubtful.get(index) == "clipped" for index in inside)
            judged = judge_break_through([log.times[index] for index in inside],
                                         [log.pressures[index] for index in inside], clipped, expected)
            if judged.verdict == MET and any(segment.first < jump <= last for jump in log.jumps):
                judged = replace(judged, verdict=NOT_PROVEN, findings=(JUMPED,))
            found.append(judged)
        elif segment.label == "drill" and after == "zero" and not _rises_later(segments[number:]):
            found.append(no_rise(segment.end))
    return found


def _rises_later(segments: list[Segment]) -> bool:
    """Whether the same drilling goes on and comes through: a saw that rests is no saw that found nothing."""
    for segment in segments:
        if segment.label == "break":
            return True
        if segment.label not in ("drill", "zero"):
            return False
    return False


def _too_high(log: Log, segments: list[Segment], settings: TraceSettings) -> list[str]:
    """Readings above the maximum wherever the rig is not under test pressure, and above the test pressure anywhere:
    said whatever the labels are."""
    maximum = settings.expected.maximum
    test = settings.hold.test_pressure if settings.hold else HoldSettings.test_pressure
    for segment in segments:
        limit = TOO_MUCH * test if segment.label in UNDER_TEST or maximum is None else maximum
        for index in range(segment.first, segment.last + 1):
            if log.pressures[index] > limit and log.doubtful.get(index, "clipped") == "clipped":
                return [f"At {log.times[index]:.0f} s the gauge reads {log.pressures[index] / 100:.0f} mbar, above "
                        f"{limit / 100:.0f} mbar. If that is no test pressure it is medium pressure: leave everything "
                        "as it is, clear the pit, call."]
    return []
