"""Whole jobs on the virtual rig: what the crew does, in order, with every second labelled.

A job is a list of actions; each is a function of the rig and its own figures. ``play`` runs a list, ``usual_job`` makes
the common order, ``random_job`` varies it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy
from numpy.random import PCG64, Generator, SeedSequence

from stillbore.job.schema import JobFile
from stillbore.practice.draws import SAWN_AREA
from stillbore.practice.gas import ATMOSPHERE, GAS_CONSTANT
from stillbore.practice.glitches import spoil
from stillbore.practice.rig import MILLIBAR, NO_STOP, PER_HOUR, QUICK, Rig, Site, Trace, with_faults
from stillbore.practice.surroundings import BAROMETER, DISTRICT, GROUND

LABELS = ("zero", "pump", "hold", "release", "drill", "break", "live", "stopper", "vent", "watch")
Action = tuple[Callable[..., None], dict[str, float]]
PILOT_RADIUS, POINT = 3e-3, math.radians(59.0)
COEFFICIENT = 0.7  # of discharge of a drilled hole, common practice


def zero(rig: Rig, *, seconds: float) -> None:
    """The gauge is on, the rig stands open or empty: nothing but the gauge's own zero."""
    start = rig.clock
    rig.set("vent", 1.0)
    rig.run(seconds, bites=8)
    rig.set("vent", 0.0)
    rig.label("zero", start)


def pump(rig: Rig, *, to_mbar: float = 100.0, top_up_after: float = 0.0) -> None:
    """Strokes of a hand pump until the gauge shows the pressure; a hand gives up after a minute."""
    start = rig.clock
    flow = to_mbar * MILLIBAR * rig.volume_l * 1e-3 / (GAS_CONSTANT * rig.around.air) / rig.site.pumping_s
    rig.event("pump")

    def strokes(share: float) -> None:
        begun = rig.clock
        while rig.shown_mbar < to_mbar and rig.clock - begun < 60.0:
            rig.run(rig.rng.uniform(0.4, 0.7), pump=1.7 * share * flow, above_mbar=to_mbar, shaking=15.0)
            rig.run(rig.rng.uniform(0.3, 0.5), above_mbar=to_mbar)

    strokes(1.0)
    rig.label("pump", start)
    if top_up_after > 0.0:
        start = rig.clock
        rig.run(top_up_after)
        needed = rig.shown_mbar < to_mbar
        strokes(0.5)
        rig.label("pump" if needed else "hold", start)  # where nothing had to be added, nobody has touched it since


def hold(rig: Rig, *, seconds: float) -> None:
    """Valves as they are, nobody touches anything. Settling is the hold's own first part."""
    start = rig.clock
    rig.event("hold")
    rig.run(seconds)
    rig.label("hold", start)


def release(rig: Rig, *, after: float = 0.0) -> None:
    """The test air let out, until the gauge shows nothing."""
    start = rig.clock
    rig.event("release")
    rig.set("vent", rig.rng.uniform(0.2, 1.0))
    for _ in range(400):
        rig.run(0.3, bites=QUICK)
        if abs(rig.gauge_mbar(rig.gauge.space)) < 0.5:
            break
    rig.label("release", start)
    if after > 0.0:
        zero(rig, seconds=after)
    rig.set("vent", 0.0)


def drill(rig: Rig, *, before: float, feed_mm_per_s: float = 0.4, shaking_mbar: float = 0.5, live: float = 20.0,
          saw: float = 30.0, after: float = 15.0) -> None:
    """Drill to break-through, watch the gauge come up, saw on to the mark, draw the drill back.

    ``before`` is the time from first touch to break-through, ``live`` the quiet watch after it, ``saw`` the sawing on.
    """
    start = rig.clock
    rig.event("drill")
    left = before
    while left > 0.0:  # turns and rests of an arm
        turn = min(left, rig.rng.uniform(3.0, 12.0))
        rig.run(turn, shaking=shaking_mbar * MILLIBAR * rig.rng.uniform(0.5, 1.5))
        left -= turn
        if left > 0.0 and rig.rng.random() < 0.4:
            rest = min(left, rig.rng.uniform(0.5, 3.0))
            rig.run(rest)
            left -= rest
    rig.label("drill", start)
    start = rig.clock
    rig.event("break-through")
    rises = min(rig.around.now[DISTRICT] - rig.around.now[BAROMETER], rig.gauge.full_scale) / MILLIBAR > 1.0
    while rig.clock - start < 20.0:
        _feed(rig, feed_mm_per_s * (rig.clock - start + 0.2) * 1e-3)
        rig.run(0.2, bites=QUICK, shaking=0.5 * shaking_mbar * MILLIBAR if rig.clock - start < 1.0 else 0.0)
        if rig.clock - start >= 1.0 and rig.shown_mbar >= _expected(rig):
            break
    rig.label("break" if rises else "drill", start)
    _watch_live(rig, live, rises)
    if rises and rig.shown_mbar * MILLIBAR < rig.gauge.full_scale and saw > 0.0:
        start = rig.clock
        rig.event("saw on")
        rig.run(saw, shaking=shaking_mbar * MILLIBAR)
        rig.drill_area(SAWN_AREA)
        rig.label("drill", start)
        _watch_live(rig, after, rises)


