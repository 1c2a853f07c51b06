"""A job file written from plain data is read back as the same data, by Python's own TOML reader."""

import tomllib
from datetime import date, datetime

from hypothesis import given
from hypothesis import strategies as st

from stillbore.job.files import example_text
from stillbore.job.survey import SURVEY
from stillbore.job.toml_text import toml_text

TEXT = st.text(st.characters(blacklist_categories=["Cs"]), min_size=1)
VALUES = st.one_of(TEXT, st.booleans(), st.integers(0, 10**9), st.dates(), st.lists(TEXT),
                   st.datetimes(timezones=st.just(datetime.fromisoformat("2030-01-01T00:00:00+02:00").tzinfo)),
                   st.dictionaries(st.sampled_from(["value", "by", "a b", 'q"']), TEXT, min_size=1))


@given(st.dictionaries(TEXT, VALUES, min_size=1), st.lists(st.dictionaries(TEXT, VALUES), max_size=3))
def test_what_is_written_is_read_back(job, people):
    found = tomllib.loads(toml_text(SURVEY, {"job": job, "person": people, "unheard of": {"x": "y"}}))
    assert found == {"format": "stillbore survey 1", "job": job} | ({"person": people} if people else {})


def test_what_is_blank_is_left_out_and_the_example_is_the_same_again():
    blank = {"job": {"id": "", "asset": None}, "window": {"start": date(2030, 1, 1)}}
    assert tomllib.loads(toml_text(SURVEY, blank)) == {"format": "stillbore survey 1", "job": {},
                                                      "window": {"start": date(2030, 1, 1)}}
    example = tomllib.loads(example_text("service.toml"))
    assert tomllib.loads(toml_text(SURVEY, example)) == example
