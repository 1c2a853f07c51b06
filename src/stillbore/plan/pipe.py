"""Which pipe it is: size from the outside diameter, and the tubes it may be from the wall."""

from __future__ import annotations

from dataclasses import replace

from stillbore.derive import Fact, derive
from stillbore.physics import tube as tube_physics
from stillbore.plan.parts import ENGINEER, HOLD_OPEN, NOTE, Tube, Workings
from stillbore.tables import Table
from stillbore.tables.steel_asme_b36_10 import TABLE as ASME_B36_10
from stillbore.tables.steel_bs1387 import TABLE as BS1387
from stillbore.tables.steel_en10255 import TABLE as EN10255
from stillbore.units import parse

# Which grades are taken from which table. The light series stands in the older table only.
GRADES: tuple[tuple[Table, tuple[str, ...]], ...] = (
    (BS1387, ("light",)), (EN10255, ("medium", "heavy")), (ASME_B36_10, ("schedule 40", "schedule 80")))
SIZE_NAMES = {"3/4": "3/4 inch", "1": "1 inch", "1 1/4": "1 1/4 inch", "1 1/2": "1 1/2 inch", "2": "2 inch"}


def _rows() -> list[tuple[Table, dict[str, str]]]:
    found = []
    for table, grades in GRADES:
        names = [column.name for column in table.columns]
        rows = (dict(zip(names, cells, strict=True)) for cells in table.rows)
        found += [(table, row) for row in rows if row["grade"] in grades]
    return found


def _origin(table: Table, row: dict[str, str]) -> str:
    return f"{table.title}, {row['size']} {row['grade']}"


def _outside_diameter(table: Table, row: dict[str, str], key: str) -> Fact:
    low, high = (table.in_si("outside_diameter", row[f"outside_diameter_{end}"]) for end in ("min", "max"))
    best = row["outside_diameter"]
    return Fact(f"pipe.{key}.outside_diameter", "m", table.in_si("outside_diameter", best) if best else None, low, high,
                "table", _origin(table, row), text=f"{best} mm", source=table.source)


def _wall(table: Table, row: dict[str, str], key: str) -> Fact:
    """The nominal wall with the mill tolerance."""
    nominal = table.in_si("wall", row["wall"])
    low, high = (nominal * (1.0 + table.in_si("wall_tolerance_low", row[f"wall_tolerance_{end}"]))
                 for end in ("low", "high"))
    tolerance = f"{row['wall_tolerance_low']} / +{row['wall_tolerance_high']} %"
    return Fact(f"pipe.{key}.wall", "m", nominal, low, high, "table", _origin(table, row),
                text=f"{row['wall']} mm, {tolerance}", source=table.source)


def tubes_of_size(size: str, measured: Fact | None = None) -> tuple[Tube, ...]:
    """Every tube of a size, each with its mill tolerance. Where the outside diameter has been measured it is used, and
    a tube that cannot have it is left out."""
    found = []
    for table, row in _rows():
        key = row["grade"].replace(" ", "_")
        if row["size"] != size:
            continue
        outside = _outside_diameter(table, row, key)
        if measured is None or (measured.low <= outside.high and measured.high >= outside.low):  # type: ignore[operator]
            found.append(Tube(key, row["grade"], measured or outside, _wall(table, row, key)))
    return tuple(found)


def bands() -> dict[str, tuple[float, float]]:
    """Outside diameters that each size may have, over all tables, in metres."""
    found: dict[str, tuple[float, float]] = {}
    for table, row in _rows():
        low, high = (table.in_si(key, row[key]) for key in ("outside_diameter_min", "outside_diameter_max"))
        known = found.get(row["size"], (low, high))
        found[row["size"]] = (min(low, known[0]), max(high, known[1]))
    return found


def _band_text(work: Workings, size: str) -> str:
    low, high = (work.show(end, "m", "mm") for end in bands()[size])
    return f"{SIZE_NAMES[size]} ({low.partition(' ')[0]} to {high})"


def _size_by_measurement(work: Workings, outside: Fact) -> str:
    """The one size whose band holds the measured diameter, or "" with a finding."""
    assert outside.low is not None and outside.high is not None
    touching = [size for size, (low, high) in bands().items() if outside.low <= high and outside.high >= low]
    inside = [size for size in touching if bands()[size][0] <= outside.low and outside.high <= bands()[size][1]]
    if len(inside) == 1:
        return inside[0]
    measured = f"{work.show(outside.low, 'm', 'mm')} to {work.show(outside.high, 'm', 'mm')}"
    if touching:
        work.tell(ENGINEER, f"The outside diameter, {measured} with its uncertainty, lies partly outside the band of "
                  f"{' and '.join(_band_text(work, size) for size in touching)}.",
                  "Clean to bright metal and measure again; rust adds up to a millimetre. The size is not decided.", 5)
        return ""
    above = [size for size, (low, _) in bands().items() if low > outside.high]
    below = [size for size, (_, high) in bands().items() if high < outside.low]
    neighbours = " and ".join(_band_text(work, size) for size in (*below[-1:], *above[:1]))
    work.tell(ENGINEER, f"The outside diameter, {measured} with its uncertainty, lies between the bands: "
              f"nearest {neighbours}. No size is guessed.",
              "Clean and measure again; if it stays so, find out what it is: copper, PE, conduit, an old tube.",
              4, 5)
    return ""


