"""The loader: every fault at once, each with its line and how to mend it; nothing half-read; nothing falls over."""

import pytest
from variants import NOBODY_KNOWS, blocks, edited, example

from stillbore.errors import InputFaults
from stillbore.job.files import load_job
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load, load_text
from stillbore.job.survey import SURVEY

SCHEMAS = (SURVEY, KIT, RULES, PROCEDURE)


def faults(text, schema=SURVEY):
    with pytest.raises(InputFaults) as caught:
        load_text(schema, text, "file.toml")
    return caught.value.faults


def one(changes, schema=SURVEY, name="service", added=""):
    """The single fault of the example with changes."""
    found = faults(edited(example(name), changes, added), schema)
    assert len(found) == 1, [str(fault) for fault in found]
    return found[0]


def line(text, start):
    return next(number for number, row in enumerate(text.split("\n"), 1) if row.startswith(start))


def test_the_examples_load():
    for name, schema in (("service", SURVEY), ("kit_two_branches", KIT), ("kit_single_branch", KIT), ("rules", RULES)):
        assert load_text(schema, example(name), name).name == name


def test_all_faults_of_a_file_at_once_each_with_its_line():
    text = edited(example("service"), {"pipe.wall": '"3,2 mm"', "pipe.deepest_pit": '"0.1 kg"', "job.reason": '"whim"',
                                       "site.leg_length": '"10..9 m"', "window.end": None, "person[1].role": '"boss"',
                                       "supply.colour": '"red"', "site.barometer": '"1009 mbar"'})
    found = faults(text)
    assert len(found) == 8
    for key in ("wall", "deepest_pit", "reason", "leg_length", "colour", "barometer"):
        fault = next(fault for fault in found if fault.place.endswith(f".{key}"))
        assert f"file.toml, line {line(text, f'{key} =')}," in fault.place
    missing = next(fault for fault in found if fault.place.endswith("window.end"))
    assert f"line {line(text, '[window]')}," in missing.place  # a key that is not there stands in its section
    assert all(fault.what.endswith((".", ")")) and fault.fix for fault in found)


def test_all_faults_of_all_files_at_once(tmp_path):
    paths = {}
    for name, example_name, change in (("survey", "service", {"pipe.wall": '"thick"'}),
                                       ("kit", "kit_two_branches", {"travel.counted_from": None}),
                                       ("rules", "rules", {"cut.breakthrough_time": None})):
        paths[name] = tmp_path / f"{name}.toml"
        paths[name].write_text(edited(example(example_name), change), encoding="utf-8")
    with pytest.raises(InputFaults) as caught:
        load_job(**paths)
    assert [fault.place.partition(",")[0] for fault in caught.value.faults] == ["survey.toml", "kit.toml", "rules.toml"]


@pytest.mark.parametrize("written,nearest", [("outside_diametre", "outside_diameter"), ("wal", "wall"),
                                             ("identity_proof", "identity_proofs")])
def test_an_unknown_key_is_told_the_nearest_known_one(written, nearest):
    assert one({f"pipe.{written}": '"1 mm"'}).fix == f"Did you mean '{nearest}'?"


def test_an_unknown_key_inside_a_fact_and_an_unknown_section():
    assert "'uncertainty'" in one({"pipe.wall": '{ value = "3 mm", uncertainy = "0.1 mm" }'}).fix
    fault = one({}, added="\n[pressures]\nx = 1\n")
    assert "'pressures' is not known" in fault.what and "'pressure'" in fault.fix


@pytest.mark.parametrize("missing", ["by", "when"])
def test_measured_by_nobody_or_never_is_no_measurement(missing):
    found = faults(edited(example("service"), {f"electrical.{missing}": None}))
    assert len(found) == 2
    assert all("is measured, but not by whom and when" in fault.what for fault in found)


def test_how_a_fact_is_known_must_be_said():
    found = faults(edited(example("service"), {"electrical.how": None}))
    assert len(found) == 2 and all("not said how" in fault.what for fault in found)
    found = faults(edited(example("service"), {"electrical.how": '"guessed"'}))
    assert len(found) == 2


@pytest.mark.parametrize("blank", ['""', '" "', "[]", "{}", "5", "true", '{ value = "" }', "{ readings = [] }"])
def test_a_blank_is_no_fact(blank):
    assert one({"pipe.wall": blank}).place.endswith("pipe.wall")


@pytest.mark.parametrize("blank", ['""', '"  "'])
def test_a_blank_is_no_text(blank):
    assert "not text" in one({"job.asset": blank}).what


