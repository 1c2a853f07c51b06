"""Text in, SI out, and back: for every unit that may be written."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillbore.errors import UnitError
from stillbore.units import UNITS, parse, parse_composition, parse_exact, show, to_unit, written_units

PAIRS = [(si, unit) for si, units in UNITS.items() for unit in units]
NUMBERS = st.floats(-1e6, 1e6).filter(lambda number: abs(number) > 1e-6 or number == 0)


@pytest.mark.parametrize("si,unit", PAIRS)
@settings(max_examples=25)
@given(number=NUMBERS)
def test_what_is_written_in_a_unit_comes_back_in_it(si, unit, number):
    quantity = parse(f"{number!r} {unit}", si)
    assert quantity.low == quantity.value == quantity.high
    assert to_unit(quantity.value, si, unit) == pytest.approx(number, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("si,unit", PAIRS)
@settings(max_examples=25)
@given(ends=st.tuples(NUMBERS, NUMBERS).map(sorted))
def test_a_range_keeps_its_ends_and_has_no_best_value(si, unit, ends):
    low, high = ends
    quantity = parse(f"{low!r}..{high!r} {unit}", si)
    assert quantity.value is None
    assert to_unit(quantity.low, si, unit) == pytest.approx(low, rel=1e-9, abs=1e-9)
    assert to_unit(quantity.high, si, unit) == pytest.approx(high, rel=1e-9, abs=1e-9)
    if low < high:
        with pytest.raises(UnitError, match="runs backwards"):
            parse(f"{high!r}..{low!r} {unit}", si)


@pytest.mark.parametrize("si,unit", PAIRS)
@settings(max_examples=25)
@given(number=NUMBERS, spread=st.floats(0.0, 1e3))
def test_an_uncertainty_is_a_difference(si, unit, number, spread):
    """On a temperature scale too: 10 +/- 1 degC spans two kelvin."""
    quantity = parse(f"{number!r} +/- {spread!r} {unit}", si)
    rounding = max(1e-14 * max(abs(quantity.low), abs(quantity.high)), 1e-300)  # below it floats lose digits
    assert quantity.high - quantity.low == pytest.approx(2 * spread * UNITS[si][unit][0], rel=1e-9, abs=rounding)


@pytest.mark.parametrize("si", UNITS)
def test_what_is_shown_can_be_read_again(si):
    """In the unit it is shown in; to the figures shown."""
    for unit in UNITS[si]:
        text = show(12.3456 * UNITS[si][unit][0] + UNITS[si][unit][1], si, unit)
        assert to_unit(parse(text, si).low, si, unit if text.endswith(unit) else "") == pytest.approx(12.3, abs=0.06)


def test_written_units_are_readable():
    for si in UNITS:
        for name in written_units(si).split(", "):
            if name != "a plain number":
                parse(f"1 {name}", si)


@pytest.mark.parametrize("text", ["", "mm", "3 mm 4", "3..", "..4 mm", "3 mm..4 mm", "1/2 in", "3-4 mm", "--3 mm",
                                  "3 +- 1 mm", "0x10 mm", "nan mm", "inf mm", "1e999 mm", "1..1e999 mm", "3 mm mm",
                                  "3,2 mm", "3 +/- -1 mm", "NaN", "1_000 mm"])
def test_what_is_no_quantity_is_refused(text):
    with pytest.raises(UnitError):
        parse(text, "m")


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text):
    for si in ("m", "-", "Pa gauge", "K"):
        try:
            quantity = parse(text, si)
        except UnitError as error:
            assert error.what and error.fix
        else:
            assert quantity.low <= quantity.high


def test_one_number_is_not_a_range():
    with pytest.raises(UnitError, match="range"):
        parse_exact("1..2 mm", "m")
    assert parse_exact("2 mm", "m") == pytest.approx(0.002)


@given(st.lists(st.integers(1, 1000), min_size=2, max_size=3))
def test_a_composition_round_trips(parts):
    names = ("CH4", "N2", "H2")[:len(parts)]
    total = sum(parts)
    text = ", ".join(f"{name} {part / total!r}" for name, part in zip(names, parts, strict=True))
    assert sorted(number for number in parse_composition(text) if number) == pytest.approx(
        sorted(part / total for part in parts))
