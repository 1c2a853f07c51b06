"""A newer program, order of work or rule set on the device never changes a job under way; its pages say that there is
one (issue 6)."""

import pytest
from client import words_of
from crew_pages import JOB, CrewAtPages

from stillbore import version
from stillbore.job import files as job_files
from stillbore.job import shipped
from stillbore.physics import volume
from stillbore.record import events as log
from stillbore.run import newer as looked_at

PAGES = (f"jobs/{JOB}", f"jobs/{JOB}/run/P2/more", f"jobs/{JOB}/run/P2/more/replan")
OTHERS = (f"jobs/{JOB}/run/P2", f"jobs/{JOB}/run/P2/more/note")


def another_leg_volume(bore, length):
    return 0.3 * pi * bore * bore * length  # noqa: F821  the physics module's own pi


@pytest.fixture
def replaced(monkeypatch):
    """Another program, order of work and rule set on the machine, each by its name."""
    text, put_together = job_files.example_text, shipped.composed
    changed = {
        "program": lambda: monkeypatch.setattr(version, "code_hash", lambda: "f" * 64),
        "formula": lambda: monkeypatch.setattr(volume.leg_volume, "__code__", another_leg_volume.__code__),
        "rules": lambda: [monkeypatch.setattr(module, "example_text", lambda name: text(name) + "\n# a later text\n")
                          for module in (job_files, looked_at)],
        "procedure": lambda: [monkeypatch.setattr(module, "composed", lambda *way: put_together(*way) + "\n# later\n")
                              for module in (job_files, looked_at)]}

    def replace(*names):
        for name in names:
            changed[name]()
    return replace


def said(crew, place):
    return words_of(crew.pages.get(f"/en/{place}"))


def test_nothing_is_said_where_nothing_is_newer(tmp_path, halfway):
    crew = halfway(tmp_path, "sign", "D9")
    assert not any("NEWER HERE" in said(crew, place) for place in (*PAGES, *OTHERS))


def test_each_that_is_newer_is_named_on_the_job_and_where_one_plans_again(tmp_path, halfway, replaced):
    halfway(tmp_path, "sign", "D9").host.store.close()
    replaced("program", "rules", "procedure")
    crew = CrewAtPages(tmp_path)
    for place in PAGES:
        page = said(crew, place)
        assert "NEWER HERE" in page and f"here runs {version.program()}" in page
        assert "Rule set: the job's is" in page and "Order of work: the job's is" in page
        assert "Every number of the plan would come out the same here." in page
    assert not any("NEWER HERE" in said(crew, place) for place in OTHERS)


def test_the_limits_on_the_cards_stay_and_what_would_come_out_otherwise_is_listed(tmp_path, halfway, replaced):
    crew = halfway(tmp_path, "sign", "D9")
    place = f"jobs/{JOB}/run/P2/step/D6/ask.hold"
    before, basis = crew.pages.get(f"/en/{place}").text, crew.state.basis
    crew.host.store.close()
    replaced("program", "formula")
    crew = CrewAtPages(tmp_path)
    assert crew.pages.get(f"/en/{place}").text == before
    assert crew.state.basis == basis
    assert "numbers of the plan would come out otherwise here:" in said(crew, f"jobs/{JOB}")


def test_planning_again_takes_no_newer_rule_set_or_order_of_work_by_itself(tmp_path, halfway, replaced):
    crew = halfway(tmp_path, "sign", "D9")
    basis = crew.state.basis
    crew.host.store.close()
    replaced("program", "formula", "rules", "procedure")
    crew = CrewAtPages(tmp_path)
    crew.host.at = halfway(tmp_path / "other", "sign", "D9").host.at
    assert not crew.send("P2", "more", "replan", reason="taken up anew with the newer program")
    now = crew.state.basis
    assert now.files == basis.files and now.plan != basis.plan
    last = next(line.event.happening for line in reversed(crew.pages.app.state.desk.session(JOB).lines)
                if isinstance(line.event.happening, log.Replanned))
    assert "new_pipe.hold" in {change.name for change in last.changes}
    page = said(crew, f"jobs/{JOB}")
    assert "Rule set: the job's is" in page and "Program:" not in page


def test_a_draft_that_says_nothing_of_the_rest_is_no_change(tmp_path, halfway, replaced):
    """The survey is drafted here, kit and rules are the job's: a newer shipped rule set makes no change of them."""
    halfway(tmp_path, "sign", "D9").host.store.close()
    replaced("rules", "procedure")
    assert "CHANGED" not in said(CrewAtPages(tmp_path), f"jobs/{JOB}")


def test_an_ended_job_is_left_alone(tmp_path, halfway, replaced):
    crew = halfway(tmp_path, "sign", "D9")
    assert not crew.send("P2", "more", "abort", reason="tested", held="yes")
    crew.host.store.close()
    replaced("program", "rules", "procedure")
    assert "NEWER HERE" not in said(CrewAtPages(tmp_path), f"jobs/{JOB}")
