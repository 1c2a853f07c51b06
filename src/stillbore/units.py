"""Units live at the edges: text with a unit goes in, SI floats come out, and back again.

A quantity is text: ``"33.6 mm"``, ``"21..36 mbar"`` (a range), ``"33.6 +/- 0.1 mm"``, ``"unknown"``.
Pressure has three kinds, because a gauge reading taken for an absolute one is off by an atmosphere:
``Pa gauge`` (plain mbar and kPa on a service), ``Pa abs`` (mbara, kPaa, bara) and ``Pa`` (a difference
or a stress). Inside the program everything is SI and carries no suffix.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass

from stillbore.errors import UnitError

# What the inch-pound units are made of, each exact by definition: the international foot, the avoirdupois pound, the
# standard acceleration of free fall, the British thermal unit of the International Table (NIST SP 811, appendix B,
# from memory), the conventional inch of water (1000 kg/m3) and of mercury (13595.1 kg/m3).
_INCH, _FOOT, _POUND, _GRAVITY = 0.0254, 0.3048, 0.45359237, 9.80665
_POUND_FORCE = _POUND * _GRAVITY
_PSI, _BTU = _POUND_FORCE / _INCH**2, 1055.05585262
_INCH_OF_WATER, _INCH_OF_MERCURY = 1000.0 * _GRAVITY * _INCH, 13595.1 * _GRAVITY * _INCH
_WATER_COLUMN = {"in w.c.": (_INCH_OF_WATER, 0.0), "inH2O": (_INCH_OF_WATER, 0.0)}

# SI unit -> {unit as written: (factor, offset)}: SI value = written value * factor + offset.
# The first unit of each row is the one shown when nobody asks for another.
UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "-": {"": (1.0, 0.0), "-": (1.0, 0.0), "%": (0.01, 0.0)},
    "m": {"mm": (1e-3, 0.0), "m": (1.0, 0.0), "cm": (1e-2, 0.0), "um": (1e-6, 0.0), "in": (_INCH, 0.0),
          "ft": (_FOOT, 0.0), "yd": (0.9144, 0.0)},
    "m2": {"mm2": (1e-6, 0.0), "cm2": (1e-4, 0.0), "m2": (1.0, 0.0), "in2": (_INCH**2, 0.0), "ft2": (_FOOT**2, 0.0)},
    "m3": {"l": (1e-3, 0.0), "ml": (1e-6, 0.0), "m3": (1.0, 0.0), "in3": (_INCH**3, 0.0), "ft3": (_FOOT**3, 0.0)},
    "m3/m": {"l/m": (1e-3, 0.0), "m3/m": (1.0, 0.0), "in3/ft": (_INCH**3 / _FOOT, 0.0)},
    "section modulus m3": {"mm3": (1e-9, 0.0), "m3": (1.0, 0.0), "in3": (_INCH**3, 0.0)},
    "m4": {"mm4": (1e-12, 0.0), "m4": (1.0, 0.0), "in4": (_INCH**4, 0.0)},
    "m2/s": {"m2/s": (1.0, 0.0), "mm2/s": (1e-6, 0.0), "ft2/s": (_FOOT**2, 0.0)},
    "m3/s": {"m3/h": (1 / 3600, 0.0), "l/h": (1e-3 / 3600, 0.0), "ml/min": (1e-6 / 60, 0.0),
             "l/min": (1e-3 / 60, 0.0), "l/s": (1e-3, 0.0), "m3/s": (1.0, 0.0), "ft3/h": (_FOOT**3 / 3600, 0.0),
             "cfh": (_FOOT**3 / 3600, 0.0), "in3/h": (_INCH**3 / 3600, 0.0)},
    "m/s": {"m/s": (1.0, 0.0), "ft/s": (_FOOT, 0.0)},
    "m/s2": {"m/s2": (1.0, 0.0), "ft/s2": (_FOOT, 0.0)},
    "s": {"s": (1.0, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
    "1/s": {"1/h": (1 / 3600, 0.0), "1/s": (1.0, 0.0)},
    "kg": {"g": (1e-3, 0.0), "kg": (1.0, 0.0), "oz": (_POUND / 16, 0.0), "lb": (_POUND, 0.0)},
    "kg/m": {"kg/m": (1.0, 0.0), "lb/ft": (_POUND / _FOOT, 0.0)},
    "kg/m3": {"kg/m3": (1.0, 0.0), "lb/ft3": (_POUND / _FOOT**3, 0.0)},
    "kg/s": {"kg/s": (1.0, 0.0), "g/s": (1e-3, 0.0), "kg/h": (1 / 3600, 0.0), "lb/s": (_POUND, 0.0),
             "lb/h": (_POUND / 3600, 0.0)},
    "kg/mol": {"kg/kmol": (1e-3, 0.0), "g/mol": (1e-3, 0.0), "kg/mol": (1.0, 0.0)},
    "K": {"degC": (1.0, 273.15), "K": (1.0, 0.0), "degF": (5 / 9, 459.67 * 5 / 9)},
    "K difference": {"K": (1.0, 0.0), "degF": (5 / 9, 0.0)},
    "1/K": {"um/(m K)": (1e-6, 0.0), "1/K": (1.0, 0.0), "uin/(in degF)": (1.8e-6, 0.0)},
    "K/s": {"K/min": (1 / 60, 0.0), "K/s": (1.0, 0.0), "K/h": (1 / 3600, 0.0), "degF/min": (5 / 9 / 60, 0.0),
            "degF/h": (5 / 9 / 3600, 0.0)},
    "Pa": {"mbar": (100.0, 0.0), "Pa": (1.0, 0.0), "kPa": (1e3, 0.0), "MPa": (1e6, 0.0), "bar": (1e5, 0.0),
           "N/mm2": (1e6, 0.0), "psi": (_PSI, 0.0), **_WATER_COLUMN},
    "Pa gauge": {"mbar": (100.0, 0.0), "mbarg": (100.0, 0.0), "Pa": (1.0, 0.0), "kPa": (1e3, 0.0),
                 "kPag": (1e3, 0.0), "bar": (1e5, 0.0), "barg": (1e5, 0.0), "psi": (_PSI, 0.0), "psig": (_PSI, 0.0),
                 **_WATER_COLUMN},
    "Pa abs": {"mbara": (100.0, 0.0), "Paa": (1.0, 0.0), "kPaa": (1e3, 0.0), "bara": (1e5, 0.0),
               "psia": (_PSI, 0.0), "inHg": (_INCH_OF_MERCURY, 0.0)},
    "Pa/K": {"mbar/K": (100.0, 0.0), "Pa/K": (1.0, 0.0), "in w.c./degF": (_INCH_OF_WATER * 1.8, 0.0)},
    "Pa/s": {"mbar/min": (100 / 60, 0.0), "Pa/s": (1.0, 0.0), "mbar/s": (100.0, 0.0),
             "in w.c./min": (_INCH_OF_WATER / 60, 0.0)},
    "Pa s": {"Pa s": (1.0, 0.0), "uPa s": (1e-6, 0.0)},
    "N": {"N": (1.0, 0.0), "kN": (1e3, 0.0), "lbf": (_POUND_FORCE, 0.0)},
    "N/m": {"N/m": (1.0, 0.0), "lbf/ft": (_POUND_FORCE / _FOOT, 0.0)},
    "N m": {"N m": (1.0, 0.0), "lbf ft": (_POUND_FORCE * _FOOT, 0.0)},
    "W": {"kW": (1e3, 0.0), "W": (1.0, 0.0), "Btu/h": (_BTU / 3600, 0.0)},
    "J": {"mJ": (1e-3, 0.0), "uJ": (1e-6, 0.0), "J": (1.0, 0.0), "MJ": (1e6, 0.0), "kWh": (3.6e6, 0.0)},
    "J/mol": {"kJ/mol": (1e3, 0.0), "J/mol": (1.0, 0.0)},
    "J/kg": {"MJ/kg": (1e6, 0.0), "J/kg": (1.0, 0.0), "Btu/lb": (_BTU / _POUND, 0.0)},
    "J/m3": {"MJ/m3": (1e6, 0.0), "J/m3": (1.0, 0.0), "Btu/ft3": (_BTU / _FOOT**3, 0.0)},
    "J/(mol K)": {"J/(mol K)": (1.0, 0.0)},
    "A": {"A": (1.0, 0.0), "mA": (1e-3, 0.0)},
    "V": {"V": (1.0, 0.0), "mV": (1e-3, 0.0)},
    "ohm": {"mohm": (1e-3, 0.0), "ohm": (1.0, 0.0)},
    "ohm m": {"ohm m": (1.0, 0.0)},
    "H": {"uH": (1e-6, 0.0), "H": (1.0, 0.0)},
    "A s^0.5/m2": {"A s^0.5/mm2": (1e6, 0.0), "A s^0.5/m2": (1.0, 0.0)},
    "rad": {"deg": (math.pi / 180, 0.0), "rad": (1.0, 0.0)},
    "turns": {"turns": (1.0, 0.0)},
    # A gas composition is written "CH4 0.93, C2H6 0.05, N2 0.02"; see parse_composition.
    "mole fractions": {"mole fractions": (1.0, 0.0)},
}

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(
    rf"^\s*(?P<first>{_NUMBER})\s*(?:(?P<join>\.\.|\+/-|±)\s*(?P<second>{_NUMBER})\s*)?(?P<unit>1/\w+|[^\d\s.+±-].*|-)?\s*$"
)
UNKNOWN = "unknown"


@dataclass(frozen=True)
class Quantity:
    """A quantity as read: SI value (None when only a range is known), low and high, and the text it came from."""

    value: float | None
    low: float
    high: float
    unit: str
    text: str


def written_units(si_unit: str) -> str:
    """The units a person may write for this SI unit, as a list in words."""
    return ", ".join(name for name in UNITS[si_unit] if name) or "a plain number"


def factor_and_offset(text: str, unit: str, si_unit: str) -> tuple[float, float]:
    """What turns a number in a unit into SI: value * factor + offset. Raises UnitError, which names ``text``."""
    known = UNITS[si_unit]
    if unit in known:
        return known[unit]
    if si_unit == "Pa abs" and unit in UNITS["Pa gauge"]:
        raise UnitError(f"'{text}' is a gauge pressure; an absolute one is wanted here.",
                        f"Add the barometer and write it as one of {written_units(si_unit)}.", text=text)
    if si_unit == "Pa gauge" and unit in UNITS["Pa abs"]:
        raise UnitError(f"'{text}' is an absolute pressure; a gauge one is wanted here.",
                        "Take off the barometer and write it in mbar or kPa.", text=text)
    if not unit:
        raise UnitError(f"'{text}' has no unit.", f"Write one of {written_units(si_unit)} behind it.", text=text)
    near = difflib.get_close_matches(unit, [name for name in known if name], n=1, cutoff=0.5)
    hint = f" Did you mean {near[0]}?" if near else ""
    raise UnitError(f"'{unit}' in '{text}' is not a unit for this.", f"Write one of {written_units(si_unit)}.{hint}",
                    text=text)


def parse(text: str, si_unit: str) -> Quantity:
    """Read a quantity written as text.

    Args:
        text: ``"33.6 mm"``, ``"21..36 mbar"`` or ``"33.6 +/- 0.1 mm"``.
        si_unit: a key of UNITS, the SI unit wanted.
    Returns:
        the Quantity in SI; a range has no best value, because nobody said where in it the truth lies.
    Raises:
        UnitError: no number, no unit, a unit of another kind, a decimal comma, a backwards range.
    """
    if re.search(r"\d,\d", text):
        raise UnitError(f"'{text}' has a comma in the number.", "Write a decimal point: 33.6, not 33,6.", text=text)
    match = _QUANTITY.match(text)
    if match is None:
        raise UnitError(f"'{text}' is not a quantity.",
                        f"Write a number and a unit ({written_units(si_unit)}), a range such as "
                        f"'21..36 mbar', or 'unknown'.", text=text)
    factor, offset = factor_and_offset(text, (match["unit"] or "").strip(), si_unit)
    first = float(match["first"])
    if not all(math.isfinite(float(number) * factor) for number in (match["first"], match["second"]) if number):
        raise UnitError(f"'{text[:40]}' is larger than any number this can be.", "Check the number.", text=text)
    if match["second"] is None:
        value = first * factor + offset
        return Quantity(value, value, value, si_unit, text)
    second = float(match["second"])
    if match["join"] == "..":
        if second < first:
            raise UnitError(f"The range '{text}' runs backwards.",
                            f"Write the lower end first: '{match['second']}..{match['first']} {match['unit']}'.",
                            text=text)
        return Quantity(None, first * factor + offset, second * factor + offset, si_unit, text)
    spread = second * factor
    if spread < 0:
        raise UnitError(f"The uncertainty in '{text}' is negative.", "Write it as a positive number.", text=text)
    value = first * factor + offset
    return Quantity(value, value - spread, value + spread, si_unit, text)


def parse_exact(text: str, si_unit: str) -> float:
    """Read a quantity that must be one number, as SI float. Raises UnitError as ``parse``, and for a range."""
    quantity = parse(text, si_unit)
    if quantity.value is None or quantity.low != quantity.high:
        raise UnitError(f"'{text}' is a range; one number is wanted here.", "Write a single value.", text=text)
    return quantity.value


def to_unit(value: float, si_unit: str, unit: str) -> float:
    """Turn an SI value into the written unit."""
    factor, offset = UNITS[si_unit][unit]
    return (value - offset) / factor


def default_unit(si_unit: str) -> str:
    """The unit shown for an SI unit when nobody asks for another."""
    return next(iter(UNITS[si_unit]))


def unit_written(text: str, si_unit: str) -> str | None:
    """The unit in which a text says a quantity of this SI unit, or None where it ends in none."""
    names = sorted((name for name in UNITS.get(si_unit, {}) if name), key=len, reverse=True)
    return next((name for name in names if text.rstrip().endswith(name)), None)


def digits(value: float, significant: int = 3) -> str:
    """A number with about ``significant`` figures, never in scientific notation between 0.001 and 100,000."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    exponent = math.floor(math.log10(abs(float(f"{value:.{significant - 1}e}"))))  # as rounded: 9.9996 is 10.0
    if exponent < -3 or exponent > 5:
        return f"{value:.{significant - 1}e}"
    return f"{value:.{max(0, significant - 1 - exponent)}f}"


