"""The barrier count against every simple path written out, against random graphs, and against the trade's chart."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from variants import SINGLE_BRANCH, TWO_BRANCHES, job, made, procedure

from stillbore.errors import InputFaults
from stillbore.job.procedure import PIT_NODE, SOURCE_NODE, STATES
from stillbore.job.shipped import ROUTES
from stillbore.plan import plan
from stillbore.plan.barriers import PIPE_WALL, Element, apply, count, elements

KITS = (TWO_BRANCHES, SINGLE_BRANCH)
BLOCKED = "permanent"


def is_a_path(parts):
    """Whether these elements, all of them, form one simple way from the main to the pit."""
    ends = {}
    for part in parts:
        for end in part.ends:
            ends.setdefault(end, []).append(part)
    if {SOURCE_NODE, PIT_NODE} - set(ends):
        return False
    if any(len(met) != (1 if space in (SOURCE_NODE, PIT_NODE) else 2) for space, met in ends.items()):
        return False
    space, walked = SOURCE_NODE, set()
    while space != PIT_NODE:
        onward = [part for part in ends[space] if part.name not in walked]
        if len(onward) != 1:
            return False
        walked.add(onward[0].name)
        first, second = onward[0].ends
        space = second if first == space else first
    return len(walked) == len(parts)


def least_over_every_subset(state):
    """The count by brute force: every subset of the elements that is a way, the least number of proved ones on it."""
    passable = [part for part in state.values() if part.state != BLOCKED and part.ends[0] != part.ends[1]]
    ways = (parts for size in range(1, len(passable) + 1) for parts in combinations(passable, size)
            if is_a_path(parts))
    return min((sum(part.state == "proved" for part in parts) for parts in ways), default=PIPE_WALL)


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("route", ROUTES)
def test_the_count_is_the_least_over_every_way_at_every_step(kit, route):
    files = job({"job.route": f'"{route}"'}, base_kit=kit)
    state = elements(files.procedure, files.kit)
    for step, planned in zip(files.procedure.rows("step"), plan(files).steps, strict=True):
        state = apply(state, step)
        assert planned.barriers == least_over_every_subset(state), step.text("id")
        assert planned.barriers == PIPE_WALL or len(planned.way) == planned.barriers, step.text("id")
        assert all(state[name].state == "proved" for name in planned.way)


SPACES = (SOURCE_NODE, PIT_NODE, "a", "b", "c")
ELEMENTS = st.lists(st.tuples(st.sampled_from(SPACES), st.sampled_from(SPACES), st.sampled_from(STATES)),
                    min_size=0, max_size=8)


@settings(max_examples=400, deadline=None)
@given(ELEMENTS)
def test_the_count_on_random_graphs(drawn):
    state = {f"e{number}": Element(f"e{number}", (first, second), kind)
             for number, (first, second, kind) in enumerate(drawn)}
    assert count(state)[0] == least_over_every_subset(state)


@settings(max_examples=200, deadline=None)
@given(ELEMENTS, st.data())
def test_proving_one_element_more_never_takes_a_barrier_away(drawn, data):
    state = {f"e{number}": Element(f"e{number}", (first, second), kind)
             for number, (first, second, kind) in enumerate(drawn)}
    closed = [name for name, part in state.items() if part.state == "closed"]
    if not closed:
        return
    name = data.draw(st.sampled_from(closed))
    better = state | {name: Element(name, state[name].ends, "proved")}
    before, after = (float("inf") if number == PIPE_WALL else number for number in (count(state)[0], count(better)[0]))
    assert after >= before


def test_only_a_proved_element_counts():
    one = {"stopper": Element("stopper", (SOURCE_NODE, PIT_NODE), "closed")}
    assert count(one) == (0, ())
    assert count({"stopper": Element("stopper", (SOURCE_NODE, PIT_NODE), "proved")}) == (1, ("stopper",))
    assert count({"stopper": Element("stopper", (SOURCE_NODE, PIT_NODE), "permanent")}) == (PIPE_WALL, ())


# trade.md 2.1: after which step, how many independent barriers to the pit. "D4" stands for the row "before E1" while
# the saddle is not proved, "D9" while it is: the pipe wall, and the proved saddle over it.
CHART = {
    "two branches": [("B6", 1), ("D4", 1), ("D9", 2), ("E1", 1), ("E2", 1), ("E3", 1), ("E4", 1), ("E5", 1), ("E6", 1),
                     ("E7", 1), ("E8", 2), ("E9", 2), ("E10", 1), ("E10c", 1), ("E10d", 1), ("E10e", 2), ("E14", 1),
                     ("E15", 1), ("E17", 1),
                     ("E18", 2)],
    "single branch": [("B6", 1), ("D4", 1), ("D9", 2), ("E1", 1), ("E2", 1), ("E3", 1), ("E4", 1), ("E5", 1), ("E6", 1),
                      ("E7", 1), ("E8", 2), ("E9", 2), ("E14", 1), ("E15", 1), ("E17", 1), ("E18", 2)],
}


@pytest.mark.parametrize("kit,step,barriers", [(kit, *row) for kit, rows in
                                               zip(KITS, CHART.values(), strict=True) for row in rows])
def test_the_barrier_chart_row_by_row(kit, step, barriers):
    found = {planned.row.text("id"): planned for planned in made(base_kit=kit).steps}
    assert found[step].barriers == barriers


@pytest.mark.parametrize("kit", KITS)
def test_from_the_open_drill_branch_or_the_cut_on_the_stopper_alone_holds(kit):
    found = {planned.row.text("id"): planned for planned in made(base_kit=kit).steps}
    alone = ["E14", "E15", "E17"] + (["E10", "E10b"] if kit == TWO_BRANCHES else [])
    assert all(found[step].way == ("stopper",) for step in alone)


@pytest.mark.parametrize("kit", KITS)
def test_from_e19_on_there_is_always_a_proved_barrier(kit):
    """The chart's last row: the least over all ways, at least one. A gland with a valve is proved, but no pipe wall."""
    steps = [planned.row.text("id") for planned in made(base_kit=kit).steps]
    for planned in made(base_kit=kit).steps[steps.index("E19"):]:
        assert planned.barriers >= 1 or planned.barriers == PIPE_WALL


