"""How fast an infusion runs, what must not end at once, courses that are over; pairs of cancer medicines.

Labels (secondary): ibrutinib and venetoclax 4.4 and 4.5; MHRA September 2020 for fentanyl patches; boxed
warnings of benzodiazepines. The limits an hour, at once and of a course are our choice, what stands beside
them common practice.
"""

from typing import Any

import pytest

from tests.medicines.wards import interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, earlier, full_set, given, observation, quantity, stay
from weatherglass.model.findings import Finding, Urgency
from weatherglass.terminology.doses.worded_interval import course_of

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


def rated(text: str, amount: str, unit: str, **rest: Any) -> Json:
    """Return an infusion with its rate as a number."""
    rate = {"value": float(amount), "unit": unit, "code": unit}
    dosage = [{"route": {"text": "intravenous"}, "doseAndRate": [{"rateQuantity": rate}]}]
    return {**order(text), "id": "o", "dosageInstruction": dosage, **rest}


def worded(text: str, words: str, **rest: Any) -> Json:
    """Return an order with a dosage in words."""
    return {**order(text), "id": "o", "dosageInstruction": [{"text": words}], **rest}


def limits_of(*resources: Json) -> dict[str, Urgency]:
    """Return the rules that speak of the order "o", with how soon."""
    found = suggestions(reviewed(result("Na", "140"), *resources)).get("o")
    return {each.rule: found.urgency for each in found.reasons} if found is not None else {}


class TestRates:
    @pytest.mark.parametrize(
        ("text", "amount", "unit", "rule", "is_said"),
        [
            ("Actrapid 50 units in 50 mL", "20", "mL/h", "dose-insulin-an-hour", False),
            ("Actrapid 50 units in 50 mL", "21", "mL/h", "dose-insulin-an-hour", True),
            ("Actrapid 50 units in 50 mL", "60", "U/h", "dose-insulin-an-hour", True),
            ("Heparin sodium 20,000 units in 20 mL", "4", "mL/h", "dose-heparin-an-hour", False),
            ("Heparin sodium 20,000 units in 20 mL", "5", "mL/h", "dose-heparin-an-hour", True),
            ("Morphine 50 mg in 50 mL", "5", "mg/h", "dose-opioid-an-hour", False),
            ("Morphine 50 mg in 50 mL", "6", "mL/h", "dose-opioid-an-hour", True),
            ("Morphine infusion", "6", "mL/h", "dose-opioid-an-hour", False),
        ],
    )
    def test_by_number(self, text: str, amount: str, unit: str, rule: str, is_said: bool) -> None:
        assert (limits_of(rated(text, amount, unit)).get(rule) is U) is is_said

    @pytest.mark.parametrize(
        ("text", "dosage", "lead"),
        [
            ("Morphine PCA", {"text": "1 mg bolus, 5 minute lockout"}, "Consider stopping or pausing"),
            (
                "Morphine 1 mg/mL",
                {"text": "patient-controlled", "asNeededBoolean": True},
                "Consider stopping",
            ),
            ("Fentanyl PCIA", {"asNeededBoolean": True}, "Consider stopping or pausing"),
            ("Morphine 10 mg", {"text": "5 mg when needed", "asNeededBoolean": True}, "Consider holding"),
        ],
    )
    def test_what_the_patient_gives_by_a_pump_is_stopped(
        self, text: str, dosage: dict[str, Any], lead: str
    ) -> None:
        """Common practice, no source: it has no next dose that somebody could hold."""
        pump = {**order(text), "id": "o", "dosageInstruction": [dosage]}
        found = suggestions(reviewed(*full_set(respiration_rate="7 /min", consciousness="voice"), pump))["o"]
        assert found.sentence.startswith(lead)

    def test_as_a_ratio(self) -> None:
        ratio = {"numerator": {"value": 8, "unit": "mg"}, "denominator": {"value": 1, "unit": "h"}}
        dosage = [{"doseAndRate": [{"rateRatio": ratio}]}]
        ordered = {**order("Morphine 50 mg in 50 mL"), "id": "o", "dosageInstruction": dosage}
        assert "dose-opioid-an-hour" in limits_of(ordered)

    def test_in_words_and_not_for_a_weight(self) -> None:
        text = "Heparin sodium 20,000 units in 20 mL"
        assert "dose-heparin-an-hour" in limits_of(worded(text, "5000 units/hour IV"))
        assert "dose-heparin-an-hour" not in limits_of(worded(text, "18 units/kg/h IV"))

    def test_not_where_comfort_decides(self) -> None:
        cancer = problem("Metastatic breast cancer")
        assert "dose-opioid-an-hour" not in limits_of(rated("Morphine 50 mg in 50 mL", "8", "mg/h"), cancer)

    @pytest.mark.parametrize(
        ("words", "is_said"),
        [
            ("50 units IV stat in glucose 50% 50 mL", True),
            ("10 units IV stat in glucose 50% 50 mL", False),
            ("50 units in 50 mL by IV infusion", False),
            ("50 units SC at night", False),
        ],
    )
    def test_insulin_into_a_vein_at_once(self, words: str, is_said: bool) -> None:
        ordered = worded("Actrapid 100 units/mL", words, authoredOn=earlier("1 h"))
        assert ("dose-insulin-into-a-vein-at-once" in limits_of(ordered)) is is_said

    @pytest.mark.parametrize(
        ("patch", "beside", "is_said"),
        [
            ("Fentanyl 100 micrograms/hour patch", "Tramadol 50 mg", True),
            ("Fentanyl 50 micrograms/hour patch", "Co-codamol 30/500", True),
            ("Fentanyl 25 micrograms/hour patch", "Tramadol 50 mg", False),
            ("Fentanyl 100 micrograms/hour patch", "Morphine 30 mg", False),
        ],
    )
    def test_a_patch_after_a_weak_opioid(self, patch: str, beside: str, is_said: bool) -> None:
        new = {**order(patch, authoredOn=earlier("24 h")), "id": "o"}
        found = limits_of(new, {**order(beside, authoredOn=earlier("90 d")), "id": "b"})
        assert (found.get("dose-fentanyl-patch-after-a-weak-opioid") is U) is is_said


