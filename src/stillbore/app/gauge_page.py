"""Taking a gauge log: by typing, one key for a reading and its time; by pasting; by a file; by cable.
Each reading is on disk before the page comes back, so that nothing is lost when the device dies between two."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app import crew_view as view
from stillbore.app.cable_lines import LONGEST_LINE, Brought, read_lines
from stillbore.app.crew import hand_of, item_page, opened
from stillbore.app.desk import Desk
from stillbore.app.gauge_view import (
    HEADER,
    conditions_of,
    draft_of,
    gauge_values,
    reading_line,
    write_conditions,
    write_draft,
)
from stillbore.app.page import REFUSED, file_of, form_of, go, here, named, render, text_of
from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.readings import decode, read_text
from stillbore.run.basis import Ask
from stillbore.run.session import Session
from stillbore.run.step import Refused

SENT_TWICE = 400  # lines of the log among which those are looked for whose answer was lost on its way


async def act(request: Request) -> Response:
    """Take a reading, take one back, put a log in their place, begin again, say how it is taken; or keep the log as the
    answer."""
    desk, session, who = opened(request)
    ask = session.state.basis.asks.get(f"{named(request, 'step')}.{named(request, 'item').removeprefix('ask.')}")
    if ask is None or not view.by_gauge(view.Item("", view.ASK, "", ask=ask)):
        raise HTTPException(404)
    form = await form_of(request)
    what, draft = text_of(form, "act"), draft_of(desk, session, ask)
    if what == "serial":
        return await _serial(request, desk, session, ask, form)
    found = None
    try:
        if what == "reading":
            line = reading_line(session.clock().at, text_of(form, "pressure"), text_of(form, "temperature"))
            write_draft(desk, session, ask, (draft.text if draft.text.startswith(HEADER) else HEADER) + line)
        elif what == "undo":
            write_draft(desk, session, ask, "".join(draft.text.splitlines(keepends=True)[:-1]) or HEADER)
        elif what == "begin":
            write_draft(desk, session, ask, HEADER)
        elif what == "conditions":
            write_conditions(desk, session, ask, conditions_of(text_of(form, "drift"), bool(text_of(form, "by_eye")),
                                                               text_of(form, "instrument")))
        elif what == "log":
            brought = await file_of(form, "file")
            text = decode(brought[1])[0] if brought else text_of(form, "text") + "\n"
            read_text(text, brought[0] if brought else "pasted log")
            write_draft(desk, session, ask, text)
        elif what == "keep":
            found = session.gauge_log(ask.step, ask.name, draft.text.encode("utf-8"), f"{ask.step}-{ask.name}.csv",
                                      draft.conditions, hand_of(desk, session, form, who))
    except InputFaults as error:
        return item_page(request, desk, session, who, tuple(map(str, error.faults)))
    except StillboreError as error:
        return item_page(request, desk, session, who, (f"{error.what} {error.fix}",))
    await desk.commit()
    if what == "reading" and text_of(form, "parts"):
        return _parts(request, desk, session, ask)
    if isinstance(found, Refused):
        return item_page(request, desk, session, who, found.reasons, logged=True)
    kept = "?entered" if found is not None else ""
    return go(here(request, "jobs", session.job, "run", who, "step", ask.step, named(request, "item")) + kept)


async def _serial(request: Request, desk: Desk, session: Session, ask: Ask, form: FormData) -> Response:
    """Take lines of an instrument as readings. The answer is not a page but the parts of one that they change."""
    lines, unread, refused = form.get("lines"), text_of(form, "unread"), ""
    brought = Brought((), 0, "", text_of(form, "head")[:LONGEST_LINE])
    try:
        brought = read_lines(lines if isinstance(lines, str) else "", text_of(form, "unit"), brought.head)
        text = draft_of(desk, session, ask).text
        if not text.startswith(HEADER):
            raise StillboreError("The log so far was brought in and has other columns.",
                                 "Keep it as the answer, or begin again; then read the instrument.")
        there = set(text.splitlines(keepends=True)[-SENT_TWICE:])
        added = "".join(line for line in brought.readings if line not in there)
        if added:
            write_draft(desk, session, ask, text + added)
    except StillboreError as error:
        refused = f"{error.what} {error.fix}"
    await desk.commit()
    before = int(unread) if unread.isdecimal() and unread.isascii() and len(unread) < 8 else 0
    return _parts(request, desk, session, ask, refused, brought, before + brought.unread)


def _parts(request: Request, desk: Desk, session: Session, ask: Ask, refused: str = "", brought: Brought | None = None,
           unread: int = 0) -> Response:
    """The parts of the page that change with a reading: whoever took it has the rest on the screen."""
    return render(request, "reading.html", REFUSED if refused else 200, item=view.Item("", view.ASK, "", ask=ask),
                  refused=refused, brought=brought, unread=unread, **gauge_values(desk, session, ask))


ROUTES = (("/jobs/{job}/run/{who}/step/{step}/{item}/gauge", act, ["POST"]),)
