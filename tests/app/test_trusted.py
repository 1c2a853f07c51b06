"""docs/tablet.md, done: an authority of the depot's own, a certificate for its address, a browser that trusts it. And
the control: a browser that does not trust it keeps nothing."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from machines import PACKAGE, Depot, Tablet

DOCS = PACKAGE.parents[1] / "docs" / "tablet.md"
NAME = "depot.example"


class Trusted(Depot):
    """The depot at https://depot.example, with the certificate that docs/tablet.md makes."""

    more = ("--certificate", "depot.pem", "--certificate-key", "depot.key")

    def __init__(self, folder):
        for command in re.findall(r"^    (openssl (?:.*\\\n)*.*)", DOCS.read_text(encoding="utf-8"), re.MULTILINE):
            subprocess.run(["bash", "-c", command.replace("\n    ", "\n")], cwd=folder, check=True, capture_output=True)
        self.folder = folder
        super().__init__(folder)
        self.address = f"https://{NAME}:{self.port}"


@pytest.fixture
def trusted(tmp_path):
    made = Trusted(tmp_path)
    yield made
    made.stop()


def opened(playwright, chromium, depot, home, folder):
    return Tablet(playwright, chromium, folder, depot, env={"HOME": str(home)},
                  args=["--no-sandbox", f"--host-resolver-rules=MAP {NAME} 127.0.0.1"])


def test_a_tablet_that_trusts_the_depot_keeps_the_app(playwright, chromium, trusted, tmp_path):
    if shutil.which("certutil") is None:
        pytest.skip("certutil (libnss3-tools) is not installed: Chromium can be told of no authority")
    home, store = tmp_path / "home", tmp_path / "home" / ".pki" / "nssdb"
    store.mkdir(parents=True)
    authority = str(tmp_path / "authority.pem")
    for command in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "depot", "-i", authority]):
        subprocess.run(["certutil", "-d", f"sql:{store}", *command], check=True)
    tablet = opened(playwright, chromium, trusted, home, tmp_path / "profile")
    try:
        tablet.visit("/tablet/")
        trusted.stop()
        tablet.close()
        tablet.open().visit("/")
        assert tablet.state()["lines"] == 0
    finally:
        tablet.close()


def test_a_tablet_that_does_not_trust_it_is_told(playwright, chromium, trusted, tmp_path):
    (tmp_path / "home").mkdir()
    tablet = opened(playwright, chromium, trusted, tmp_path / "home", tmp_path / "profile")
    try:
        with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
            tablet.page.goto(trusted.address + "/tablet/")
        tablet.close()
        tablet.open(ignore_https_errors=True)  # as somebody who clicks the warning away
        tablet.page.goto(trusted.address + "/tablet/")
        tablet.page.get_by_text("paper card").wait_for()
    finally:
        tablet.close()


def test_over_plain_http_by_name_it_is_told(playwright, chromium, depot, tmp_path):
    depot.address = f"http://{NAME}:{depot.port}"
    tablet = opened(playwright, chromium, depot, Path.home(), tmp_path / "profile")
    try:
        tablet.page.goto(depot.address + "/tablet/")
        tablet.page.get_by_text("not one that the browser trusts").wait_for()
    finally:
        tablet.close()
