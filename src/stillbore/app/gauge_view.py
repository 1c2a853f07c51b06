"""A gauge log being taken: the readings so far lie on the device's disk, and are judged anew after each by the same
judge that judges the whole log."""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from stillbore.app.addresses import shelf_of, slug
from stillbore.app.desk import Desk
from stillbore.app.live_chart import interval, live_chart
from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.hold_log import beginning
from stillbore.gauge.priors import DRIFTS
from stillbore.gauge.readings import Log
from stillbore.record.events import Value
from stillbore.run.answers import Judged
from stillbore.run.basis import Ask
from stillbore.run.gauge_log import Conditions, drawn, judge_log, log_of
from stillbore.run.session import Session

HEADER = "time,pressure_mbar,temperature_degC\n"
LONGEST_LOG = 1_900_000  # characters; a gauge that tells twice a second fills it in ten hours
LAST_SHOWN = 6
SETTLED = 30.0  # s after pumping, for the drawing alone


@dataclass(frozen=True)
class Draft:
    """The log so far, and how it is taken."""

    text: str
    conditions: Conditions

    @property
    def count(self) -> int:
        return max(len(self.text.splitlines()) - 1, 0)


def _name(ask: Ask, ending: str) -> str:
    return f"gauge-{slug(ask.step)}-{slug(ask.name)}".replace("~", "x") + ending


def draft_of(desk: Desk, session: Session, ask: Ask) -> Draft:
    shelf, documents = shelf_of(session.job), desk.host.documents
    there = documents.list(shelf)
    text = documents.read(shelf, _name(ask, ".csv")) if _name(ask, ".csv") in there else HEADER
    said = json.loads(documents.read(shelf, _name(ask, ".json"))) if _name(ask, ".json") in there else {}
    return Draft(text, conditions_of(str(said.get("drift")), bool(said.get("by_eye")), str(said.get("instrument", ""))))


def write_draft(desk: Desk, session: Session, ask: Ask, text: str) -> None:
    if len(text) > LONGEST_LOG:
        raise StillboreError("The log is longer than a watch can be.", "Check that it is the right file.")
    desk.host.documents.write(shelf_of(session.job), _name(ask, ".csv"), text)


def write_conditions(desk: Desk, session: Session, ask: Ask, conditions: Conditions) -> None:
    desk.host.documents.write(shelf_of(session.job), _name(ask, ".json"), json.dumps(vars(conditions)) + "\n")


def conditions_of(drift: str, by_eye: bool, instrument: str) -> Conditions:
    return Conditions(drift if drift in DRIFTS else "ordinary", by_eye, instrument)


def reading_line(at: str, pressure: str, temperature: str) -> str:
    """One line of the log. Raises StillboreError where it is no number."""
    for text in (pressure, *([temperature] if temperature else [])):
        try:
            good = Decimal(text).is_finite() and len(text) < 12
        except InvalidOperation:
            good = False
        if not good:
            raise StillboreError(f"'{text[:20]}' is no reading.", "Write a number with a point, as 99.8.")
    return f"{at},{pressure},{temperature}\n"


def _drawn_points(log: Log, ask: Ask) -> list[tuple[float, float]]:
    """The readings that are drawn. Of a hold, those after pumping, and once there are some, only those after the gas
    has settled: the rest would leave no room for what is judged."""
    points = list(zip(log.times, log.pressures, strict=True))
    if ask.sort != "gauge hold":
        return points
    points = points[beginning(log):]
    return [point for point in points if point[0] >= points[0][0] + SETTLED] or points


def gauge_values(desk: Desk, session: Session, ask: Ask | None) -> dict[str, Any]:
    """What the page of a gauge log shows: the chart with what was drawn before, the verdict so far with its band."""
    assert ask is not None
    draft, band = draft_of(desk, session, ask), drawn(session.state, ask)
    points: list[tuple[float, float]] = []
    judged: Judged | None = None
    value: Value | None = None
    said: tuple[str, ...] = ()
    if draft.count:
        try:
            log = log_of(session.state, draft.text, "log.csv")
            points = _drawn_points(log, ask)
            value, judged = judge_log(session.state, ask, log, draft.conditions, desk.growing(session.job, ask.key))
        except InputFaults as error:
            said = tuple(map(str, error.faults))
    return {"draft": draft, "drifts": tuple(DRIFTS), "chart": live_chart(points, band),
            "judged": judged, "value": value, "said": said, "last": draft.text.splitlines()[1:][-LAST_SHOWN:],
            "interval": interval(value, judged.limit) if judged and value else ""}
