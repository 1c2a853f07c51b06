"""The evidence of the example job: gauge logs of a virtual rig, and pictures that say that they are invented.

    python studies/example_evidence.py        writes src/stillbore/examples/evidence/
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PIL import Image, ImageDraw

from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import hold, play, pump, release, usual_job, zero
from stillbore.practice.rig import Rig, Site, Trace

OUT = Path(__file__).parents[1] / "src" / "stillbore" / "examples" / "evidence"
SEED = 20300514
SITE = Site(leak_rate_m3_per_h=1e-6, letby_rate_m3_per_h=1e-6, leg_volume_l=6.0, district_mbar=30.2, hunting_mbar=0.1)
# Which labels of the job each log shows: from the first of them to the last.
LOGS = {"hold": ("zero", "hold"), "rise": ("drill", "live")}
PICTURES = ("B1", "B3", "B5", "B6", "B10", "C1", "C8", "C11", "C12", "D4", "E11", "E19", "F2", "F8", "I1", "I2")


def between(trace: Trace, start: float, end: float) -> Trace:
    """The part of a trace between two times, its own time from zero."""
    rows = [row for row, time in enumerate(trace.true_time_s) if start <= time <= end]
    part = replace(trace, time_s=trace.time_s[rows] - trace.time_s[rows[0]], pressure_mbar=trace.pressure_mbar[rows],
                   temperature_degC=trace.temperature_degC[rows], barometer_mbar=trace.barometer_mbar[rows], notes={})
    return part


def logs() -> dict[str, Trace]:
    """The logs of the job: integrity hold, break-through, let-by three times, and the test of the new pipe."""
    job = play(Rig(SEED, site=SITE, drift="shade"), usual_job(hold_s=180.0, letby_s=480.0))
    found = {}
    for name, (first, last) in LOGS.items():
        starts = [start for label, start, _ in job.labels if label == first]
        ends = [end for label, _, end in job.labels if label == last]
        found[name] = between(job, starts[0], max(ends))
    for name, seed in (("let_by", SEED), ("let_by_again", SEED + 1), ("let_by_third", SEED + 3)):
        again = play(Rig(seed, site=SITE, drift="shade"), usual_job(hold_s=60.0, letby_s=480.0))
        shut = max(start for label, start, _ in again.labels if label == "watch")
        found[name] = between(again, shut, float(again.true_time_s[-1]))
    rig = Rig(SEED + 2, site=SITE, drift="shade", range_mbar=600.0)
    pipe = play(rig, [(zero, {"seconds": 10.0}), (pump, {"to_mbar": 350.0}), (hold, {"seconds": 610.0}),
                      (release, {"after": 5.0})])
    found["new_pipe"] = between(pipe, 0.0, float(pipe.true_time_s[-1]))
    return found


def picture(step: str) -> Image.Image:
    """A picture that nobody can take for a photograph."""
    image = Image.new("L", (240, 160), 235)
    draw = ImageDraw.Draw(image)
    draw.rectangle((4, 4, 235, 155), outline=60, width=2)
    draw.text((16, 20), f"INVENTED PICTURE\nstands for the photo\nof step {step}", fill=20)
    number = PICTURES.index(step)
    for line in range(number + 1):  # each is another picture, so that none is kept twice
        draw.line((16 + 12 * line, 150, 28 + 12 * line, 90), fill=120, width=2)
    return image


if __name__ == "__main__":
    OUT.mkdir(exist_ok=True)
    for name, trace in logs().items():
        write_csv(trace, OUT / f"{name}.csv", barometer=False, notes=False)
    for step in PICTURES:
        picture(step).save(OUT / f"{step}.png", optimize=True)
    print(f"Wrote {OUT.name}: {len(list(OUT.iterdir()))} files")
