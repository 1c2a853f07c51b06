"""Facts, and the numbers derived from them: value, range, formula, source and inputs, down to the root facts.

``derive`` calls a physics function on nodes (facts or other derived numbers). The range is worked out from the root
facts, so that a fact used twice is not counted twice: for each root the declared directions are multiplied along
every path; where they agree the worst end is taken, where they do not, both ends and points between are tried.
Nothing here is ever filled in: a fact without a best value gives a number without one, and a function that refuses
somewhere in the box gives a number that says so.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import isfinite

from stillbore.errors import Refused, StillboreError
from stillbore.formulas import Formula, evaluate, formula, name_of
from stillbore.units import show

HOW = ("measured", "record", "assumed", "unknown", "kit", "rule", "table", "constant")


@dataclass(frozen=True, eq=False)
class Fact:
    """A root: something somebody measured, recorded, assumed, printed or declared. SI; None where not known.

    ``origin`` says where it stands (file and line, or table); ``text`` is what was written there; ``readings`` how many
    there were and ``spread`` the instrument's uncertainty.
    """

    name: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    how: str
    origin: str
    text: str = ""
    by: str = ""
    when: str = ""
    instrument: str = ""
    source: str = ""
    composition: tuple[float, ...] = ()
    readings: int = 1
    spread: float = 0.0

    @property
    def measured(self) -> bool:
        """Known because somebody measured it, not by record or assumption."""
        return self.known and self.how == "measured"

    @property
    def known(self) -> bool:
        return self.low is not None

    @property
    def exact(self) -> bool:
        return self.known and self.low == self.high


@dataclass(frozen=True, eq=False)
class Traced:
    """A derived number: best value, low and high in SI (None where there is none), and all that led to it.

    ``refusal`` is the sentence of the first refusal met anywhere in the range. ``result`` names one of several results
    of the formula. ``formula`` is None for an envelope, whose inputs are the cases it covers, and for the worst end of
    a number, where ``result`` says which end: "low" or "high".
    """

    name: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    formula: Formula | None
    inputs: Mapping[str, Node]
    refusal: str = ""
    result: str = ""
    directions: Mapping[Fact, frozenset[int]] = field(default_factory=dict, repr=False)

    @property
    def known(self) -> bool:
        return self.low is not None and self.high is not None

    @property
    def source(self) -> str:
        return ", ".join(self.formula.sources) if self.formula else ""


Node = Fact | Traced
_SIGNS = {"rises": frozenset((1,)), "falls": frozenset((-1,)), "turns": frozenset((1, -1))}
_INTERIOR = (0.25, 0.5, 0.75)


def constant(name: str, unit: str, value: float, source: str) -> Fact:
    """A fact that is a constant of nature or of a standard, or an exact choice of the plan."""
    return Fact(name, unit, value, value, value, "constant", source, source=source)


def _directions(inputs: Mapping[str, Node], entry: Formula) -> dict[Fact, frozenset[int]]:
    found: dict[Fact, frozenset[int]] = {}
    for name, node in inputs.items():
        signs = _SIGNS.get(entry.argument(name).direction, frozenset((1, -1)))
        below = {node: frozenset((1,))} if isinstance(node, Fact) else node.directions
        for root, root_signs in below.items():
            product = frozenset(a * b for a in signs for b in root_signs)
            found[root] = found.get(root, frozenset()) | product
    return found


def _at(node: Node, point: Mapping[Fact, float], memo: dict[int, object]) -> object:
    """The value of a node with every root at the point (a root that is not there is at its single value)."""
    if isinstance(node, Fact):
        return node.composition or point.get(node, node.value)
    if id(node) not in memo:
        if node.formula is None:
            memo[id(node)] = node.value
        else:
            arguments = {name: _at(child, point, memo) for name, child in node.inputs.items()}
            result = evaluate(node.formula, arguments)
            memo[id(node)] = getattr(result, node.result) if node.result else result
    return memo[id(node)]


def _points(directions: Mapping[Fact, frozenset[int]], end: int) -> Iterator[dict[Fact, float]]:
    """The points of the box at which the low (end -1) or high (end +1) of a node may lie."""
    fixed: dict[Fact, float] = {}
    mixed: dict[Fact, list[float]] = {}
    for root, signs in directions.items():
        if root.exact or root.low is None or root.high is None:
            continue
        if len(signs) == 1:
            fixed[root] = root.high if end in signs else root.low
        else:
            mixed[root] = [root.low, root.high, *(root.low + part * (root.high - root.low) for part in _INTERIOR)]
    for combination in itertools.product(*mixed.values()):
        yield fixed | dict(zip(mixed, combination, strict=True))


def _extreme(node: Traced, directions: Mapping[Fact, frozenset[int]], end: int) -> tuple[float | None, str]:
    pick = max if end > 0 else min
    best: float | None = None
    refusal = ""
    for point in _points(directions, end):
        try:
            value = _at(node, point, {})
        except Refused as error:
            refusal = refusal or error.what
            continue
        assert isinstance(value, (int, float))
        best = value if best is None else pick(best, value)
    return (None if refusal else best), refusal


def derive(name: str, function: Callable[..., object], /, result: str = "", **inputs: Node) -> Traced:
    """A number worked out by a physics function from facts and other numbers.

    Args:
        name: the number's dotted name in the plan.
        function: a public function of ``stillbore.physics``.
        result: which field of a function with several results.
        inputs: a node for every argument, by name.
    Returns:
        the Traced number; where an input is unknown it has neither value nor range.
    Raises:
        StillboreError: an argument missing or misnamed (a fault of the program, not of the user).
    """
    entry = formula(name_of(function))
    assert not any(isinstance(node, Traced) and node.formula is None and not node.result for node in inputs.values()), (
        f"{name}: an envelope is for showing; derive from its cases or its worst end")
    wanted = {argument.name for argument in entry.arguments}
    if wanted != set(inputs):
        raise StillboreError(f"{name}: {entry.name} takes {sorted(wanted)}, was given {sorted(inputs)}.",
                             "Name every argument.", number=name)
    unit = next((unit for field_name, _, unit in entry.results if field_name == result), entry.unit)
    directions = _directions(inputs, entry)
    node = Traced(name, unit, None, None, None, entry, inputs, result=result, directions=directions)
    unknown = [child for child in inputs.values() if not child.known and not (isinstance(child, Fact)
                                                                              and child.composition)]
    if unknown:
        sentence = next((child.refusal for child in unknown if isinstance(child, Traced) and child.refusal), "")
        names = ", ".join(child.name for child in unknown)
        return replace(node, refusal=sentence or f"Not known: {names}.")
    refusal = ""
    value: float | None = None
    if all(root.value is not None or root.composition for root in directions):
        try:
            value = _at(node, {}, {})  # type: ignore[assignment]
        except Refused as error:
            refusal = error.what
    if all(root.exact or root.composition for root in directions):
        low, high = value, value
    else:
        low, low_refusal = _extreme(node, directions, -1)
        high, high_refusal = _extreme(node, directions, 1)
        refusal = refusal or low_refusal or high_refusal
    return replace(node, value=value, low=low, high=high, refusal=refusal)


def envelope(name: str, nodes: Mapping[str, Node]) -> Traced:
    """The number over several cases it may be (the tubes of an unknown grade): no best, lowest low, highest high."""
    known = [node for node in nodes.values() if node.known]
    refusals = [node.refusal for node in nodes.values() if isinstance(node, Traced) and node.refusal]
    unit = next(iter(nodes.values())).unit
    if len(nodes) == 1:
        only = next(iter(nodes.values()))
        value = only.value
    else:
        value = None
    complete = len(known) == len(nodes)
    return Traced(name, unit, value,
                  min(node.low for node in known) if complete else None,  # type: ignore[type-var]
                  max(node.high for node in known) if complete else None,  # type: ignore[type-var]
                  None, dict(nodes), refusal=refusals[0] if refusals else "")


def worst(name: str, node: Node, end: str) -> Traced:
    """The low or high end of a number, taken as a single value: what has to be reckoned with."""
    value = node.low if end == "low" else node.high
    refusal = node.refusal if isinstance(node, Traced) else ""
    return Traced(name, node.unit, value, value, value, None, {end: node}, refusal=refusal, result=end)


def roots(node: Node) -> tuple[Fact, ...]:
    """Every fact a number rests on, each once, in the order met."""
    found: dict[Fact, None] = {}

    def walk(current: Node) -> None:
        if isinstance(current, Fact):
            found[current] = None
        else:
            for child in current.inputs.values():
                walk(child)

    walk(node)
    return tuple(found)


@dataclass(frozen=True)
class Share:
    """What it would do to a number if this fact were known exactly: how much narrower its range would be (0 to 1), or,
    for a number that is itself a worst case and has no range, by how much it would move (in its unit)."""

    fact: Fact
    share: float
    moves: float = 0.0


def _width(node: Node, at: Mapping[Fact, Fact]) -> tuple[float, float]:
    """Low and high of a node with some facts replaced by narrower ones."""
    rebuilt = _rebuild(node, at, {})
    if rebuilt.low is None or rebuilt.high is None:
        return (float("-inf"), float("inf"))
    return rebuilt.low, rebuilt.high


def _rebuild(node: Node, at: Mapping[Fact, Fact], memo: dict[int, Node]) -> Node:
    if isinstance(node, Fact):
        return at.get(node, node)
    if id(node) not in memo:
        inputs = {name: _rebuild(child, at, memo) for name, child in node.inputs.items()}
        if node.formula is not None:
            memo[id(node)] = derive(node.name, node.formula.function, node.result, **inputs)
        elif node.result:
            memo[id(node)] = worst(node.name, inputs[node.result], node.result)
        else:
            memo[id(node)] = envelope(node.name, inputs)
    return memo[id(node)]


def shares(node: Node) -> tuple[Share, ...]:
    """Which fact would narrow the range most: each ranged fact is fixed at its best (or middle), and the range
    worked out again. A number without a range that rests on worst ends is ranked by how far it would move; one that is
    not a number everywhere, by what alone would make it one. Ordered, largest first."""
    low, high = node.low, node.high
    found = []
    for root in roots(node):
        if root.composition or root.low is None or root.high is None or root.exact:
            continue
        middle = root.value if root.value is not None else 0.5 * (root.low + root.high)
        fixed = replace(root, value=middle, low=middle, high=middle)
        new_low, new_high = _width(node, {root: fixed})
        if low is None or high is None:  # not a number everywhere: does this fact alone make it one?
            if isfinite(new_high - new_low):
                found.append(Share(root, 1.0))
        elif high > low:
            found.append(Share(root, max(0.0, 1.0 - (new_high - new_low) / (high - low))))
        else:
            found.append(Share(root, 0.0, new_high - high))
    return tuple(sorted(found, key=lambda share: (-share.share, -abs(share.moves))))


def span_text(node: Node, unit: str | None = None) -> str:
    """A number with its range, for people: '10.3 mm (9.2 to 12.3)', or '9.2 to 12.3 mm' without a best value."""
    if isinstance(node, Fact) and node.composition:
        return node.text
    if not node.known:
        return "unknown" if isinstance(node, Fact) or node.refusal.startswith("Not known") else "none"
    assert node.low is not None and node.high is not None
    if node.value is not None and node.low == node.high:
        return show(node.value, node.unit, unit)
    low = show(node.low, node.unit, unit)
    high = show(node.high, node.unit, unit)
    number, _, suffix = high.partition(" ")
    bare_low = low.partition(" ")[0]
    if node.value is None:
        return f"{bare_low} to {high}" if bare_low != number else high
    best = show(node.value, node.unit, unit)
    return best if bare_low == number == best.partition(" ")[0] else f"{best} ({bare_low} to {number})"


def explain(node: Node, units: Mapping[str, str] | None = None) -> Iterable[tuple[int, Node]]:
    """The tree below a number, depth first: (depth, node)."""
    stack: list[tuple[int, Node]] = [(0, node)]
    while stack:
        depth, current = stack.pop()
        yield depth, current
        if isinstance(current, Traced):
            stack.extend((depth + 1, child) for child in reversed(tuple(current.inputs.values())))
