"""The shipped orders of work: one for each build of kit and each route, put together from parts, so that what they
share is written once. The text that comes out stands by itself: it is hashed, embedded, and what an operator edits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from stillbore.errors import StillboreError


@dataclass(frozen=True)
class Build:
    """What a build of kit calls its parts: the joints beside gasket and gauge, and the valve behind which the stopper
    is drawn; where the shipped kit of this build counts travel from; and the parts of the order of work from the first
    hole to the let-by watch."""

    title: str
    joints: tuple[str, ...]
    valve: str
    counted_from: str
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Route:
    """What follows the cut: the parts of the order of work behind it, what is fitted to the cut end and which elements
    that closes; the steps on which the test of the new pipe, the saddle and the measuring before backfill rest; the
    spaces and elements of its own."""

    title: str
    parts: tuple[str, ...]
    end: str
    closes: tuple[str, ...]
    measured: tuple[str, ...]
    tested: tuple[str, ...] = ()
    saddle: tuple[str, ...] = ()
    spaces: tuple[str, ...] = ()
    elements: tuple[tuple[str, str, str, str], ...] = ()


BUILDS = {
    "two_branches": Build(
        "through two branches", ("drill opening", "stopper opening"), "stopper valve", "pilot contact",
        ("drill", "two_branches_drawn", "stop", "two_branches_capped", "coupon")),
    "single_branch": Build(
        "through a single branch", ("branch opening",), "branch valve", "saw contact",
        ("drill", "single_branch_drawn", "coupon", "single_branch_opened", "stop")),
}
STOPPER = ("stopper", "main", "leg", "open")
ROUTES = {
    "cap and abandon": Route(
        "cap and abandon", ("cap", "saddle", "dead_pipe", "give_back_none"), "permanent cap", ("pipe at the cut",),
        measured=("G2", "G3"), saddle=("G1",), elements=(STOPPER,)),
    "renew towards the main": Route(
        "renew by insertion towards the main",
        ("towards_main_ready", "static", "towards_main_insert", "fuse", "towards_main_gas", "give_back_gas"),
        "gland with its valve", ("pipe at the cut",), measured=("F12", "H2"), tested=("F6", "F8"),
        spaces=("old pipe",),
        # The annulus seal lies before the stopper's place; the new pipe is a way of its own, that is not there yet.
        elements=(("annulus seal", "main", "old pipe", "open"), ("stopper", "old pipe", "leg", "open"),
                  ("new pipe", "main", "pit", "permanent"))),
    "renew towards the house": Route(
        "renew by insertion towards the house",
        ("towards_house_ready", "static", "towards_house_insert", "fuse", "towards_house_gas", "saddle",
         "give_back_gas"),
        "gland with its valve", ("pipe at the cut", "gland valve"), measured=("G2", "H2"), tested=("F8",),
        saddle=("F12",), spaces=("new pipe's bore",),
        elements=(STOPPER, ("gland valve", "leg", "new pipe's bore", "permanent"),
                  ("new pipe", "new pipe's bore", "pit", "open"))),
}
HEAD = """\
# INVENTED. An example order of work for a kit of this build and this route. The operator's own procedure ranks above
# it. Limits are not written here: each question names a number of the plan or a rule. "opens", "closes", "proves" and
# "makes_permanent" say what a step does to the barriers; the count follows from the rig's graph. "rests_on" names what
# must be done first and still stand. The vent leads out of the pit, so it is no way into it.
format = "stillbore procedure 1"

[procedure]
name = "Isolation {build}, then {route} (invented)"
edition = "2"
statement = "Invented for demonstration; the operator's own procedure ranks above it."
"""
SHARED = (("pipe wall under the saddle", "leg", "saddle", "proved"), ("pipe at the cut", "leg", "pit", "permanent"))


def composed(build: str, route: str, counted_from: str = "") -> str:
    """The whole text of an order of work. ``counted_from`` is where the kit counts travel from; "" takes what the
    shipped kit of this build does. Raises StillboreError for a build or route of which none is shipped."""
    if build not in BUILDS or route not in ROUTES:
        known = ", ".join(BUILDS if build not in BUILDS else ROUTES)
        raise StillboreError(f"There is no order of work for '{build if build not in BUILDS else route}'.",
                             f"Write one of: {known}; or give a file with --procedure.")
    made, follows = BUILDS[build], ROUTES[route]
    fill = {'"{joints}"': _listed(made.joints), "{valve}": made.valve, '"{cut}"': _listed(follows.closes),
            "{end}": follows.end, "{datum}": counted_from or made.counted_from,
            '"{measured}"': _listed(follows.measured), '"{tested}"': _listed(follows.tested),
            '"{before_saddle}"': _listed(follows.saddle)}
    blocks = [HEAD.format(build=made.title, route=follows.title)]
    blocks += [f'[[space]]\nid = "{name}"\n' for name in follows.spaces]
    blocks += [f'[[element]]\nid = "{name}"\nbetween = ["{first}", "{second}"]\nstate = "{state}"\n'
               for name, first, second, state in (*SHARED, *follows.elements)]
    blocks += [_filled(part, fill) for part in ("arrive", "dig", "kit_on", *made.parts, "cut", *follows.parts, "close")]
    return "\n".join(blocks)


def file_name(build: str, route: str) -> str:
    """What the file of a shipped order of work is called."""
    return f"{build}_{route.replace(' ', '_')}.toml"


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _filled(part: str, fill: Mapping[str, str]) -> str:
    text = files("stillbore.procedures.parts").joinpath(f"{part}.toml").read_text(encoding="utf-8")
    for mark, words in fill.items():
        text = text.replace(mark, words)
    return text
