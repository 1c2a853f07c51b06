"""Verifying a long log and folding a long job, beside what no reader of such a log can do without."""

from __future__ import annotations

import hashlib
import json
import os
import time
from pathlib import Path

from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.record.chain import Chains, Line, export, seal_line
from stillbore.record.events import Answered, District, Event, Opened, Sealed, Value
from stillbore.record.verify import VERIFIED, known_key, verify
from stillbore.run.basis import basis
from stillbore.run.fold import fold
from stillbore.store.keys import Secret, check

EXAMPLE = Path(__file__).parents[1] / "src/stillbore/examples/service.toml"
LONG, JOB, SEALED_EVERY = 100_000, 5_000, 500
WANTED_VERIFY, WANTED_FOLD = 3.0, 0.050
READING = Value("30.2", "0.3", "mbar", instrument="G-11")


def long_log(count: int, version: str, device: Secret) -> list[Line]:
    """A log of answers and district readings, its head sealed now and then."""
    chains, lines = Chains(), []
    for number in range(count):
        n, order, prev, after = chains.place("D1")
        if not n:
            what: object = Opened((), version, "0", (), device.public)
        elif number % SEALED_EVERY == SEALED_EVERY - 1:
            what = Sealed(prev, device.public, device.sign(bytes.fromhex(prev)))
        elif number % 2:
            what = District(READING, "governor")
        else:
            what = Answered("B6", "pressure", READING, "met", "75 mbar", "rules.pressure.maximum_operating_pressure")
        at = f"2030-05-14T{8 + number // 36_000:02d}:{number // 600 % 60:02d}:{number // 10 % 60:02d}+00:00"
        line = seal_line(Event("J-1", "D1", n, order, "P1", "team leader", at, what, prev,  # type: ignore[arg-type]
                               "boot", 1000 * number, "", "", after))
        chains.add(line)
        lines.append(line)
    return lines


def record_rows() -> list[tuple[str, float, str, float, float]]:
    """Rows for bench.py: what, seconds, the floor in words, its seconds, seconds wanted."""
    device = Secret(os.urandom(32))
    made = basis(plan(load_job(EXAMPLE)))
    lines = long_log(LONG, made.plan, device)
    data = export(lines, "2030-05-14T18:00:00+00:00", "D1", device.public, device.sign)
    begin = time.perf_counter()
    for raw in data.splitlines():
        hashlib.sha256(raw).hexdigest()
        json.loads(raw)
    floor = time.perf_counter() - begin
    begin = time.perf_counter()
    report = verify(data, check, {known_key("device", "D1", device.public)})
    taken = time.perf_counter() - begin
    assert report.state == VERIFIED, report.why
    lines = lines[:JOB]  # a job alone: nothing else that a collector would look through
    pairs = [(line.hash, line.event) for line in lines]
    begin = time.perf_counter()
    for line in lines:
        hashlib.sha256(line.raw).hexdigest()
        json.loads(line.raw)
    bare_fold = time.perf_counter() - begin
    begin = time.perf_counter()
    fold(pairs, {made.plan: made})
    folded = time.perf_counter() - begin
    return [(f"verifying {LONG:,} events", taken, "json.loads and SHA-256 of each line", floor, WANTED_VERIFY),
            (f"folding a job of {JOB:,} events", folded, "json.loads and SHA-256 of each line", bare_fold, WANTED_FOLD)]
