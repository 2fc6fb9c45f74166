"""Strata of suspected sepsis: NICE NG51, 1.11.5 (7, 5-6, 1-4, 0).

Antimicrobial timing of 1, 3 and 6 hours: Academy of Medical Royal Colleges 2022, a secondary
copy. Lactate above 2, kidney injury and skin signs: from memory. A single 3: our choice.
"""

from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import of_total, risk_in
from tests.charts import PNEUMONIA, TOTALS, ago, antibacterial, condition, measures_of, order, rounds
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal, Skin
from weatherglass.model.sources import Mark
from weatherglass.model.words.lists import inside_a_sentence

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


@pytest.mark.parametrize(
    ("total", "label", "urgency"),
    [
        pytest.param(0, "very low", R, id="0"),
        pytest.param(1, "low", P, id="1"),
        pytest.param(4, "low", P, id="4"),
        pytest.param(5, "moderate", U, id="5"),
        pytest.param(6, "moderate", U, id="6"),
        pytest.param(7, "high", E, id="7"),
        pytest.param(9, "high", E, id="9"),
    ],
)
def test_strata(total: int, label: str, urgency: Urgency) -> None:
    """Both ends of every stratum, where infection is suspected."""
    found = risk_in(of_total(total))["sepsis-risk"]
    assert f": {label} risk" in found.sentence
    assert found.urgency is urgency
    assert "Condition/Pneumonia" in found.evidence


class TestSuspected:
    """Infection is suspected by the problem list or the chart, and by nothing else."""

    @pytest.mark.parametrize(
        ("rest", "key"),
        [
            pytest.param({"conditions": (PNEUMONIA,)}, "sepsis-risk", id="infection"),
            pytest.param({"conditions": (condition(ConditionKind.SEPSIS),)}, "sepsis-risk", id="sepsis"),
            pytest.param(
                {"conditions": (condition(ConditionKind.INFECTION, confirmed=False),)},
                "sepsis-risk",
                id="not-confirmed",
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.INFECTION, active=False),)},
                "screen-for-infection",
                id="resolved",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial"),)}, "sepsis-risk", id="antibiotic"
            ),
            pytest.param(
                {"orders": (order("Chloramphenicol", "antibacterial", route=Route.OPHTHALMIC),)},
                "screen-for-infection",
                id="eye-drops",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial", status=OrderStatus.STOPPED),)},
                "screen-for-infection",
                id="stopped",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial", ends=5),)},
                "screen-for-infection",
                id="course-over",
            ),
            pytest.param({}, "screen-for-infection", id="nothing"),
        ],
    )
    def test_suspected(self, rest: dict[str, Any], key: str) -> None:
        """Without it a NEWS2 of 5 asks a question and gives no stratum."""
        assert set(risk_in(rounds((1, TOTALS[5]), **rest))) == {key}

    @pytest.mark.parametrize(
        ("falls_to", "heat", "asked"), [("90", "37.0", False), ("90", "38.5", True), ("125", "37.0", True)]
    )
    def test_not_beside_a_bleed_without_a_fever(self, falls_to: str, heat: str, *, asked: bool) -> None:
        """Ours: it was asked beside 34 g/L that were lost after an aortic repair."""
        shown = {Signal.PULSE: "132", Signal.SYSTOLIC_PRESSURE: "100", Signal.TEMPERATURE: heat}
        blood = {Signal.HAEMOGLOBIN: [(30, "130"), (2, falls_to)]}
        assert ("screen-for-infection" in risk_in(rounds((1, shown), numbers=blood))) is asked

    @pytest.mark.parametrize(("total", "asked"), [(4, False), (5, True)])
    def test_screen(self, total: int, asked: bool) -> None:
        """The question is asked from 5."""
        found = risk_in(of_total(total, conditions=()))
        assert bool(found) == asked
        for finding in found.values():
            assert finding.urgency is U  # With a fever.
            assert "no infection recorded as suspected: if it is, the risk is moderate" in finding.sentence


class TestFeatures:
    """What raises the risk whatever the score; from memory."""

    @pytest.mark.parametrize(
        ("total", "rest", "urgency", "raised"),
        [
            pytest.param(2, {"numbers": {Signal.LACTATE: [(2, "2.0")]}}, P, False, id="lactate-2.0"),
            pytest.param(2, {"numbers": {Signal.LACTATE: [(2, "2.1")]}}, U, True, id="lactate-2.1"),
            pytest.param(5, {"numbers": {Signal.LACTATE: [(2, "2.1")]}}, E, True, id="lactate-2.1-at-5"),
            pytest.param(
                2, {"numbers": {Signal.LACTATE: [(24.1, "4.0")]}}, P, False, id="lactate-of-yesterday"
            ),
        ],
    )
    def test_lactate(self, total: int, rest: dict[str, Any], urgency: Urgency, raised: bool) -> None:
        """A lactate above 2 makes the risk high; below NEWS2 5 that is 'urgent'."""
        found = risk_in(of_total(total, **rest))["sepsis-risk"]
        assert found.urgency is urgency
        assert ("raised by lactate" in found.sentence) == raised
        if raised:
            assert Mark.FROM_MEMORY in {source.mark for source in found.sources}

    @pytest.mark.parametrize("skin", list(Skin))
    def test_skin(self, skin: Skin) -> None:
        """Each skin sign makes the risk high."""
        found = risk_in(of_total(2, codes={CodedSignal.SKIN: [(1, skin)]}))["sepsis-risk"]
        assert found.urgency is U
        assert "high risk" in found.sentence
        assert measures_of(found)["skin"] == skin.value.replace("-rash", " rash")


