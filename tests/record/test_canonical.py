"""Canonical JSON against the printed examples of RFC 8785 and against the library rfc8785, which shares no code."""

import json
import math
import struct

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from stillbore.errors import StillboreError
from stillbore.record.canonical import LARGEST_WHOLE, canonical, number

# RFC 8785, appendix B: IEEE 754 bits and the text they must give.
APPENDIX_B = [
    ("0000000000000000", "0"), ("8000000000000000", "0"), ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"), ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"), ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"), ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"), ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"), ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"), ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"), ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"), ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"), ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"), ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2")]


@pytest.mark.parametrize("bits,text", APPENDIX_B)
def test_numbers_of_appendix_b(bits, text):
    value = struct.unpack(">d", bytes.fromhex(bits))[0]
    assert number(value) == text


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_numbers_of_appendix_b_that_are_errors(bits):
    with pytest.raises(StillboreError, match="no number"):
        canonical(struct.unpack(">d", bytes.fromhex(bits))[0])


def test_the_example_of_section_3_2_2():
    """The data of section 3.2.2 give the text of section 3.2.3."""
    data = json.loads('{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001], '
                      r'"string": "\u20ac$\u000F\u000aA' "'" r'\u0042\u0022\u005c\\\"\/", '
                      '"literals": [null, true, false]}')
    assert canonical(data).decode() == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"\u20ac$\\u000f\\nA' "'" 'B\\"\\\\\\\\\\"/"}')


def test_keys_in_the_order_of_section_3_2_3():
    """UTF-16 code units: the emoji's surrogates come before the Hebrew letter, which code points would put after."""
    data = {"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
            "\U0001f600": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"}
    assert list(json.loads(canonical(data))) == ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]


TEXTS = st.text(st.characters(exclude_categories=("Cs",)))
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST_WHOLE, LARGEST_WHOLE) | st.floats(allow_nan=False,
                                                                                      allow_infinity=False) | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4), max_leaves=12)


@settings(max_examples=300, deadline=None)
@given(PLAIN)
def test_the_same_bytes_as_another_writer_and_read_back_the_same(data):
    written = canonical(data)
    assert written == rfc8785.dumps(data)
    assert canonical(json.loads(written, parse_int=float)) == written  # a whole float is written without its point


@settings(max_examples=2000, deadline=None)
@given(st.integers(0, 2**64 - 1))
def test_every_float_as_another_writer(bits):
    value = struct.unpack(">d", bits.to_bytes(8, "big"))[0]
    if math.isfinite(value):
        assert number(value).encode() == rfc8785.dumps(value)
        assert float(number(value)) == value


@pytest.mark.parametrize("data", ["\ud800", {"\udfff": 1}, 2**53, -(2**53), 10**400, [-(10**5000)], {1: 2},
                                  {"x": object()}, math.nan])
def test_what_json_cannot_hold_is_refused(data):
    with pytest.raises(StillboreError, match="canonical JSON"):
        canonical(data)


def test_nesting_too_deep_is_refused():
    data = []
    for _ in range(100_000):
        data = [data]
    with pytest.raises(StillboreError, match="nested too deep"):
        canonical(data)
