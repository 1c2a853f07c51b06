"""Makes the crew that works through the pages importable; and one job under way, from which each test goes its own
way: an up-to-date copy of its store is cheaper than a job done again."""

import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def halfway(tmp_path_factory):
    """Copies of one job, stopped before a line of the script: ``halfway(folder, "gauge", "D6")``."""
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
