"""Which question each answer of a log belongs to, corrections and corrections of corrections too."""

from __future__ import annotations

from collections.abc import Iterable

from stillbore.record.chain import Line
from stillbore.record.events import Answered, Corrected


def questions_answered(lines: Iterable[Line]) -> dict[str, str]:
    """The question of each answer, as "B6.pressure", by the hash of its event, in the order of the log; a correction
    has that of what it corrects. A correction of what is no answer is left out."""
    found: dict[str, str] = {}
    for line in lines:
        what = line.event.happening
        if isinstance(what, Answered):
            found[line.hash] = f"{what.step}.{what.ask}"
        elif isinstance(what, Corrected) and what.event in found:
            found[line.hash] = found[what.event]
    return found
