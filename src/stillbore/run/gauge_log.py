"""A gauge log as the answer to a question of a step, judged by the gauge with the numbers of this job's plan."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.gauge.breakthrough import Expected
from stillbore.gauge.growing import Growing
from stillbore.gauge.hold import TENTH, HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.letby import VENT_LOOKS, LetBySettings, judge_watch
from stillbore.gauge.readings import Log, read_text
from stillbore.gauge.trace_report import TraceSettings, judge_trace
from stillbore.record.events import Value
from stillbore.run.answers import Judged
from stillbore.run.basis import Ask
from stillbore.run.fold import district_pressure
from stillbore.run.state import State
from stillbore.units import digits, show, to_unit
from stillbore.verdicts import NOT_PROVEN


@dataclass(frozen=True)
class Conditions:
    """How the log was taken: where the rig stood (shade, ordinary, sun), and whether the gauge was read by eye."""

    drift: str = "ordinary"
    by_eye: bool = False
    instrument: str = ""


@dataclass(frozen=True)
class Drawn:
    """What is drawn on a chart before the first reading: the band in which what would be *met* stays, and the line of
    the limit; each as a pressure at the beginning [Pa gauge] and how it moves [Pa/s]. The verdict is not read off it:
    it weighs every reading, with drift and noise."""

    low: tuple[float, float]
    high: tuple[float, float]
    limit: tuple[float, float] | None


def drawn(state: State, ask: Ask) -> Drawn | None:
    """What to draw for a question; None where a number that it follows from is not known."""
    resolution = _number(state, "kit.gauge.readable_movement") or 0.0
    if ask.sort == "gauge break-through":
        low, high = _number(state, "break_through.lowest", "low"), _number(state, "break_through.highest")
        most = _number(state, "pressure.maximum_operating_pressure", "low")
        return None if low is None or high is None else Drawn((low, 0.0), (high, 0.0),
                                                              None if most is None else (most, 0.0))
    if ask.sort == "gauge hold":
        volume, limit = _number(state, "integrity.volume"), _number(state, "integrity.leak_limit", "low")
        pressure = _number(state, "integrity.test_pressure")
        if not (volume and limit and pressure):
            return None
        fall = HoldSettings(volume, limit, resolution, "ordinary").limit_fall
        return Drawn((pressure, -TENTH * fall), (pressure, 0.0), (pressure, -fall))
    volume, limit, district = (_number(state, "leg.volume"), _number(state, "let_by.limit", "low"),
                               district_pressure(state))
    if not (volume and limit and district is not None):
        return None
    rise = LetBySettings(volume, limit, limit, district, district, 0.0, 0.0, resolution).limit_rise
    return Drawn((0.0, 0.0), (0.0, TENTH * rise), (0.0, rise))


def log_of(state: State, text: str, name: str) -> Log:
    """A log of this job's gauge, with the end of its range known. Raises InputFaults where it is no gauge log."""
    return read_text(text, name, _number(state, "kit.gauge.range"))


def judge_log(state: State, ask: Ask, log: Log, conditions: Conditions,
              growing: Growing | None = None) -> tuple[Value, Judged]:
    """The answer that a log gives: value (a rate, or where the gauge settled) and verdict. ``growing`` is the same for
    a log that is judged again as it grows."""
    judged = {"gauge hold": _hold, "gauge let-by": _let_by, "gauge break-through": _break_through}[ask.sort]
    return judged(state, ask, log, conditions, growing or Growing())


def _number(state: State, name: str, end: str = "high") -> float | None:
    limit = state.basis.limits.get(name)
    return getattr(limit, end) if limit else None


def _missing(ask: Ask, conditions: Conditions, **known: float | None) -> tuple[Value, Judged] | None:
    """Not proven, where something that the log has to be judged by is not known."""
    missing = [name.replace("_", " ") for name, value in known.items() if value is None]
    if not missing:
        return None
    sentence = f"{ask.about}: not known: {', '.join(missing)}. Without it the log proves nothing."
    return Value(text=NOT_PROVEN, instrument=conditions.instrument, how="judged"), Judged(NOT_PROVEN, "", "", sentence)


def _rate(best: float, low: float, high: float, instrument: str) -> Value:
    """A rate with half the width of its band, in l/h."""
    number, spread = (to_unit(value, "m3/s", "l/h") for value in (best, (high - low) / 2.0))
    return Value(number=_plain(number), uncertainty=_plain(max(spread, 0.0)), unit="l/h", instrument=instrument,
                 how="judged")


def _plain(value: float) -> str:
    """Three digits as a plain decimal, never with an exponent."""
    return format(float(digits(value, 3)), "f").rstrip("0").rstrip(".") or "0"


