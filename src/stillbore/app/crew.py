"""The second person's pages: one thing at a time, and what is always in sight. What is sent goes to the very session
that the command line uses; a page only says what came of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from stillbore.app import crew_view as view
from stillbore.app.desk import Desk
from stillbore.app.gauge_view import gauge_values
from stillbore.app.host import open_secret
from stillbore.app.page import REFUSED, desk_of, file_of, form_of, go, here, named, render, text_of
from stillbore.errors import InputFaults, StillboreError
from stillbore.plan.barriers import PIPE_WALL
from stillbore.record import events as log
from stillbore.report import words
from stillbore.report.sheet import stop_lines
from stillbore.run.answers import value_of
from stillbore.run.basis import Step
from stillbore.run.session import Hand, Session
from stillbore.run.step import Moved, Refused

LARGEST_PHOTO = 20_000_000  # bytes
HELD = "held"  # the field that says that the button was held, or the box beside it ticked
NOT_HELD = ("The button was not held.", "Hold it until the bar is full; or tick the box beside it and press it.")
PICTURES = {b"\x89PNG": "image/png", b"\xff\xd8\xff": "image/jpeg", b"RIFF": "image/webp"}


def seen(desk: Desk, session: Session, who: str, step: Step | None) -> dict[str, Any]:
    """What stands on every page of the crew."""
    state = session.state
    return {"job": session.job, "who": who, "state": state, "strip": view.strip(state), "step": step,
            "cards": view.cards(state, step or view.next_step(state)), "wall": state.barriers == PIPE_WALL,
            "since": desk.since_handed(session.job), "host": desk.host}


def opened(request: Request) -> tuple[Desk, Session, str]:
    """Desk, session and who is acting. A job that is not open, or a person who is not on it, has no such page."""
    desk, job = desk_of(request), named(request, "job")
    if not desk.is_open(job):
        raise HTTPException(404)
    session = desk.session(job)
    who = named(request, "who")
    if who not in session.state.people:
        raise HTTPException(404)
    return desk, session, who


async def who(request: Request) -> Response:
    """Who holds the device; and what a device is near gas."""
    desk, job = desk_of(request), named(request, "job")
    if not desk.is_open(job):
        return go(here(request, "jobs", job, "start"))
    session = desk.session(job)
    return render(request, "who.html", job=job, state=session.state,
                  cautions=words.cautions(desk.counted_plan(job)))


async def now(request: Request) -> Response:
    """Where the job stands and what comes next. It goes nowhere by itself."""
    desk, session, person = opened(request)
    step = view.next_step(session.state)
    found = view.items(session.state, step) if step else []
    return render(request, "now.html", **seen(desk, session, person, step), quiet=view.quiet(session.state),
                  item=view.first_open(found) if found else None,
                  against=session.against(step) if step else [],
                  counting=view.counting(session.state, (step,)) if step else [])


async def steps(request: Request) -> Response:
    desk, session, person = opened(request)
    return render(request, "steps.html", **seen(desk, session, person, None))


def _place(request: Request, session: Session) -> tuple[Step, list[view.Item], view.Item]:
    step = session.state.basis.step(named(request, "step"))
    if step is None:
        raise HTTPException(404)
    found = view.items(session.state, step)
    item = next((each for each in found if each.key == named(request, "item")), None)
    if item is None:
        raise HTTPException(404)
    return step, found, item


async def show(request: Request) -> Response:
    """One thing that a step wants."""
    desk, session, person = opened(request)
    step, _, _ = _place(request, session)
    stretch = view.quiet(session.state)
    if step in stretch and "afterwards" not in request.query_params:
        return render(request, "quiet.html", **seen(desk, session, person, step),
                      contingency=contingency(desk, session), counting=view.counting(session.state, stretch),
                      stretch=[(each, view.numbers_of(session.state, each)) for each in stretch])
    return item_page(request, desk, session, person)


def contingency(desk: Desk, session: Session) -> tuple[str, ...]:
    """What to do if it goes wrong, as it stands on the job sheet."""
    return stop_lines(desk.counted_plan(session.job)).lines


def item_page(request: Request, desk: Desk, session: Session, person: str, reasons: tuple[str, ...] = (),
              logged: bool = False) -> Response:
    """The page of one item as it stands now; with the reasons where something was not accepted."""
    step, found, item = _place(request, session)
    state = session.state
    behind = found[found.index(item) + 1:]
    kept = state.kept(step.id) or (state.evidence.get(step.id, ()) if state.stands(step.id) else ())
    against = session.against(step) if item.sort in (view.SIGN, view.DONE) and not item.settled else []
    values = gauge_values(desk, session, item.ask) if view.by_gauge(item) else {}
    numbers = view.numbers_of(state, step)
    return render(request, "item.html", REFUSED if reasons else 200, **seen(desk, session, person, step), items=found,
                  item=item, following=behind[0] if behind else None, after=view.after(state, step), against=against,
                  reasons=reasons, logged=logged, numbers=numbers, kept=kept,
                  entered="entered" in request.query_params, how=log.HOW[:3],
                  recorded=view.recorded(state, item.ask), late="afterwards" in request.query_params,
                  by_gauge=view.by_gauge(item),
                  counting=[] if state.stands(step.id) else view.counting(state, (step,)),
                  different=state.different.get(item.ask.key) if item.ask else None, **values)


async def act(request: Request) -> Response:
    """Try what was sent. What is accepted is on disk before this answers; so is what was refused, with every reason."""
    desk, session, person = opened(request)
    step, _, item = _place(request, session)
    form = await form_of(request)
    try:
        found = await ACTS[item.sort](desk, session, step, item, form, person)
    except InputFaults as error:
        return item_page(request, desk, session, person, tuple(map(str, error.faults)))
    except StillboreError as error:
        return item_page(request, desk, session, person, (f"{error.what} {error.fix}",))
    await desk.commit()
    if isinstance(found, Refused):
        return item_page(request, desk, session, person, found.reasons, logged=True)
    late = "&afterwards" if "afterwards" in request.query_params else ""
    return go(here(request, "jobs", session.job, "run", person, "step", step.id, item.key) + f"?entered{late}")


def hand_of(desk: Desk, session: Session, form: FormData, person: str) -> Hand:
    """Who acts, and when: now, or so many minutes ago where it is entered late, as from paper."""
    ago = text_of(form, "ago")
    if ago in ("", "0"):
        return desk.hand(session, person)
    if not (ago.isdecimal() and ago.isascii() and len(ago) < 5):
        raise StillboreError(f"'{ago[:20]}' is no number of minutes.", "Write how many whole minutes ago it was.")
    at = datetime.fromisoformat(session.clock().at) - timedelta(minutes=int(ago))
    return desk.hand(session, person, at.isoformat(timespec="seconds"))


def must_be_held(form: FormData) -> None:
    """A hold is signed with a button that is held, so that rain on the glass signs nothing. Raises StillboreError."""
    if not text_of(form, HELD):
        raise StillboreError(*NOT_HELD)


def written(form: FormData, unit: str) -> str:
    """An answer as a person writes it, from the fields of the form."""
    reason = text_of(form, "not_measured")
    if reason:
        return f"not measured: {reason}"
    number, spread = text_of(form, "value"), text_of(form, "uncertainty")
    if not number[-1:].isdigit():
        unit = ""  # words, or a number with its own unit behind it
    return " ".join(part for part in (number, f"+/- {spread}" if spread else "", unit) if part) if number else ""


async def _answer(desk: Desk, session: Session, step: Step, item: view.Item, form: FormData,
                  person: str) -> Moved | Refused:
    ask = item.ask
    assert ask is not None
    text = written(form, ask.unit if ask.sort == "quantity" else "")
    if not text:
        raise StillboreError("Nothing was entered.", "Enter it, or say why it was not measured.")
    value = value_of(ask, text, text_of(form, "instrument"), text_of(form, "how"))
    reason = text_of(form, "reason")
    hand = hand_of(desk, session, form, person)
    if reason and item.answer:
        return session.correct(ask.key, value, reason, hand)
    return session.answer(step.id, ask.name, value, hand)


async def _keep(desk: Desk, session: Session, step: Step, item: view.Item, form: FormData,
                person: str) -> Moved | Refused:
    brought = await file_of(form, "file")
    if brought is None or not brought[1]:
        raise StillboreError("No photo or file was chosen.", "Take one, or choose one.")
    if len(brought[1]) > LARGEST_PHOTO:
        raise StillboreError(f"{brought[0]} is larger than {LARGEST_PHOTO // 1_000_000} MB.", "Keep a smaller copy.")
    return session.keep(step.id, item.about, brought[1], brought[0], text_of(form, "caption"),
                        hand_of(desk, session, form, person))


async def _sign(desk: Desk, session: Session, step: Step, item: view.Item, form: FormData,
                person: str) -> Moved | Refused:
    must_be_held(form)
    signer = text_of(form, "signer")
    hand = desk.hand(session, signer)
    secret = open_secret(desk.host, signer, str(form.get("words", "")))
    return session.sign(step.id, hand, secret.public, secret.sign)


async def _done(desk: Desk, session: Session, step: Step, item: view.Item, form: FormData,
                person: str) -> Moved | Refused:
    if step.hold:
        must_be_held(form)
    return session.attempt(log.Done(step.id), hand_of(desk, session, form, person))


ACTS: dict[str, Callable[..., Any]] = {view.ASK: _answer, view.KEEP: _keep, view.SIGN: _sign, view.DONE: _done}


async def picture(request: Request) -> Response:
    """A kept photo; anything else is handed out as a file, never shown."""
    desk, session, _ = opened(request)
    sha256 = named(request, "sha256")
    if not any(each.kept.sha256 == sha256 for found in session.state.evidence.values() for each in found):
        raise HTTPException(404)
    data = desk.host.files.get(sha256)
    sort = next((sort for start, sort in PICTURES.items() if data.startswith(start)), "application/octet-stream")
    return Response(data, media_type=sort, headers={
        "Content-Security-Policy": "sandbox; default-src 'none'", "X-Content-Type-Options": "nosniff",
        "Content-Disposition": "inline" if sort.startswith("image/") else "attachment"})


RUN = "/jobs/{job}/run/{who}"
ROUTES = (
    ("/jobs/{job}/run", who, ["GET"]), (RUN, now, ["GET"]), (RUN + "/steps", steps, ["GET"]),
    (RUN + "/step/{step}/{item}", show, ["GET"]), (RUN + "/step/{step}/{item}", act, ["POST"]),
    (RUN + "/kept/{sha256}", picture, ["GET"]))
