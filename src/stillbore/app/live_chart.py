"""Charts that grow: pressure against time with the band drawn before the first reading, and a rate with its band
against its limit. SVG, black on white, large enough for a phone in the rain; letters say which line is which."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from stillbore.record.events import Value
from stillbore.report.charts import round_steps
from stillbore.run.gauge_log import Drawn

WIDE, HIGH = 120.0, 76.0
LEFT, RIGHT, TOP, BOTTOM = 17.0, 3.0, 6.0, 11.0
SHORTEST = 120.0  # s; what is shown before there is anything
MOST_POINTS = 600


class _Frame:
    def __init__(self, last: float, low: float, high: float) -> None:
        self.last, self.low, self.high = last, low, high

    def x(self, time: float) -> float:
        return LEFT + (WIDE - LEFT - RIGHT) * min(max(time / self.last, 0.0), 1.0)

    def y(self, pressure: float) -> float:
        within = min(max(pressure, self.low), self.high)
        return TOP + (HIGH - TOP - BOTTOM) * (self.high - within) / (self.high - self.low)

    def at(self, time: float, pressure: float) -> str:
        return f"{self.x(time):.2f} {self.y(pressure):.2f}"


def live_chart(points: Sequence[tuple[float, float]], band: Drawn | None) -> Markup:
    """The chart. ``points``: time [s] and pressure [Pa gauge] of each reading; ``band``: what was drawn before."""
    shown = [(time - points[0][0], pressure / 100.0) for time, pressure in points[::max(1, len(points) // MOST_POINTS)]]
    last = max(SHORTEST, *(time for time, _ in shown)) if shown else SHORTEST
    lines = _lines(band, shown, last)
    values = [pressure for _, pressure in shown] + [value for line in lines.values() for value in line]
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    room = max(0.08 * (high - low), 0.4)
    frame = _Frame(last, low - room, high + room)
    parts = [*_grid(frame), *_band(frame, lines)]
    if shown:
        path = " L".join(frame.at(time, pressure) for time, pressure in shown)
        parts.append(f'<path class="curve" d="M{path}"/>')
        parts += [f'<circle class="dot" cx="{frame.x(time):.2f}" cy="{frame.y(pressure):.2f}" r="0.9"/>'
                  for time, pressure in shown[-60:]]
    return Markup(f'<svg class="chart" viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" aria-labelledby="chart-words">'
                  '<defs><pattern id="hatch" width="2" height="2" patternUnits="userSpaceOnUse" '
                  'patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="2"/></pattern></defs>'
                  f"{''.join(parts)}</svg>")


def _lines(band: Drawn | None, shown: Sequence[tuple[float, float]], last: float) -> dict[str, tuple[float, float]]:
    """The band's edges and the limit as pressures at both ends of the chart [mbar]; where the band moves, it begins at
    the first reading, because it is the movement that is judged."""
    if band is None:
        return {}
    moves = band.low[1] != 0.0 or band.high[1] != 0.0
    shift = shown[0][1] - band.low[0] / 100.0 if shown and moves else 0.0
    named = {"low": band.low, "high": band.high, "limit": band.limit}
    return {name: (start / 100.0 + shift, (start + slope * last) / 100.0 + shift)
            for name, pair in named.items() if pair is not None for start, slope in (pair,)}


def _grid(frame: _Frame) -> list[str]:
    parts = [f'<rect class="frame" x="{LEFT:g}" y="{TOP:g}" width="{WIDE - LEFT - RIGHT:g}" '
             f'height="{HIGH - TOP - BOTTOM:g}"/>']
    for value in round_steps(frame.low, frame.high):
        parts.append(f'<line class="grid" x1="{LEFT:g}" x2="{WIDE - RIGHT:g}" y1="{frame.y(value):.2f}" '
                     f'y2="{frame.y(value):.2f}"/><text class="scale" x="{LEFT - 1:g}" y="{frame.y(value) + 1.4:.2f}" '
                     f'text-anchor="end">{value:g}</text>')
    for value in round_steps(0.0, frame.last)[:-1]:
        parts.append(f'<text class="scale" x="{frame.x(value):.2f}" y="{HIGH - BOTTOM + 5:g}" '
                     f'text-anchor="middle">{value:g}</text>')
    parts.append(f'<text class="scale" x="1" y="4">mbar</text><text class="scale" x="{WIDE - RIGHT:g}" '
                 f'y="{HIGH - 1.5:g}" text-anchor="end">s</text>')
    return parts


def _band(frame: _Frame, lines: dict[str, tuple[float, float]]) -> list[str]:
    parts = []
    if "low" in lines and "high" in lines:
        (low, low_end), (high, high_end) = lines["low"], lines["high"]
        parts.append(f'<path class="band" d="M{frame.at(0.0, high)} L{frame.at(frame.last, high_end)} '
                     f'L{frame.at(frame.last, low_end)} L{frame.at(0.0, low)} Z"/>')
        parts.append(f'<text class="mark" x="{LEFT + 2:g}" y="{frame.y(high) - 1.5:.2f}">A</text>')
    if "limit" in lines:
        start, end = lines["limit"]
        parts.append(f'<path class="limit" d="M{frame.at(0.0, start)} L{frame.at(frame.last, end)}"/>')
        parts.append(f'<text class="mark" x="{WIDE - RIGHT - 2:g}" y="{frame.y(end) - 1.5:.2f}" text-anchor="end">B'
                     "</text>")
    return parts


def interval(value: Value, limit: str) -> Markup | str:
    """A rate with its band on a line, and the limit on it; "" where there is no rate yet. Both are in l/h."""
    number, _, unit = limit.partition(" ")
    try:
        best, spread, most = float(value.number), float(value.uncertainty or 0), float(number)
    except ValueError:
        return ""
    if unit != value.unit:
        return ""
    first, last = min(best - spread, 0.0), max(best + spread, 1.5 * most)
    def x(rate: float) -> float:
        return 4.0 + 112.0 * (rate - first) / (last - first)

    return Markup(
        f'<svg class="chart" viewBox="0 0 {WIDE:g} 22" role="img" aria-labelledby="rate-words">'
        f'<line class="grid" x1="4" x2="116" y1="11" y2="11"/>'
        f'<line class="limit" x1="{x(most):.2f}" x2="{x(most):.2f}" y1="4" y2="18"/>'
        f'<text class="mark" x="{x(most):.2f}" y="21.5" text-anchor="middle">B</text>'
        f'<path class="span" d="M{x(best - spread):.2f} 11 H{x(best + spread):.2f} M{x(best - spread):.2f} 8 v6 '
        f'M{x(best + spread):.2f} 8 v6"/><circle class="dot" cx="{x(best):.2f}" cy="11" r="1.6"/></svg>')
