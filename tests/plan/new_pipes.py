"""A plan's workings with a new pipe of our own choice, so that what follows from it can be tested for itself."""

from dataclasses import fields

from variants import job

from stillbore.derive import Fact, constant, derive
from stillbore.physics import tube
from stillbore.plan.cut import cutting_window
from stillbore.plan.parts import Workings
from stillbore.plan.pipe import pipe
from stillbore.plan.renewal import Candidate

# Without its bend, with a smaller boiler and less scale, the example takes PE-25.
TAKES_ONE = {"survey": {"bend[0]": None, "fed[0].heat_input": '"24 kW"'},
             "rules": {"renewal.scale": '{ value = "0.5 mm", source = "a test" }'}}


def length(millimetres, name="a length"):
    return constant(name, "m", millimetres * 1e-3, "a test")


def candidate(outside=25.0, wall=2.3, metres=10.0, covered=2.5):
    """A new pipe of exact dimensions (mm, m); ``metres`` None is a length that nobody knows."""
    whole = Fact("length", "m", None, None, None, "unknown", "a test") if metres is None else length(metres * 1e3)
    outer, thick = length(outside, "outside diameter"), length(wall, "wall")
    known = {"name": "PE", "key": "renewal.pe", "outside_diameter": outer, "wall": thick, "length": whole,
             "covered": length(covered * 1e3), "bore": derive("bore", tube.bore, outside_diameter=outer, wall=thick)}
    return Candidate(**{field.name: known.get(field.name) for field in fields(Candidate)})  # the rest is not used


def workings(**changes):
    """The workings of the example with changes, up to the cutting window."""
    files = job(**changes)
    work = Workings(files.survey, files.kit, files.rules)
    work.section("test", "before")
    pipe(work)
    cutting_window(work)
    return work


def rule(value):
    """A rule as it is written in the rule set."""
    return f'{{ value = "{value}", source = "a test" }}'


def found(work, name, end="value"):
    return getattr(work.numbers[name].node, end)


def sentences(work):
    return [f"{finding.what} {finding.do}" for section in work.sections for finding in section.findings]
