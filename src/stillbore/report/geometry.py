"""Where things lie, as GeoJSON (RFC 7946): WGS 84, longitude before latitude, no ``crs``; what was not located has no
geometry. Beside each place: how well it is known and which event says so."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.report.geopackage import geopackage_of
from stillbore.report.places import UNKNOWN, Place, Said, places

LIVE, REPLAYED, TRAINING = "live", "REPLAYED", "TRAINING"
POSITION = ("Coordinates find the place; the quality level is that of depth, ties and lengths, not of the coordinates. "
            "Dig by hand: where something lay is not where it must still lie.")


def geojson(lines: Sequence[Line], plan: Plan) -> bytes:
    """The places of a job as a FeatureCollection. ``lines`` in merged order, ``plan`` the one that counts."""
    found = places(lines, plan)
    sort = sort_of(lines)
    collection: dict[str, object] = {"type": "FeatureCollection"}
    box = bounds(found)
    if box:
        collection["bbox"] = list(box)
    collection["features"] = [_feature(place, plan, sort) for place in found]
    return (json.dumps(collection, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def geopackage(lines: Sequence[Line], plan: Plan) -> bytes:
    """The same places as an OGC GeoPackage, and beside them a table of what was said of each."""
    found = places(lines, plan)
    return geopackage_of(found, bounds(found), job_of(plan), sort_of(lines), lines[-1].event)


def sort_of(lines: Sequence[Line]) -> str:
    """Whether a job was done, replayed from a script, or practised: never to be taken for each other."""
    opened = [line.event.happening for line in lines if isinstance(line.event.happening, log.Opened)]
    if any(what.training for what in opened):
        return TRAINING
    return REPLAYED if any(what.replayed for what in opened) else LIVE


def job_of(plan: Plan) -> dict[str, str]:
    """The numbers that a place belongs to; no names."""
    return {key: str(plan.survey.value(f"job.{key}")) for key in ("id", "asset", "premises", "route")}


def bounds(found: Iterable[Place]) -> tuple[float, float, float, float] | None:
    """West, south, east, north [deg] of what was located; west is more than east across the antimeridian (RFC 7946,
    5.2). None where nothing was."""
    located = [place for place in found if place.located]
    if not located:
        return None
    longitudes = sorted(place.longitude for place in located if place.longitude is not None)
    latitudes = sorted(place.latitude for place in located if place.latitude is not None)
    west, east = longitudes[0], longitudes[-1]
    if east - west > 180.0:
        west, east = min(each for each in longitudes if each > 0.0), max(each for each in longitudes if each < 0.0)
    return west, latitudes[0], east, latitudes[-1]


def _feature(place: Place, plan: Plan, sort: str) -> dict[str, object]:
    geometry = {"type": "Point", "coordinates": [place.longitude, place.latitude]} if place.located else None
    job = job_of(plan)
    return {"type": "Feature", "id": f"{job['id']}/{place.id}", "geometry": geometry, "properties": {
        "kind": place.kind, "title": place.title, "job": job["id"], "asset": job["asset"], "premises": job["premises"],
        "route": job["route"], "record": sort, "position": "known" if place.located else UNKNOWN,
        "accuracy_m": UNKNOWN if place.accuracy is None else place.accuracy, "how": place.how, "method": place.method,
        "quality_level": place.level, "exposed": place.exposed, "at": place.at, "event": place.event or UNKNOWN,
        "note": POSITION, "said": [_told(said) for said in place.said]}}


def _told(said: Said) -> dict[str, object]:
    value = said.value
    return {"name": said.name, "about": said.about, "value": value.written, "number": value.number or UNKNOWN,
            "unit": value.unit, "uncertainty": said.uncertainty, "how": value.how,
            "instrument": value.instrument or UNKNOWN, "person": said.person, "at": said.at, "event": said.event}
