"""The same pages on a tablet with the depot switched off: a job planned, opened and begun, stopped
and gone on with, a reading that outlives a killed browser, and the record handed over."""

from client import EXAMPLES, WORDS
from crew_pages import JOB
from playwright.sync_api import expect


class OnTablet:
    """A person at the tablet. An address is opened by the tablet itself: there is no server to ask for one."""

    def __init__(self, tablet):
        self.tablet, self.page = tablet, tablet.page
        self.faults = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))

    def press(self, name, sort="button"):
        self.page.get_by_role(sort, name=name, exact=True).first.click()

    def fill(self, label, text):
        self.page.get_by_label(label, exact=True).and_(self.page.locator("input, textarea")).first.fill(text)

    def said(self, text):
        expect(self.page.get_by_text(text).first).to_be_visible(timeout=60_000)

    def go(self, *parts):
        self.tablet.visit("/".join(("/en", *parts)), self.page)


def test_a_job_is_planned_opened_and_begun_with_the_depot_gone(tablet, depot):
    depot.stop()
    hands = OnTablet(tablet)
    hands.go("new")
    hands.fill("Number of the job", JOB)
    hands.page.get_by_role("radio", name="The invented example").check()
    hands.press("Make it")
    hands.said("Survey, by cards")
    for person in ("P1", "P2"):
        hands.go("keys")
        hands.fill("Person, by number, as P1", person)
        hands.fill("Words that only you know", WORDS[person])
        hands.fill("The same again", WORDS[person])
        hands.press("Make it")
        expect(hands.page.get_by_role("rowheader", name=person)).to_be_visible(timeout=60_000)
    hands.go("jobs", JOB, "start")
    hands.page.get_by_role("radio", name="P1 team leader").check()
    hands.press("Open the job")
    hands.said("Check the order")
    hands.go("jobs", JOB, "run", "P2", "step", "B6", "ask.pressure")
    for key in "30.2":
        hands.press(key)
    hands.press("Write it down")
    hands.said("Written down, and on disk.")
    hands.said("MET")
    hands.press("STOP")
    hands.said("A stop is never scored")
    hands.fill("Why the work goes on", "only a try")
    hands.press("Go on after a stop")
    hands.said("Check the order")
    hands.go("jobs", JOB, "run", "P2", "step", "D6", "ask.hold")
    hands.fill("Gauge reads", "99.8")
    hands.press("Take the reading now")
    hands.said("After 1 readings:")
    tablet.kill()
    tablet.open()
    again = OnTablet(tablet)
    again.go("jobs", JOB, "run", "P2", "step", "D6", "ask.hold")
    again.said("After 1 readings:")
    again.page.get_by_text("A log that is there already").click()
    again.page.get_by_label("A file, time,pressure_mbar").set_input_files(EXAMPLES / "evidence" / "hold.csv")
    again.press("Take this file")
    again.said("After 210 readings:")
    again.go("jobs", JOB, "record")
    again.said("exceptions first")
    with again.page.expect_download() as handed:
        again.press("Hand over as a file")
    assert handed.value.suggested_filename == f"{JOB}-record.jsonl"
    assert hands.faults == again.faults == []
