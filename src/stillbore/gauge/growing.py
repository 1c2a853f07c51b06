"""A log that is judged again after every reading costs the same each time: what a judge has taken, it keeps."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Any, Protocol, TypeVar

Sample = tuple[float | None, ...]


class Judge(Protocol):
    """What takes one reading after the other: time [s], pressure [Pa gauge], and what else it knows of."""

    decided_at: float | None

    def add(self, *sample: Any) -> object: ...


Made = TypeVar("Made", bound=Judge)


class Growing:
    """A judge and the readings that it has taken. Where one of them is another now, or is judged by other settings (a
    reading taken back, one that has turned out doubtful), it begins anew."""

    def __init__(self) -> None:
        self._judge: Judge | None = None
        self._settings: tuple[object, Hashable] = (None, None)
        self._taken: list[Sample] = []

    def judged(self, make: Callable[[Any], Made], settings: Hashable, samples: Sequence[Sample],
               to_the_end: bool) -> Made:
        """The judge that ``make`` makes of the settings, after these readings; or, unless it shall go ``to_the_end``,
        after that at which it decided."""
        same = self._settings == (make, settings) and list(samples[:len(self._taken)]) == self._taken
        judge = self._judge if same else None
        if judge is None:
            judge, self._settings, self._taken = make(settings), (make, settings), []
            self._judge = judge
        for sample in samples[len(self._taken):]:
            if judge.decided_at is not None and not to_the_end:
                break
            judge.add(*sample)
            self._taken.append(sample)
        return judge  # type: ignore[return-value]
