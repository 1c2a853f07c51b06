"""Logs made for the tests: whole events, properly chained, without a procedure behind them. The store knows of none."""

from datetime import UTC, datetime, timedelta

from stillbore.record.chain import Chains, seal_line
from stillbore.record.events import Done, Event, FileHash, Noted, Opened

START = datetime(2030, 5, 14, 8, 0, tzinfo=UTC)


class Crew:
    """Devices on one job. Each writes after what it has seen; ``meet`` shows two of them each other's lines."""

    def __init__(self, job="J-1"):
        self.job, self.lines, self.seen, self.clock = job, [], {}, {}

    def write(self, device, what=None, after_s=10.0, **about):
        """The device's next line."""
        seen = self.seen.setdefault(device, [])
        n, order, prev, after = Chains(seen).place(device)
        at = self.clock[device] = self.clock.get(device, START) + timedelta(seconds=after_s)
        about = {"at": at.isoformat(), **about}
        line = seal_line(Event(self.job, device, n, order, "P1", "leader", happening=what or Noted("", f"{device} {n}"),
                               prev=prev, after=after, **about))
        seen.append(line)
        self.lines.append(line)
        return line

    def meet(self, *devices):
        every = {line.hash: line for device in devices for line in self.seen.setdefault(device, [])}
        for device in devices:
            self.seen[device] = list(every.values())

    @property
    def raw(self):
        return [line.raw for line in self.lines]


def opened(*hashes, replayed=False, training=False):
    return Opened(tuple(FileHash("survey", "survey.toml", each) for each in hashes), "0" * 64, "test", (), "",
                  replayed, training)


def two_on_one_job():
    """Two devices that meet twice and write apart between; 14 lines."""
    crew = Crew()
    crew.write("D1", opened())
    crew.meet("D1", "D2")
    for _ in range(3):
        crew.write("D1")
        crew.write("D2")
    crew.meet("D1", "D2")
    for _ in range(3):
        crew.write("D2", Done("B1"))
        crew.write("D1")
    crew.meet("D1", "D2")
    crew.write("D1")
    return crew
