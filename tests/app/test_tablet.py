"""The app on a tablet with the depot switched off, in a real Chromium: nothing acknowledged is lost, one owner, a torn
tail, storage refused, and the exchange afterwards. The lines are made with the tests' own crew, so that what is looked
for afterwards was known before."""

import json
import subprocess
from pathlib import Path

import pytest
from machines import BUILT, PACKAGE, TOKEN, Tablet
from made import Crew, opened

from stillbore.store.sqlite import SqliteStore


def crew_of(count):
    crew = Crew("J-T")
    crew.write("T1", opened())
    for _ in range(count - 1):
        crew.write("T1")
    return crew.raw


def test_it_starts_and_answers_with_the_depot_gone(tablet, depot):
    depot.stop()
    lines = crew_of(3)
    assert tablet.take(*lines)
    tablet.close()
    tablet.open().visit("/")
    assert tablet.lines() == lines
    assert tablet.page.evaluate("document.documentElement.dataset.storage") == "OPFS"


def test_a_killed_browser_loses_nothing_that_was_acknowledged(tablet, depot):
    """SIGKILL between two appends, each acknowledged to this process before the next began. It shows that no line waits
    in the browser's memory; that a commit syncs the disk is shown in test_logged.py."""
    depot.stop()
    lines = crew_of(40)
    acknowledged = []
    tablet.page.expose_function("acknowledged", lambda n: acknowledged.append(n))
    tablet.page.evaluate(
        "(lines) => { (async () => { for (const [n, body] of lines.entries()) { "
        "const a = await fetch('/host/take', {method: 'POST', body}); if (a.ok) await acknowledged(n); } })(); }",
        [line.decode() for line in lines])
    while len(acknowledged) < 15:
        tablet.page.wait_for_timeout(5)
    tablet.kill()
    count = len(acknowledged)
    tablet.open().visit("/")
    found = tablet.lines()
    assert count >= 15 and found[:count] == lines[:count]
    assert found == lines[:len(found)]  # and what more there is, is whole
    assert tablet.take(*lines)
    assert tablet.lines() == lines


def test_a_second_tab_is_told_and_goes_on_when_the_first_is_closed(tablet):
    second = tablet.context.new_page()
    second.goto(tablet.depot.address + "/")
    second.get_by_text("open in another tab already").wait_for()
    tablet.page.close()
    second.wait_for_selector("#start", state="detached")
    tablet.page = second
    assert tablet.state()["lines"] == 0


def test_reloads_in_a_burst_leave_one_owner(tablet):
    assert tablet.take(*crew_of(2))
    for _ in range(6):
        tablet.page.goto(tablet.depot.address + "/", wait_until="commit")
    tablet.visit("/")
    assert tablet.lines() == crew_of(2)


TEAR = """async (tail) => {
  const root = await navigator.storage.getDirectory();
  const folder = await root.getDirectoryHandle("stillbore");
  const file = await folder.getFileHandle("events.log");
  const size = (await file.getFile()).size;
  const out = await file.createWritable({ keepExistingData: true });
  await out.write({ type: "write", position: size, data: tail });
  await out.close();
  return size;
}"""


def test_a_torn_tail_is_laid_aside_and_all_before_it_is_there(tablet):
    lines = crew_of(5)
    assert tablet.take(*lines[:4])
    tablet.close()
    torn = lines[4][:-30].decode()
    tablet.open(service_workers="block")
    tablet.page.goto(tablet.depot.address + "/tablet/icon.svg")
    assert tablet.page.evaluate(TEAR, torn) == sum(len(line) + 1 for line in lines[:4])
    tablet.close()
    tablet.open().visit("/")
    assert tablet.lines() == lines[:4]
    assert any("laid aside" in each for each in tablet.state()["told"])
    assert tablet.take(lines[4]) and tablet.lines() == lines


