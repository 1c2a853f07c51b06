"""How well a whole log is read, over many virtual jobs with glitches, beside boundaries found without knowing the job.

    python studies/trace.py [--count 200] [--seed 20260303] [--write]

A claim is a label with its start; it is right within 3 s. Seeds below 1,000 were used while the reader was being made.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import numpy
from many import at_once, table
from ruptures import Pelt

from stillbore.gauge.readings import Log, read_log
from stillbore.gauge.trace import read_trace
from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job, with_notes
from stillbore.practice.rig import Trace

HERE = Path(__file__).parent
SEED = 20260303
WITHIN = 3.0  # s
KEY_EVENTS = ("pump", "hold", "release", "break", "stopper", "vent")
GLITCHES = ("spikes", "dropouts", "gaps", "duplicates", "unit jump", "clock jump")
Claim = tuple[str, float]


@dataclass
class Score:
    """Right claims with how far off each was [s], true starts that were missed, claims that were wrong."""

    off: list[float] = field(default_factory=list)
    missed: int = 0
    wrong: int = 0

    def add(self, truth: Sequence[Claim], claims: Sequence[Claim]) -> None:
        """Match every true start with the nearest claim of its label; a claim counts once."""
        free = list(claims)
        for label, start in truth:
            near = [claim for claim in free if claim[0] == label and abs(claim[1] - start) <= WITHIN]
            if near:
                best = min(near, key=lambda claim: abs(claim[1] - start))
                free.remove(best)
                self.off.append(best[1] - start)
            else:
                self.missed += 1
        self.wrong += len(free)

    @property
    def f1(self) -> float:
        right = 2 * len(self.off)
        return right / (right + self.missed + self.wrong) if right else 0.0


def only(claims: Sequence[Claim], labels: Sequence[str]) -> list[Claim]:
    return [claim for claim in claims if claim[0] in labels]


def without_labels(claims: Sequence[Claim]) -> list[Claim]:
    return [("", start) for _, start in claims]


def truth_of(trace: Trace) -> list[Claim]:
    return [(label, start) for label, start, _ in trace.labels]


def unread(trace: Trace) -> list[tuple[float, float]]:
    """Stretches [s] with no reading, so long that whoever does not see what goes on in them may be off by more than
    allowed: a border in one is luck."""
    times = trace.true_time_s[~numpy.isnan(trace.pressure_mbar)]
    return [(float(times[at]), float(times[at + 1])) for at in numpy.flatnonzero(numpy.diff(times) > 2.0 * WITHIN)]


def readable(holes: Sequence[tuple[float, float]], truth: Sequence[Claim],
             claims: Sequence[Claim]) -> tuple[list[Claim], list[Claim]]:
    """Truth and claims without the starts that lie where nothing was read, and without the claims of them."""
    for first, end in holes:
        hidden = {label for label, start in truth if first < start < end}
        truth = [one for one in truth if not first < one[1] < end]
        claims = [one for one in claims if not (one[0] in hidden and first - WITHIN <= one[1] <= end + WITHIN)]
    return list(truth), list(claims)


def numbered(trace: Trace) -> Trace:
    """The same trace with the row's number in the note column wherever nothing else stands there: where glitches hide
    how much time went by, a claim is still about a reading, and of that the true time is known."""
    return replace(trace, notes={row: trace.notes.get(row, str(row)) for row in range(len(trace.time_s))})


def true_times(log: Log, trace: Trace) -> list[float]:
    """When every reading of a log was truly taken [s]."""
    times, row = [], 0
    for index in range(len(log)):
        note = log.notes.get(index, "")
        row = int(note) if note.isdigit() else row + 1
        times.append(float(trace.true_time_s[row]))
    return times


def claims_of(log: Log, times: Sequence[float]) -> list[Claim]:
    """What the reader claims; a start that it says is not seen is no claim."""
    return [(segment.label, times[segment.first]) for segment in read_trace(log) if segment.seen]


def log_of(trace: Trace, folder: Path) -> Log:
    path = folder / "log.csv"
    write_csv(numbered(trace), path)
    return read_log(path)


def unlabelled(log: Log, times: Sequence[float]) -> list[Claim]:
    """Boundaries by ruptures' Pelt on pressure and its roughness, the penalty is the best on seeds below 1,000."""
    pressure = numpy.array(log.pressures) / 100.0
    rough = numpy.abs(numpy.diff(pressure, prepend=pressure[0]))
    signal = numpy.column_stack((numpy.sign(pressure) * numpy.log1p(numpy.abs(pressure)), numpy.log(rough + 0.05)))
    ends = Pelt(model="l2", min_size=3, jump=1).fit(signal).predict(pen=6.0)
    return [("", times[0]), *(("", times[end]) for end in ends[:-1])]


