"""What `gauge watch` says over many virtual jobs: how often wrongly, for each hour of watching, and how soon rightly.

    python studies/watch.py [--count 100] [--seed 20261130] [--write]

Every line of every job goes through the feed and the watch as the command takes them, with the crew's word when the
vent was shut. One job in four has a fault.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy
from many import at_once, table

from stillbore.gauge.breakthrough import Expected
from stillbore.gauge.feed import Feed
from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.letby import LetBySettings
from stillbore.gauge.trace_report import TraceSettings
from stillbore.gauge.watch import ALARM, LONE_HIGH, LONE_UP, VERDICT, Said, Watch
from stillbore.practice.glitches import GLITCHES
from stillbore.practice.jobs import random_job, with_notes
from stillbore.practice.rig import Trace

HERE = Path(__file__).parent
SEED = 20261130
MAXIMUM, RANGE = 75.0, 160.0  # mbar
SHOWN = 10.0  # mbar from which on a gauge that came up is plain
LATE, EARLY = 30.0, 6.0  # s about the hole's opening in which an alarm is about it
HOLD_LIMIT, LETBY_LIMIT = 1e-4, 1e-4  # m3/h
TENTH = 0.1
DRAINED = ("neighbour", "leg leak", "masked")  # a leg that falls, and rightly so called
UNDER_TEST = ("pump", "hold", "release")
HINDERED = ("water", "slow", "medium pressure")  # a break-through that must not be met


@dataclass
class Tally:
    """Hours watched, chances for each kind of saying, how often each was said wrongly, and delays [s]."""

    hours: float = 0.0
    of: dict[str, int] = field(default_factory=dict)
    wrong: dict[str, int] = field(default_factory=dict)
    delays: list[float] = field(default_factory=list)
    after_hole: list[float] = field(default_factory=list)

    def count(self, kind: str, wrong: int, of: int = 1) -> None:
        self.of[kind] = self.of.get(kind, 0) + of
        self.wrong[kind] = self.wrong.get(kind, 0) + wrong


def settings_for(trace: Trace) -> TraceSettings:
    """What the crew of this job would give: band, maximum, volumes and limits; the drift as it is."""
    site = trace.truth["site"]
    district = site.district_mbar if trace.truth["fault"] not in ("medium pressure", "no rise") else 30.0
    half = max(3.0, 0.1 * district)
    rig = trace.truth["volume_l"]
    return TraceSettings(
        Expected(100.0 * (district - half), 100.0 * (district + half), 100.0 * MAXIMUM, 100.0 * RANGE),
        HoldSettings(rig * 1e-3, HOLD_LIMIT / 3600.0, 10.0, trace.truth["drift"]),
        LetBySettings(volume=(site.leg_volume_l + rig) * 1e-3, limit=LETBY_LIMIT / 3600.0,
                      stop=20.0 * LETBY_LIMIT / 3600.0, district=0.0, highest=100.0 * district, margin=500.0,
                      fresh=300.0, resolution=10.0, vent="none"))


def watched(trace: Trace) -> Iterator[tuple[float, Said]]:
    """(true time [s], what was said) over a whole job."""
    watch, feed = Watch(settings_for(trace)), Feed(0.0)
    time = true = 0.0
    feed.take("time,pressure_mbar,note", 0.0)
    for row, true in enumerate(trace.true_time_s):
        pressure = trace.pressure_mbar[row]
        cell = "" if numpy.isnan(pressure) else f"{pressure:.2f}"
        reading = feed.take(f"{trace.time_s[row]:.3f},{cell},{trace.notes.get(row, '')}", float(true))
        if reading is None:
            continue
        if reading.pressure is not None:
            time = reading.time
            yield from ((float(true), one) for one in watch.take(time, reading.pressure))
        if reading.note:
            yield from ((float(true), one) for one in watch.note(time, reading.note))
    yield from ((float(true), one) for one in watch.end(time))


def judge(trace: Trace, said: list[tuple[float, Said]], tally: Tally) -> None:
    """Hold what was said against the truth of the job."""
    fault, site = trace.truth["fault"], trace.truth["site"]
    tally.hours += float(trace.true_time_s[-1] - trace.true_time_s[0]) / 3600.0
    alarms = [(time, one.words) for time, one in said if one.kind == ALARM]
    verdicts = [one.words for _, one in said if one.kind == VERDICT]
    _break_through(trace, [time for time, words in alarms if words.startswith("BREAK-THROUGH")],
                   sum(one.words == LONE_UP for _, one in said), tally)
    high = trace.true_pressure_mbar > MAXIMUM
    for label, start, end in trace.labels:
        if label in UNDER_TEST:
            high &= ~((trace.true_time_s >= start) & (trace.true_time_s <= end + 2.0))
    too_high = any("ABOVE MAXIMUM" in words for _, words in alarms)
    tally.count("above maximum not said" if high.any() else "above maximum said, and was not",
                too_high != bool(high.any()))
    if not high.any():
        times = sum("ABOVE MAXIMUM" in words for _, words in alarms)
        lone = sum(one.words == LONE_HIGH for _, one in said)
        tally.count("of these by one reading alone, and said so", too_high and lone == times)
    fell = any("another user" in words for _, words in alarms)
    tally.count("leg falls said, and did not" if fault not in DRAINED else "leg falls not said",
                fell == (fault not in DRAINED))
    for words in verdicts:
        kind, verdict = words.split(":", 1)
        _verdict(kind, verdict.strip(), fault, site, tally)


def _break_through(trace: Trace, alarms: list[float], taken_back: int, tally: Tally) -> None:
    begins = next((start for label, start, _ in trace.labels if label == "break"), None)
    right = [time for time in alarms if begins is not None and begins - EARLY <= time <= begins + LATE]
    wrong = len(alarms) - min(1, len(right))
    tally.count("break-through said, and was none", wrong)
    tally.count("of these taken back by the next reading", min(wrong, taken_back))
    if begins is None:
        return
    shown = trace.true_time_s[(trace.true_time_s >= begins) & (trace.true_pressure_mbar > SHOWN)]
    if len(shown) and shown[0] < begins + LATE - 5.0:
        tally.count("break-through not said", not right)
        if right:
            tally.delays.append(right[0] - float(shown[0]))
            tally.after_hole.append(right[0] - begins)


def _verdict(kind: str, verdict: str, fault: str, site: object, tally: Tally) -> None:
    leak, past = site.leak_rate_m3_per_h, site.letby_rate_m3_per_h  # type: ignore[attr-defined]
    if kind == "Hold" and leak >= HOLD_LIMIT:
        tally.count("hold met, and leaked", verdict.startswith("met"))
    elif kind == "Hold" and leak <= TENTH * HOLD_LIMIT:
        tally.count("hold not met, and was tight", verdict.startswith("not met"))
    elif kind == "Break-through" and fault in HINDERED:
        tally.count("break-through met, and was hindered", verdict.startswith("met"))
    elif kind == "Break-through":
        tally.count("break-through not met, and was clear", verdict.startswith("not met"))
    elif kind == "Let-by" and (past >= LETBY_LIMIT or fault in DRAINED):
        tally.count("let-by met, and let by or was hidden", verdict.startswith("met"))
    elif kind == "Let-by" and past <= TENTH * LETBY_LIMIT and not fault:
        tally.count("let-by not met, and was tight", verdict.startswith("not met"))


@dataclass(frozen=True)
class Cell:
    rate_hz: float
    glitches: tuple[str, ...] = ()


CELLS = (Cell(1.0), Cell(5.0), Cell(1.0, GLITCHES), Cell(5.0, GLITCHES))
KINDS = ("break-through said, and was none", "of these taken back by the next reading", "break-through not said",
         "above maximum said, and was not", "of these by one reading alone, and said so",
         "above maximum not said", "leg falls said, and did not", "leg falls not said", "hold met, and leaked",
         "hold not met, and was tight", "break-through met, and was hindered", "break-through not met, and was clear",
         "let-by met, and let by or was hidden", "let-by not met, and was tight")


def figures(cell: Cell, count: int, seed: int) -> Tally:
    tally = Tally()
    for number in range(count):
        trace = with_notes(random_job(seed + number, cell.rate_hz, glitches=cell.glitches), "vent shut")
        judge(trace, list(watched(trace)), tally)
    return tally


HEADER = ("| log | glitches | hours | " + " | ".join(KINDS) + " | break-through said after 10 mbar stood in the rig: "
          "median, 95 %, longest s; within 1 s | after the hole began: median s |\n"
          + "| --- " * (len(KINDS) + 5) + "|")


def line(cell: Cell, tally: Tally) -> str:
    cells = []
    for kind in KINDS:
        wrong, of = tally.wrong.get(kind, 0), tally.of.get(kind, 0)
        cells.append(f"{wrong / tally.hours:.2f}/h ({wrong} in {of})")
    delays = numpy.array(tally.delays)
    soon = (f"{numpy.median(delays):.1f}, {numpy.percentile(delays, 95):.1f}, {delays.max():.1f}; "
            f"{numpy.mean(delays < 1.05):.1%}")
    return (f"| {cell.rate_hz:g} Hz | {'yes' if cell.glitches else 'none'} | {tally.hours:.1f} | " + " | ".join(cells)
            + f" | {soon} | {numpy.median(tally.after_hole):.1f} |")


def row(cell: Cell, count: int, seed: int) -> str:
    return line(cell, figures(cell, count, seed))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="write studies/watch.md")
    options = parser.parse_args()
    work = partial(row, count=options.count, seed=options.seed)
    made = table(HEADER, at_once(work, CELLS, "line"))
    if options.write:
        (HERE / "watch.md").write_text(
            f"# The watch\n\n{options.count} virtual jobs a line, seed {options.seed}, one in four with a fault; "
            f"limits {HOLD_LIMIT:g} m3/h of the hold, {LETBY_LIMIT:g} m3/h of let-by, drift as declared, nothing "
            "seen at the open vent. Each figure is how often something was said wrongly, for an hour of watching, and "
            "in how many jobs or verdicts that could have it. Tight is a tenth of the limit or less. Glitches reach "
            f"the watch as they come: {', '.join(GLITCHES)}.\n\n" + made + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
