"""How long a leak hunt takes, against the exact optimum without noise and against looking with fluid everywhere.

    python studies/locate.py [--count 10000] [--seed 20260202] [--write]

The truth is drawn here, apart from the planner: which joints leak, which of them hide from fluid for good, what each
hold and each look shows. The rig is an invented one of 13 joints and four valves.
"""

from __future__ import annotations

import argparse
import random
from dataclasses import replace
from functools import partial
from pathlib import Path

from many import at_once, table

from stillbore.gauge.belief import SURE, Costs, Move, prior
from stillbore.gauge.locate import Hunt, fluid_order
from stillbore.gauge.optimum import rig_optimum
from stillbore.gauge.rig_graph import Joint, Rig, Valve

SEED = 20260202
JOINTS = (
    ("T", "non-return valve", 0.10, 20, 0.85), ("T", "hose to pump", 0.08, 15, 0.95),
    ("T", "hose to gauge", 0.10, 15, 0.95), ("T", "gauge", 0.06, 15, 0.95), ("S", "gasket", 0.22, 45, 0.75),
    ("S", "thread A", 0.05, 20, 0.92), ("S", "thread B", 0.05, 20, 0.92), ("U", "drill gland", 0.14, 25, 0.88),
    ("U", "adapter", 0.04, 20, 0.92), ("G", "rod gland", 0.12, 25, 0.88), ("G", "cap", 0.05, 20, 0.92),
    ("X", "vent seat", 0.07, 20, 0.90), ("X", "plug", 0.04, 15, 0.95))
VALVES = (("T", "S"), ("S", "U"), ("S", "G"), ("G", "X"))


def example_rig(slower: float = 1.0) -> Rig:
    """The rig, with every look with fluid so many times slower."""
    joints = tuple(Joint(name, place, weight, seconds * slower, sensitivity)
                   for place, name, weight, seconds, sensitivity in JOINTS)
    return Rig(joints, tuple(Valve(f"{a}-{b}", (a, b)) for a, b in VALVES), "T")


class Truth:
    """What is really so: the leaking joints, and those of them that never show with fluid."""

    def __init__(self, rig: Rig, draw: random.Random, noisy: bool = True, leaks: int | None = None) -> None:
        self.rig, self.draw, self.noisy = rig, draw, noisy
        weights = [joint.weight for joint in rig.joints]
        if leaks is None:
            chosen = set(draw.choices(range(len(weights)), weights))
            if draw.random() < 0.15:
                while len(chosen) < 2:
                    chosen |= set(draw.choices(range(len(weights)), weights))
            leaks = sum(1 << index for index in chosen)
        self.leaks = leaks
        self.hiding = 0
        for index, joint in enumerate(rig.joints):
            if leaks >> index & 1 and noisy and draw.random() < (1.0 - joint.sensitivity) / 2.0:
                self.hiding |= 1 << index

    def hold_fails(self, mask: int, across: int) -> bool:
        if not self.noisy:
            return bool(self.leaks & mask)
        if self.leaks & mask:
            return self.draw.random() < 0.98
        return self.draw.random() < 0.02 + (0.05 if self.leaks & across else 0.0)

    def bubble(self, mask: int) -> bool:
        if not self.leaks & mask:
            return self.noisy and self.draw.random() < 0.01
        if not self.noisy:
            return True
        if self.hiding & mask:
            return False
        sensitivity = self.rig.joints[mask.bit_length() - 1].sensitivity
        share = (1.0 - sensitivity) / 2.0
        return self.draw.random() >= share / (1.0 - share)

    def repair(self, mask: int) -> None:
        self.leaks &= ~mask


Told = dict[tuple[tuple[str, bool], ...], Move]  # after what was done and shown, the move that the planner then told


def hunt(rig: Rig, costs: Costs, truth: Truth, told: Told | None = None, most_moves: int = 80) -> tuple[float, int]:
    """Seconds of a hunt by the planner, and how many joints were mended that did not leak. The planner tells the same
    after the same findings, so what it told is kept."""
    told = {} if told is None else told
    planner, seconds, in_vain = Hunt(rig, costs), 0.0, 0
    past: tuple[tuple[str, bool], ...] = ()
    for _ in range(most_moves):
        if past not in told:
            told[past] = planner.next()
        move = told[past]
        seconds += move.seconds
        shows = False
        if move.kind == "repair":
            in_vain += not truth.leaks & move.mask
            truth.repair(move.mask)
            planner.repair(move.mask)
        else:
            shows = truth.hold_fails(move.mask, move.across) if move.kind == "hold" else truth.bubble(move.mask)
            planner.take(move, shows)
        past = (*past, (f"{move.kind} {move.what}", shows))
        if planner.done or (not truth.noisy and planner.belief.get(0, 0.0) > 1.0 - 1e-9):
            break
    return seconds, in_vain


