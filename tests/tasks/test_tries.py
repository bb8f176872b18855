"""How readings were taken, and several tries of one: said, taken from the last, combined, replaced."""

from __future__ import annotations

from math import hypot, sqrt

import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.usual import load_usual
from bellhousing.quantities.units import to_si
from bellhousing.records.conditions import KEPT, Condition, Conditions
from bellhousing.tasks import noting, ranked_jobs
from bellhousing.tasks.answers import FindingAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined, together
from tests.shipped import catalogue_as_shipped

PSI = 6894.757
LINE = "line pressure drive idle 62 psi hot"


def how(entry: FindingAnswer) -> dict[str, tuple[str, str]]:
    """The conditions of an answer: name to text and source."""
    return {held.name: (held.text, held.source) for held in entry.conditions}


def counted(shop: Shop, job: int) -> list[Evidence]:
    """The evidence that the inference takes: of each finding the last."""
    taken = combined(noting.heard_on_job(shop, job), shop.catalogue)
    last = {entry.evidence.finding: entry.evidence for entry in taken if entry.evidence is not None}
    return list(last.values())


class TestConditions:
    """What is kept of how a reading was taken."""

    def test_what_is_said_is_kept_and_the_rest_is_usual(self, shop: Shop, job: int) -> None:
        """Said stands beside what belongs to the finding."""
        (entry,) = noting.note(shop, job, f"{LINE} at 180 F with the 300 psi gauge").findings
        assert how(entry) == {
            "range": ("D", "said"),
            "engine speed": ("idle", "said"),
            "temperature": ("180 F", "said"),
            "instrument": ("300 psi gauge", "said"),
            "vacuum": ("hose on", "usual"),
        }
        (kept,) = noting.heard_on_job(shop, job)
        assert kept.held.temperature is not None
        assert kept.held.temperature.value == pytest.approx(float(to_si(180.0, "degF")))
        assert how(kept.answer) == how(entry)

    def test_the_next_reading_takes_over_what_can_still_be_so(self, shop: Shop, job: int) -> None:
        """The gauge and the temperature stay; the range is the finding's own."""
        noting.note(shop, job, f"{LINE} at 180 F with the 300 psi gauge")
        (entry,) = noting.note(shop, job, "line pressure reverse idle 95 psi").findings
        assert how(entry)["instrument"] == ("300 psi gauge", "last")
        assert how(entry)["temperature"] == ("180 F", "last")
        assert how(entry)["range"] == ("R", "said")
        assert {held.in_words for held in entry.conditions if held.source == "last"} == {
            "taken from the last reading"
        }

    def test_nothing_is_taken_over_that_cannot_be(self, shop: Shop, job: int) -> None:
        """A hot box does not make a cold start hot, a pressure gauge reads no vacuum."""
        noting.note(shop, job, f"{LINE} at 180 F with the 300 psi gauge")
        (cold,) = noting.note(shop, job, "first engagement into drive stone cold 3 s").findings
        assert how(cold)["temperature"] == ("cold", "said")
        assert how(cold)["instrument"] == ("stopwatch", "usual")
        (vacuum,) = noting.note(shop, job, "manifold vacuum 17 inHg").findings
        assert how(vacuum)["instrument"] == ("vacuum gauge", "usual")
        (hot,) = noting.note(shop, job, "into drive takes 1.2 s hot").findings
        assert how(hot)["temperature"] == ("hot", "said")
        (later,) = noting.note(shop, job, "line pressure neutral idle 64 psi").findings
        assert how(later)["instrument"] == ("300 psi gauge", "last")

    def test_a_vacuum_stays_only_at_the_same_engine_speed(self, shop: Shop, job: int) -> None:
        """Off idle or with the hose off it is another vacuum."""
        noting.note(shop, job, "line pressure drive idle 62 psi at 17 inHg")
        (same,) = noting.note(shop, job, "line pressure drive idle 63 psi").findings
        assert how(same)["vacuum"] == ("17 inHg", "last")
        (off,) = noting.note(shop, job, "line pressure drive hose off 1000 rpm 128 psi").findings
        assert how(off)["vacuum"] == ("hose off", "said")

    def test_a_drive_is_not_at_the_idle_of_the_gauge(self, shop: Shop, job: int) -> None:
        """Range and engine speed stay with their set-up; a reading of vacuum is not taken at one."""
        noting.note(shop, job, "line pressure reverse idle 95 psi at 17 inHg hot")
        (vacuum,) = noting.note(shop, job, "manifold vacuum 17 inHg").findings
        assert set(how(vacuum)) == {"engine speed", "temperature", "instrument"}
        assert how(vacuum)["temperature"] == ("hot", "last")
        (shift,) = noting.note(shop, job, "2-3 at 64 mph light throttle").findings
        assert set(how(shift)) == {"range", "temperature", "instrument"}

    def test_what_was_kept_badly_is_not_known(self) -> None:
        """A mapping of another shape, an unknown source, a figure that is none."""
        assert Conditions.of({}) == Conditions()
        assert Conditions.of({KEPT: "hot"}) == Conditions()
        assert (
            Conditions.of({KEPT: {"range": {"text": "D", "source": "guessed"}, "colour": {}}}) == Conditions()
        )
        kept = Conditions(range=Condition("D", "said"), try_number=Condition("2", "said", 2.0))
        assert Conditions.of({KEPT: kept.plain()}) == kept

    def test_every_reading_has_its_usual_conditions(self) -> None:
        """None is unknown to the catalogue, none is missing."""
        usual, findings = load_usual(), catalogue_as_shipped().findings
        conditions, differences = set(usual.conditions), usual.differences
        assert conditions | differences <= set(findings)
        readings = {name: finding for name, finding in findings.items() if finding.kind == "reading"}
        assert set(readings) <= conditions | differences
        biased = [finding for finding in readings.values() if usual.shares_bias(finding)]
        assert not [finding.id for finding in biased if usual.instrument(finding) is None]


