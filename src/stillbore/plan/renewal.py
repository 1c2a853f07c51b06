"""What goes in the old pipe's place: every new pipe that the crew carries, whether it passes, carries and can be
pushed. None is taken because it happens to pass: one that starves the house, and a right one that does not pass, are
told in a sentence."""

from __future__ import annotations

from stillbore.derive import Node, derive
from stillbore.physics import service, tube
from stillbore.plan.capacity import Carrying, Run, carrying, old_runs, old_service, whole_length
from stillbore.plan.load import Load, load
from stillbore.plan.new_pipe import (
    DOES_NOT_PASS,
    PASSES,
    ROD_FIRST,
    TOWARDS_HOUSE,
    TOWARDS_MAIN,
    UNKNOWN,
    Candidate,
    Curve,
    NewPipe,
    Obstacle,
    Renewal,
    new_pipes,
    obstacles,
)
from stillbore.plan.parts import ENGINEER, MET, NOT_MET, NOT_PROVEN, NOTE, Grid, Workings
from stillbore.plan.passing import passing, way_complete
from stillbore.plan.pushing import Pushing, pushing
from stillbore.units import show

ABANDONED = "cap and abandon"
ELSE = "Open cut, another route, or a transfer to another service; an engineer decides."


def renewal(work: Workings) -> Candidate | None:
    """Work out load and candidates, and take the smallest that does all; None where none plainly does or the service is
    abandoned. What was worked out is kept in ``work.renewal``."""
    route = str(work.survey.value("job.route"))
    if route == ABANDONED:
        return None
    work.section("renewal", "The new pipe")
    side = TOWARDS_MAIN if route.endswith(TOWARDS_MAIN) else TOWARDS_HOUSE
    wanted = load(work)
    if not work.tubes:
        work.tell(NOTE, "The size of the old pipe is not decided; no new pipe is proven.", "Measure the old pipe.")
        return None
    old = old_service(work, wanted)
    pipes = new_pipes(work)
    if not pipes:
        work.tell(ENGINEER, "The kit carries no new pipe.", "Write an [[insert]] for each pipe carried.")
        return None
    if not way_complete(work):
        work.tell(NOTE, "It is not known whether every bend, step and fitting on the way is in the survey; no new pipe "
                  "is proven to pass.", 'Trace and rod the leg; then write way_list_complete = "yes".')
    way = obstacles(work, side)
    covered = work.survey.fact("site.upstream_length" if side == TOWARDS_MAIN else "site.leg_length")
    found = tuple(_candidate(work, pipe, wanted, side, covered, way) for pipe in pipes)
    chosen = _choice(work, tuple(each for each, _, _ in found), wanted)
    work.renewal = Renewal(side, covered, way, tuple(each for each, _, _ in found), chosen)
    _tables(work, found, old)
    return chosen


def _candidate(work: Workings, pipe: NewPipe, wanted: Load, side: str, covered: Node,
               way: tuple[Obstacle, ...]) -> tuple[Candidate, Carrying, Pushing]:
    name, key, outside, site = pipe.name, pipe.key, pipe.outside_diameter, work.survey.fact
    through = passing(work, pipe, way)
    bore = derive(f"bore of {name}", tube.bore, outside_diameter=outside, wall=pipe.wall)
    # Towards the house the old pipe between main and cut stays in use. The order of lengths does not change the drop;
    # the new one stands first because the losses of its fittings are referred to the first bore.
    to_main = side == TOWARDS_MAIN
    length: Node = whole_length(work) if to_main else site("site.leg_length")
    old = () if to_main else old_runs(work, (TOWARDS_MAIN,))
    loss: Node = work.limit("renewal.fittings")
    if "excess_flow_valve" in pipe.row.facts:
        loss = derive("losses with the excess-flow valve", service.joined_loss, loss_coefficient=loss,
                      further_loss_coefficient=pipe.row.fact("excess_flow_valve"))
    carries = carrying(work, key, name, (Run(length, bore, work.limit("renewal.roughness")), *old), loss, wanted)
    moved = pushing(work, pipe, side, covered, way)
    made = Candidate(name, key, outside, pipe.wall, bore, length, covered, through.verdict, through.where,
                     carries.verdict, moved.pushed, moved.pulled, through, moved.curve, carries.drop, pipe)
    return made, carries, moved


def _reason(each: Candidate) -> str:
    """Why a candidate is taken or not, in a few words."""
    if each.will_do:
        return "does all three"
    reasons = []
    if each.passing != PASSES:
        reasons.append(each.where)
    if each.carries != MET:
        reasons.append("starves the house" if each.carries == NOT_MET else "the load is not proven to go through")
    if each.pushed != MET:
        pull = "; a pull line bears it" if each.pulled == MET else ""
        reasons.append(("too long to be pushed" if each.pushed == NOT_MET else "the push is not proven") + pull)
    return "; ".join(reasons)


