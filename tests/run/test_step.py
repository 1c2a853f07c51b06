"""What may happen when. The rules are those of trade.md 2, 2.1 and 8, and of the issue; each test names its own."""

import pytest
from crew import ROUTES, SECRETS, Crew, planned, refused, survey_text

from stillbore.record import events as log
from stillbore.record.events import Value
from stillbore.run.step import Moved, step
from stillbore.store.keys import check


def test_step_is_pure():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    event = crew.session._event(log.Stopped("x"), crew.hands["P1"])
    before = repr(vars(crew.state))
    found = step(crew.state, "0" * 64, event, crew.session.bases, check)
    assert isinstance(found, Moved) and found.state.stopped == "x"
    assert repr(vars(crew.state)) == before


def test_a_hard_hold_cannot_be_skipped():
    crew = Crew().up_to("B6")
    crew.do("B7")
    refused(crew.do("B8"), "Hold 1 (B6")


def test_two_different_people_sign_a_hold():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    refused(crew.done("B6"), "two different people")
    assert isinstance(crew.sign("B6", "P1"), Moved)
    refused(crew.sign("B6", "P1"), "signed this already")
    refused(crew.done("B6"), "one more person")
    assert isinstance(crew.sign("B6", "P2"), Moved)
    assert isinstance(crew.done("B6"), Moved)


def test_two_names_typed_by_one_hand_are_one_person():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    crew.sign("B6", "P1")
    refused(crew.sign("B6", "P2", secret="P1"), "not the key of P2")
    refused(crew.done("B6"), "one more person")


def test_a_signature_counts_for_what_stood_there_and_nothing_else():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    crew.sign("B6", "P1")
    crew.answer("B6", "pressure", "30.4 +/- 0.2 mbar")
    crew.sign("B6", "P2")
    refused(crew.done("B6"), "one more person")
    signed = next(line.event.happening for line in reversed(crew.session.lines)
                  if isinstance(line.event.happening, log.Signed))
    refused(crew.try_(log.Signed("B6", signed.statement, signed.key, signed.signature), "P1"), "not the key of P1")
    forged = log.Signed("B6", signed.statement, signed.key, SECRETS["P2"].sign(b"something else"))
    refused(crew.try_(forged, "P2"), "does not hold")


@pytest.mark.parametrize("text,word", [("76 mbar", "not met"), ("74.9 mbar", "not proven"),
                                       ("not measured: no key for the box", "not measured")])
def test_a_hold_takes_its_value_from_this_job_and_judges_it(text, word):
    crew = Crew().up_to("B6")
    crew.prepare("B6", pressure=text)
    refused(crew.sign("B6"), word)


def test_a_hold_does_not_rest_on_a_record():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    ask = crew.state.basis.asks["B6.pressure"]
    crew.session.answer("B6", ask.name, Value("30.2", "0.3", "mbar", how="record"), crew.hands["P2"])
    refused(crew.sign("B6"), "known by record only")


def test_a_verdict_cannot_be_written_by_hand():
    crew = Crew().up_to("B6")
    value = Value("76", "0.3", "mbar")
    refused(crew.try_(log.Answered("B6", "pressure", value, "met")), "by the limit it is 'not met'")
    refused(crew.try_(log.Answered("D6", "hold", Value(text="tight", how="seen"), "met")), "gauge log")
    refused(crew.try_(log.Answered("D6", "hold", Value(text="tight", how="judged"), "met", evidence=("0" * 64,))),
            "has to be kept first")


# Reds that nobody may pass, and those that a named authoriser may


def override(crew, step_id, red, reason="agreed by telephone", authoriser="P3", secret="P3", who="P2"):
    key = SECRETS[secret]
    return crew.session.override(step_id, red, reason, authoriser, crew.hands[who], key.public, key.sign)


@pytest.mark.parametrize("before,step_id,name,text", [
    ("B6", "B6", "pressure", "76 mbar"), ("C13", "C13", "current", "1.2 A"), ("E9", "E9", "district", "60 mbar"),
    ("E8", "E8", "vent", "bubbles"), ("E22", "E22", "current", "2 A"), ("E19", "E19", "pieces", "2"),
    ("D9", "D9", "district", "60 mbar")])
def test_some_reds_have_no_override(before, step_id, name, text):
    crew = Crew().up_to(before)
    crew.prepare(step_id, **{name: text})
    refused(crew.done(step_id), "not met")
    refused(override(crew, step_id, f"{step_id}.{name}"), "Nobody may pass this")


def test_a_failed_let_by_has_no_override():
    crew = Crew().up_to("E8")
    crew.answer("E8", "vent", "none")
    crew.answer("E8", "watch", log_file="rise")  # the gauge comes up to the district's pressure: the stopper lets by
    assert crew.state.answer("E8.watch").verdict == "not met"
    refused(override(crew, "E8", "E8.watch"), "Nobody may pass this")
    refused(crew.done("E8"), "not met")


