"""The line of every key, in TOML that is hard to scan."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from variants import SINGLE_BRANCH, TWO_BRANCHES, example

from stillbore.job.lines import key_lines


def lines_of(text):
    tomllib.loads(text)  # the scanner is only ever given what is TOML
    return key_lines(text)


def test_tables_and_keys():
    text = 'format = "x"\n\n[pipe]\nwall = "3 mm"  # a [comment] = with {all}\n\n[site]\nlength = "1 m"\n'
    assert lines_of(text) == {
        "format": 1, "pipe": 3, "pipe.wall": 4, "site": 6, "site.length": 7}


def test_arrays_of_tables_are_counted():
    found = lines_of("[[saw]]\nid = 1\n[[stopper]]\nid = 2\n[[saw]]\nid = 3\n")
    assert found == {"saw[0]": 1, "saw[0].id": 2, "stopper[0]": 3, "stopper[0].id": 4, "saw[1]": 5, "saw[1].id": 6}


def test_a_table_inside_an_array_of_tables_belongs_to_its_row():
    found = lines_of("[[saw]]\n[saw.diameter]\nvalue = 1\n[[saw]]\n[saw.diameter]\nvalue = 2\n[[saw.tooth]]\nid = 3\n")
    assert found["saw[0].diameter.value"] == 3
    assert found["saw[1].diameter.value"] == 6
    assert found["saw[1].tooth[0].id"] == 8


def test_an_array_over_many_lines_hides_what_looks_like_keys():
    found = lines_of('[pipe]\nwall = { readings = [\n  "3 mm",  # ] not the end\n  "a = 1",\n  "[site]",\n]}\nod = 2\n')
    assert found == {"pipe": 1, "pipe.wall": 2, "pipe.od": 7}


@pytest.mark.parametrize("quotes", ['"""', "'''"])
def test_strings_over_many_lines_hide_everything(quotes):
    found = lines_of(f'a = {quotes}\n[table]\nb = 1\n"one quote\n[ and {{ stay open\n{quotes}\nc = 2\n')
    assert found == {"a": 1, "c": 7}


@pytest.mark.parametrize("value", ['"""one line with [ a bracket"""', "'''[ and {'''", '"[ in text"', "'{ in text'",
                                   '"a \\" quote and [ a bracket"', '"# no comment ["', '"ends in backslash \\\\"',
                                   '["[", "]"]', '"""quotes "" inside [ """', '{ a = "{", b = 1 }'])
def test_a_bracket_in_a_string_opens_nothing(value):
    found = lines_of(f"a = {value}\n[table]\nb = 1\n")
    assert found == {"a": 1, "table": 2, "table.b": 3}


def test_a_bracket_after_an_open_string_or_in_a_comment_opens_nothing():
    assert lines_of('a = """[abc\n# not a comment {\n"""  # a comment [\nb = 1\n') == {"a": 1, "b": 4}
    assert lines_of("a = 1 # '''\nb = 2 # [\nc = 3\n") == {"a": 1, "b": 2, "c": 3}


def test_dotted_and_quoted_keys():
    found = lines_of("a.b = 1\n'c d' = 2\n\"e\".f = 3\n[ g . h ]  # header\ni = 4\n")
    assert found == {"a.b": 1, "c d": 2, "e.f": 3, "g.h": 4, "g.h.i": 5}


def test_a_line_is_what_an_editor_calls_a_line():
    """A line separator inside a string is no new line in TOML, though Python's splitlines takes it for one."""
    assert lines_of('a = "x\u2028y\x85z"\nb = 1\n') == {"a": 1, "b": 2}
    assert lines_of("a = 1\r\nb = 2\r\n")["b"] == 2


@pytest.mark.parametrize("name", ["service", "rules", TWO_BRANCHES, SINGLE_BRANCH])
def test_every_key_of_the_examples_has_the_line_it_stands_on(name):
    text = example(name)
    found = key_lines(text)
    written = text.split("\n")
    assert len(found) > 20
    for path, number in found.items():
        last = path.rpartition(".")[2].partition("[")[0]
        assert last in written[number - 1], path


STRINGS = st.text(alphabet="ab[]{}#='\\ \"", max_size=12).map(
    lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"')


@given(st.lists(STRINGS, min_size=1, max_size=6))
def test_any_text_as_a_value_leaves_the_lines_as_they_are(values):
    found = lines_of("".join(f"k{number} = {value}\n" for number, value in enumerate(values)))
    assert found == {f"k{number}": number + 1 for number in range(len(values))}