class TestTries:
    """Several tries of one reading."""

    def test_tries_count_together(self, shop: Shop, job: int) -> None:
        """The mean counts once, with u / sqrt(n); each try is listed and says so."""
        noting.note(shop, job, LINE)
        noting.note(shop, job, "again 64")
        (third,) = noting.note(shop, job, "and 66 psi on the third try").findings
        assert how(third)["try"] == ("3", "said")
        assert third.remark is not None
        assert third.remark.startswith("one of 3 tries taken together: 64 psi ± 3.7,")
        (entry,) = counted(shop, job)
        half_width = 3.0 * PSI
        assert entry.value == pytest.approx(64.0 * PSI)
        # The tries differ by 2 psi, a little more than 3 / 1.96 psi: u / sqrt(n), enlarged by their scatter.
        scatter = 2.0 / (3.0 / 1.96)
        assert entry.standard_uncertainty == pytest.approx(scatter * half_width / 1.96 / sqrt(3.0))
        assert entry.instruments == (("pressure gauge", 1.0),)
        answer = ranked_jobs.causes_of_job(shop, job)
        assert [(found.value, found.counts) for found in answer.findings] == [
            (62.0, True),
            (64.0, True),
            (66.0, True),
        ]
        shown = {why.shown for cause in answer.causes for why in cause.why}
        assert shown == {"64 psi, mean of 3 tries"}

    def test_a_plain_second_note_stands_in_for_the_first_and_says_so(self, shop: Shop, job: int) -> None:
        """As ever the last counts; the reader is told how to have both."""
        noting.note(shop, job, LINE)
        (second,) = noting.note(shop, job, "line pressure drive idle 65 psi hot").findings
        assert second.remark is not None
        assert second.remark.startswith("counts in place of 62 psi noted before (entry 1)")
        assert "second try" in second.remark
        answer = ranked_jobs.causes_of_job(shop, job)
        assert [found.counts for found in answer.findings] == [False, True]

    def test_the_same_stated_conditions_make_another_try(self, shop: Shop, job: int) -> None:
        """Gauge and temperature said again as before; another gauge said is a reading of its own."""
        noting.note(shop, job, f"{LINE} with gauge 2 at 180 F")
        (second,) = noting.note(shop, job, "line pressure drive idle 64 psi with gauge 2 at 180 F").findings
        assert how(second)["try"] == ("2", "last")
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(63.0 * PSI)
        assert entry.instruments == (("gauge 2", 1.0),)
        noting.note(shop, job, "line pressure drive idle 66 psi with gauge 3 at 180 F")
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(66.0 * PSI)

    def test_tries_with_two_gauges_share_the_error_of_each(self, shop: Shop, job: int) -> None:
        """Half of the mean is each gauge's."""
        noting.note(shop, job, f"{LINE} with gauge 1")
        noting.note(shop, job, "line pressure drive idle 64 psi with gauge 2, second try")
        (entry,) = counted(shop, job)
        assert entry.instruments == (("gauge 1", 0.5), ("gauge 2", 0.5))

    def test_several_tries_in_one_line(self, shop: Shop, job: int) -> None:
        """Each is kept; they count together."""
        noted = noting.note(shop, job, "line pressure drive idle 62 psi, second try 64 psi, third try 63 psi")
        assert [entry.value for entry in noted.findings] == [62.0, 64.0, 63.0]
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(63.0 * PSI)

    def test_a_corrected_try_stays_that_try(self, shop: Shop, job: int) -> None:
        """Put right in its place, withdrawn it is gone from the mean."""
        noting.note(shop, job, LINE)
        (second,) = noting.note(shop, job, "again 46").findings
        assert second.number is not None
        (right,) = noting.correct(shop, job, second.number, "line pressure drive idle 64 psi hot").findings
        assert how(right)["try"][0] == "2"
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(63.0 * PSI)
        assert right.number is not None
        noting.withdraw(shop, job, right.number, "gauge slipped")
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(62.0 * PSI)

    def test_a_try_after_an_adjustment_begins_anew(self, shop: Shop, job: int) -> None:
        """The screw was turned in between: the box is another."""
        noting.note(shop, job, LINE)
        noting.note(shop, job, "screw in 1 turn")
        noting.note(shop, job, "again 68")
        values = [entry.value for entry in counted(shop, job)]
        assert values[-1] == pytest.approx(68.0 * PSI)

    def test_again_without_a_reading_before_stays_a_note(self, shop: Shop, job: int) -> None:
        """There is nothing it could be another try of."""
        noted = noting.note(shop, job, "again 64")
        assert [entry.finding for entry in noted.findings] == [None]

    def test_a_try_that_cannot_be_is_refused(self, shop: Shop, job: int) -> None:
        """It is kept as a note with the reason."""
        noting.note(shop, job, LINE)
        noted = noting.note(shop, job, "again 6400 psi")
        assert noted.problems
        (entry,) = counted(shop, job)
        assert entry.value == pytest.approx(62.0 * PSI)


class TestTogether:
    """The mean of tries by hand."""

    def test_alike_tries(self) -> None:
        """u / sqrt(n), and the differing errors of the tries each at its weight."""
        found = together([62.0, 63.0, 62.5, 62.5], [1.5] * 4)
        assert found.mean == pytest.approx(62.5)
        assert found.standard_uncertainty == pytest.approx(1.5 / 2.0)
        assert not found.scattered
        assert together([62.0, 62.0], [1.0, 2.0]).standard_uncertainty == pytest.approx(hypot(1.0, 2.0) / 2.0)

    def test_tries_that_scatter(self) -> None:
        """62 and 72 with u = 1: chi^2 = 50, so u is that of their own scatter, 5."""
        found = together([62.0, 72.0], [1.0, 1.0])
        assert found.standard_uncertainty == pytest.approx(5.0)
        assert found.scattered
