"""From a sheet of shapes to SVG: the only place that knows line weights, dashes, hatching, type sizes and millimetres.

Black on white. What differs in meaning differs in weight, dash, fill or slope of hatching, never in grey or colour
alone. The text is byte-stable: fixed decimals, sorted attributes, no ids but those made from the sheet's key.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from stillbore.report.drawings import Drawing
from stillbore.report.drawings.shapes import (
    Circle,
    Dimension,
    Hatch,
    Label,
    Line,
    Path,
    Point,
    Rectangle,
    Shape,
    Sheet,
    View,
)

FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
SIZES: Mapping[str, float] = {"small": 3.0, "normal": 3.4, "large": 4.6, "heading": 4.2}  # mm on paper
WIDEST = 0.55  # mean width of a letter over the type size, for the wider of the fonts that may stand in


@dataclass(frozen=True)
class Style:
    """How a role looks: line width and dashes in mm, whether filled, and with what."""

    width: float
    dash: str = ""
    fill: str = "none"
    stroke: str = "#000"


STYLES: Mapping[str, Style] = {
    "pipe": Style(0.5, fill="#fff"),
    "pipe edge": Style(0.5),
    "bore": Style(0.25, "1.6 0.8"),
    "coupon": Style(0.35, fill="#fff"),
    "saw": Style(0.1, fill="#000"),
    "pilot": Style(0.35, fill="#fff"),
    "kit": Style(0.4, fill="#fff"),
    "kit black": Style(0.4, fill="#000"),
    "rod": Style(0.9),
    "stopper": Style(0.5, fill="#fff"),
    "prop": Style(0.5, fill="#fff"),
    "bond": Style(0.8, "2.4 0.8 0.8 0.8"),
    "clamp": Style(0.3, fill="#000"),
    "thread": Style(0.5, fill="#fff"),
    "ground": Style(0.6),
    "dimension": Style(0.2),
    "extension": Style(0.13),
    "level": Style(0.25, "1.2 0.8"),
    "centre": Style(0.15, "4 0.8 0.6 0.8"),
    "leader": Style(0.18),
    "break": Style(0.25),
    "frame": Style(0.25),
    "cut out": Style(0.25, "2 1.2"),
    "tick": Style(0.18),
    "curve": Style(0.6),
    "curve heavy": Style(0.9),
    "curve long": Style(0.6, "4 1.2"),
    "curve short": Style(0.6, "1.8 1"),
    "curve dots": Style(0.6, "0.6 0.9"),
    "curve mixed": Style(0.6, "4 0.9 0.6 0.9"),
    "turns": Style(0.05, fill="#000"),
    "target": Style(0.9),
    "arrow": Style(0.1, fill="#000"),
    "area": Style(0.25, fill="#fff"),
    "never": Style(0.1, fill="#000"),
    "bar black": Style(0.1, fill="#000"),
    "bar white": Style(0.1, fill="#fff"),
    "bar outline": Style(0.2),
    "check bar": Style(0.0, fill="#000", stroke="none"),
}


@dataclass(frozen=True)
class Slope:
    """How a hatch looks: directions in degrees, distance between lines and line width in mm."""

    directions: tuple[float, ...]
    spacing: float
    width: float


HATCHES: Mapping[str, Slope] = {
    "steel": Slope((45.0,), 1.2, 0.15),
    "coupon": Slope((135.0,), 0.8, 0.18),
    "window": Slope((45.0,), 1.0, 0.35),
    "loose": Slope((0.0,), 0.9, 0.15),
    "stopper": Slope((45.0, 135.0), 1.0, 0.25),
    "ground": Slope((45.0,), 1.6, 0.3),
}


def text_width(text: str, size: str = "normal", bold: bool = False) -> float:
    """About how wide a text is on paper, in metres, reckoned on the wide side."""
    return len(text) * SIZES[size] * WIDEST * (1.08 if bold else 1.0) * 1e-3


def fitted(text: str, width: float, size: str = "normal", bold: bool = False) -> str:
    """The text, shortened with three dots where it is wider on paper than the width (metres of paper)."""
    if text_width(text, size, bold) <= width:
        return text
    letters = int(width / text_width("x", size, bold)) - 1
    return text[:max(letters, 1)].rstrip() + "…"


def number(value: float) -> str:
    """Millimetres with three decimals, and no minus before a zero."""
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text


def plain(text: str) -> str:
    """Text ready for XML: escaped, and without the control characters that XML cannot carry."""
    return escape("".join(letter if letter.isprintable() else " " for letter in text))


def element(tag: str, attributes: Mapping[str, object], content: str | None = None) -> str:
    """One element, attributes sorted, empty ones left out; ``content`` is already escaped."""
    inside = "".join(f" {key}={quoteattr(number(value) if isinstance(value, float) else str(value))}"
                     for key, value in sorted(attributes.items()) if value != "")
    return f"<{tag}{inside}/>" if content is None else f"<{tag}{inside}>{content}</{tag}>"


class _Pen:
    """Draws the shapes of one view, in millimetres of paper."""

    def __init__(self, view: View) -> None:
        self.view = view

    def place(self, point: Point) -> Point:
        return tuple(1e3 * (origin + self.view.scale * part)  # type: ignore[return-value]
                     for origin, part in zip(self.view.at, point, strict=True))

    def length(self, real: float) -> float:
        return 1e3 * self.view.scale * real

    def draw(self, shape: Shape) -> list[str]:
        match shape:
            case Line(start, end, role, name):
                return [_line(self.place(start), self.place(end), role, name)]
            case Circle(centre, radius, role, name):
                x, y = self.place(centre)
                return [element("circle", {"cx": x, "cy": y, "r": self.length(radius), **_look(role, name)})]
            case Rectangle(corner, width, height, role, name):
                x, y = self.place(corner)
                return [element("rect", {"x": x, "y": y, "width": self.length(width), "height": self.length(height),
                                         **_look(role, name)})]
            case Path(points, role, closed, name):
                return [_path([self.place(point) for point in points], role, closed, name)]
            case Hatch(rings, role, name):
                return _hatch([[self.place(point) for point in ring] for ring in rings], role, name)
            case Dimension(start, end, text, name, text_at):
                return _dimension(self.place(start), self.place(end), text, name, text_at)
            case Label(at, text, anchor, size, bold, name):
                return [_text(self.place(at), text, anchor, size, bold, name)]
        raise TypeError(f"not a shape: {shape!r}")


def _look(role: str, name: str = "") -> dict[str, object]:
    style = STYLES[role]
    return {"data-role": role, "data-name": name, "fill": style.fill, "stroke": style.stroke,
            "stroke-dasharray": style.dash, "stroke-width": style.width, "stroke-linejoin": "round"}


def _line(start: Point, end: Point, role: str, name: str = "") -> str:
    return element("line", {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1], **_look(role, name)})


def _path(points: list[Point], role: str, closed: bool, name: str = "") -> str:
    steps = " ".join(f"{'M' if index == 0 else 'L'}{number(x)} {number(y)}" for index, (x, y) in enumerate(points))
    return element("path", {"d": steps + (" Z" if closed else ""), **_look(role, name)})


def _text(at: Point, text: str, anchor: str, size: str, bold: bool, name: str = "") -> str:
    # The white rim keeps a letter readable where a line runs behind it.
    return element("text", {"x": at[0], "y": at[1], "data-name": name, "font-size": SIZES[size], "text-anchor": anchor,
                            "font-weight": "bold" if bold else "", "fill": "#000", "stroke": "#fff",
                            "stroke-width": 0.9, "stroke-linejoin": "round", "paint-order": "stroke"}, plain(text))


def _arrow(tip: Point, toward: Point) -> str:
    """A slim arrow head with its tip on a point, pointing along the line from ``toward``."""
    length, half = 2.2, 0.45
    span = math.dist(tip, toward)
    along = ((tip[0] - toward[0]) / span, (tip[1] - toward[1]) / span)
    back = (tip[0] - length * along[0], tip[1] - length * along[1])
    return _path([tip, (back[0] - half * along[1], back[1] + half * along[0]),
                  (back[0] + half * along[1], back[1] - half * along[0])], "arrow", True)


def _dimension(start: Point, end: Point, text: str, name: str, text_at: str) -> list[str]:
    """The line is exactly as long as what it measures; where that is short the arrow heads stand outside."""
    parts = [_line(start, end, "dimension", name)]
    span = math.dist(start, end)
    level = abs(end[1] - start[1]) < abs(end[0] - start[0])
    if span > 0.0:
        unit = ((end[0] - start[0]) / span, (end[1] - start[1]) / span)
        if span >= 6.0:
            parts += [_arrow(start, end), _arrow(end, start)]
        else:
            for point, sign in ((start, -1.0), (end, 1.0)):
                away = (point[0] + sign * 4.0 * unit[0], point[1] + sign * 4.0 * unit[1])
                parts += [_line(point, away, "dimension"), _arrow(point, away)]
    first, last = (start, end) if start <= end else (end, start)
    gap, rise = 1.2, SIZES["normal"] * 0.36
    if text_at == "start":
        place, anchor = (first[0] - gap, first[1] + rise), "end"
    elif text_at == "end":
        place, anchor = (last[0] + gap, last[1] + rise), "start"
    elif level:
        place, anchor = (0.5 * (start[0] + end[0]), start[1] - 1.0), "middle"
    else:
        place, anchor = (start[0] + gap, 0.5 * (start[1] + end[1]) + rise), "start"
    return [*parts, _text(place, text, anchor, "normal", False)]


def _hatch(rings: list[list[Point]], role: str, name: str) -> list[str]:
    """Hatch lines as one path, cut against the rings here, so that no viewer has to know patterns or clipping."""
    slope = HATCHES[role]
    steps: list[str] = []
    for degrees in slope.directions:
        cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        # Turned so that the hatch lines are level: u runs along a line, v across.
        turned = [[(x * cosine - y * sine, x * sine + y * cosine) for x, y in ring] for ring in rings]
        heights = [v for ring in turned for _, v in ring]
        for count in range(math.ceil(min(heights) / slope.spacing), math.floor(max(heights) / slope.spacing) + 1):
            v = count * slope.spacing
            cuts = sorted(
                u1 + (v - v1) * (u2 - u1) / (v2 - v1)
                for ring in turned for (u1, v1), (u2, v2) in zip(ring, ring[1:] + ring[:1], strict=True)
                if (v1 <= v) != (v2 <= v))
            for left, right in zip(cuts[::2], cuts[1::2], strict=True):
                ends = [(u * cosine + v * sine, v * cosine - u * sine) for u in (left, right)]
                steps.append(" ".join(f"{letter}{number(x)} {number(y)}"
                                      for letter, (x, y) in zip("ML", ends, strict=True)))
    if not steps:
        return []
    return [element("path", {"d": " ".join(steps), "data-role": f"hatch {role}", "data-name": name, "fill": "none",
                             "stroke": "#000", "stroke-width": slope.width})]


def draw(sheet: Sheet) -> Drawing:
    """The sheet as a finished drawing."""
    lines = [element("title", {"id": f"{sheet.key}-title"}, plain(sheet.title)),
             element("desc", {"id": f"{sheet.key}-description"}, plain(sheet.description))]
    for view in sheet.views:
        pen = _Pen(view)
        lines += [line for shape in view.shapes for line in pen.draw(shape)]
    width, height = 1e3 * sheet.width, 1e3 * sheet.height
    svg = element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "role": "img", "font-family": FONT,
        "aria-labelledby": f"{sheet.key}-title {sheet.key}-description",
        "width": f"{number(width)}mm", "height": f"{number(height)}mm",
        "viewBox": f"0 0 {number(width)} {number(height)}"}, "\n" + "\n".join(lines) + "\n") + "\n"
    return Drawing(sheet.key, sheet.title, svg, width, height, sheet.scale, sheet.description)
