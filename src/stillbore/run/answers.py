"""How an answer lies to its limit: met, not met or not proven. One way of judging, used when an answer is given, when
it is checked before it is accepted, and when a stranger reads the log again."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from stillbore.errors import UnitError
from stillbore.record.events import Value
from stillbore.run.basis import Ask, Basis
from stillbore.run.limit import Limit
from stillbore.run.state import State
from stillbore.units import UNITS, factor_and_offset, show
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

FIRST_HAND = ("measured", "seen", "judged")  # what a hold may rest on; a record or an assumption is neither
SLACK = 1e-9  # of the limit, so that a limit met to the last digit is not lost to the last bit
BY_GAUGE_LOG = ("gauge hold", "gauge let-by", "gauge break-through")
# "30.2 mbar", "30.2 +/- 0.3 mbar", "4"
_QUANTITY = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*(?:(?:\+/-|±)\s*(\d+(?:\.\d+)?))?\s*([^\d\s].*)?")
NOT_MEASURED = "not measured"
ZEROS = re.compile(r"\.0+(?= |$)|(\.\d*[1-9])0+(?= |$)")  # "75.00 mbar" is a limit of 75 mbar


def value_of(ask: Ask, text: str, instrument: str = "", how: str = "") -> Value:
    """An answer from what a person wrote. ``how``: as in record.events; by default measured for a number, else seen.
    "not measured: no echo" is an answer with its reason."""
    if text.strip().lower().startswith(NOT_MEASURED):
        reason = text.strip()[len(NOT_MEASURED):].lstrip(" :,;")
        return Value(how=NOT_MEASURED, reason=reason, instrument=instrument)
    match = _QUANTITY.fullmatch(text) if ask.sort in ("quantity", "count") else None
    if match is None:
        return Value(text=text.strip(), instrument=instrument, how=how or "seen")
    number, spread, unit = (part or "" for part in match.groups())
    return Value(number, spread, unit.strip(), "", instrument, how or "measured")


@dataclass(frozen=True)
class Judged:
    """A verdict ("" where there is nothing to judge), the limit as shown, where it comes from, and a sentence."""

    verdict: str
    limit: str = ""
    rule: str = ""
    sentence: str = ""


def wrong(ask: Ask, value: Value) -> str:
    """What is wrong with the shape of an answer, as a sentence, or ""."""
    if value.how == NOT_MEASURED:
        return "" if value.reason.strip() else "Say why it was not measured: 'not measured: no echo'."
    if ask.sort in BY_GAUGE_LOG:
        return ""
    if ask.sort in ("quantity", "count") and not value.number:
        return f"'{value.text}' is no number; write one, as '30.2 {ask.unit}'." if ask.sort == "quantity" else \
            f"'{value.text}' is no whole number."
    if ask.sort == "quantity":
        return _wrong_quantity(ask, value)
    if ask.sort == "count":
        digits = value.number.isdecimal() and value.number.isascii() and not value.unit
        return "" if digits else f"'{value.written}' is no whole number."
    if value.number:
        return f"'{value.written}' is a number; words are wanted."
    if ask.sort == "yes or no" and value.text not in ("yes", "no"):
        return f"'{value.text}' is neither yes nor no."
    if ask.sort == "choice" and value.text not in ask.choices:
        return f"'{value.text}' is none of: {', '.join(ask.choices)}."
    return ""


def _wrong_quantity(ask: Ask, value: Value) -> str:
    try:
        number = Decimal(value.number)
        spread = Decimal(value.uncertainty or "0")
    except InvalidOperation:
        return f"'{value.written}' is no quantity; write a number and a unit, as '30.2 {ask.unit}'."
    if not (number.is_finite() and spread.is_finite() and spread >= 0):
        return f"'{value.written}' is no quantity."
    if value.unit == ask.unit or any(value.unit in units and ask.unit in units for units in UNITS.values()):
        return ""
    if value.unit.startswith(","):
        return f"'{value.written}' has a comma in the number; write a decimal point."
    said = f"The unit '{value.unit}' does not fit" if value.unit else f"'{value.written}' has no unit"
    return f"{said}; wanted is {ask.unit or 'a plain number'}."


def judge(state: State, ask: Ask, value: Value) -> Judged:
    """How an answer lies to its limit, as things stand.

    A log of the gauge is not judged here (see ``run.gauge_log``): its verdict comes with the answer.
    """
    if ask.sort in BY_GAUGE_LOG or not ask.wanted:
        return Judged("", sentence=f"{ask.about}: {value.written}.")
    limit, rule = _limit_words(state, ask)
    if value.how not in FIRST_HAND:
        return Judged(NOT_PROVEN, limit, rule, f"It is known by {value.how} only; a hold wants it measured or seen."
                      if value.how != "not measured" else "It was not measured.")
    verdict = _verdict(state, ask, value)
    return Judged(verdict, limit, rule, f"{ask.about}: {value.written}; wanted {_wanted_words(ask, limit)}: {verdict}.")


def _wanted_words(ask: Ask, limit: str) -> str:
    if ask.wanted in ("yes", "no"):
        return ask.wanted
    if ask.wanted == "good":
        return " or ".join(ask.good)
    return f"the same as {limit}" if ask.wanted == "same" else f"{ask.wanted} {limit}"


def limit_words(state: State, ask: Ask) -> str:
    """What a question wants, in words; "" where anything will do."""
    return _wanted_words(ask, _limit_words(state, ask)[0]) if ask.wanted else ""


def _limit_words(state: State, ask: Ask) -> tuple[str, str]:
    """The limit as shown in the answer's unit, and the name of the number it is."""
    if ask.wanted == "same":
        other = state.answers.get(ask.same_as)
        return (other.value.written if other else "unknown"), ask.same_as
    found = [_in_unit(limit, ask) for limit in _limits(state.basis, ask)]
    return " to ".join(found), " to ".join(name for name in (ask.limit, ask.limit_to) if name)


