"""What must hold after any sequence of events, good or bad, in any order: the invariants of the issue, and the barrier
count against a minimum cut found in another way.

The crew here tries anything: it does steps that are not due, answers wrongly, walks away, lets time pass, moves the
district. The program may refuse or accept; whatever it has accepted, these hold.
"""

from itertools import combinations

import pytest
from crew import KITS, ROUTES, Crew
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from stillbore.job.procedure import PIT_NODE, SOURCE_NODE
from stillbore.plan.barriers import PIPE_WALL
from stillbore.record import events as log
from stillbore.run.fold import fold
from stillbore.run.instants import elapsed
from stillbore.run.step import Moved

BAD = {"E11.coupon": "not found", "E8.vent": "bubbles", "E19.pieces": "2", "B6.pressure": "76 mbar",
       "E18.bubbles": "yes", "C13.current": "2 A", "E22.current": "2 A", "I1.depth": "not measured: rain"}


def gas_reaches(state, broken):
    """Whether gas comes from the main to the pit if these proved elements fail: a search by hand, not the program's."""
    reached, grown = {SOURCE_NODE}, True
    while grown:
        grown = False
        for element in state.elements.values():
            passable = element.state in ("open", "closed") or element.name in broken
            ends = set(element.ends)
            if passable and ends & reached and not ends <= reached:
                reached |= ends
                grown = True
    return PIT_NODE in reached


def least_failures(state):
    """The least number of proved elements that have to fail before gas is in the pit: every set of them is tried, the
    smallest first. The minimum cut of the proved elements, by its definition."""
    proved = [element.name for element in state.elements.values() if element.state == "proved"]
    for size in range(len(proved) + 1):
        if any(gas_reaches(state, set(broken)) for broken in combinations(proved, size)):
            return size
    return PIPE_WALL


def check_barriers(state):
    assert state.barriers == least_failures(state)
    assert gas_reaches(state, set(state.way)) or state.barriers == PIPE_WALL


def first(events, step):
    """The number of the first event that did a step, or None."""
    return next((number for number, line in enumerate(events) if isinstance(line.event.happening, log.Done)
                 and line.event.happening.step == step), None)