def test_a_blank_is_no_proof():
    """Two proofs are wanted; a blank line in the list must not be one of them."""
    assert "blank" in one({"pipe.identity_proofs": '["tone traced both ways", ""]'}).what
    assert "blank" in one({"pressure.maximum_operating_pressure_sources": '["plate", " "]'}).what


def test_a_decimal_comma():
    fault = one({"site.clear_length": '"640,5 mm"'})
    assert "comma" in fault.what and "decimal point" in fault.fix


def test_absolute_for_gauge_and_gauge_for_absolute():
    fault = one({"pressure.operating": '"1043 mbara"'})
    assert "is an absolute pressure; a gauge one is wanted" in fault.what and "Take off the barometer" in fault.fix
    fault = one({"site.barometer": '"1009 mbar"'})
    assert "is a gauge pressure; an absolute one is wanted" in fault.what


def test_a_wrong_unit_names_the_right_ones():
    fault = one({"site.clear_length": '"640 kg"'})
    assert "'kg'" in fault.what and "mm" in fault.fix
    assert "no unit" in one({"site.clear_length": '"640"'}).what


def test_a_number_out_of_bounds_says_the_bound_in_the_same_unit():
    fault = one({"pipe.outside_diameter": '"33.7 cm"'})
    assert "33.7 cm is more than this can be (20.0 cm)" in fault.what


def test_an_infinite_number_is_no_limit():
    """A limit of 1e999 mbar would be met by anything."""
    fault = one({"pressure.maximum_operating_pressure": '{ value = "1e999 mbar", source = "common practice" }'}, RULES,
                "rules")
    assert "larger than any number" in fault.what


@pytest.mark.parametrize("key,value", [("travel.after_full_hole", "-5 mm"), ("travel.share_of_off_centre", "-50 %"),
                                       ("people.least", "-1"), ("letby.leak_rate", "-0.1 l/h")])
def test_a_negative_limit_is_no_limit(key, value):
    """A negative share of the off-centre once made its check vanish without a word."""
    fault = one({key: f'{{ value = "{value}", source = "common practice" }}'}, RULES, "rules")
    assert "is less than this can be" in fault.what


def test_unknown_is_refused_where_it_cannot_be():
    assert "cannot be unknown" in one({"site.barometer": NOBODY_KNOWS}).what
    fault = one({"pipe.wall": '{ value = "unknown", readings = ["3.1 mm"] }'})
    assert "either one value or a list" in fault.what  # readings are never thrown away for an "unknown" beside them


def test_a_limit_without_a_source():
    fault = one({"cut.breakthrough_time": '{ value = "10 s" }'}, RULES, "rules")
    assert "has no source" in fault.what


@pytest.mark.parametrize("path,value,word", [
    ("job.reason", '"renewl"', "renewal"), ("person[0].expires", '"soon"', "not a date"),
    ("person[0].expires", "2031-01-31T00:00:00Z", "not a date"), ("window.start", "2030-05-14T08:00:00", "zone"),
    ("fed[0].needs_care", '"false"', "true or false"), ("pipe.identity_proofs", '"one"', "list of texts"),
    ("pipe.identity_proofs", "[1, 2]", "list of texts")])
def test_plain_values_of_the_wrong_kind(path, value, word):
    fault = one({path: value})
    assert word in fault.what and fault.place.endswith(path)


@pytest.mark.parametrize("value", ["-1", "1.5", "true", '"4"'])
def test_a_count_is_a_whole_number(value):
    assert "whole number" in one({"saw[0].holes_cut": value}, KIT, "kit_two_branches").what


def test_a_table_where_an_array_of_tables_is_wanted_is_not_passed_over():
    """[permit] for [[permit]] would silently be no permit; [district] no profile."""
    text = example("service").replace("[[permit]]", "[permit]")
    assert any("permit" in fault.place and "[[permit]]" in fault.fix for fault in faults(text))
    with pytest.raises(InputFaults):
        load_text(KIT, 'valve = "x"\n' + example("kit_two_branches").replace("[[valve]]", "[[valves]]"), "kit")
    assert faults('permit = [1, 2]\n' + edited(example("service"), {"permit[0]": None}))


def test_a_missing_section_and_a_missing_row():
    assert "section [site]" in one({"site": None}).what
    assert "no [[fed]]" in one({"fed[0]": None}).what