def _expected(rig: Rig) -> float:
    """Where the rise is over: 95 % of the main less what water holds back, or the gauge's full scale."""
    wanted = (rig.around.now[DISTRICT] - rig.around.now[BAROMETER]) / MILLIBAR - rig.site.water_mbar
    return min(0.95 * wanted - 0.3, 0.99 * rig.gauge.full_scale / MILLIBAR)


def _feed(rig: Rig, past: float) -> None:
    """The hole as the pilot's point goes on: a cone, and of it only what drill and swarf leave open."""
    radius = min(PILOT_RADIUS, past * math.tan(POINT))
    rig.drill_area(COEFFICIENT * math.pi * radius * radius * rig.site.hole_share)


def _watch_live(rig: Rig, seconds: float, rises: bool) -> None:
    start = rig.clock
    for _ in range(int(seconds / 0.5)):
        _feed(rig, PILOT_RADIUS) if rig.openings.hole[rig.way["hole"]] < 5e-5 else None
        rig.run(0.5, bites=QUICK)
    rig.label("live" if rises else "zero", start)


def stopper(rig: Rig, *, seconds: float, letby_factor: float = 1.0) -> None:
    """The stopper goes in: the gauge is knocked, the leg comes and goes with the main, then it is set."""
    start = rig.clock
    rig.event("stopper")
    while rig.clock - start < seconds:
        within = (rig.clock - start) / seconds
        rig.set("supply", float(rig.rng.uniform(0.001, 0.3) if within > 0.4 else 1.0))
        # Pushing through the gland presses the gas and lets a little out.
        rig.set("vent", 0.01 * float(rig.rng.random() < 0.3))
        rig.run(rig.rng.uniform(0.3, 1.2), bites=QUICK, shaking=rig.rng.uniform(10.0, 60.0))
    rig.set("vent", 0.0)
    rig.seat(letby_factor=letby_factor)
    rig.label("stopper", start)
    rig.event("stopper set")


def watch(rig: Rig, *, seconds: float, of: str = "before venting") -> None:
    """Watch the isolated leg: before venting it must not fall, after venting it must not rise."""
    start = rig.clock
    rig.event(f"watch {of}")
    rig.truth[f"district_mbar {of}"] = (rig.around.now[DISTRICT] - rig.around.now[BAROMETER]) / MILLIBAR
    rig.run(seconds)
    rig.label("watch", start)


def vent(rig: Rig, *, open_for: float = 30.0) -> None:
    """Vent the leg and look at the open end, then shut it."""
    start = rig.clock
    rig.event("vent")
    rig.set("vent", rig.rng.uniform(0.3, 1.0))
    looked = min(5.0, 0.5 * open_for)
    rig.run(open_for - looked, bites=QUICK)
    flow = flow_through(rig, "vent", looked, QUICK)
    rig.truth["vent_flow_m3_per_h"] = flow
    # Bubbles are seen from some hundredth of a litre an hour, and felt as a flow from some ten litres an hour.
    seen = flow / 1e-3
    bubble, felt = rig.rng.uniform(0.02, 0.1), rig.rng.uniform(8.0, 30.0)
    rig.truth["vent_observation"] = "none" if seen < bubble else "bubbles" if seen < felt else "flow"
    rig.set("vent", 0.0)
    rig.label("vent", start)
    rig.event("vent shut")


def flow_through(rig: Rig, way: str, seconds: float, bites: int = 1) -> float:
    """Let time pass and return the mean flow through a way, from its start to its end [m3/h at 1013.25 mbar]."""
    at = rig.way[way]
    before, since = float(rig.openings.passed[at]), rig.clock
    rig.run(seconds, bites=bites)
    moles = (float(rig.openings.passed[at]) - before) / (rig.clock - since)
    return moles * GAS_CONSTANT * float(rig.around.now[GROUND]) / ATMOSPHERE / PER_HOUR


def play(rig: Rig, actions: Sequence[Action]) -> Trace:
    """Play the actions one after another."""
    for action, figures in actions:
        action(rig, **figures)
    return rig.trace()


def usual_job(*, hold_s: float = 180.0, before_s: float = 60.0, watch_s: float = 60.0, letby_s: float = 150.0,
              reseat: float | None = None) -> list[Action]:
    """The common order of a whole job. ``reseat``: seat the stopper again, after which this share still lets by."""
    actions: list[Action] = [
        (zero, {"seconds": 15.0}), (pump, {"to_mbar": 100.0, "top_up_after": 6.0}), (hold, {"seconds": hold_s}),
        (release, {"after": 20.0}), (drill, {"before": before_s}), (stopper, {"seconds": 15.0}),
        (watch, {"seconds": watch_s}), (vent, {"open_for": 30.0}),
        (watch, {"seconds": letby_s, "of": "let-by"})]
    if reseat is not None:
        actions += [(stopper, {"seconds": 8.0, "letby_factor": reseat}), (vent, {"open_for": 30.0}),
                    (watch, {"seconds": letby_s, "of": "let-by again"})]
    return actions


