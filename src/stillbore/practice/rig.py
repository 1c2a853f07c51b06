"""The virtual rig of one job: built from the kit's graph, fixed on a service, worked by hand, read by its gauge.

Around the kit's own compartments stand the leg (the house side of the service, in the ground), the district's main and
the open air. ``Rig.run`` lets time pass; valves, vent, pump, drill and stopper are moved between. What the gauge showed
is then in the record, and what was true beside it. jobs.py plays whole jobs with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy
from numpy.random import PCG64, Generator, SeedSequence

from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLE_KIT, example_text
from stillbore.job.kit import KIT
from stillbore.job.schema import JobFile, load_text
from stillbore.practice import draws
from stillbore.practice.gas import moles_per_second, opening_for
from stillbore.practice.march import GRAVITY, WATER_DENSITY, Controls, Openings, Water, march, pressure
from stillbore.practice.surroundings import AIR, BAROMETER, CLOCK, DISTRICT, GROUND, Surroundings

PER_HOUR = 1.0 / 3600.0
MILLIBAR = 100.0
LONGEST_STEP = 0.1  # s
QUICK = 40  # bites of a step while gas rushes: venting, breaking through
NO_STOP = 1e12
VENT_AREA = 2.0e-5  # m2, effective: a small valve and a few metres of hose
LIP_SEATS = 0.85  # a lip that lifted seats again at this share of the pressure at which it lifts
SERVICE_BORE = 5.7e-4  # m2, the section of a pipe of 27 mm
SERVICE_AREA = 1.4e-4  # m2, effective: ten metres of service to the main


@dataclass(frozen=True)
class Site:
    """What is true of a job and nobody at the pit can see. Units are those of a gauge log."""

    leak_rate_m3_per_h: float = 0.0  # air at 1013.25 mbar, with the whole rig at 100 mbar
    leak_joint: str = ""  # a joint of the kit; the first where none is named
    laminar_share: float = 0.5  # of that leak, and of every other
    passing_valves: tuple[tuple[str, float], ...] = ()  # (valve, m3/h of air at 100 mbar when shut)
    leg_volume_l: float = 6.0
    district_mbar: float = 30.0
    hunting_mbar: float = 0.2
    district_step_mbar: float = 0.0
    district_step_at_s: float = draws.NEVER
    letby_rate_m3_per_h: float = 0.0  # past the set stopper, gas at 1013.25 mbar, district against an empty leg
    lip_mbar: float = 0.0  # pressure difference at which a lip of the stopper lifts; 0 is a lip that never lifts
    lip_rate_m3_per_h: float = 0.0  # what then passes, when 15 mbar above it
    leg_leak_m3_per_h: float = 0.0  # out of the leg into the ground, at the district's pressure
    neighbour_m3_per_h: float = 0.0  # a user on the leg whom nobody knows of; a pilot takes 0.02
    water_mbar: float = 0.0  # head of water lying in the service
    hole_share: float = 0.05  # of the drilled hole that drill and swarf leave open while they are in it
    pumping_s: float = 10.0


@dataclass
class Trace:
    """A job as logged, one entry a reading, and the truth of it.

    Labels are (label, start_s, end_s), events (time_s, what), both in true time, like all that is named true. True
    pressures are gauge pressures where the gauge is joined. ``truth`` holds single figures, and the site itself.
    """

    time_s: numpy.ndarray
    pressure_mbar: numpy.ndarray
    temperature_degC: numpy.ndarray
    barometer_mbar: numpy.ndarray
    notes: dict[int, str] = field(default_factory=dict)  # by row
    labels: list[tuple[str, float, float]] = field(default_factory=list)
    events: list[tuple[float, str]] = field(default_factory=list)
    truth: dict[str, object] = field(default_factory=dict)
    true_time_s: numpy.ndarray = field(default_factory=lambda: numpy.zeros(0))  # of each row, whatever its stamp says
    true_pressure_mbar: numpy.ndarray = field(default_factory=lambda: numpy.zeros(0))
    gas_temperature_K: numpy.ndarray = field(default_factory=lambda: numpy.zeros(0))


def example_kit() -> JobFile:
    """The kit that comes with the program."""
    return load_text(KIT, example_text(EXAMPLE_KIT), EXAMPLE_KIT)


def _best(fact) -> float:
    return fact.value if fact.value is not None else 0.5 * (fact.low + fact.high)


def leg_ways(site: Site, around: Surroundings, *, leg: int, air: int,
             main: int) -> dict[str, tuple[int, int, float, float]]:
    """What passes the set stopper and leaves the leg, as rows for draws.openings; rates as Site states them."""
    barometer, district = around.now[BAROMETER], around.now[DISTRICT]
    under = district if district > barometer + 1.0 else barometer + 30.0 * MILLIBAR

    def gas(rate: float, up: float = under) -> tuple[float, float]:
        return opening_for(rate * PER_HOUR, site.laminar_share, up, barometer, float(around.now[GROUND]), 1.0)

    lifted = barometer + (15.0 + (1.0 - LIP_SEATS) * site.lip_mbar) * MILLIBAR
    return {"letby": (main, leg, *gas(site.letby_rate_m3_per_h)),
            "lip": (main, leg, *gas(site.lip_rate_m3_per_h, lifted)),
            "leg leak": (leg, air, *gas(site.leg_leak_m3_per_h))}


def set_lip(site: Site, openings: Openings, at: int) -> None:
    """Give a way the law of a lip: it lifts above its pressure, and seats again somewhat below."""
    openings.lifts_at[at] = site.lip_mbar * MILLIBAR
    openings.holds_back[at] = LIP_SEATS * site.lip_mbar * MILLIBAR


class Rig:
    """One rig on one service. ``seed`` draws everything that ``site`` does not say.

    Args:
        kit: its compartments, joints, valves and gauge; the example kit where none is given.
        rate_hz: readings a second, above 0; by eye one comes every 10 to 15 s whatever the rate.
        drift: a class of draws.CAUSES, whose causes ``drift_scale`` multiplies.
        resolution_mbar, range_mbar: of the gauge; the range is the kit's where none is given.
        longest_s: how much the log has room for [s]; what comes later is not written down.
    Raises:
        StillboreError: the kit has no such joint or valve as ``site`` names, or there is no such drift class.
    """

    def __init__(self, seed: int | Generator = 0, kit: JobFile | None = None, site: Site | None = None, *,
                 rate_hz: float = 1.0, drift: str = "ordinary", drift_scale: float = 1.0, resolution_mbar: float = 0.1,
                 range_mbar: float | None = None, by_eye: bool = False, longest_s: float = 7200.0) -> None:
        self.rng = seed if isinstance(seed, Generator) else Generator(PCG64(SeedSequence(seed)))
        self.kit, self.site = kit or example_kit(), site or Site()
        self.compartments = [row.text("id") for row in self.kit.rows("compartment")]
        read_at = self.kit.row("gauge").text("compartment") or self.compartments[-1]
        self.main_space = 0  # the saddle: vent, pump and the drilled hole are here
        if "saddle" in self.compartments:
            self.main_space = self.compartments.index("saddle")
        self.leg, self.air, self.main = (len(self.compartments) + more for more in range(3))
        interval = 12.5 if by_eye else 1.0 / rate_hz
        self.step = 0.1 if by_eye else interval / math.ceil(interval / LONGEST_STEP)
        self._surround(drift, drift_scale)
        hose = self.compartments.index(read_at)
        self._fill(hose, drift, drift_scale)
        self._open()
        full_scale = range_mbar * MILLIBAR if range_mbar else _best(self.kit.fact("gauge.range"))
        self.gauge = draws.draw_gauge(self.rng, float(self.spaces.body[hose]), space=hose, by_eye=by_eye,
                                      resolution=resolution_mbar * MILLIBAR, full_scale=full_scale)
        self.record = draws.empty_record(int(longest_s / interval) + 1, interval, interval)
        self.tally = numpy.zeros(4)
        neighbour = moles_per_second(self.site.neighbour_m3_per_h * PER_HOUR, float(self.around.now[GROUND]))
        self.controls = Controls(
            pump=0.0, pump_space=self.main_space, drawn=neighbour, drawn_space=self.leg, shaking=0.0, hand=0.0,
            sampling=True, bites=2, stop_above=NO_STOP, stop_below=-NO_STOP)
        self.labels: list[tuple[str, float, float]] = []
        self.events: list[tuple[float, str]] = []
        self.notes: dict[int, str] = {}
        self.truth: dict[str, object] = {}

    def _surround(self, drift: str, drift_scale: float) -> None:
        site = self.site
        self.around = draws.draw_surroundings(
            self.rng, drift, drift_scale, district=site.district_mbar * MILLIBAR, hunting=site.hunting_mbar * MILLIBAR,
            district_step=site.district_step_mbar * MILLIBAR, district_step_at=site.district_step_at_s,
            duration=1800.0)

    def _fill(self, hose: int, drift: str, drift_scale: float) -> None:
        """Compartments: the rig's with air, the leg with gas under the district's pressure."""
        factor = draws.own_volume(self.rng, 1.0)
        volumes = [_best(row.fact("volume")) * factor for row in self.kit.rows("compartment")]
        volumes.append(self.site.leg_volume_l * 1e-3)
        self.spaces = draws.draw_spaces(self.rng, volumes, hose, self.around, drift, drift_scale, leg=self.leg)
        draws.put_gas(self.spaces, self.leg, self.around.now[DISTRICT] - self.site.water_mbar * MILLIBAR, 1.0)
        self.volume_l = sum(volumes[:-1]) / 1e-3

    def _open(self) -> None:
        """Every way for gas, each under its name in ``self.way``."""
        site, share, warmth = self.site, self.site.laminar_share, float(self.spaces.temperature[0])
        barometer = self.around.now[BAROMETER]
        test = barometer + 100.0 * MILLIBAR
        rows: dict[str, tuple[int, int, float, float]] = {}
        for row in self.kit.rows("valve"):
            first, second = (self.compartments.index(name) for name in row.texts("between"))
            rows[row.text("id")] = (first, second, 0.0, 3e-5)
        joints = [row.text("id") for row in self.kit.rows("joint")]
        leaking = site.leak_joint or joints[0]
        if leaking not in joints:
            raise StillboreError(f"The kit has no joint '{leaking}'.", f"Write one of: {', '.join(joints)}.")
        for valve, _ in site.passing_valves:
            if valve not in rows:
                raise StillboreError(f"The kit has no valve '{valve}'.", f"Write one of: {', '.join(rows)}.")
        for row in self.kit.rows("joint"):
            rate = site.leak_rate_m3_per_h * PER_HOUR if row.text("id") == leaking else 0.0
            rows[row.text("id")] = (self.compartments.index(row.text("compartment")), self.air,
                                    *opening_for(rate, share, test, barometer, warmth))
        rows["vent"] = (self.main_space, self.air, 0.0, VENT_AREA)
        rows["hole"] = (self.leg, self.main_space, 0.0, 0.0)
        rows["supply"] = (self.main, self.leg, 0.0, SERVICE_AREA)
        rows |= leg_ways(site, self.around, leg=self.leg, air=self.air, main=self.main)
        self.way = {name: number for number, name in enumerate(rows)}
        self.openings = draws.openings(*rows.values())
        for row in self.kit.rows("valve"):
            self.openings.conduction[self.way[row.text("id")]] = self.rng.uniform(1.0, 3.0)
        for name in ("vent", "letby", "lip"):
            self.openings.open[self.way[name]] = 0.0
        set_lip(site, self.openings, self.way["lip"])
        supply, head = self.way["supply"], site.water_mbar * MILLIBAR
        self.openings.lifts_at[supply], self.openings.holds_back[supply] = head, 0.8 * head
        self.water = draws.dry()
        if head > 0.0:
            # At rest where it holds back all that it can; what it takes of the leg's room is no longer gas.
            pushed = 0.5 * head / (WATER_DENSITY * GRAVITY)
            self.water = Water(numpy.array([pushed, 0.0]), SERVICE_BORE, self.rng.uniform(0.5, 2.0), head,
                               self.rng.uniform(0.2, 1.0), self.leg, supply)
            room = 1.0 - SERVICE_BORE * pushed / self.spaces.volume[self.leg]
            self.spaces.amount[self.leg] *= room
            self.spaces.fuel[self.leg] *= room

    # What hands do.

    @property
    def clock(self) -> float:
        """Seconds since the rig was built."""
        return float(self.around.state[CLOCK])

    @property
    def shown_mbar(self) -> float:
        """What the gauge's needle points to [mbar], short of noise, rounding and the end of its range."""
        return float(self.gauge.state[0] + self.gauge.zero) / MILLIBAR

    def gauge_mbar(self, space: int) -> float:
        """True gauge pressure of a compartment [mbar], by its number in ``compartments``, or ``leg``."""
        return float(pressure(self.spaces, self.water, space) - self.around.now[BAROMETER]) / MILLIBAR

    def run(self, seconds: float, *, above_mbar: float | None = None, below_mbar: float | None = None,
            **moved: float) -> None:
        """Let time pass, at most until the gauge shows a pressure. ``moved`` are fields of Controls, SI."""
        controls = replace_controls(self.controls, moved, above_mbar, below_mbar)
        steps = max(1, int(seconds / self.step + 0.5))
        march(self.rng, self.spaces, self.openings, self.water, self.around, self.gauge, self.record, controls,
              self.tally, self.step, steps)

    def set(self, way: str, opened: float) -> None:
        """Open or shut a way, 0 to 1: a valve or joint of the kit, "vent", "hole", "supply", "letby", "lip" or
        "leg leak". A valve of the kit that lets by never shuts whole. A name that is no way is a KeyError."""
        at = self.way[way]
        for valve, rate in self.site.passing_valves:
            if valve == way and opened == 0.0:
                barometer = self.around.now[BAROMETER]
                warmth = float(self.spaces.temperature[0])
                _, hole = opening_for(rate * PER_HOUR, 0.0, barometer + 1e4, barometer, warmth)
                opened = hole / self.openings.hole[at]
        self.openings.open[at] = opened

    def drill_area(self, area: float) -> None:
        """Effective area [m2] that the drilled hole leaves open now."""
        self.openings.hole[self.way["hole"]] = area

    def seat(self, *, letby_factor: float = 1.0) -> None:
        """The stopper is set, or set again: the main is shut off but for what passes. Seating again seats its lip."""
        self.water = draws.dry()
        for name, opened in (("supply", 0.0), ("letby", letby_factor),
                             ("lip", float(self.site.lip_mbar > 0.0) * letby_factor)):
            self.openings.open[self.way[name]] = opened
        self.openings.lifted[self.way["lip"]] = 0.0

    def label(self, name: str, start: float) -> None:
        """Everything from ``start`` until now was ``name``; a label that goes on is made longer."""
        if self.clock <= start:
            return
        if self.labels and self.labels[-1][0] == name and abs(self.labels[-1][2] - start) < 1e-6:
            start = self.labels.pop()[1]
        self.labels.append((name, start, self.clock))

    def event(self, what: str) -> None:
        self.events.append((self.clock, what))

    def note(self, text: str) -> None:
        """Write a word into the log's note column, at the next reading."""
        self.notes[int(self.record.count[0])] = text

    def trace(self) -> Trace:
        """What was logged so far, with its truth."""
        rows, record = int(self.record.count[0]), self.record
        truth = {"leak_rate_m3_per_h": self.site.leak_rate_m3_per_h, "volume_l": self.volume_l, "site": self.site,
                 "air_degC": float(self.around.now[AIR]) - 273.15, **self.truth}
        return Trace(record.time[:rows].copy(), record.pressure[:rows] / MILLIBAR, record.temperature[:rows].copy(),
                     record.barometer[:rows] / MILLIBAR, {row: text for row, text in self.notes.items() if row < rows},
                     list(self.labels), list(self.events), truth, record.true_time[:rows].copy(),
                     record.true_pressure[:rows] / MILLIBAR, record.gas_temperature[:rows].copy())


def replace_controls(controls: Controls, moved: dict[str, float], above: float | None, below: float | None) -> Controls:
    """Controls with some fields changed, and with the stops [mbar] that are given."""
    return controls._replace(stop_above=NO_STOP if above is None else above * MILLIBAR,
                             stop_below=-NO_STOP if below is None else below * MILLIBAR, **moved)


def with_faults(site: Site, **changed: object) -> Site:
    """A site with some of its truths changed."""
    return replace(site, **changed)
