"""Which files a plan is made of, and where the shipped examples stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

from stillbore.errors import Fault, InputFaults, StillboreError
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import JobFile, Schema, load, load_text
from stillbore.job.shipped import composed, file_name
from stillbore.job.survey import SURVEY, with_composition

EXAMPLE_KIT, EXAMPLE_RULES, EXAMPLE_SURVEY = "kit_two_branches.toml", "rules.toml", "service.toml"
# Every shipped example by the kind of file; the first of each is the one taken where nobody asks for another.
EXAMPLES = {"survey": (EXAMPLE_SURVEY, "bent.toml", "twin.toml", "service_us.toml"),
            "kit": (EXAMPLE_KIT, "kit_single_branch.toml"), "rules": (EXAMPLE_RULES, "rules_us.toml")}


@dataclass(frozen=True)
class JobFiles:
    """The four files of a plan."""

    survey: JobFile
    kit: JobFile
    rules: JobFile
    procedure: JobFile


def example_text(name: str) -> str:
    """The text of a shipped example file."""
    return files("stillbore.examples").joinpath(name).read_text(encoding="utf-8")


def _load(schema: Schema, path: Path | None, example: str, faults: list[Fault]) -> JobFile | None:
    try:
        return load_text(schema, example_text(example), example) if path is None else load(schema, path)
    except InputFaults as error:
        faults += error.faults
        return None


def _procedure(survey: JobFile, kit: JobFile, path: Path | None) -> JobFile:
    """The order of work: a file given, or the shipped one for the kit's build and the survey's route."""
    if path is not None:
        return load(PROCEDURE, path)
    build, route = str(kit.value("kit.procedure")), str(survey.value("job.route"))
    try:
        text = composed(build, route, str(kit.value("travel.counted_from")))
    except StillboreError as error:
        raise InputFaults([Fault(kit.row("kit").place, error.what, error.fix)]) from None
    return load_text(PROCEDURE, text, file_name(build, route))


def _on_route(survey: JobFile, route: str) -> JobFile:
    """The survey as if it had this route. Its text stays as it was read, and says what was written."""
    job = survey.row("job")
    return replace(survey, sections={**survey.sections, "job": (replace(job, values={**job.values, "route": route}),)})


def job_of_texts(texts: Mapping[str, str], names: Mapping[str, str] = MappingProxyType({})) -> JobFiles:
    """The files of a plan from their texts by kind ("survey", "kit", "rules", "procedure"); only the survey must be
    there, and what stands in for the rest is as in ``load_job``. ``names``: what each file is called. Raises
    InputFaults with the faults of all files at once."""
    shipped = {"kit": EXAMPLE_KIT, "rules": EXAMPLE_RULES}
    faults: list[Fault] = []
    found: dict[str, JobFile] = {}
    for kind, schema in (("survey", SURVEY), ("kit", KIT), ("rules", RULES), ("procedure", PROCEDURE)):
        text = texts.get(kind)
        if text is None and kind not in shipped:
            continue
        name = names.get(kind, f"{kind}.toml") if text is not None else shipped[kind]
        try:
            found[kind] = load_text(schema, example_text(name) if text is None else text, name)
        except InputFaults as error:
            faults += error.faults
    if "survey" not in texts:
        faults.append(Fault("survey.toml", "There is no survey.", "Write one, or bring one in."))
    if faults:
        raise InputFaults(faults)
    return JobFiles(with_composition(found["survey"]), found["kit"], found["rules"],
                    found.get("procedure") or _procedure(found["survey"], found["kit"], None))


def load_job(survey: Path, kit: Path | None = None, rules: Path | None = None, procedure: Path | None = None,
             route: str | None = None) -> JobFiles:
    """Load the files of a plan; where no kit or rule set is given, the shipped, invented examples are taken, and every
    document says so. ``route``: one to suppose in place of the survey's own, for comparing only. Raises InputFaults
    with the faults of all files at once."""
    faults: list[Fault] = []
    survey_file = _load(SURVEY, survey, EXAMPLE_SURVEY, faults)
    kit_file = _load(KIT, kit, EXAMPLE_KIT, faults)
    rules_file = _load(RULES, rules, EXAMPLE_RULES, faults)
    if faults or survey_file is None or kit_file is None or rules_file is None:
        raise InputFaults(faults)
    survey_file = with_composition(survey_file)
    if route is not None:
        survey_file = _on_route(survey_file, route)
    return JobFiles(survey_file, kit_file, rules_file, _procedure(survey_file, kit_file, procedure))
