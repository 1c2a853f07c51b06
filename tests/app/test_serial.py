"""An instrument on a cable, at the page in a real Chromium, with a port of the test's own, which keeps the rules of the
Web Serial draft that matter here (a press is wanted before a port is chosen; a port whose stream is still being read
does not close; after a fault on the line there is a new stream, after the end none). No test has real ports.
What is made of the lines: test_cable_lines.py."""

from dataclasses import dataclass
from typing import Any

import pytest
from crew_pages import JOB
from machines import TOKEN
from playwright.sync_api import expect
from test_browser import CSS_PX_PER_MM, DESK, FINGER_MM, LOOK, PHONE, SMALL, TABLET
from test_cable_lines import HOSTILE, PLACE

PORT = """(() => {
  class Port extends EventTarget {
    readable = null; openings = []; closings = 0;
    async open(options) {
      if (this.busy) throw new DOMException("Failed to open serial port.", "NetworkError");
      this.openings.push(options);
      this.listen();
    }
    listen() {
      const port = this;
      this.readable = new ReadableStream({ start(way) { port.way = way; }, cancel() { port.readable = null; } });
    }
    feed(bytes) { this.way.enqueue(new Uint8Array(bytes)); }
    pull() {
      const way = this.way;
      this.readable = null;
      way.error(new DOMException("The device has been lost.", "NetworkError"));
      this.dispatchEvent(new Event("disconnect"));
    }
    disturb() {
      const way = this.way;
      this.listen();
      way.error(new DOMException("Framing error", "FramingError"));
    }
    async close() {
      if (this.readable?.locked) throw new TypeError("Cannot cancel a locked stream");
      this.readable = null;
      this.closings += 1;
    }
  }
  window.instrument = new Port();
  const serial = new EventTarget();
  serial.asked = 0;
  serial.requestPort = async () => {
    if (!navigator.userActivation.isActive) throw new DOMException("Must be handling a user gesture", "SecurityError");
    serial.asked += 1;
    if (window.instrument.unchosen) throw new DOMException("No port selected by the user.", "NotFoundError");
    return window.instrument;
  };
  Object.defineProperty(navigator, "serial", { configurable: true, value: serial });
})()"""
FEED = """async (bytes) => {
  window.instrument.feed(bytes);
  await new Promise((done) => setTimeout(done, 3));
}"""
ABSENT = "delete Navigator.prototype.serial;"


@dataclass
class AtTheGauge:
    """A person at the gauge's page of D6, and the instrument at the other end of the cable."""

    page: Any
    open_again: Any

    def set_up(self, unit="mbar"):
        self.page.get_by_text("From the instrument by cable").click()
        self.page.get_by_label("Unit of the instrument").select_option(unit)
        self.page.get_by_role("checkbox", name="All three are certified").check()
        self.press("Choose the instrument")
        self.said("Waiting for the first whole line.")

    def press(self, name):
        self.page.get_by_role("button", name=name, exact=True).click()

    def feed(self, *pieces):
        for piece in pieces:
            self.page.evaluate(FEED, list(piece))

    def said(self, words):
        expect(self.page.locator("[data-cable=state]")).to_contain_text(words)
        expect(self.page.locator("[data-cable=state]")).to_be_visible()

    def shows(self, *last):
        """The pressures at the end of the log, on the page."""
        found = self.page.locator("#gauge-last li")
        expect(found).to_have_count(min(len(last), 6))
        assert [float(text.split(",")[1]) for text in found.all_inner_texts()] == list(last)[-6:]

    def port(self, what):
        return self.page.evaluate(f"window.instrument.{what}")

    def closed(self, times):
        """The port was closed so many times, and is closed."""
        for _ in range(100):
            if self.port("closings") == times:
                break
            self.page.wait_for_timeout(50)
        assert self.port("closings") == times and self.port("readable") is None


@pytest.fixture(params=["server", "tablet"])
def gauge(request, tmp_path, halfway):
    """The same page from both hosts, with the depot gone where it is the tablet's own."""
    crew = halfway(tmp_path / "halfway", "gauge", "D6")
    crew.host.store.close()
    address = f"/en/jobs/{JOB}/run/P2/" + "/".join(PLACE)
    if request.param == "server":
        server = request.getfixturevalue("running")(tmp_path / "halfway", crew.host.at)
        page = request.getfixturevalue("browser").new_page(viewport=TABLET)
        page.set_default_timeout(20_000)
        page.add_init_script(PORT)

        def open_again():
            page.goto(server.base + address)
    else:
        tablet, depot = request.getfixturevalue("tablet"), request.getfixturevalue("depot")
        depot.bring(tmp_path / "halfway" / "jobs.db")
        assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200
        depot.stop()
        page = tablet.page
        tablet.context.add_init_script(PORT)

        def open_again():
            tablet.visit(address)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    open_again()
    expect.set_options(timeout=20_000)
    yield AtTheGauge(page, open_again)
    expect.set_options(timeout=5_000)
    assert faults == []


