"""Speed, as ratios to a floor measured in the same run. Printed, never asserted: machines differ.

Floors: for a process, the same interpreter that only imports what the command must import; for ``plan()``, the physics
calls it makes, made bare; for documents, typst on an empty page.
"""

from __future__ import annotations

import csv
import statistics
import subprocess
import sys
import tempfile
import time
from array import array
from collections.abc import Callable
from pathlib import Path

import numpy
import typst
from app_bench import app_rows, download
from record_bench import record_rows
from ruptures import Pelt
from store_bench import store_rows

from stillbore import derive as derive_module
from stillbore import formulas
from stillbore.gauge.readings import read_log
from stillbore.gauge.trace import read_trace
from stillbore.job.files import EXAMPLES, JobFiles, load_job
from stillbore.plan import plan
from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job
from stillbore.report import files as documents

EXAMPLE = Path(__file__).parents[1] / "src/stillbore/examples/service.toml"


def seconds(function: Callable[[], object], times: int) -> float:
    """Median time of one call."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        function()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def process(*arguments: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *arguments], check=True, capture_output=True)


def physics_calls(job: JobFiles) -> list[tuple[formulas.Formula, dict[str, object]]]:
    """Every physics call that planning a job makes."""
    made: list[tuple[formulas.Formula, dict[str, object]]] = []
    evaluate = derive_module.evaluate

    def note(entry: formulas.Formula, values: dict[str, object]) -> object:
        made.append((entry, dict(values)))
        return evaluate(entry, values)

    derive_module.evaluate = note  # type: ignore[assignment]
    try:
        plan(job)
    finally:
        derive_module.evaluate = evaluate
    return made


LOG_LINES = 500_000


def long_log(path: Path) -> Path:
    """A log of half a million lines, five a second."""
    with path.open("w") as file:
        file.write("time,pressure_mbar\n")
        file.writelines(f"{number * 0.2:.1f},{99.9 + number % 7 / 10:.2f}\n" for number in range(LOG_LINES))
    return path


def bare_csv(path: Path) -> None:
    """The same lines through csv.reader and float, and nothing else."""
    times, pressures = array("d"), array("d")
    with path.open(newline="") as file:
        rows = csv.reader(file)
        next(rows)
        for row in rows:
            times.append(float(row[0]))
            pressures.append(float(row[1]))


def gauge_rows(folder: Path) -> list[tuple[str, float, str, float, float]]:
    """A long log read, and a whole job read as what was done beside boundaries found by ruptures' Pelt."""
    log = long_log(folder / "log.csv")
    rows = [(f"a gauge log of {LOG_LINES:,} lines", seconds(lambda: read_log(log), 3),
             "csv.reader and float on the same lines", seconds(lambda: bare_csv(log), 3), 0.0)]
    for rate in (1.0, 5.0):
        path = folder / f"job{rate:g}.csv"
        write_csv(random_job(1, rate, fault=""), path)
        job = read_log(path)
        signal = numpy.array(job.pressures)[:, None] / 100.0
        taken = seconds(lambda job=job: read_trace(job), 3)
        pelt = seconds(lambda signal=signal: Pelt(model="l2", min_size=3, jump=1).fit(signal).predict(pen=20.0), 1)
        rows.append((f"a trace, {rate:g} Hz, {len(job) / taken:,.0f} readings/s", taken,
                     "ruptures' Pelt on the same log", pelt, len(job) / 10_000.0))
    return rows


def main() -> None:
    job = load_job(EXAMPLE)
    made = plan(job)
    fullest = max((load_job(EXAMPLE.with_name(name)) for name in EXAMPLES["survey"][:3]),
                  key=lambda each: seconds(lambda: plan(each), 3))
    calls = physics_calls(fullest)

    def bare() -> None:
        for entry, values in calls:
            if entry.refusal is None or entry.refusal(**values) == 0:
                entry.function(**values)

    with tempfile.TemporaryDirectory() as folder:
        blank = Path(folder) / "blank.typ"
        blank.write_text("empty")
        rows = [
            ("plan() of the fullest example", seconds(lambda: plan(fullest), 20),
             f"its {len(calls)} physics calls, bare", seconds(bare, 20), 0.050),
            ("loading the four files", seconds(lambda: load_job(EXAMPLE), 20), "", 0.0, 0.0),
            ("stillbore plan, as a process", seconds(process("-m", "stillbore", "plan", str(EXAMPLE)), 7),
             "the interpreter importing click and rich.table",
             seconds(process("-c", "import click, rich.console, rich.table"), 7), 0.600),
            ("stillbore --help, as a process", seconds(process("-m", "stillbore", "--help"), 9),
             "the interpreter importing click", seconds(process("-c", "import click"), 9), 0.200),
            ("pack as HTML", seconds(lambda: documents.pack_html(made), 5), "", 0.0, 1.0),
            ("pack as PDF/A-3", seconds(lambda: documents.pack_pdf(made), 5), "typst on an almost empty page",
             seconds(lambda: typst.compile(str(blank)), 5), 1.0),
        ]
        rows += gauge_rows(Path(folder))
        rows += store_rows(Path(folder))
        rows += record_rows()
        rows += app_rows()
    print(f"{'what':34} {'time':>10} {'wanted under':>13} {'ratio':>7}  to the floor")
    for what, taken, floor, floor_taken, wanted in rows:
        limit = f"{wanted * 1e3:.0f} ms" if wanted else ""
        times = taken / floor_taken if floor_taken else 0.0
        ratio = "" if not times else f"{times:.1f}" if times >= 0.1 else f"1/{1.0 / times:.0f}"
        against = f"{floor} ({floor_taken * 1e3:.1f} ms)" if floor_taken else ""
        print(f"{what:34} {taken * 1e3:7.1f} ms {limit:>13} {ratio:>7}  {against}")
    print(download())


if __name__ == "__main__":
    main()
