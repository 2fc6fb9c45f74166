"""What the chart needs before a hip is mended: Papachristos 2020, abstract; else as each test says."""

from datetime import timedelta

import pytest

from tests.medicines.rounds import NOW, P, U, broken_hip, said_of
from tests.medicines.wards import operated, operation_asked_for, problem, stay_for
from tests.records import Json, earlier, stay
from weatherglass.model.findings import Urgency


class TestBeforeAnOperation:
    @pytest.mark.parametrize(
        ("text", "dose", "action"),
        [
            ("Apixaban", "5 mg twice daily", "hold"),
            ("Warfarin", "3 mg once daily", "hold"),
            ("Enoxaparin", "80 mg twice daily", "hold"),
            ("Enoxaparin", "40 mg once daily", None),
            ("Clopidogrel", "75 mg once daily", "review"),
            ("Empagliflozin", "10 mg once daily", "hold"),
            ("Amlodipine", "5 mg once daily", None),
        ],
    )
    def test_a_hip_that_will_be_mended(self, text: str, dose: str, action: str | None) -> None:
        found = said_of(broken_hip(), text=text, dose=dose)
        assert (found.action if found is not None else None) == action
        if found is not None:
            assert found.urgency is P
            assert "an operation is likely: fractured neck of femur" in found.sentence

    @pytest.mark.parametrize(
        ("since", "is_held"), [(earlier("3 d"), True), (earlier("4321 min"), False), (None, False)]
    )
    def test_for_three_days_from_its_date(self, since: str | None, is_held: bool) -> None:
        """An undated fracture may have been mended years ago."""
        hip = problem("Fractured neck of femur", since=since)
        assert (said_of(hip, text="Apixaban 5 mg") is not None) is is_held

    def test_it_is_over_once_it_was_done(self) -> None:
        assert (
            said_of(broken_hip(), operated("Hemiarthroplasty of hip", earlier("2 h")), text="Apixaban 5 mg")
            is None
        )
        before = operated("Hemiarthroplasty of hip", earlier("9 d"))
        assert said_of(broken_hip(), before, text="Apixaban 5 mg") is not None

    def test_as_the_reason_of_the_stay_or_a_code(self) -> None:
        assert said_of(stay_for("Fractured neck of femur", earlier("5 h")), text="Apixaban 5 mg") is not None
        coded = {
            **broken_hip(),
            "code": {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "S72.0"}]},
        }
        assert said_of(coded, text="Apixaban 5 mg") is not None

    @pytest.mark.parametrize(
        ("words", "is_one"),
        [
            ("Left hip fracture", True),
            ("#NOF", True),
            ("Intertrochanteric fracture", True),
            ("Broken hip", True),
            ("Open fracture of tibia", True),
            ("Fracture of wrist", False),
            ("Hip pain", False),
            ("Previous hip fracture", False),
        ],
    )
    def test_words(self, words: str, is_one: bool) -> None:
        assert (said_of(broken_hip(text=words), text="Apixaban 5 mg") is not None) is is_one

    @pytest.mark.parametrize(
        ("hours", "action", "urgency"),
        [(24.1, "review", P), (24, "hold", P), (4.1, "hold", P), (4, "hold", U), (-1, "hold", U)],
    )
    def test_the_nearer_the_sooner(self, hours: float, action: str, urgency: Urgency) -> None:
        due = (NOW + timedelta(hours=hours)).isoformat()
        found = said_of(operation_asked_for("Laparotomy", due, at=earlier("2 d")), text="Apixaban 5 mg")
        assert found is not None
        assert (found.action, found.urgency) == (action, urgency)

    @pytest.mark.parametrize(
        ("text", "beside", "action"),
        [
            ("Cataract surgery", "Apixaban 5 mg", None),
            ("Dental extraction under local", "Apixaban 5 mg", None),
            ("Lumbar puncture", "Apixaban 5 mg", "hold"),
            ("Lumbar puncture", "Dapagliflozin 10 mg", None),
            ("Laparotomy", "Dapagliflozin 10 mg", "hold"),
        ],
    )
    def test_what_pauses_an_anticoagulant(self, text: str, beside: str, action: str | None) -> None:
        due = (NOW + timedelta(hours=10)).isoformat()
        found = said_of(operation_asked_for(text, due, at=earlier("2 h")), text=beside)
        assert (found.action if found is not None else None) == action

    def test_at_the_end_of_life_no_operation_is_likely(self) -> None:
        found = said_of(broken_hip(), problem("End of life care", since=earlier("8 h")), text="Apixaban 5 mg")
        assert found is not None
        assert [one.rule for one in found.reasons] == ["last-days-without-comfort"]

    @pytest.mark.parametrize(("since", "urgency"), [("28 d", P), ("27 d", None)])
    def test_a_long_steroid(self, since: str, urgency: Urgency | None) -> None:
        found = said_of(broken_hip(), text="Prednisolone 10 mg", authoredOn=earlier(since))
        assert (found.urgency if found is not None else None) == urgency

    @pytest.mark.parametrize(
        ("known", "written", "urgency"),
        [
            (problem("Polymyalgia rheumatica", since=earlier("60 d")), "29 h", P),
            (problem("Polymyalgia rheumatica", since=earlier("60 d")), "70 h", P),
            (problem("Polymyalgia rheumatica", since=earlier("60 d")), "20 h", None),
            (problem("Polymyalgia rheumatica", since=earlier("20 d")), "29 h", None),
            (problem("Asthma", since=earlier("60 d")), "29 h", None),
        ],
    )
    def test_a_long_steroid_that_was_written_anew(
        self, known: Json, written: str, urgency: Urgency | None
    ) -> None:
        """Ours: an order of the first day beside a disease of 28 days that steroids treat is no new dose."""
        beside = (broken_hip(), stay(period={"start": earlier("50 h")}), known)
        found = said_of(*beside, text="Prednisolone 10 mg", authoredOn=earlier(written))
        assert (found.urgency if found is not None else None) == urgency

    def test_its_deadline_counts_from_when_it_was_asked_for(self) -> None:
        """Law 3: every look an hour later gave an hour more."""
        due = (NOW + timedelta(hours=40)).isoformat()
        found = said_of(operation_asked_for("Laparotomy", due, at=earlier("2 h")), text="Apixaban 5 mg")
        assert found is not None
        assert found.since == NOW - timedelta(hours=2)