def with_notes(trace: Trace, *events: str) -> Trace:
    """The same trace with the crew's word in the note column at the first reading after each of these events."""
    notes = dict(trace.notes)
    for when, what in trace.events:
        row = int(numpy.searchsorted(trace.true_time_s, when))
        if what in events and row < len(trace.time_s):
            notes[row] = what
    return replace(trace, notes=notes)


FAULTS: dict[str, dict[str, float]] = {
    "leak": {"leak_rate_m3_per_h": 3e-4}, "letby": {"letby_rate_m3_per_h": 5e-4},
    "lip": {"lip_mbar": 25.0, "lip_rate_m3_per_h": 5e-3, "district_mbar": 21.0, "district_step_mbar": 24.0},
    "leg leak": {"leg_leak_m3_per_h": 1e-3}, "masked": {"letby_rate_m3_per_h": 1e-3, "leg_leak_m3_per_h": 3e-2},
    "neighbour": {"neighbour_m3_per_h": 0.02}, "water": {"water_mbar": 8.0}, "slow": {"hole_share": 1e-4},
    "medium pressure": {"district_mbar": 2000.0}, "no rise": {"district_mbar": 0.0}}


def random_site(rng: Generator, fault: str = "") -> Site:
    """A site as they come, with one of FAULTS or none."""
    site = Site(leak_rate_m3_per_h=float(rng.lognormal(math.log(2e-6), 1.0)), laminar_share=float(rng.random()),
                leg_volume_l=float(rng.uniform(2.0, 15.0)), district_mbar=float(rng.uniform(20.0, 40.0)),
                hunting_mbar=float(rng.choice([0.0, 0.1, 0.3, 0.8])),
                letby_rate_m3_per_h=float(rng.lognormal(math.log(2e-6), 1.0)),
                hole_share=float(min(0.3, rng.lognormal(math.log(0.01), 1.0))), pumping_s=float(rng.uniform(6.0, 18.0)))
    return with_faults(site, **FAULTS[fault]) if fault else site


def random_job(seed: int, rate_hz: float = 1.0, kit: JobFile | None = None, *, fault: str | None = None,
               glitches: Sequence[str] = (), drift: str | None = None, resolution_mbar: float = 0.1,
               range_mbar: float | None = None, **changed: float) -> Trace:
    """A job with its order, times and site drawn from the seed.

    ``fault``: a key of FAULTS, "" for none, None to draw one in four jobs. ``changed``: fields of Site that are fixed.
    ``glitches``: see glitches.spoil.
    """
    rng = Generator(PCG64(SeedSequence([seed, 77])))
    if fault is None:
        fault = str(rng.choice(list(FAULTS))) if rng.random() < 0.25 else ""
    site = with_faults(random_site(rng, fault), **changed)
    if site.district_step_mbar and site.district_step_at_s > NO_STOP / 2:
        site = with_faults(site, district_step_at_s=float(rng.uniform(300.0, 900.0)))
    drift = drift or str(rng.choice(["shade", "ordinary", "sun"], p=[0.35, 0.5, 0.15]))
    rig = Rig(rng, kit, site, rate_hz=rate_hz, drift=drift, resolution_mbar=resolution_mbar, range_mbar=range_mbar)
    rig.truth |= {"fault": fault, "drift": drift, "seed": seed}
    trace = play(rig, _random_actions(rng, site, rig))
    return spoil(trace, Generator(PCG64(SeedSequence([seed, 78]))), glitches) if glitches else trace


def _random_actions(rng: Generator, site: Site, rig: Rig) -> list[Action]:
    def span(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    actions: list[Action] = [(zero, {"seconds": span(6.0, 40.0)})]
    for _ in range(2 if rng.random() < 0.25 else 1):  # now and then the test is done again
        actions += [(pump, {"to_mbar": 100.0, "top_up_after": span(3.0, 9.0) if rng.random() < 0.6 else 0.0}),
                    (hold, {"seconds": span(100.0, 330.0)}), (release, {"after": span(8.0, 60.0)})]
    actions += [(drill, {"before": span(25.0, 120.0), "feed_mm_per_s": span(0.15, 0.8),
                         "shaking_mbar": span(0.2, 1.0), "live": span(12.0, 45.0), "saw": span(15.0, 60.0),
                         "after": span(8.0, 30.0)})]
    if site.district_mbar < 1.0 or site.district_mbar * MILLIBAR > rig.gauge.full_scale:
        return actions  # nothing came up, or far too much: the crew stops here
    actions += [(stopper, {"seconds": span(6.0, 25.0)}), (watch, {"seconds": span(45.0, 100.0)}),
                (vent, {"open_for": span(20.0, 45.0)}), (watch, {"seconds": span(110.0, 240.0), "of": "let-by"})]
    if rng.random() < 0.2:
        actions += [(stopper, {"seconds": span(5.0, 12.0), "letby_factor": span(0.0, 0.3)}),
                    (vent, {"open_for": span(20.0, 40.0)}),
                    (watch, {"seconds": span(110.0, 200.0), "of": "let-by again"})]
    return actions
