"""The crew of test_browser.py at the tablet's own app, with the depot switched off: the very same hands do the same
job, and every verdict is worked out in the browser. Only two things differ: a page is opened without leaving the app,
and the clock that is set is the worker's."""

import itertools
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime

import pytest
import test_browser
from crew_pages import JOB
from machines import TOKEN
from playwright.sync_api import expect

from stillbore.record.verify import END_OPEN, verify
from stillbore.store.keys import check, read_keys
from stillbore.store.sqlite import SqliteStore

SET = """(at) => {
  if (!self.at) {
    const Real = Date;
    self.Date = class extends Real {
      constructor(...given) { if (given.length) super(...given); else super(self.at += 1000); }
      static now() { return Real.now(); }
    };
    performance.now = () => self.at - 1.8e12;
  }
  self.at = at;
}"""
BEGIN = datetime.fromisoformat("2030-05-14T07:00:00+00:00")
DOWNLOADS = ("Hand over as a file", "Take the key list along")  # after them the page stays as it is
GO = """(address) => window.htmx.ajax("GET", address, { target: document.body, push: address })"""


class Clock:
    """The clock of the tablet's worker: a second passes with each look at it, as at the crew's server."""

    def __init__(self, tablet):
        self.tablet = tablet
        self.at = BEGIN

    @property
    def at(self):
        return datetime.fromtimestamp(self.tablet.page.workers[0].evaluate("() => self.at") / 1000, UTC)

    @at.setter
    def at(self, at):
        self.tablet.page.workers[0].evaluate(SET, at.timestamp() * 1000)


class AtTheTablet:
    """What the hands ask of a running app and of a browser."""

    def __init__(self, tablet):
        self.tablet, self.host, self.base = tablet, Clock(tablet), tablet.depot.address

    def new_page(self, **size):
        return self.tablet.page


@contextmanager
def answered(hands):
    """Until the answer stands on the screen."""
    hands.page.evaluate("document.getElementById('main').dataset.before = 'yes'")
    yield
    expect(hands.page.locator("#main[data-before]")).to_have_count(0, timeout=60_000)


@pytest.fixture
def hands_stay_in_the_app(monkeypatch):
    """A page is opened by the app itself, and the hands wait for each answer as people do."""
    def open_in_the_app(hands, *parts):
        with answered(hands):
            hands.page.evaluate(GO, "/".join(("/en", *(test_browser.quote(part) for part in parts))))

    def waiting(plain):
        def press(hands, name):
            with nullcontext() if name in DOWNLOADS else answered(hands):
                plain(hands, name)
        return press

    monkeypatch.setattr(test_browser.Hands, "open", open_in_the_app)
    monkeypatch.setattr(test_browser.Hands, "sent", answered)
    for name in ("press", "follow"):
        monkeypatch.setattr(test_browser.Hands, name, waiting(getattr(test_browser.Hands, name)))


def test_the_example_job_on_a_tablet_that_is_killed_twice(tablet, depot, hands_stay_in_the_app, monkeypatch):
    """From survey to verified record with the depot gone, the browser killed between two answers and between two logs
    of the gauge; then the record goes to the depot, and is verified there."""
    depot.stop()
    there, plain_do, count = AtTheTablet(tablet), test_browser.Crew.do, itertools.count()

    def do(crew, words):
        if next(count) in (60, 200):
            at, lines = there.host.at, tablet.lines()
            tablet.kill()
            tablet.open().visit("/")
            assert tablet.lines() == lines
            there.host.at = at
            crew.__init__(tablet.page, there)
        plain_do(crew, words)

    monkeypatch.setattr(test_browser.Crew, "do", do)
    test_browser.test_the_example_job_by_touch_from_survey_to_verified_record(lambda: there, there)
    assert next(count) > 200
    depot.start()
    assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200
    status, listed = tablet.ask("GET", "/en/keys/keys.toml")
    assert status == 200
    with SqliteStore(depot.store) as store:
        lines = list(store.give(JOB))
        assert lines == tablet.lines() and store.lacking(JOB) == []
    known = read_keys(listed, "keys.toml").known
    found = verify(b"".join(line + b"\n" for line in lines), check, known)
    assert found.state == END_OPEN and not found.unknown  # it has no footer yet, and nothing else is wrong


def test_a_failed_integrity_test_and_the_hunt_on_a_tablet(tablet, depot, halfway, tmp_path, hands_stay_in_the_app):
    def brought_in(folder, at):
        depot.bring(folder / "jobs.db")
        assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200
        depot.stop()
        there.host.at = at
        return there

    there = AtTheTablet(tablet)
    try:
        test_browser.test_a_failed_integrity_test_and_the_hunt_by_touch_on_the_drawing(
            tmp_path / "halfway", brought_in, halfway, there)
    except BaseException:
        print("PAGE", tablet.page.url, tablet.page.evaluate("document.body.innerText")[:1500])
        raise
