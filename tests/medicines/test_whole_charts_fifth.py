"""What the fifth reading of whole charts mended: depots, what acts on, heart block, deep punctures, doses.

The labels (secondary): apixaban, dabigatran and rivaroxaban 4.2 (the next anticoagulant begins when the next
dose would have been due), beta-blockers 4.3 (heart block), valganciclovir 4.2. The rest is ours
or common practice.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.medicines.wards import (
    dosed,
    injury,
    interactions,
    operated,
    operation_asked_for,
    order,
    problem,
    result,
    reviewed,
    suggestions,
)
from tests.records import Json, answer_of, earlier, full_set, given, patient
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.terminology.doses.worded_interval import days_between

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


def said(*resources: Json) -> MedicineFinding | None:
    """Return what is suggested of the order "o"."""
    return suggestions(reviewed(*resources)).get("o")


def worded(text: str, words: str, **rest: Any) -> Json:
    """Return an order with a dosage in words."""
    return {**order(text), "id": "o", "dosageInstruction": [{"text": words}], **rest}


class TestDepots:
    """A quarter of the interval after its day, and three days at least: our choice."""

    @staticmethod
    def found(ordered: Json, *doses: Json) -> list[Finding]:
        (review,) = reviewed(result("Na", "140"), ordered, *doses).reviews
        return [
            f for f in review.findings if f.decided_by == "an injection that acts for weeks and is overdue"
        ]

    @pytest.mark.parametrize(
        ("text", "words", "days", "is_asked"),
        [
            ("Xeplion 100 mg injection", "100 mg IM monthly", 38, False),
            ("Xeplion 100 mg injection", "100 mg IM monthly", 39, True),
            ("Haloperidol decanoate 100 mg/mL", "100 mg IM every two weeks", 17, False),
            ("Haloperidol decanoate 100 mg/mL", "100 mg IM every two weeks", 18, True),
            ("Buvidal 24 mg", "24 mg SC weekly", 10, False),
            ("Buvidal 24 mg", "24 mg SC weekly", 11, True),
            ("Prolia 60 mg", "60 mg SC every six months", 245, True),
            ("Olanzapine 10 mg tablets", "10 mg at night", 20, False),
        ],
    )
    def test_overdue(self, text: str, words: str, days: int, is_asked: bool) -> None:
        found = self.found(worded(text, words), given(text, earlier(f"{days} d")))
        assert bool(found) is is_asked
        assert all(each.urgency is R for each in found)

    def test_by_its_timing(self) -> None:
        repeat = {"frequency": 1, "period": 2, "periodUnit": "wk"}
        ordered = {
            **order("Depixol 20 mg/mL"),
            "id": "o",
            "dosageInstruction": [{"timing": {"repeat": repeat}}],
        }
        assert self.found(ordered, given("Depixol 20 mg/mL", earlier("35 d")))

    def test_without_a_dose_on_record_nobody_knows(self) -> None:
        assert not self.found(worded("Xeplion 100 mg injection", "100 mg IM monthly"))

    @pytest.mark.parametrize(
        ("words", "days"),
        [
            ("3-monthly", 93),
            ("every other week", 14),
            ("q4w", 28),
            ("alle 4 Wochen", 28),
            ("once a year", 366),
            ("twice a week", None),
            ("loading dose then monthly", None),
            ("daily", None),
        ],
    )
    def test_words(self, words: str, days: int | None) -> None:
        assert days_between(words) == days


class TestAfterADirectAnticoagulant:
    """From the last dose, else from its end; 12 or 24 hours, as often as it is taken."""

    @staticmethod
    def found(name: str, other: str, words: str, hours: int, *, is_given: bool = True) -> Urgency | None:
        end = {"validityPeriod": {"start": earlier("40 d"), "end": earlier("1 h")}}
        ended = {**order(name, status="stopped", dispenseRequest=end), "id": "e"}
        doses = [given(name, earlier(f"{hours} h"))] if is_given else []
        pairs = interactions(reviewed(result("Na", "140"), ended, worded(other, words), *doses))
        return (
            pairs["after-a-direct-anticoagulant"].urgency if "after-a-direct-anticoagulant" in pairs else None
        )

    @pytest.mark.parametrize(
        ("name", "other", "words", "hours", "urgency"),
        [
            ("Apixaban 5 mg", "Enoxaparin 80 mg", "80 mg twice daily", 12, P),
            ("Apixaban 5 mg", "Enoxaparin 80 mg", "80 mg twice daily", 13, None),
            ("Rivaroxaban 20 mg", "Enoxaparin 80 mg", "80 mg twice daily", 24, P),
            ("Rivaroxaban 20 mg", "Enoxaparin 80 mg", "80 mg twice daily", 25, None),
            ("Apixaban 5 mg", "Enoxaparin 40 mg", "40 mg once daily", 3, None),
            ("Apixaban 5 mg", "Rivaroxaban 20 mg", "20 mg once daily", 3, P),
            ("Apixaban 5 mg", "Apixaban 2.5 mg", "2.5 mg twice daily", 3, None),
        ],
    )
    def test_by_the_last_dose(
        self, name: str, other: str, words: str, hours: int, urgency: Urgency | None
    ) -> None:
        assert self.found(name, other, words, hours) is urgency

    def test_without_a_dose_from_its_end(self) -> None:
        assert (
            self.found("Dabigatran 150 mg", "Tinzaparin 14000 units", "14000 units daily", 0, is_given=False)
            is P
        )


class TestHeartBlock:
    @pytest.mark.parametrize(
        "text", ["Bisoprolol 5 mg", "Diltiazem 60 mg", "Digoxin 125 micrograms", "Donepezil 10 mg"]
    )
    def test_what_slows_is_held(self, text: str) -> None:
        block = problem("Complete heart block", since=earlier("38 h"))
        finding = said(result("Na", "140"), block, {**order(text), "id": "o"})
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", U)

    def test_not_once_one_was_put_in(self) -> None:
        block, put_in = (
            problem("Complete heart block"),
            operated("Permanent pacemaker insertion", earlier("20 h")),
        )
        assert said(result("Na", "140"), block, put_in, {**order("Bisoprolol 5 mg"), "id": "o"}) is None

    def test_not_with_a_pacemaker(self) -> None:
        paced = problem("Pacemaker in situ")
        assert (
            said(
                result("Na", "140"),
                problem("Complete heart block"),
                paced,
                {**order("Bisoprolol 5 mg"), "id": "o"},
            )
            is None
        )


@pytest.mark.parametrize(
    ("asked", "action"),
    [
        ("Chest drain insertion", "hold"),
        ("US guided liver biopsy", "hold"),
        ("Removal of chest drain", None),
        ("Skin biopsy", None),
    ],
)
def test_a_deep_puncture_pauses_an_anticoagulant(asked: str, action: str | None) -> None:
    """Common practice: a bleed that cannot be pressed on."""
    ahead = operation_asked_for(asked, "2026-03-01T12:00:00+04:00")
    chart = {**order("Rivaroxaban 20 mg"), "id": "o"}
    found = suggestions(answer_of(patient("1960-06-01"), chart, *full_set(), ahead)).get("o")
    assert (found.action if found is not None else None) == action


@pytest.mark.parametrize(
    ("amount", "often", "is_asked"),
    [("200", 2, False), ("400", 2, False), ("400", 3, True), ("800", 5, True)],
)
def test_aciclovir_that_prevents_is_no_question_of_the_kidneys(
    amount: str, often: int, is_asked: bool
) -> None:
    """Common practice: 200 to 400 mg twice a day."""
    finding = said(*injury(2), dosed("Aciclovir 200 mg", amount, "mg", (often, 1, "d")))
    assert (finding is not None) is is_asked


@pytest.mark.parametrize(
    ("born", "amount", "hours", "urgency"),
    [
        ("1950-06-01", "0.25", 49, P),
        ("1950-06-01", "0.25", 47, None),
        ("1960-06-01", "0.25", 49, None),
        ("1950-06-01", "0.125", 49, None),
    ],
)
def test_digoxin_that_goes_on_being_loaded(
    born: str, amount: str, hours: int, urgency: Urgency | None
) -> None:
    """From 70 years and the third day on; the deadline counts from then."""
    loaded = dosed("Digoxin", amount, "mg", (2, 1, "d"), authoredOn=earlier(f"{hours} h"))
    finding = suggestions(answer_of(patient(born), result("Na", "140"), loaded)).get("o")
    assert (finding.urgency if finding is not None else None) == urgency
    if finding is not None:
        assert finding.since is not None
        assert finding.since == datetime.fromisoformat(earlier("1 h"))


def test_ganciclovir_by_the_kidneys() -> None:
    for rate, is_asked in (("59", True), ("60", False)):
        finding = said(result("eGFR", rate), {**order("Valganciclovir 450 mg"), "id": "o"})
        assert (finding is not None) is is_asked


def test_cefazolin_stands_alone() -> None:
    """Chaudhry 2019: its side chain is its own; an allergy to it asks, and holds nothing else."""
    allergy = {
        "resourceType": "AllergyIntolerance",
        "id": "a",
        "patient": {"reference": "Patient/p"},
        "code": {"text": "Cefazolin"},
        "criticality": "high",
        "reaction": [{"manifestation": [{"text": "Anaphylaxis"}]}],
    }
    for text, action in (
        ("Ceftriaxone 2 g", "review"),
        ("Cefazolin 2 g", "hold"),
        ("Amoxicillin 1 g", "review"),
    ):
        (review,) = reviewed(result("Na", "140"), allergy, {**order(text), "id": "o"}).reviews
        (found,) = [f for f in review.findings if f.kind is Kind.ALLERGY]
        assert getattr(found, "action", None) == action


def test_a_caution_is_said_of_its_own_medicine() -> None:
    """An ectopic pregnancy is treated with methotrexate, and not with isotretinoin."""
    mother = {**patient("1994-05-01"), "gender": "female"}
    for text, is_said in (("Methotrexate 10 mg", True), ("Isotretinoin 20 mg", False)):
        chart = {**order(text), "id": "o"}
        found = suggestions(answer_of(mother, result("Na", "140"), problem("Pregnancy, 22 weeks"), chart))[
            "o"
        ]
        assert ("ectopic" in str(found)) is is_said


def test_before_contrast() -> None:
    """What a scan asks of the chart is looked at before it."""
    scan = operation_asked_for("CT abdomen with contrast", "2026-03-01T12:00:00+04:00")
    chart = {**order("Diclofenac 50 mg"), "id": "o"}
    found = suggestions(answer_of(patient("1960-06-01"), chart, *full_set(), scan))["o"]
    assert found.review_by is not None
    assert found.review_by <= datetime.fromisoformat("2026-03-01T12:00:00+04:00")
