"""The published JSON Schemas: the committed files are the generated ones, and loader and schema agree."""

import json
import tomllib
from datetime import date
from pathlib import Path

import jsonschema
import pytest
from test_template import uncommented
from variants import edited, example, procedure

from stillbore.errors import InputFaults
from stillbore.job.json_schema import json_schema, text_of, write
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.survey import SURVEY
from stillbore.job.template import template

COMMITTED = Path(__file__).parents[2] / "docs" / "schemas"
SCHEMAS = (SURVEY, KIT, RULES, PROCEDURE)
EXAMPLES = [("service", SURVEY, example("service")), ("kit A", KIT, example("kit_two_branches")),
            ("kit B", KIT, example("kit_single_branch")), ("rules", RULES, example("rules")),
            ("procedure A", PROCEDURE, procedure("two_branches")),
            ("procedure B", PROCEDURE, procedure("single_branch"))]
EXAMPLES += [(f"template {schema.name}", schema, uncommented(template(schema))) for schema in SCHEMAS]


def as_json(text):
    """TOML as the JSON that the schema describes: dates and times as ISO text."""
    return json.loads(json.dumps(tomllib.loads(text), default=lambda value: value.isoformat()
                                 if isinstance(value, date) else str(value)))


def schema_refuses(text, schema):
    validator = jsonschema.Draft202012Validator(json_schema(schema))
    return next(validator.iter_errors(as_json(text)), None) is not None


def loader_refuses(text, schema):
    try:
        load_text(schema, text, "x")
    except InputFaults:
        return True
    return False


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_the_committed_file_is_the_generated_one(schema):
    committed = (COMMITTED / f"{schema.name}.schema.json").read_text(encoding="utf-8")
    assert committed == text_of(schema), "run: python -m stillbore.job.json_schema docs/schemas"


def test_the_command_writes_one_file_for_each(tmp_path):
    names = {path.name for path in write(tmp_path)}
    assert names == {f"{schema.name}.schema.json" for schema in SCHEMAS}  # the rest of the folder: tests/run


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_it_is_a_json_schema(schema):
    jsonschema.Draft202012Validator.check_schema(json_schema(schema))


@pytest.mark.parametrize("name,schema,text", EXAMPLES, ids=[name for name, _, _ in EXAMPLES])
def test_the_shipped_files_validate(name, schema, text):
    jsonschema.Draft202012Validator(json_schema(schema)).validate(as_json(text))
    assert not loader_refuses(text, schema)


FAULTY = {
    "unknown key": (SURVEY, {"pipe.wal": '"3 mm"'}),
    "missing key": (SURVEY, {"job.asset": None}),
    "missing section": (SURVEY, {"site": None}),
    "missing row": (SURVEY, {"fed[0]": None}),
    "wrong format": (SURVEY, {".format": '"stillbore survey 9"'}),
    "wrong choice": (SURVEY, {"supply.feeds": '"three sides"'}),
    "blank text": (SURVEY, {"job.id": '" "'}),
    "blank proof": (SURVEY, {"pipe.identity_proofs": '["", "x"]'}),
    "blank fact": (SURVEY, {"pipe.wall": '""'}),
    "number without a unit": (SURVEY, {"pipe.wall": "3.2"}),
    "text without a unit": (SURVEY, {"pipe.wall": '"3.2"'}),
    "wrong unit": (SURVEY, {"pipe.wall": '"3.2 kg"'}),
    "decimal comma": (SURVEY, {"pipe.wall": '"3,2 mm"'}),
    "absolute for gauge": (SURVEY, {"pressure.operating": '"1043 mbara"'}),
    "gauge for absolute": (SURVEY, {"site.barometer": '"1009 mbar"'}),
    "unknown where it cannot be": (SURVEY, {"site.barometer": '"unknown"'}),
    "value and readings": (SURVEY, {"pipe.wall": '{ value = "3 mm", readings = ["3 mm"] }'}),
    "no value": (SURVEY, {"pipe.wall": '{ instrument = "U3" }'}),
    "no readings": (SURVEY, {"pipe.wall": "{ readings = [] }"}),
    "uncertainty that is a range": (SURVEY, {"pipe.wall": '{ value = "3 mm", uncertainty = "0.1..0.2 mm" }'}),
    "measured by nobody": (SURVEY, {"electrical.by": None}),
    "measured never": (SURVEY, {"electrical.when": None}),
    "not said how": (SURVEY, {"electrical.how": None}),
    "measured in the fact only": (SURVEY, {"fed[0].heat_input": '{ value = "30 kW", how = "measured" }'}),
    "not a date": (SURVEY, {"person[0].expires": '"soon"'}),
    "no zone": (SURVEY, {"window.start": "2030-05-14T08:00:00"}),
    "not a flag": (SURVEY, {"fed[0].needs_care": '"no"'}),
    "unknown component": (SURVEY, {"gas.composition": '"CH5 1.0"'}),
    "no datum": (KIT, {"travel.counted_from": None}),
    "negative count": (KIT, {"saw[0].holes_cut": "-1"}),
    "fraction of a hole": (KIT, {"saw[0].holes_cut": "1.5"}),
    "missing limit": (RULES, {"letby.leak_rate": None}),
    "limit without a source": (RULES, {"letby.leak_rate": '{ value = "0.1 l/h" }'}),
    "bare limit": (RULES, {"letby.leak_rate": '"0.1 l/h"'}),
}
TEXTS = {SURVEY: example("service"), KIT: example("kit_two_branches"), RULES: example("rules")}


@pytest.mark.parametrize("name", FAULTY)
def test_a_faulty_document_is_refused_by_both(name):
    schema, changes = FAULTY[name]
    text = edited(TEXTS[schema], changes)
    assert loader_refuses(text, schema), "the loader takes it"
    assert schema_refuses(text, schema), "the schema takes it"


GOOD = {
    "unknown": {"pipe.wall": '"unknown"'},
    "unknown in a table": {"pipe.wall": '{ value = "unknown" }'},
    "a range": {"site.clear_length": '"600..700 mm"'},
    "an uncertainty": {"site.clear_length": '"640 +/- 5 mm"'},
    "a sign and an exponent": {"site.clear_length": '"+6.4e2 mm"'},
    "by in the fact, when in the section": {"electrical.by": None,
                                           "electrical.pipe_to_earth_voltage": '{ value = "0 V", by = "P2" }',
                                           "electrical.bond_current": '{ value = "0 A", by = "P1" }'},
    "a record among measurements": {"electrical.when": None,
                                    "electrical.pipe_to_earth_voltage": '{ value = "0 V", how = "record" }',
                                    "electrical.bond_current": '"unknown"'},
    "uncertainty of a temperature": {"site.ground_temperature": '{ value = "10 degC", uncertainty = "1 K" }'},
    "no permits": {"permit[0]": None},
}


@pytest.mark.parametrize("name", GOOD)
def test_what_the_loader_takes_the_schema_takes(name):
    text = edited(example("service"), GOOD[name])
    assert not loader_refuses(text, SURVEY)
    assert not schema_refuses(text, SURVEY)
