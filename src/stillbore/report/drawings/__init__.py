"""Drawings to scale: metres in, shapes out; only svg.py knows paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stillbore.plan import Plan


@dataclass(frozen=True)
class Drawing:
    """A finished drawing: SVG text of a stated size on paper, its scale in words, and what it shows in words."""

    key: str
    title: str
    svg: str
    width_mm: float
    height_mm: float
    scale: str
    description: str


def drawings(plan: Plan) -> tuple[Drawing, ...]:
    """Every drawing that the plan has numbers for, which may be none: cross-section, side view, pit, travel strip, and
    the way and the force of the new pipe."""
    from stillbore.report.drawings.cross_section import cross_section
    from stillbore.report.drawings.force import force
    from stillbore.report.drawings.pit_views import pit_views
    from stillbore.report.drawings.route import route
    from stillbore.report.drawings.side_view import side_view
    from stillbore.report.drawings.svg import draw
    from stillbore.report.drawings.travel_strip import travel_strip

    sheets = (make(plan) for make in (cross_section, side_view, pit_views, travel_strip, route, force))
    return tuple(draw(sheet) for sheet in sheets if sheet is not None)