class AnyCrew(RuleBasedStateMachine):
    """A crew that may do anything at all."""

    @initialize(route=st.sampled_from(ROUTES), kit=st.sampled_from(KITS), start=st.sampled_from(
        ("A1", "B6", "D6", "E1", "E5", "E8", "E13", "E14", "E14", "E17", "E19", "E22", "F4", "I1")),
        coupon=st.sampled_from(("in hand and whole", "seen in the bore")))
    def begin(self, route, kit, start, coupon):
        self.crew = Crew(route, kit)
        start = "G1" if route == ROUTES[0] and start == "F4" else start
        beyond = start == "I1" and route != ROUTES[0]  # the new pipe is in there, so the coupon was out
        self.crew.given = {} if beyond else {"E11.coupon": coupon}
        self.crew.up_to(start)
        self.ids = [step.id for step in self.crew.state.basis.steps]

    @rule()
    def the_next_step(self):
        waiting = self.crew.state.next_steps
        if waiting:
            self.crew.do(waiting[0])

    @rule(seconds=st.sampled_from((100.0, 200.0, 310.0)))
    def the_next_step_late(self, seconds):
        self.crew.seconds += seconds
        self.the_next_step()

    @rule(ahead=st.integers(0, 6))
    def a_step_ahead(self, ahead):
        waiting = self.crew.state.next_steps
        if waiting:
            self.crew.do(waiting[min(ahead, len(waiting) - 1)])

    @rule(back=st.integers(0, 8))
    def a_step_again(self, back):
        done = [step for step in self.ids if step in self.crew.state.done]
        if done:
            self.crew.do(done[max(len(done) - 1 - back, 0)])

    @rule(data=st.data())
    def any_step(self, data):
        self.crew.done(data.draw(st.sampled_from(self.ids)))

    @rule(key=st.sampled_from(sorted(BAD)))
    def a_bad_answer(self, key):
        step, name = key.split(".")
        if key in self.crew.state.basis.asks:
            self.crew.do(step, **{name: BAD[key]})

    @rule(seconds=st.sampled_from((60.0, 400.0)))
    def time_passes(self, seconds):
        self.crew.seconds += seconds

    @rule(pressure=st.sampled_from(("28 mbar", "33 mbar", "44 mbar", "90 mbar")))
    def the_district_moves(self, pressure):
        self.crew.district(pressure)

    @rule(who=st.sampled_from(("P1", "P2")), here=st.booleans())
    def somebody_walks(self, who, here):
        self.crew.try_(log.Present(who, here))

    @rule(on=st.booleans())
    def the_monitor(self, on):
        self.crew.try_(log.Monitor("GM-2", on, True))

    @rule(stop=st.booleans())
    def stop_and_go(self, stop):
        if stop:
            assert isinstance(self.crew.try_(log.Stopped("word")), Moved)  # always accepted
        else:
            self.crew.try_(log.Resumed("word"))

    @invariant()
    def barriers_are_what_the_state_implies(self):
        if hasattr(self, "crew"):
            check_barriers(self.crew.state)

    @invariant()
    def no_cut_without_bond_supports_let_by_and_coupon(self):
        lines = self.crew.session.lines if hasattr(self, "crew") else []
        cut = first(lines, "E14")
        if cut is None:
            return
        before = fold(((line.hash, line.event) for line in lines[:cut]), self.crew.session.bases)
        for needed in ("C12", "C13", "E8", "E11", "E13"):
            assert before.stands(needed), needed
        assert before.answers["E11.coupon"].value.text != "not found"
        assert before.elements["stopper"].state == "proved"
        assert before.barriers == 2
        now = self.crew.state.done["E14"].at
        assert elapsed(before.done["E8"].at, now) <= 300.0
        assert len(before.here) >= 2 and before.monitor

    @invariant()
    def every_hold_before_the_last_one_done_was_done_first(self):
        state = self.crew.state if hasattr(self, "crew") else None
        if state:
            holds = [step for step in state.basis.steps if step.hold]
            done = [step.id in state.done for step in holds]
            assert done == sorted(done, reverse=True)

    @invariant()
    def nothing_is_inserted_with_the_coupon_unknown(self):
        lines = self.crew.session.lines if hasattr(self, "crew") else []
        inserted = first(lines, "F4")
        if inserted is not None:  # what is said of the coupon afterwards undoes nothing
            before = fold(((line.hash, line.event) for line in lines[:inserted]), self.crew.session.bases)
            assert before.answers["E11.coupon"].value.text in ("in hand and whole", "in pieces, all out")
            assert before.stands("E11")

    @invariant()
    def the_stopper_counted_in_is_counted_out(self):
        lines = self.crew.session.lines if hasattr(self, "crew") else []
        drawn = first(lines, "E19")
        if drawn is not None:
            before = fold(((line.hash, line.event) for line in lines[:drawn]), self.crew.session.bases)
            assert before.answers["E19.pieces"].value.number == before.answers["E5.pieces"].value.number

    @invariant()
    def no_bond_off_before_the_break_is_permanent_and_proved(self):
        state = self.crew.state if hasattr(self, "crew") else None
        if state and "E22" in state.done:
            assert {"E14", "E18", "E19", "E20", "E21"} <= state.done.keys()
            assert state.elements["pipe at the cut"].state in ("proved", "permanent")

    @invariant()
    def no_backfill_before_the_ends_are_measured(self):
        state = self.crew.state if hasattr(self, "crew") else None
        if state and "I2" in state.done:
            lines = self.crew.session.lines
            assert first(lines, "I1") < first(lines, "I2")

    @invariant()
    def every_hold_was_signed_by_two_with_their_own_keys(self):
        state = self.crew.state if hasattr(self, "crew") else None
        for step in state.basis.steps if state else ():
            if step.hold and step.id in state.done:
                assert len(set(state.done[step.id].people)) >= 2, step.id

    @invariant()
    def the_state_is_the_fold_of_the_log(self):
        if hasattr(self, "crew"):
            again = fold(((line.hash, line.event) for line in self.crew.session.lines), self.crew.session.bases)
            assert vars(again) == vars(self.crew.state)


TestAnyCrew = AnyCrew.TestCase
TestAnyCrew.settings = settings(max_examples=25, stateful_step_count=25, deadline=None,
                                suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("kit", KITS)
def test_the_count_at_every_step_of_a_good_job(route, kit):
    crew = Crew(route, kit)
    for step in crew.state.basis.steps:
        crew.up_to(step.id)
        check_barriers(crew.state)


def test_the_other_way_of_counting_can_tell_a_difference():
    state = Crew().up_to("E14").state.copy()
    state.barriers = 1
    with pytest.raises(AssertionError):
        check_barriers(state)