def _size(work: Workings) -> str:
    outside = work.survey.fact("pipe.outside_diameter")
    recorded = str(work.survey.value("record.size"))
    if not outside.measured:
        work.tell(HOLD_OPEN, "The outside diameter has not been measured. "
                  + (f"The plan goes on with the record: {SIZE_NAMES[recorded]}." if recorded in SIZE_NAMES
                     else "The record does not know the size either."),
                  "Measure it in the pit: six readings on clean metal.", 5)
        return recorded if recorded in SIZE_NAMES else ""
    measured = _size_by_measurement(work, outside)
    if measured and recorded in SIZE_NAMES and measured != recorded:
        work.tell(ENGINEER, f"The record says {SIZE_NAMES[recorded]}, the pipe measures {SIZE_NAMES[measured]}. "
                  "It may be the wrong pipe, or a stepped service. The plan goes on with what was measured.",
                  "Prove again that this is the right pipe, and have the record corrected.", 4)
    return measured


def _any_diameter(tubes: tuple[Tube, ...], asked: Fact) -> Fact:
    """The outside diameter of a pipe that nobody has measured: all that any tube of its size may have."""
    facts = [tube.outside_diameter for tube in tubes]
    origin = "; ".join(dict.fromkeys(fact.origin for fact in facts))
    return replace(facts[0], name="pipe.outside_diameter_it_may_be", value=None, text="",
                   low=min(fact.low for fact in facts), high=max(fact.high for fact in facts),  # type: ignore[type-var]
                   origin=f"{origin}; not measured: {asked.origin}",
                   source=", ".join(dict.fromkeys(fact.source for fact in facts)))


def _tubes(work: Workings, size: str) -> tuple[Tube, ...]:
    outside = work.survey.fact("pipe.outside_diameter")
    wall = work.survey.fact("pipe.wall")
    known_outside = outside if outside.measured else None
    of_size = tubes_of_size(size, known_outside)
    if wall.measured:
        assert wall.low is not None and wall.high is not None
        agreeing = [tube.title for tube in of_size if tube.wall.low <= wall.high and tube.wall.high >= wall.low]
        recorded = str(work.survey.value("record.grade"))
        if recorded != "unknown" and recorded not in agreeing:
            work.tell(NOTE, f"The record says {recorded}; the wall measured agrees with "
                      f"{', '.join(agreeing) or 'none'}.",
                      "Have the record corrected; the plan uses what was measured.")
        work.tell(NOTE, f"The wall measured, {work.show(wall.low, 'm', 'mm')} to {work.show(wall.high, 'm', 'mm')} "
                  f"with the probe's uncertainty, agrees with {', '.join(agreeing) or 'no tube of this size'}.",
                  "The coupon, weighed and measured, tells it better.")
        return (Tube("measured", "as measured", known_outside or _any_diameter(of_size, outside), wall),)
    work.tell(HOLD_OPEN, "The wall has not been measured. The plan carries every tube it may be: "
              f"{', '.join(tube.title for tube in of_size)}, each with its mill tolerance, and takes the worst.",
              "Measure the wall: four places round, three along, under the saddle. No echo is unknown, not thin.", 5)
    return tuple(replace(tube, wall=replace(tube.wall, origin=f"{tube.wall.origin}; not measured: {wall.origin}"))
                 for tube in of_size)


def pipe(work: Workings) -> None:
    """Decide size and tubes, and check wall, pits and ovality."""
    work.section("pipe", "Which pipe")
    outside = work.survey.fact("pipe.outside_diameter")
    wall = work.survey.fact("pipe.wall")
    work.keep("outside diameter", outside, "mm")
    work.keep("wall", wall, "mm")
    work.size = _size(work)
    if not work.size:
        return
    work.tubes = _tubes(work, work.size)
    if wall.measured:
        pit = work.survey.fact("pipe.deepest_pit")
        sound = work.work("pipe.least_wall", "wall left under the deepest pit", "mm", tube_physics.wall_under_pit,
                          wall=wall, pit_depth=pit)
        work.at_least("wall under the saddle", sound, work.limit("pipe.least_wall"), "mm", ENGINEER, 5,
                      do="Find sounder metal, or cut off elsewhere.")
        medium = next(tube.wall for tube in tubes_of_size(work.size) if tube.key == "medium")
        nominal = replace(medium, low=medium.value, high=medium.value)
        caution = work.work("pipe.wall_caution", "wall below which an engineer decides", "mm",
                            tube_physics.share_of_wall, wall=nominal, share=work.limit("pipe.wall_caution"))
        work.at_least("wall against new medium tube", sound, caution, "mm", ENGINEER, do="Have an engineer decide.")
    else:
        work.cover("pipe.wall_it_may_be", "wall it may be", "mm", {tube.key: tube.wall for tube in work.tubes})
    bores = work.each("pipe.*.bore", "bore", "mm", lambda name, tube: derive(
        name, tube_physics.bore, outside_diameter=tube.outside_diameter, wall=tube.wall))
    work.cover("pipe.bore", "bore it may have", "mm", bores)
    work.at_most("deepest pit under the gasket", work.survey.fact("pipe.deepest_pit"),
                 work.kit.fact("saddle.gasket_pit"), "mm", ENGINEER, 5, do="Move the saddle to sound metal.")
    if outside.known and not outside.exact:
        smallest, largest = _extremes_of_readings(outside)
        ovality = work.work("pipe.ovality", "ovality", "%", tube_physics.ovality, largest=largest, smallest=smallest)
        work.at_most("ovality", ovality, work.limit("pipe.ovality"), "%", ENGINEER,
                     do="Move the saddle to a round length of pipe.")


def _extremes_of_readings(outside: Fact) -> tuple[Fact, Fact]:
    """The smallest and largest reading, without the instrument's uncertainty: ovality is a difference of readings."""
    values = [parse(text.strip(), "m") for text in outside.text.split(",")]
    low, high = min(value.low for value in values), max(value.high for value in values)
    return (replace(outside, name="pipe.outside_diameter, smallest reading", value=low, low=low, high=low),
            replace(outside, name="pipe.outside_diameter, largest reading", value=high, low=high, high=high))
