"""What does not go together is asked, and what does go together is not."""

from dataclasses import replace

import pytest
from made import Crew, opened, two_on_one_job

from stillbore.record.chain import seal_line
from stillbore.record.events import District, Done, Monitor, Noted, Replanned, Signed, Stopped, Value
from stillbore.store.questions import CLOCKS_APART_S, questions, questions_of, what_was_seen
from stillbore.store.sqlite import SqliteStore


@pytest.fixture
def store(tmp_path):
    with SqliteStore(tmp_path / "jobs.db") as made:
        yield made


def crew_of_two(job="J-1"):
    crew = Crew(job)
    crew.write("D1", opened())
    crew.meet("D1", "D2")
    return crew


def sorts(crew):
    return [each.sort for each in questions_of(sorted(crew.lines, key=lambda line: (line.event.order,
                                                                                    line.event.device)))]


SIGNED = Signed("D3", "0" * 64, "", "")
CLASHES = [("done twice", Done("E2"), Done("E2")), ("signed apart", SIGNED, SIGNED),
           ("gone on", Stopped("gas smelt"), Done("E2")), ("gone on", Done("E2"), Stopped("gas smelt")),
           ("gone on", Replanned((), "0" * 64, "wall thinner", ()), Done("E2"))]


@pytest.mark.parametrize("sort,one,other", CLASHES)
def test_what_two_devices_say_apart_is_asked(sort, one, other):
    crew = crew_of_two()
    lines = {crew.write("D1", one), crew.write("D2", other)}
    found = questions_of(sorted(crew.lines, key=lambda line: (line.event.order, line.event.device)))
    assert [each.sort for each in found] == [sort]
    assert set(found[0].hashes) == {line.hash for line in lines} and found[0].text.count("?") == 1


@pytest.mark.parametrize("sort,one,other", CLASHES)
def test_what_one_device_says_having_seen_the_other_is_not_asked(sort, one, other):
    crew = crew_of_two()
    crew.write("D1", one)
    crew.meet("D1", "D2")
    crew.write("D2", other)
    assert sorts(crew) == []


def test_seen_through_a_third_device_is_seen():
    crew = crew_of_two()
    crew.write("D1", Done("E2"))
    crew.meet("D1", "D3")
    crew.write("D3")
    crew.seen["D2"] += [line for line in crew.lines if line.event.device == "D3"]  # D3's line, not D1's own
    crew.write("D2", Done("E2"))
    assert sorts(crew) == []


def test_seen_once_is_seen_for_good():
    """A device's later line that names nobody had still seen what its earlier one had."""
    crew = crew_of_two()
    crew.write("D1", Done("E2"))
    crew.meet("D1", "D2")
    crew.write("D2")
    done = crew.write("D2", Done("E2")).event
    crew.lines[-1] = seal_line(replace(done, after=()))
    assert sorts(crew) == []


def test_different_steps_are_not_asked():
    crew = crew_of_two()
    crew.write("D1", Done("E2"))
    crew.write("D2", Done("E3"))
    assert sorts(crew) == []


def test_the_first_pair_of_many_is_found_where_only_some_are_apart():
    """D1 does the step twice; D2 sees the first and does it again, unseen by D1's second."""
    crew = crew_of_two()
    crew.write("D1", Done("E2"))
    crew.meet("D1", "D2")
    apart = {crew.write("D2", Done("E2")).hash, crew.write("D1", Done("E2")).hash}
    crew.meet("D1", "D2")
    crew.write("D1", Done("E2"))
    [found] = questions_of(sorted(crew.lines, key=lambda line: (line.event.order, line.event.device)))
    assert set(found.hashes) == apart


def test_who_had_seen_what_against_walking_every_link():
    """``what_was_seen`` against a plain walk over prev and after, line by line."""
    crew = two_on_one_job()
    by_hash = {line.hash: line for line in crew.lines}
    seen = what_was_seen(sorted(crew.lines, key=lambda line: (line.event.order, line.event.device)))
    for line in crew.lines:
        reached, todo = set(), [line.hash]
        while todo:
            event = by_hash[todo.pop()].event
            reached.add((event.device, event.n))
            todo += [event.prev] if event.prev else []
            todo += [head.hash for head in event.after]
        assert {(device, n) for device, last in seen[line.hash].items() for n in range(last + 1)} == reached


def test_two_that_opened_one_job_are_asked():
    crew = Crew()
    crew.write("D1", opened())
    crew.write("D2", opened())
    assert sorts(crew) == ["twice"]