def test_without_the_private_files_it_keeps_them_in_a_database(playwright, chromium, depot, tmp_path):
    """Some browsers have no OPFS in a worker. The module is changed on its way, with no service worker between."""
    tablet = Tablet(playwright, chromium, tmp_path / "profile", depot)
    medium = (BUILT / "medium.js").read_text(encoding="utf-8")
    tablet.context.route("**/tablet/medium.js", lambda route: route.fulfill(
        body="navigator.storage.getDirectory = undefined;\n" + medium, content_type="text/javascript"))
    try:
        tablet.visit("/tablet/")
        assert tablet.page.evaluate("document.documentElement.dataset.storage") == "IndexedDB"
        lines = crew_of(6)
        assert tablet.take(*lines[:3]) and tablet.take(*lines[3:])
        tablet.visit("/")
        assert tablet.lines() == lines
    finally:
        tablet.close()


FULL = """
const write = FileSystemSyncAccessHandle.prototype.write;
self.addEventListener("message", ({data}) => { if (data.address?.endsWith("?full")) {
  FileSystemSyncAccessHandle.prototype.write = () => { throw new DOMException("full", "QuotaExceededError"); };
} else { FileSystemSyncAccessHandle.prototype.write = write; } });
"""


def test_full_storage_is_said_and_nothing_of_it_is_kept(playwright, chromium, depot, tmp_path):
    tablet = Tablet(playwright, chromium, tmp_path / "profile", depot)
    medium = (BUILT / "medium.js").read_text(encoding="utf-8")
    tablet.context.route("**/tablet/medium.js", lambda route: route.fulfill(
        body=FULL + medium, content_type="text/javascript"))
    try:
        tablet.visit("/tablet/")
        lines = crew_of(4)
        assert tablet.take(*lines[:2])
        status, text = tablet.ask("POST", "/host/take?full", lines[2].decode())
        assert status == 507 and "storage is full" in text and "paper card" in text
        assert tablet.lines() == lines[:2]
        assert tablet.take(*lines[2:]) and tablet.lines() == lines
    finally:
        tablet.close()


def test_what_was_written_apart_comes_together(tablet, depot, tmp_path):
    lines = crew_of(7)
    depot.stop()
    assert tablet.take(*lines)
    status, text = tablet.ask("POST", "/host/exchange", TOKEN)
    assert status == 507 and "does not answer" in text
    depot.start()
    status, text = tablet.ask("POST", "/host/exchange", "another token, of no depot")
    assert status == 507 and "token is missing or wrong" in text
    status, text = tablet.ask("POST", "/host/exchange", TOKEN)
    assert status == 200 and json.loads(text)["out"]["new"] == 7
    with SqliteStore(depot.store) as store:
        assert list(store.give("J-T")) == lines


def test_no_page_runs_a_script_that_is_not_a_file(tablet):
    answered = tablet.context.request.get(tablet.depot.address + "/tablet/")
    policy = answered.headers["content-security-policy"]
    assert "script-src 'self' 'wasm-unsafe-eval';" in policy and "unsafe-inline" not in policy
    tablet.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=\"window.ran = 1\">')")
    tablet.page.wait_for_timeout(300)
    assert tablet.page.evaluate("window.ran") is None


@pytest.mark.parametrize("script", ["published.mjs", "secrets.mjs"])
def test_in_the_interpreter_of_the_browser(script, tmp_path):
    """Under Node, with the files that are shipped: the published cases agree as they do natively, and a secret of one
    host opens on the other (RFC 7914 and RFC 8439, by two libraries)."""
    from stillbore.store import keys

    secret = keys.make_person_key(tmp_path / "P1.secret", "six words that nobody knows")
    ran = subprocess.run(["node", Path(__file__).parent / script, BUILT, tmp_path, PACKAGE.parents[1] / "web"],
                         capture_output=True, text=True, check=False, timeout=300)
    assert ran.returncode == 0, ran.stderr[-2000:]
    told = json.loads(ran.stdout.splitlines()[-1])
    if script == "published.mjs":
        from stillbore.published import cases, row

        assert told["cases"] == len(cases()) > 100
        assert told["disagree"] == [each.function for each in cases() if not row(each).agrees]
        natively = [row(each).ours for each in cases()]
        assert told["ours"] == pytest.approx(natively, rel=1e-12, abs=1e-300)
    else:
        assert told["opened"] == secret.public
        made = keys.person_key(tmp_path / "P2.secret", "other words that nobody knows")
        assert made.public == told["made"] and keys.check(told["made"], b"a message", told["signature"])
        assert told["checks"] == [True, False, False]
