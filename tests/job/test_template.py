"""The commented file to fill in: it says nothing by itself, and its examples are valid as they stand."""

import re
import tomllib

import pytest

from stillbore.errors import InputFaults
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.survey import SURVEY
from stillbore.job.template import template

SCHEMAS = (SURVEY, KIT, RULES, PROCEDURE)
SUPPLIED = {"by": '"P2"', "when": "2030-05-14T08:50:00+00:00"}  # what "measured" needs, if an example says it


def uncommented(text):
    """The template with the # taken from each key and from the first word on how the facts are known."""
    lines = [line[2:] if re.match(r"^# [a-z_]+ = ", line) else line for line in text.splitlines()]
    out = []
    for line in lines:
        out.append(line)
        if line.startswith("how = "):
            out += [f"{key} = {value}" for key, value in SUPPLIED.items()]
    return "\n".join(out) + "\n"


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_the_template_is_toml_and_holds_no_value(schema):
    data = tomllib.loads(template(schema))
    assert data.pop("format") == schema.format
    for table in data.values():
        assert all(row == {} for row in (table if isinstance(table, list) else [table]))


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_the_template_as_it_is_lists_every_key_that_is_missing(schema):
    with pytest.raises(InputFaults) as caught:
        load_text(schema, template(schema), "new.toml")
    told = sorted(fault.place.rpartition(", ")[2] for fault in caught.value.faults)
    wanted = sorted(f"{section.key}{'[0]' if section.many else ''}.{field.key}" for section in schema.sections
                    for field in section.fields if not field.optional)
    assert told == wanted
    assert all("line " in fault.place and "is missing" in fault.what for fault in caught.value.faults)


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_every_example_in_the_schema_is_valid(schema):
    file = load_text(schema, uncommented(template(schema)), "filled.toml")
    for section in schema.sections:
        for field in section.fields:
            [row] = file.rows(section.key)
            assert field.key in (row.facts if field.kind in ("fact", "composition") else row.values)


def test_every_line_of_the_template_fits_a_page():
    for schema in SCHEMAS:
        assert max(len(line) for line in template(schema).splitlines()) <= 130


def test_the_uncommenting_finds_a_wrong_example():
    with pytest.raises(InputFaults):
        load_text(RULES, uncommented(template(RULES)).replace('"75 mbar"', '"75 mm"'), "x")
