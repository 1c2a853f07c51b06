"""What passes: each new pipe through the bore, steps, bends and fittings of one leg, with the place where it stops."""

from __future__ import annotations

from stillbore.derive import Node, Traced, derive
from stillbore.physics import insert
from stillbore.plan.new_pipe import (
    DOES_NOT_PASS,
    PASSES,
    RANK,
    ROD_FIRST,
    UNKNOWN,
    Bore,
    NewPipe,
    Obstacle,
    Passing,
    bore_of_size,
    pit_bore,
)
from stillbore.plan.parts import MET, NOT_MET, Workings, verdict_of

# What a fitting lets through whatever its size. Common practice. A straight socket has a burr, which the allowance for
# scale covers; in a tee or a union the nose catches, at a reducer on the edge.
FITTINGS = {"straight socket": PASSES, "screwed elbow": DOES_NOT_PASS, "plug cock": DOES_NOT_PASS,
            "siphon": DOES_NOT_PASS, "repair clamp": DOES_NOT_PASS, "tee": ROD_FIRST, "union": ROD_FIRST,
            "reducer": ROD_FIRST}
BEND_FACTS = ("angle", "radius", "flattening")
SIZE_ORDER = ("3/4", "1", "1 1/4", "1 1/2", "2")


class Way:
    """A new pipe on its way: the room it has in each bore, and its verdict at each obstacle."""

    def __init__(self, work: Workings, pipe: NewPipe, obstacles: tuple[Obstacle, ...]) -> None:
        self.work, self.pipe, self.obstacles = work, pipe, obstacles
        self.bore = pit_bore(work)
        self.cold, self.warm = (derive("least radius", insert.least_radius, outside_diameter=pipe.outside_diameter,
                                       diameters=work.limit(f"renewal.{key}")) for key in ("radius", "radius_warm"))

    def room(self, bore: Node, name: str = "room") -> Traced:
        return derive(name, insert.clearance, bore=bore, outside_diameter=self.pipe.outside_diameter,
                      scale=self.work.limit("renewal.scale"))

    def straight(self, bore: Bore) -> str:
        """Through a straight bore: only the whole range of room counts as passing."""
        least, most = self.room(bore.narrowest), self.room(bore.widest)
        if least.low is None or most.high is None:
            return UNKNOWN
        return PASSES if least.low >= 0.0 else ROD_FIRST if most.high >= 0.0 else DOES_NOT_PASS

    def bore_at(self, place: Obstacle) -> Bore:
        """The bore at an obstacle: the narrowest of all that it may lie in, for nobody knows distances exactly."""
        found = [self.bore]
        for step in self.obstacles:
            if step.length is None:
                continue
            unknown = not (step.distance.known and step.length.known and place.distance.known)
            begins, ends = step.distance.low or 0.0, (step.distance.high or 0.0) + (step.length.high or 0.0)
            if unknown or (begins <= (place.distance.high or 0.0) and (place.distance.low or 0.0) <= ends):
                found.append(bore_of_size(step.row.text("size")))
        return min(found, key=lambda each: each.narrowest.low or 0.0)

    def through(self, place: Obstacle) -> str:
        """The verdict at one obstacle."""
        if place.length is not None:
            bore = bore_of_size(place.row.text("size"))
            narrower = SIZE_ORDER.index(place.row.text("size")) < SIZE_ORDER.index(self.work.size)
            return harder(self.straight(bore), ROD_FIRST if narrower else PASSES)
        if place.kind in FITTINGS:
            return FITTINGS[place.kind]
        if place.kind == "easy screwed bend":
            fits = verdict_of(self.pipe.outside_diameter, self.work.limit("renewal.easy_bend"), "at most")
            return ROD_FIRST if fits == MET else DOES_NOT_PASS
        return self.bend(place)

    def bend(self, place: Obstacle) -> str:
        """A pulled bend: not flattened more than it may be, and wide enough to be lain in without bending too tight."""
        facts = place.row.facts
        if any(key not in facts or not facts[key].known for key in BEND_FACTS):
            return UNKNOWN
        angle, radius, flattening = (facts[key] for key in BEND_FACTS)
        flat = verdict_of(flattening, self.work.limit("renewal.flattening"), "at most")
        if flat == NOT_MET:
            return DOES_NOT_PASS
        bore = self.bore_at(place)
        tight, wide = (self.room(derive("bore in the bend", insert.flattened_bore, bore=end, flattening=flattening))
                       for end in (bore.narrowest, bore.widest))
        return harder(ROD_FIRST if flat != MET else PASSES, self.curved(tight, wide, radius, angle),
                      self.nose(tight, wide, radius, angle))

    def curved(self, tight: Node, wide: Node, radius: Node, angle: Node) -> str:
        """Whether it may be bent as tight as it has to lie, cutting the corner as far as its room allows."""
        if tight.low is None or wide.high is None:
            return UNKNOWN
        if wide.high < 0.0:
            return DOES_NOT_PASS
        if tight.low >= 0.0 and verdict_of(_lies(tight, radius, angle), self.cold, "at least") == MET:
            return PASSES
        stops = verdict_of(_lies(wide, radius, angle), self.warm, "at least") == NOT_MET
        return DOES_NOT_PASS if stops else ROD_FIRST

    def nose(self, tight: Node, wide: Node, radius: Node, angle: Node) -> str:
        """Whether a nose that does not bend goes round. The formula is for a bend longer than the nose; in a shorter
        one the nose is never wholly in the curve, so that there it is rodded first."""
        length = self.pipe.row.facts.get("nose_length")
        if length is None or length.high == 0.0:
            return PASSES
        if tight.low is not None and tight.low > 0.0:
            least = derive("least radius for the nose", insert.nose_radius, nose_length=length, clearance=tight)
            if verdict_of(radius, least, "at least") == MET:
                return PASSES
        long_bend = (radius.low or 0.0) * (angle.low or 0.0) >= (length.high or 0.0)
        if wide.low is not None and wide.low > 0.0 and long_bend:
            least = derive("least radius for the nose", insert.nose_radius, nose_length=length, clearance=wide)
            return DOES_NOT_PASS if verdict_of(radius, least, "at least") == NOT_MET else ROD_FIRST
        return ROD_FIRST


