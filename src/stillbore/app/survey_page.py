"""The survey by cards: one section each, with the loader's own checks and sentences, and what they do to the plan."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app.desk import Desk
from stillbore.app.page import desk_of, form_of, go, here, named, render
from stillbore.app.survey_form import HOW, path_of, read_rows, shown_rows
from stillbore.errors import Fault, InputFaults
from stillbore.job.schema import Section, load_text
from stillbore.job.survey import SURVEY
from stillbore.job.toml_text import toml_text
from stillbore.plan.matters import matters
from stillbore.report.pack import result_title

# What the record says of the same thing that was measured.
BY_RECORD = {"pipe.material": "record.material", "pipe.outside_diameter": "record.size", "pipe.wall": "record.grade"}
FILE = "survey.toml"


def data_of(text: str) -> Mapping[str, object]:
    """The file as plain data; nothing where it cannot be read at all."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}


def faults_of(text: str) -> list[Fault]:
    try:
        load_text(SURVEY, text, FILE)
    except InputFaults as error:
        return list(error.faults)
    return []


def by_section(faults: list[Fault]) -> dict[str, int]:
    """How many things are wrong in each section."""
    found: dict[str, int] = {}
    for fault in faults:
        key = path_of(fault).partition(".")[0].partition("[")[0]
        found[key] = found.get(key, 0) + 1
    return found


def besides(desk: Desk, job: str, data: Mapping[str, object]) -> dict[str, tuple[tuple[str, str], ...]]:
    """What else is known of a fact: what the record says, and what was found on site."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name, recorded in BY_RECORD.items():
        section, _, key = recorded.partition(".")
        row = data.get(section)
        if isinstance(row, Mapping) and row.get(key):
            found.setdefault(name, []).append(("survey.by_record", str(row[key])))
    if desk.is_open(job):
        state = desk.session(job).state
        for key, answer in state.answers.items():
            ask = state.basis.asks.get(key)
            if ask and ask.tells:
                found.setdefault(ask.tells, []).append(("survey.found_on_site", f"{answer.value.written} ({key})"))
    return {name: tuple(lines) for name, lines in found.items()}


def _section(request: Request) -> Section:
    key = named(request, "section")
    found = next((each for each in SURVEY.sections if each.key == key), None)
    if found is None:
        raise HTTPException(404)
    return found


def _text(desk: Desk, job: str) -> str:
    texts = desk.texts(job)
    if "survey" not in texts:
        raise HTTPException(404)
    return texts["survey"]


async def card(request: Request) -> Response:
    """One card of the survey."""
    desk, job, section = desk_of(request), named(request, "job"), _section(request)
    text = _text(desk, job)
    data, faults = data_of(text), faults_of(text)
    if not data and text.strip():
        return go(here(request, "jobs", job, "files", "survey"))
    sections = SURVEY.sections
    place = sections.index(section)
    return render(request, "survey.html", job=job, section=section, sections=sections, counts=by_section(faults),
                  rows=shown_rows(section, data.get(section.key), faults, besides(desk, job, data)),
                  own_faults=[fault for fault in faults if path_of(fault) == section.key and section.many], how=HOW,
                  before=sections[place - 1] if place else None,
                  after=sections[place + 1] if place + 1 < len(sections) else None,
                  saved="saved" in request.query_params, **standing(desk, job))


def standing(desk: Desk, job: str) -> dict[str, object]:
    """Where the plan of the draft stands: the result, what matters most, the holds that are open; or what is wrong."""
    try:
        plan = desk.draft_plan(job)
    except InputFaults as error:
        return {"plan": None, "title": "", "first": None, "faults": error.faults}
    found = matters(plan)
    return {"plan": plan, "title": result_title(plan), "first": found[0] if found else None, "faults": ()}


async def save(request: Request) -> Response:
    """Write the card into the file. What is wrong in it is kept too, and said."""
    desk, job, section = desk_of(request), named(request, "job"), _section(request)
    data = dict(data_of(_text(desk, job)))
    form = await form_of(request)
    sent = {name: value.replace("\r\n", "\n") for name, value in form.multi_items() if isinstance(value, str)}
    rows = read_rows(section, data.get(section.key), sent)
    act = sent.get("act", "")
    if act == "add":
        rows.append({})
    elif act.startswith("remove:") and act[7:].isdecimal() and int(act[7:]) < len(rows):
        del rows[int(act[7:])]
    data[section.key] = rows if section.many else (rows or [{}])[0]
    desk.write(job, "survey", toml_text(SURVEY, data))
    await desk.commit()
    return go(here(request, "jobs", job, "survey", section.key) + "?saved")


ROUTES = (("/jobs/{job}/survey/{section}", card, ["GET"]), ("/jobs/{job}/survey/{section}", save, ["POST"]))