@dataclass(frozen=True)
class Cell:
    rate_hz: float
    noted: bool = True
    glitches: tuple[str, ...] = GLITCHES
    by_eye: bool = False
    pelt: bool = False


CELLS = (Cell(5.0), Cell(1.0), Cell(5.0, noted=False), Cell(1.0, noted=False), Cell(5.0, glitches=()),
         Cell(1.0, glitches=()), Cell(1.0, pelt=True))


def figures(cell: Cell, count: int, seed: int, folder: Path) -> dict[str, Score]:
    """Scores over ``count`` jobs: all labels, key events, both where something was read, boundaries without labels."""
    scores = {name: Score() for name in ("labels", "key events", "boundaries", "labels read", "key events read")}
    for number in range(count):
        trace = random_job(seed + number, cell.rate_hz, glitches=cell.glitches)
        log = log_of(with_notes(trace, "vent shut") if cell.noted else trace, folder)
        times = true_times(log, trace)
        truth, claims = truth_of(trace), [] if cell.pelt else claims_of(log, times)
        scores["labels"].add(truth, claims)
        scores["key events"].add(only(truth, KEY_EVENTS), only(claims, KEY_EVENTS))
        seen, claimed = readable(unread(trace), truth, claims)
        scores["labels read"].add(seen, claimed)
        scores["key events read"].add(only(seen, KEY_EVENTS), only(claimed, KEY_EVENTS))
        scores["boundaries"].add(without_labels(truth), unlabelled(log, times) if cell.pelt else without_labels(claims))
    return scores


HEADER = ("| log | note when the vent was shut | glitches | labels F1 | key events F1 | the same where something was "
          "read | boundaries F1 | off by: median, 95 % s |\n| --- | --- | --- | --- | --- | --- | --- | --- |")


def line(cell: Cell, scores: dict[str, Score]) -> str:
    off = numpy.abs(scores["boundaries" if cell.pelt else "labels"].off)
    found = [f"{scores[name].f1:.3f}" for name in ("labels", "key events", "labels read", "key events read")]
    found = ["-"] * 4 if cell.pelt else found
    return (f"| {cell.rate_hz:g} Hz{', ruptures Pelt' if cell.pelt else ''} | {'yes' if cell.noted else 'no'} | "
            f"{'yes' if cell.glitches else 'none'} | {found[0]} | {found[1]} | {found[2]}, {found[3]} | "
            f"{scores['boundaries'].f1:.3f} | "
            f"{numpy.median(off):.1f}, {numpy.percentile(off, 95):.1f} |")


def row(cell: Cell, count: int, seed: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return line(cell, figures(cell, count, seed, Path(folder)))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="write studies/trace.md")
    options = parser.parse_args()
    work = partial(row, count=options.count, seed=options.seed)
    made = table(HEADER, at_once(work, CELLS, "line"))
    if options.write:
        (HERE / "trace.md").write_text(
            f"# Whole logs read\n\n{options.count} virtual jobs a line, seed {options.seed}; ten labels; a claim is a "
            f"label with its start, right within {WITHIN:g} s. Every log has every glitch: {', '.join(GLITCHES)}. Key "
            f"events: the starts of {', '.join(KEY_EVENTS)}. With a tight stopper nothing in a log shows when the vent "
            "was shut: without a note the reader says so and makes no claim, which counts as missed. Where something "
            f"was read leaves out the starts inside a hole of more than {2.0 * WITHIN:g} s without a reading: nobody "
            "can know them, and they count in the goal all the same.\n\n"
            + made + "\n",
            encoding="utf-8")


if __name__ == "__main__":
    main()
