"""Power that circulates in closed loops of a gear train."""

from __future__ import annotations

from collections.abc import Mapping

_SMALL = 1e-9


def circulating_power(power_flow: Mapping[tuple[str, str], float]) -> float:
    """Power going round closed loops, per unit input power [-].

    Formula: the flows between members and components (sets and elements) form a directed graph; every
    directed cycle in it carries its smallest flow round and round. The cycles' flows are taken out one
    after the other and summed; a train whose power only divides and joins again has none.

    Source: own derivation (flow decomposition of a loss-free network).
    """
    left: dict[str, dict[str, float]] = {}
    for (component, member), power in power_flow.items():
        if abs(power) > _SMALL:
            inward, outward = f"member {member}", f"component {component}"
            source, sink = (inward, outward) if power > 0.0 else (outward, inward)
            left.setdefault(source, {})[sink] = abs(power)
    total = 0.0
    while (cycle := _cycle(left)) is not None:
        steps = list(zip(cycle, [*cycle[1:], cycle[0]], strict=True))
        flow = min(left[a][b] for a, b in steps)
        total += flow
        for a, b in steps:
            left[a][b] -= flow
            if left[a][b] <= _SMALL:
                del left[a][b]
    return total


def _cycle(graph: Mapping[str, Mapping[str, float]]) -> list[str] | None:
    """One directed cycle of the graph, or None."""
    done: set[str] = set()
    for start in graph:
        path: list[str] = [start]
        waiting = [iter(graph[start])]
        while path:
            following = next(waiting[-1], None)
            if following is None:
                done.add(path.pop())
                waiting.pop()
            elif following in path:
                return path[path.index(following) :]
            elif following not in done:
                path.append(following)
                waiting.append(iter(graph.get(following, {})))
    return None
