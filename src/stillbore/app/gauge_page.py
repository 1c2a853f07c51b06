"""Taking a gauge log: by typing, one key for a reading and its time; by pasting; by a file. Each reading is on disk
before the page comes back, so that nothing is lost when the device dies between two."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app import crew_view as view
from stillbore.app.crew import hand_of, item_page, opened
from stillbore.app.gauge_view import (
    HEADER,
    conditions_of,
    draft_of,
    reading_line,
    write_conditions,
    write_draft,
)
from stillbore.app.page import file_of, form_of, go, here, named, text_of
from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.readings import decode, read_text
from stillbore.run.step import Refused


async def act(request: Request) -> Response:
    """Take a reading, take one back, put a log in their place, begin again, say how it is taken; or keep the log as the
    answer."""
    desk, session, who = opened(request)
    ask = session.state.basis.asks.get(f"{named(request, 'step')}.{named(request, 'item').removeprefix('ask.')}")
    if ask is None or not view.by_gauge(view.Item("", view.ASK, "", ask=ask)):
        raise HTTPException(404)
    form = await form_of(request)
    what, draft = text_of(form, "act"), draft_of(desk, session, ask)
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
    if isinstance(found, Refused):
        return item_page(request, desk, session, who, found.reasons, logged=True)
    kept = "?entered" if found is not None else ""
    return go(here(request, "jobs", session.job, "run", who, "step", ask.step, named(request, "item")) + kept)


ROUTES = (("/jobs/{job}/run/{who}/step/{step}/{item}/gauge", act, ["POST"]),)