def _tables(work: Workings, found: tuple[tuple[Candidate, Carrying, Pushing], ...], old: Carrying) -> None:
    """Candidates with their verdicts and reasons; with their figures; the force of the one that matters."""
    work.here.grids.append(Grid("Candidates", ("new pipe", "passes", "carries the load", "can be pushed", "reason"),
                                tuple((each.name, each.passing, each.carries, each.pushed, _reason(each))
                                      for each, _, _ in found)))
    rows = [("the old service", "", work.span(old.drop, "mbar"), work.span(old.most, "m3/h"), "", "", "", "")]
    rows += [(each.name, work.span(each.wall, "mm"), work.span(carries.drop, "mbar"), work.span(carries.most, "m3/h"),
              *(work.span(node, "N") for node in (moved.inside, moved.snakes, moved.force, moved.pull)))
             for each, carries, moved in found]
    titles = ("new pipe", "wall", "drop at the load", "carries at most", "push in the bore", "may snake at",
              "push of the hand", "bears a pull of")
    work.here.grids.append(Grid("Candidates in figures", titles, tuple(rows)))
    shown = shown_curve(work.renewal)
    if shown is not None and shown.curve is not None:
        work.here.grids.append(Grid(f"Force against distance at its worst, {shown.name}",
                                    ("distance", "in the bore", "at the hand"), _points(work, shown.curve)))


def _points(work: Workings, curve: Curve) -> tuple[tuple[str, ...], ...]:
    """The points of a curve as text, each column in one unit."""
    places, *forces = zip(*curve.points, strict=True)
    along, force = work.display.unit("m", "m", *places), work.display.unit("N", "N", *forces[0], *forces[1])
    return tuple((show(distance, "m", along), show(in_bore, "N", force), show(at_hand, "N", force))
                 for distance, in_bore, at_hand in curve.points)


def shown_curve(found: Renewal | None) -> Candidate | None:
    """The candidate whose force is shown: the one taken, else one that nothing speaks against, else the first."""
    if found is None:
        return None
    drawn = [each for each in found.candidates if each.curve is not None]
    if found.chosen in drawn:
        return found.chosen
    return next((each for each in drawn if each.may_do), drawn[0] if drawn else None)


def _choice(work: Workings, found: tuple[Candidate, ...], wanted: Load) -> Candidate | None:
    """What the table comes to. A person chooses; nothing smaller is taken silently."""
    fit = [each for each in found if each.will_do and _whatever_its_wall(each, found)]
    fit.sort(key=lambda each: (each.outside_diameter.high or 0.0, -(each.wall.high or 0.0)))
    chosen = fit[0] if fit else None
    for each in found:
        _sentences(work, each, chosen, wanted)
    if chosen is not None:
        work.tell(NOTE, f"Passes, carries the load and can be pushed: {', '.join(each.name for each in fit)}. "
                  f"{chosen.name} is planned with.", "The planner chooses; annulus, test and purge follow from it.")
    elif any(each.may_do for each in found):
        names = ", ".join(each.name for each in found if each.may_do)
        work.tell(NOTE, f"No new pipe is proven. Not ruled out: {names}.",
                  "Measure what is not known, or rod the leg with a gauge of that size, before the job.")
    else:
        work.tell(ENGINEER, "None of the new pipes carried passes, carries the load and can be pushed.", ELSE)
    return chosen


def _whatever_its_wall(each: Candidate, found: tuple[Candidate, ...]) -> bool:
    """Where the wall is not known, every wall that it may have has to do."""
    return all(other.will_do for other in found if other.pipe.carried == each.pipe.carried)


def _sentences(work: Workings, each: Candidate, chosen: Candidate | None, wanted: Load) -> None:
    """What has to be said of a candidate that does not do everything."""
    drop, allowed = work.span(each.drop, "mbar"), work.span(work.limit("renewal.pressure_drop"), "mbar")
    if each.passing == PASSES and each.carries == NOT_MET:
        work.tell(NOTE, f"{each.name} passes and starves the house: at the load it loses {drop}, {allowed} are "
                  "allowed.", "Do not take it because it fits.")
    elif each.carries == NOT_PROVEN and not wanted.certain and each.drop.known:
        work.tell(NOTE, f"Whether {each.name} carries the load is not proven: with the meter's rating it loses {drop}, "
                  f"{allowed} are allowed.", "Read the appliances' plates; the rating is more than they take.")
    if each.carries == MET and each.passing in (DOES_NOT_PASS, ROD_FIRST):
        fits = "fits the bore, but not the way" if each.way.stops else "carries the load"
        smaller = (f" {chosen.name} is smaller and carries the load too, at {work.span(chosen.drop, 'mbar')}."
                   if chosen is not None and _smaller(chosen, each) else "")
        work.tell(NOTE, f"{each.name} {fits}; {each.passing}: {each.where}.{smaller}",
                  "Rod it with a gauge of its size first." if each.passing == ROD_FIRST else
                  "Dig where it stops, or choose another way.")
    if each.carries == MET and each.passing in (PASSES, UNKNOWN) and each.pushed != MET and each.curve is not None:
        reach = work.numbers[f"{each.key}.reach"].text
        pull = f" It bears a pull of {work.numbers[f'{each.key}.pull'].text}." if each.pulled == MET else ""
        words = "cannot be pushed" if each.pushed == NOT_MET else "is not proven to be pushed"
        work.tell(NOTE, f"{each.name} {words} all the way: {'none' if reach == 'none' else f'at least {reach}'} of "
                  f"{work.span(each.covered, 'm')}.{pull}",
                  "A pull line, an approved lubricant or a pit between; else open cut.")


def _smaller(one: Candidate, other: Candidate) -> bool:
    return (one.outside_diameter.high or 0.0) < (other.outside_diameter.low or 0.0)