def test_another_format_or_version():
    fault = one({".format": '"stillbore survey 2"'})
    assert "version 1" in fault.what and 'format = "stillbore survey 1"' in fault.fix


def test_a_range_with_uncertainty_and_readings():
    file = load_text(SURVEY, edited(example("service"), {
        "pipe.wall": '{ readings = ["3.0..3.2 mm", "3.4 mm"], uncertainty = "0.1 mm" }',
        "site.ground_temperature": '{ value = "10 degC", uncertainty = "1.5 K" }',
        "site.barometer": '{ value = "1009 mbara", uncertainty = "1 mbar" }'}), "x")
    wall = file.fact("pipe.wall")
    assert (wall.low, wall.value, wall.high) == pytest.approx((2.9e-3, (3.1e-3 + 3.4e-3) / 2, 3.5e-3))
    warmth = file.fact("site.ground_temperature")
    assert (warmth.low, warmth.value, warmth.high) == pytest.approx((281.65, 283.15, 284.65))
    assert file.fact("site.barometer").high == pytest.approx(101_000)


def test_an_uncertainty_is_one_positive_number():
    assert "negative" in one({"pipe.wall": '{ value = "3 mm", uncertainty = "-0.1 mm" }'}).what
    assert "range" in one({"pipe.wall": '{ value = "3 mm", uncertainty = "0.1..0.2 mm" }'}).what


@pytest.mark.parametrize("composition,word", [("CH4 0.9", "add up to 0.9"), ("CH4 1.2, N2 -0.2", "negative"),
                                              ("CH5 1.0", "not a known component"), ("CH4 0.5, CH4 0.5", "repeated")])
def test_a_composition_that_is_none(composition, word):
    assert word in one({"gas.composition": f'"{composition}"'}).what


# Hostile and huge


HOSTILE = {
    "not TOML": "this is [not",
    "a megabyte of text": 'format = "stillbore survey 1"\nnote = "' + "x" * 1_000_000 + '"',
    "a megabyte of digits": '[pipe]\nhow = "record"\nwall = "' + "1" * 1_000_000 + ' mm"',
    "a megabyte of spaces": '[pipe]\nhow = "record"\nwall = "1' + " " * 1_000_000 + 'x"',
    "ten thousand tables": "[[person]]\n" * 10_000,
    "deep arrays": "a = " + "[" * 5_000 + "]" * 5_000,
    "deep inline tables": "a = " + "{ b = " * 3_000 + "1" + "}" * 3_000,
    "deep header": "[" + ".".join(["a"] * 3_000) + "]",
    "an endless integer": "a = " + "9" * 5_000,
    "NUL": 'format = "stillbore survey 1"\x00',
    "a date that is none": "a = 2030-02-31",
    "empty": "",
    "a repeated key": "a = 1\na = 2",
    "a lone surrogate": '"\\ud800" = 1',
}


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_hostile_text_gives_faults_and_no_traceback(name, schema):
    found = faults(HOSTILE[name], schema)
    assert found and all(fault.what and fault.fix for fault in found)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"format = \"\xe9\"", bytes(range(256))])
def test_a_file_that_is_not_utf_8(tmp_path, content):
    path = tmp_path / "survey.toml"
    path.write_bytes(content)
    with pytest.raises(InputFaults, match="not UTF-8"):
        load(SURVEY, path)


def test_a_directory_a_missing_file_and_no_path_at_all(tmp_path):
    for path in (tmp_path, tmp_path / "none.toml", tmp_path / "a\0b"):
        with pytest.raises(InputFaults, match="cannot be read"):
            load(SURVEY, path)


@pytest.mark.parametrize("value", ['"x"', "1", "1.5", "true", "[]", "{}", "[[]]", "2030-01-01", "nan", "inf", '""',
                                   '{ value = {} }', '{ readings = [{}] }', '{ readings = "3 mm" }',
                                   '{ uncertainty = 3 }', '{ value = 3, how = [] }', '[{ value = "3 mm" }]'])
@pytest.mark.parametrize("name,schema", [("service", SURVEY), ("kit_two_branches", KIT), ("rules", RULES)])
def test_any_value_at_any_key_gives_faults_and_no_traceback(name, schema, value):
    text = example(name)
    for block, lines in blocks(text):
        for row in lines:
            key = row.partition(" =")[0]
            if " =" in row and not row.startswith("#"):
                try:
                    load_text(schema, edited(text, {f"{block}.{key}": value}), "x")
                except InputFaults as error:
                    assert error.faults
