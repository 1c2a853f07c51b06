"""The plan: all that follows from survey, kit and rule set; it changes nothing and knows no limit of its own."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from stillbore.display import METRIC, Display
from stillbore.errors import StillboreError
from stillbore.job.files import JobFiles
from stillbore.job.procedure import check
from stillbore.job.schema import JobFile, Row
from stillbore.plan.annulus import annulus, movement
from stillbore.plan.barriers import PlannedStep, exposed, planned_steps
from stillbore.plan.bond import bond
from stillbore.plan.contingency import contingency
from stillbore.plan.cut import cutting_window
from stillbore.plan.dead_leg import dead_leg
from stillbore.plan.district import break_through, pressures
from stillbore.plan.gas import gas
from stillbore.plan.integrity import integrity
from stillbore.plan.let_by import let_by
from stillbore.plan.materials import materials
from stillbore.plan.method import method, reasons, result
from stillbore.plan.new_pipe import Renewal
from stillbore.plan.parts import NOTE, Finding, Number, Section, Tube, Workings
from stillbore.plan.people import people
from stillbore.plan.pipe import pipe
from stillbore.plan.pipe_tests import pipe_tests
from stillbore.plan.pit import pit
from stillbore.plan.pit_air import pit_air
from stillbore.plan.provenance import provenance
from stillbore.plan.purge import purge
from stillbore.plan.release import release
from stillbore.plan.renewal import renewal
from stillbore.plan.stopper import stopper
from stillbore.plan.strength import strength
from stillbore.plan.time_plan import time_plan
from stillbore.plan.travel import travel
from stillbore.plan.water import water
from stillbore.version import program

DECIDING_HOLDS = 6


@dataclass(frozen=True)
class Plan:
    """A plan, the files it was made from and the system of units it is shown in. ``version`` is the hash of its inputs
    and of the program; the numbers are the same in every system."""

    files: JobFiles
    result: str
    sections: tuple[Section, ...]
    numbers: dict[str, Number]
    tubes: tuple[Tube, ...]
    size: str
    saw: Row | None
    stopper: Row | None
    steps: tuple[PlannedStep, ...]
    renewal: Renewal | None
    display: Display = METRIC

    @property
    def survey(self) -> JobFile:
        return self.files.survey

    @property
    def kit(self) -> JobFile:
        return self.files.kit

    @property
    def rules(self) -> JobFile:
        return self.files.rules

    @property
    def version(self) -> str:
        """The hash of the program, its code included, and of the four files."""
        text = "\n".join([program(), *(f"{name} {file.sha256}" for name, file in vars(self.files).items())])
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def findings(self) -> tuple[Finding, ...]:
        return tuple(finding for section in self.sections for finding in section.findings)

    @property
    def known_enough(self) -> bool:
        """Whether everything is known that decides if the method applies at all: the first holds, up to the datum."""
        return not any(hold <= DECIDING_HOLDS for hold in self.open_holds)

    @property
    def open_holds(self) -> dict[int, tuple[Finding, ...]]:
        """The hard holds that cannot be signed as things stand, with what keeps each open: what is not known, and what
        is known and not met."""
        found: dict[int, list[Finding]] = {}
        for finding in self.findings:
            if finding.level != NOTE:
                for hold in finding.holds:
                    found.setdefault(hold, []).append(finding)
        return {hold: tuple(found[hold]) for hold in sorted(found)}

    def number(self, name: str) -> Number:
        """A number by its dotted name. Raises StillboreError with the nearest names."""
        if name not in self.numbers:
            near = difflib.get_close_matches(name, self.numbers, n=3, cutoff=0.4)
            raise StillboreError(f"The plan has no number '{name}'.",
                                 f"Did you mean {' or '.join(near)}?" if near else "List them with: stillbore plan",
                                 number=name)
        return self.numbers[name]


def plan(files: JobFiles, display: Display = METRIC) -> Plan:
    """Work out the plan, its texts in a system of units. Raises InputFaults if the procedure and the kit do not belong
    together."""
    check(files.procedure, files.kit)
    work, saw, chosen = _worked_out(files.survey, files.kit, files.rules, display)
    work.section("steps", "Order of work")
    steps = planned_steps(files.procedure, files.kit, work.numbers)
    exposed(work, steps)
    work.sections[0].grids.append(reasons(work))
    return Plan(files, result(work.sections), tuple(work.sections), work.numbers, work.tubes, work.size, saw, chosen,
                steps, work.renewal, display)


def numbers(survey: JobFile, kit: JobFile, rules: JobFile) -> Mapping[str, Number]:
    """Every number of a plan by its dotted name, whatever the order of work says."""
    return _worked_out(survey, kit, rules)[0].numbers


def _worked_out(survey: JobFile, kit: JobFile, rules: JobFile,
                display: Display = METRIC) -> tuple[Workings, Row | None, Row | None]:
    """Everything but the order of work, and the saw and the stopper chosen."""
    work = Workings(survey, kit, rules, display)
    method(work)
    pipe(work)
    saw = travel(work)
    pressures(work)
    chosen = stopper(work)
    strength(work, saw)
    cutting_window(work)
    bond(work)
    integrity(work)
    break_through(work)
    let_by(work)
    flows = contingency(work)
    gas(work)
    water(work)
    new = renewal(work)
    if new is not None:
        annulus(work, new)
    movement(work, new)
    dead_leg(work)
    if new is not None:
        pipe_tests(work, new)
        purge(work, new)
    pit(work)
    pit_air(work, flows)
    release(work)
    time_plan(work)
    materials(work, new, saw, chosen)
    people(work)
    provenance(work)
    return work, saw, chosen
