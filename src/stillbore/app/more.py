"""What may be wanted at any moment, whatever card is open: stop, who is here, the monitor, the district, a remark, a
new plan, a word of an authoriser, the end."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app import crew_view as view
from stillbore.app.crew import contingency, must_be_held, opened, seen, written
from stillbore.app.desk import Desk
from stillbore.app.host import open_secret
from stillbore.app.page import REFUSED, form_of, go, here, render, text_of
from stillbore.errors import InputFaults, StillboreError
from stillbore.job.survey import ROLES
from stillbore.record import events as log
from stillbore.run.answers import value_of, wrong
from stillbore.run.basis import Ask
from stillbore.run.session import Hand, Session
from stillbore.run.step import AUTHORISER, Moved, Refused

SORTS = ("district", "present", "enrol", "monitor", "note", "resume", "replan", "override", "clock", "abort", "finish",
         "seal")
STOPPED = "stopped at this device; the reason follows"


async def stop_page(request: Request) -> Response:
    """What to do now that work is stopped."""
    desk, session, who = opened(request)
    return render(request, "stop.html", **seen(desk, session, who, view.next_step(session.state)),
                  contingency=contingency(desk, session))


async def stop(request: Request) -> Response:
    """Stop. One press, always accepted, never scored; why can be said afterwards."""
    desk, session, who = opened(request)
    form = await form_of(request)
    people = session.state.people
    hand = Hand(who, people[who].role)
    reason = text_of(form, "reason")[:log.LONGEST_TEXT] or STOPPED  # a stop is not kept up by a long reason
    if not session.state.replayed:
        session.attempt(log.Stopped(reason), hand)
        await desk.commit()
    return go(here(request, "jobs", session.job, "run", who, "stop"))


async def menu(request: Request) -> Response:
    desk, session, who = opened(request)
    return _menu(request, desk, session, who, "")


def _menu(request: Request, desk: Desk, session: Session, who: str, what: str, reasons: tuple[str, ...] = (),
          logged: bool = False) -> Response:
    state = session.state
    reds = [ask for step in state.basis.steps for ask in step.asks if (answer := state.answer(ask.key)) and
            answer.verdict not in ("", "met") and not ask.no_override]
    plan_open = [step for step in state.basis.steps if step.hold in state.basis.open_holds]
    newer, unlike = desk.newer(session.job)
    return render(request, "more.html", REFUSED if reasons else 200, newer=newer, unlike=unlike,
                  **seen(desk, session, who, view.next_step(state)), what=what, sorts=SORTS, reasons=reasons,
                  roles=ROLES, logged=logged, reds=reds, plan_open=plan_open,
                  authorisers=[each for each in state.people.values() if each.role == AUTHORISER])


async def one(request: Request) -> Response:
    """The form for one of them."""
    desk, session, who = opened(request)
    return _menu(request, desk, session, who, _what(request))


def _what(request: Request) -> str:
    what = request.path_params["what"]
    if what not in SORTS:
        raise HTTPException(404)
    return str(what)


async def act(request: Request) -> Response:
    desk, session, who = opened(request)
    what, form = _what(request), await form_of(request)
    try:
        found = _try(desk, session, what, form, who)
    except InputFaults as error:
        return _menu(request, desk, session, who, what, tuple(map(str, error.faults)))
    except StillboreError as error:
        return _menu(request, desk, session, who, what, (f"{error.what} {error.fix}",))
    await desk.commit()
    if isinstance(found, Refused):
        return _menu(request, desk, session, who, what, found.reasons, logged=True)
    return go(here(request, "jobs", session.job, "run", who))


def _try(desk: Desk, session: Session, what: str, form, who: str) -> Moved | Refused:  # type: ignore[no-untyped-def]
    hand = desk.hand(session, who)
    reason = text_of(form, "reason")
    if what in ("abort", "finish"):
        must_be_held(form)
    if what == "seal":
        session.seal(hand)
        return Moved(session.state)
    if what == "replan":
        return session.replan(desk.draft_plan(session.job), reason, hand)
    if what == "override":
        return _override(desk, session, form, hand, reason)
    if what == "clock":
        log.moment(text_of(form, "trusted"))
    if what == "district":
        ask = Ask("", "district", "quantity", "District", unit="mbar")
        text = written(form, "mbar")
        if not text:
            raise StillboreError("Nothing was entered.", "Enter the reading.")
        value = value_of(ask, text, text_of(form, "instrument"))
        fault = wrong(ask, value)
        if fault:
            raise StillboreError(fault, "Enter the reading.")
        return session.attempt(log.District(value, text_of(form, "place")), hand)
    return session.attempt({
        "present": lambda: log.Present(text_of(form, "person"), not text_of(form, "away")),
        "monitor": lambda: log.Monitor(text_of(form, "instrument"), not text_of(form, "off"),
                                       bool(text_of(form, "bumped"))),
        "enrol": lambda: log.Enrolled(log.Person(
            text_of(form, "person"), text_of(form, "role"), desk.public_keys().get(text_of(form, "person"), ""),
            text_of(form, "authorisation"), text_of(form, "expires"))),
        "note": lambda: log.Noted(text_of(form, "step"), text_of(form, "text")),
        "resume": lambda: log.Resumed(reason), "abort": lambda: log.Aborted(reason), "finish": log.Finished,
        "clock": lambda: log.Clock(text_of(form, "trusted"), text_of(form, "source"))}[what](), hand)


def _override(desk: Desk, session: Session, form, hand: Hand, reason: str) -> Moved | Refused:  # type: ignore[no-untyped-def]
    must_be_held(form)
    red, authoriser = text_of(form, "red"), text_of(form, "authoriser")
    secret = open_secret(desk.host, authoriser, str(form.get("words", "")))
    return session.override(red.partition(".")[0], red, reason, authoriser, hand, secret.public, secret.sign)


RUN = "/jobs/{job}/run/{who}"
ROUTES = ((RUN + "/stop", stop_page, ["GET"]), (RUN + "/stop", stop, ["POST"]), (RUN + "/more", menu, ["GET"]),
          (RUN + "/more/{what}", one, ["GET"]), (RUN + "/more/{what}", act, ["POST"]))
