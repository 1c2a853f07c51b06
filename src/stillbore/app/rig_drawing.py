"""The rig of a kit as a line drawing: its spaces, the valves between them (two triangles, as ISO 14617 draws a valve),
and its joints with how much each is under suspicion, as a bar and a number."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from markupsafe import Markup, escape

from stillbore.gauge.rig_graph import Rig

WIDE, GAP, ROW = 52.0, 36.0, 9.0  # mm of a space, between spaces, of a joint's line
HEAD, MARGIN = 10.0, 4.0
LABEL = 14.0  # room for a valve's name beside an upright drawing


def _places(rig: Rig) -> dict[str, tuple[int, int]]:
    """Where each space stands: columns by how many valves lie between it and the gauge."""
    column = {rig.gauge: 0}
    grown = True
    while grown:
        grown = False
        for valve in rig.valves:
            for first, second in (valve.ends, valve.ends[::-1]):
                if first in column and second not in column:
                    column[second] = column[first] + 1
                    grown = True
    spaces = dict.fromkeys([*column, *(joint.compartment for joint in rig.joints)])
    rows: dict[int, int] = {}
    found = {}
    for space in spaces:
        at = column.get(space, max(column.values()) + 1)
        found[space] = (at, rows.get(at, 0))
        rows[at] = rows.get(at, 0) + 1
    return found


def rig_drawing(rig: Rig, shut: Collection[str], inside: Collection[str], suspicion: Mapping[str, float],
                links: Mapping[str, str], words: Mapping[str, str], upright: bool) -> Markup:
    """The drawing, lying, or standing for a narrow screen. ``shut``: valves that are shut; ``inside``: spaces then open
    to the gauge; ``links``: for each valve the address that turns it; ``words``: "open", "shut", "turn" (with {valve}
    and {state}), "gauge"."""
    places = {space: (row, column) if upright else (column, row) for space, (column, row) in _places(rig).items()}
    joints = {space: [joint for joint in rig.joints if joint.compartment == space] for space in places}
    tall = HEAD + ROW * max(1, *(len(found) for found in joints.values())) + 3.0
    columns, rows = max(column for column, _ in places.values()) + 1, max(row for _, row in places.values()) + 1
    width = 2 * MARGIN + columns * WIDE + (columns - 1) * GAP
    height = 2 * MARGIN + rows * tall + (rows - 1) * GAP

    def corner(space: str) -> tuple[float, float]:
        column, row = places[space]
        return MARGIN + column * (WIDE + GAP), MARGIN + row * (tall + GAP)

    parts = []
    for space in places:
        x, y = corner(space)
        kind = "space inside" if space in inside else "space"
        name = f"{space} ({words['gauge']})" if space == rig.gauge else space
        parts.append(f'<rect class="{kind}" x="{x:g}" y="{y:g}" width="{WIDE:g}" height="{tall:g}"/>'
                     f'<text class="name" x="{x + 2:g}" y="{y + 6:g}">{escape(name)}</text>')
        for number, joint in enumerate(joints[space]):
            at, share = y + HEAD + number * ROW, suspicion.get(joint.name, 0.0)
            parts.append(f'<text class="joint" x="{x + 2:g}" y="{at + 3.5:g}">{escape(joint.name)}</text>'
                         f'<rect class="bar" x="{x + 2:g}" y="{at + 4.7:g}" width="{(WIDE - 16) * share:.2f}" '
                         f'height="2.4"/><text class="joint" x="{x + WIDE - 2:g}" y="{at + 7:g}" text-anchor="end">'
                         f"{share:.0%}</text>")
    for valve in rig.valves:
        first, second = sorted(valve.ends, key=lambda end: places[end])
        (x1, y1), (x2, y2) = corner(first), corner(second)
        start = (x1 + WIDE, y1 + tall / 2) if x2 > x1 else (x1 + WIDE / 2, y1 + tall)
        end = (x2, y2 + tall / 2) if x2 > x1 else (x2 + WIDE / 2, y2)
        parts.append(_valve(valve.name, start, end, valve.name in shut, links, words))
    kind = "rig upright" if upright else "rig lying"
    return Markup(f'<svg class="{kind}" viewBox="0 0 {width + (LABEL if upright else 0):g} {height:g}" role="group" '
                  f'aria-label="{escape(words["rig"])}">{"".join(parts)}</svg>')


def _valve(name: str, start: tuple[float, float], end: tuple[float, float], is_shut: bool, links: Mapping[str, str],
           words: Mapping[str, str]) -> str:
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    beside = f'x="{x + 8:g}" y="{{:g}}"' if start[0] == end[0] else f'x="{x:g}" y="{{:g}}" text-anchor="middle"'
    above, below = (y - 0.5, y + 5.5) if start[0] == end[0] else (y - 6.5, y + 10.5)
    state = words["shut"] if is_shut else words["open"]
    label = words["turn"].format(valve=name, state=state)
    shape = f"M{x - 6:g} {y - 4.5:g} L{x + 6:g} {y + 4.5:g} V{y - 4.5:g} L{x - 6:g} {y + 4.5:g} Z"
    return (f'<line class="pipe" x1="{start[0]:g}" y1="{start[1]:g}" x2="{end[0]:g}" y2="{end[1]:g}"/>'
            f'<a href="{escape(links[name])}" aria-label="{escape(label)}"><rect class="touch" x="{x - 12:g}" '
            f'y="{y - 12:g}" width="24" height="24"/><path class="valve{" shut" if is_shut else ""}" d="{shape}"/>'
            f'<text class="joint" {beside.format(below)}>{escape(state)}</text>'
            f'<text class="joint" {beside.format(above)}>{escape(name)}</text></a>')