@pytest.mark.parametrize("kit", KITS)
def test_never_a_step_without_a_barrier(kit):
    assert [planned.row.text("id") for planned in made(base_kit=kit).steps if planned.barriers == 0] == []


# After the cut, by what the handbook says of each route: on an abandonment the cap, the branch valve and its fittings
# (chart, "E19 onward": the least over all leak paths); towards the main pipe wall on every way once gas is in the new
# pipe and the annulus is sealed ("F6 done: PE and annulus seal, normal"); towards the house the gland's valve alone
# until the new pipe is proved, and the fittings of the saddle from then on.
AFTER_THE_CUT = {
    "cap and abandon": [("E19", 1), ("E22", 1), ("G1", 1), ("J3", 1)],
    "renew towards the main": [("E19", 1), ("F4", 1), ("F6", 1), ("F11", 1), ("F12", PIPE_WALL), ("J3", PIPE_WALL)],
    "renew towards the house": [("E19", 1), ("F8", 1), ("F10", 1), ("F11", 1), ("F12", 1), ("J3", 1)]}


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("route", ROUTES)
def test_the_barriers_after_the_cut_on_each_route(kit, route):
    found = {planned.row.text("id"): planned.barriers
             for planned in made(survey={"job.route": f'"{route}"'}, base_kit=kit).steps}
    assert [(step, found[step]) for step, _ in AFTER_THE_CUT[route]] == AFTER_THE_CUT[route]


def unproved_openings(state):
    """The ways out into the pit that are not proved, once the wall under the saddle is through."""
    return {part.name for part in state.values() if PIT_NODE in part.ends and part.state in ("open", "closed")}


