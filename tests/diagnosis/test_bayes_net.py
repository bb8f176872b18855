"""The posterior against an independent Bayes-net library, whose noisy-OR and inference are its own."""

from __future__ import annotations

import importlib
import warnings
from typing import Any

import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import CarFacts, prepare
from tests.diagnosis.by_hand import filtered, states

LEAKS = (
    "output-seal-hard",
    "tail-gasket-leaking",
    "governor-cover-leaking",
    "speedometer-seal-worn",
    "modulator-ring-flat",
    "selector-seal-hard",
    "pan-gasket-leaking",
    "case-porous",
    "modulator-diaphragm-torn",
    "pump-worn",
)
LOOKS = (
    "joint-output-seal",
    "joint-tail-housing",
    "joint-governor-cover",
    "joint-speedometer-sleeve",
    "case-face-weeps",
    "fluid-in-modulator-hose",
    "modulator-holds-vacuum",
    "pan-aluminium",
)
"""Looks with two states that tables alone explain."""

CASES: dict[str, dict[str, int]] = {
    "nothing": {},
    "one wet joint": {"joint-output-seal": 1},
    "two wet joints": {"joint-output-seal": 1, "joint-governor-cover": 1},
    "wet hose, dry tail": {"fluid-in-modulator-hose": 1, "joint-tail-housing": 0, "joint-output-seal": 0},
    "everything sound": dict.fromkeys(LOOKS, 0),
    "quarrelling": {"fluid-in-modulator-hose": 1, "modulator-holds-vacuum": 0, "case-face-weeps": 1},
}
MANY: dict[str, dict[str, int]] = {
    "three wet places": {"joint-output-seal": 1, "joint-speedometer-sleeve": 1, "modulator-holds-vacuum": 1},
    "everything at once": dict.fromkeys(LOOKS, 1),
}
"""Findings that four faults or more may explain, which sets of three leave out."""


@pytest.fixture(scope="module")
def gum() -> Any:
    """The library, loaded here: its compiled part warns while it loads and cannot bear an error in answer."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("pyagrum")


def network(gum: Any) -> Any:
    """Independent faults, and a noisy-OR with a leak for every look."""
    catalogue, net = filtered(LEAKS), gum.BayesNet()
    for fault in LEAKS:
        share = catalogue.faults[fault].weight / 1000.0
        node = net.add(gum.LabelizedVariable(fault, fault, 2))
        net.cpt(node).fillWith([1.0 - share, share])
    for name in LOOKS:
        finding = catalogue.finding(name)
        conspicuous = finding.states[1]
        node = net.addNoisyORNet(
            gum.LabelizedVariable(name, name, 2), finding.background.get(conspicuous, 0.0)
        )
        for fault in LEAKS:
            if fault in finding.strengths:
                net.addWeightedArc(net.idFromName(fault), node, finding.strengths[fault][conspicuous])
    return net


def ours(seen: dict[str, int]) -> Diagnosis:
    """Our answer to the same looks."""
    catalogue = filtered(LEAKS)
    prepared = prepare(load_box("box-a"), CarFacts(), catalogue, cars=4)
    return diagnose(prepared, [states(look, catalogue.finding(look).states[k]) for look, k in seen.items()])


@pytest.mark.parametrize("name", CASES)
def test_posterior_within_a_hundredth(gum: Any, name: str) -> None:
    """Every cause within 0.01 of exact inference on the net, which knows any number of faults at once."""
    found = ours(CASES[name])
    exact = gum.LazyPropagation(network(gum))
    exact.setEvidence(CASES[name])
    exact.makeInference()
    for fault in LEAKS:
        assert found.cause(fault).probability == pytest.approx(float(exact.posterior(fault)[1]), abs=0.01)


@pytest.mark.parametrize("name", [*CASES, *MANY])
def test_same_posterior_where_the_net_too_has_at_most_three_faults(gum: Any, name: str) -> None:
    """With a node that counts the faults held at three or fewer, the two agree to rounding."""
    seen = (CASES | MANY)[name]
    net, found = network(gum), ours(seen)
    count = net.addCOUNT(gum.LabelizedVariable("count", "count", len(LEAKS) + 1))
    for fault in LEAKS:
        net.addArc(net.idFromName(fault), count)
    exact = gum.LazyPropagation(net)
    exact.setEvidence({**seen, "count": [float(faults <= 3) for faults in range(len(LEAKS) + 1)]})
    exact.makeInference()
    for fault in LEAKS:
        assert found.cause(fault).probability == pytest.approx(float(exact.posterior(fault)[1]), abs=1e-9)


def test_net_and_catalogue_have_the_same_shape(gum: Any) -> None:
    """Every look has two states and tables alone, and some faults bear on several looks."""
    catalogue, net = filtered(LEAKS), network(gum)
    assert all(len(catalogue.finding(look).states) == 2 for look in LOOKS)
    assert max(len(net.children(fault)) for fault in LEAKS) >= 3
