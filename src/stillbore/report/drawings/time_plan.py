"""The time plan: a bar for each part from its lowest over its likely to its highest time, and when the job is done."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from stillbore.job.schema import Row
from stillbore.physics import schedule
from stillbore.plan import Plan
from stillbore.report.drawings.cross_section import end
from stillbore.report.drawings.frame import Axis, Frame
from stillbore.report.drawings.shapes import Hatch, Label, Line, Rectangle, Shape, Sheet, View, box
from stillbore.report.drawings.svg import fitted

WIDTH = 0.180
LEFT, RIGHT, TOP = 0.062, 0.174, 0.031
ROW, BAR = 0.0056, 0.0036
HOUR = 3600.0


def time_chart(plan: Plan) -> Sheet | None:
    """The sheet, or None where the rule set has no times for this route."""
    route = plan.survey.value("job.route")
    rows = [row for row in plan.rules.rows("task") if route in row.texts("routes")]
    usual, sure = end(plan, "time_plan.finish_usual", "high"), end(plan, "time_plan.finish_sure", "high")
    start, last = plan.survey.value("window.start"), plan.survey.value("window.end")
    if not rows or usual is None or sure is None or not isinstance(start, datetime) or not isinstance(last, datetime):
        return None
    window = (last - start).total_seconds()
    bottom = TOP + ROW * (len(rows) + (2 if "time_plan.gas_back_sure" in plan.numbers else 0)) + 0.002
    hours = math.ceil(max(sure, min(window, 2.0 * sure)) / HOUR + 0.25)
    frame = Frame(Axis(0.0, hours * HOUR, LEFT, RIGHT), Axis(0.0, 1.0, bottom, TOP))
    step = next(step for step in (1, 2, 3, 6, 12, 24, 10**6) if hours / step <= 12)
    shapes = [*frame.drawn([(hour * HOUR, f"{start + timedelta(hours=hour):%H:%M}")
                            for hour in range(0, hours + 1, step)], ()), *_bars(rows, frame), *_gas(plan, rows, frame)]
    shares = [plan.rules.fact(f"time.{key}_share").text for key in ("usual", "sure")]
    marks = [(usual, f"done on {shares[0]} of the days", "level"), (sure, f"done on {shares[1]} of the days", "curve")]
    if window <= hours * HOUR:
        marks.append((window, f"window ends {last:%H:%M}", "curve short"))
    shapes += _marks(marks, frame)
    without = (f" House without gas: black, until it is back on {shares[0]} of the days; white, on {shares[1]}."
               if "time_plan.gas_back_sure" in plan.numbers else "")
    paper: tuple[Shape, ...] = (
        Label((0.001, 0.005), "Time plan: ranges to choose the day by", size="heading", bold=True),
        Label((0.001, 0.0105), "Black: the lowest time. Hatched: up to the likely. White: up to the highest. A bar "
              "begins where the parts", size="small"),
        Label((0.001, 0.0142), f"before it end on average.{without}", size="small"),
        Label((0.001, bottom + 0.0105), "Nobody works to these times, and a stop is never scored.", bold=True))
    return Sheet("time_plan", "Time plan", "", _told(plan, rows, shares), WIDTH, bottom + 0.0125,
                 (View(1.0, (0.0, 0.0), (*paper, *shapes)),))


def _times(row: Row) -> tuple[float, float, float]:
    least, likely, most = (row.fact(key).high or 0.0 for key in ("least", "likely", "most"))
    return least, likely, most


def _bars(rows: list[Row], frame: Frame) -> list[Shape]:
    shapes: list[Shape] = []
    begun = 0.0
    for place, row in enumerate(rows):
        least, likely, most = _times(row)
        top = TOP + 0.001 + ROW * place
        edges = [frame.along.place(begun + time) for time in (0.0, least, likely, most)]
        shapes += [Label((0.001, top + 0.0030), fitted(row.text("name"), LEFT - 0.002, "small"), size="small"),
                   Rectangle((edges[0], top), edges[3] - edges[0], BAR, "bar white", f"bar {place}"),
                   Rectangle((edges[0], top), edges[1] - edges[0], BAR, "bar black", f"least {place}")]
        if edges[2] > edges[1]:
            likely_box = box(edges[1], top, edges[2], top + BAR)
            shapes += [Hatch((likely_box,), "window"), Line((edges[2], top), (edges[2], top + BAR), "tick")]
        begun += schedule.triangular_mean(least=least, likely=likely, most=most)
    return shapes


def _gas(plan: Plan, rows: list[Row], frame: Frame) -> list[Shape]:
    """When the house is without gas: from the average begin, to its end on the usual and on the sure share of days."""
    usual, sure = end(plan, "time_plan.gas_back_usual", "high"), end(plan, "time_plan.gas_back_sure", "high")
    off = [place for place, row in enumerate(rows) if row.text("supply") == "off"]
    if usual is None or sure is None or not off:
        return []
    times = [_times(row) for row in rows[:off[0]]]
    begun = sum(schedule.triangular_mean(least=least, likely=likely, most=most) for least, likely, most in times)
    top = TOP + 0.001 + ROW * (len(rows) + 0.8)
    left, middle, right = (frame.along.place(time) for time in (begun, usual, sure))
    return [Label((0.001, top + 0.0030), "House without gas", size="small", bold=True),
            Rectangle((left, top), right - left, BAR, "bar white", "without gas"),
            Rectangle((left, top), middle - left, BAR, "bar black", "without gas usual"),
            Line((left, TOP), (left, top), "level", "gas off")]


def _marks(marks: list[tuple[float, str, str]], frame: Frame) -> list[Shape]:
    """The finish on the usual and on the sure share of the days, and the window's end: each a line with its words."""
    shapes: list[Shape] = []
    for place, (time, words, role) in enumerate(marks):
        x, height = frame.along.place(time), TOP - 0.0014 - 0.0037 * place
        shapes += [Line((x, height - 0.0022), (x, TOP), "leader"),
                   Line((x, TOP), (x, frame.up.at), role, f"mark {place}"),
                   Label((x - 0.0008, height), words, "end", "small", role == "curve")]
    return shapes


def _told(plan: Plan, rows: list[Row], shares: list[str]) -> str:
    parts = "; ".join(f"{row.text('name')}, {row.fact('least').text} to {row.fact('most').text}" for row in rows)
    done = ", ".join(f"{plan.numbers[f'time_plan.finish_{key}'].text} on {share} of the days"
                     for key, share in zip(("usual", "sure"), shares, strict=True))
    return f"Bars of the parts of the job against the clock: {parts}. Done within {done}."