def test_an_incomplete_score_may_be_higher() -> None:
    """The lowest possible total gives the stratum, and that is said."""
    record = rounds((1, {**TOTALS[7], Signal.TEMPERATURE: None}), conditions=(PNEUMONIA,))
    found = risk_in(record)["sepsis-risk"]
    assert "NEWS2 at least 6" in found.sentence
    assert any("may be higher" in caution for caution in found.cautions)


class TestNeverLowBeside:
    """A single 3 (ours), kidney injury and lactate (from memory) never stand beside 'low risk'."""

    @pytest.mark.parametrize(
        ("changed", "label", "urgency"),
        [
            pytest.param({Signal.RESPIRATION_RATE: 25}, "moderate", U, id="breathing-25"),
            pytest.param({Signal.PULSE: 131}, "moderate", U, id="pulse-131"),
            pytest.param(
                {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}, "moderate", U, id="confused"
            ),
            pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, "moderate", U, id="voice"),
            pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.PAIN}, "high", E, id="pain"),
            pytest.param(
                {CodedSignal.CONSCIOUSNESS: Consciousness.UNRESPONSIVE}, "high", E, id="unresponsive"
            ),
            pytest.param({CodedSignal.CONSCIOUSNESS: None, Signal.GCS_TOTAL: 8}, "high", E, id="coma-8"),
            pytest.param({CodedSignal.CONSCIOUSNESS: None, Signal.GCS_TOTAL: 9}, "moderate", U, id="coma-9"),
        ],
    )
    def test_a_single_3(self, changed: dict[Any, Any], label: str, urgency: Urgency) -> None:
        found = risk_in(rounds((1, changed), conditions=(PNEUMONIA,)))["sepsis-risk"]
        assert f"{label} risk of severe illness or death, raised by" in found.sentence
        assert "(3 points)" in found.sentence
        assert found.urgency is urgency

    @pytest.mark.parametrize(("total", "urgency"), [(0, U), (4, U), (5, E)])
    def test_kidney_injury(self, total: int, urgency: Urgency) -> None:
        """As a lactate does; of a result that still counts."""
        creatinine = {Signal.CREATININE: [(60, 80), (3, 150)]}
        found = risk_in(of_total(total, numbers=creatinine))["sepsis-risk"]
        assert "high risk" in found.sentence
        assert "acute kidney injury stage 1" in found.sentence
        assert found.urgency is urgency
        assert found.since == ago(3)

    def test_kidney_injury_that_is_treated_for_a_day(self) -> None:
        creatinine = {Signal.CREATININE: [(90, 80), (50, 150), (26, 150), (2, 150)]}
        record = rounds(
            (50, {}),
            (26, {}),
            (1, {}),
            conditions=(condition(ConditionKind.INFECTION, began=60),),
            numbers=creatinine,
            administrations=(antibacterial(49), antibacterial(5)),
        )
        found = risk_in(record)["sepsis-risk"]
        assert found.urgency is P
        assert "high risk" in found.sentence

    def test_an_old_result_of_the_kidneys_says_nothing(self) -> None:
        creatinine = {Signal.CREATININE: [(24 * 20, 80), (24 * 8, 150)]}
        assert "kidney" not in risk_in(of_total(2, numbers=creatinine))["sepsis-risk"].sentence


def test_the_least_risk_of_an_open_total_is_called_so() -> None:
    """Law 1: what is not known is not low."""
    record = of_total(4)
    open_ = replace(record, numbers={s: v for s, v in record.numbers.items() if s is not Signal.SPO2})
    assert "at least low risk" in risk_in(open_)["sepsis-risk"].sentence
    assert ": low risk" in risk_in(record)["sepsis-risk"].sentence


@pytest.mark.parametrize(
    ("words", "is_named"),
    [
        ("Staphylococcus aureus bacteraemia", True),
        ("Escherichia coli bloodstream infection", True),
        ("Endocarditis", True),
        ("Pneumonia", False),
    ],
)
def test_a_deep_infection_stands_beside_a_low_risk(words: str, is_named: bool) -> None:
    """Ours: "very low risk" is that of the vital signs alone, and is said so."""
    read = kinds_in_words(words)
    infection = condition(*read.kinds, began=30, text=words)
    found = risk_in(of_total(0, conditions=(infection,)))["sepsis-risk"]
    assert (f"by NEWS2 alone, but {inside_a_sentence(words)} is recorded" in found.sentence) is is_named
