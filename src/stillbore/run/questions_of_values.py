"""Questions about what was found: figures that are too smooth, files that were used twice, places that do not fit, and
ends that are not told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import asin, cos, radians, sin, sqrt

from stillbore.errors import UnitError
from stillbore.record import events as log
from stillbore.run.basis import Ask
from stillbore.run.question import Book, Entry, Question, decimal
from stillbore.units import parse

# Thresholds of a question, not limits of the work. From the way last digits fall: of ten readings with a decimal nine
# end in 0 by chance once in a hundred million times.
DROPS_LEAST = 3
ROUND_LEAST, ROUND_SHARE = 10, 0.9
WALL_LEAST = 6  # half of the twelve readings that are common practice
JUMP_M = 100.0  # a pit and its ends lie within it; a phone fixes to 3..10 m (common practice)
EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG; the distance on a sphere is right to 0.6 %
MOVES = ("drop", "fall", "rise")  # names of questions about a gauge that should not move
HOLDS = ("gauge hold", "gauge let-by")
ABANDON = "cap and abandon"


def of_values(book: Book) -> Iterator[Question]:
    """Every question about values and evidence that a job raises."""
    for check in (_no_drop, _round, _even_wall, _kept_twice, _jump, _dead_leg):
        yield from check(book)


def _no_drop(book: Book) -> Iterator[Question]:
    """Every gauge that should not move did not move at all."""
    moves: list[tuple[Entry, bool]] = []
    for entry, what, ask in book.answers:
        if ask is None or not (ask.sort in HOLDS or ask.sort == "quantity" and ask.name in MOVES):
            continue
        logs = [found for sha256 in what.evidence if (found := book.gauge_log(sha256))]
        number = decimal(what.value)
        if logs:
            moves.append((entry, all(max(found.pressures) == min(found.pressures) for found in logs)))
        elif number is not None:
            moves.append((entry, number == 0))
    if len(moves) >= DROPS_LEAST and all(still for _, still in moves):
        yield book.ask("no drop at all", f"Was the gauge read? In all {len(moves)} holds and watches of this job it "
                       "moved by exactly nothing.", *(entry for entry, _ in moves))


def _round(book: Book) -> Iterator[Question]:
    """Measured figures with a decimal, nearly all of which end in 0."""
    digits = [(entry, what.value.number[-1]) for entry, what, ask in book.answers
              if ask and ask.sort == "quantity" and what.value.how == "measured" and "." in what.value.number and
              decimal(what.value)]
    ending = [entry for entry, digit in digits if digit == "0"]
    if len(digits) >= ROUND_LEAST and len(ending) >= ROUND_SHARE * len(digits):
        yield book.ask("round numbers", f"Were these read or rounded? Of {len(digits)} measured figures with a decimal "
                       f"{len(ending)} end in 0.", *ending)


def _even_wall(book: Book) -> Iterator[Question]:
    """All readings of the wall the same: in a plan's survey, or answered one by one as wall_1, wall_2 and so on."""
    walls: dict[str, list[tuple[Entry, str]]] = {}
    for entry, what, ask in book.answers:
        if ask and ask.name.startswith("wall") and decimal(what.value) is not None:
            walls.setdefault(what.step, []).append((entry, what.value.written))
    for step, found in walls.items():
        if len(found) >= WALL_LEAST and len({text for _, text in found}) == 1:
            yield _wall_question(book, len(found), found[0][1], [entry for entry, _ in found], step)
    told: set[str] = set()
    for entry in (entry for kind in (log.Opened, log.Replanned) for entry, _ in book.of(kind)):
        plan = book.plan(entry)
        fact = plan.survey.row("pipe").facts.get("wall") if plan else None
        readings = [text.strip() for text in fact.text.split(",")] if fact and fact.readings > 1 else []
        if len(readings) >= WALL_LEAST and len(set(readings)) == 1 and fact.text not in told:
            told.add(fact.text)
            yield _wall_question(book, len(readings), readings[0], [entry], "")


def _wall_question(book: Book, count: int, text: str, about: Iterable[Entry], step: str) -> Question:
    return book.ask("even wall", f"Was the wall measured at {count} places? All {count} readings are {text}.", *about,
                    step=step)


