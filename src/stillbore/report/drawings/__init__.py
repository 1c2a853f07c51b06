"""Drawings to scale: metres in, shapes out; only svg.py knows paper."""

from __future__ import annotations

from dataclasses import dataclass


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
