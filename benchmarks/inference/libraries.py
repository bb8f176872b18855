"""Exact inference by a library, in an environment of its own: requests and answers are lines of JSON.

Started with a library's name, it reads {"net": file, "limit": seconds} to build and compile a net, and
{"evidence": {...}} for the chance of every fault; what takes the processor longer than the limit until the
first answer ends it. It imports nothing of the package. Times are of the processor, in one thread.
"""

from __future__ import annotations

import importlib
import json
import resource
import sys
import time
import warnings
from collections.abc import Callable, Mapping
from typing import Any, Protocol

import numpy as np

MEMORY = 8 * 2**30
"""Bytes that a library may hold."""

Nodes = list[tuple[str, list[str], Any]]


class Compiled(Protocol):
    """A net ready for questions."""

    def ask(self, evidence: Mapping[str, int]) -> list[float]:
        """Chance of each fault."""
        ...


class Pyagrum:
    """Lazy propagation on a junction tree, which stays while the same findings are asked."""

    def __init__(self, nodes: Nodes, faults: list[str]) -> None:
        gum: Any = importlib.import_module("pyagrum")
        gum.setNumberOfThreads(1)
        net = gum.BayesNet()
        for name, parents, table in nodes:
            net.add(gum.LabelizedVariable(name, name, table.shape[0]))
            for parent in parents:
                net.addArc(parent, name)
        for name, parents, table in nodes:
            tensor = net.cpt(name)
            # The library's own order of axes is the reverse of the order in which it names them.
            order = [[name, *parents].index(other) for other in reversed(tensor.names)]
            tensor.fillWith(np.ascontiguousarray(table.transpose(order)).ravel().tolist())
        self.faults, self.net = faults, net
        self.engine = gum.LazyPropagation(net)
        self.engine.setTargets(set(faults))

    def ask(self, evidence: Mapping[str, int]) -> list[float]:
        """Chance of each fault."""
        if self.engine.nbrHardEvidence():
            for name, state in evidence.items():
                self.engine.chgEvidence(name, state)
        else:
            self.engine.setEvidence(dict(evidence))
        self.engine.makeInference()
        return [float(self.engine.posterior(fault)[1]) for fault in self.faults]


class Pgmpy:
    """Variable elimination in the order that the library's own greedy search finds.

    Its junction tree, compiled once and calibrated once, answers later than this at every size it can hold.
    """

    def __init__(self, nodes: Nodes, faults: list[str]) -> None:
        import logging

        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

        logging.getLogger("pgmpy").setLevel(logging.ERROR)
        net = DiscreteBayesianNetwork()
        sizes = {name: table.shape[0] for name, _, table in nodes}
        net.add_nodes_from(sizes)
        net.add_edges_from((parent, name) for name, parents, _ in nodes for parent in parents)
        for name, parents, table in nodes:
            given = {"evidence": parents, "evidence_card": [sizes[one] for one in parents]} if parents else {}
            net.add_cpds(TabularCPD(name, sizes[name], table.reshape(sizes[name], -1), **given))
        self.faults = faults
        self.engine = VariableElimination(net)

    def ask(self, evidence: Mapping[str, int]) -> list[float]:
        """Chance of each fault."""
        found = self.engine.query(self.faults, evidence=dict(evidence), joint=False, show_progress=False)
        return [float(found[fault].values[1]) for fault in self.faults]


LIBRARIES: dict[str, Callable[[Nodes, list[str]], Compiled]] = {"pyagrum": Pyagrum, "pgmpy": Pgmpy}


def read(path: str) -> tuple[Nodes, list[str]]:
    """Nodes and faults from a file of arrays."""
    with np.load(path) as kept:
        told = json.loads(str(kept["net"]))
        return [(name, parents, kept[f"t{k}"]) for k, (name, parents) in enumerate(told["nodes"])], told[
            "faults"
        ]


def allow(seconds: float | None) -> None:
    """Have the system end this process when it has worked so long; None takes that back."""
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    resource.setrlimit(resource.RLIMIT_CPU, (hard if seconds is None else int(seconds) + 2, hard))


def main() -> None:
    """Answer until there are no more lines."""
    warnings.simplefilter("ignore")
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    compiled: Compiled | None = None
    for line in sys.stdin:
        asked = json.loads(line)
        began = time.process_time()
        answer: dict[str, Any] = {}
        if "net" in asked:
            nodes, faults = read(asked["net"])
            began = time.process_time()
            allow(began + asked["limit"])
            compiled = LIBRARIES[sys.argv[1]](nodes, faults)
        else:
            assert compiled is not None
            answer["chances"] = compiled.ask(asked["evidence"])
            allow(None)
        answer["seconds"] = time.process_time() - began
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()
