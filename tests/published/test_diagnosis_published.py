"""Diagnosis against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import importlib
import warnings
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Fault, Finding, load_catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.information import entropy, mutual_information_of_tests
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.diagnosis.tables import StateTable
from bellhousing.diagnosis.windows import Window, verdict
from tests.published.sources import EHANDBOOK, MITCHELL, RUSSELL, WITTEN

published = pytest.mark.published

FEVER = [
    ((0, 0, 1), 0.9),
    ((0, 1, 0), 0.8),
    ((0, 1, 1), 0.98),
    ((1, 0, 0), 0.4),
    ((1, 0, 1), 0.94),
    ((1, 1, 0), 0.88),
    ((1, 1, 1), 0.988),
]


class TestNoisyOr:
    """Fever from cold, flu and malaria, held back with 0.6, 0.2 and 0.1.

    S. Russell and P. Norvig, Artificial Intelligence: A Modern Approach, 3rd ed., section 14.3.
    """

    TABLE = StateTable(np.array([1.0, 1.0]), np.array([[0.6, 1.0], [0.2, 1.0], [0.1, 1.0]]))

    @published(
        quantity="chance of a finding from several causes",
        source=RUSSELL,
        place="section 14.3, fever",
        code="diagnosis.tables.StateTable.cumulative_of",
    )
    @pytest.mark.parametrize(("ill", "fever"), FEVER)
    def test_every_row_of_the_table(self, ill: tuple[int, int, int], fever: float) -> None:
        """P(fever) for all combinations, in both ways the table is read."""
        members = np.array([[illness if had else 3 for illness, had in enumerate(ill)]])
        assert 1.0 - self.TABLE.cumulative_at(members, 0)[0] == pytest.approx(fever, abs=1e-12)
        assert 1.0 - self.TABLE.cumulative_of(members)[0, 0] == pytest.approx(fever, abs=1e-12)


TENNIS = """
sunny hot high weak no, sunny hot high strong no, overcast hot high weak yes, rain mild high weak yes,
rain cool normal weak yes, rain cool normal strong no, overcast cool normal strong yes,
sunny mild high weak no, sunny cool normal weak yes, rain mild normal weak yes,
sunny mild normal strong yes, overcast mild high strong yes, overcast hot normal weak yes,
rain mild high strong no
"""


class TestInformation:
    """Fourteen days of tennis.

    T. Mitchell, Machine Learning, 1997, table 3.2; gains to three places as in I. H. Witten and E. Frank,
    Data Mining, 2nd ed., chapter 4.
    """

    DAYS = tuple(tuple(day.split()) for day in TENNIS.split(","))

    def joint(self, column: int) -> np.ndarray:
        """Share of days by the attribute in a column and by whether it was played."""
        values = sorted({day[column] for day in self.DAYS})
        table = np.zeros((len(values), 2))
        for day in self.DAYS:
            table[values.index(day[column]), int(day[4] == "yes")] += 1.0 / 14.0
        return table

    @published(quantity="entropy", source=MITCHELL, place="table 3.2", code="diagnosis.information.entropy")
    def test_entropy(self) -> None:
        """Nine days played of fourteen: 0.940 bit."""
        assert float(entropy(np.array([9.0, 5.0]) / 14.0)) == pytest.approx(0.940, abs=5e-4)

    @published(
        quantity="information from a test",
        source=WITTEN,
        place="chapter 4",
        code="diagnosis.information.mutual_information_of_tests",
    )
    @pytest.mark.parametrize(("column", "gain"), [(0, 0.247), (1, 0.029), (2, 0.152), (3, 0.048)])
    def test_gain(self, column: int, gain: float) -> None:
        """Outlook 0.247, temperature 0.029, humidity 0.152, wind 0.048 bit."""
        assert mutual_information_of_tests(self.joint(column), (0,))[0] == pytest.approx(gain, abs=5e-4)
        assert mutual_information_of_tests(self.joint(column).T, (0,))[0] == pytest.approx(gain, abs=5e-4)


def engine(weights: Mapping[str, float], looks: Mapping[str, tuple[float, Mapping[str, float]]]) -> Prepared:
    """Our engine with nothing in its catalogue but these causes and looks (leak, strengths)."""
    shipped = load_catalogue()
    fault = next(iter(shipped.faults.values()))
    look = shipped.findings["fluid-in-modulator-hose"]
    faults: dict[str, Fault] = {
        name: replace(fault, id=name, weight=1000.0 * weight, part=None, effects=())
        for name, weight in weights.items()
    }
    ours: dict[str, Finding] = {
        name: replace(
            look,
            id=name,
            part=None,
            states=("no", "yes"),
            background={"yes": leak},
            strengths={cause: {"yes": strength} for cause, strength in strengths.items()},
        )
        for name, (leak, strengths) in looks.items()
    }
    readings = {name: finding for name, finding in shipped.findings.items() if finding.kind == "reading"}
    catalogue = replace(shipped, faults=faults, findings={**readings, **ours}, digest=repr((weights, looks)))
    return prepare(load_box("box-a"), CarFacts(), catalogue, cars=2, misseen=0.0)


def chance(prepared: Prepared, look: str, *evidence: Evidence) -> float:
    """P(look) after some evidence."""
    belief = diagnose(prepared, evidence).belief
    table = prepared.tables[look]
    beside = np.prod(1.0 - belief.alone * (1.0 - table.by_fault[:, 0]))
    return float(1.0 - beside * (belief.weights @ table.cumulative_at(belief.members, 0)))


def strength(leak: float, with_cause: float) -> float:
    """Noisy-OR strength beside a leak that gives this chance with the cause."""
    return 1.0 - (1.0 - with_cause) / (1.0 - leak)


class TestAsia:
    """S. Lauritzen and D. Spiegelhalter, Journal of the Royal Statistical Society B 50, 1988.

    Tables as printed there and in the manual of BUGS 0.5, Examples volume 2. Our causes are independent roots
    and our tables noisy-OR, so what our engine can hold is its arcs from one parent, the logical or, and the
    X-ray. It cannot hold the dyspnoea table: 0.1, 0.7, 0.8, 0.9 is no noisy-OR, which would end in 0.933.
    """

    VISIT, SMOKING = 0.01, 0.5
    TUBERCULOSIS, LUNG, BRONCHITIS, XRAY = (0.01, 0.05), (0.01, 0.1), (0.3, 0.6), (0.05, 0.98)

    def roots(self) -> Prepared:
        """Visit and smoking as causes, what each brings as looks."""
        return engine(
            {"visit": self.VISIT, "smoking": self.SMOKING},
            {
                "tuberculosis": (self.TUBERCULOSIS[0], {"visit": strength(*self.TUBERCULOSIS)}),
                "lung-cancer": (self.LUNG[0], {"smoking": strength(*self.LUNG)}),
                "bronchitis": (self.BRONCHITIS[0], {"smoking": strength(*self.BRONCHITIS)}),
            },
        )

    def xray(self, either: float) -> Prepared:
        """Either disease as the cause of the X-ray."""
        return engine({"either": either}, {"x-ray": (self.XRAY[0], {"either": strength(*self.XRAY)})})

    @pytest.mark.beside("printed tables, marginals worked out from them")
    @pytest.mark.parametrize(
        ("disease", "marginal"), [("tuberculosis", 0.0104), ("lung-cancer", 0.055), ("bronchitis", 0.45)]
    )
    def test_diseases(self, disease: str, marginal: float) -> None:
        """0.0104, 0.055 and 0.45."""
        assert chance(self.roots(), disease) == pytest.approx(marginal, abs=1e-9)

    @pytest.mark.beside("printed tables, marginals worked out from them")
    def test_either_and_xray(self) -> None:
        """Tuberculosis or cancer 0.064828, a shadow on the X-ray 0.110290."""
        both = engine(
            {"tuberculosis": 0.0104, "cancer": 0.055}, {"or": (0.0, {"tuberculosis": 1.0, "cancer": 1.0})}
        )
        either = chance(both, "or")
        assert either == pytest.approx(0.064828, abs=1e-9)
        assert chance(self.xray(either), "x-ray") == pytest.approx(0.110290, abs=5e-7)

    @pytest.mark.other_program("pyAgrum")
    def test_posteriors_against_the_whole_net(self) -> None:
        """What each look says of its cause is what the whole net says in an independent library."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            gum = importlib.import_module("pyagrum")
        net = self.whole_net(gum)

        def exact(cause: str, **seen: int) -> float:
            inference = gum.LazyPropagation(net)
            inference.setEvidence(seen)
            inference.makeInference()
            return float(inference.posterior(cause)[1])

        def said(prepared: Prepared, cause: str, *looks: str) -> float:
            found = diagnose(prepared, [Evidence(look, states=("yes",)) for look in looks])
            return found.cause(cause).probability

        roots, xray = self.roots(), self.xray(exact("either"))
        assert said(roots, "visit", "tuberculosis") == pytest.approx(exact("visit", tuberculosis=1), abs=1e-9)
        assert said(roots, "smoking", "lung-cancer") == pytest.approx(exact("smoking", lung=1), abs=1e-9)
        assert said(roots, "smoking", "lung-cancer", "bronchitis") == pytest.approx(
            exact("smoking", lung=1, bronchitis=1), abs=1e-9
        )
        assert said(xray, "either", "x-ray") == pytest.approx(exact("either", xray=1), abs=1e-6)
        cancer = chance(roots, "lung-cancer", Evidence("bronchitis", states=("yes",)))
        assert cancer == pytest.approx(exact("lung", bronchitis=1), abs=1e-9)

    def whole_net(self, gum: Any) -> Any:
        """Asia as printed."""
        net = gum.fastBN(
            "visit->tuberculosis->either->xray;smoking->lung->either->dyspnoea;smoking->bronchitis->dyspnoea"
        )

        def given(name: str, yes: float, **parents: int) -> None:
            if parents:
                net.cpt(name)[parents] = [1.0 - yes, yes]
            else:
                net.cpt(name).fillWith([1.0 - yes, yes])

        given("visit", self.VISIT)
        given("smoking", self.SMOKING)
        for k in (0, 1):
            given("tuberculosis", self.TUBERCULOSIS[k], visit=k)
            given("lung", self.LUNG[k], smoking=k)
            given("bronchitis", self.BRONCHITIS[k], smoking=k)
            given("xray", self.XRAY[k], either=k)
            for j in (0, 1):
                given("either", float(k or j), tuberculosis=k, lung=j)
                given("dyspnoea", ((0.1, 0.8), (0.7, 0.9))[k][j], either=k, bronchitis=j)
        return net

    @pytest.mark.other_program("pyAgrum")
    def test_the_net_is_typed_right(self) -> None:
        """Dyspnoea 0.435971, and bronchitis 0.811402 after a visit and dyspnoea, in the library."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            gum = importlib.import_module("pyagrum")
        inference = gum.LazyPropagation(self.whole_net(gum))
        inference.makeInference()
        assert float(inference.posterior("dyspnoea")[1]) == pytest.approx(0.435971, abs=1e-6)
        inference.setEvidence({"visit": 1, "dyspnoea": 1})
        inference.makeInference()
        assert float(inference.posterior("bronchitis")[1]) == pytest.approx(0.811402, abs=1e-6)


class TestVerdict:
    """Chance that the true value conforms, from the table of the normal distribution.

    NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.1: area from the mean. The rule for
    one-sided and two-sided windows is that of JCGM 106:2012, section 7; that its example has z = 1.40 is from
    memory.
    """

    @published(
        quantity="chance that a reading lies inside its window",
        source=EHANDBOOK,
        place="table 1.3.6.7.1",
        code="diagnosis.windows.verdict:inside",
    )
    @pytest.mark.parametrize(
        ("z", "area"), [(0.5, 0.19146), (1.0, 0.34134), (1.4, 0.41924), (1.96, 0.47500), (2.5, 0.49379)]
    )
    def test_one_sided(self, z: float, area: float) -> None:
        """A reading z standard uncertainties inside one limit."""
        band = Window(-1e9, 130.0, "typed")
        assert verdict(band, 130.0 - 4.0 * z, 4.0).inside == pytest.approx(0.5 + area, abs=5e-6)
        assert verdict(band, 130.0 + 4.0 * z, 4.0).inside == pytest.approx(0.5 - area, abs=5e-6)

    @pytest.mark.beside("further entries of the table above")
    def test_ninety_five_in_a_hundred(self) -> None:
        """1.64 and 1.65 standard uncertainties: areas 0.44950 and 0.45053, so 95 in 100 lies between."""
        band = Window(60.0, 1e9, "typed")
        below, above = (verdict(band, 60.0 + 3.0 * z, 3.0).inside for z in (1.64, 1.65))
        assert below == pytest.approx(0.94950, abs=5e-6)
        assert above == pytest.approx(0.95053, abs=5e-6)

    @pytest.mark.beside("a further entry of the table above")
    def test_two_sided(self) -> None:
        """In the middle of a window four standard uncertainties wide: twice 0.47725."""
        assert verdict(Window(60.0, 76.0, "typed"), 68.0, 4.0).inside == pytest.approx(2 * 0.47725, abs=1e-5)
