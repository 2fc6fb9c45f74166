"""When infection is asked about that nobody has recorded, and what the question says (our choice)."""

from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import of_total, risk_in
from tests.charts import TOTALS, ago, antibacterial, bedside, condition, findings, order, rounds
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Signal, Skin

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


@pytest.mark.parametrize(
    ("numbers", "urgency"),
    [
        pytest.param({Signal.TEMPERATURE: [(1, "38.0")]}, U, id="fever"),
        pytest.param({Signal.TEMPERATURE: [(1, "37.9")]}, P, id="no-fever"),
        pytest.param({Signal.TEMPERATURE: [(1, "35.9")]}, P, id="cold-alone"),
        pytest.param({Signal.TEMPERATURE: [(1, "35.9")], Signal.CRP: [(1, "100")]}, U, id="cold-with-crp"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.1")], Signal.CRP: [(1, "100")]}, U, id="two-results"),
        pytest.param({Signal.WHITE_CELLS: [(1, "3.9")], Signal.CRP: [(1, "100")]}, U, id="few-white-cells"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.0")], Signal.CRP: [(1, "100")]}, P, id="white-cells-at"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.1")], Signal.CRP: [(1, "99")]}, P, id="crp-below"),
        pytest.param({Signal.WHITE_CELLS: [(25, "22")], Signal.CRP: [(25, "300")]}, P, id="a-day-old"),
    ],
)
def test_what_speaks_of_infection_makes_the_question_urgent(numbers: Any, urgency: Urgency) -> None:
    """Our choice: a fever, or two of cold, white cells and C-reactive protein, from NEWS2 5."""
    heat = numbers.pop(Signal.TEMPERATURE, [(1, "37.0")])[0][1]
    signs = {**TOTALS[5], Signal.TEMPERATURE: heat, Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    found = risk_in(rounds((1, signs), numbers=numbers))["screen-for-infection"]
    assert found.urgency is urgency
    assert found.sentence.startswith("Is this sepsis?") is (urgency is U)


@pytest.mark.parametrize(
    ("kind", "began", "heat", "asked"),
    [
        (ConditionKind.BURN, 48, "37.0", False),
        (ConditionKind.BURN, 49, "37.0", True),
        (ConditionKind.BURN, 20, "38.4", True),
        (ConditionKind.PULMONARY_EMBOLISM, 30, "37.0", False),
        (ConditionKind.EATING_DISORDER, 900, "37.0", True),
    ],
)
def test_what_explains_a_score_at_first(kind: ConditionKind, began: float, heat: str, asked: bool) -> None:
    """Our choice: two days, without a fever."""
    signs = {**TOTALS[5], Signal.TEMPERATURE: heat, Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    found = risk_in(rounds((1, signs), conditions=(condition(kind, began=began),)))
    assert ("screen-for-infection" in found) == asked


@pytest.mark.parametrize(
    ("kind", "pulse", "crp", "asked"),
    [
        (ConditionKind.EATING_DISORDER, "38", None, False),
        (ConditionKind.EATING_DISORDER, "60", None, True),
        (ConditionKind.EATING_DISORDER, "38", "120", True),
        (ConditionKind.MALNUTRITION, "38", None, True),
    ],
)
def test_cold_and_few_white_cells_of_starvation(
    kind: ConditionKind, pulse: str, crp: str | None, asked: bool
) -> None:
    """Our choice: they speak of no infection beside a slow pulse in anorexia nervosa."""
    signs = {Signal.TEMPERATURE: "34.8", Signal.SYSTOLIC_PRESSURE: "82", Signal.PULSE: pulse}
    numbers: dict[Signal, Any] = {Signal.WHITE_CELLS: [(3, "2.4")]}
    numbers |= {Signal.CRP: [(3, crp)]} if crp is not None else {}
    found = risk_in(rounds((1, signs), numbers=numbers, conditions=(condition(kind),)))
    assert bool(found) == asked


def test_the_question_counts_from_when_something_spoke_of_infection() -> None:
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    hot = {**signs, Signal.TEMPERATURE: "38.4"}
    found = risk_in(rounds((6, signs), (3, hot), (1, hot)))["screen-for-infection"]
    assert (found.since, found.asked_since) == (ago(6), ago(3))


def test_the_question_says_what_it_would_mean() -> None:
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "132", Signal.TEMPERATURE: "39.1"}
    found = risk_in(rounds((1, signs)))["screen-for-infection"]
    assert "antimicrobial within 1 hour" in found.sentence  # NICE NG253: high risk from NEWS2 7.


def test_the_question_says_what_was_given() -> None:
    """Ceftriaxone of an hour ago stood beside "antimicrobial within 1 hour". Ours."""
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "132", Signal.TEMPERATURE: "39.1"}
    found = risk_in(rounds((1, signs), administrations=(antibacterial(0.5, "Ceftriaxone"),)))[
        "screen-for-infection"
    ]
    assert "Ceftriaxone was given" in found.sentence
    assert "antimicrobial within" not in found.sentence


