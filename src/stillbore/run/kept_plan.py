"""A plan as it was kept with a job: what the job goes by to its end, whatever the program has become since.

A plan could be worked out again from its files, but by the formulas of today. So a job takes its numbers and open holds
from the plan.json that was kept when it was opened or planned anew, and ``unlike`` says where today's formulas part
from it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stillbore.errors import StillboreError
from stillbore.plan import Plan
from stillbore.plan.export import FORMAT, plan_text
from stillbore.run.limit import Limit

# Two interpreters of one program, as the tablet's and the depot's, may round the last digits of a power differently.
ROUNDING = 1e-9


@dataclass(frozen=True)
class KeptPlan:
    """``program`` that worked it out, its ``result``, its numbers by name, and by hold what it leaves open."""

    program: str
    result: str
    numbers: Mapping[str, Limit]
    open_holds: Mapping[int, tuple[str, ...]]


def read_plan(data: bytes) -> KeptPlan:
    """A plan.json from anybody's hands. Raises StillboreError where it is none, or not whole."""
    try:
        found = json.loads(data, parse_constant=_no_number)
        if found["format"] != FORMAT:
            raise ValueError("another format")
        numbers = {_text(name): _limit(name, number) for name, number in found["numbers"].items()}
        holds = {int(hold): tuple(map(_text, said)) for hold, said in found["open_holds"].items()}
        return KeptPlan(_text(found["program"]), _text(found["result"]), MappingProxyType(numbers),
                        MappingProxyType(holds))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise StillboreError(f"The plan that was kept with the job cannot be read: {error}.",
                             "Take the whole record, as it was exported.") from None


def kept_plan(plan: Plan) -> KeptPlan:
    """A plan as it would be kept now."""
    return read_plan(plan_text(plan))


def unlike(kept: KeptPlan, here: KeptPlan) -> Iterator[str]:
    """Where two plans of the same files part, number by number and hold by hold: what it is, as kept, as here."""
    for name in {**kept.numbers, **here.numbers}:
        old, new = kept.numbers.get(name), here.numbers.get(name)
        if old is None or new is None:
            yield f"{name} ({old.written if old else 'not there'}; here {new.written if new else 'not there'})"
        elif not _same(old, new):
            shown = (old.written, new.written) if old.written != new.written else (_exact(old), _exact(new))
            yield f"{name} ({shown[0]}; here {shown[1]})"
    for hold in sorted(kept.open_holds.keys() ^ here.open_holds.keys()):
        yield f"hold {hold} ({'open' if hold in kept.open_holds else 'not open'}; here the other way round)"
    if kept.result != here.result:
        yield f"result ({kept.result}; here {here.result})"


def _same(old: Limit, new: Limit) -> bool:
    return old.unit == new.unit and all(
        one is other if one is None or other is None else math.isclose(one, other, rel_tol=ROUNDING)
        for one, other in ((old.low, new.low), (old.high, new.high)))


def _exact(limit: Limit) -> str:
    return f"{limit.low!r} to {limit.high!r} {limit.unit}".strip()


def _limit(name: str, number: Mapping[str, object]) -> Limit:
    return Limit(name, _end(number["low"]), _end(number["high"]), _text(number["unit"]), _text(number["shown"]),
                 _text(number["title"]), _text(number["text"]))


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{str(value)[:40]!r} is no text")
    return value


def _end(value: object) -> float | None:
    """A number of JSON; a whole number too long to be one of ours is none."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e300:
        raise TypeError(f"{str(value)[:40]!r} is no number")
    return float(value)


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")