def test_other_reds_want_a_named_authoriser_with_an_own_secret_a_reason_and_a_second_person():
    crew = Crew().up_to("C10")
    crew.prepare("C10", pit="0.6 mm")
    refused(crew.done("C10"), "not met")
    refused(override(crew, "C10", "C10.pit", reason=" "), "Say why")
    refused(override(crew, "C10", "C10.pit", authoriser="P1", secret="P1"), "no authorising engineer")
    refused(override(crew, "C10", "C10.pit", secret="P1"), "not the key of P3")
    refused(override(crew, "C10", "C10.pit", who="P3"), "second person")
    assert isinstance(override(crew, "C10", "C10.pit"), Moved)
    assert any("P3" in remark.what for remark in crew.state.remarks)
    # The pit is deeper than the survey says, so the plan has to be made again all the same.
    refused(crew.done("C10"), "survey")


def test_an_override_counts_for_the_answer_it_was_given_for():
    crew = Crew().up_to("C12")
    crew.prepare("C12", spacing="600 mm")
    override(crew, "C12", "C12.spacing")
    crew.answer("C12", "spacing", "700 mm")
    refused(crew.done("C12"), "not met")


def test_no_second_person_no_monitor():
    crew = Crew().up_to("E1")
    crew.prepare("E1")
    crew.try_(log.Present("P2", False))
    refused(crew.done("E1"), "There must be 2 people")
    crew.try_(log.Present("P2", True))
    crew.try_(log.Monitor("GM-2", False, True))
    refused(crew.done("E1"), "gas monitor")
    crew.try_(log.Monitor("GM-2", True, False))
    refused(crew.done("E1"), "gas monitor")  # on, but not bump tested
    crew.try_(log.Monitor("GM-2", True, True))
    assert isinstance(crew.done("E1"), Moved)


def test_who_signs_is_at_the_pit():
    crew = Crew().up_to("D9")
    crew.prepare("D9")
    crew.try_(log.Present("P2", False))
    refused(crew.sign("D9", "P2"), "not at the pit")


def test_the_district_above_the_maximum_stops_everything():
    crew = Crew().up_to("E3")
    crew.district("80 mbar")
    refused(crew.do("E3"), "clear the pit")
    crew.district("30.3 mbar")
    assert isinstance(crew.do("E3"), Moved)


def test_an_expired_authorisation_does_nothing():
    crew = Crew()
    crew.seconds += 400 * 86400.0
    refused(crew.do("A1"), "ended on 2031-01-31")


def test_a_stranger_does_nothing_but_stop():
    crew = Crew()
    crew.hands["X"] = type(crew.hands["P1"])("X", "team leader")
    refused(crew.try_(log.Done("A1"), "X"), "not on this job")
    assert isinstance(crew.try_(log.Stopped("smell of gas"), "X"), Moved)
    crew.hands["Y"] = type(crew.hands["P1"])("P2", "team leader")
    refused(crew.try_(log.Resumed("gone"), "Y"), "second operative on this job")


def test_stop_is_always_accepted_and_only_a_reason_goes_on():
    crew = Crew().up_to("E14")
    assert isinstance(crew.try_(log.Stopped("hiss")), Moved)
    refused(crew.do("E14"), "Work is stopped: hiss")
    refused(crew.try_(log.Resumed("")), "Say why")
    assert isinstance(crew.try_(log.Resumed("hose refitted")), Moved)
    assert crew.state.stopped == ""


# Freshness


def test_a_let_by_watch_goes_stale_and_is_done_again_also_after_the_coupon():
    crew = Crew().up_to("E13")
    crew.seconds += 301.0
    crew.prepare("E13")
    refused(crew.sign("E13"), "E8 counts for 300 s")
    assert isinstance(crew.do("E8"), Moved)
    refused(crew.done("E13"), "E9, which is open again")
    assert isinstance(crew.do("E9"), Moved)
    assert isinstance(crew.do("E13"), Moved)


def test_the_cut_itself_wants_it_fresh():
    crew = Crew().up_to("E14")
    crew.seconds += 301.0
    refused(crew.do("E14"), "do it again")


def test_a_clock_set_back_makes_a_watch_stale_not_fresh():
    crew = Crew().up_to("E13")
    crew.boot, crew.seconds = "another start", crew.seconds - 4000.0
    refused(crew.do("E13"), "clocks contradict")


def test_a_trusted_clock_puts_what_comes_after_it_right():
    crew = Crew()
    at = crew.clock().at
    late = (type(crew.plan.survey.value("window.start")).fromisoformat(at)).replace(hour=10).isoformat()
    crew.try_(log.Clock(late, "time signal"))
    event = crew.session._event(log.Noted("", "x"), crew.hands["P1"])
    assert 7000 < float(event.offset_s) < 7200.0
    crew.do("A1")
    assert crew.state.done["A1"].at.trusted and crew.state.done["A1"].at.at.hour == 10