def test_lines_in_any_pieces_become_readings_that_are_there_after_a_reload(gauge):
    gauge.set_up()
    assert gauge.port("openings") == [{"baudRate": 9600}]
    degrees = "21 °C\r\n".encode()
    gauge.feed(b"0.5\r", b"\n99.", b"8\r\n9", b"9,7\r", b"\n", degrees[:4], degrees[4:])
    gauge.feed(b"100.1 mbar\n\n98", b".5\r\n97")
    gauge.said("The instrument is being read.")
    gauge.shows(99.8, 99.7, 100.1, 98.5)
    expect(gauge.page.locator("#cable-read .big")).to_have_text("98.5")
    expect(gauge.page.locator("#cable-unread")).to_contain_text(
        "Lines that could not be read: 1. No reading was made of them. The last one: 21 °C")
    gauge.feed(b".25\r\n", HOSTILE.encode() + b"\r\n")
    gauge.shows(99.8, 99.7, 100.1, 98.5, 97.25)
    expect(gauge.page.locator("#cable-unread")).to_contain_text("Lines that could not be read: 2.")
    expect(gauge.page.locator("#cable-unread")).to_contain_text("<img src=x")
    gauge.press("Stop reading")
    gauge.said("Reading has stopped, and the port is closed.")
    gauge.closed(1)
    gauge.open_again()
    gauge.shows(99.8, 99.7, 100.1, 98.5, 97.25)
    expect(gauge.page.get_by_text("After 5 readings:")).to_be_visible()


def test_a_pulled_cable_is_said_and_what_was_read_is_kept(gauge):
    gauge.set_up("kPa")
    gauge.feed(b"\n9.98\n9,97\n5")
    gauge.page.evaluate("window.instrument.pull()")
    gauge.said("The cable was pulled, or the instrument is off.")
    gauge.shows(99.8, 99.7)  # what had come was sent at once; of what was begun nothing was made
    expect(gauge.page.get_by_role("button", name="Stop reading")).to_be_hidden()
    assert gauge.page.get_by_label("Unit of the instrument").input_value() == "kPa"
    tick = gauge.page.get_by_role("checkbox", name="All three are certified")
    expect(tick).not_to_be_checked()  # the cable is put back: it is asked anew
    tick.check()
    gauge.press("Choose the instrument")
    gauge.feed(b"8.0\n9.96\n")
    gauge.shows(99.8, 99.7, 99.6)


def test_the_port_outlives_a_page_that_is_swapped_in_and_not_the_crew_that_goes(gauge):
    gauge.set_up()
    gauge.feed(b"\n99.8\n")
    gauge.page.get_by_label("Gauge reads").fill("50")
    gauge.press("Take the reading now")  # straight away: the line that came before it comes before it in the log
    gauge.shows(99.8, 50.0)
    expect(gauge.page.locator("[data-cable=state]")).to_have_text("The instrument is being read.")
    gauge.feed(b"99.6\n")
    gauge.shows(99.8, 50.0, 99.6)
    gauge.press("Take the last one back")
    gauge.shows(99.8, 50.0)
    gauge.feed(b"99.5\n")
    gauge.shows(99.8, 50.0, 99.5)
    gauge.feed(b"99.4\n")
    gauge.press("Keep this log as the answer")  # and with the log kept, the cable has done what it was for
    expect(gauge.page.get_by_text("Written down, and on disk.")).to_be_visible()
    gauge.shows(99.8, 50.0, 99.5, 99.4)
    gauge.said("Reading has stopped, and the port is closed.")
    gauge.closed(1)
    gauge.page.locator("[data-cable=setup] summary").click()
    gauge.page.get_by_role("checkbox", name="All three are certified").check()
    gauge.press("Choose the instrument")
    gauge.feed(b"\n99.3\n")
    gauge.page.get_by_role("link", name="Now", exact=True).click()
    expect(gauge.page.locator("[data-cable=panel]")).to_have_count(0)
    gauge.closed(2)
    gauge.open_again()
    gauge.shows(99.8, 50.0, 99.5, 99.4, 99.3)


only_server = pytest.mark.parametrize("gauge", ["server"], indirect=True)


@only_server
def test_a_certified_instrument_is_asked_for_before_a_port_is_chosen(gauge):
    gauge.page.get_by_text("From the instrument by cable").click()
    caution = gauge.page.get_by_text("An instrument, its cable and this device are ignition sources.")
    expect(caution).to_be_visible()
    button = gauge.page.get_by_role("button", name="Choose the instrument")
    assert caution.bounding_box()["y"] < button.bounding_box()["y"]
    gauge.press("Choose the instrument")
    gauge.page.wait_for_timeout(300)
    assert gauge.page.evaluate("navigator.serial.asked") == 0 and gauge.port("openings") == []
    gauge.page.get_by_role("checkbox", name="All three are certified").check()
    gauge.page.evaluate("window.instrument.unchosen = true")
    gauge.press("Choose the instrument")
    gauge.said("No instrument was chosen.")
    gauge.page.evaluate("window.instrument.unchosen = false; window.instrument.busy = true")
    gauge.press("Choose the instrument")
    gauge.said("The port does not open.")
    gauge.page.evaluate("window.instrument.busy = false")
    gauge.page.get_by_label("Speed of the line, baud").select_option("19200")
    gauge.press("Choose the instrument")
    gauge.said("The port is open.")
    assert gauge.port("openings") == [{"baudRate": 19200}]