def _kept_twice(book: Book) -> Iterator[Question]:
    """One photo kept twice, or one gauge log that answers two steps that ask for the same sort of hold."""
    photos: dict[str, list[Entry]] = {}
    for entry, what in book.of(log.Kept):
        if what.sort == "photo":
            photos.setdefault(what.sha256, []).append(entry)
    for entries in photos.values():
        if len(entries) > 1:
            steps = ", ".join(dict.fromkeys(entry.event.happening.step for entry in entries))  # type: ignore[attr-defined]
            yield book.ask("photo twice", f"What does this photo show? It was kept {len(entries)} times (for {steps}).",
                           *entries)
    logs: dict[tuple[str, str], dict[str, Entry]] = {}
    for entry, what, ask in book.answers:
        for sha256 in what.evidence if ask and ask.sort in HOLDS else ():
            logs.setdefault((sha256, ask.sort), {})[what.step] = entry
    for by_step in logs.values():
        if len(by_step) > 1:
            yield book.ask("gauge log twice", f"Which hold is this gauge log of? It answers {' and '.join(by_step)}.",
                           *by_step.values())


def _jump(book: Book) -> Iterator[Question]:
    """Places of one job that lie far apart."""
    places = list(_places(book))
    for (before, here), (entry, there) in zip(places, places[1:], strict=False):
        metres = distance(here, there)
        if metres > JUMP_M:
            yield book.ask("place jumps", f"Where was this? Two places of this job lie {metres:.0f} m apart.", before,
                           entry, step=getattr(entry.event.happening, "step", ""))


def _places(book: Book) -> Iterator[tuple[Entry, tuple[float, float]]]:
    """Latitude and longitude [deg] of the pit and of what was answered, in order."""
    first = book.entries[0]
    plan = book.plan(first)
    facts = plan.survey.row("job").facts if plan else {}
    if {"latitude", "longitude"} <= facts.keys():
        latitude, longitude = (_degrees(facts[name].value) for name in ("latitude", "longitude"))
        if latitude is not None and longitude is not None:
            yield first, (latitude, longitude)
    waiting: dict[tuple[str, str], dict[str, float]] = {}
    for entry, what, ask in book.answers:
        found = _angle(what, ask)
        if found is None:
            continue
        pair = waiting.setdefault((what.step, what.ask[:-len(_axis(what))]), {})
        pair[_axis(what)] = found
        if len(pair) == 2:
            yield entry, (pair["latitude"], pair["longitude"])


def _axis(what: log.Answered) -> str:
    """"latitude" or "longitude", which the name of such a question ends in; "" for others."""
    return next((axis for axis in ("latitude", "longitude") if what.ask.endswith(axis)), "")


def _degrees(value: float | None) -> float | None:
    return None if value is None else value * 57.29577951308232


def _angle(what: log.Answered, ask: Ask | None) -> float | None:
    """Degrees of an answer that is a latitude or a longitude."""
    if ask is None or not _axis(what) or not what.value.number:
        return None
    try:
        return _degrees(parse(f"{what.value.number} {what.value.unit}", "rad").value)
    except UnitError:
        return None


def distance(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Metres between two places (latitude, longitude in degrees) on a sphere, by the haversine."""
    (a, b), (c, d) = (tuple(map(radians, place)) for place in (here, there))
    half = sin((c - a) / 2.0) ** 2 + cos(a) * cos(c) * sin((d - b) / 2.0) ** 2
    return 2.0 * EARTH_RADIUS_M * asin(min(1.0, sqrt(half)))


def _dead_leg(book: Book) -> Iterator[Question]:
    """An abandonment that was finished without saying where the dead pipe ends."""
    ended = next((entry for entry, _ in book.of(log.Finished)), None)
    plan = book.plan(ended) if ended else None
    if ended is None or plan is None or plan.survey.value("job.route") != ABANDON:
        return
    lengths = [what for _, what, ask in book.answers if ask and ask.unit in ("m", "mm") and
               (ask.name in ("dead_leg", "stub") or "dead" in ask.about.lower())]
    if not any(decimal(what.value) is not None for what in lengths):
        yield book.ask("dead leg without end", "Where does the dead pipe end? This job left pipe in the ground and its "
                       "record gives no length of it.", ended)