def test_the_counter_is_believed_before_the_clock():
    """The clock is set back by an hour, the counter goes on: 301 s are 301 s."""
    crew = Crew().up_to("E14")
    seconds = crew.seconds

    def clock():
        crew.seconds += 1.0
        now = Crew.clock(crew)
        return type(now)("2030-05-14T07:00:00+00:00", now.boot, now.tick_ms)

    crew.seconds = seconds + 310.0
    crew.session.clock = clock
    refused(crew.do("E14"), "do it again")


def test_what_let_by_was_watched_at_is_not_exceeded():
    """A pass claims nothing above the pressure it was watched at (trade.md 8.6): 30.3 mbar and a margin of 5."""
    crew = Crew().up_to("E13")
    crew.district("35 mbar")
    assert crew.state.stands("E8")
    crew.district("36 mbar")
    assert not crew.state.stands("E8")
    refused(crew.do("E13"), "open again: the district has risen")


def test_let_by_wants_a_reading_of_the_district():
    crew = Crew(here=False)
    for name in ("P1", "P2"):
        crew.try_(log.Present(name, True))
    crew.try_(log.Monitor("GM-2", True, True))
    crew.up_to("E8")
    crew.prepare("E8")
    refused(crew.sign("E8"), "not known: pressure of the district")


# Back-dating and paper


def test_a_hard_hold_cannot_be_back_dated():
    crew = Crew().up_to("E13")
    crew.prepare("E13")
    crew.hands["P1"] = type(crew.hands["P1"])("P1", "team leader", "2030-05-14T08:00:30+00:00")
    refused(crew.done("E13"), "back-dated")


def test_paper_is_entered_late_and_marked():
    crew = Crew().up_to("B9")
    crew.seconds += 3600.0
    for name in ("P1", "P2"):
        crew.hands[name] = type(crew.hands[name])(name, crew.hands[name].role, "2030-05-14T08:50:00+00:00")
    assert isinstance(crew.do("B9"), Moved)
    assert crew.state.done["B9"].at.paper
    assert crew.state.done["B9"].at.at.isoformat() == "2030-05-14T08:50:00+00:00"


# What rests on what


def test_a_reseated_stopper_is_watched_again():
    crew = Crew().up_to("E9")
    assert crew.state.barriers == 2
    assert isinstance(crew.do("E5"), Moved)
    assert crew.state.barriers == 1
    assert not crew.state.stands("E6") and not crew.state.stands("E8")
    refused(crew.do("E10"), "Hold 11", "Hold 10")
    for again in ("E6", "E7", "E8", "E9"):
        assert isinstance(crew.do(again), Moved), again
    assert crew.state.barriers == 2


def test_what_is_cut_is_cut():
    crew = Crew().up_to("E15")
    refused(crew.do("E14"), "what is open is open")
    refused(crew.do("D6"), "cannot be done again now")


def test_an_open_end_is_closed_whatever_was_opened_again():
    """After the cut the district rises: nothing may keep the crew from fitting the gland."""
    crew = Crew().up_to("E17")
    crew.district("40 mbar")
    crew.try_(log.Present("P2", False))
    assert isinstance(crew.do("E17"), Moved)


def test_no_insertion_with_the_coupon_unknown():
    crew = Crew().up_to("E11")
    refused(crew.do("E11", coupon="not found"), "not met")
    assert isinstance(crew.do("E11", coupon="seen in the bore", plan="magnet through the gland"), Moved)
    crew.do("E9")
    crew.up_to("F4")
    refused(crew.do("F4"), "E11.coupon must be in hand and whole")
    assert isinstance(crew.do("E11"), Moved)
    assert isinstance(crew.do("F4"), Moved)


def test_no_bond_off_before_the_break_is_permanent_and_proved():
    crew = Crew().up_to("E19")
    refused(crew.do("E22"), "rests on E20", "rests on E21")


def test_no_backfill_before_the_ends_are_measured():
    crew = Crew().up_to("I1")
    refused(crew.do("I2"), "Hold 18", "I1, which is not done")


# A plan that changes


