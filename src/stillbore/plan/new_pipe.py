"""The new pipes that the crew carries, what lies in their way, and what becomes of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from stillbore.derive import Fact, Node, Traced, derive, worst
from stillbore.job.schema import Row
from stillbore.physics import tube
from stillbore.plan.parts import MET, NOT_MET, NOT_PROVEN, Workings
from stillbore.plan.pipe import tubes_of_size
from stillbore.tables.pe_en1555 import TABLE as PE
from stillbore.units import show

PASSES, ROD_FIRST, DOES_NOT_PASS, UNKNOWN = "passes", "doubtful, rod first", "does not pass", "not known"
RANK = (PASSES, UNKNOWN, ROD_FIRST, DOES_NOT_PASS)
TOWARDS_MAIN, TOWARDS_HOUSE = "towards the main", "towards the house"


@dataclass(frozen=True)
class NewPipe:
    """A pipe carried, with a wall. Where the wall was not measured there is one of these for each that it may be, and
    ``of_several`` says so."""

    name: str
    key: str
    carried: str
    row: Row
    wall: Fact
    of_several: bool = False

    @property
    def outside_diameter(self) -> Fact:
        return self.row.fact("outside_diameter")


@dataclass(frozen=True)
class Obstacle:
    """Something on the way: where it begins, what it is in words, and for a length of another size how long it is.

    ``where`` is what it is and where, for people, in the plan's system of units.
    """

    distance: Fact
    title: str
    where: str
    kind: str
    row: Row
    length: Fact | None = None


@dataclass(frozen=True)
class Passing:
    """Whether a pipe goes through: the verdict, the reason, and for each obstacle its own verdict. ``stops`` is how far
    it gets [m], where that is known; zero is the cut."""

    verdict: str
    where: str
    stops: float | None
    each: tuple[tuple[Obstacle, str], ...]


@dataclass(frozen=True)
class Curve:
    """Force against the distance that is in, at its worst: (distance [m], in the bore [N], at the hand [N]). The hand's
    push is the limit for the hand, who works against the gland too; snaking and spiral are limits in the bore."""

    points: tuple[tuple[float, float, float], ...]
    hand: Node
    snakes: Node
    spirals: Node


@dataclass(frozen=True)
class Candidate:
    """A new pipe and how it fares: passing (with the place where it stops), carrying, pushing, pulling.

    ``length`` is that of the whole new pipe: from main to meter, or towards the house from the cut to the meter;
    ``covered`` of the part that lies in the old one.
    """

    name: str
    key: str
    outside_diameter: Fact
    wall: Fact
    bore: Traced
    length: Node
    covered: Node
    passing: str
    where: str
    carries: str
    pushed: str
    pulled: str
    way: Passing
    curve: Curve | None
    drop: Traced
    pipe: NewPipe

    @property
    def will_do(self) -> bool:
        return self.passing == PASSES and self.carries == MET and self.pushed == MET

    @property
    def may_do(self) -> bool:
        """Nothing known speaks against it."""
        return self.passing != DOES_NOT_PASS and NOT_MET not in (self.carries, self.pushed)


@dataclass(frozen=True)
class Renewal:
    """The renewal as worked out: the side of the cut, what lies on the way, the candidates, the one that is taken."""

    side: str
    covered: Node
    obstacles: tuple[Obstacle, ...]
    candidates: tuple[Candidate, ...]
    chosen: Candidate | None


def both(*verdicts: str) -> str:
    """What several verdicts come to: not met if one is not, met if all are."""
    return NOT_MET if NOT_MET in verdicts else NOT_PROVEN if NOT_PROVEN in verdicts else MET


def new_pipes(work: Workings) -> tuple[NewPipe, ...]:
    """Every pipe that the kit carries; where its wall is not known, once for each wall that its series may have."""
    found: list[NewPipe] = []
    for row in work.kit.rows("insert"):
        name, wall = row.text("id"), row.fact("wall")
        key = "renewal." + "".join(letter if letter.isalnum() else "_" for letter in name.lower())
        if key in {pipe.key for pipe in found}:
            key = f"{key}_{len(found) + 1}"
        walls = (("", wall),) if wall.known else _walls(row)
        if len(walls) == 1:
            found.append(NewPipe(name, key, name, row, walls[0][1]))
            continue
        for series, each in walls:
            millimetres = show(each.low or 0.0, "m", "mm").partition(" ")[0].rstrip("0").rstrip(".")  # in a key
            found.append(NewPipe(f"{name} with wall {work.said(each)}, {series}",
                                 f"{key}_wall_{millimetres.replace('.', '_')}", name, row, each, of_several=True))
    return tuple(found)


def _walls(row: Row) -> tuple[tuple[str, Fact], ...]:
    """Every series in which the pipe may stand, with its wall; the wall that nobody knows where no table has the
    size."""
    outside, series = row.fact("outside_diameter"), row.text("series")
    names = [column.name for column in PE.columns]
    found = []
    for cells in PE.rows:
        entry = dict(zip(names, cells, strict=True))
        same = outside.low is not None and abs(PE.in_si("outside_diameter", cells[3]) - outside.low) < 5e-4
        if same and series in ("", entry["series"]):
            wall = Fact(f"{row.text('id')}.wall", "m", None, PE.in_si("wall", entry["wall"]),
                        PE.in_si("wall_max", entry["wall_max"]), "table",
                        f"{PE.title}, {entry['size']} mm {entry['series']}",
                        text=f"{entry['wall']}..{entry['wall_max']} mm", source=PE.source)
            found.append((str(entry["series"]), wall))
    return tuple(found) or (("", row.fact("wall")),)


def obstacles(work: Workings, side: str) -> tuple[Obstacle, ...]:
    """Everything in the way on one side of the cut, the nearest first; what nobody has located, last."""
    def one(row: Row, title: str, kind: str, length: Fact | None = None) -> Obstacle:
        distance = row.fact("distance")
        where = f"{title} at {work.said(distance, 'm')}" if distance.known else f"{title}, nobody knows where"
        return Obstacle(distance, title, where, kind, row, length)

    sizes = [one(row, f"step to {row.text('size')} inch", "other size", row.fact("length"))
             for row in work.survey.rows("other_size") if row.text("side") == side]
    bends = [one(row, row.text("kind"), row.text("kind"))
             for row in work.survey.rows("bend") if row.text("side") == side]
    return tuple(sorted([*sizes, *bends], key=lambda each: (not each.distance.known, each.distance.low or 0.0)))


@dataclass(frozen=True)
class Bore:
    """The ends of what a bore may be, each as a number to reckon with."""

    narrowest: Traced
    widest: Traced


def pit_bore(work: Workings) -> Bore:
    """The bore of the pipe in the pit, over every tube that it may be."""
    bores = [work.numbers[f"pipe.{tube.key}.bore"].node for tube in work.tubes]
    return _ends(bores)


@cache
def bore_of_size(size: str) -> Bore:
    """The bore of a length of old pipe that nobody has measured: every tube of its size."""
    return _ends([derive(f"bore of {each.title} {size} inch", tube.bore, outside_diameter=each.outside_diameter,
                         wall=each.wall) for each in tubes_of_size(size)])


def _ends(bores: Sequence[Node]) -> Bore:
    return Bore(worst("narrowest bore", min(bores, key=lambda node: node.low or 0.0), "low"),
                worst("widest bore", max(bores, key=lambda node: node.high or float("inf")), "high"))
