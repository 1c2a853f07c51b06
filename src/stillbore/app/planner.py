"""The planner's pages: the jobs and what blocks each, a new job, its files, its plan, its beginning."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app.addresses import shelf_of
from stillbore.app.desk import KINDS, Desk
from stillbore.app.host import NAME
from stillbore.app.page import REFUSED, desk_of, download, file_of, form_of, go, here, named, render, text_of
from stillbore.app.survey_page import by_section, data_of, faults_of, standing
from stillbore.errors import Fault, InputFaults, StillboreError
from stillbore.job.files import EXAMPLE_KIT, EXAMPLE_RULES, EXAMPLE_SURVEY, example_text
from stillbore.job.schema import LARGEST_FILE, load_text
from stillbore.job.survey import SURVEY
from stillbore.job.toml_text import toml_text
from stillbore.plan.matters import matters
from stillbore.report import files as documents
from stillbore.report.html import parts_html
from stillbore.report.pack import pack, result_title
from stillbore.report.sheet import sheet
from stillbore.run.files import SCHEMAS, people_of
from stillbore.run.session import Hand, Session
from stillbore.store import keys
from stillbore.version import program

SHOWN_BLOCKS = 3
EXAMPLES = {"survey": EXAMPLE_SURVEY, "kit": EXAMPLE_KIT, "rules": EXAMPLE_RULES}


async def jobs(request: Request) -> Response:
    """Every job, with what blocks it."""
    desk = desk_of(request)
    rows = []
    for job in desk.jobs():
        opened = desk.is_open(job)
        try:
            state = desk.session(job).state if opened else None
            since = desk.since_handed(job) if opened else 0
        except StillboreError:
            state, since = None, 0
        blocks = desk.blocks(job)
        rows.append({"job": job, "state": state, "blocks": blocks[:SHOWN_BLOCKS], "more": len(blocks) - SHOWN_BLOCKS,
                     "since": since, "under_way": bool(state and not state.ended)})
    return render(request, "jobs.html", rows=rows, host=desk.host)


async def new(request: Request) -> Response:
    return render(request, "new.html", fault=None, number="")


async def make(request: Request) -> Response:
    """A new draft: blank, of the example, or of a survey that was brought in."""
    desk, form = desk_of(request), await form_of(request)
    number, start = text_of(form, "number"), text_of(form, "start")
    brought = await file_of(form, "file")
    text = brought[1].decode("utf-8", "replace") if brought else example_text(EXAMPLE_SURVEY) if start == "example" \
        else ""
    data = dict(data_of(text))
    if brought and not number and isinstance(data.get("job"), dict):
        number = str(data["job"].get("id", ""))  # type: ignore[attr-defined]
    fault = _number_fault(desk, number)
    if fault:
        return render(request, "new.html", REFUSED, fault=fault, number=number)
    if not text or start == "example":
        row = data.get("job")
        data["job"] = {**row, "id": number} if isinstance(row, dict) else {"id": number}
        text = toml_text(SURVEY, data)
    desk.write(number, "survey", text)
    await desk.commit()
    return go(here(request, "jobs", number))


def _number_fault(desk: Desk, number: str) -> Fault | None:
    if not NAME.fullmatch(number) or shelf_of(number) != number:
        return Fault("id", f"'{number[:40]}' is no number for a job.", "Take letters, digits, '.', '-', '_'.")
    if number in desk.jobs():
        return Fault("id", f"There is a job '{number}' here.", "Take another number, or go on with that one.")
    return None


async def take(request: Request) -> Response:
    """Bring in a log that was handed over: every line is checked, in any order, any number of times."""
    desk, form = desk_of(request), await form_of(request)
    brought = await file_of(form, "file")
    if brought is None:
        raise StillboreError("No file was chosen.", "Choose a record.jsonl.")
    taken = desk.host.store.take(brought[1].splitlines())
    await desk.commit()
    return render(request, "taken.html", taken=taken, name=brought[0])


async def job(request: Request) -> Response:
    """One job: what it lacks, its files, its plan, its beginning."""
    desk, name = desk_of(request), named(request, "job")
    if name not in desk.jobs():
        raise HTTPException(404)
    texts = desk.texts(name)
    faults = faults_of(texts["survey"]) if "survey" in texts else []
    state = desk.session(name).state if desk.is_open(name) else None
    changed = bool(state and "survey" in texts and _differs(desk, name))
    newer, unlike = desk.newer(name) if state else ((), ())
    return render(request, "job.html", job=name, texts=texts, kinds=KINDS, sections=SURVEY.sections, newer=newer,
                  counts=by_section(faults), state=state, changed=changed, unlike=unlike, blocks=desk.blocks(name),
                  since=desk.since_handed(name) if state else 0, examples=EXAMPLES)


def _differs(desk: Desk, name: str) -> bool:
    try:
        drafted = {kind: file.sha256 for kind, file in vars(desk.drafted(name)).items()}
        return drafted != desk.session(name).state.basis.files
    except InputFaults:
        return True


def _kind(request: Request) -> str:
    kind = named(request, "kind")
    if kind not in KINDS:
        raise HTTPException(404)
    return kind


async def file(request: Request) -> Response:
    """A file as it is, to be read, changed and taken along."""
    desk, name, kind = desk_of(request), named(request, "job"), _kind(request)
    text = desk.texts(name).get(kind, "")
    return render(request, "file.html", job=name, kind=kind, text=text, faults=_faults(kind, text) if text else ())


async def save_file(request: Request) -> Response:
    """Put a file in its place: brought in, typed, the shipped example, or none at all."""
    desk, name, kind, form = desk_of(request), named(request, "job"), _kind(request), await form_of(request)
    act, brought = text_of(form, "act"), await file_of(form, "file")
    if act == "drop" and kind != "survey":
        desk.host.documents.remove(shelf_of(name), f"{kind}.toml")
    else:
        text = brought[1].decode("utf-8", "replace") if brought else \
            example_text(EXAMPLES[kind]) if act == "example" and kind in EXAMPLES else text_of(form, "text") + "\n"
        if len(text) > LARGEST_FILE:
            raise InputFaults([Fault(f"{kind}.toml", f"This is {len(text):,} characters long.",
                                     "Check that it is the right file.")])
        desk.write(name, kind, text)
    await desk.commit()
    return go(here(request, "jobs", name, "files", kind))


async def export_file(request: Request) -> Response:
    kind = _kind(request)
    text = desk_of(request).texts(named(request, "job")).get(kind)
    if text is None:
        raise HTTPException(404)
    return download(text.encode("utf-8"), f"{kind}.toml", "application/toml")


def _faults(kind: str, text: str) -> tuple[Fault, ...]:
    try:
        load_text(SCHEMAS[kind], text, f"{kind}.toml")
    except InputFaults as error:
        return error.faults
    return ()


async def plan(request: Request) -> Response:
    """The plan: what matters most, then the job pack, as it is printed."""
    desk, name = desk_of(request), named(request, "job")
    found = desk.counted_plan(name)
    only = request.query_params.get("only", "")
    document = sheet(found) if only == "sheet" else pack(found)
    return render(request, "plan.html", job=name, plan=found, title=result_title(found), matters=matters(found)[:5],
                  document=document, parts=parts_html(document), only=only, can_make_pdf=desk.host.can_make_pdf)


async def plan_pdf(request: Request) -> Response:
    """The pack as PDF, where this host can make one."""
    desk, name = desk_of(request), named(request, "job")
    if not desk.host.can_make_pdf:
        raise HTTPException(404)
    return download(documents.pack_pdf(desk.counted_plan(name)), f"{name}-pack.pdf", "application/pdf")


async def beginning(request: Request) -> Response:
    """What is needed to open the job, and who will be able to sign."""
    desk, name = desk_of(request), named(request, "job")
    if desk.is_open(name):
        return go(here(request, "jobs", name, "run"))
    plan = desk.draft_plan(name)
    people = people_of(plan, desk.public_keys())
    return render(request, "start.html", job=name, plan=plan, people=people, **{
        key: value for key, value in standing(desk, name).items() if key in ("title", "first")})


async def start(request: Request) -> Response:
    """Open the job: its files are kept by their hash, and its plan is the first that counts."""
    desk, name, form = desk_of(request), named(request, "job"), await form_of(request)
    plan = desk.draft_plan(name)
    if str(plan.survey.value("job.id")) != name:
        raise StillboreError(f"The survey is of the job '{plan.survey.value('job.id')}', not of '{name}'.",
                             "Put the number right in the survey, or bring it in as a job of its own.")
    people = people_of(plan, desk.public_keys())
    roles = {person.id: person.role for person in people}
    by = text_of(form, "by")
    if by not in roles:
        raise StillboreError(f"{by or 'Nobody'} is not on this job.", f"Say who opens it: {', '.join(roles)}.")
    desk.opened(Session.start(desk.host.store, plan, Hand(by, roles[by]), people, desk.host.device, desk.host.clock,
                              keys.check, program=program(), training=bool(text_of(form, "training"))))
    await desk.commit()
    return go(here(request, "jobs", name, "run", by))


ROUTES = (
    ("/", jobs, ["GET"]), ("/new", new, ["GET"]), ("/new", make, ["POST"]), ("/take", take, ["POST"]),
    ("/jobs/{job}", job, ["GET"]), ("/jobs/{job}/files/{kind}", file, ["GET"]),
    ("/jobs/{job}/files/{kind}", save_file, ["POST"]), ("/jobs/{job}/files/{kind}/text", export_file, ["GET"]),
    ("/jobs/{job}/plan", plan, ["GET"]), ("/jobs/{job}/plan.pdf", plan_pdf, ["GET"]),
    ("/jobs/{job}/start", beginning, ["GET"]), ("/jobs/{job}/start", start, ["POST"]))
