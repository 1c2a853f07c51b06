"""Finding the leak: the published example of test sequencing, brute force on a small rig, noisy hunts, the command."""

import json
import random
import subprocess
import sys
import time
from itertools import combinations
from pathlib import Path

import pytest

from stillbore.gauge.locate import Costs, Hunt, prior
from stillbore.gauge.optimum import best_expected_cost, rig_optimum
from stillbore.gauge.rig_graph import Joint, Rig, Valve

sys.path.insert(0, str(Path(__file__).parents[2] / "studies"))
import locate as study

ROOT = Path(__file__).parents[2]
# Test sequencing, the example of Pattipati and Alexandridis as reprinted 1999 (from memory; the optimum 2.18 was found
# apart by exhaustive dynamic programming): six states, five unit-cost tests.
STATES = {"s0": (0.70, "00000"), "s1": (0.01, "01001"), "s2": (0.02, "00110"), "s3": (0.10, "10011"),
          "s4": (0.05, "11000"), "s5": (0.12, "11110")}
WEIGHTS = {number: weight for number, (weight, _) in enumerate(STATES.values())}
ROWS = [row for _, row in STATES.values()]


def published_tests():
    return [(1.0, lambda state, column=column: ROWS[state][column] == "1") for column in range(5)]


def test_the_published_example_costs_2_18():
    assert best_expected_cost(WEIGHTS, published_tests()) == pytest.approx(2.18, abs=1e-12)


def test_greedy_information_gain_costs_2_86_on_it():
    """The known trap: the test that tells most first is not the one to begin with."""
    from math import log2

    def entropy(weights):
        total = sum(weights)
        return -sum(weight / total * log2(weight / total) for weight in weights if weight)

    def cost(states):
        if len(states) == 1:
            return 0.0
        total = sum(WEIGHTS[state] for state in states)
        best = None
        for column in range(5):
            parts = [[state for state in states if ROWS[state][column] == bit] for bit in "01"]
            if all(parts):
                left = sum(sum(WEIGHTS[s] for s in part) / total * entropy([WEIGHTS[s] for s in part])
                           for part in parts)
                if best is None or left < best[0] - 1e-12:
                    best = (left, parts)
        return total + sum(cost(part) for part in best[1])

    assert cost(list(WEIGHTS)) == pytest.approx(2.86, abs=1e-9)


def small_rig():
    joints = (Joint("a", "T", 0.5, 30, 1.0), Joint("b", "S", 0.3, 45, 1.0), Joint("c", "S", 0.2, 60, 1.0))
    return Rig(joints, (Valve("v", ("T", "S")),), "T")


def test_the_optimum_on_a_small_rig_by_brute_force():
    """Every policy of a small rig, enumerated here over sets of leak sets, apart from the planner."""
    costs, rig = Costs(), small_rig()
    start = prior(rig, costs)
    looks = [(30, 1), (45, 2), (60, 4), (costs.hold_whole, 7), (costs.hold_partial, 1)]

    def best(possible):
        states = {now for now, _ in possible}
        if states == {0}:
            return 0.0
        found = []
        total = sum(start[origin] for _, origin in possible)
        for price, mask in looks:
            yes = frozenset(pair for pair in possible if pair[0] & mask)
            no = possible - yes
            if yes and no:
                share = sum(start[origin] for _, origin in yes) / total
                found.append(price + share * best(yes) + (1 - share) * best(no))
        for joint in (1, 2, 4):
            if all(now & joint for now in states):
                found.append(costs.repair + best(frozenset((now & ~joint, origin) for now, origin in possible)))
        return min(found)

    assert rig_optimum(rig, costs) == pytest.approx(best(frozenset((leaks, leaks) for leaks in start)), rel=1e-12)


def test_hold_states_of_the_example_kits():
    shut = {state.shut: state.inside for state in study.example_rig().hold_states()}
    assert shut[("T-S",)] == {"T"}
    assert shut[()] == {"T", "S", "U", "G", "X"}
    assert shut[("S-U", "S-G")] == {"T", "S"}
    assert len(shut) == 7


def test_the_prior_has_every_single_and_double_and_adds_up():
    found = prior(study.example_rig(), Costs())
    assert len(found) == 13 + len(list(combinations(range(13), 2)))
    assert sum(found.values()) == pytest.approx(1.0)


def test_repeated_looks_do_not_pile_up_as_if_they_were_independent():
    """Half of the misses persist: the second look at a silent joint clears it less than the first."""
    hunt = Hunt(study.example_rig(), Costs())
    gasket = next(move for move in hunt.moves if move.what == "gasket")
    suspicion = [hunt.suspicion()[4]]
    for _ in range(2):
        hunt.take(gasket, False)
        suspicion.append(hunt.suspicion()[4])
    first, second = suspicion[1] / suspicion[0], suspicion[2] / suspicion[1]
    assert first < second < 1.0


def test_noisy_hunts_mend_and_beat_fluid_in_list_order_where_looks_are_slow():
    found = study.noisy(study.example_rig(2.0), 500, 909)
    assert found["mended"] >= 0.985
    assert found["mean"] < 0.8 * found["habit mean"]


def test_a_suggestion_comes_quickly_against_a_floor_of_the_same_run():
    """A suggestion weighs 20 moves over 91 leak sets; it stays within a hundred plain loops over both."""
    hunt = Hunt(study.example_rig(), Costs())
    begin = time.perf_counter()
    hunt.next()
    taken = time.perf_counter() - begin
    begin = time.perf_counter()
    total = 0.0
    for _ in range(20):
        for weight in hunt.belief.values():
            total += weight
    assert taken < 100 * (time.perf_counter() - begin) + 0.01


def test_no_hunt_goes_on_for_ever():
    rig = study.example_rig()
    for seed in range(50):
        truth = study.Truth(rig, random.Random(seed))
        assert study.hunt(rig, Costs(), truth) < 80 * 75


def locate(*arguments, typed=""):
    kit = ROOT / "src/stillbore/examples/kit_two_branches.toml"
    return subprocess.run([sys.executable, "-m", "stillbore", "locate", str(kit), *arguments], input=typed, text=True,
                          capture_output=True, timeout=60)


def test_the_command_as_json():
    data = json.loads(locate("--json").stdout)
    assert sum(entry["probability"] for entry in data["suspicion"]) >= 1.0
    assert data["next"]["move"] in ("hold", "fluid") and data["next"]["expected_s"] > 0
    told = locate("--json", "--findings", "-", typed='[{"fluid": "saddle gasket", "bubble": true}]')
    suspicion = {entry["joint"]: entry["probability"] for entry in json.loads(told.stdout)["suspicion"]}
    assert suspicion["saddle gasket"] > 0.8
    assert json.loads(told.stdout)["next"] == {"move": "repair", "what": "saddle gasket", "expected_s": 60.0}


def test_the_command_names_every_bad_finding():
    bad = '[{"fluid": "saddel", "bubble": true}, {"hold": ["x"], "fails": true}]'
    done = locate("--json", "--findings", "-", typed=bad)
    assert done.returncode == 2
    assert "finding 1" in done.stderr and "finding 2" in done.stderr and "saddle gasket" in done.stderr


def test_the_dialogue_can_be_walked_undone_and_left():
    done = locate(typed="1\nu\nq\n")
    assert done.returncode == 0
    assert done.stdout.count("NEXT") == 3
    assert "%" in done.stdout and "#" in done.stdout
