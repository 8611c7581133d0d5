"""How the current shares out when the steel gives it a second way home.

The arc pushes a fixed current into the work. It comes home by every way there is, shared by
conductance. Without a tie from the steel back to the source there is no second way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import networkx as nx

from diagnose.reckon.quantity import positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict
from knowledge.errors import QuantityError

FORBIDDEN = ("chain", "wire_rope", "crane", "hoist", "elevator", "conduit", "protective_earth")
"""Ways that must carry no welding current at all (29 CFR 1910.254; protective earth: judgement)."""


@dataclass(frozen=True, slots=True)
class Way:
    """A conductor between two points. `intended` ways are the lead and joints meant to carry it.

    `kind` names what it is made of: lead, clamp, building_steel, chain, pipe, protective_earth ...
    """

    name: str
    a: str
    b: str
    resistance_ohm: float
    intended: bool = False
    kind: str = "lead"


@dataclass(frozen=True, slots=True)
class Flow:
    """The current through one way, counted positive from its `a` to its `b`, and its heat."""

    name: str
    current_a: float
    power_w: float


@dataclass(frozen=True, slots=True)
class Shared:
    """Where the current goes. `result.value` is the amperes that leave the intended way."""

    flows: tuple[Flow, ...]
    resistance_ohm: float
    share: float
    tied: bool
    result: Result


def linear_solution(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Return x of `matrix` x = `right` by Gaussian elimination with partial pivoting.

    Raises
    ------
    QuantityError : the matrix is singular

    >>> linear_solution([[0.0, 2.0], [4.0, 1.0]], [2.0, 9.0])
    [2.0, 1.0]
    """
    size = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for column in range(size):
        pivot = max(range(column, size), key=lambda row: abs(rows[row][column]))
        if rows[pivot][column] == 0.0:
            raise QuantityError("the network has no single solution", where="ways")
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for row in range(column + 1, size):
            factor = rows[row][column] / rows[column][column]
            for k in range(column, size + 1):
                rows[row][k] -= factor * rows[column][k]
    solution = [0.0] * size
    for row in reversed(range(size)):
        known = sum(rows[row][k] * solution[k] for k in range(row + 1, size))
        solution[row] = (rows[row][size] - known) / rows[row][row]
    return solution


def network(ways: tuple[Way, ...]) -> nx.MultiGraph[str]:
    """Return the graph of the ways, each edge keyed by its name, with its `ohm`.

    Raises
    ------
    QuantityError : no ways, two of one name, a way from a point to itself, or a resistance not
        above zero

    >>> sorted(network((Way("lead", "work", "source", 0.02),)).nodes)
    ['source', 'work']
    """
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for way in ways:
        positive(way.resistance_ohm, f"{way.name}.resistance_ohm")
        if way.a == way.b:
            raise QuantityError(f"'{way.name}' starts and ends at '{way.a}'", where="ways")
        if graph.has_edge(way.a, way.b, key=way.name):
            raise QuantityError(f"two ways are called '{way.name}'", where="ways")
        graph.add_edge(way.a, way.b, key=way.name, ohm=way.resistance_ohm)
    return graph


