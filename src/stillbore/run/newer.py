"""What a program has otherwise than a job under way that came to it: it is said, and the job goes on by its own.

An order of work or a rule set is held against the shipped one of the same name only: what an operator wrote has its
newer editions elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLES, JobFiles, example_text
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import JobFile, load_text
from stillbore.job.shipped import composed, file_name
from stillbore.run.kept_plan import KeptPlan
from stillbore.version import program


@dataclass(frozen=True)
class Newer:
    """``sort``: "program", "procedure" or "rules"; which one the job goes by, and which is here."""

    sort: str
    kept: str
    here: str


def newer(files: JobFiles, kept: KeptPlan) -> tuple[Newer, ...]:
    """Where this program, and what it ships, is other than a job's files and the program that planned it."""
    found = [Newer("program", kept.program, program())] if kept.program != program() else []
    return (*found, *_procedure(files), *_rules(files.rules))


def _procedure(files: JobFiles) -> Iterator[Newer]:
    build, route = str(files.kit.value("kit.procedure")), str(files.survey.value("job.route"))
    try:
        text = composed(build, route, str(files.kit.value("travel.counted_from")))
    except StillboreError:  # none is shipped for this build and route
        return
    shipped = load_text(PROCEDURE, text, file_name(build, route))
    if _name(shipped) == _name(files.procedure) and shipped.sha256 != files.procedure.sha256:
        yield Newer("procedure", _which(files.procedure), _which(shipped))


def _rules(rules: JobFile) -> Iterator[Newer]:
    for name in EXAMPLES["rules"]:
        shipped = load_text(RULES, example_text(name), name)
        if _name(shipped) == _name(rules) and shipped.sha256 != rules.sha256:
            yield Newer("rules", _which(rules), _which(shipped))


def _name(file: JobFile) -> str:
    return str(file.value(f"{file.schema.name}.name"))


def _which(file: JobFile) -> str:
    """Edition and date as the file gives them, and the beginning of its hash: an edition may have been left as it was
    when the text was changed."""
    head = file.row(file.schema.name)
    when = f", {head['date']}" if "date" in head.values else ""
    return f"{head.text('name')}, edition {head.text('edition')}{when} ({file.sha256[:8]})"