@pytest.mark.parametrize("kit", KITS)
def test_never_two_one_barrier_windows_at_once(kit):
    """From the first gas in the rig on, at most one way out into the pit is open or not yet proved at any time: the
    drill branch and the cut are never open behind the same stopper together."""
    files = job(base_kit=kit)
    state, gas_in_the_rig, windows = elements(files.procedure, files.kit), False, []
    for step in files.procedure.rows("step"):
        state = apply(state, step)
        gas_in_the_rig = gas_in_the_rig or "pipe wall under the saddle" in step.texts("opens")
        if gas_in_the_rig:
            assert len(unproved_openings(state)) <= 1, step.text("id")
            windows.append(tuple(unproved_openings(state)))
    assert any(windows)  # there are such windows, so that the rule above had something to forbid


@pytest.mark.parametrize("kit", KITS)
def test_what_holds_alone_was_proved_before_the_window_opened(kit):
    """At every step with one barrier after gas is in the rig, the barrier was proved at an earlier step than the one
    that opened the window."""
    files, proved = job(base_kit=kit), set()
    for planned in plan(files).steps:
        if planned.barriers == 1 and planned.row.texts("opens"):
            assert all(name in proved for name in planned.way), planned.row.text("id")
        proved.update(planned.row.texts("proves"))


# Procedures that are wrong


@pytest.mark.parametrize("old,new,word", [
    ('closes = ["stopper"]\n', "", "stopper"),  # E8 then proves an open stopper
    ('proves = ["pipe at the cut"]\n', 'makes_permanent = ["pipe at the cut"]\n', "pipe at the cut")])  # not proved
def test_a_procedure_that_proves_too_much_is_told_as_a_fault_of_the_file(old, new, word):
    steps = procedure("two_branches").replace(old, new, 1)
    with pytest.raises(InputFaults) as caught:
        plan(job(steps=steps))
    assert any(word in fault.what for fault in caught.value.faults)
    assert all("line " in fault.place for fault in caught.value.faults)


def test_a_forgotten_proof_is_a_step_without_a_barrier():
    """The twin of the check above: leave the proof of the stopper out, and the cut stands behind nothing."""
    steps = procedure("two_branches").replace('proves = ["stopper"]\n', "")
    bad = plan(job(steps=steps))
    assert {planned.row.text("id"): planned.barriers for planned in bad.steps}["E14"] == 0
    assert bad.result == "does not apply"
    assert any("E14" in finding.what and "nothing proved" in finding.what for finding in bad.findings)


def test_a_proof_behind_a_shut_valve_is_refused():
    """With the gauge on the saddle nobody can see whether the housing beyond a shut branch valve is tight."""
    with pytest.raises(InputFaults, match="cannot see"):
        made(base_kit="kit_single_branch", kit={"valve[1].between": '["saddle", "gauge line"]'})


def test_a_procedure_without_its_hard_holds_is_refused():
    steps = procedure("two_branches").replace("hold = 11\n", "", 1)
    with pytest.raises(InputFaults, match="hard holds 11"):
        plan(job(steps=steps))
    with pytest.raises(InputFaults, match="not witnessed"):
        plan(job(steps=procedure("two_branches").replace("hold = 9\ntwo_people = true\n", "hold = 9\n", 1)))


def test_a_joint_the_procedure_forgets_is_counted_as_open():
    more = '\n[[joint]]\nid = "second gauge"\ncompartment = "saddle"\n'
    found = {planned.row.text("id"): planned.barriers for planned in made(added_kit=more).steps}
    assert found["E1"] == 0


def test_two_elements_of_one_name_are_refused():
    """The second would replace the first in the graph, and a way to the pit would go uncounted."""
    more = '\n[[joint]]\nid = "saddle gasket"\ncompartment = "gauge line"\n'
    with pytest.raises(InputFaults) as caught:
        made(added_kit=more)
    assert "saddle gasket" in str(caught.value)


def test_the_brute_force_can_tell_a_wrong_count():
    state = {name: Element(name, ends, kind) for name, ends, kind in (
        ("a", (SOURCE_NODE, "x"), "proved"), ("b", ("x", PIT_NODE), "proved"), ("c", ("x", PIT_NODE), "closed"))}
    assert least_over_every_subset(state) == 1 == count(state)[0]
    assert least_over_every_subset(state | {"b": Element("b", ("x", PIT_NODE), "open")}) == 1
    del state["c"]
    assert least_over_every_subset(state) == 2 == count(state)[0]
