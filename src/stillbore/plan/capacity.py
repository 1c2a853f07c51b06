"""Pressure drop at the load and the largest load carried: of the old service, length by length, and of a new pipe."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.derive import Node, Traced, constant, derive, worst
from stillbore.physics import flow, insert, service
from stillbore.physics import pressure as pressure_physics
from stillbore.plan.gas import at_reference
from stillbore.plan.load import Load
from stillbore.plan.new_pipe import TOWARDS_HOUSE, TOWARDS_MAIN, bore_of_size, both, pit_bore
from stillbore.plan.parts import MET, NOT_MET, NOT_PROVEN, Workings, verdict_of

NO_FITTING = constant("no fitting", "-", 0.0, "the losses are reckoned in the first length")


@dataclass(frozen=True)
class Run:
    """A length of one bore and one roughness."""

    length: Node
    bore: Node
    roughness: Node


@dataclass(frozen=True)
class Carrying:
    """What a service does with the load."""

    drop: Traced
    left: Traced
    most: Traced
    verdict: str


def carrying(work: Workings, key: str, title: str, runs: tuple[Run, ...], loss: Node, load: Load) -> Carrying:
    """Drop at the load, pressure left at the meter, and the largest load within the rule set's drop."""
    drop = _drop(runs, loss, load, f"{key}.drop")
    work.keep(f"{title}: pressure drop at the load", drop, "mbar")
    left = work.work(f"{key}.at_meter", f"{title}: pressure left at the meter, from the lowest", "mbar",
                     pressure_physics.left_after_drop, gauge_pressure=work.survey.fact("pressure.lowest"),
                     pressure_drop=drop)
    most = _most(work, runs, loss, load, f"{key}.most")
    work.keep(f"{title}: largest load within the drop allowed, at {at_reference(work)}", most, "m3/h")
    verdict = both(verdict_of(drop, work.limit("renewal.pressure_drop"), "at most"),
                   verdict_of(left, work.limit("renewal.meter_pressure"), "at least"))
    if (verdict == NOT_MET and not load.certain) or (verdict == MET and not load.complete):
        verdict = NOT_PROVEN  # a rating is more than the house takes; a list with gaps is less
    return Carrying(drop, left, most, verdict)


def _drop(runs: tuple[Run, ...], loss: Node, load: Load, name: str) -> Traced:
    """The drop, section by section; the fittings' losses are referred to the first."""
    totals = []
    for viscosity in load.viscosities:
        total: Traced | None = None
        for place, run in enumerate(runs):
            one = derive(name if len(runs) == 1 else f"drop of length {place + 1}", flow.pressure_drop,
                         flow=load.in_pipe, length=run.length, bore=run.bore, roughness=run.roughness,
                         density=load.density, viscosity=viscosity, loss_coefficient=loss if place == 0 else NO_FITTING)
            total = one if total is None else derive(name, service.joined_drop, pressure_drop=total,
                                                     further_pressure_drop=one)
        assert total is not None
        totals.append(total)
    return max(totals, key=lambda node: node.high or 0.0)


def _most(work: Workings, runs: tuple[Run, ...], loss: Node, load: Load, name: str) -> Traced:
    """The largest load: closed form or one bracket for one bore, one bracket for two. A third size is taken as narrow
    as the narrowest after the first, and all of it as rough as the roughest: both make the load smaller."""
    first, after = runs[0], runs[1:]
    roughness = max((run.roughness for run in runs), key=lambda node: node.high or 0.0)
    found = []
    for viscosity in load.viscosities:
        given = {"pressure_drop": work.limit("renewal.pressure_drop"), "length": first.length, "bore": first.bore,
                 "roughness": roughness, "density": load.density, "viscosity": viscosity, "loss_coefficient": loss}
        if not after:
            flowing = derive("largest flow", service.largest_flow, **given)
        else:
            length = after[0].length
            for run in after[1:]:
                length = derive("length after the first", insert.joined_length, length=length,
                                further_length=run.length)
            bore = min((run.bore for run in after), key=lambda node: node.low or 0.0)
            flowing = derive("largest flow", service.largest_flow_stepped, further_length=length, further_bore=bore,
                             **given)
        found.append(derive(name, service.flow_at_density, flow=flowing, density=load.density,
                            further_density=load.reference_density))
    return min(found, key=lambda node: node.low or 0.0)


def whole_length(work: Workings) -> Traced:
    """From main to meter."""
    return derive("length from main to meter", insert.joined_length, length=work.survey.fact("site.upstream_length"),
                  further_length=work.survey.fact("site.leg_length"))


def old_runs(work: Workings, sides: tuple[str, ...] = (TOWARDS_MAIN, TOWARDS_HOUSE)) -> tuple[Run, ...]:
    """The old service, from main to meter or on one side of the cut: what is of the pit's size, and each length of
    another. Rusty as it may be."""
    roughness = worst("roughness of old steel", work.limit("release.roughness"), "high")
    length: Node = whole_length(work) if len(sides) > 1 else work.survey.fact(
        "site.upstream_length" if sides == (TOWARDS_MAIN,) else "site.leg_length")
    others = []
    for side in sides:
        for row in work.survey.rows("other_size"):
            if row.text("side") != side:
                continue
            others.append(Run(row.fact("length"), bore_of_size(row.text("size")).narrowest, roughness))
            length = derive("length of the pit's size", service.remaining_length, length=length,
                            taken=row.fact("length"))
    return (Run(worst("length of the pit's size", length, "high"), pit_bore(work).narrowest, roughness), *others)


def old_service(work: Workings, load: Load) -> Carrying:
    """What the old service does with the load, rusty as it may be."""
    loss = worst("losses of the old service", work.limit("release.loss_coefficient"), "high")
    return carrying(work, "renewal.old", "the old service", old_runs(work), loss, load)
