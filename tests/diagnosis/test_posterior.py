"""Reasons, conflict, Monte Carlo error, and the same answer every time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.diagnosis.reasons import CONFLICT
from tests.diagnosis.by_hand import FAULTS, INHG, MPH, PSI, by_hand, filtered, small, states, value

LATE_AND_HARD = [
    value("line-drive-idle", 84.0 * PSI),
    value("modulator-vacuum-idle", 12.5 * INHG),
    value("upshift-12-light", 22.0 * MPH),
    states("onset", "overnight"),
    states("fluid-in-modulator-hose", "dry"),
]

HOSE_OR_DIAPHRAGM = [value("line-drive-idle", 108.0 * PSI), value("upshift-12-light", 34.0 * MPH)]

AGREEING = [states("fluid-in-modulator-hose", "wet"), states("modulator-holds-vacuum", "leaks-down")]
QUARRELLING = [
    states("fluid-in-modulator-hose", "wet"),
    states("modulator-holds-vacuum", "holds"),
    states("blue-smoke", "none"),
    states("fluid-loss", "none"),
]


class TestReasons:
    """What each finding did to each cause."""

    @pytest.mark.parametrize("left_out", range(len(LATE_AND_HARD)))
    def test_influence_is_the_odds_with_over_without(self, left_out: int) -> None:
        """The factor of each finding is what leaving it out and asking again gives."""
        prepared = small()
        rest = [entry for index, entry in enumerate(LATE_AND_HARD) if index != left_out]
        found, without = diagnose(prepared, LATE_AND_HARD), diagnose(prepared, rest)
        for fault in FAULTS:
            ours, theirs = found.cause(fault), without.cause(fault)
            factor = next(reason.factor for reason in ours.why if reason.evidence == left_out)
            wanted = odds(ours.probability) / odds(theirs.probability)
            # Sets of three that are simulated with the finding may be left to expansion without it.
            assert factor == pytest.approx(wanted, rel=0.05)

    def test_influence_of_tables_is_exact(self) -> None:
        """Without physics nothing is left to expansion."""
        prepared = small()
        for left_out in range(len(QUARRELLING)):
            rest = [entry for index, entry in enumerate(QUARRELLING) if index != left_out]
            found, without = diagnose(prepared, QUARRELLING), diagnose(prepared, rest)
            for fault in FAULTS:
                ours, theirs = found.cause(fault), without.cause(fault)
                factor = next(reason.factor for reason in ours.why if reason.evidence == left_out)
                assert factor == pytest.approx(odds(ours.probability) / odds(theirs.probability), rel=1e-9)

    def test_reasons_point_at_entries_that_count(self) -> None:
        """Each finding appears once, under the index of its last entry."""
        entries = [states("fluid-in-modulator-hose", "wet"), *LATE_AND_HARD]
        for cause in diagnose(small(), entries).causes:
            if cause.why:
                assert [reason.evidence for reason in cause.why] == [1, 2, 3, 4, 5]

    def test_reasons_speak_for_the_right_cause(self) -> None:
        """Low vacuum at the modulator speaks for the hose, a dry hose against the diaphragm."""
        found = diagnose(small(), LATE_AND_HARD)
        hose = {reason.evidence: reason.factor for reason in found.cause("vacuum-hose-off").why}
        torn = {reason.evidence: reason.factor for reason in found.cause("modulator-diaphragm-torn").why}
        assert hose[2] > 2.0
        assert hose[3] > 1.5
        assert torn[4] < 0.2


def odds(probability: float) -> float:
    """p / (1 - p)."""
    return probability / (1.0 - probability)


class TestConflict:
    """Findings that no hypothesis explains together."""

    @staticmethod
    def measure(evidence: list[Evidence]) -> float:
        """Sum of ln P(finding) less ln P(all), every probability added up by hand."""
        hand = by_hand()
        return sum(hand.ln_evidence([entry]) for entry in evidence) - hand.ln_evidence(evidence)

    def test_findings_that_explain_each_other(self) -> None:
        """Two signs of one fault make each other likelier: below zero, and no warning."""
        assert self.measure(AGREEING) < 0.0
        assert diagnose(small(), AGREEING).conflict is None

    def test_findings_that_quarrel(self) -> None:
        """Line as with the vacuum gone beside full vacuum and an early shift is reported."""
        evidence = [
            value("line-drive-1000", 190.0 * PSI),
            value("line-drive-idle", 108.0 * PSI),
            value("modulator-vacuum-idle", 17.5 * INHG),
            value("upshift-12-light", 11.5 * MPH),
            *QUARRELLING,
        ]
        wanted = self.measure(evidence)
        found = diagnose(small(), evidence).conflict
        assert wanted > CONFLICT
        assert found is not None
        assert found.measure == pytest.approx(wanted, abs=0.05)
        assert small().catalogue.finding(evidence[found.suspect].finding).name in found.text

    def test_suspect_is_the_odd_one_out(self) -> None:
        """One impossible pressure among figures of a sound car is the one to check first."""
        evidence = [
            value("governor-20", 22.0 * PSI),
            value("upshift-12-light", 12.0 * MPH),
            value("upshift-23-light", 18.5 * MPH),
            value("line-drive-idle", 66.0 * PSI),
            value("line-drive-1000", 190.0 * PSI),
            value("line-neutral-idle", 66.0 * PSI),
        ]
        found = diagnose(small(), evidence).conflict
        if found is not None:
            assert found.suspect == 4
        assert (found is None) == (self.measure(evidence) < CONFLICT)

    @pytest.mark.parametrize("evidence", [[], QUARRELLING[:1]], ids=["none", "one"])
    def test_one_finding_cannot_quarrel(self, evidence: list[Evidence]) -> None:
        """Nothing to contradict."""
        assert diagnose(small(), evidence).conflict is None


class TestMonteCarloError:
    """The error given with each cause against the spread of the answer over seeds."""

    def test_error_is_the_spread_over_seeds(self) -> None:
        """Within a factor of two for every cause that the draw of cars touches at all."""
        catalogue, box = filtered(FAULTS), load_box("box-a")
        answers, errors = [], []
        for seed in range(40):
            found = diagnose(prepare(box, CarFacts(), catalogue, seed=seed, cars=120), HOSE_OR_DIAPHRAGM)
            answers.append([found.cause(fault).probability for fault in FAULTS])
            errors.append([found.cause(fault).error for fault in FAULTS])
        spread, error = np.std(answers, axis=0, ddof=1), np.median(errors, axis=0)
        touched = spread > 1e-3
        assert touched.sum() >= 2
        assert np.all(error[touched] < 2.0 * spread[touched])
        assert np.all(error[touched] > 0.5 * spread[touched])

    def test_more_cars_smaller_error(self) -> None:
        """Sixteen times the cars give about a quarter of the error."""
        few, many = (
            diagnose(small(cars=cars), HOSE_OR_DIAPHRAGM).cause("vacuum-hose-off").error for cars in (40, 640)
        )
        assert 2.0 < few / many < 8.0

    def test_tables_have_no_error(self) -> None:
        """What no car bears on is exact."""
        assert all(cause.error < 1e-12 for cause in diagnose(small(), AGREEING).causes)


ASK = "from tests.diagnosis.test_posterior import asked; print(asked())"


def asked() -> str:
    """Every cause and every proposed test with all their bits."""
    prepared = small(seed=5)
    found = diagnose(prepared, LATE_AND_HARD)
    ranked = next_tests(prepared, found, LATE_AND_HARD).ranked
    causes = [[cause.id, cause.probability.hex(), cause.error.hex()] for cause in found.causes]
    return json.dumps([causes, [[test.finding, test.bits.hex()] for test in ranked]])


def test_same_answer_bit_for_bit_in_two_processes() -> None:
    """This process and another, whose order of hashing differs, one seed: the same bits."""
    other = "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2"
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONHASHSEED": other},
    )
    answer = json.loads(done.stdout)
    assert answer == json.loads(asked())
    assert len(answer[0]) == len(FAULTS) + 1
    assert len(answer[1]) > 5


def test_another_seed_gives_another_draw() -> None:
    """The seed is not ignored."""
    first, second = (diagnose(small(seed=seed), HOSE_OR_DIAPHRAGM).causes[0] for seed in (5, 6))
    assert first.probability != second.probability
    assert abs(first.probability - second.probability) < 5.0 * np.hypot(first.error, second.error)


class TestKept:
    """The file that keeps what was simulated."""

    @staticmethod
    def prepared(cache: Path, seed: int = 3) -> Prepared:
        """The small box with its file."""
        return prepare(load_box("box-a"), CarFacts(), filtered(FAULTS), seed=seed, cars=20, cache=cache)

    def test_round_trip(self, tmp_path: Path) -> None:
        """What is read back is what was simulated, and asked again gives the same answer."""
        path = tmp_path / "deep" / "kept"
        first = self.prepared(path)
        written = path.stat().st_mtime_ns
        second = self.prepared(path)
        assert path.stat().st_mtime_ns == written
        for name, reading in first.shown.readings.items():
            np.testing.assert_array_equal(reading, second.shown.readings[name])
        for name, chances in first.shown.chances.items():
            np.testing.assert_array_equal(chances, second.shown.chances[name])
        assert diagnose(first, LATE_AND_HARD).causes == diagnose(second, LATE_AND_HARD).causes

    @pytest.mark.parametrize("damage", ["empty", "cut", "noise", "another thing"])
    def test_damaged_file_is_rebuilt(self, tmp_path: Path, damage: str) -> None:
        """A damaged file costs time, never an answer, and is written anew."""
        path = tmp_path / "kept"
        wanted = diagnose(self.prepared(path), LATE_AND_HARD)
        whole = path.read_bytes()
        path.write_bytes(
            {
                "empty": b"",
                "cut": whole[: len(whole) // 2],
                "noise": bytes(range(256)) * 40,
                "another thing": b"\x80\x05K\x07.",
            }[damage]
        )
        assert diagnose(self.prepared(path), LATE_AND_HARD).causes == wanted.causes
        assert path.read_bytes() == whole

    def test_file_of_another_seed_is_not_taken(self, tmp_path: Path) -> None:
        """A file that does not fit is written anew."""
        path = tmp_path / "kept"
        self.prepared(path, seed=3)
        kept = path.read_bytes()
        assert self.prepared(path, seed=4).key not in (None, self.prepared(path, seed=3).key)
        assert path.read_bytes() == kept
