"""The app on a tablet, in a real Chromium with the depot off: the start, a press, a verdict, on a job of 2,000 events;
and what the tablet has to fetch once."""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

TESTS = Path(__file__).parents[1] / "tests"
sys.path[:0] = [str(TESTS / "app"), str(TESTS / "store")]

EVENTS, STARTS, PRESSES = 2_000, 5, 40
READING = "step/D6/ask.hold"
# Milliseconds from a click until what was asked for stands on the page; ``fill`` is typed first.
PRESS = """async ([find, fill]) => {
  const button = [...document.querySelectorAll("a, button")].find((each) => each.textContent.trim() === find);
  if (!button) throw new Error(`no ${find}: ${document.body.innerText.slice(0, 300)}`);
  if (fill) document.querySelector("input[inputmode=decimal], input[name=value]").value = fill;
  const begin = performance.now();
  const swapped = new Promise((done, failed) => {
    setTimeout(() => failed(new Error(`${find}: ${document.body.innerText.slice(0, 300)}`)), 20000);
    const before = document.getElementById("gauge-so-far") ?? document.getElementById("main");
    new MutationObserver((_, seen) => { if (!before.isConnected) { seen.disconnect(); done(); } })
      .observe(document, { childList: true, subtree: true });
  });
  button.click();
  await swapped;
  return performance.now() - begin;
}"""
START = """() => performance.getEntriesByName("stillbore shows its first page")[0].startTime"""


def long_job(folder: Path) -> None:
    """The example job up to its first hold, with notes until it has 2,000 events, in ``folder``/jobs.db."""
    from crew_pages import JOB, CrewAtPages

    from stillbore.record.events import Noted
    from stillbore.run.session import Hand

    crew = CrewAtPages(folder).up_to("gauge", "D6")
    session = crew.pages.app.state.desk.session(JOB)
    hand = Hand("P2", session.state.people["P2"].role)
    while len(session.lines) < EVENTS:
        session.attempt(Noted("", f"note {len(session.lines)}"), hand)
    crew.host.store.close()


def app_rows() -> list[tuple[str, float, str, float, float]]:
    """Rows of ``make bench``: what, seconds, floor, its seconds, seconds wanted."""
    import shutil

    from crew_pages import JOB
    from machines import TOKEN, Depot, Tablet
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        long_job(folder)
        depot = Depot(folder)
        depot.bring(folder / "jobs.db")
        executable = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
        tablet = Tablet(playwright, executable, folder / "profile", depot)
        tablet.visit("/tablet/")
        assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200 and tablet.state()["lines"] == EVENTS
        depot.stop()
        starts = []
        for _ in range(STARTS):
            tablet.close()
            tablet.open().visit("/en/")
            starts.append(tablet.page.evaluate(START) / 1e3)
        job = f"/en/jobs/{JOB}/run/P2"
        tablet.visit(f"{job}/{READING}")
        tablet.page.evaluate(PRESS, ["Take the reading now", "99.9"])  # the first has the session to open
        verdicts = [tablet.page.evaluate(PRESS, ["Take the reading now", "99.8"]) / 1e3 for _ in range(PRESSES)]
        presses = [tablet.page.evaluate(PRESS, ["All steps" if number % 2 == 0 else "Now", ""]) / 1e3
                   for number in range(PRESSES)]
        tablet.close()
    return [(f"tablet, cold start offline, median of {STARTS}", statistics.median(starts), "", 0.0, 2.0),
            ("tablet, press to swap, p95", percentile(presses), "", 0.0, 0.050),
            ("tablet, reading to verdict, p95", percentile(verdicts), "", 0.0, 0.050)]


def percentile(taken: list[float]) -> float:
    return statistics.quantiles(taken, n=20)[-1]


def download() -> str:
    """What a tablet fetches once, compressed."""
    from machines import BUILT

    packed = sum(path.stat().st_size for path in BUILT.rglob("*.br") if path.parent.name != "licences")
    return f"{'tablet, to fetch once, compressed':34} {packed / 1e6:7.2f} MB {'7 MB':>13}"


if __name__ == "__main__":
    for what, taken, _, _, wanted in app_rows():
        print(f"{what:45} {taken * 1e3:7.1f} ms, wanted under {wanted * 1e3:.0f} ms")
    print(download())