def test_an_antibacterial_that_is_dangerous_beside_another_medicine_is_not_asked_for() -> None:
    """Methotrexate with trimethoprim: the pair's own source; that it is not asked for is our choice."""
    trimethoprim = order("Trimethoprim 200 mg", "antibacterial", "trimethoprim")
    alone = risk_in(of_total(7, orders=(trimethoprim,)))["sepsis-risk"]
    assert "ask whether it was given and is right" in alone.sentence
    beside = risk_in(of_total(7, orders=(trimethoprim, order("Methotrexate 15 mg", "methotrexate"))))[
        "sepsis-risk"
    ]
    assert (
        "Trimethoprim 200 mg is dangerous with another medicine on the chart: choose another"
        in beside.sentence
    )
    assert "ask whether it was given" not in beside.sentence


class TestCalledSepsis:
    """Somebody wrote down that it is sepsis: no low total alone answers that (our choice)."""

    @pytest.mark.parametrize(
        ("began", "dosed", "urgency", "is_said"),
        [
            (24, False, P, True),
            (24, True, R, True),
            (24.1, False, R, False),
        ],
    )
    def test_at_a_total_of_0(self, began: float, dosed: bool, urgency: Urgency, is_said: bool) -> None:
        named = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, text="Sepsis", began=began)
        doses = (antibacterial(2),) if dosed else ()
        found = risk_in(of_total(0, conditions=(named,), administrations=doses))["sepsis-risk"]
        assert found.urgency is urgency
        assert ("by NEWS2 alone, but Sepsis is recorded" in found.sentence) is is_said


@pytest.mark.parametrize(("days", "is_suspected"), [(2, True), (28, True), (29, False)])
def test_an_antibacterial_of_a_month_ago_says_nothing_of_now(days: float, is_suspected: bool) -> None:
    """Our choice: nitrofurantoin every night or penicillin for years is prevention."""
    line = order("Nitrofurantoin 50 mg", MedicineClass.ANTIBACTERIAL.value, starts=days * 24)
    record = rounds((1, {Signal.RESPIRATION_RATE: "26"}), orders=(line,))
    assert (bedside(record).infection is not None) is is_suspected


@pytest.mark.parametrize("skin", list(Skin))
def test_a_skin_of_high_risk_asks_at_any_score(skin: Skin) -> None:
    """Ours: mottled to the knees at NEWS2 0 was "nothing urgent found"."""
    record = rounds((1, {}), codes={CodedSignal.SKIN: [(1, skin)]})
    found = findings(record, Kind.SEPSIS_RISK)["skin-sign"]
    assert (found.urgency, found.since) == (Urgency.URGENT, ago(1))
    assert "skin-sign" not in findings(rounds((1, {})), Kind.SEPSIS_RISK)


@pytest.mark.parametrize("kind", [ConditionKind.MIXING_HEART, ConditionKind.COPD])
def test_who_is_blue_as_usual(kind: ConditionKind) -> None:
    known = condition(kind, began=4000)
    for skin, is_asked in ((Skin.CYANOSED, False), (Skin.MOTTLED, True)):
        record = rounds((1, {}), codes={CodedSignal.SKIN: [(1, skin)]}, conditions=(known,))
        assert ("skin-sign" in findings(record, Kind.SEPSIS_RISK)) is is_asked
