"""How long the job takes, as ranges, and when it has to start so that heat is back in time.

Each part has a lowest, a likely and a highest time; the parts of one day go together by one correlation, because a bad
day is bad throughout. The sum is taken as normal. For giving notice and for choosing the day; nobody works to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from stillbore.derive import Node, Traced, constant, derive
from stillbore.job.schema import Row
from stillbore.physics import schedule
from stillbore.plan.parts import NOTE, Grid, Workings

ABANDONED = "cap and abandon"
NONE = constant("nothing", "s", 0.0, "no part")
DAY = 86400.0


@dataclass(frozen=True)
class Stretch:
    """Some parts of the job together: mean, deviation, and the sum of their deviations."""

    mean: Node
    deviation: Node
    sum_of_deviations: Node


def tasks(work: Workings) -> tuple[Row, ...]:
    """The parts of this job, by its route, in order."""
    route = work.survey.value("job.route")
    return tuple(row for row in work.rules.rows("task") if route in row.texts("routes"))


def time_plan(work: Workings) -> None:
    """Times to the finish, time without gas, and the latest start."""
    work.section("time_plan", "Time plan")
    rows = tasks(work)
    if not rows:
        work.tell(NOTE, "The rule set says nothing of how long the parts of this route take.",
                  "Write its [[task]] tables.")
        return
    off = [place for place, row in enumerate(rows) if row.text("supply") == "off"]
    first, last = (off[0], off[-1] + 1) if off else (len(rows), len(rows))
    parts = [_part(row) for row in rows]
    before, without, after = (_together(work, parts[start:end]) for start, end in
                              ((0, first), (first, last), (last, len(rows))))
    back = _joined(work, before, without)
    whole = _joined(work, back, after)
    usual, sure = (_shares(work, whole, "finish", "the whole job"))
    if off and work.survey.value("job.route") != ABANDONED:
        _shares(work, without, "without_gas", "house without gas")
        heat = _shares(work, back, "gas_back", "from the start until gas is back")
        _latest_start(work, heat[1])
    titles = (_share_text(work, "usual_share"), _share_text(work, "sure_share"))
    work.here.grids.append(Grid(
        "Parts of the job, as ranges", ("part", "supply", "lowest", "likely", "highest"),
        tuple((row.text("name"), row.text("supply"), *(_minutes(row.fact(key).high) for key in
                                                       ("least", "likely", "most"))) for row in rows)))
    _against_window(work, usual, sure, titles)


def _part(row: Row) -> Stretch:
    times = {key: row.fact(key) for key in ("least", "likely", "most")}
    name = row.text("name")
    deviation = derive(f"deviation of: {name}", schedule.triangular_deviation, **times)
    return Stretch(derive(f"mean of: {name}", schedule.triangular_mean, **times), deviation, deviation)


def _together(work: Workings, parts: Sequence[Stretch]) -> Stretch:
    """All of them one after the other, joined by halves: the trace stays as shallow as it can be."""
    if not parts:
        return Stretch(NONE, NONE, NONE)
    if len(parts) == 1:
        return parts[0]
    middle = len(parts) // 2
    return _joined(work, _together(work, parts[:middle]), _together(work, parts[middle:]))


def _joined(work: Workings, one: Stretch, other: Stretch) -> Stretch:
    if other.mean is NONE or one.mean is NONE:
        return one if other.mean is NONE else other
    return Stretch(
        derive("mean together", schedule.joined_time, time=one.mean, further_time=other.mean),
        derive("deviation together", schedule.joined_deviation, deviation=one.deviation,
               further_deviation=other.deviation, sum_of_deviations=one.sum_of_deviations,
               further_sum=other.sum_of_deviations, correlation=work.limit("time.correlation")),
        derive("deviations, added", schedule.joined_time, time=one.sum_of_deviations,
               further_time=other.sum_of_deviations))


def _share_text(work: Workings, key: str) -> str:
    return f"{work.limit(f'time.{key}').text} of the days"


def _shares(work: Workings, stretch: Stretch, key: str, title: str) -> tuple[Traced, Traced]:
    """The usual and the sure time of a stretch."""
    usual, sure = (work.work(f"time_plan.{key}_{share}",
                             f"{title}, within this on {_share_text(work, f'{share}_share')}", "h",
                             schedule.time_at_share, mean=stretch.mean, deviation=stretch.deviation,
                             share=work.limit(f"time.{share}_share")) for share in ("usual", "sure"))
    return usual, sure


def _latest_start(work: Workings, heat: Traced) -> None:
    """The latest start that still gives heat back by the rule set's hour or the window's end, whichever is earlier."""
    start, end = work.survey.value("window.start"), work.survey.value("window.end")
    assert isinstance(start, datetime) and isinstance(end, datetime)
    midnight = datetime.combine(start.date(), time(0), start.tzinfo)
    ends = (end - midnight).total_seconds()
    by: Node = work.limit("time.heat_back_by")
    if by.high is None or ends < by.high:
        by = constant("end of the working window", "s", ends, "survey, window.end")
    latest = work.work("time_plan.latest_start", "latest start, in hours after midnight", "h", schedule.latest_start,
                       time_of_day=by, duration=heat)
    if latest.low is None or by.high is None:
        return
    clock, hour = (clock_text(midnight, value) for value in (latest.low, by.high))
    sentence = (f"Started by {clock}, heat is back by {hour} on {_share_text(work, 'sure_share')}, by the times of the "
                "rule set.")
    if latest.low < (start - midnight).total_seconds():
        work.tell(NOTE, f"{sentence} The working window begins later than that.",
                  "Begin earlier, dig the day before, or give the house other heat; never hurry a hold.")
    else:
        work.tell(NOTE, sentence, "Later than that: another day, or other heat for the house; never hurry a hold.")


def clock_text(midnight: datetime, seconds: float) -> str:
    """A time after midnight as a clock shows it, with the day where it is another."""
    moment = midnight + timedelta(seconds=60.0 * round(seconds / 60.0))
    return f"{moment:%H:%M}" if moment.date() == midnight.date() else f"{moment:%Y-%m-%d %H:%M}"


def _minutes(seconds: float | None) -> str:
    return "not known" if seconds is None else f"{seconds / 60.0:g} min"


def _against_window(work: Workings, usual: Traced, sure: Traced, titles: tuple[str, str]) -> None:
    start, end = work.survey.value("window.start"), work.survey.value("window.end")
    assert isinstance(start, datetime) and isinstance(end, datetime)
    length = (end - start).total_seconds()
    for node, title in ((usual, titles[0]), (sure, titles[1])):
        if node.high is not None and node.high > length:
            work.tell(NOTE, f"The working window is {work.show(length, 's', 'h')} long. The job takes up to "
                      f"{work.show(node.high, 's', 'h')} on {title}.",
                      "Ask for a longer window, or dig and make good on other days.")
            break
    work.tell(NOTE, "Times are ranges to give notice by and to choose the day. Good and bad days go together by a "
              f"correlation of {work.limit('time.correlation').text} ({work.limit('time.correlation').source}).",
              "Nobody works to them; a stop is never scored.")