def test_a_fact_found_different_wants_a_new_plan_which_opens_what_rested_on_it():
    crew = Crew().up_to("D4")
    crew.answer("C9", "least", "2.3 mm")
    assert crew.state.different == {"C9.least": "pipe.wall"}
    refused(crew.done("C9"), "not what the survey says (pipe.wall)")
    readings = ("2.3 mm", *["2.6 mm"] * 11)
    written = ", ".join(f'"{reading}"' for reading in readings)
    old = survey_text().partition("wall = { readings = [")[2].partition("]")[0]
    new = planned(survey_text(ROUTES[1], (old, written)))
    found = crew.session.replan(new, "wall thinner than recorded", crew.hands["P1"])
    assert isinstance(found, Moved)
    change = next(line.event.happening for line in reversed(crew.session.lines) if line.event.kind == "replanned")
    assert any(each.name == "pipe.wall" for each in change.changes)
    assert not crew.state.stands("D3") and not crew.state.stands("C9")
    assert crew.state.stands("B8")
    assert crew.state.different == {}
    refused(crew.do("D4"), "open again: the plan has changed")


def test_a_changed_rule_opens_what_rested_on_it():
    crew = Crew().up_to("D9")
    rules = (crew.plan.files.rules.text).replace('leak_rate = { value = "0.03 l/h"', 'leak_rate = { value = "0.01 l/h"')
    new = planned(survey_text(), rules=rules)
    crew.session.replan(new, "edition 2 of the rules", crew.hands["P1"])
    assert not crew.state.stands("D6") and crew.state.stands("B6") and crew.state.stands("C4")
    refused(crew.do("D9"), "Hold 7 (D6")


def test_a_new_plan_says_why_and_is_another():
    crew = Crew()
    refused(crew.session.replan(crew.plan, "again", crew.hands["P1"]), "counts already")
    new = planned(survey_text(ROUTES[1], ('clear_length = "640 mm"', 'clear_length = "650 mm"')))
    refused(crew.session.replan(new, " ", crew.hands["P1"]), "Say what was found different")


def test_a_hold_that_the_plan_leaves_open_cannot_be_signed():
    made = planned(survey_text(ROUTES[1], ('operating = { value = "30.2 +/- 0.3 mbar", instrument = "gauge G-11" }',
                                           'operating = "unknown"')))
    assert 1 in made.open_holds
    crew = Crew(made=made).up_to("B6")
    crew.prepare("B6")
    refused(crew.sign("B6"), "The plan leaves this hold open")


# Corrections


def test_a_correction_names_the_old_answer_and_opens_the_step_again():
    crew = Crew().up_to("C12")
    old = crew.state.answers["C9.most"]
    ask = crew.state.basis.asks["C9.most"]
    refused(crew.session.correct("C9.most", Value("3.4", "0.2", "mm"), " ", crew.hands["P2"]), "Say why")
    found = crew.session.correct("C9.most", Value("3.4", "0.2", "mm"), "digits swapped", crew.hands["P2"])
    assert isinstance(found, Moved)
    assert crew.session.lines[-1].event.happening.event == old.hash
    assert crew.state.answers[ask.key].value.number == "3.4"
    assert not crew.state.stands("C9")
    assert any("corrected from 3.3 mm to 3.4" in remark.what for remark in crew.state.remarks)


def test_an_answer_has_the_right_shape():
    crew = Crew()
    refused(crew.answer("B6", "pressure", "30.2 bananas"), "unit 'bananas' does not fit")
    refused(crew.answer("B6", "pressure", "high"), "no number")
    refused(crew.answer("B6", "pressure", "30"), "has no unit; wanted is mbar")
    refused(crew.answer("B6", "pressure", "30,2 mbar"), "decimal point")
    refused(crew.answer("B6", "pressure", "not measured"), "Say why")
    refused(crew.answer("B6", "regulator", "three stages"), "none of")
    refused(crew.answer("E5", "pieces", "2.5"), "no whole number")
    refused(crew.answer("A1", "match", "perhaps"), "neither yes nor no")
    refused(crew.try_(log.Answered("B6", "colour", Value(text="blue", how="seen"))), "does not ask")
    refused(crew.try_(log.Done("Z9")), "no step 'Z9'")


# Two devices


def test_two_devices_on_one_job_merge_without_losing_either_s_events():
    one = Crew().up_to("A5")
    other = Crew(shelf=one.shelf, device="D2", here=False)
    other.seconds = one.seconds
    other.answer("A5", "list")
    other.done("A5")
    one.answer("A7", "live")  # has not seen it
    one.session.refresh()
    other.session.refresh()
    assert vars(one.state) == vars(other.state)
    assert one.state.stands("A5") and one.state.answer("A7.live")
    assert isinstance(one.done("A7"), Moved)
    heads = {line.event.device: line.event.n for line in one.session.lines}
    assert set(heads) == {"D1", "D2"} and sum(n + 1 for n in heads.values()) == len(one.session.lines)


def test_the_head_is_signed_behind_every_hold():
    crew = Crew().up_to("B7")
    kinds = [line.event.kind for line in crew.session.lines]
    assert kinds[kinds.index("signed"):].count("sealed") == 1
    assert kinds[-1] == "sealed"
