"""A whole log read as what was done: zero, pump, hold, release, drill, break, live, stopper, vent, watch.

A hidden Markov model over blocks of half a second: every phase of the work has a way in which the gauge moves
(stands, sways, climbs, empties), a roughness (nobody touches it, or a saw or a hand shakes it) and a range of
pressures; which phase may follow which is the order of the work. The likeliest path through the whole log is found
(Viterbi, 1967), with what each phase lasted and brought about weighed when it is left; then the borders are made exact
(borders.py). The cost of a reading is constant.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from stillbore.gauge.borders import EMPTY, Run, make_exact, vent_shut
from stillbore.gauge.one_scale import readings_for_labels
from stillbore.gauge.readings import Log
from stillbore.gauge.trace_model import (
    BROKEN_ORDER,
    FULL,
    HIDDEN_ORDER,
    LABELS,
    NUMBER,
    START,
    STATES,
    TURNS,
    WAYS_IN,
    Block,
    bends_of,
    emissions,
    leaving,
    outlasting,
    roughness_scale,
)

BLOCK = 0.5  # s
BEND_VARIANCE = 1.5  # of a bend, for readings of variance one
LONG_STEP = 4.0  # s without a reading, in which a phase may have come and gone
MARKED = 12.0  # nats for a border where a note says so
SPIKE = 200.0  # Pa, the least knock that is levelled
# Notes that say what begins at a reading: the labels themselves, and what a crew would write.
NOTES = {"vent shut": "watch", "vent closed": "watch", "stopper set": "watch", "break-through": "break",
         "vent open": "vent"} | {label: label for label in LABELS}


@dataclass(frozen=True)
class Segment:
    """A stretch of the log: ``first`` to ``last`` are indices of its readings, ``start`` and ``end`` log times [s].
    ``seen`` is False where nothing in the log shows its start."""

    label: str
    start: float
    end: float
    first: int
    last: int
    seen: bool = True


class Path:
    """The likeliest path through the phases, block by block. ``now`` is the likeliest phase at the end.

    Every state remembers when its best path came into it, so that leaving it can be weighed by how long it lasted and
    by what came about, at the cost of a block."""

    def __init__(self) -> None:
        self.scores: list[float] = []
        self.entered: list[tuple[float, float]] = []  # time and pressure before it, for every state
        self.time = 0.0
        self.level = 0.0

    @property
    def now(self) -> int:
        """The likeliest state now, less likely the longer it has outlasted what it usually lasts."""
        worth = [score + outlasting(state, self.time - since[0])
                 for score, state, since in zip(self.scores, STATES, self.entered, strict=True)]
        return worth.index(max(worth))

    def take(self, block: Block, rough: float) -> list[int]:
        """Take a block; returns for every state the state before it on its best path."""
        values = emissions(block, rough)
        if not self.scores:
            self.scores = [start + value for start, value in zip(START, values, strict=True)]
            if block.mean < FULL:  # a hold begins with a rig pumped up
                self.scores[NUMBER["hold"]] += BROKEN_ORDER
            self.entered = [(-1.0, block.mean)] * len(STATES)
            self.level = block.mean
            return list(range(len(STATES)))
        scores, entered, time, level = self.scores, self.entered, self.time, self.level
        leave = [score + leaving(state, time - since[0], since[1], level)
                 for score, state, since in zip(scores, STATES, entered, strict=True)]
        likely = max(scores)
        any_state = scores.index(likely)
        likely += BROKEN_ORDER if block.step < LONG_STEP else HIDDEN_ORDER
        # A note that the vent was shut is for the border after it, not for the order.
        mark = block.mark if block.mark != "watch" else ""
        new, origins, since_new = [], [], []
        for number, ways in enumerate(WAYS_IN):
            best, origin = scores[number], number
            marked = mark and STATES[number].label == mark
            if marked:
                best -= MARKED  # something begins here; it does not go on
            for source, cost in ways:
                score = leave[source] + cost
                if score > best:
                    best, origin = score, source
            if likely > best:
                best, origin = likely, any_state
            new.append(best + values[number] - (MARKED if mark and not marked else 0.0))
            origins.append(origin)
            since_new.append(entered[number] if origin == number else (time, level))
        self.scores, self.entered = new, since_new
        self.time, self.level = time + block.step, block.mean
        return origins


def usable(log: Log) -> list[int]:
    """Indices of the readings that a trace is read from: those at the end of the gauge's range too, for they say that
    the pressure is high."""
    return [index for index in range(len(log)) if log.doubtful.get(index, "clipped") == "clipped"]


def read_trace(log: Log) -> list[Segment]:
    """The segments of a log, in order, without holes. Doubtful readings are passed over."""
    kept, pressures = readings_for_labels(log)
    if not kept:
        return []
    times = [log.times[index] for index in kept]
    marks = _marks(log, kept)
    rough = roughness_scale(bends_of(times, pressures))
    level_spikes(pressures, rough)
    bends = bends_of(times, pressures)
    path, blocks, steps = Path(), blocks_of(times, pressures, bends, marks), []
    for block in blocks:
        steps.append(path.take(block, rough))
    state = path.now
    states = [state]
    for origins in reversed(steps[1:]):
        state = origins[state]
        states.append(state)
    runs = _runs(blocks, states[::-1])
    make_exact(runs, times, pressures, bends, rough, marks)
    return _segments(runs, times, pressures, kept, marks, rough)


def level_spikes(pressures: list[float], rough: float) -> None:
    """Level single readings that stand far off both neighbours while these agree: a knock, not a pressure."""
    least = max(SPIKE, 10.0 * rough)
    for index in range(1, len(pressures) - 1):
        before, here, after = pressures[index - 1:index + 2]
        off = here - before
        if abs(off) > least and (here - after) * off > 0.0 and abs(before - after) < 0.25 * abs(off):
            pressures[index] = 0.5 * (before + after)


def _marks(log: Log, kept: list[int]) -> dict[int, str]:
    """Position among the kept readings -> label that a note says begins there."""
    marks: dict[int, str] = {}
    if not log.notes:
        return marks
    place = {index: position for position, index in enumerate(kept)}
    for index, note in log.notes.items():
        label = NOTES.get(note.strip().lower())
        while label and index not in place and index < len(log):
            index += 1
        if label and index in place:
            marks[place[index]] = label
    return marks


def blocks_of(times: list[float], pressures: list[float], bends: list[float],
              marks: dict[int, str]) -> list[Block]:
    """Readings in blocks of about half a second; a mark always begins one."""
    blocks: list[Block] = []
    first, count = 0, len(times)
    mean_before, time_before = pressures[0], times[0]
    while first < count:
        end = times[first] + BLOCK - 1e-6
        last = first + 1
        while last < count and times[last] < end and last not in marks:
            last += 1
        number = last - first
        mean = sum(pressures[first:last]) / number if number > 1 else pressures[first]
        middle = 0.5 * (times[first] + times[last - 1])
        step = max(middle - time_before, 0.05)
        rough = sum(bend * bend for bend in bends[first:last]) / BEND_VARIANCE
        blocks.append(Block(first, number, mean, (mean - mean_before) / step, step, rough, marks.get(first, "")))
        mean_before, time_before = mean, middle
        first = last
    return blocks


def _runs(blocks: list[Block], states: list[int]) -> list[Run]:
    """Stretches of one label; the strokes and the pause of one pumping are one."""
    runs: list[Run] = []
    for block, state in zip(blocks, states, strict=True):
        label, last = STATES[state].label, block.first + block.count - 1
        if runs and runs[-1].label == label and (state == runs[-1].end or state in TURNS[runs[-1].end]):
            runs[-1].last, runs[-1].end = last, state
        else:
            runs.append(Run(label, block.first, last, state, state))
    return runs


def _segments(runs: list[Run], times: list[float], pressures: list[float], kept: list[int], marks: dict[int, str],
              rough: float) -> list[Segment]:
    segments: list[Segment] = []
    for number, run in enumerate(runs):
        first, seen = run.first, True
        if number and run.label == "watch" and runs[number - 1].label == "vent":
            first, seen = vent_shut(runs[number - 1].first, run, times, pressures, marks, rough)
            segments[-1] = replace(segments[-1], end=times[first], last=kept[first - 1])
        elif run.label == "vent":
            # Of a leg that has drained before it is vented nothing shows when that was.
            seen = not first or pressures[first - 1] > EMPTY
        end = times[runs[number + 1].first] if number + 1 < len(runs) else times[run.last]
        segments.append(Segment(run.label, times[first], end, kept[first], kept[run.last], seen))
    return segments
