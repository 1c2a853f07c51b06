"""Where things lie, in two open formats. GeoJSON is held against RFC 7946 clause by clause; the GeoPackage against the
requirements of OGC 12-128 and against GDAL, an independent reader of both."""

import json
import math
import sqlite3
import struct
from dataclasses import replace
from pathlib import Path

import pyogrio
import pytest
import shapely

from stillbore.job.files import load_job
from stillbore.job.schema import load_text
from stillbore.plan import plan
from stillbore.record import events as log
from stillbore.record.chain import seal_line
from stillbore.record.events import Value
from stillbore.report.geometry import bounds, geojson, geopackage
from stillbore.report.places import Place, places

EXAMPLES = Path(__file__).parents[2] / "src" / "stillbore" / "examples"
EXAMPLE = plan(load_job(EXAMPLES / "service.toml"))
EARTH = 40_007_863.0 / 360.0  # m of a degree of the meridian (WGS 84 meridian of 40 007 863 m)


def survey(**changed):
    """The example's plan with lines of its survey's first table written otherwise; None takes a line out."""
    lines = EXAMPLE.survey.text.split("\n")
    for key, text in changed.items():
        place = next(index for index, line in enumerate(lines) if line.startswith(f"{key} ="))
        lines[place] = f"{key} = {text}" if text else ""
    made = load_text(EXAMPLE.survey.schema, "\n".join(lines), "service.toml")
    return plan(replace(EXAMPLE.files, survey=made))


def opened(made=EXAMPLE, **flags):
    return log.Opened((log.FileHash("survey", "service.toml", made.survey.sha256),), made.version, "0", (), "d" * 64,
                      **flags)


def answer(name, value, step="I1"):
    return log.Answered(step, name, value)


LAID = (answer("depth", Value("0.62", "0.05", "m", instrument="tape T1")), answer("tie_1", Value("3.10", "0.1", "m")),
        answer("tie_1_to", Value(text="north-east corner of the house", how="seen")),
        answer("dead_leg", Value("1.4", "0.1", "m")), answer("new_pipe", Value("9.6", "0.1", "m")),
        answer("latitude", Value("46.2000123", "0.0000005", "deg", instrument="receiver R1")),
        answer("longitude", Value("-22.4000456", "0.0000005", "deg", instrument="receiver R1")),
        answer("fix", Value(text="fixed solution, 20 s mean", how="seen")), log.Done("I1"))


def written(*happenings):
    lines, prev = [], ""
    for n, what in enumerate(happenings):
        at = f"2030-05-14T{10 + n // 60:02d}:{n % 60:02d}:00+01:00"
        lines.append(seal_line(log.Event("J-0001", "D1", n, n, "P1", "team leader", at, what, prev)))
        prev = lines[-1].hash
    return lines


LINES = written(opened(), *LAID)


def features(lines=None, made=EXAMPLE):
    return {each["id"]: each for each in json.loads(geojson(lines or LINES, made))["features"]}


# GeoJSON by RFC 7946


def test_it_is_geojson_by_the_rfc():
    data = geojson(LINES, EXAMPLE)
    found = json.loads(data.decode("utf-8"))  # 1: UTF-8 JSON
    assert found["type"] == "FeatureCollection" and "crs" not in found  # 3.3 and 4: no crs member any more
    assert not {"coordinates", "geometries", "geometry", "properties"} & found.keys()  # 7.1
    for feature in found["features"]:
        assert feature["type"] == "Feature" and {"geometry", "properties"} <= feature.keys()  # 3.2
        assert not {"coordinates", "geometries", "features", "crs"} & feature.keys()  # 7.1
        assert isinstance(feature["id"], str)
        if feature["geometry"] is not None:
            longitude, latitude = feature["geometry"]["coordinates"]  # 3.1.1: longitude, then latitude
            assert feature["geometry"]["type"] == "Point"
            assert -180.0 <= longitude <= 180.0 and -90.0 <= latitude <= 90.0
    assert found["bbox"] == [-22.4000456, 46.2, -22.4, 46.2000123]  # 5: west, south, east, north


def test_longitude_stands_before_latitude_and_keeps_its_digits():
    found = features()
    assert found["J-0001/pit"]["geometry"]["coordinates"] == [-22.4, 46.2]
    assert found["J-0001/I1"]["geometry"]["coordinates"] == [-22.4000456, 46.2000123]


