"""Which fact of the survey matters most: looked at on surveys in which only one can be it, by the rule of the trade
that what is unknown is taken as worst (handbook, 8.1)."""

import pytest
from variants import NOBODY_KNOWS, made

from stillbore.plan.matters import matters


@pytest.mark.parametrize("fact", ["pipe.wall", "pipe.deepest_pit", "site.leg_length", "electrical.bond_current"])
def test_what_is_unknown_stands_first(fact):
    first, *others = matters(made(survey={fact: NOBODY_KNOWS}))
    assert first.fact.name == fact and not first.fact.known
    assert all(each.fact.known or each.fact.composition for each in others)


def test_what_is_measured_and_leaves_nothing_open_is_left_out():
    """The voltage of the pipe is measured at 0.2 V; nothing in the plan is open because of it."""
    assert "electrical.pipe_to_earth_voltage" not in [each.fact.name for each in matters(made(survey={}))]


def test_a_measured_fact_that_breaks_a_check_stands_before_recorded_ones_that_break_none():
    """A wall of 1.4 mm is under the least of the shipped rules: holes and strength rest on it."""
    found = matters(made(survey={"pipe.wall": '{ readings = ["1.4 mm", "1.4 mm"], uncertainty = "0.1 mm" }'}))
    assert found[0].fact.name == "pipe.wall" and found[0].open
    assert all(not each.open or each.fact.measured for each in found)
