"""The files that a job rests on, kept by content hash, and the basis made of them again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from datetime import date

from stillbore.errors import StillboreError
from stillbore.job.files import JobFiles
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.survey import SURVEY
from stillbore.plan import Plan
from stillbore.plan import plan as work_out
from stillbore.plan.export import plan_text
from stillbore.record.events import Change, FileHash, Opened, Person, Replanned
from stillbore.run.basis import Basis, basis_of
from stillbore.run.kept_plan import KeptPlan, kept_plan, read_plan, unlike
from stillbore.version import program

SCHEMAS = {"survey": SURVEY, "kit": KIT, "rules": RULES, "procedure": PROCEDURE}
PLAN = "plan"
SAID = 5  # numbers that are named where many differ


def files_of(plan: Plan) -> list[tuple[FileHash, bytes]]:
    """The files of a plan, and the plan itself, each with its bytes."""
    found = [(FileHash(kind, file.name, file.sha256), file.text.encode("utf-8"))
             for kind, file in vars(plan.files).items()]
    text = plan_text(plan)
    return [*found, (FileHash(PLAN, "plan.json", hashlib.sha256(text).hexdigest()), text)]


def people_of(plan: Plan, public: Mapping[str, str]) -> tuple[Person, ...]:
    """The people of the survey with the public keys of a key list ("" for one who is not in it)."""
    found = []
    for row in plan.survey.rows("person"):
        expires = row["expires"]
        assert isinstance(expires, date)
        found.append(Person(row.text("id"), row.text("role"), public.get(row.text("id"), ""),
                            row.text("authorisation"), expires.isoformat()))
    return tuple(found)


def files_again(files: tuple[FileHash, ...], kept: Callable[[str], bytes]) -> JobFiles:
    """The kept files, loaded again. Raises StillboreError where one is missing, InputFaults where one cannot be read by
    this program."""
    loaded = {}
    for file in files:
        if file.kind in SCHEMAS:
            loaded[file.kind] = load_text(SCHEMAS[file.kind], kept(file.sha256).decode("utf-8"), file.name)
    missing = sorted(SCHEMAS.keys() - loaded.keys())
    if missing:
        raise StillboreError(f"The log does not name: {', '.join(missing)}.", "Take the whole record.")
    return JobFiles(**loaded)


def plan_again(files: tuple[FileHash, ...], kept: Callable[[str], bytes]) -> Plan:
    """The plan worked out again from the kept files, by the formulas of this program: for documents, and to compare. A
    job goes by ``basis_again``. Raises as ``files_again``."""
    return work_out(files_again(files, kept))


def plan_kept(files: tuple[FileHash, ...], kept: Callable[[str], bytes]) -> KeptPlan:
    """The plan as it was kept. Raises StillboreError where it is not there or cannot be read."""
    for file in files:
        if file.kind == PLAN:
            return read_plan(kept(file.sha256))
    raise StillboreError("The log does not name: plan.", "Take the whole record.")


def basis_again(event: Opened | Replanned, kept: Callable[[str], bytes]) -> Basis:
    """The basis of a plan in the log: its files, numbers and open holds as they were kept, whatever this program would
    make of the files today, which ``recomputed`` tells. Raises as ``files_again`` and ``plan_kept``."""
    return basis_of(event.plan, files_again(event.files, kept), plan_kept(event.files, kept))


def recomputed(event: Opened | Replanned, kept: Callable[[str], bytes], again: Plan) -> str:
    """Where the plan kept with the job and the plan ``again``, made here of the same files, part, in a sentence; ""
    where they do not and one program made both."""
    old, here = plan_kept(event.files, kept), kept_plan(again)
    found = list(unlike(old, here))
    if not found:
        return "" if old.program == program() else (
            f"The plan {event.plan[:12]} was worked out by program {old.program}; this is {program()}, and makes the "
            "same numbers and open holds of the same files.")
    who = ("this very program did not make them: they were changed before they were kept, or by another interpreter"
           if old.program == program() else f"it was worked out by program {old.program}; this is {program()}")
    more = f", and {len(found) - SAID} more" if len(found) > SAID else ""
    return (f"The plan {event.plan[:12]} as it was kept is not what this program makes of the same files: "
            f"{len(found)} differ, {'; '.join(found[:SAID])}{more}. The job goes by the kept ones; {who}.")


def changes(old: KeptPlan, new: KeptPlan) -> tuple[Change, ...]:
    """The numbers that a new plan shows otherwise, and holds that it opens or closes."""
    names = [name for name in {**old.numbers, **new.numbers}
             if _text(old, name) != _text(new, name)]
    found = [Change(name, _text(old, name), _text(new, name)) for name in names]
    for hold in sorted(old.open_holds.keys() ^ new.open_holds.keys()):
        found.append(Change(f"hold {hold}", "open" if hold in old.open_holds else "",
                            "open" if hold in new.open_holds else ""))
    if old.result != new.result:
        found.append(Change("result", old.result, new.result))
    return tuple(found)


def _text(plan: KeptPlan, name: str) -> str:
    return plan.numbers[name].written if name in plan.numbers else ""