def potentials_v(
    ways: tuple[Way, ...], current_a: float, enters: str, leaves: str
) -> Mapping[str, float]:
    """Return the voltage of every point above `leaves`, for a current in at `enters`.

    Points with no way to `leaves` are left out. Solves the Laplacian with `leaves` held at zero.

    Raises
    ------
    QuantityError : an impossible way, current not above zero, or no way from one to the other

    Source
    ------
    Kirchhoff's current law; L v = i with L the weighted graph Laplacian.

    >>> potentials_v((Way("lead", "work", "source", 0.02),), 200.0, "work", "source")["work"]
    4.0
    """
    positive(current_a, "current_a")
    graph = network(ways)
    missing = [point for point in (enters, leaves) if point not in graph]
    if missing or enters == leaves or not nx.has_path(graph, enters, leaves):
        raise QuantityError(
            f"no way leads from '{enters}' to '{leaves}'",
            where="ways",
            next_step="Without a way home there is no arc: look for an open joint.",
        )
    reached = sorted(nx.node_connected_component(graph, leaves) - {leaves})
    place = {point: index for index, point in enumerate(reached)}
    matrix = [[0.0] * len(reached) for _ in reached]
    for way in ways:
        for this, other in ((way.a, way.b), (way.b, way.a)):
            if this in place:
                matrix[place[this]][place[this]] += 1.0 / way.resistance_ohm
                if other in place:
                    matrix[place[this]][place[other]] -= 1.0 / way.resistance_ohm
    inflow = [current_a if point == enters else 0.0 for point in reached]
    solved = linear_solution(matrix, inflow)
    return {leaves: 0.0, **dict(zip(reached, solved, strict=True))}


def shared_current(
    ways: tuple[Way, ...], current_a: float, enters: str = "work", leaves: str = "source"
) -> Shared:
    """Return how the welding current shares out, and how much leaves the intended way.

    Raises
    ------
    QuantityError : as `potentials_v`, or no way is marked as intended

    Source
    ------
    Kirchhoff's laws; 29 CFR 1910.254(c)(2) for what must carry none.

    >>> lead = Way("lead and clamp", "work", "source", 0.02662, intended=True)
    >>> steel = Way("building steel", "work", "source", 0.020, kind="building_steel")
    >>> round(shared_current((lead, steel), 200.0).result.value)
    114
    """
    if not any(way.intended for way in ways):
        raise QuantityError("no way is marked as intended", where="ways")
    volts = potentials_v(ways, current_a, enters, leaves)
    flows = tuple(_flow(way, volts) for way in ways)
    stray_a = _stray_a(ways, flows, current_a, enters, leaves)
    tied = _is_tied(ways, enters, leaves)
    resistance_ohm = volts[enters] / current_a
    result = _stray_result(ways, flows, current_a, stray_a, tied)
    result = replace(result, working=_working(ways, flows, volts, current_a, stray_a))
    return Shared(flows, resistance_ohm, stray_a / current_a, tied, result)


def stray_current(
    current_a: float,
    return_ohm: float,
    steel_ohm: float,
    *,
    tied: bool,
    kind: str = "building_steel",
) -> Shared:
    """Return the share that strays when the work also touches steel, with or without a tie back.

    `return_ohm` is work clamp and work lead together; `steel_ohm` the whole way by the steel.
    `tied`: the steel leads back to the source (stud bonded to case, insulation fault, another
    machine's return). Touching alone is not enough.

    Raises
    ------
    QuantityError : current or a resistance not above zero

    Source
    ------
    Kirchhoff's laws: share = return_ohm / (return_ohm + steel_ohm).

    >>> stray_current(200.0, 0.02662, 0.020, tied=False).result.value
    0.0
    """
    end = "source" if tied else "steel"
    lead = Way("work clamp and lead", "work", "source", return_ohm, intended=True)
    return shared_current(
        (lead, Way(kind.replace("_", " "), "work", end, steel_ohm, kind=kind)), current_a
    )


def _flow(way: Way, volts: Mapping[str, float]) -> Flow:
    if way.a not in volts or way.b not in volts:
        return Flow(way.name, 0.0, 0.0)
    current_a = (volts[way.a] - volts[way.b]) / way.resistance_ohm
    return Flow(way.name, current_a, current_a**2 * way.resistance_ohm)


def _into_a(ways: tuple[Way, ...], flows: tuple[Flow, ...], point: str, sign_at_a: float) -> float:
    """Intended current that crosses `point`; `sign_at_a` is +1 for leaving it, -1 for entering."""
    total = 0.0
    for way, flow in zip(ways, flows, strict=True):
        if way.intended and point in {way.a, way.b}:
            total += sign_at_a * (flow.current_a if way.a == point else -flow.current_a)
    return total


