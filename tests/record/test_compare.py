"""Two logs beside each other, written here event by event, so that in what they differ is known beforehand."""

import pytest

from stillbore.errors import StillboreError
from stillbore.record import events as log
from stillbore.record.chain import seal_line
from stillbore.record.compare import ANSWER, DONE, END, EVIDENCE, PLAN, TIME, compare
from stillbore.record.events import Value
from stillbore.verdicts import MET, NOT_MET


def answered(number, verdict=""):
    return log.Answered("B6", "pressure", Value(number, "0.3", "mbar"), verdict)


def opened(sha256="0" * 64):
    return log.Opened((log.FileHash("survey", "s.toml", sha256),), "1" * 64, "0", (), "2" * 64)


def written(*happenings, job="J-1", minute=0):
    """A log of one device, one event a minute."""
    lines, prev = [], ""
    for n, what in enumerate(happenings):
        at = f"2030-05-14T08:{minute + n:02d}:00+00:00"
        lines.append(seal_line(log.Event(job, "D1", n, n, "P1", "team leader", at, what, prev)))
        prev = lines[-1].hash
    return lines


WHOLE = (opened(), answered("30.2"), log.Done("B6"), log.Finished())


def told(found, sort):
    return [(each.where, each.first, each.second) for each in found.differences if each.sort == sort]


def test_a_log_is_the_same_as_itself():
    found = compare(written(*WHOLE), written(*WHOLE))
    assert found.same and found.differences == () and found.sentences == ("Both hold the same 4 events.",)


def test_a_log_that_goes_on_has_all_of_the_other():
    found = compare(written(*WHOLE[:3]), written(*WHOLE))
    assert found.only_first == () and len(found.only_second) == 1 and not found.same
    assert any("The second has all that the first has" in text for text in found.sentences)
    assert told(found, END) == [("the job", "", "finished")]
    assert [each.sort for each in found.differences] == [END]


def test_one_device_written_anew_is_told_with_the_event_where_they_part():
    found = compare(written(*WHOLE), written(opened(), answered("29.9"), *WHOLE[2:]))
    assert len(found.only_first) == len(found.only_second) == 3  # all that hangs on the changed one
    assert any("part at event 1 of the device D1" in text for text in found.sentences)
    assert told(found, ANSWER) == [("B6.pressure", "30.2 +/- 0.3 mbar", "29.9 +/- 0.3 mbar")]
    assert found.differences[0].sentence == \
        "B6.pressure: the first has 30.2 +/- 0.3 mbar, the second has 29.9 +/- 0.3 mbar."
    other = compare(written(*WHOLE), written(opened(), answered("29.9"), *WHOLE[2:], job="J-2")).differences[0]
    assert other.sentence == "B6.pressure: J-1 has 30.2 +/- 0.3 mbar, J-2 has 29.9 +/- 0.3 mbar."


def test_two_jobs_share_no_event_and_may_yet_be_done_alike():
    found = compare(written(*WHOLE), written(*WHOLE, job="J-2", minute=20))
    assert len(found.only_first) == len(found.only_second) == 4
    assert found.differences == ()  # times of two jobs are not compared
    assert any("two jobs" in text for text in found.sentences)


@pytest.mark.parametrize("first,second,sort,wanted", [
    ((answered("30.2", MET),), (answered("30.2", NOT_MET),), ANSWER,
     ("B6.pressure", "30.2 +/- 0.3 mbar (met)", "30.2 +/- 0.3 mbar (not met)")),
    ((answered("30.2"),), (), ANSWER, ("B6.pressure", "30.2 +/- 0.3 mbar", "")),
    ((log.Done("B6"),), (), DONE, ("B6", "done", "")),
    ((log.Kept("B1", "photo", "a" * 64, 10, "a.jpg"),), (log.Kept("B1", "photo", "b" * 64, 10, "a.jpg"),), EVIDENCE,
     ("B1", f"photo a.jpg ({'a' * 12})", f"photo a.jpg ({'b' * 12})")),
    ((log.Aborted("no coupon"),), (log.Finished(),), END, ("the job", "aborted: no coupon", "finished"))])
def test_each_sort_of_difference(first, second, sort, wanted):
    found = compare(written(opened(), *first), written(opened(), *second))
    assert told(found, sort) == [wanted] and len(found.differences) == 1


def test_another_survey_and_another_hour_of_one_job():
    found = compare(written(*WHOLE), written(opened("9" * 64), *WHOLE[1:]))
    assert told(found, PLAN) == [("survey", "0" * 12, "9" * 12)]
    assert any("no event in common" in text for text in found.sentences)
    slow = [*written(*WHOLE)[:2]]
    late = log.Event("J-1", "D1", 2, 2, "P1", "team leader", "2030-05-14T09:00:00+00:00", log.Done("B6"), slow[-1].hash)
    found = compare(written(*WHOLE[:3]), [*slow, seal_line(late)])
    assert told(found, TIME) == [("B6", "2030-05-14T08:02:00+00:00", "2030-05-14T09:00:00+00:00")]


def test_what_was_corrected_counts_and_not_what_stood_before():
    lines = written(opened(), answered("30.2"))
    put_right = log.Corrected(lines[1].hash, Value("29.9", "0.3", "mbar"), "read the wrong gauge")
    corrected = written(opened(), answered("30.2"), put_right)
    found = compare(corrected, written(opened(), answered("29.9")))
    assert told(found, ANSWER) == []
    assert told(compare(corrected, lines), ANSWER) == [("B6.pressure", "29.9 +/- 0.3 mbar", "30.2 +/- 0.3 mbar")]


def test_a_log_without_events_is_refused():
    with pytest.raises(StillboreError, match="no event"):
        compare([], written(*WHOLE))


def test_the_other_way_round_says_the_same_the_other_way_round():
    here, there = written(*WHOLE), written(opened(), answered("29.9"))
    one, other = compare(here, there), compare(there, here)
    assert {(each.sort, each.where, each.first, each.second) for each in one.differences} == \
        {(each.sort, each.where, each.second, each.first) for each in other.differences}
    assert (one.only_first, one.only_second) == (other.only_second, other.only_first)
