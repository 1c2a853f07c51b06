"""The ways in which a log writes its times: seconds, RFC 3339, a date and time without a zone, a time of day.

A log keeps to the way of its first reading. Each way is read a column at a time, which is what makes it quick.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import repeat
from operator import sub

DAY = 86_400.0  # s
LONGEST_TIME = 1e12  # s; a time beyond it is none
EPOCH = datetime(1970, 1, 1)


@dataclass(frozen=True)
class Form:
    """A way of writing times, and how a column of them is read [s]. It raises ValueError or TypeError for others."""

    name: str
    read: Callable[[Sequence[str]], list[float]]

    def one(self, text: str) -> float:
        """One time [s]; raises ValueError or TypeError."""
        value = self.read([text])[0]
        if not abs(value) < LONGEST_TIME or "_" in text:
            raise ValueError(text)
        return value


def _seconds(cells: Sequence[str]) -> list[float]:
    return list(map(float, cells))


def _dated(epoch: datetime) -> Callable[[Sequence[str]], list[float]]:
    def read(cells: Sequence[str]) -> list[float]:
        since = map(sub, map(datetime.fromisoformat, cells), repeat(epoch))
        return list(map(timedelta.total_seconds, since))

    return read


def _of_day(cells: Sequence[str]) -> list[float]:
    values = []
    for cell in cells:
        hours, minutes, seconds = cell.split(":")
        parts = int(hours), int(minutes), float(seconds)
        if not (0 <= parts[0] < 24 and 0 <= parts[1] < 60 and 0.0 <= parts[2] < 61.0):
            raise ValueError(cell)
        values.append(3600.0 * parts[0] + 60.0 * parts[1] + parts[2])
    return values


OF_DAY = Form("the time of day", _of_day)
FORMS = (Form("seconds", _seconds), Form("RFC 3339", _dated(EPOCH.replace(tzinfo=UTC))),
         Form("date and time", _dated(EPOCH)), OF_DAY)


def form_of(text: str) -> Form | None:
    """The way in which a time is written; None if it is no time."""
    for form in FORMS:
        try:
            form.one(text)
        except (ValueError, TypeError):
            continue
        return form
    return None


def days_to_add(seconds: float, last: float) -> float:
    """What to add to a time of day so that it comes as near as it can to the time before it [s]: a log goes on past
    midnight."""
    return DAY * math.floor((last - seconds) / DAY + 0.5)
