"""What the plan must not take for proof: records, single readings, dates, names; and known bad is never quiet."""

import pytest
from variants import made, told

from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN


def assumed(value):
    return f'{{ value = "{value}", how = "assumed" }}'


@pytest.mark.parametrize(("key", "value", "hold"), [
    ("pipe.wall", "3.2 mm", 5), ("pipe.outside_diameter", "33.7 mm", 5), ("pipe.deepest_pit", "0.1 mm", 5),
    ("pressure.operating", "30 mbar", 1), ("electrical.bond_current", "0.02 A", 13), ("site.pit_end", "480 mm", 13)])
def test_an_assumption_signs_no_hold(key, value, hold):
    found = made(survey={key: assumed(value)})
    assert hold in found.open_holds
    assert told(found, key, "assumption only").level == HOLD_OPEN


def test_a_wall_by_record_is_carried_as_every_tube_it_may_be():
    found = made(survey={"pipe.wall": assumed("3.2 mm")})
    assert {tube.key for tube in found.tubes} >= {"medium", "heavy"}
    assert "travel.feed_target" not in found.numbers


def test_one_reading_without_uncertainty_is_no_exact_wall():
    found = made(survey={"pipe.wall": '"3.2 mm"'})
    assert 5 in found.open_holds
    told(found, "1 reading of the wall", "12")
    told(found, "wall has no uncertainty")


def test_a_measurement_by_a_stranger_or_of_another_year_signs_no_hold():
    fact = '{ value = "0.1 mm", how = "measured", by = "P9", when = 2030-05-14T08:00:00+00:00 }'
    told(made(survey={"pipe.deepest_pit": fact}), "pipe.deepest_pit", "P9")
    old = '{ value = "0.1 mm", how = "measured", by = "P2", when = 2029-01-01T08:00:00+00:00 }'
    told(made(survey={"pipe.deepest_pit": old}), "pipe.deepest_pit", "long before")
    late = '{ value = "0.1 mm", how = "measured", by = "P2", when = 2031-01-01T08:00:00+00:00 }'
    told(made(survey={"pipe.deepest_pit": late}), "pipe.deepest_pit", "after")


def test_a_job_for_a_house_this_service_does_not_feed():
    found = made(survey={"job.premises": '"H-9999"'})
    assert told(found, "H-9999", "not among the houses").level == HOLD_OPEN
    assert {2, 4} <= set(found.open_holds)


def test_leader_and_second_person_are_two_people():
    found = made(survey={"person[1].id": '"P1"'})
    told(found, "same person")


def test_known_bad_is_not_quieter_than_uncertain():
    """A limit that is not met keeps its hold open even where it is only a caution."""
    found = made(kit={"saddle.centring": '"0.6 mm"'})
    assert 6 in found.open_holds
    slow = made(rules={"integrity.leak_rate": '{ value = "0.005 l/h", source = "test" }'})
    assert 7 in slow.open_holds


def test_the_saddle_may_not_sit_further_off_than_the_window_was_worked_out_for():
    found = made(kit={"saddle.centring": '"0..0.2 mm"'})
    assert found.numbers["travel.off_centre_allowed"].node.value == pytest.approx(0.2e-3)


def test_a_stated_travel_into_the_far_wall_is_seen():
    found = made(kit={"saw[1].stated_travel": '"30 mm"'})
    assert told(found, "30 mm from pilot contact", "saw into the far wall").level == ENGINEER


def test_the_highest_pressure_is_never_below_the_one_measured():
    found = made(survey={"district[0]": None, "district[1]": None,
                         "pressure.maximum_operating_pressure": assumed("25 mbar"),
                         "pressure.operating": '{ value = "40 mbar", how = "measured" }'})
    assert found.numbers["pressure.highest"].node.value >= 4000.0
    assert told(found, "40 mbar", "above the maximum operating pressure of the network").level == ENGINEER


def test_a_kit_is_held_against_what_the_network_may_reach():
    found = made(kit={"kit.maximum_pressure": '"35 mbar"'})
    assert told(found, "what the kit is for", "35").level == DOES_NOT_APPLY


def test_propane_called_natural_gas():
    found = made(survey={"gas.composition": '"C3H8 0.95, C2H6 0.05"'})
    assert told(found, "called natural gas, but only").level == DOES_NOT_APPLY


def test_warmth_that_the_test_lets_pass_cannot_hide_a_leak_at_the_limit():
    """A rig at the limit that warms by just what is let pass must still fall by more than is accepted."""
    numbers = made().numbers
    fall = numbers["integrity.fall_at_limit"].node.low
    hidden = numbers["integrity.per_kelvin"].node.high * numbers["integrity.temperature_change"].node.high
    assert 0.0 < numbers["integrity.largest_fall"].node.value < fall - hidden


def test_a_cutting_window_of_half_a_millimetre_is_none():
    found = made(survey={"site.pit_end": '"270.5 mm"'})
    assert told(found, "cutting window", "20.0 mm").level == DOES_NOT_APPLY


def test_turns_never_lead_past_the_window():
    found = made()
    turns, feed = found.numbers["travel.turns_to"].node, found.numbers["travel.feed_to"].node
    pitch = found.kit.fact("travel.screw_pitch").value
    assert turns.high * pitch <= feed.low + 1e-12


def test_it_is_not_said_to_apply_while_the_deciding_holds_are_open():
    assert made().known_enough
    assert not made(survey={"pipe.material": '"unknown"', "supply.feeds": '"unknown"'}).known_enough


def test_an_unknown_wall_may_be_rusted_wider_than_any_new_tube():
    found = made(survey={"pipe.wall": '"unknown"'})
    told(found, "ST-100 fits", "but not", "corroded to the least wall")
    widest_new = max(found.numbers[f"pipe.{tube.key}.bore"].node.high for tube in found.tubes)
    rusted = found.survey.fact("pipe.outside_diameter").high - 2 * found.rules.fact("pipe.least_wall").low
    assert found.numbers["stopper.bore"].node.value == pytest.approx(max(rusted, widest_new))