def missing(decided_by: str, *resources: Json) -> list[Finding]:
    """Return what one question asks of what is missing."""
    (review,) = reviewed(result("Na", "140"), *resources).reviews
    return [each for each in review.findings if each.decided_by == decided_by]


class TestEnds:
    @pytest.mark.parametrize(
        ("text", "days", "is_asked"),
        [
            ("Bisoprolol 10 mg", 40, True),
            ("Bisoprolol 10 mg", 27, False),
            ("Diazepam 10 mg", 40, True),
            ("Pregabalin 150 mg", 40, True),
            ("Zomorph 60 mg", 40, True),
            ("Codeine 30 mg", 40, False),
            ("Amlodipine 10 mg", 40, False),
        ],
    )
    def test_a_long_one_at_once(self, text: str, days: int, is_asked: bool) -> None:
        end = {"validityPeriod": {"start": earlier(f"{days} d"), "end": earlier("20 h")}}
        ended = {**order(text, status="stopped", dispenseRequest=end), "id": "e"}
        assert bool(missing("a long treatment that ended at once", ended)) is is_asked

    @pytest.mark.parametrize(
        ("beside", "is_asked"), [("Sertraline 50 mg", False), ("Mirtazapine 15 mg", True)]
    )
    def test_not_what_another_takes_the_place_of(self, beside: str, is_asked: bool) -> None:
        end = {"validityPeriod": {"start": earlier("40 d"), "end": earlier("20 h")}}
        ended = {**order("Venlafaxine 150 mg", status="stopped", dispenseRequest=end), "id": "e"}
        found = missing("a long treatment that ended at once", ended, {**order(beside), "id": "o"})
        assert bool(found) is is_asked

    def test_not_what_a_slow_pulse_speaks_against(self) -> None:
        end = {"validityPeriod": {"start": earlier("40 d"), "end": earlier("20 h")}}
        ended = {**order("Bisoprolol 10 mg", status="stopped", dispenseRequest=end), "id": "e"}
        slow = result("HR", "38", earlier("1 h"))
        assert not missing("a long treatment that ended at once", ended, slow)

    @pytest.mark.parametrize(
        ("home", "here", "urgency"),
        [
            ("Diazepam 10 mg", "Ramipril 5 mg", P),
            ("Diazepam 10 mg", "Lorazepam 1 mg", R),
            ("Zomorph 60 mg", "Fentanyl 25 micrograms/hour patch", R),
            ("Venlafaxine 150 mg", "Ramipril 5 mg", P),
            ("Temazepam 10 mg", "Ramipril 5 mg", R),
            ("Amlodipine 5 mg", "Ramipril 5 mg", R),
            ("Sotalol 80 mg", "Bisoprolol 5 mg", None),
        ],
    )
    def test_from_home(self, home: str, here: str, urgency: Urgency | None) -> None:
        """What withdraws is prompt, but for what another of its kind replaces, or a pair asks about."""
        taken = {
            "resourceType": "MedicationStatement",
            "id": "h",
            "status": "active",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": home},
        }
        inside = stay(period={"start": earlier("40 h")})
        found = missing("home medicines compared with the chart", inside, taken, {**order(here), "id": "o"})
        assert [each.urgency for each in found] == ([urgency] if urgency is not None else [])

    @pytest.mark.parametrize(("pulse", "is_asked"), [("39", False), ("60", True)])
    def test_not_what_a_hold_names(self, pulse: str, is_asked: bool) -> None:
        """Ours: "without it withdrawal may follow" stood beside "consider holding"."""
        taken = {
            "resourceType": "MedicationStatement",
            "id": "h",
            "status": "active",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": "Bisoprolol 10 mg"},
        }
        here = [
            stay(period={"start": earlier("40 h")}),
            order("Paracetamol 1 g"),
            result("HR", pulse, earlier("1 h")),
        ]
        found = missing("home medicines compared with the chart", *here, taken)
        assert bool(found) is is_asked


