"""Spoilt copies of a text: bytes changed, values changed for strange ones, lines moved. Drawn by hypothesis, so that a
find is made small and comes back."""

import re

from hypothesis import strategies as st

# What may stand behind "key =" in TOML, and what may stand in a quantity.
STRANGE = (
    "inf", "-inf", "nan", "0", "-1", "1e308", "9" * 400, "true", "false", "[]", "{}", "[[]]", "[[1, 2], [3]]", "[1.5]",
    '[""]', '["x", 1]', "{ value = 1 }", "{ value = [] }", "{ readings = [] }", '{ readings = [1, "2 mm"] }',
    '{ value = "1 mm", how = 3 }', '{ value = "1 mm", when = "now" }', '{ value = "unknown", readings = ["1 mm"] }',
    '{ readings = ["unknown"] }', '{ value = "1 mm", uncertainty = [] }', '{ value = "1 mm", how = ["measured"] }',
    '{ value = {} }', "{ value.value = 1 }", "2030-05-14", "07:30:00", "2030-05-14T07:30:00", "0001-01-01T00:00:00Z",
    "9999-12-31T23:59:59+23:59", '""', '" "', '"unknown"', '"1e400 mm"', '"1e-400 mm"', '"-0 mm"', '"1..2..3 mm"',
    '"1 +/- 1e300 mm"', '"1e300..1e308 m"', '"0..0 mm"', '"٣ mm"', '"1 \\u0000"', '"NaN mm"', '"inf mm"', '"1_0 mm"',
    '"CH4 1e999"', '"CH4 nan"', '"CH4 1, CH4 0"', '"CH4 0.5..0.5"', '"H2 1.0"', "'''\nx\n'''", '"\\ud800"', '"{0}"')
WORDS = ("[", "]", "[[", "]]", '"', "'", "=", ".", "#", "\n", "\r", "\0", "\t", "é", "🜁", "\ufeff", "{", "}", ",")
_VALUE = re.compile(r"^([\w-]+ = )(.+)$", re.MULTILINE)


@st.composite
def spoilt_bytes(draw, text):
    """The bytes of a text with a few changed, taken out, put in or doubled."""
    data = bytearray(text.encode("utf-8"))
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, max(len(data) - 1, 0)))
        way = draw(st.sampled_from(["change", "take out", "put in", "cut", "double"]))
        if way == "change" and data:
            data[place] = draw(st.integers(0, 255))
        elif way == "take out":
            del data[place:place + draw(st.integers(1, 40))]
        elif way == "put in":
            data[place:place] = draw(st.sampled_from(WORDS).map(str.encode) | st.binary(max_size=6))
        elif way == "cut" and draw(st.booleans()):
            del data[place:]
        elif way == "double":
            data[place:place] = data[place:place + draw(st.integers(1, 200))]
    return bytes(data)


@st.composite
def strange_values(draw, text):
    """A TOML text in which up to three values are strange."""
    for _ in range(draw(st.integers(1, 3))):
        found = draw(st.sampled_from(list(_VALUE.finditer(text))))
        text = text[:found.start(2)] + draw(st.sampled_from(STRANGE)) + text[found.end(2):]
    return text.encode("utf-8")


@st.composite
def moved_lines(draw, text):
    """A text in which lines are taken out, doubled, or stand elsewhere."""
    lines = text.split("\n")
    for _ in range(draw(st.integers(1, 4))):
        place, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        way = draw(st.sampled_from(["take out", "double", "move"]))
        if way == "take out" and len(lines) > 1:
            del lines[place]
        elif way == "double":
            lines.insert(other, lines[place])
        else:
            lines.insert(other, lines.pop(place))
    return "\n".join(lines).encode("utf-8")


def spoilt(text):
    """A text spoilt in any of these ways."""
    return spoilt_bytes(text) | strange_values(text) | moved_lines(text)