@pytest.mark.parametrize("behind_s,asked", [(CLOCKS_APART_S - 1.0, []), (CLOCKS_APART_S + 1.0, ["clocks"])])
def test_clocks_that_disagree_are_asked(behind_s, asked):
    """D1 writes at 08:10, D2 has seen it and writes a time before that."""
    crew = crew_of_two()
    crew.write("D1", at="2030-05-14T08:10:00+00:00")
    crew.meet("D1", "D2")
    seconds = 600.0 - behind_s
    crew.write("D2", at=f"2030-05-14T10:{int(seconds // 60):02}:{int(seconds % 60):02}+02:00")
    assert sorts(crew) == asked


def test_of_clocks_that_disagree_often_the_worst_is_told_once():
    crew = crew_of_two()
    crew.write("D1", at="2030-05-14T08:10:00+00:00")
    crew.meet("D1", "D2")
    for minute in (5, 2, 7):
        crew.write("D2", at=f"2030-05-14T08:0{minute}:00+00:00")
    [found] = questions_of(sorted(crew.lines, key=lambda line: (line.event.order, line.event.device)))
    assert "at least 480 s" in found.text  # 08:10 less 08:02


def test_a_clock_put_right_by_its_offset_is_not_asked_and_paper_is_not_a_clock():
    crew = crew_of_two()
    crew.write("D1", at="2030-05-14T08:10:00+00:00")
    crew.meet("D1", "D2")
    crew.write("D2", at="2030-05-14T07:10:05+00:00", offset_s="3600")
    crew.write("D2", at="2030-05-14T08:20:00+00:00", paper_at="2030-05-14T06:00:00+00:00")
    assert sorts(crew) == []
    crew.write("D2", at="2030-05-14T08:20:00+00:00", offset_s="-3600")
    assert sorts(crew) == ["clocks"]


def reading(gauge):
    return District(Value("30.2", "0.3", "mbar", instrument=gauge), "meter")


def two_jobs(store, one, other, apart_s, **about):
    for job, what, after_s in (("J-1", one, 100.0), ("J-2", other, 100.0 + apart_s)):
        crew = Crew(job)
        crew.write("D1", opened(**about), after_s=0.0)
        crew.write("D1", what, after_s=after_s)
        store.take(crew.raw)
    return [(each.sort, each.jobs) for each in questions(store)]


def test_one_gauge_on_two_jobs_in_the_same_minute_is_asked(store):
    assert two_jobs(store, reading("G7"), reading("G7"), 59.0) == [("one gauge", ("J-1", "J-2"))]


def test_one_monitor_on_two_jobs_too(store):
    assert two_jobs(store, Monitor("M1", True, True), Monitor("M1", True, True), 0.0) == [
        ("one gauge", ("J-1", "J-2"))]


@pytest.mark.parametrize("one,other,apart_s,about", [
    ("G7", "G7", 61.0, {}), ("G7", "G8", 0.0, {}), ("", "", 0.0, {}), ("G7", "G7", 0.0, {"replayed": True}),
    ("G7", "G7", 0.0, {"training": True})])
def test_gauges_that_go_together_are_not_asked(store, one, other, apart_s, about):
    assert two_jobs(store, reading(one), reading(other), apart_s, **about) == []


def test_one_gauge_twice_on_one_job_is_not_asked(store):
    crew = crew_of_two()
    crew.write("D1", reading("G7"))
    crew.write("D1", reading("G7"))
    store.take(crew.raw)
    assert questions(store) == []


def test_three_jobs_with_one_gauge_are_asked_pair_by_pair(store):
    for number in range(3):
        crew = Crew(f"J-{number}")
        crew.write("D1", opened(), after_s=0.0)
        crew.write("D1", reading("G7"), after_s=100.0 + 20.0 * number)
        store.take(crew.raw)
    assert [each.jobs for each in questions(store)] == [("J-0", "J-1"), ("J-0", "J-2"), ("J-1", "J-2")]


def test_gaps_and_forks_are_asked(store):
    crew = crew_of_two()
    for _ in range(6):
        crew.write("D1")
    fork = Crew()
    fork.write("D1", opened())
    fork.write("D1", Noted("", "something else"))
    store.take([line.raw for line in crew.lines if line.event.n != 3] + [fork.raw[1]])
    assert sorted(each.sort for each in questions(store)) == ["fork", "not come"]


def test_a_job_that_goes_together_asks_nothing(store):
    crew = crew_of_two()
    crew.write("D1", Done("E2"))
    crew.meet("D1", "D2")
    crew.write("D2", Done("E3"))
    store.take(crew.raw)
    assert questions(store) == []
