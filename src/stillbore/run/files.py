"""The files that a job rests on, kept by content hash, and the basis made of them again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
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
from stillbore.plan.export import plan_json
from stillbore.record.events import Change, FileHash, Opened, Person, Replanned
from stillbore.run.basis import Basis, basis

SCHEMAS = {"survey": SURVEY, "kit": KIT, "rules": RULES, "procedure": PROCEDURE}
PLAN = "plan"


def plan_text(plan: Plan) -> bytes:
    """The plan as it is kept: the same plan always gives the same bytes."""
    return (json.dumps(plan_json(plan), indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


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


def plan_again(files: tuple[FileHash, ...], kept: Callable[[str], bytes]) -> Plan:
    """The plan worked out again from the kept files. Raises StillboreError where one is missing, InputFaults where one
    cannot be read by this program."""
    loaded = {}
    for file in files:
        if file.kind in SCHEMAS:
            loaded[file.kind] = load_text(SCHEMAS[file.kind], kept(file.sha256).decode("utf-8"), file.name)
    missing = sorted(SCHEMAS.keys() - loaded.keys())
    if missing:
        raise StillboreError(f"The log does not name: {', '.join(missing)}.", "Take the whole record.")
    return work_out(JobFiles(**loaded))


def basis_again(event: Opened | Replanned, kept: Callable[[str], bytes]) -> Basis:
    """The basis of a plan in the log, under the version that the log gives it: a newer program may work it out
    otherwise, which ``recomputed`` tells."""
    return replace(basis(plan_again(event.files, kept)), plan=event.plan)


def recomputed(event: Opened | Replanned, kept: Callable[[str], bytes]) -> str:
    """What this program makes otherwise of the same files than the plan in the log, in a sentence; "" where nothing."""
    plan = plan_again(event.files, kept)
    if plan.version == event.plan:
        return ""
    return (f"The plan {event.plan[:12]} was worked out by another version of the program; from the same files this "
            f"one makes {plan.version[:12]}.")


def changes(old: Plan, new: Plan) -> tuple[Change, ...]:
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


def _text(plan: Plan, name: str) -> str:
    return plan.numbers[name].text if name in plan.numbers else ""