def test_each_place_says_how_well_it_is_known_and_which_event_says_so():
    found = features()
    end = found["J-0001/I1"]["properties"]
    assert end["accuracy_m"] == pytest.approx(0.0000005 * EARTH, abs=0.001)
    assert (end["how"], end["method"], end["position"]) == ("measured", "fixed solution, 20 s mean", "known")
    assert (end["quality_level"], end["exposed"]) == ("PAS 128 A", "yes")
    assert end["event"] == LINES[6].hash and end["at"] == "2030-05-14T09:06:00.000Z"
    depth = next(each for each in end["said"] if each["name"] == "depth")
    assert (depth["number"], depth["uncertainty"], depth["unit"]) == ("0.62", "0.05 m", "m")
    assert depth["event"] == LINES[1].hash
    unsaid = features(written(opened(), answer("tie_2", Value("2.2", "", "m"))))["J-0001/I1"]["properties"]["said"][0]
    assert unsaid["uncertainty"] == "0.1 m, by the procedure"  # what its question reckons with, and no more than that
    pit = found["J-0001/pit"]["properties"]
    assert (pit["how"], pit["accuracy_m"], pit["quality_level"]) == ("record", "unknown", "unknown")
    assert pit["event"] == LINES[0].hash


def test_lengths_are_lengths_and_draw_nothing():
    found = features()
    for key, kind, number in (("I1.dead_leg", "dead pipe", "1.4"), ("I1.new_pipe", "new pipe", "9.6")):
        feature = found[f"J-0001/{key}"]
        assert feature["geometry"] is None and feature["properties"]["kind"] == kind
        assert feature["properties"]["position"] == "unknown"
        assert feature["properties"]["said"][0]["number"] == number


def test_what_nobody_measured_is_unknown_and_never_at_nought():
    made = survey(latitude=None, longitude=None)
    lines = written(opened(made), *LAID[:2], answer("latitude", Value(how="not measured", reason="no sky")),
                    answer("longitude", Value(how="not measured", reason="no sky")))
    found = json.loads(geojson(lines, made))
    assert "bbox" not in found
    assert {each["geometry"] for each in found["features"]} == {None}
    assert all(each["properties"]["position"] == "unknown" for each in found["features"])
    assert all(each["properties"]["accuracy_m"] == "unknown" for each in found["features"])
    end = next(each for each in found["features"] if each["id"] == "J-0001/I1")
    assert end["properties"]["quality_level"] == "unknown"  # not done yet: the hold is not signed
    assert places([], made)[0].event == ""


def test_half_a_position_is_none():
    lines = written(opened(), LAID[5])
    assert features(lines)["J-0001/I1"]["geometry"] is None
    lines = written(opened(), LAID[5], answer("longitude", Value("191.0", "", "deg")))
    assert features(lines)["J-0001/I1"]["geometry"] is None  # beyond the globe


def test_a_correction_stands_for_what_it_corrects():
    right = log.Corrected(LINES[6].hash, Value("46.3", "", "deg"), "misread")
    found = features(written(opened(), *LAID, right))["J-0001/I1"]
    assert found["geometry"]["coordinates"][1] == 46.3
    assert found["properties"]["accuracy_m"] == "unknown"  # of the new figure nobody said how well it is known
    assert found["properties"]["event"] not in {line.hash for line in LINES}


@pytest.mark.parametrize("flags,word", [
    ({}, "live"), ({"replayed": True}, "REPLAYED"), ({"training": True}, "TRAINING"),
    ({"replayed": True, "training": True}, "TRAINING")])
def test_what_was_not_done_for_real_says_so_in_every_feature(flags, word):
    lines = written(opened(**flags), *LAID)
    assert {each["properties"]["record"] for each in features(lines).values()} == {word}


def test_a_box_across_the_antimeridian_has_west_beyond_east():
    """RFC 7946, 5.2: the example of the islands, from 177 east to 178 west."""
    found = bounds([Place("a", "", "", 177.0, -20.0), Place("b", "", "", -178.0, -16.0), Place("c", "", "")])
    assert found == (177.0, -20.0, -178.0, -16.0)
    assert bounds([Place("c", "", "")]) is None
    assert bounds([Place("a", "", "", 5.0, 1.0)]) == (5.0, 1.0, 5.0, 1.0)


def test_uncertain_survey_coordinates_give_an_accuracy():
    made = survey(latitude='"46.2 +/- 0.00005 deg"', longitude='"-22.4 +/- 0.00002 deg"')
    pit = features(written(opened(made)), made)["J-0001/pit"]
    assert pit["properties"]["accuracy_m"] == pytest.approx(0.00005 * EARTH, rel=0.01)
    assert pit["geometry"]["coordinates"] == [-22.4, 46.2]