def _hold(state: State, ask: Ask, log: Log, conditions: Conditions, growing: Growing) -> tuple[Value, Judged]:
    volume, limit = _number(state, "integrity.volume"), _number(state, "integrity.leak_limit", "low")
    pressure = _number(state, "integrity.test_pressure")
    resolution = _number(state, "kit.gauge.readable_movement")
    unknown = _missing(ask, conditions, volume_of_the_rig=volume, largest_leak=limit, test_pressure=pressure,
                       movement_of_the_gauge=resolution)
    if unknown:
        return unknown
    assert volume and limit and pressure and resolution
    report = judge_hold(log, HoldSettings(volume, limit, resolution, conditions.drift, conditions.by_eye, pressure,
                                          longest=_number(state, "rules.integrity.longest_hold") or
                                          HoldSettings.longest), growing)
    rate = report.rate
    value = (_rate(rate.best, rate.low, rate.high, conditions.instrument) if rate else
             Value(text=report.verdict, instrument=conditions.instrument, how="judged"))
    return value, Judged(report.verdict, show(limit, "m3/s", "l/h"), "integrity.leak_limit",
                         _sentence(ask, report.verdict, value, show(limit, "m3/s", "l/h"), report.findings))


def _let_by(state: State, ask: Ask, log: Log, conditions: Conditions, growing: Growing) -> tuple[Value, Judged]:
    volume, limit = _number(state, "leg.volume"), _number(state, "let_by.limit", "low")
    district = district_pressure(state)
    resolution = _number(state, "kit.gauge.readable_movement")
    unknown = _missing(ask, conditions, volume_of_the_leg=volume, largest_let_by=limit,
                       pressure_of_the_district=district, movement_of_the_gauge=resolution)
    if unknown:
        return unknown
    assert volume and limit and district is not None and resolution
    step = state.basis.step(ask.step)
    looks = [found.value.text for each in (step.asks if step else ()) if (found := state.answer(each.key))]
    vent = next((look for look in looks if look in VENT_LOOKS), None)
    settings = LetBySettings(
        volume=volume, limit=limit, stop=_number(state, "let_by.stop", "low") or 20.0 * limit, district=district,
        highest=max(district, _number(state, "pressure.highest") or district),
        margin=_number(state, "let_by.margin", "low") or 0.0, fresh=_number(state, "let_by.fresh", "low") or 300.0,
        resolution=resolution, vent=vent, by_eye=conditions.by_eye)
    report = judge_watch(log, settings, growing)
    value = (_rate(report.best, report.best, report.upper, conditions.instrument)
             if report.best is not None and report.upper is not None else
             Value(text=report.verdict, instrument=conditions.instrument, how="judged"))
    shown = show(limit, "m3/s", "l/h")
    return value, Judged(report.verdict, shown, "let_by.limit",
                         _sentence(ask, report.verdict, value, shown, report.findings))


def _break_through(state: State, ask: Ask, log: Log, conditions: Conditions, growing: Growing) -> tuple[Value, Judged]:
    low, high = _number(state, "break_through.lowest", "low"), _number(state, "break_through.highest")
    expected = Expected(low, high, _number(state, "pressure.maximum_operating_pressure", "low"),
                        _number(state, "kit.gauge.range"),
                        _number(state, "break_through.time", "low") or Expected.within)
    report = judge_trace(log, TraceSettings(expected))
    shown = "unknown" if low is None or high is None else \
        f"{show(low, 'Pa gauge', 'mbar')} to {show(high, 'Pa gauge', 'mbar')}"
    if not report.break_throughs:
        value = Value(text=NOT_PROVEN, instrument=conditions.instrument, how="judged")
        words = ("No break-through was found in this log.", *report.findings)
        return value, Judged(NOT_PROVEN, shown, "break_through.lowest", _sentence(ask, NOT_PROVEN, value, shown, words))
    found = report.break_throughs[-1]
    settled = None if found.settled is None else to_unit(found.settled, "Pa gauge", "mbar")
    value = (Value(text=found.kind, instrument=conditions.instrument, how="judged") if settled is None else
             Value(number=_plain(settled), unit="mbar", instrument=conditions.instrument, how="judged"))
    return value, Judged(found.verdict, shown, "break_through.lowest",
                         _sentence(ask, found.verdict, value, shown, found.findings))


def _sentence(ask: Ask, verdict: str, value: Value, limit: str, findings: tuple[str, ...]) -> str:
    return " ".join([f"{ask.about}: {value.written}; limit {limit}: {verdict}.", *findings])
