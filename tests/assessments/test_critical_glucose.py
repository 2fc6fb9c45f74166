"""Critical glucose and ketones: JBDS 2021; values marked there as from memory are so here."""

from datetime import date
from typing import Any

import pytest

from tests.assessments.critical import DIABETES, E, P, U, critical
from tests.charts import administered, ago, chart, condition, findings, order
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.words.clauses import Clause


class TestGlucoseWithoutDiabetes:
    """JBDS prints 4.0 for people with diabetes in hospital."""

    def test_the_limit_for_diabetes_is_milder(self) -> None:
        """Without recorded diabetes 3.4 is 'prompt', and says whom the limit is for."""
        found = critical(chart({Signal.GLUCOSE: [(1, "3.4")]}))["glucose-low"]
        assert found.urgency is P
        assert any("people with diabetes" in caution for caution in found.cautions)

    def test_a_very_low_glucose_is_an_emergency_for_everybody(self) -> None:
        """2.9 needs no diabetes."""
        assert critical(chart({Signal.GLUCOSE: [(1, "2.9")]}))["glucose-low"].urgency is E


class TestKetones:
    """JBDS: ketoacidosis is ketones of 3.0 or more in known diabetes or with a glucose above 11."""

    @pytest.mark.parametrize(
        ("rest", "urgency"),
        [
            pytest.param({}, U, id="nothing-known"),
            pytest.param({"conditions": (DIABETES,)}, E, id="known-diabetes"),
            pytest.param({"orders": (order("empagliflozin", "sglt2-inhibitor"),)}, E, id="sglt2-inhibitor"),
            pytest.param({"orders": (order("insulin glargine", "insulin"),)}, E, id="insulin"),
        ],
    )
    def test_who_it_is(self, rest: dict[str, Any], urgency: Urgency) -> None:
        """Ours: hunger and alcohol raise ketones too, so without a hint of diabetes 3.4 is 'urgent'."""
        assert critical(chart({Signal.KETONES: [(1, "3.4")]}, **rest))["ketones-high"].urgency is urgency

    @pytest.mark.parametrize(("glucose", "urgency"), [("11.0", U), ("11.1", E)])
    def test_a_high_glucose_counts_as_diabetes(self, glucose: str, urgency: Urgency) -> None:
        """JBDS prints a glucose above 11.0 beside known diabetes."""
        record = chart({Signal.KETONES: [(1, "3.4")], Signal.GLUCOSE: [(1, glucose)]})
        assert critical(record)["ketones-high"].urgency is urgency

    def test_a_normal_glucose_does_not_reassure(self) -> None:
        """MHRA March 2020: ketoacidosis on an SGLT2 inhibitor can come with a normal glucose."""
        found = critical(chart({Signal.KETONES: [(1, "3.4")]}, conditions=(DIABETES,)))["ketones-high"]
        assert any("normal glucose" in caution for caution in found.cautions)

    def test_ketones_on_record_are_not_asked_for_again(self) -> None:
        """A high glucose asks for ketones, and shows them where they were measured beside it."""
        without = critical(chart({Signal.GLUCOSE: [(1, "22")]}))["glucose-high"]
        beside = critical(chart({Signal.GLUCOSE: [(1, "22")], Signal.KETONES: [(2, "0.3")]}))["glucose-high"]
        assert "Check ketones." in without.cautions
        assert "Check ketones." not in beside.cautions
        assert any(caution.startswith("Ketones 0.3 mmol/L at ") for caution in beside.cautions)

    def test_old_ketones_do_not_count(self) -> None:
        """Ours: ketones of five hours before say nothing of a glucose now."""
        record = chart({Signal.GLUCOSE: [(1, "22")], Signal.KETONES: [(6, "0.3")]})
        assert "Check ketones." in critical(record)["glucose-high"].cautions