def fluid_everywhere(rig: Rig, costs: Costs, truth: Truth) -> float:
    """Seconds of the habit: fluid on every joint in the order of the list, mend what bubbles, prove, and again."""
    seconds, everything = 0.0, (1 << len(rig.joints)) - 1
    for _ in range(6):
        for index, joint in enumerate(rig.joints):
            seconds += joint.seconds
            if truth.bubble(1 << index):
                truth.repair(1 << index)
                seconds += costs.repair + costs.hold_whole
                if not truth.hold_fails(everything, 0):
                    return seconds
    return seconds


def without_noise(rig: Rig) -> tuple[Rig, Costs]:
    """The rig and the costs of a hunt in which nothing misleads, and the planner knows it."""
    sharp = Rig(tuple(replace(joint, sensitivity=1.0) for joint in rig.joints), rig.valves, rig.gauge)
    return sharp, replace(Costs(), hit=1.0, false=0.0, passing=0.0, false_bubble=0.0, repair_above=0.9999)


def noise_free(rig: Rig, on_trial: bool = False) -> tuple[float, float]:
    """Mean minutes without noise of the planner, over every leak set, and of the exact optimum."""
    sharp, costs = without_noise(rig)
    told: Told = {}
    mean = sum(weight * hunt(sharp, costs, Truth(sharp, random.Random(0), noisy=False, leaks=leaks), told)[0]
               for leaks, weight in prior(sharp, costs).items())
    return mean / 60.0, rig_optimum(sharp, costs, on_trial) / 60.0


def part_of(rig: Rig, compartments: str) -> Rig:
    """The rig with the joints of some compartments only: few enough for the optimum with mending on trial."""
    return replace(rig, joints=tuple(joint for joint in rig.joints if joint.compartment in compartments))


def noisy(rig: Rig, count: int, seed: int) -> dict[str, float]:
    """Minutes of planner and habit over many noisy hunts, the share that ends with everything mended, and how many
    tight joints were mended a hunt."""
    times, habit, mended, vain = [], [], 0, 0
    told: Told = {}
    for number in range(count):
        truth = Truth(rig, random.Random(seed + number))
        seconds, in_vain = hunt(rig, Costs(), truth, told)
        times.append(seconds / 60.0)
        mended += truth.leaks == 0
        vain += in_vain
        habit.append(fluid_everywhere(rig, Costs(), Truth(rig, random.Random(seed + number))) / 60.0)
    times.sort()
    habit.sort()
    return {"mean": sum(times) / count, "p95": times[int(0.95 * count)], "habit mean": sum(habit) / count,
            "habit p95": habit[int(0.95 * count)], "mended": mended / count, "in vain": vain / count}


HEAD = """# Finding the leaking joint

{count:,} noisy hunts a line, seed {seed}; an invented rig of 13 joints and four valves; 15 % double faults; half of the
misses with fluid persist. A hunt ends when the whole rig has held and
that nothing leaks has a probability of at least {sure:.1f} %.

"""
FOOT = """
The optimum of the whole rig mends only what leaks for certain, for on trial there are too many states; ours may mend on
trial and so be quicker. The optimum of seven joints (compartments T and S) may mend on trial too: nothing is quicker.
What the planner expects at the start of a hunt, in minutes: {expected}.

Fluid in order of likelihood over time is: {order}.
"""


HEADER = ("| fluid checks | without noise: ours, optimum, ratio | seven joints: ours, optimum, ratio | with noise: "
          "mean / 95 % min | fluid in list order: mean / 95 % | all mended | tight joints mended |\n"
          "| --- | --- | --- | --- | --- | --- | --- |")
SLOWER = (1.0, 2.0, 3.0)


def row(slower: float, count: int, seed: int) -> str:
    rig = example_rig(slower)
    ratios = [f"{ours:.2f}, {optimum:.2f}, {ours / optimum:.3f}"
              for ours, optimum in (noise_free(rig), noise_free(part_of(rig, "TS"), on_trial=True))]
    found = noisy(rig, count, seed)
    return (f"| x {slower:g} slower | {ratios[0]} | {ratios[1]} | {found['mean']:.1f} / {found['p95']:.1f} | "
            f"{found['habit mean']:.1f} / {found['habit p95']:.1f} | {found['mended']:.4f} | {found['in vain']:.2f} |")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="write studies/locate.md")
    options = parser.parse_args()
    made = table(HEADER, at_once(partial(row, count=options.count, seed=options.seed), SLOWER, "line"))
    if options.write:
        order = ", ".join(example_rig().joints[index].name for index in fluid_order(example_rig()))
        expected = ", ".join(f"{Hunt(example_rig(slower), Costs()).expected_seconds() / 60.0:.1f}" for slower in SLOWER)
        Path(__file__).with_suffix(".md").write_text(
            HEAD.format(count=options.count, seed=options.seed, sure=100.0 * SURE) + made + "\n"
            + FOOT.format(expected=expected, order=order), encoding="utf-8")


if __name__ == "__main__":
    main()
