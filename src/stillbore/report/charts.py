"""Charts of gauge logs as SVG: black on white, the band that would be met drawn, no meaning by colour."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

WIDTH, HEIGHT = 180.0, 90.0  # mm
LEFT, RIGHT, TOP, BOTTOM = 18.0, 6.0, 12.0, 14.0
MOST_POINTS = 900


def _steps(low: float, high: float) -> list[float]:
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

    def x(time: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (time - times[0]) / max(end - times[0], 1e-9)

    def y(pressure: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (high - min(max(pressure, low), high)) / (high - low)

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
             f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="Arial, Helvetica, sans-serif" font-size="3.2">',
             f"<title>{escape(title)}</title>",
             f"<desc>{escape(f'Pressure against time; verdict: {verdict}.')}</desc>",
             f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>',
             f'<text x="{LEFT:g}" y="7" font-size="4.2" font-weight="bold">{escape(title)}: {escape(verdict)}</text>']
    for value in _steps(low, high):
        parts.append(f'<line x1="{LEFT:g}" x2="{WIDTH - RIGHT:g}" y1="{y(value):.2f}" y2="{y(value):.2f}" '
                     'stroke="#000" stroke-width="0.08"/>')
        parts.append(f'<text x="{LEFT - 1.5:g}" y="{y(value) + 1.1:.2f}" text-anchor="end">{value:g}</text>')
    for value in _steps(times[0], end):
        parts.append(f'<text x="{x(value):.2f}" y="{HEIGHT - BOTTOM + 5:g}" text-anchor="middle">{value:g}</text>')
    parts.append(f'<text x="2" y="{TOP - 1:g}">mbar</text><text x="{WIDTH - RIGHT:g}" y="{HEIGHT - 3:g}" '
                 'text-anchor="end">seconds in the log</text>')
    for fall, dash, words in ((falls[0], "2 1", "at the limit"), (falls[1], "0.6 1", "at a tenth of it")):
        last = min(end, began + (start - low) / fall) if fall > 0 else end
        parts.append(f'<line x1="{x(began):.2f}" y1="{y(start):.2f}" x2="{x(last):.2f}" '
                     f'y2="{y(start - fall * (last - began)):.2f}" stroke="#000" stroke-width="0.35" '
                     f'stroke-dasharray="{dash}"/>')
        parts.append(f'<text x="{min(x(last), WIDTH - RIGHT):.2f}" y="{y(start - fall * (last - began)) - 1.2:.2f}" '
                     f'text-anchor="end">{words}</text>')
    path = " ".join(f"{'M' if number == 0 else 'L'}{x(time):.2f} {y(pressure):.2f}"
                    for number, (time, pressure) in enumerate(points))
    parts.append(f'<path d="{path}" fill="none" stroke="#000" stroke-width="0.5"/>')
    for index in doubtful:
        parts.append(f'<path d="M{x(times[index]) - 1:.2f} {y(pressures[index]) - 1:.2f} l2 2 m0 -2 l-2 2" '
                     'stroke="#000" stroke-width="0.3"/>')
    if decided is not None:
        parts.append(f'<line x1="{x(decided):.2f}" x2="{x(decided):.2f}" y1="{TOP:g}" y2="{HEIGHT - BOTTOM:g}" '
                     'stroke="#000" stroke-width="0.5" stroke-dasharray="4 1"/>')
        parts.append(f'<text x="{x(decided) + 1:.2f}" y="{TOP + 3.5:g}">{escape(verdict)} at {decided:.0f} s</text>')
    return "\n".join([*parts, "</svg>", ""])
