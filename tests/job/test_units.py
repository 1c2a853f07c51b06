"""Text in, SI out, and back: for every unit that may be written."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillbore.errors import UnitError
from stillbore.units import UNITS, parse, parse_composition, parse_exact, show, to_unit, unit_written, written_units

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


# NIST Special Publication 811 (2008), appendix B.8, "to convert from ... to ..., multiply by"; from memory, to the
# seven figures printed there.
NIST_SP_811 = (
    ("m", "in", 2.54e-2), ("m", "ft", 3.048e-1), ("m", "yd", 9.144e-1), ("m2", "in2", 6.4516e-4),
    ("m2", "ft2", 9.290304e-2), ("m3", "in3", 1.638706e-5), ("m3", "ft3", 2.831685e-2), ("m4", "in4", 4.162314e-7),
    ("section modulus m3", "in3", 1.638706e-5), ("m3/s", "ft3/h", 7.865791e-6), ("m3/s", "cfh", 7.865791e-6),
    ("m/s", "ft/s", 3.048e-1), ("m2/s", "ft2/s", 9.290304e-2), ("kg", "lb", 4.535924e-1), ("kg", "oz", 2.834952e-2),
    ("kg/m", "lb/ft", 1.488164), ("kg/m3", "lb/ft3", 1.601846e1), ("kg/s", "lb/h", 1.259979e-4),
    ("kg/s", "lb/s", 4.535924e-1), ("K difference", "degF", 5.555556e-1), ("Pa", "psi", 6.894757e3),
    ("Pa gauge", "psig", 6.894757e3), ("Pa abs", "psia", 6.894757e3), ("Pa gauge", "in w.c.", 2.490889e2),
    ("Pa", "inH2O", 2.490889e2), ("Pa abs", "inHg", 3.386389e3), ("N", "lbf", 4.448222), ("N m", "lbf ft", 1.355818),
    ("N/m", "lbf/ft", 1.459390e1), ("W", "Btu/h", 2.930711e-1), ("J/m3", "Btu/ft3", 3.725895e4),
    ("J/kg", "Btu/lb", 2.326e3))


@pytest.mark.parametrize("si,unit,factor", NIST_SP_811, ids=lambda value: str(value).replace("/", " per "))
def test_inch_pound_units_are_those_of_nist(si, unit, factor):
    assert parse(f"1 {unit}", si).value == pytest.approx(factor, rel=3e-7)


@pytest.mark.parametrize("si,unit,name", [
    ("m", "in", "inch"), ("m", "ft", "foot"), ("kg", "lb", "pound"), ("kg", "oz", "oz"), ("Pa", "psi", "psi"),
    ("N", "lbf", "pound_force"), ("Pa abs", "psia", "psi")])
def test_inch_pound_units_are_those_of_scipy(si, unit, name):
    constants = pytest.importorskip("scipy.constants")
    assert parse(f"1 {unit}", si).value == pytest.approx(getattr(constants, name), rel=1e-15)


def test_the_thermal_unit_is_that_of_scipy():
    constants = pytest.importorskip("scipy.constants")
    assert parse("1 Btu/h", "W").value == pytest.approx(constants.Btu_IT / 3600, rel=1e-12)


@pytest.mark.parametrize("fahrenheit,celsius", [(32, 0), (212, 100), (-40, -40)])  # by definition of the scale
def test_fahrenheit(fahrenheit, celsius):
    assert parse(f"{fahrenheit} degF", "K").value == pytest.approx(273.15 + celsius, rel=1e-12)


def test_a_warmth_in_fahrenheit_is_a_difference():
    assert parse("9 degF", "K difference").value == pytest.approx(5.0, rel=1e-12)
    assert parse("18 uin/(in degF)", "1/K").value == pytest.approx(32.4e-6, rel=1e-12)


def test_in_and_in_w_c_are_two_units():
    """Read and told apart: a length cannot be a pressure."""
    assert parse("7 in w.c.", "Pa gauge").value == pytest.approx(1743.6, abs=0.05)
    assert unit_written("6..8 in w.c.", "Pa gauge") == "in w.c."
    for text, si in (("7 in", "Pa gauge"), ("7 in w.c.", "m"), ("29.8 inHg", "Pa gauge")):
        with pytest.raises(UnitError):
            parse(text, si)


def test_a_gauge_pressure_in_psi_is_no_absolute_one():
    with pytest.raises(UnitError, match="gauge pressure; an absolute one"):
        parse("0.5 psig", "Pa abs")
    with pytest.raises(UnitError, match="absolute pressure; a gauge one"):
        parse("14.7 psia", "Pa gauge")


@pytest.mark.parametrize("millimetres,text", [(33.6, "1.323 in"), (3.2, "0.126 in"), (480.0, "18.90 in"),
                                              (0.1, "0.00394 in")])
def test_an_inch_is_shown_as_finely_as_the_millimetres_it_stands_for(millimetres, text):
    """33.6 mm is 1.3228 in: 1.32 in would be 33.5 mm."""
    assert show(millimetres * 1e-3, "m", "in") == text
    assert parse(text, "m").value == pytest.approx(millimetres * 1e-3, abs=0.005 * millimetres * 1e-3)
