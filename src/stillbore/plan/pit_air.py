"""Gas in the pit against time: for let-by, for a lost stopper and for a live cut. A measure of urgency only.

A leak goes into a pit taken as well mixed. How much air comes through is known as a range: a still pit and an airy
one, by the rule set; the shortest times reckon with no air at all. Nothing here says that anybody may enter: that is
measured.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stillbore.derive import Node, Traced, derive, worst
from stillbore.job.schema import JobFile
from stillbore.physics import dilution
from stillbore.plan.contingency import CUT_END, HOLE, LET_BY
from stillbore.plan.parts import NOTE, Grid, Number, Workings
from stillbore.tables import flammability
from stillbore.units import show

KEYS = {LET_BY: "let_by", HOLE: "hole", CUT_END: "cut_end"}
AIRS = {"still": "release.air_changes", "airy": "release.air_changes_airy"}
FIRST, LAST, POINTS = 0.5, 7200.0, 72  # the curves: from half a second to two hours, in equal steps of the logarithm


def pit_air(work: Workings, flows: Mapping[str, Node]) -> None:
    """Times to each share of the flammable limit, where the pit settles, and how long it takes to air."""
    work.section("pit_air", "Gas in the pit")
    measured = work.survey.fact("site.pit_volume")
    pit = measured if measured.known else work.limit("release.usual_pit_volume")
    work.keep("volume of the pit" + ("" if measured.known else ", the rule set's usual one"), pit, "m3",
              "pit_air.pit_volume")
    limit = work.numbers["gas.flammable_limit"].node
    shares = {"out": work.limit("release.fraction_out"), "emergency": work.limit("release.fraction_emergency")}
    levels: dict[str, Node] = {
        key: work.work(f"pit_air.fraction_{key}", f"concentration at {share.text} of the limit", "%",
                       dilution.share_of_limit, share=share, flammable_limit=limit) for key, share in shares.items()}
    levels["limit"] = limit
    titles = {**{key: f"{share.text} of the limit" for key, share in shares.items()}, "limit": "the flammable limit"}
    for air, name in AIRS.items():
        work.keep(f"air changes in a pit that is {air}", work.limit(name), "1/h", f"pit_air.air_{air}")
    smallest = worst("smallest pit it may be", pit, "low")
    rows = [_row(work, title, worst(title, flow, "high"), pit, smallest, levels, titles)
            for title, flow in flows.items()]
    if CUT_END in flows:
        _live_cut(work, worst(CUT_END, flows[CUT_END], "high"), smallest, levels["out"], titles["out"])
    work.here.grids.append(Grid(
        "Shortest time without any air, and where the pit settles; flammable limit "
        f"{show(limit.value or 0.0, '-', '%')} by {flammability.TABLE.source}",
        ("what leaks", *(f"to {titles[key]}" for key in levels), "settles, still", "settles, airy"), tuple(rows)))
    _largest_leak(work, smallest, levels["out"], titles["out"])
    work.tell(NOTE, "These times say how urgent it is, good to a factor of three: a pit is never well mixed. They are "
              "no reason to stay and no reason to enter: whether anybody may enter is measured.",
              "Look at the gas monitor, which must be set to the same limit.")


def _row(work: Workings, title: str, flow: Node, pit: Node, smallest: Node, levels: Mapping[str, Node],
         titles: Mapping[str, str]) -> tuple[str, ...]:
    """The numbers of one leak, and its line of the table."""
    cells = [title]
    for key, level in levels.items():
        time = work.work(f"pit_air.{KEYS[title]}.time_to_{key}", f"{title}: time to {titles[key]}, without air", "s",
                         dilution.unventilated_time, pit_volume=pit, flow=flow, fraction_limit=level)
        cells.append("not known" if time.low is None else time_text(time.low))
    for air, name in AIRS.items():
        settled = work.work(f"pit_air.{KEYS[title]}.settles_{air}",
                            f"{title}: gas at which a pit settles that is {air}", "%", dilution.steady_concentration,
                            pit_volume=smallest, flow=flow, air_changes=work.limit(name))
        cells.append(_settled_text(settled, derive("share of the limit", dilution.share_reached, concentration=settled,
                                                   flammable_limit=levels["limit"])))
    return tuple(cells)


def _settled_text(settled: Traced, share: Traced) -> str:
    if settled.high is None or share.high is None:
        return "not known"
    if share.high < 1.0:
        return f"{show(share.high, '-', '%', 2)} of the limit"
    return f"{show(settled.high, '-', '%', 2)} gas"


def _live_cut(work: Workings, flow: Node, pit: Node, level: Node, title: str) -> None:
    """A cut without a stopper: how rich the pit is when the end is shut again, and how long it takes to air."""
    duration = worst("longest live cut", work.limit("release.live_cut"), "high")
    filled = work.work("pit_air.live_cut.richest", "live cut: gas in the pit when the end is shut", "%",
                       dilution.ventilated_concentration, pit_volume=pit, flow=flow,
                       air_changes=work.limit(AIRS["still"]), duration=duration)
    for air, name in AIRS.items():
        work.work(f"pit_air.live_cut.airing_{air}", f"live cut: then down to {title} in a pit that is {air}", "min",
                  dilution.airing_time, concentration=worst("richest", filled, "high"), air_changes=work.limit(name),
                  fraction_limit=level)


def _largest_leak(work: Workings, pit: Node, level: Node, title: str) -> None:
    """The leak that a still and badly mixed pit can take, against the let-by at which nothing is cut."""
    largest = work.work("pit_air.largest_leak", f"largest leak that never passes {title} in a still pit", "l/h",
                        dilution.largest_leak_for_concentration, pit_volume=pit,
                        air_changes=work.limit(AIRS["still"]), mixing_factor=work.limit("release.mixing"),
                        fraction_limit=level)
    stop = work.limit("letby.stop_rate")
    if largest.low is not None and stop.low is not None and largest.low < stop.low:
        work.tell(NOTE, f"Let-by at the rate at which nothing is cut, {work.said(stop, 'l/h')}, can in time pass "
                  f"{title} in a still pit that mixes badly.", "Keep the monitor at the pipe, and air the pit.")


def time_text(seconds: float) -> str:
    """A time for a cell, in the unit a person would say it in."""
    if seconds < 1.0:
        return "under 1 s"
    unit = "s" if seconds < 120.0 else "min" if seconds < 7200.0 else "h"
    return show(seconds, "s", unit, 2)


@dataclass(frozen=True)
class Curve:
    """Gas in the pit against time: points of (time [s], share of the lower flammable limit)."""

    key: str
    title: str
    points: tuple[tuple[float, float], ...]


def curves(numbers: Mapping[str, Number], rules: JobFile) -> tuple[Curve, ...]:
    """The three cases against time, for drawing: highest flow, smallest pit, still and airy. Empty without numbers."""
    found: list[Curve] = []
    pit, limit = numbers["pit_air.pit_volume"].node.low, numbers["gas.flammable_limit"].node.low
    stop, end = rules.fact("letby.stop_rate").high, numbers.get("if_it_goes_wrong.open_end")
    if pit is None or limit is None or stop is None:
        return ()
    shown = numbers.get("let_by.stop")  # not there where the size is not decided; then as the rule set has it
    let_by = shown.text if shown else rules.fact("letby.stop_rate").text
    times = [FIRST * (LAST / FIRST) ** (place / POINTS) for place in range(POINTS + 1)]
    for air, name in AIRS.items():
        changes = rules.fact(name).low
        assert changes is not None
        found.append(Curve(f"let_by_{air}", f"let-by at {let_by}, {air} pit", tuple(
            (time, _concentration(pit, stop, changes, time, LAST) / limit) for time in times)))
        if end is not None and end.node.high is not None:
            shut = rules.fact("release.live_cut").high or 0.0
            found.append(Curve(f"live_cut_{air}", f"live cut, shut after {show(shut, 's', 's', 2)}, {air} pit", tuple(
                (time, _concentration(pit, end.node.high, changes, time, shut) / limit)
                for time in sorted({*times, shut}))))
    if end is not None and end.node.high is not None:
        still = rules.fact(AIRS["still"]).low or 0.0
        found.append(Curve("lost_stopper", "stopper lost, cut end open", tuple(
            (time, _concentration(pit, end.node.high, still, time, LAST) / limit) for time in times)))
    return tuple(found)


def _concentration(pit: float, flow: float, changes: float, time: float, shut: float) -> float:
    """Gas in the pit at a time, the leak ending at ``shut``."""
    filled = dilution.ventilated_concentration(pit_volume=pit, flow=flow, air_changes=changes,
                                               duration=min(time, shut))
    if time <= shut:
        return filled
    return dilution.airing_concentration(concentration=filled, air_changes=changes, duration=time - shut)