@only_server
def test_a_disturbed_line_costs_what_was_torn_and_no_more(gauge):
    gauge.set_up()
    gauge.feed(b"\n99.8\n99")
    gauge.page.evaluate("window.instrument.disturb()")
    gauge.feed(b".7\n99.6\n" + b"7" * 5000, b"7" * 5000 + b"\n99.5\n")
    gauge.said("The line was disturbed.")
    gauge.shows(99.8, 99.6, 99.5)
    expect(gauge.page.locator("#cable-unread")).to_contain_text("Lines that could not be read: 1.")


@only_server
def test_no_more_than_one_request_a_second_however_many_lines(gauge):
    posts = []
    gauge.page.on("request", lambda request: posts.append(request) if request.method == "POST" else None)
    gauge.set_up()
    gauge.feed(b"\n")
    began = gauge.page.evaluate("performance.now()")
    for number in range(60):
        gauge.feed(b"99.%02d\n" % number)
        gauge.page.wait_for_timeout(50)
    seconds = (gauge.page.evaluate("performance.now()") - began) / 1000
    expect(gauge.page.locator("#cable-read .big")).to_have_text("99.59")
    expect(gauge.page.get_by_text("After 60 readings:")).to_be_visible()
    assert 2 <= len(posts) <= seconds + 2


@only_server
def test_an_app_that_does_not_answer_is_said_and_its_lines_are_sent_again_and_taken_once(gauge):
    gauge.set_up()
    gauge.page.route("**/gauge", lambda route: (route.fetch(), route.abort()))  # taken, and the answer lost on its way
    gauge.feed(b"\n99.8\n99.7\n")
    gauge.said("The app does not answer.")
    gauge.page.unroute("**/gauge")
    gauge.said("The instrument is being read.")
    gauge.shows(99.8, 99.7)
    gauge.page.route("**/gauge", lambda route: route.fulfill(status=507, content_type="text/html", body="<main>The "
                                                             "storage is full.</main>"))
    gauge.feed(b"99.6\n")
    gauge.said("The last lines were not taken: The storage is full.")
    gauge.closed(1)


@only_server
def test_a_silent_instrument_is_said_so_that_no_old_number_looks_new(gauge):
    gauge.page.clock.install()
    gauge.set_up()
    gauge.feed(b"\n99.8\n")
    gauge.page.clock.run_for(2000)
    gauge.said("The instrument is being read.")
    gauge.page.clock.run_for(12_000)
    gauge.said("No line has come for 10 s.")


def test_without_web_serial_there_is_nothing_of_it_to_be_seen(tmp_path, running, halfway, browser):
    crew = halfway(tmp_path, "gauge", "D6")
    crew.host.store.close()
    server = running(tmp_path, crew.host.at)
    for script, count in ((PORT, 1), (ABSENT, 0)):
        page = browser.new_page(viewport=TABLET)
        page.add_init_script(script)
        page.goto("/".join((server.base, "en/jobs", JOB, "run/P2", *PLACE)))
        expect(page.get_by_role("button", name="Take the reading now")).to_be_visible()
        expect(page.locator(".keypad")).to_be_visible()  # the scripts have run
        assert page.evaluate("'serial' in navigator") == bool(count)
        assert page.get_by_text("From the instrument by cable").and_(page.locator(":visible")).count() == count


@pytest.mark.parametrize("size", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
@pytest.mark.parametrize("gauge", ["server"], indirect=True)
def test_axe_finds_nothing_and_every_target_fits_a_finger(gauge, axe, size):
    page = gauge.page
    page.set_viewport_size(size)

    def look():
        page.evaluate(axe)
        assert page.evaluate(LOOK) == []
        assert page.evaluate(SMALL, FINGER_MM * CSS_PX_PER_MM - 0.5) == []
        for zoom in ("17px", "34px") if size is PHONE else ("17px",):
            page.evaluate("size => { document.documentElement.style.fontSize = size; }", zoom)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        page.evaluate("document.documentElement.style.fontSize = ''")

    gauge.set_up()
    gauge.feed(b"\n100.25\nno number\n")
    expect(page.locator("#cable-read .big")).to_have_text("100.25")
    look()
    gauge.press("Stop reading")
    gauge.said("Reading has stopped")
    expect(page.get_by_role("button", name="Choose the instrument")).to_be_visible()
    look()
