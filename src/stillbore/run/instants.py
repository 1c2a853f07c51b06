"""When something happened, and how long ago that is: by a counter that only goes up, where there is one; else by
clocks, which may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from stillbore.record.events import Event, moment


@dataclass(frozen=True)
class Instant:
    """A moment on one device: its clock (put right by the offset to a trusted clock where one was seen), and the
    counter since its start. ``paper``: as written on paper."""

    at: datetime
    device: str
    boot: str
    tick_ms: int
    trusted: bool
    paper: bool

    @property
    def text(self) -> str:
        return self.at.isoformat(timespec="seconds")

    @property
    def shown(self) -> str:
        """As people read it: day, time of day, and the zone."""
        return f"{self.at:%Y-%m-%d %H:%M:%S} {self.at.tzname() or ''}".rstrip()


def instant(event: Event) -> Instant:
    """The moment of an event; of one entered late from paper, the moment that the paper gives."""
    if event.paper_at:
        return Instant(moment(event.paper_at), event.device, "", -1, False, True)
    at = moment(event.at)
    if event.offset_s:
        at = datetime.fromtimestamp(at.timestamp() + float(event.offset_s), at.tzinfo)
    return Instant(at, event.device, event.boot, event.tick_ms, bool(event.offset_s), False)


def elapsed(earlier: Instant, later: Instant) -> float | None:
    """Seconds from one moment to another; None where clocks contradict each other, which counts as too long."""
    if earlier.boot and (earlier.device, earlier.boot) == (later.device, later.boot) and earlier.tick_ms >= 0:
        ticks = later.tick_ms - earlier.tick_ms
        return ticks / 1000.0 if ticks >= 0 else None
    seconds = (later.at - earlier.at).total_seconds()
    return seconds if seconds >= 0.0 else None
