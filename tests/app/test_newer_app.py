"""A newer version of the app comes to a tablet with a job under way: the one in use goes on until somebody takes the
newer, with a connection or without (issue 6: a new version never changes a job under way)."""

import shutil
import zipfile

import pytest
from crew_pages import JOB
from machines import PACKAGE, TOKEN

from stillbore.version import PACKED, code_hash

OTHER = "0123456789abcdef" * 4
CALLOUT = "A newer version of this app is on the device"
MARK = "/* a later version */"


@pytest.fixture
def newer_package(tmp_path):
    """The program with another style sheet for the tablet, and other code by its hash."""
    package = tmp_path / "newer" / "stillbore"
    shutil.copytree(PACKAGE, package, ignore=shutil.ignore_patterns("__pycache__"))
    web = package / "app" / "web"
    for name in ("tablet.css", "packages.zip", "service-worker.js", "worker.js"):
        (web / f"{name}.br").unlink()
    with (web / "tablet.css").open("a", encoding="utf-8") as out:
        out.write(MARK)
    with zipfile.ZipFile(PACKAGE / "app" / "web" / "packages.zip") as old, \
            zipfile.ZipFile(web / "packages.zip", "w") as new:
        for item in old.infolist():
            new.writestr(item, OTHER if item.filename == f"stillbore/{PACKED}" else old.read(item))
    for worker in (web / "service-worker.js", web / "worker.js"):
        text = worker.read_text(encoding="utf-8")
        version = text.partition('const VERSION = "')[2].partition('"')[0]
        worker.write_text(text.replace(version, "f" * len(version)), encoding="utf-8")
    return package


def in_use(tablet):
    return "newer" if MARK in tablet.page.evaluate("fetch('/tablet/tablet.css').then(a => a.text())") else "older"


def said(tablet, path):
    status, text = tablet.ask("GET", path)
    assert status == 200
    return text


def take(tablet):
    with tablet.page.expect_navigation(wait_until="load"):
        tablet.page.get_by_role("button", name="Take the newer version").click()
    tablet.page.wait_for_selector("html[data-kept]", state="attached")
    tablet.page.wait_for_selector("#start", state="detached")


def test_the_version_in_use_goes_on_until_the_newer_is_taken(tablet, depot, halfway, newer_package, tmp_path):
    halfway(tmp_path / "halfway", "sign", "D9").host.store.close()
    depot.bring(tmp_path / "halfway" / "jobs.db")
    assert tablet.ask("POST", "/host/exchange", TOKEN)[0] == 200
    depot.stop()
    depot.package = newer_package
    depot.start()
    assert "newer version" not in said(tablet, "/en/")

    tablet.visit("/en/")
    tablet.page.wait_for_function("navigator.serviceWorker.getRegistration().then(found => Boolean(found.waiting))")
    tablet.visit("/en/")
    tablet.page.get_by_text(CALLOUT).wait_for()
    assert in_use(tablet) == "older"
    assert f"Under way on this device: {JOB}." in said(tablet, "/en/")

    depot.stop()
    tablet.close()
    tablet.open().visit("/en/")  # every tab of the older was closed, which is when browsers exchange such things
    tablet.page.get_by_text(CALLOUT).wait_for()
    assert in_use(tablet) == "older" and "NEWER HERE" not in said(tablet, f"/en/jobs/{JOB}")

    take(tablet)
    assert in_use(tablet) == "newer" and "A newer version" not in said(tablet, "/en/")
    job = said(tablet, f"/en/jobs/{JOB}")
    assert "NEWER HERE" in job and f"(code {OTHER[:16]})" in job and f"(code {code_hash()[:16]})" in job
    assert "Every number of the plan would come out the same here." in job
    kept = tablet.page.evaluate("caches.keys()")
    assert len(kept) == 2 and any(name.endswith("ffff") for name in kept), kept


def test_taken_at_once_where_it_has_just_been_fetched(tablet, depot, newer_package):
    depot.stop()
    depot.package = newer_package
    depot.start()
    tablet.visit("/en/")
    tablet.page.wait_for_function("navigator.serviceWorker.getRegistration().then(found => Boolean(found.waiting))")
    tablet.visit("/en/")
    take(tablet)
    assert in_use(tablet) == "newer" and "A newer version" not in said(tablet, "/en/")
    depot.stop()
    tablet.close()
    tablet.open().visit("/en/")
    assert in_use(tablet) == "newer"
