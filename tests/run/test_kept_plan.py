"""A job under way goes by the numbers that it was planned with (issue 6: a new version of the app never changes a job
under way), and whoever reads it later is told where the formulas of today part from them.

The program that changes is this one, with one formula of its physics exchanged.
"""

import hashlib
import json
from dataclasses import replace

import pytest
from crew import Crew, planned, survey_text
from pytest import approx

from stillbore import version
from stillbore.errors import StillboreError
from stillbore.physics import volume
from stillbore.plan.export import plan_text
from stillbore.record import events as log
from stillbore.run.basis import basis
from stillbore.run.files import PLAN, basis_again, plan_again, plan_kept, recomputed
from stillbore.run.kept_plan import kept_plan, read_plan, unlike
from stillbore.run.session import Session
from stillbore.store.keys import check
from stillbore.version import program

HOLD = "new_pipe.hold"


def another_leg_volume(bore, length):
    return 0.3 * pi * bore * bore * length  # noqa: F821  the physics module's own pi


@pytest.fixture
def newer(monkeypatch):
    """Call it, and the program has a fifth more in every length of pipe, and the hash of other code."""
    def change():
        monkeypatch.setattr(volume.leg_volume, "__code__", another_leg_volume.__code__)
        monkeypatch.setattr(version, "code_hash", lambda: "f" * 64)
    return change


def again(crew):
    """The job as another start of the program finds it."""
    return Session(crew.shelf, "J-0001", crew.device, crew.clock, check)


def told(crew):
    what = crew.session.planned
    return recomputed(what, crew.shelf.kept, plan_again(what.files, crew.shelf.kept))


def test_the_formula_that_the_tests_exchange_moves_limits_of_the_order_of_work(newer):
    before = basis(planned(survey_text())).limits
    newer()
    after = basis(planned(survey_text())).limits
    moved = [name for name in before if (before[name].low, before[name].high) != (after[name].low, after[name].high)]
    assert HOLD in moved and len(moved) > 10


def test_a_job_under_way_keeps_its_limits_and_open_holds(newer):
    crew = Crew().up_to("C1")
    before = crew.session.state.basis
    newer()
    session = again(crew)
    assert session.state.basis == before
    assert session.state.basis.limits[HOLD].low == before.limits[HOLD].low
    assert session.plan().numbers[HOLD].node.low != before.limits[HOLD].low  # which it would otherwise have gone by


def test_every_number_that_would_come_out_otherwise_is_counted_and_the_first_are_named(newer):
    crew = Crew()
    assert told(crew) == ""
    old = kept_plan(crew.plan)
    newer()
    here = kept_plan(planned(survey_text()))
    differing = {name for name, number in old.numbers.items() if number.low is not None and
                 [number.low, number.high] != approx([(new := here.numbers[name]).low, new.high], rel=1e-7, abs=0)}
    named = list(unlike(old, here))
    assert differing == {each.partition(" (")[0] for each in named}
    assert f"{len(differing)} differ, {'; '.join(named[:5])}, and {len(differing) - 5} more" in told(crew)


def test_a_plan_by_another_program_with_the_same_numbers_says_so():
    crew = Crew()
    what = crew.session.planned
    text = plan_text(crew.plan).replace(program().encode(), b"0.0.9 (code 0123456789abcdef)")
    event, kept = with_plan(what, crew, text)
    assert basis_again(event, kept).limits == crew.session.state.basis.limits
    found = recomputed(event, kept, crew.plan)
    assert "by program 0.0.9 (code 0123456789abcdef)" in found and "makes the same numbers and open holds" in found


def test_a_plan_that_was_loosened_before_it_was_kept_is_told():
    """Who opens a job could keep a plan with a kinder limit. The job would go by it; verification says so."""
    crew = Crew()
    data = json.loads(plan_text(crew.plan))
    data["numbers"][HOLD]["low"] = data["numbers"][HOLD]["high"] = data["numbers"][HOLD]["value"] = 60.0
    data["open_holds"] = {"3": ["invented"]}
    event, kept = with_plan(crew.session.planned, crew, json.dumps(data).encode())
    assert basis_again(event, kept).limits[HOLD].low == 60.0
    found = recomputed(event, kept, crew.plan)
    assert HOLD in found and "hold 3 (open; here the other way round)" in found
    assert "this very program did not make them" in found


def test_a_new_plan_by_a_newer_program_lists_what_its_formulas_changed(newer):
    crew = Crew().up_to("C1")
    newer()
    crew.session = again(crew)
    crew.session.replan(planned(survey_text()), "planned anew by the newer program", crew.hands["P1"])
    last = next(line.event.happening for line in reversed(crew.session.lines)
                if isinstance(line.event.happening, log.Replanned))
    change = next(each for each in last.changes if each.name == HOLD)
    assert change.before == crew.plan.numbers[HOLD].text and change.after != change.before
    assert crew.session.state.basis.limits[HOLD].low != crew.plan.numbers[HOLD].node.low


def with_plan(what, crew, text):
    """The event with another plan kept, and its files."""
    sha256 = hashlib.sha256(text).hexdigest()
    files = tuple(replace(file, sha256=sha256) if file.kind == PLAN else file for file in what.files)
    return replace(what, files=files), lambda wanted: text if wanted == sha256 else crew.shelf.kept(wanted)


@pytest.mark.parametrize("spoil", [
    lambda data: b"", lambda data: b"[]", lambda data: b"{", lambda data: b"[" * 100_000, lambda data: b"\xff",
    lambda data: json.dumps({**data, "format": "stillbore plan 0"}).encode(),
    lambda data: json.dumps({**data, "numbers": []}).encode(),
    lambda data: json.dumps({**data, "numbers": {HOLD: 7}}).encode(),
    lambda data: json.dumps({**data, "numbers": {HOLD: {**data["numbers"][HOLD], "low": "60"}}}).encode(),
    lambda data: json.dumps({**data, "numbers": {HOLD: {**data["numbers"][HOLD], "low": True}}}).encode(),
    lambda data: json.dumps({**data, "numbers": {HOLD: {**data["numbers"][HOLD], "low": 10 ** 400}}}).encode(),
    lambda data: json.dumps({**data, "numbers": {HOLD: {**data["numbers"][HOLD], "low": float("nan")}}}).encode(),
    lambda data: json.dumps({**data, "open_holds": {"three": []}}).encode(),
    lambda data: json.dumps({**data, "open_holds": {"3": [3]}}).encode(),
    lambda data: json.dumps({key: data[key] for key in data if key != "result"}).encode(),
])
def test_a_kept_plan_that_is_none_is_refused_with_a_sentence(spoil):
    with pytest.raises(StillboreError, match="The plan that was kept with the job cannot be read"):
        read_plan(spoil(json.loads(plan_text(planned(survey_text())))))


def test_a_job_without_a_kept_plan_is_refused():
    crew = Crew()
    what = crew.session.planned
    with pytest.raises(StillboreError, match="does not name: plan"):
        plan_kept(tuple(file for file in what.files if file.kind != PLAN), crew.shelf.kept)