def _in_unit(limit: Limit | None, ask: Ask) -> str:
    """A limit in the answer's unit: the end of it that binds, or both where the answer has to lie between them."""
    if limit is None or limit.low is None or limit.high is None:
        return "unknown"
    shown = ask.unit if ask.unit in UNITS.get(limit.unit, {}) else limit.shown or None
    ends = {"at most": (limit.low,), "below": (limit.low,), "at least": (limit.high,)}
    texts = [ZEROS.sub(r"\1", show(end, limit.unit, shown, 4)) for end in ends.get(ask.wanted, (limit.low, limit.high))]
    first, last = texts[0], texts[-1]
    return first if first == last else f"{first} to {last}"


def _limits(basis: Basis, ask: Ask) -> list[Limit | None]:
    return [basis.limits.get(name) for name in (ask.limit, ask.limit_to) if name]


def _verdict(state: State, ask: Ask, value: Value) -> str:
    if ask.wanted in ("yes", "no"):
        return MET if value.text == ask.wanted else NOT_MET
    if ask.wanted == "good":
        return MET if value.text in ask.good else NOT_MET
    if ask.wanted == "same":
        other = state.answers.get(ask.same_as)
        if other is None or not other.value.number or not state.stands(ask.same_as.partition(".")[0]):
            return NOT_PROVEN
        return MET if Decimal(other.value.number) == Decimal(value.number) else NOT_MET
    return _against(ask, value, _limits(state.basis, ask))


def span(ask: Ask, value: Value, unit: str) -> tuple[float, float]:
    """The range of a quantity in SI; where no uncertainty was said, the question's own is taken. Raises UnitError."""
    factor, offset = factor_and_offset(value.written, value.unit, unit)
    best = float(value.number) * factor + offset
    if value.uncertainty:
        spread = float(value.uncertainty) * factor
    elif ask.uncertainty:
        number, _, written = ask.uncertainty.partition(" ")
        spread = float(number) * factor_and_offset(ask.uncertainty, written, unit)[0]
    else:
        spread = 0.0
    return best - spread, best + spread


def _against(ask: Ask, value: Value, limits: list[Limit | None]) -> str:
    first, last = limits[0], limits[-1]
    if first is None or last is None or first.low is None or last.high is None or first.high is None or \
            last.low is None:
        return NOT_PROVEN
    try:
        low, high = span(ask, value, first.unit)
    except UnitError:
        return NOT_PROVEN
    slack = SLACK * max(abs(first.low), abs(last.high))
    if ask.wanted == "within":
        least, most = (first.low, last.high) if len(limits) == 1 else (first.high, last.low)
        if low >= least - slack and high <= most + slack:
            return MET
        return NOT_MET if high < least - slack or low > most + slack else NOT_PROVEN
    if ask.wanted == "at least":
        return MET if low >= first.high - slack else NOT_MET if high < first.low - slack else NOT_PROVEN
    if ask.wanted == "below":
        return MET if high < first.low - slack else NOT_MET if low >= first.high - slack else NOT_PROVEN
    return MET if high <= first.low + slack else NOT_MET if low > first.high + slack else NOT_PROVEN