class TestLowGlucose:
    """'In a person with diabetes' only with diabetes or its treatment on record (JBDS; the rest is ours)."""

    METFORMIN = order("Metformin", "metformin")

    @pytest.mark.parametrize(
        ("value", "rest", "urgency", "words"),
        [
            ("3.4", {"conditions": (DIABETES,)}, U, "hypoglycaemia in a person with diabetes"),
            ("3.4", {"orders": (METFORMIN,)}, U, "hypoglycaemia in a person with diabetes"),
            ("3.4", {}, P, "hypoglycaemia, no diabetes on record"),
            ("2.9", {}, E, "clinically significant hypoglycaemia, no diabetes on record"),
        ],
    )
    def test_words(self, value: str, rest: dict[str, Any], urgency: Urgency, words: str) -> None:
        found = critical(chart({Signal.GLUCOSE: [(0.5, value)]}, **rest))["glucose-low"]
        assert found.urgency is urgency
        assert words in found.sentence
        assert (limits.LOOK_FOR_A_CAUSE.text in found.cautions) == (not rest)

    @pytest.mark.parametrize(
        ("answer", "urgency", "words"),
        [
            (Consciousness.VOICE, U, "which may be why the patient responds only to voice"),
            (Consciousness.NEW_CONFUSION, U, "which may be why the patient has new confusion"),
            (Consciousness.ALERT, P, "no diabetes on record."),
        ],
    )
    def test_joined_to_consciousness(self, answer: Consciousness, urgency: Urgency, words: str) -> None:
        """A glucose below 4.0 in a patient who is not alert is urgent, and treated, whoever it is."""
        record = chart({Signal.GLUCOSE: [(0.5, "3.4")]}, codes={CodedSignal.CONSCIOUSNESS: [(0.6, answer)]})
        found = critical(record)["glucose-low"]
        assert found.urgency is urgency
        assert words in found.sentence
        assert ("consider treating it now" in found.sentence) == (urgency is U)

    @pytest.mark.parametrize(("hours", "past"), [(1, False), (1.1, True), (6, True)])
    def test_past_tense(self, hours: float, past: bool) -> None:
        found = critical(chart({Signal.GLUCOSE: [(hours, "2.1")]}))["glucose-low"]
        assert ("Glucose was 2.1 mmol/L at" in found.sentence) == past
        assert ("Glucose was 2.1 mmol/L at" in found.brief) == past
        if hours == 6:
            assert "6 hours ago" in found.brief


@pytest.mark.parametrize(
    ("born", "causes"),
    [
        (date(2026, 3, 5), limits.LOOK_FOR_A_CAUSE_IN_A_BABY),
        (date(2024, 3, 1), limits.LOOK_FOR_A_CAUSE_IN_A_CHILD),
        (date(2010, 3, 12), limits.LOOK_FOR_A_CAUSE),
    ],
)
def test_a_low_glucose_of_a_child_names_its_own_causes(born: date, causes: Clause) -> None:
    """Our choice: nobody asks about alcohol in a baby, nor expects diabetes to be on its record."""
    found = findings(chart({Signal.GLUCOSE: [(1, "2.1")]}, born=born), Kind.CRITICAL_RESULT)["glucose-low"]
    every = (
        limits.LOOK_FOR_A_CAUSE_IN_A_BABY,
        limits.LOOK_FOR_A_CAUSE_IN_A_CHILD,
        limits.LOOK_FOR_A_CAUSE,
    )
    assert [one for one in every if one.text in found.cautions] == [causes]
    assert ("no diabetes on record" in found.sentence) is (causes is not limits.LOOK_FOR_A_CAUSE_IN_A_BABY)


@pytest.mark.parametrize(("base", "is_acid"), [("33", False), ("22", False), ("21", True)])
def test_ketones_of_hunger_beside_a_bicarbonate_of_the_laboratory(base: str, is_acid: bool) -> None:
    """JBDS 2023, secondary: ketoacidosis asks for a bicarbonate below 15; ours: no acidosis from 22."""
    found = critical(chart({Signal.KETONES: [(1, "3.4")], Signal.BICARBONATE: [(1, base)]}))["ketones-high"]
    assert found.urgency is (Urgency.URGENT if is_acid else Urgency.PROMPT)
    assert (f"without acidosis (HCO3 {base})" in found.sentence) is not is_acid


def test_a_low_glucose_in_a_dull_patient_counts_from_when_the_patient_became_so() -> None:
    """A repeat of the same answer moves nothing: common practice, no source."""
    drowsy = [(3, Consciousness.ALERT), (2, Consciousness.VOICE), (1, Consciousness.VOICE)]
    record = chart({Signal.GLUCOSE: [(2.5, "3.4")]}, codes={CodedSignal.CONSCIOUSNESS: drowsy})
    found = critical(record)["glucose-low"]
    assert found.urgency is Urgency.URGENT
    assert found.asked_since == ago(2)