# GeoPackage by OGC 12-128


@pytest.fixture
def package(tmp_path):
    path = tmp_path / "job.gpkg"
    path.write_bytes(geopackage(LINES, EXAMPLE))
    return path


def test_requirement_1_and_2_an_sqlite_file_that_says_what_it_is(package):
    data = package.read_bytes()
    assert data[:16] == b"SQLite format 3\0"
    assert data[68:72] == b"GPKG"  # the application id, in ASCII, at its place in the header of SQLite
    assert struct.unpack(">I", data[60:64])[0] == 10300


def test_requirement_6_and_7_it_is_whole(package):
    with sqlite3.connect(package) as file:
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert file.execute("PRAGMA foreign_key_check").fetchall() == []


# Columns of OGC 12-128, tables 2, 3 and 6: (name, type, not null).
COLUMNS = {
    "gpkg_spatial_ref_sys": [("srs_name", "TEXT", 1), ("srs_id", "INTEGER", 1), ("organization", "TEXT", 1),
                             ("organization_coordsys_id", "INTEGER", 1), ("definition", "TEXT", 1),
                             ("description", "TEXT", 0)],
    "gpkg_contents": [("table_name", "TEXT", 1), ("data_type", "TEXT", 1), ("identifier", "TEXT", 0),
                      ("description", "TEXT", 0), ("last_change", "DATETIME", 1), ("min_x", "DOUBLE", 0),
                      ("min_y", "DOUBLE", 0), ("max_x", "DOUBLE", 0), ("max_y", "DOUBLE", 0), ("srs_id", "INTEGER", 0)],
    "gpkg_geometry_columns": [("table_name", "TEXT", 1), ("column_name", "TEXT", 1), ("geometry_type_name", "TEXT", 1),
                              ("srs_id", "INTEGER", 1), ("z", "TINYINT", 1), ("m", "TINYINT", 1)]}


@pytest.mark.parametrize("table", COLUMNS)
def test_the_tables_are_those_of_the_standard(package, table):
    with sqlite3.connect(package) as file:
        found = [(name, kind, needed) for _, name, kind, needed, _, _ in file.execute(f"PRAGMA table_info({table})")]
    assert found == COLUMNS[table]


def test_requirement_11_the_three_reference_systems(package):
    with sqlite3.connect(package) as file:
        rows = {row[0]: row[1:] for row in file.execute(
            "SELECT srs_id, organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys")}
    assert rows[-1] == ("NONE", -1, "undefined") and rows[0] == ("NONE", 0, "undefined")
    assert rows[4326][:2] == ("EPSG", 4326)
    for part in ("6378137", "298.257223563", "Greenwich"):  # the ellipsoid of WGS 84
        assert part in rows[4326][2]


