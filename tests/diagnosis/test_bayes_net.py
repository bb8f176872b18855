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
    "three wet places": {"joint-output-seal": 1, "joint-speedometer-sleeve": 1, "modulator-holds-vacuum": 1},
    "everything at once": dict.fromkeys(LOOKS, 1),
}
"""The last are explained by four faults or more."""


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
    prepared = prepare(load_box("box-a"), CarFacts(), catalogue, cars=4, misseen=0.0)
    return diagnose(prepared, [states(look, catalogue.finding(look).states[k]) for look, k in seen.items()])


@pytest.mark.parametrize("name", CASES)
def test_same_posterior_as_the_net(gum: Any, name: str) -> None:
    """Every cause as by exact inference on the net, which knows any number of faults at once."""
    found = ours(CASES[name])
    exact = gum.LazyPropagation(network(gum))
    exact.setEvidence(CASES[name])
    exact.makeInference()
    for fault in LEAKS:
        wanted = float(exact.posterior(fault)[1])
        assert found.cause(fault).probability == pytest.approx(wanted, abs=1e-3)
        assert abs(found.cause(fault).probability - wanted) <= found.neglected_mass + 1e-6


def test_net_and_catalogue_have_the_same_shape(gum: Any) -> None:
    """Every look has two states and tables alone, and some faults bear on several looks."""
    catalogue, net = filtered(LEAKS), network(gum)
    assert all(len(catalogue.finding(look).states) == 2 for look in LOOKS)
    assert max(len(net.children(fault)) for fault in LEAKS) >= 3
