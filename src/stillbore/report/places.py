"""Where things lie, as far as the survey and the record say it: each place with how well it is known.

A place nobody measured is "unknown" and has no coordinates; it is never put at 0, 0. Nothing is drawn that was not
measured: a length of pipe without points is a length.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC
from math import degrees

from stillbore.derive import Fact
from stillbore.errors import UnitError
from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.answers import questions_answered
from stillbore.record.chain import Line
from stillbore.record.events import Value
from stillbore.run.basis import Ask, basis
from stillbore.units import parse

UNKNOWN = "unknown"
AXES = ("latitude", "longitude")
METRES_PER_RADIAN = 6_371_008.8  # mean radius of the earth, IUGG: right to 0.6 % anywhere
DIGITS = 9  # of a degree: a tenth of a millimetre; beyond it the conversion's last bits show
MEASURED_HOLD = 18  # measured and photographed in the open pit, before backfill (trade.md 2, hold 18)
# Pipes of which a length is asked, by the name of the question; there are no points of them.
LENGTHS = {"dead_leg": "dead pipe", "stub": "live stub", "new_pipe": "new pipe"}
# An exposed and measured thing is verified: quality level A (PAS 128; trade.md 6.2).
VERIFIED_LEVEL = "PAS 128 A"


@dataclass(frozen=True)
class Said:
    """One thing that the record says of a place: the question, the answer, and the event it is in. ``uncertainty``: as
    it was said with the answer, or what the procedure reckons with where none was said."""

    name: str
    about: str
    value: Value
    uncertainty: str
    person: str
    at: str
    event: str


@dataclass(frozen=True)
class Place:
    """Something in the ground. ``longitude`` and ``latitude`` [deg, WGS 84] are None where nobody measured them.

    ``accuracy`` [m] of the coordinates as was said, None where it was not; ``method``: how they were found;
    ``level``: how well depth, ties and lengths are known, as a quality level; ``event``: hash of the event that says
    where it is, "" where none does; ``said``: what else the record says of it.
    """

    id: str
    kind: str
    title: str
    longitude: float | None = None
    latitude: float | None = None
    accuracy: float | None = None
    how: str = UNKNOWN
    method: str = UNKNOWN
    level: str = UNKNOWN
    exposed: str = UNKNOWN
    event: str = ""
    at: str = UNKNOWN
    said: tuple[Said, ...] = ()

    @property
    def located(self) -> bool:
        return self.longitude is not None and self.latitude is not None


def places(lines: Sequence[Line], plan: Plan) -> tuple[Place, ...]:
    """Every place of a job: its pit, what was measured before backfill, and lengths of pipe. ``lines`` in merged order;
    ``plan``: the one that counts."""
    asks = basis(plan).asks
    answers = standing(lines)
    measured = {step.id for step in basis(plan).steps if step.hold == MEASURED_HOLD}
    done = {line.event.happening.step for line in lines if isinstance(line.event.happening, log.Done)}
    found = [_pit(lines, plan), *_ends(answers, asks, measured, done)]
    for key, kind in ((key, LENGTHS[ask.name]) for key, ask in asks.items() if ask.name in LENGTHS):
        said = _said(asks[key], answers[key]) if key in answers else None
        if said and (said.value.number or said.value.how == "not measured"):
            found.append(_graded(Place(key, kind, asks[key].about, said=(said,)), asks[key].step in measured & done))
    return tuple(found)


def standing(lines: Sequence[Line]) -> dict[str, Line]:
    """The last answer of each question, by its key; a correction stands for what it corrects."""
    keys = questions_answered(lines)
    return {keys[line.hash]: line for line in lines if line.hash in keys}


def _pit(lines: Sequence[Line], plan: Plan) -> Place:
    """The pit by the survey. It finds the house, not the pipe."""
    facts = plan.survey.row("job").facts
    event = next((line.hash for line in reversed(lines) if isinstance(line.event.happening, (log.Opened, log.Replanned))
                  and plan.survey.sha256 in {file.sha256 for file in line.event.happening.files}), "")
    pit = Place("pit", "pit", "The pit, by the survey", event=event)
    if not all(axis in facts and facts[axis].value is not None for axis in AXES):
        return pit
    latitude, longitude = (facts[axis] for axis in AXES)
    return replace(pit, latitude=_round(latitude.value), longitude=_round(longitude.value), how=latitude.how,
                   accuracy=_accuracy(latitude, longitude), at=latitude.when or UNKNOWN,
                   method=" ".join(filter(None, (latitude.instrument, latitude.source))) or UNKNOWN)


def _round(radians: float | None) -> float | None:
    return None if radians is None else round(degrees(radians), DIGITS)


def _accuracy(*angles: Fact) -> float | None:
    """Metres that the larger uncertainty of two angles comes to; None where one of them has none. Of a longitude it is
    taken as at the equator: never too small."""
    spreads = [0.5 * (angle.high - angle.low) for angle in angles if angle.low is not None and angle.high is not None]
    return _larger(tuple(spread * METRES_PER_RADIAN for spread in spreads))


def _larger(metres: tuple[float, ...]) -> float | None:
    return round(max(metres), 3) if min(metres, default=0.0) > 0.0 else None


def _ends(answers: Mapping[str, Line], asks: Mapping[str, Ask], measured: set[str],
          done: set[str]) -> Iterator[Place]:
    """What was measured in the open pit, and every pair of questions for a latitude and a longitude: "latitude" and
    "longitude" of a step, or "cap_latitude" and "cap_longitude"."""
    steps = {(ask.step, ask.name.removesuffix("latitude").rstrip("_")) for ask in asks.values()
             if ask.name.endswith("latitude")} | {(step, "") for step in measured}
    for step, prefix in sorted(steps):
        own = [ask for ask in asks.values() if ask.step == step and ask.name.startswith(prefix)]
        said = tuple(_said(ask, answers[ask.key]) for ask in own if ask.key in answers)
        if not said and step not in done:
            continue
        place = Place(f"{step}{'.' if prefix else ''}{prefix}", "as laid", prefix.replace("_", " ") or "end in the pit",
                      said=tuple(each for each in said if not each.name.endswith(AXES)))
        angles = {axis: next((each for each in said if each.name.endswith(axis)), None) for axis in AXES}
        yield _graded(_located(place, angles), step in measured & done)


def _said(ask: Ask, line: Line) -> Said:
    event = line.event
    value: Value = event.happening.value  # type: ignore[attr-defined]
    uncertainty = f"{value.uncertainty} {value.unit}" if value.uncertainty else \
        f"{ask.uncertainty}, by the procedure" if ask.uncertainty and value.number else UNKNOWN
    return Said(ask.name, ask.about, value, uncertainty, event.person, utc(event), line.hash)


def utc(event: log.Event) -> str:
    """When, in UTC, as every table says it; of an entry from paper the time that the paper gives."""
    return log.moment(event.paper_at or event.at).astimezone(UTC).isoformat(timespec="milliseconds").replace(
        "+00:00", "Z")


def _located(place: Place, angles: Mapping[str, Said | None]) -> Place:
    """A place at its coordinates, if both were measured and can be read."""
    latitude, longitude = (_angle(angles[axis]) for axis in AXES)
    if latitude is None or longitude is None or abs(latitude[0]) > 90.0 or abs(longitude[0]) > 180.0:
        return place
    said = angles["latitude"]
    assert said is not None
    stated = next((_metres(each) for each in place.said if each.name.endswith("accuracy")), None)
    method = next((each.value.written for each in place.said if each.name.endswith("fix") and each.value.text), "")
    return replace(place, latitude=latitude[0], longitude=longitude[0], how=said.value.how, event=said.event,
                   at=said.at, accuracy=stated or _larger((latitude[1], longitude[1])),
                   method=method or said.value.instrument or UNKNOWN)


def _metres(said: Said) -> float | None:
    """An accuracy that was asked for by name: the largest that it can be."""
    try:
        return parse(said.value.written, "m").high if said.value.number else None
    except UnitError:
        return None


def _angle(said: Said | None) -> tuple[float, float] | None:
    """Degrees of an answer, and its uncertainty in metres (0 where none was said)."""
    if said is None or not said.value.number:
        return None
    try:
        angle = parse(f"{said.value.number} {said.value.unit}", "rad").value
        spread = parse(f"{said.value.uncertainty} {said.value.unit}", "rad").value if said.value.uncertainty else 0.0
    except UnitError:
        return None
    return None if angle is None else (round(degrees(angle), DIGITS), (spread or 0.0) * METRES_PER_RADIAN)


def _graded(place: Place, exposed: bool) -> Place:
    """With its quality level: verified where it was measured in the open pit, before backfill."""
    first_hand = any(each.value.how in ("measured", "seen") for each in place.said)
    if not (exposed and first_hand):
        return place
    return replace(place, exposed="yes", level=VERIFIED_LEVEL)