def test_contents_name_every_table_of_ours_and_its_extent(package):
    with sqlite3.connect(package) as file:
        rows = {row[0]: row[1:] for row in file.execute(
            "SELECT table_name, data_type, srs_id, min_x, min_y, max_x, max_y, last_change FROM gpkg_contents")}
        geometry = file.execute("SELECT * FROM gpkg_geometry_columns").fetchall()
        tables = {name for name, in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    assert rows["places"] == ("features", 4326, -22.4000456, 46.2, -22.4, 46.2000123, "2030-05-14T09:09:00.000Z")
    assert rows["said"][0] == "attributes"
    assert geometry == [("places", "geom", "POINT", 4326, 0, 0)]  # requirement 21: what is in contents is here
    assert tables == {*COLUMNS, "places", "said", "sqlite_sequence"}


def test_requirement_19_the_header_of_a_geometry(package):
    """Clause 2.1.3: magic GP, version 0, flags, reference system, then well-known binary of a point: x, y."""
    with sqlite3.connect(package) as file:
        blob, = file.execute("SELECT geom FROM places WHERE place = 'I1'").fetchone()
    magic, version, flags, system = struct.unpack("<2sBBi", blob[:8])
    assert (magic, version, system) == (b"GP", 0, 4326)
    assert flags & 0b1 == 1 and (flags >> 1) & 0b111 == 0  # little-endian; no envelope
    assert (flags >> 4) & 0b1 == 0 and (flags >> 5) & 0b1 == 0  # not empty; standard type
    point = shapely.from_wkb(blob[8:])  # an independent reader of well-known binary
    assert (point.x, point.y) == (-22.4000456, 46.2000123)


def test_gdal_reads_the_package_and_the_geojson_alike(package, tmp_path):
    path = tmp_path / "job.geojson"
    path.write_bytes(geojson(LINES, EXAMPLE))
    layers = dict(pyogrio.list_layers(package))
    assert layers["places"] == "Point" and set(layers) == {"places", "said"}
    read = {}
    for file, layer in ((package, "places"), (path, None)):
        meta, _, shapes, columns = pyogrio.raw.read(file, layer=layer)
        assert meta["crs"] == "EPSG:4326"
        names = list(meta["fields"])
        wanted = ("kind", "quality_level", "event", "position")
        rows = zip(*(columns[names.index(name)] for name in wanted), strict=True)
        read[file] = [(None if shape is None else shapely.from_wkb(shape).coords[0], row)
                      for shape, row in zip(shapes, map(tuple, rows), strict=True)]
    assert read[package] == read[path]
    assert [shape for shape, _ in read[package]] == [(-22.4, 46.2), (-22.4000456, 46.2000123), None, None]
    said = pyogrio.raw.read(package, layer="said")
    assert len(said[3][0]) > 5


def test_a_package_of_nothing_located_has_no_geometry_and_no_extent(tmp_path):
    made = survey(latitude=None, longitude=None)
    path = tmp_path / "none.gpkg"
    path.write_bytes(geopackage(written(opened(made)), made))
    with sqlite3.connect(path) as file:
        assert file.execute("SELECT geom, position, accuracy_m FROM places").fetchall() == [(None, "unknown", None)]
        assert file.execute("SELECT min_x, max_y FROM gpkg_contents").fetchall() == [(None, None)] * 2
    assert pyogrio.raw.read(path, layer="places")[2].tolist() == [None]


def test_the_same_job_gives_the_same_bytes():
    assert geopackage(LINES, EXAMPLE) == geopackage(LINES, EXAMPLE)
    assert geojson(LINES, EXAMPLE) == geojson(LINES, EXAMPLE)
    assert not math.isnan(sum(json.loads(geojson(LINES, EXAMPLE))["bbox"]))


def test_an_accuracy_that_was_asked_for_by_name_is_taken():
    """A procedure may ask for it: "accuracy" of the same step, as a length, at the worse end of its range."""
    text = EXAMPLE.files.procedure.text
    asked = text + '\n[[ask]]\nstep = "I1"\nname = "accuracy"\nsort = "quantity"\nabout = "How well"\nunit = "m"\n'
    made = plan(replace(EXAMPLE.files, procedure=load_text(EXAMPLE.files.procedure.schema, asked, "procedure.toml")))
    lines = written(opened(made), *LAID[5:7], answer("accuracy", Value("30", "10", "cm")))
    assert features(lines, made)["J-0001/I1"]["properties"]["accuracy_m"] == pytest.approx(0.4)


def test_how_a_position_was_found_is_said_by_the_best_that_was_said_or_is_unknown():
    by_hand = [log.Answered("I1", axis, Value(number, "", "deg", instrument=instrument))
               for axis, number, instrument in (("latitude", "46.2", "R1"), ("longitude", "-22.4", "R1"))]
    assert features(written(opened(), *by_hand))["J-0001/I1"]["properties"]["method"] == "R1"
    bare = [replace(each, value=replace(each.value, instrument="")) for each in by_hand]
    assert features(written(opened(), *bare))["J-0001/I1"]["properties"]["method"] == "unknown"
    pit = features(written(opened()))["J-0001/pit"]["properties"]
    assert (pit["method"], pit["at"]) == ("unknown", "unknown")
    found = '{ value = "46.2 deg", how = "measured", by = "P2", when = 2030-05-13T08:00:00Z, instrument = "R1" }'
    made = survey(latitude=found, longitude=found.replace("46.2", "-22.4"))
    pit = features(written(opened(made)), made)["J-0001/pit"]["properties"]
    assert (pit["how"], pit["method"], pit["at"]) == ("measured", "R1", "2030-05-13T08:00:00+00:00")


def test_a_length_that_was_not_measured_is_there_and_says_so(tmp_path):
    lines = written(opened(), answer("dead_leg", Value(how="not measured", reason="covered")))
    said = features(lines)["J-0001/I1.dead_leg"]["properties"]["said"][0]
    assert (said["value"], said["number"], said["uncertainty"]) == ("not measured: covered", "unknown", "unknown")
    path = tmp_path / "job.gpkg"
    path.write_bytes(geopackage(lines, EXAMPLE))
    with sqlite3.connect(path) as file:
        rows = file.execute("SELECT value, number, uncertainty, instrument FROM said").fetchall()
    assert set(rows) == {("not measured: covered", "unknown", "unknown", "unknown")}
