"""Until when a passed watch counts stands where the next step rests on it: let-by goes stale while the crew gets ready
to cut (trade.md: a pass is fresh for so long, and no longer)."""

from datetime import timedelta

from client import words_of
from crew_pages import JOB

RUN = f"/en/jobs/{JOB}/run/P2"


def until(crew, step):
    """By the rule of the job, from when the step was done."""
    state = crew.state
    counts = state.basis.limits[f"rules.{state.basis.step(step).counts_for}"].low
    return f"{state.done[step].at.at + timedelta(seconds=counts):%H:%M:%S}"


def test_it_stands_on_the_page_of_now_on_the_step_and_where_nothing_is_asked(tmp_path, halfway):
    crew = halfway(tmp_path, "record", "E14")
    wanted = f"E8 counts until {until(crew, 'E8')}"
    for place in ("", "/step/E14/done", "/step/E14/done?afterwards"):
        assert wanted in words_of(crew.pages.get(RUN + place)), place


def test_it_is_not_there_where_nothing_goes_stale_or_the_step_is_done(tmp_path, halfway):
    crew = halfway(tmp_path, "record", "E14")
    for place in ("/step/E13/sign", "/step/B6/sign", "/steps", "/more"):
        assert "counts until" not in words_of(crew.pages.get(RUN + place)), place


def test_once_stale_the_reason_stands_beside_it(tmp_path, halfway):
    crew = halfway(tmp_path, "record", "E14")
    before = until(crew, "E8")
    crew.host.at += timedelta(hours=1)
    page = words_of(crew.pages.get(RUN))
    assert f"E8 counts until {before}" in page and "have gone since: do it again" in page
