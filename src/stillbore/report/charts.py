"""Charts of gauge logs as SVG: black on white, the band that would be met drawn, no meaning by colour."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape

from stillbore.gauge.readings import Log
from stillbore.gauge.trace import Segment

WIDTH, HEIGHT = 180.0, 90.0  # mm
LEFT, RIGHT, TOP, BOTTOM = 18.0, 6.0, 12.0, 14.0
MOST_POINTS = 900
SIDEWAYS = 14.0  # mm; a label in a narrower stretch is turned
LABEL_ROOM = 3.0  # mm that a turned label needs


class _Chart:
    """Pressure [mbar] against time [s] in a frame of millimetres."""

    def __init__(self, title: str, words: str, times: tuple[float, float], pressures: tuple[float, float]) -> None:
        self.first, self.last = times
        self.low, self.high = pressures
        self.parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
            f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="Arial, Helvetica, sans-serif" font-size="3.2">',
            f"<title>{escape(title)}</title>", f"<desc>{escape(words)}</desc>",
            f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>',
            f'<text x="{LEFT:g}" y="7" font-size="4.2" font-weight="bold">{escape(title)}</text>']
        for value in round_steps(self.low, self.high):
            self.line((self.first, value), (self.last, value), 0.08)
            self.parts.append(f'<text x="{LEFT - 1.5:g}" y="{self.y(value) + 1.1:.2f}" text-anchor="end">{value:g}'
                              "</text>")
        for value in round_steps(self.first, self.last):
            self.parts.append(f'<text x="{self.x(value):.2f}" y="{HEIGHT - BOTTOM + 5:g}" text-anchor="middle">'
                              f"{value:g}</text>")
        self.parts.append(f'<text x="2" y="{TOP - 1:g}">mbar</text><text x="{WIDTH - RIGHT:g}" y="{HEIGHT - 3:g}" '
                          'text-anchor="end">seconds in the log</text>')

    def x(self, time: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (time - self.first) / max(self.last - self.first, 1e-9)

    def y(self, pressure: float) -> float:
        within = min(max(pressure, self.low), self.high)
        return TOP + (HEIGHT - TOP - BOTTOM) * (self.high - within) / max(self.high - self.low, 1e-9)

    def line(self, start: tuple[float, float], end: tuple[float, float], thick: float, dashes: str = "") -> None:
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.parts.append(f'<line x1="{self.x(start[0]):.2f}" y1="{self.y(start[1]):.2f}" x2="{self.x(end[0]):.2f}" '
                          f'y2="{self.y(end[1]):.2f}" stroke="#000" stroke-width="{thick:g}"{dashed}/>')

    def upright(self, time: float, thick: float, dashes: str = "") -> None:
        self.line((time, self.low), (time, self.high), thick, dashes)

    def readings(self, points: Iterable[tuple[float, float]], thick: float) -> None:
        path = " ".join(f"{'M' if number == 0 else 'L'}{self.x(time):.2f} {self.y(pressure):.2f}"
                        for number, (time, pressure) in enumerate(points))
        self.parts.append(f'<path d="{path}" fill="none" stroke="#000" stroke-width="{thick:g}" '
                          'stroke-linejoin="round"/>')

    def crosses(self, points: Iterable[tuple[float, float]]) -> None:
        for time, pressure in points:
            self.parts.append(f'<path d="M{self.x(time) - 1:.2f} {self.y(pressure) - 1:.2f} l2 2 m0 -2 l-2 2" '
                              'stroke="#000" stroke-width="0.3"/>')

    def text(self, x: float, y: float, words: str, more: str = "") -> None:
        self.parts.append(f'<text x="{x:.2f}" y="{y:.2f}" {more}>{escape(words)}</text>')

    def done(self) -> str:
        return "\n".join([*self.parts, "</svg>", ""])


def round_steps(low: float, high: float) -> list[float]:
    """Round values between two ends, four to eight of them."""
    span = max(high - low, 1e-9)
    unit = next(unit for unit in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 1e9)
                if span / unit <= 8)
    first = int(low / unit) - 1
    return [number * unit for number in range(first, first + 12) if low <= number * unit <= high]


def hold_chart(title: str, times: Sequence[float], pressures: Sequence[float], *, began: float, decided: float | None,
               verdict: str, falls: tuple[float, float], doubtful: Sequence[int] = ()) -> str:
    """A hold: pressure [mbar] against time [s]; the line along which a rig at the limit would fall, and one at a tenth
    of it, from where the hold began (``falls``, in mbar/s); the moment of the verdict."""
    stride = max(1, len(times) // MOST_POINTS)
    points = list(zip(times[::stride], pressures[::stride], strict=True))
    start = next((pressure for time, pressure in points if time >= began), points[0][1])
    end = max(times[-1], began + 60.0)
    low = min(min(pressure for _, pressure in points), start - falls[0] * min(end - began, 120.0)) - 0.5
    high = max(pressure for _, pressure in points) + 0.5
    chart = _Chart(f"{title}: {verdict}", f"Pressure against time; verdict: {verdict}.", (times[0], end), (low, high))
    for fall, dashes, words in ((falls[0], "2 1", "at the limit"), (falls[1], "0.6 1", "at a tenth of it")):
        last = min(end, began + (start - low) / fall) if fall > 0 else end
        lowest = start - fall * (last - began)
        chart.line((began, start), (last, lowest), 0.35, dashes)
        chart.text(min(chart.x(last), WIDTH - RIGHT), chart.y(lowest) - 1.2, words, 'text-anchor="end"')
    chart.readings(points, 0.5)
    chart.crosses((times[index], pressures[index]) for index in doubtful)
    if decided is not None:
        chart.upright(decided, 0.5, "4 1")
        chart.text(chart.x(decided) + 1, TOP + 3.5, f"{verdict} at {decided:.0f} s")
    return chart.done()


def trace_chart(log: Log, segments: Sequence[Segment], doubtful: int = 200) -> str:
    """A whole log: pressure [mbar] against time [s], with a line where each part begins and its label above; dashed
    where the log does not show it. At most so many doubtful readings are crossed."""
    good = [index for index in range(len(log)) if log.doubtful.get(index, "clipped") == "clipped"]
    stride = max(1, len(good) // (2 * MOST_POINTS))
    # Of every few readings the lowest and the highest are drawn, so that no peak is lost.
    points = []
    for first in range(0, len(good), 2 * stride):
        some = sorted(good[first:first + 2 * stride], key=lambda index: log.pressures[index])
        points += [(log.times[index], log.pressures[index] / 100.0) for index in sorted({some[0], some[-1]})]
    low, high = min(pressure for _, pressure in points), max(pressure for _, pressure in points)
    chart = _Chart(log.name, "Pressure against time: " + ", ".join(
        f"{segment.label} from {segment.start:.0f} s" for segment in segments) + ".",
        (log.times[0], max(log.times[-1], log.times[0] + 1.0)), (min(low, 0.0) - 1.0, high * 1.2 + 2.0))
    chart.readings(points, 0.4)
    chart.crosses((log.times[index], log.pressures[index] / 100.0) for index in list(log.doubtful)[:doubtful]
                  if log.doubtful[index] != "clipped")
    for segment in segments:
        chart.upright(segment.start, 0.2, "" if segment.seen else "1 1")
    taken = 0.0  # every label stands at its line or beside the label before it; none is left out
    for segment, after in pairwise([*segments, None]):
        left = chart.x(segment.start)
        wide = chart.x(after.start if after else chart.last) - left
        place = max(left + 0.7, taken)
        if wide >= SIDEWAYS and place < left + 1.0:
            chart.text(place, TOP + 3.0, segment.label)
            taken = 0.0
        else:
            chart.text(place, TOP + 0.6, segment.label, f'transform="rotate(90 {place:.2f} {TOP + 0.6:g})" '
                       'font-size="2.8"')
            taken = place + LABEL_ROOM
    return chart.done()
