"""What the sixth reading of whole charts mended of what is given, left out, answered or refused.

AAGBI 2013, table 1, and NHS Lothian (hours before a needle beside the cord, secondary); the labels
(secondary) of dabigatran and valganciclovir; the rest is ours or common practice.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.medicines.rounds import NOW, P, R, U, ended_order, findings_of
from tests.medicines.wards import interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, answer_of, asked_for, earlier, full_set, given, patient, procedure, stay
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding


def said(*resources: Json) -> MedicineFinding | None:
    """Return what is suggested of the order "o"."""
    return suggestions(reviewed(*full_set(), *resources)).get("o")


def line(text: str, dose: str = "", **rest: Any) -> Json:
    """Return the order that is asked about."""
    dosage = {"dosageInstruction": [{"text": dose}]} if dose else {}
    return {**order(text), "id": "o", **dosage, **rest}


def home(text: str) -> Json:
    """Return a statement that somebody takes a medicine at home."""
    return {
        "resourceType": "MedicationStatement",
        "id": "home",
        "status": "active",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
    }


def in_hospital(hours: float) -> Json:
    """Return a stay that began some hours ago."""
    return stay(period={"start": earlier(f"{hours} h")})


class TestNeedle:
    @pytest.mark.parametrize(
        ("text", "dose", "hours", "urgency"),
        [
            ("Enoxaparin 40 mg injection", "40 mg SC once daily", 9.9, U),
            ("Enoxaparin 40 mg injection", "40 mg SC once daily", 10, None),
            ("Enoxaparin 80 mg injection", "80 mg SC twice daily", 21.9, U),
            ("Enoxaparin 80 mg injection", "80 mg SC twice daily", 22, None),
            ("Heparin 5000 units injection", "5000 units SC twice daily", 1.9, U),
            ("Heparin 5000 units injection", "5000 units SC twice daily", 2, None),
            ("Fondaparinux 2.5 mg injection", "2.5 mg SC once daily", 33.9, U),
            ("Fondaparinux 2.5 mg injection", "2.5 mg SC once daily", 34, None),
        ],
    )
    def test_a_catheter_that_comes_out_in_two_hours(
        self, text: str, dose: str, hours: float, urgency: Urgency | None
    ) -> None:
        removal = asked_for(
            "Removal of epidural catheter", occurrenceDateTime=(NOW + timedelta(hours=2)).isoformat()
        )
        found = said(removal, line(text, dose), given(text, earlier(f"{hours} h")))
        spoken = found is not None and any(each.rule == "needle-after-dose" for each in found.reasons)
        assert spoken is (urgency is not None)
        if found is not None and urgency is not None:
            assert found.urgency is urgency
            assert "before removal of epidural catheter" in found.sentence

    @pytest.mark.parametrize(("ahead", "is_asked"), [(5, True), (None, False), (60, False)])
    def test_only_of_a_time_that_is_known_and_near(self, ahead: float | None, *, is_asked: bool) -> None:
        due = {"occurrenceDateTime": (NOW + timedelta(hours=ahead)).isoformat()} if ahead else {}
        text = "Enoxaparin 40 mg injection"
        needle = asked_for("Lumbar puncture", **due)
        found = said(needle, line(text, "40 mg SC once daily"), given(text, earlier("3 h")))
        spoken = found is not None and any(each.rule == "needle-after-dose" for each in found.reasons)
        assert spoken is is_asked


class TestReversed:
    @pytest.mark.parametrize(
        ("hours", "key"), [(24, "critical-bleeding-reversed"), (24.1, "critical-bleeding-anticoagulant")]
    )
    def test_what_was_given_is_not_asked_for(self, hours: float, key: str) -> None:
        bleed = problem("Acute subdural haematoma", since=earlier("30 h"))
        dose = given("Octaplex 2500 units", earlier(f"{hours} h"))
        found = said(bleed, line("Warfarin 3 mg"), dose)
        assert found is not None
        assert key in {each.rule for each in found.reasons}
        assert ("reversal now" in found.sentence) is (key == "critical-bleeding-anticoagulant")

    @pytest.mark.parametrize(
        ("inr", "hours", "urgency"), [("5.1", 2, R), ("8.1", 2, P), ("5.1", 5.1, P), ("8.1", 5.1, U)]
    )
    def test_vitamin_k_answers_an_inr_taken_before_it(self, inr: str, hours: float, urgency: Urgency) -> None:
        taken = result("INR", inr, earlier("5 h"))
        (found,) = findings_of(taken, given("Phytomenadione 2 mg", earlier(f"{hours} h")), key="inr-high")
        assert found.urgency is urgency
        assert ("measure it again" in found.sentence) is (hours < 5)


@pytest.mark.parametrize(
    ("words", "text", "is_held"),
    [
        ("Refuses blood products", "Red cells 2 units", True),
        ("Refuses blood tests", "Red cells 2 units", False),
        ("Refuses blood products", "Ferric carboxymaltose 1 g", False),
    ],
)
def test_blood_that_is_refused(words: str, text: str, *, is_held: bool) -> None:
    found = said(problem(words), line(text))
    keys = {each.rule for each in found.reasons} if found is not None else set()
    assert ("refused-blood" in keys) is is_held
    if found is not None and is_held:
        assert (found.action, found.urgency) == ("hold", U)


class TestLeftAtHome:
    """Ours: what is taken at home and was not ordered within a day makes no pair here."""

    @pytest.mark.parametrize(("hours", "is_paired"), [(23.9, True), (24, False)])
    def test_it_makes_no_pair(self, hours: float, *, is_paired: bool) -> None:
        chart = (in_hospital(hours), order("Morphine 10 mg"), home("Diazepam 5 mg"))
        assert bool(interactions(reviewed(*full_set(), *chart))) is is_paired

    def test_without_orders_a_statement_is_all_that_is_known(self) -> None:
        chart = (in_hospital(48), home("Warfarin 3 mg"), {**home("Naproxen 500 mg"), "id": "other"})
        assert interactions(reviewed(*full_set(), *chart))

    @pytest.mark.parametrize(
        ("dose", "urgency"), [("40 mg SC once daily", P), ("80 mg SC twice daily", None)]
    )
    def test_prevention_takes_the_place_of_no_treatment(self, dose: str, urgency: Urgency | None) -> None:
        chart = (in_hospital(48), line("Enoxaparin injection", dose), home("Apixaban 5 mg"))
        found = findings_of(*chart, key="home-medicines-not-ordered")
        assert [each.urgency for each in found] == ([urgency] if urgency is not None else [])
        assert not interactions(reviewed(*full_set(), *chart))

    def test_its_route_is_asked_of_what_is_given(self) -> None:
        fasting = problem("Nil by mouth", since=earlier("5 h"))
        chart = (in_hospital(48), order("Paracetamol 1 g"), home("Apixaban 5 mg"), fasting)
        assert "home" not in suggestions(reviewed(*full_set(), *chart))


@pytest.mark.parametrize(
    ("text", "hours", "is_asked"),
    [
        ("Clonidine 75 micrograms", 12, True),
        ("Clonidine 75 micrograms", 11.9, False),
        ("Bisoprolol 5 mg", 36, True),
        ("Bisoprolol 5 mg", 35.9, False),
        ("Baclofen 20 mg", 24, True),
        ("Baclofen 20 mg", 23.9, False),
        ("Amlodipine 5 mg", 60, False),
    ],
)
def test_doses_not_given_that_rebound(text: str, hours: float, *, is_asked: bool) -> None:
    """Ours: by the class, so long after the first that was recorded as not given."""
    doses = [
        given(text, earlier(f"{at} h"), id=f"not-{at}", status="not-done") for at in (hours, hours / 2, 1)
    ]
    found = findings_of(line(text, authoredOn=earlier("90 h")), *doses, key="doses-not-given")
    assert [each.urgency for each in found] == ([P] if is_asked else [])


@pytest.mark.parametrize(
    ("daily", "is_asked"), [("110 mg twice daily", False), ("150 mg twice daily", True), ("", True)]
)
def test_dabigatran_beside_verapamil(daily: str, *, is_asked: bool) -> None:
    chart = (line("Dabigatran", daily), order("Verapamil 80 mg"))
    assert ("dabigatran-with-verapamil" in interactions(reviewed(*full_set(), *chart))) is is_asked


@pytest.mark.parametrize(
    ("rate", "dose", "is_asked"),
    [
        ("59", "450 mg twice daily", False),
        ("59", "900 mg twice daily", True),
        ("39", "450 mg once daily", False),
        ("39", "450 mg twice daily", True),
        ("24", "450 mg once daily", True),
        ("60", "900 mg twice daily", False),
    ],
)
def test_valganciclovir_in_a_dose_that_suits_the_kidneys(rate: str, dose: str, *, is_asked: bool) -> None:
    assert (said(result("eGFR", rate), line("Valganciclovir 450 mg", dose)) is not None) is is_asked


@pytest.mark.parametrize(
    ("beside", "words"),
    [("Omeprazole 20 mg", ""), ("Senna 7.5 mg", "nothing on the chart protects the stomach")],
)
def test_the_stomach_is_named_where_nothing_protects_it(beside: str, words: str) -> None:
    chart = (order("Aspirin 75 mg"), order("Apixaban 5 mg"), order(beside))
    (found,) = interactions(reviewed(*full_set(), *chart)).values()
    assert words in found.sentence
    assert ("stomach" in found.sentence) is bool(words)


class TestDispensed:
    """Ours: what was handed over is named and not read as taken, for as long as it lasts."""

    @staticmethod
    def dispensed(days: float, **rest: Any) -> Json:
        return {
            "resourceType": "MedicationDispense",
            "id": "handed",
            "status": "completed",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": "Warfarin 3 mg tablets"},
            "whenHandedOver": earlier(f"{days} d"),
            **rest,
        }

    @pytest.mark.parametrize(
        ("days", "rest", "is_named"),
        [
            (28, {}, True),
            (28.1, {}, False),
            (55, {"daysSupply": {"value": 56}}, True),
            (57, {"daysSupply": {"value": 56}}, False),
            (3, {"daysSupply": {"value": 0}}, True),
            (3, {"status": "cancelled"}, False),
            (3, {"category": {"coding": [{"code": "inpatient"}]}}, False),
            (3, {"category": {"coding": [{"code": "community"}]}}, True),
            (3, {"whenHandedOver": None}, False),
        ],
    )
    def test_for_as_long_as_it_lasts(self, days: float, rest: Json, *, is_named: bool) -> None:
        (review,) = reviewed(*full_set(), self.dispensed(days, **rest)).reviews
        assert ("Dispensed, not read as taken: Warfarin 3 mg tablets" in review.headline) is is_named
        assert not review.medicines_reviewed

    def test_not_where_the_chart_has_it(self) -> None:
        (review,) = reviewed(*full_set(), self.dispensed(3), order("Warfarin 1 mg")).reviews
        assert "Dispensed" not in review.headline


@pytest.mark.parametrize(("prn", "is_asked"), [(True, True), (False, False)])
def test_what_is_given_when_needed_replaces_nothing_regular(prn: bool, *, is_asked: bool) -> None:
    """Ours: a fentanyl patch that ended, and morphine when needed."""
    morphine = {**order("Morphine 5 mg"), "dosageInstruction": [{"text": "5 mg", "asNeededBoolean": prn}]}
    ended = ended_order("Fentanyl 50 micrograms/hour patch", 2)
    assert bool(findings_of(ended, morphine, key="long-treatment-ended")) is is_asked


def test_a_needle_is_late_from_when_it_was_asked_for() -> None:
    """Ours: a dose of before it was no fault then."""
    due = (NOW + timedelta(hours=2)).isoformat()
    needle = asked_for("Lumbar puncture", occurrenceDateTime=due, authoredOn=earlier("1 h"))
    text = "Enoxaparin 40 mg injection"
    found = said(needle, line(text, "40 mg SC once daily"), given(text, earlier("9 h")))
    assert found is not None
    assert found.since == NOW - timedelta(hours=1)


def test_two_that_lengthen_qt_are_no_question_which_is_meant() -> None:
    """Ours: one of them from home, and not ordered here, is asked about as left out."""
    chart = (in_hospital(48), order("Ondansetron 4 mg"), home("Escitalopram 20 mg"))
    assert not interactions(reviewed(*full_set(), *chart))
    assert findings_of(*chart, key="home-medicines-not-ordered")


class TestSteadyInHeartFailure:
    """Ours: treated heart failure at 91 to 99, no more than 20 below any reading of three days."""

    @pytest.mark.parametrize(
        ("known", "now", "before", "is_asked"),
        [
            ("Heart failure", "99", "119", False),
            ("Heart failure", "99", "120", True),
            ("Heart failure", "91", "100", False),
            ("Heart failure", "90", "100", True),
            ("Hypertension", "99", "119", True),
        ],
    )
    def test_a_pressure_that_its_medicines_make(
        self, known: str, now: str, before: str, *, is_asked: bool
    ) -> None:
        earlier_one = result("SBP", before, earlier("20 h"))
        answer = reviewed(problem(known), earlier_one, result("SBP", now), line("Ramipril 5 mg"))
        assert ("o" in suggestions(answer)) is is_asked

    def test_one_reading_alone_is_not_known_to_be_steady(self) -> None:
        answer = reviewed(problem("Heart failure"), result("SBP", "96"), line("Ramipril 5 mg"))
        assert "o" in suggestions(answer)

    @pytest.mark.parametrize(
        ("beside", "is_asked"),
        [
            ((), False),
            ((problem("Sepsis"),), True),
            ((problem("Pneumonia", recordedDate=earlier("20 h")),), True),
            ((problem("Pneumonia", recordedDate=earlier("60 h")),), False),
            ((result("lactate", "2.0", earlier("3 h")),), False),
            ((result("lactate", "2.1", earlier("3 h")),), True),
        ],
    )
    def test_an_illness_beside_it_counts(self, beside: tuple[Json, ...], *, is_asked: bool) -> None:
        """One fact with the findings: no infection of two days, no lactate that is raised."""
        values = (result("SBP", "99", earlier("20 h")), result("SBP", "96"))
        answer = reviewed(problem("Heart failure"), *beside, *values, line("Ramipril 5 mg"))
        assert ("o" in suggestions(answer)) is is_asked


@pytest.mark.parametrize(
    ("born", "beside", "is_told"),
    [
        ("1961-02-28", "Senna 7.5 mg", True),
        ("1961-03-02", "Senna 7.5 mg", False),
        ("1940-01-01", "Omeprazole 20 mg", False),
        ("1940-01-01", "Senna 7.5 mg", True),
    ],
)
def test_an_nsaid_of_days_beside_prevention(born: str, beside: str, *, is_told: bool) -> None:
    """Ours: common after operations, from 65 on a question where nothing protects the stomach."""
    chart = (
        order("Ibuprofen 400 mg"),
        line("Enoxaparin 40 mg injection", "40 mg SC once daily"),
        order(beside),
    )
    answer = answer_of(patient(born), result("Na", "140"), *chart)
    assert ("nsaid-with-anticoagulant" in interactions(answer)) is is_told


@pytest.mark.parametrize("text", ["Apixaban 5 mg", "Warfarin 3 mg"])
@pytest.mark.parametrize(
    ("platelets", "expected"),
    [("24", ("hold", U)), ("25", ("review", P)), ("49", ("review", P)), ("50", None)],
)
def test_few_platelets_and_an_anticoagulant_by_mouth(
    text: str, platelets: str, expected: tuple[str, Urgency] | None
) -> None:
    """ISTH 2018 (secondary) by mouth as by injection; it was routine."""
    found = said(result("platelets", platelets), line(text))
    assert ((found.action, found.urgency) if found is not None else None) == expected


def test_a_needle_that_went_in_is_no_longer_ahead() -> None:
    text, due = "Enoxaparin 40 mg injection", (NOW + timedelta(minutes=10)).isoformat()
    needle = asked_for("Lumbar puncture", occurrenceDateTime=due, authoredOn=earlier("2 h"))
    done = procedure("Lumbar puncture", performedDateTime=earlier("1 h"))
    found = said(needle, done, line(text, "40 mg SC once daily"), given(text, earlier("9 h")))
    assert found is None


def test_before_a_needle_a_treating_dose_has_the_rules_of_an_operation() -> None:
    text, due = "Enoxaparin 80 mg injection", (NOW + timedelta(hours=2)).isoformat()
    needle = asked_for("Lumbar puncture", occurrenceDateTime=due)
    found = said(needle, line(text, "80 mg SC twice daily"), given(text, earlier("9 h")))
    assert found is not None
    assert [each.rule for each in found.reasons] == ["operation-near-anticoagulant"]


@pytest.mark.parametrize(
    ("reasons", "is_asked"),
    [(("pulse 46", "HR 48"), False), (("pulse 46", "nil by mouth"), True), (("", ""), True)],
)
def test_a_dose_withheld_for_a_slow_pulse(reasons: tuple[str, ...], *, is_asked: bool) -> None:
    """Ours: somebody has thought of it."""
    doses = [
        given(
            "Bisoprolol 5 mg", earlier(f"{hours} h"), id=f"not-{hours}", status="not-done",
            statusReason=[{"text": why}] if why else [],
        )
        for hours, why in zip((40, 16), reasons, strict=True)
    ]  # fmt: skip
    chart = (line("Bisoprolol 5 mg", authoredOn=earlier("90 h")), *doses)
    assert bool(findings_of(*chart, key="doses-not-given")) is is_asked


def test_what_its_team_is_asked_about_is_not_asked_for_as_forgotten() -> None:
    """Ours: apixaban from home in the first days of a stroke had two sentences."""
    stroke = problem("Ischaemic stroke", since=earlier("40 h"))
    chart = (in_hospital(40), order("Aspirin 300 mg"), home("Apixaban 5 mg"), stroke)
    assert not findings_of(*chart, key="home-medicines-not-ordered")
    assert "home" in suggestions(reviewed(*full_set(), *chart))
