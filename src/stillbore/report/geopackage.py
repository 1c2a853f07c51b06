"""An OGC GeoPackage 1.3 (OGC 12-128) written with SQLite alone: one layer of points, one table of what was said.

Of the standard only what a layer of points needs: clause 1.1 (core), 2.1 (features), 2.4 (attributes). A place that was
not located has no geometry (NULL), which the standard allows; it is never put at 0, 0.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterable, Mapping
from contextlib import closing

from stillbore.record.events import Event
from stillbore.report.places import UNKNOWN, Place, utc

APPLICATION_ID = 0x47504B47  # "GPKG", requirement 2
USER_VERSION = 10300  # 1.3.0, requirement 2
WGS_84 = 4326
POINT = 1  # of well-known binary
# Requirements 5 and 11: the table of reference systems and its three rows; the WKT is EPSG's for 4326.
_WKT = ('GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],'
        'AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,'
        'AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]')
_SYSTEMS = (("Undefined Cartesian", -1, "NONE", -1, "undefined", "undefined Cartesian reference system"),
            ("Undefined geographic", 0, "NONE", 0, "undefined", "undefined geographic reference system"),
            ("WGS 84", WGS_84, "EPSG", WGS_84, _WKT, "longitude and latitude in decimal degrees on WGS 84"))
_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE places (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, place TEXT NOT NULL, kind TEXT NOT NULL,
  title TEXT NOT NULL, job TEXT NOT NULL, asset TEXT NOT NULL, premises TEXT NOT NULL, route TEXT NOT NULL,
  record TEXT NOT NULL, position TEXT NOT NULL, accuracy_m DOUBLE, how TEXT NOT NULL, method TEXT NOT NULL,
  quality_level TEXT NOT NULL, exposed TEXT NOT NULL, at TEXT NOT NULL, event TEXT NOT NULL);
CREATE TABLE said (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, place TEXT NOT NULL, name TEXT NOT NULL, about TEXT NOT NULL,
  value TEXT NOT NULL, number TEXT NOT NULL, unit TEXT NOT NULL, uncertainty TEXT NOT NULL, how TEXT NOT NULL,
  instrument TEXT NOT NULL, person TEXT NOT NULL, at TEXT NOT NULL, event TEXT NOT NULL);
"""


def point(longitude: float, latitude: float) -> bytes:
    """A point as GeoPackageBinary: header of version 1, little-endian, no envelope (clause 2.1.3), then well-known
    binary, in which x is the longitude whatever the reference system says (2.1.3.1.1)."""
    header = struct.pack("<2sBBi", b"GP", 0, 0b00000001, WGS_84)
    return header + struct.pack("<BIdd", 1, POINT, longitude, latitude)


def geopackage_of(places: Iterable[Place], box: tuple[float, float, float, float] | None, job: Mapping[str, str],
                  sort: str, last: Event) -> bytes:
    """The file's bytes. ``box``: west, south, east, north of what was located, or None; ``sort``: live, replayed or
    training; ``last``: the event after which it counts."""
    # What lies on both sides of the antimeridian has no box that min and max could say.
    box = box if box and box[0] <= box[2] else None
    with closing(sqlite3.connect(":memory:")) as file:
        file.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        file.execute(f"PRAGMA user_version = {USER_VERSION}")
        file.executescript(_TABLES)
        file.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", _SYSTEMS)
        contents = "INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
        file.execute(contents, ("places", "features", "places", f"Where things lie, job {job['id']}", utc(last),
                                *(box or (None, None, None, None)), WGS_84))
        file.execute(contents, ("said", "attributes", "said", "What was said of each place", utc(last),
                                None, None, None, None, None))
        file.execute("INSERT INTO gpkg_geometry_columns VALUES ('places', 'geom', 'POINT', ?, 0, 0)", (WGS_84,))
        for place in places:
            _add(file, place, job, sort)
        file.commit()
        return file.serialize()


def _add(file: sqlite3.Connection, place: Place, job: Mapping[str, str], sort: str) -> None:
    geometry = point(place.longitude, place.latitude) if place.longitude is not None and place.latitude is not None \
        else None
    row = (geometry, place.id, place.kind, place.title, *(job[key] for key in ("id", "asset", "premises", "route")),
           sort, "known" if place.located else UNKNOWN, place.accuracy, place.how, place.method, place.level,
           place.exposed, place.at, place.event or UNKNOWN)
    file.execute(f"INSERT INTO places VALUES (NULL{', ?' * len(row)})", row)
    for said in place.said:
        value = said.value
        values = (place.id, said.name, said.about, value.written, value.number or UNKNOWN, value.unit,
                  said.uncertainty, value.how, value.instrument or UNKNOWN, said.person, said.at,
                  said.event)
        file.execute(f"INSERT INTO said VALUES (NULL{', ?' * len(values)})", values)
