"""A run of the whole suite in which a kind of test did not run is a failure, not a success."""

from collections import Counter
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
KINDS = ("contract", "published", "reference", "job", "plan", "gauge", "practice", "record", "run", "store", "report",
         "cli", "app")
passed: Counter[str] = Counter()


def pytest_runtest_logreport(report):
    if report.when == "call" and report.passed:
        passed[Path(report.fspath).parts[1] if len(Path(report.fspath).parts) > 2 else "root"] += 1


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session, exitstatus):
    whole = session.config.args == [str(TESTS)] or session.config.args == ["tests"]
    missing = [kind for kind in KINDS if not passed[kind]]
    if whole and exitstatus == 0 and missing:
        session.exitstatus = 1


def pytest_terminal_summary(terminalreporter, config):
    counts = ", ".join(f"{kind} {passed[kind]}" for kind in KINDS)
    terminalreporter.write_line(f"passed by kind: {counts}")
    for kind in KINDS:
        if not passed[kind] and config.args in ([str(TESTS)], ["tests"]):
            terminalreporter.write_line(f"NO TEST OF THIS KIND RAN: {kind}", red=True)