def _stray_a(
    ways: tuple[Way, ...], flows: tuple[Flow, ...], current_a: float, enters: str, leaves: str
) -> float:
    kept = min(_into_a(ways, flows, enters, 1.0), _into_a(ways, flows, leaves, -1.0))
    stray = current_a - kept
    return stray if abs(stray) > 1e-9 * current_a else 0.0


def _is_tied(ways: tuple[Way, ...], enters: str, leaves: str) -> bool:
    """Whether the steel alone would bring the current home."""
    rest = network(tuple(way for way in ways if not way.intended)) if ways else nx.MultiGraph()
    return enters in rest and leaves in rest and bool(nx.has_path(rest, enters, leaves))


def _stray_result(
    ways: tuple[Way, ...], flows: tuple[Flow, ...], current_a: float, stray_a: float, tied: bool
) -> Result:
    none_allowed = Limit(
        "chain, wire rope, crane, hoist, elevator, conduit carry no welding current",
        0.0,
        "A",
        "osha_1910_254",
        "published",
        "1910.254(c)(2)",
    )
    noticed = Limit("share that is worth finding", 0.05, "1", SHOP, "judgement")
    serious = Limit("share that must be stopped", 0.20, "1", SHOP, "judgement")
    share = stray_a / current_a
    carried = [
        (way, flow)
        for way, flow in zip(ways, flows, strict=True)
        if not way.intended and abs(flow.current_a) >= 1.0
    ]
    forbidden = [way.name for way, _ in carried if way.kind in FORBIDDEN]
    verdict: Verdict = "good"
    if forbidden or share > serious.value:
        verdict = "bad"
    elif share > noticed.value:
        verdict = "suspect"
    if stray_a == 0.0:
        says = "Nothing strays: no way ties the work back to the source but the work lead."
    else:
        names = ", ".join(way.name for way, _ in carried) or "the other ways"
        says = f"{stray_a:.0f} A, {share:.0%} of {current_a:g} A, leaves the lead by {names}."
    return Result(
        quantity="stray current",
        value=stray_a,
        unit="A",
        says=says,
        verdict=verdict,
        how_sure=HowSure("As good as the resistances; steel joints are guesses at best.", 0.3),
        limits=(none_allowed, noticed, serious),
        notes=(("Must carry none at all: " + ", ".join(forbidden) + ".",) if forbidden else ())
        + (_TIED if tied else _NOT_TIED),
    )


_TIES = "a work stud bonded to the case, an insulation fault, another machine's return"
_TIED = (
    f"What can tie steel to the source: {_TIES}. Find which.",
    "Take the tie away and mend the lead: stray current heats what it was not made for.",
)
_NOT_TIED = (
    "Steel that touches the work but does not lead home carries nothing.",
    f"It will as soon as something ties it: {_TIES}.",
)


def _working(
    ways: tuple[Way, ...],
    flows: tuple[Flow, ...],
    volts: Mapping[str, float],
    current_a: float,
    stray_a: float,
) -> tuple[str, ...]:
    """The solution step by step: equations, potentials, the current of each way, the sum."""
    steps = [
        "at every point the currents (V - V') / R of its ways add up to what is put in: L V = i, "
        f"with i = {current_a:g} A at the work and V = 0 at the source",
        "V = " + ", ".join(f"{point} {v:.3f} V" for point, v in sorted(volts.items())),
    ]
    for way, flow in zip(ways, flows, strict=True):
        if way.a in volts and way.b in volts:
            apart_v = abs(volts[way.a] - volts[way.b])
            sum_ = f"I = {apart_v:.3f} V / {1000.0 * way.resistance_ohm:.2f} mΩ"
        else:
            sum_ = "leads nowhere"
        steps.append(
            f"{way.name}: {sum_} = {abs(flow.current_a):.1f} A, P = I² R = {flow.power_w:.0f} W"
        )
    share = stray_a / current_a
    return (*steps, f"strays: {stray_a:.1f} of {current_a:g} A = {share:.0%}")
