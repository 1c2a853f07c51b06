"""The record: exceptions first, whether it holds, and handing it over. What has not left the device is always said."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app.desk import Desk
from stillbore.app.page import desk_of, download, form_of, go, here, named, render, text_of
from stillbore.errors import InputFaults
from stillbore.record.chain import export
from stillbore.record.verify import verify
from stillbore.report.html import parts_html
from stillbore.report.record import record_document, record_pdf, story_of
from stillbore.report.record_files import made_here
from stillbore.run.session import Session
from stillbore.store import keys
from stillbore.store.sync import exchange


def _session(request: Request) -> tuple[Desk, Session]:
    desk, job = desk_of(request), named(request, "job")
    if not desk.is_open(job):
        raise HTTPException(404)
    return desk, desk.session(job)


def log_of(desk: Desk, session: Session) -> bytes:
    """The log as it is handed over: closed by a signed footer once the job has ended, open until then."""
    if not session.state.ended:
        return b"".join(line.raw + b"\n" for line in session.lines)
    device = desk.host.device
    return export(session.lines, desk.host.clock().at, device.name, device.key, device.sign)


async def show(request: Request) -> Response:
    """The record as a document, as it is printed."""
    desk, session = _session(request)
    try:
        document = record_document(story_of(log_of(desk, session), desk.host.files.get, keys.check), made_here())
        parts, banner, faults = parts_html(document), document.banner, ()
    except InputFaults as error:
        parts, banner, faults = "", "", error.faults
    return render(request, "record.html", job=session.job, parts_html=parts, banner=banner, faults=faults,
                  state=session.state, since=desk.since_handed(session.job), report=None, asked=(), said=(),
                  events=len(session.lines), can_make_pdf=desk.host.can_make_pdf, host=desk.host)


async def check(request: Request) -> Response:
    """What a stranger can find out about the log, worked out here from its bytes alone."""
    desk, session = _session(request)
    data = log_of(desk, session)
    report = verify(data, keys.check, desk.known())
    story = story_of(data, desk.host.files.get, keys.check)
    said = [f"Event {number} ({event.kind}): {reasons[0]}" for number, event, reasons in story.would_be_refused]
    return render(request, "record.html", job=session.job, parts_html="", banner="", faults=(), state=session.state,
                  since=desk.since_handed(session.job), report=report, asked=story.asked, said=said,
                  events=len(session.lines), can_make_pdf=desk.host.can_make_pdf, host=desk.host)


async def hand_over(request: Request) -> Response:
    """The log as a file; from here on it counts as having left the device."""
    desk, session = _session(request)
    data = log_of(desk, session)
    desk.handed_over(session.job)
    await desk.commit()
    return download(data, f"{session.job}-record.jsonl", "application/jsonl")


async def pdf(request: Request) -> Response:
    """The record as a sealed PDF, where this host can make one."""
    desk, session = _session(request)
    if not desk.host.can_make_pdf or not session.state.ended:
        raise HTTPException(404)
    return download(record_pdf(log_of(desk, session), desk.host.files.get, keys.check), f"{session.job}-record.pdf",
                    "application/pdf")


async def sync(request: Request) -> Response:
    """Send and fetch what the other store lacks."""
    desk, session = _session(request)
    form = await form_of(request)
    exchange(desk.host.store, desk.host.peer(text_of(form, "address"), text_of(form, "token")))
    desk.handed_over(session.job)
    await desk.commit()
    return go(here(request, "jobs", session.job, "record"))


ROUTES = (("/jobs/{job}/record", show, ["GET"]), ("/jobs/{job}/record/check", check, ["GET"]),
          ("/jobs/{job}/record/hand-over", hand_over, ["POST"]), ("/jobs/{job}/record/pdf", pdf, ["GET"]),
          ("/jobs/{job}/record/sync", sync, ["POST"]))
