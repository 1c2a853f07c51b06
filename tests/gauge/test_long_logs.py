"""Logs of millions of lines: the work grows with the lines, no faster; the memory is that of four columns of doubles.

Ratios measured in the same run, never absolute times. The goal is five million lines on a laptop.
"""

import csv
import time
import tracemalloc
from array import array

import pytest

from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.readings import read_log
from stillbore.verdicts import MET

FEW, MANY = 25_000, 200_000
COLUMNS = 4 * 8  # bytes a line: time, pressure, temperature, barometer

KINDS = {
    "plain": lambda n: f"{n * 0.2:.1f},{99 + n % 7 / 10}",
    "dropouts": lambda n: f"{n * 0.2:.1f},{'' if n % 37 == 5 else 99 + n % 7 / 10}",
    "unplugged": lambda n: f"{n * 0.2:.1f},{-999 if n % 3 else 99 + n % 7 / 10}",
    "jumps": lambda n: f"{n % 1000},{99 + n % 7 / 10}",
    "units": lambda n: f"{n * 0.2:.1f},{99.1 if n // 12 % 2 else 9.91}",
    "spikes": lambda n: f"{n * 0.2:.1f},{99.1 if n % 20 else 30.0}",
    "all different": lambda n: f"{n * 0.2:.1f},{99 + n / 1e6:.6f}",
    "every other stands": lambda n: f"{n // 2},{99 + n % 7 / 10}",
}


def write(folder, kind, count):
    path = folder / f"{kind}-{count}.csv"
    with path.open("w") as file:
        file.write("time,pressure_mbar\n")
        file.writelines(f"{KINDS[kind](number)}\n" for number in range(count))
    return path


def cost(function, times=3):
    """Least processor time of a few calls [s]."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        function()
        taken.append(time.process_time() - begin)
    return min(taken)


@pytest.mark.parametrize("kind", KINDS)
def test_eight_times_the_lines_cost_eight_times_the_time(kind, tmp_path):
    few, many = (write(tmp_path, kind, count) for count in (FEW, MANY))
    ratio = cost(lambda: read_log(many), 2) / cost(lambda: read_log(few))
    assert ratio < 1.8 * MANY / FEW


def test_plain_lines_cost_no_more_than_the_csv_module_and_float(tmp_path):
    path = write(tmp_path, "plain", MANY)

    def floor():
        times, pressures = array("d"), array("d")
        with path.open(newline="") as file:
            rows = csv.reader(file)
            next(rows)
            for row in rows:
                times.append(float(row[0]))
                pressures.append(float(row[1]))

    assert cost(lambda: read_log(path)) < 1.5 * cost(floor)


@pytest.mark.parametrize("kind", ["plain", "unplugged", "jumps", "all different"])
def test_memory_is_that_of_the_columns(kind, tmp_path):
    """The peak while reading, from the difference of two logs, so that what does not grow falls out."""
    peaks = []
    for count in (FEW, MANY // 2):
        path = write(tmp_path, kind, count)
        tracemalloc.start()
        log = read_log(path)
        peaks.append((tracemalloc.get_traced_memory()[1], len(log)))
        tracemalloc.stop()
        del log
    (few, short), (many, long) = peaks
    assert (many - few) / (long - short) < 1.6 * COLUMNS


def test_a_hold_at_the_beginning_of_a_long_log_does_not_cost_the_whole_of_it(tmp_path):
    """Goal: judging takes less time than reading, and far less memory than the log."""
    log = read_log(write(tmp_path, "plain", MANY))
    settings = HoldSettings(volume=5e-4, limit=1e-4 / 3600.0, resolution=10.0, drift="ordinary")
    tracemalloc.start()
    assert judge_hold(log, settings).verdict == MET
    assert tracemalloc.get_traced_memory()[1] < 0.1 * COLUMNS * MANY
    tracemalloc.stop()
