"""The same state, the same page: every page from both hosts, byte for byte, but for a closed list of differences."""

import re
import shutil

import pytest
from client import Pages
from crew_pages import JOB
from machines import TOKEN
from test_pages import PLACES

from stillbore.app.host import KEYS
from stillbore.app.server import Server

# What may differ between two machines with the same state; each is taken out on both sides.
DIFFERENCES = {
    "the name of the device": r"\b(?:D2|T[0-9a-f]{6})\b",
    "the key of the device": "{key}",
    "the PDF is made where typst is": r'<a class="key" href="[^"]*(?:plan\.pdf|record/pdf)"[^>]*>[^<]*</a>\n?',
    "what typeset it, on which machine": r"typst (?:not installed|[\d.]+), face [\w.]+, on \w+",
    "what the clock says now": r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:\+00:00|Z)",
}


def without(page, key, met):
    for name, pattern in DIFFERENCES.items():
        page, count = re.subn(pattern.replace("{key}", f"{key[:16]}[0-9a-f]*"), "", page)
        met |= {name} if count else set()
    return page


@pytest.fixture
def both(tablet, depot, halfway, tmp_path):
    """A job half done on another device: brought to a second server, and to the tablet over the depot."""
    crew = halfway(tmp_path / "halfway", "sign", "D9")
    documents = {(shelf, name): crew.host.documents.read(shelf, name)
                 for shelf in crew.host.documents.shelves() for name in crew.host.documents.list(shelf)}
    crew.host.store.close()
    depot.bring(tmp_path / "halfway" / "jobs.db")
    shutil.copy(tmp_path / "halfway" / "jobs.db", tmp_path / "second.db")
    second = Server(tmp_path / "second.db", "D2")
    assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200
    for (shelf, name), text in documents.items():
        second.documents.write(shelf, name, text)
        assert tablet.ask("POST", f"/host/documents/{shelf}/{name}", text)[0] == 200
    yield Pages(tmp_path, second), tablet, second
    second.store.close()


def test_every_page_is_the_same_from_both_hosts(both):
    pages, tablet, second = both
    key = tablet.state()["key"]
    met = set()
    assert KEYS in second.documents.shelves()
    for place in PLACES:
        natively = pages.get(f"/en/{place}", headers={"accept-language": "en-GB"})
        status, text = tablet.ask("GET", f"/en/{place}")
        assert status == natively.status_code == 200, place
        assert without(text, key, met) == without(natively.text, second.device.key, met), place
    assert JOB in text and met == DIFFERENCES.keys()  # none stands on the list in vain