def _lies(room: Node, radius: Node, angle: Node) -> Traced:
    return derive("radius in the bend", insert.corner_radius, bend_radius=radius, clearance=room, bend_angle=angle)


def way_complete(work: Workings) -> bool:
    """Whether the survey says that nothing on the way is missing from it. A list without bends is no straight pipe."""
    return work.survey.row("site").text("way_list_complete") == "yes"


def harder(*verdicts: str) -> str:
    """The worst of several verdicts."""
    return max(verdicts, key=RANK.index)


def passing(work: Workings, pipe: NewPipe, way: tuple[Obstacle, ...]) -> Passing:
    """Whether a pipe goes through bore, steps, bends and fittings, and where it stops."""
    goes = Way(work, pipe, way)
    work.keep(f"{pipe.name}: room in the bore, at the least", goes.room(goes.bore.narrowest, f"{pipe.key}.room"), "mm")
    bore = goes.straight(goes.bore)
    each = tuple((place, goes.through(place)) for place in way)
    if bore == DOES_NOT_PASS:
        return Passing(bore, "it does not go into the bore", 0.0, each)
    verdict = harder(bore, *(found for _, found in each))
    if verdict == PASSES and not way_complete(work):
        return Passing(UNKNOWN, "it is not known whether every bend and step is in the survey", None, each)
    if verdict == PASSES:
        return Passing(verdict, "", None, each)
    reasons = [place for place, found in each if found == verdict]
    if bore == verdict:
        return Passing(verdict, "the bore may be too narrow" if bore == ROD_FIRST else "the bore is not known", None,
                       each)
    stops = reasons[0].distance.low if verdict == DOES_NOT_PASS else None
    return Passing(verdict, reasons[0].where, stops, each)