class TestCourses:
    @pytest.mark.parametrize(
        ("text", "words", "days", "is_asked"),
        [
            ("Prednisolone 30 mg", "30 mg once daily for 5 days", 7, True),
            ("Prednisolone 30 mg", "30 mg once daily for 5 days", 5, False),
            ("Doxycycline 100 mg", "100 mg daily 7 day course", 9, True),
            ("Prednisolone 30 mg", "30 mg for 5 days then 20 mg", 9, False),
            ("Enoxaparin 40 mg", "40 mg once daily for 5 days", 9, False),
        ],
    )
    def test_over_and_still_given(self, text: str, words: str, days: int, is_asked: bool) -> None:
        ordered = worded(text, words, authoredOn=earlier(f"{days} d"))
        found = missing("a dose after the course that its order writes", ordered, given(text, earlier("2 h")))
        assert [each.urgency for each in found] == ([R] if is_asked else [])

    def test_not_without_a_dose(self) -> None:
        ordered = worded("Prednisolone 30 mg", "30 mg once daily for 5 days", authoredOn=earlier("9 d"))
        assert not missing("a dose after the course that its order writes", ordered)

    def test_words(self) -> None:
        assert [course_of(each) for each in ("für 5 Tage", "for 7/7", "for at least 5 days")] == [5, 7, None]


@pytest.mark.parametrize(
    ("one", "other", "key"),
    [
        ("Ibrutinib 420 mg", "Apixaban 5 mg", "bruton-inhibitor-with-anticoagulant"),
        ("Venetoclax 400 mg", "Clarithromycin 500 mg", "blood-cancer-with-inhibitor"),
        ("Enzalutamide 160 mg", "Apixaban 5 mg", "doac-with-inducer"),
    ],
)
def test_cancer_medicines_in_pairs(one: str, other: str, key: str) -> None:
    chart = [{**order(text), "id": f"o{at}"} for at, text in enumerate((one, other))]
    assert key in interactions(reviewed(result("Na", "140"), *chart))


def test_a_level_after_what_was_meant_once_waits_for_no_dose() -> None:
    """Ours: nobody is about to give it again: the level is for the team of the day, and not asked for."""
    level = observation("l", "35668-3", at=earlier("2 h"), valueQuantity=quantity("1.8", "mg/L"))
    text, dose = "Gentamicin 320 mg intravenous", given("Gentamicin 320 mg", earlier("20 h"))
    beside = (result("Na", "140"), level, dose)
    once = {**worded(text, "320 mg IV stat"), "authoredOn": earlier("20 h")}
    daily = {**worded(text, "320 mg once daily"), "authoredOn": earlier("20 h")}
    found = [suggestions(reviewed(*beside, each))["o"] for each in (once, daily)]
    assert [(each.action, each.urgency) for each in found] == [("avoid", P), ("hold", U)]
    assert ["check the level" in each.sentence for each in found] == [False, True]
