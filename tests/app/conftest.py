"""Fixtures of the app's tests. Also finds what they share: machines.py, crew_pages.py, tests/store/made.py."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "store")]

from machines import BUILT, Depot, Running, Tablet  # noqa: E402

HERE = Path(__file__).parent
AXE = HERE / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="session")
def chromium():
    """Debian's package or another that is installed. Without one no test of the app runs, and the run fails."""
    found = next((path for path in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if path), None)
    assert found, "There is no Chromium; install one: apt-get install chromium"
    assert (BUILT / "service-worker.js").is_file(), "The app for the browser is not built: make app builds it"
    return found


@pytest.fixture
def depot(tmp_path):
    made = Depot(tmp_path)
    yield made
    made.stop()


@pytest.fixture(scope="session")
def playwright():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as made:
        yield made


@pytest.fixture
def tablet(playwright, chromium, depot, tmp_path):
    """A tablet that has visited the depot once."""
    made = Tablet(playwright, chromium, tmp_path / "profile", depot)
    made.visit("/tablet/")
    yield made
    made.close()


@pytest.fixture(scope="session")
def halfway(tmp_path_factory):
    """Copies of one job, stopped before a line of the script: ``halfway(folder, "gauge", "D6")``. A copy of its store
    is cheaper than a job done again."""
    from crew_pages import CrewAtPages

    kept = {}

    def copied(folder, *stop):
        if stop not in kept:
            crew = CrewAtPages(tmp_path_factory.mktemp("halfway"))
            crew.up_to(*stop)
            kept[stop] = (Path(crew.host.documents.root).parent, crew.host.at)
            crew.host.store.close()
        source, at = kept[stop]
        shutil.copytree(source, folder, dirs_exist_ok=True)
        crew = CrewAtPages(folder)
        crew.host.at = at
        return crew

    return copied


@pytest.fixture(scope="session")
def axe():
    if not AXE.exists():
        subprocess.run(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"], cwd=HERE, check=True,
                       capture_output=True)
    return AXE.read_text(encoding="utf-8")


@pytest.fixture
def running(tmp_path):
    made = []

    def run(folder=tmp_path, at=None):
        made.append(Running(folder, at))
        return made[-1]

    yield run
    for each in made:
        each.stop()


@pytest.fixture
def browser(playwright, chromium):
    found = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
    yield found
    found.close()
