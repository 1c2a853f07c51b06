"""Survey, kit, rules and procedure with anything wrong in them: a clear error or a right answer, never a traceback.

What loads goes through the plan as well; what does not says what is wrong and how to mend it."""

import os
from dataclasses import replace

import pytest
from fuzzed import spoilt
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from variants import PACKAGE, example, procedure

from stillbore.errors import InputFaults, StillboreError
from stillbore.job.files import load_job
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load, load_text
from stillbore.job.survey import SURVEY
from stillbore.plan import plan
from stillbore.plan.export import plan_json
from stillbore.record.canonical import canonical
from stillbore.run.basis import basis

TEXTS = {"survey": (SURVEY, example("service")), "kit": (KIT, example("kit_two_branches")),
         "rules": (RULES, example("rules")), "procedure": (PROCEDURE, procedure("two_branches"))}
FILES = load_job(PACKAGE / "examples" / "service.toml")
EXAMPLES = int(os.environ.get("FUZZ", "120"))  # each; more by hand: FUZZ=5000 pytest tests/job/test_fuzzed_files.py


def told(error):
    """Every fault has words: where, what, and how to mend it."""
    faults = error.faults if isinstance(error, InputFaults) else [error]
    assert faults
    for fault in faults:
        assert fault.what and fault.fix
        str(fault).encode("utf-8", "replace")


@pytest.mark.parametrize("kind", TEXTS)
@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_spoilt_file_is_refused_in_words_or_read(kind, data, tmp_path):
    schema, text = TEXTS[kind]
    path = tmp_path / "file.toml"
    path.write_bytes(data.draw(spoilt(text)))
    try:
        file = load(schema, path)
    except InputFaults as error:
        told(error)
        return
    assert file.text.encode("utf-8") == path.read_bytes()  # the hash is that of the file, to the byte
    try:
        made = plan(replace(FILES, **{kind: file}))
    except StillboreError as error:
        told(error)
        return
    canonical(plan_json(made))  # every number finite, every text whole
    basis(made)


@pytest.mark.parametrize("kind", TEXTS)
def test_the_spoilers_leave_something_to_read(kind):
    """The tests above are worth nothing if every spoilt file falls at the first byte."""
    schema, text = TEXTS[kind]
    read, refused = [], []

    @settings(max_examples=200, database=None, derandomize=True, deadline=None)
    @given(spoilt(text))
    def count(content):
        try:
            load_text(schema, content.decode("utf-8"), "x")
            read.append(1)
        except (InputFaults, UnicodeDecodeError):
            refused.append(1)

    count()
    assert len(read) >= 10 and len(refused) >= 50


@given(st.binary(max_size=200))
def test_any_bytes_at_all(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("any") / "file.toml"
    path.write_bytes(content)
    with pytest.raises(InputFaults) as caught:
        load(SURVEY, path)
    told(caught.value)