# Units so large that three figures of one to ten of them would lose what three of the metric one say: a caliper that
# reads 33.6 mm reads 1.323 in.
COARSE = ("in", "psia")


def show(value: float, si_unit: str, unit: str | None = None, significant: int = 3) -> str:
    """An SI value as text with its unit, for people."""
    unit = default_unit(si_unit) if unit is None else unit
    return _with_unit(to_unit(value, si_unit, unit), unit, significant)


def _with_unit(number: float, unit: str, significant: int) -> str:
    text = digits(number, significant + (unit in COARSE and abs(number) >= 1.0))
    return f"{text} {unit}" if unit and unit != "-" else text


def show_difference(value: float, si_unit: str, unit: str) -> str:
    """A difference of two values as text: as ``show``, but without the offset of a temperature scale."""
    return _with_unit(value / UNITS[si_unit][unit][0], unit, 2)


# The order in which a composition is held as a tuple of mole fractions; the table iso6976_components has the same.
COMPONENTS = ("CH4", "C2H6", "C3H8", "n-C4H10", "i-C4H10", "n-C5H12", "i-C5H12", "neo-C5H12", "n-C6H14",
              "H2", "CO", "N2", "O2", "CO2", "H2O")


def parse_composition(text: str) -> tuple[float, ...]:
    """Read a gas composition, ``"CH4 0.93, C2H6 0.05, N2 0.02"``, as mole fractions in the order of COMPONENTS.

    Raises UnitError: unknown or repeated component, not a number, sum not one within 0.0001.
    """
    fractions = dict.fromkeys(COMPONENTS, 0.0)
    seen: set[str] = set()
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        name, _, number = part.replace("=", " ").partition(" ")
        if name not in fractions or name in seen:
            near = difflib.get_close_matches(name, COMPONENTS, n=1)
            raise UnitError(f"'{name}' in '{text}' is {'repeated' if name in seen else 'not a known component'}.",
                            f"Did you mean {near[0]}?" if near and name not in seen
                            else f"Write each of {', '.join(COMPONENTS)} at most once.", text=text)
        seen.add(name)
        fractions[name] = parse_exact(number, "-")
        if fractions[name] < 0.0:
            raise UnitError(f"The fraction of {name} in '{text}' is negative.",
                            "Write mole fractions of the whole gas.", text=text)
    if abs(sum(fractions.values()) - 1.0) > 1e-4:
        raise UnitError(f"The fractions in '{text}' add up to {sum(fractions.values()):.6g}, not to 1.",
                        "Write mole fractions of the whole gas.", text=text)
    return tuple(fractions.values())
