"""Plain data as the one text that RFC 8785 gives it, so that the same data always has the same hash."""

from __future__ import annotations

import json
from math import isfinite

from stillbore.errors import StillboreError

LARGEST_WHOLE = 2**53 - 1  # I-JSON: beyond it other readers lose digits


def canonical(data: object) -> bytes:
    """The canonical bytes of plain data (dict, list or tuple, str, int, float, bool, None).

    Raises StillboreError for what JSON cannot hold: a number that is not finite or too large to be exact, half of a
    surrogate pair, a key that is no text, data nested too deep.
    """
    try:
        return _text(data).encode("utf-8")
    except (UnicodeEncodeError, RecursionError):
        raise _cannot("it has half of a surrogate pair in it, or is nested too deep") from None


def _cannot(why: str) -> StillboreError:
    return StillboreError(f"This cannot be written as canonical JSON: {why}.", "Take it out.")


def _text(data: object) -> str:
    if data is None:
        return "null"
    if data is True or data is False:
        return "true" if data else "false"
    if isinstance(data, str):
        return _string(data)
    if isinstance(data, int):
        if abs(data) > LARGEST_WHOLE:
            raise _cannot(f"a whole number is beyond {LARGEST_WHOLE}, where other readers lose digits")
        return str(data)
    if isinstance(data, float):
        return number(data)
    if isinstance(data, (list, tuple)):
        return f"[{','.join(map(_text, data))}]"
    if isinstance(data, dict):
        if not all(isinstance(key, str) for key in data):
            raise _cannot("a key is no text")
        # RFC 8785, 3.2.3: keys in the order of their UTF-16 code units. surrogatepass only so that _string tells.
        keys = sorted(data, key=lambda key: key.encode("utf-16-be", "surrogatepass"))
        return "{" + ",".join(f"{_string(key)}:{_text(data[key])}" for key in keys) + "}"
    raise _cannot(f"a {type(data).__name__} is no plain data")


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)  # it escapes just what RFC 8785, 3.2.2.2, escapes, and in the same way


def number(value: float) -> str:
    """A float as ECMAScript writes it (RFC 8785, 3.2.2.3): the shortest digits that read back as the same number."""
    if not isfinite(value):
        raise _cannot(f"{value} is no number")
    if value == 0.0:
        return "0"
    sign = "-" if value < 0 else ""
    mantissa, _, power = repr(abs(value)).partition("e")
    whole, _, fraction = mantissa.partition(".")
    fraction = "" if fraction == "0" else fraction
    digits = (whole + fraction).lstrip("0")
    point = len(whole) + int(power or 0) - (len(whole + fraction) - len(digits))  # the decimal point is after so many
    stripped = digits.rstrip("0")
    digits, count = stripped, len(stripped)
    if count <= point <= 21:
        return f"{sign}{digits}{'0' * (point - count)}"
    if 0 < point <= 21:
        return f"{sign}{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"{sign}0.{'0' * -point}{digits}"
    power = f"{point - 1:+d}"
    return f"{sign}{digits[0]}{'.' if count > 1 else ''}{digits[1:]}e{power}"
