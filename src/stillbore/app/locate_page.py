"""The leak hunt on a drawing of this kit's rig: who is under suspicion, what to do next and how long it takes."""

from __future__ import annotations

import json
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from stillbore.app import crew_view as view
from stillbore.app.addresses import shelf_of
from stillbore.app.crew import opened, seen
from stillbore.app.desk import Desk
from stillbore.app.page import form_of, go, here, render, text_of, wording_of
from stillbore.app.rig_drawing import rig_drawing
from stillbore.errors import InputFaults
from stillbore.gauge.findings import Past, advice, past_of, replay
from stillbore.gauge.locate import Costs
from stillbore.gauge.rig_graph import HoldState, Rig, rig_of
from stillbore.run.session import Session

FINDINGS = "locate.json"


def _findings(desk: Desk, session: Session) -> list[object]:
    shelf = shelf_of(session.job)
    if FINDINGS not in desk.host.documents.list(shelf):
        return []
    try:
        found = json.loads(desk.host.documents.read(shelf, FINDINGS))
    except (ValueError, RecursionError):
        return []
    return found if isinstance(found, list) else []


def _rig(desk: Desk, session: Session) -> tuple[Rig, Costs]:
    plan = desk.counted_plan(session.job)
    return rig_of(plan.kit, plan.rules), Costs.of(plan.rules)


def state_of(rig: Rig, shut: frozenset[str]) -> HoldState:
    """What a hold takes in with these valves shut: the least that any of its borders shuts in."""
    return min((state for state in rig.hold_states() if set(state.shut) <= shut), key=lambda state: len(state.inside))


async def show(request: Request) -> Response:
    """The drawing, suspicion, the next move, and what can be said was found."""
    desk, session, who = opened(request)
    t = wording_of(request)
    rig, costs = _rig(desk, session)
    try:
        past: Past = past_of(_findings(desk, session), rig, costs)
        faults: tuple[str, ...] = ()
    except InputFaults as error:
        past, faults = [], tuple(map(str, error.faults))
    hunt = replay(rig, costs, past)
    names = [valve.name for valve in rig.valves]
    shut = frozenset(request.query_params.getlist("shut")) & set(names)
    hold = state_of(rig, shut)
    address = here(request, "jobs", session.job, "run", who, "locate")
    links = {name: f"{address}?{urlencode([('shut', each) for each in sorted(shut ^ {name})])}" for name in names}
    suspicion = {joint.name: share for joint, share in zip(rig.joints, hunt.suspicion(), strict=True)}
    words = {key: t(f"locate.{key}") for key in ("open", "shut", "turn", "gauge", "rig")}
    move = None if hunt.done else hunt.next()
    return render(request, "locate.html", **seen(desk, session, who, view.next_step(session.state)), hold=hold,
                  shut=sorted(shut), rig=rig,
                  drawings=[rig_drawing(rig, shut, hold.inside, suspicion, links, words, way) for way in (False, True)],
                  ranked=sorted(suspicion.items(), key=lambda pair: -pair[1]), move=move, hunt=hunt, past=past,
                  minutes=None if hunt.done else hunt.expected_seconds() / 60.0, advice=advice(replay(rig, costs, [])),
                  faults=faults, links=links)


async def act(request: Request) -> Response:
    """Write down what was found; take the last back; begin again."""
    desk, session, who = opened(request)
    rig, costs = _rig(desk, session)
    form = await form_of(request)
    found, what, name = _findings(desk, session), text_of(form, "act"), text_of(form, "joint")
    if what == "undo":
        found = found[:-1]
    elif what == "begin":
        found = []
    elif what in ("held", "fell"):
        found = [*found, {"hold": [str(each) for each in form.getlist("shut")], "fails": what == "fell"}]
    elif what in ("bubbles", "none"):
        found = [*found, {"fluid": name, "bubble": what == "bubbles"}]
    elif what == "mended":
        found = [*found, {"repair": name}]
    past_of(found, rig, costs)
    desk.host.documents.write(shelf_of(session.job), FINDINGS, json.dumps(found, indent=1) + "\n")
    await desk.commit()
    return go(here(request, "jobs", session.job, "run", who, "locate"))


RUN = "/jobs/{job}/run/{who}/locate"
ROUTES = ((RUN, show, ["GET"]), (RUN, act, ["POST"]))