@pytest.mark.parametrize(
    ("ph", "bicarbonate", "problems", "urgency", "is_said"),
    [
        pytest.param("7.48", "30", (), P, True, id="hunger"),
        pytest.param("7.34", "26", (), U, False, id="acid"),
        pytest.param(None, None, (), U, False, id="no-gas"),
        pytest.param("7.48", "30", (condition(ConditionKind.DIABETES_TYPE_1),), E, True, id="diabetes"),
    ],
)
def test_ketones_beside_a_gas_that_is_not_acid(
    ph: str | None, bicarbonate: str | None, problems: Any, urgency: Urgency, is_said: bool
) -> None:
    """Ours: hunger raises ketones without acid; in diabetes 3.0 mmol/L keeps its urgency."""
    gas = {Signal.PH_VENOUS: [(2, ph)], Signal.BICARBONATE: [(2, bicarbonate)]} if ph else {}
    found = critical(chart({Signal.KETONES: [(2, "4.2")], **gas}, conditions=problems))["ketones-high"]
    assert found.urgency is urgency
    assert ("without acidosis (pH 7.48, HCO3 30)" in found.sentence) is is_said
    assert ("without acidosis" in found.brief) is is_said


class TestAGlucoseThatMayFallAgain:
    """Prolonged hypoglycaemia on a sulfonylurea (JBDS 2021, secondary); when it is 'prompt' is our choice."""

    GLICLAZIDE = order("Gliclazide 80 mg", "sulfonylurea")
    KIDNEYS = condition(ConditionKind.CHRONIC_KIDNEY_DISEASE, text="Chronic kidney disease")

    def _found(self, *glucose: tuple[float, str], **rest: Any) -> dict[str, Finding]:
        rest.setdefault("orders", (self.GLICLAZIDE,))
        return findings(chart({Signal.GLUCOSE: glucose}, **rest), Kind.CRITICAL_RESULT)

    @pytest.mark.parametrize(
        ("earlier", "urgency"),
        [
            pytest.param([], Urgency.ROUTINE, id="once"),
            pytest.param([(6, "3.9"), (5, "6.8")], Urgency.PROMPT, id="came-back"),
            pytest.param([(6, "4.0"), (5, "6.8")], Urgency.ROUTINE, id="was-not-low"),
            pytest.param([(3, "3.2")], Urgency.ROUTINE, id="one-that-lasted"),
            pytest.param([(25.9, "3.9"), (20, "6.8")], Urgency.PROMPT, id="within-a-day"),
            pytest.param([(26.1, "3.9"), (20, "6.8")], Urgency.ROUTINE, id="more-than-a-day"),
        ],
    )
    def test_twice_low_is_prompt(self, earlier: list[tuple[float, str]], urgency: Urgency) -> None:
        found = self._found(*earlier, (2, "3.1"), (1, "5.4"))["glucose-may-fall-again"]
        assert found.urgency is urgency
        assert "may fall again for 24 to 36 hours" in found.sentence

    def test_with_bad_kidneys_once_is_enough_and_a_repeat_moves_nothing(self) -> None:
        once = self._found((2, "3.1"), (1, "5.4"), conditions=(self.KIDNEYS,))["glucose-may-fall-again"]
        again = self._found((2, "3.1"), (1, "5.4"), (0.5, "6.0"), conditions=(self.KIDNEYS,))
        assert (once.urgency, once.asked_since) == (Urgency.PROMPT, ago(2))
        assert again["glucose-may-fall-again"].asked_since == ago(2)

    def test_without_such_a_medicine_it_is_over(self) -> None:
        found = self._found((2, "3.1"), (1, "5.4"), orders=(), conditions=(self.KIDNEYS,))
        assert found["glucose-low"].state is State.SETTLING
        assert "glucose-may-fall-again" not in found

    def test_one_that_is_low_now_is_told_as_low(self) -> None:
        assert set(self._found((5, "3.1"), (4, "6.0"), (1, "3.2"))) == {"glucose-low"}

    def test_the_next_day_nothing_is_said(self) -> None:
        assert not self._found((40, "3.1"), (39, "5.4"), (1, "7.0"), conditions=(self.KIDNEYS,))


class TestAfterInsulin:
    """Ours: a quick insulin explains a low glucose of the six hours after it, and its repeats."""

    @pytest.mark.parametrize(
        ("values", "is_explained"),
        [
            pytest.param([(0.5, "3.4")], True, id="within-six-hours"),
            pytest.param([(0.4, "3.4")], False, id="later"),
            pytest.param([(0.5, "3.4"), (0.2, "3.4")], True, id="a-repeat-later"),
            pytest.param([(0.5, "3.4"), (0.3, "6.0"), (0.2, "3.4")], False, id="low-again-later"),
        ],
    )
    def test_six_hours(self, values: list[tuple[float, str]], is_explained: bool) -> None:
        dose = administered("Actrapid", 6.5, "insulin", "insulin-rapid", ingredients=["insulin human"])
        found = critical(chart({Signal.GLUCOSE: values}, administrations=(dose,)))["glucose-low"]
        assert found.urgency is (U if is_explained else P)
        assert ("after insulin" in found.sentence) is is_explained
