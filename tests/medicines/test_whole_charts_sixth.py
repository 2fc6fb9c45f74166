"""What the sixth reading of whole charts mended: ulcers, the end of one of two, smoke, what stands alone.

STOPP 2 H1 and C2 (ulcers); MHRA, August 2020 (clozapine and smoke); the labels (secondary) of abiraterone,
topiramate and methoxyflurane. How long each counts is our choice; the rest is common practice.
"""

from typing import Any

import pytest

from tests.medicines.rounds import P, R, U, ended_order
from tests.medicines.wards import interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, earlier, full_set, stay
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding


def said(*resources: Json) -> MedicineFinding | None:
    """Return what is suggested of the order "o"."""
    return suggestions(reviewed(*resources)).get("o")


def rules(found: MedicineFinding | None) -> set[str]:
    """Return the rules that speak of it."""
    return {each.rule for each in found.reasons} if found is not None else set()


def line(text: str, **rest: Any) -> Json:
    """Return the order that is asked about."""
    return {**order(text), "id": "o", **rest}


class TestUlcer:
    @pytest.mark.parametrize(("days", "action"), [(55.9, "hold"), (56.1, "review")])
    def test_one_that_is_not_healed(self, days: float, action: str) -> None:
        ulcer = problem("Gastric ulcer", since=earlier(f"{days} d"))
        found = said(result("Na", "140"), ulcer, line("Naproxen 500 mg"))
        assert found is not None
        assert (found.action, found.urgency) == (action, P)

    @pytest.mark.parametrize(
        ("text", "beside", "is_asked"),
        [
            ("Naproxen 500 mg", "Amlodipine 5 mg", True),
            ("Naproxen 500 mg", "Omeprazole 20 mg", False),
            ("Aspirin 75 mg", "Famotidine 20 mg", False),
            ("Aspirin 75 mg", "Amlodipine 5 mg", True),
        ],
    )
    def test_an_old_one_asks_for_an_acid_blocker(self, text: str, beside: str, *, is_asked: bool) -> None:
        found = said(problem("Peptic ulcer disease", status="inactive"), line(text), order(beside))
        assert (rules(found) == {"ulcer-unprotected"}) is is_asked


class TestNarrowAngle:
    @pytest.mark.parametrize(("days", "is_asked"), [(56, True), (56.1, False)])
    def test_topiramate_in_its_first_weeks(self, days: float, *, is_asked: bool) -> None:
        ordered = line("Topiramate 50 mg", authoredOn=earlier(f"{days} d"))
        found = said(result("Na", "140"), problem("Narrow angles"), ordered)
        assert ("narrow-angle-topiramate" in rules(found)) is is_asked


class TestStandsAlone:
    @pytest.mark.parametrize(
        ("beside", "urgency"),
        [("Amlodipine 5 mg", P), ("Prednisolone 5 mg", None), ("Hydrocortisone 1% cream", P)],
    )
    def test_abiraterone_without_a_steroid(self, beside: str, urgency: Urgency | None) -> None:
        found = said(result("Na", "140"), line("Abiraterone 1 g"), order(beside))
        assert (found.urgency if found is not None else None) == urgency
        if found is not None:
            assert rules(found) == {"abiraterone-without-steroid"}


class TestSmoke:
    @pytest.mark.parametrize(
        ("words", "days", "is_asked"),
        [
            ("Smoker", 14, True),
            ("Smoker", 14.1, False),
            ("Ex-smoker", 2, False),
            ("Non-smoker", 2, False),
            ("Never smoked", 2, False),
        ],
    )
    def test_in_hospital_a_smoker_has_no_smoke(self, words: str, days: float, *, is_asked: bool) -> None:
        here = stay(period={"start": earlier(f"{days} d")})
        found = said(result("Na", "140"), here, problem(words), line("Clozapine 100 mg"))
        assert ("smoke-stopped" in rules(found)) is is_asked
        if found is not None:
            assert (found.action, found.urgency) == ("measure level", R)

    @pytest.mark.parametrize(("days", "is_asked"), [(14, True), (14.1, False)])
    def test_who_gave_it_up(self, days: float, *, is_asked: bool) -> None:
        gave_up = problem("Stopped smoking", since=earlier(f"{days} d"))
        found = said(result("Na", "140"), gave_up, line("Theophylline 200 mg MR"))
        assert ("smoke-stopped" in rules(found)) is is_asked

    @pytest.mark.parametrize("instead", ["Nicotine 21 mg patch", "Varenicline 1 mg"])
    def test_what_stands_in_for_it(self, instead: str) -> None:
        assert rules(said(result("Na", "140"), line("Olanzapine 10 mg"), order(instead))) == {"smoke-stopped"}

    def test_a_smoker_at_home_smokes(self) -> None:
        assert said(result("Na", "140"), problem("Smoker"), line("Clozapine 100 mg")) is None


class TestTheEndOfOne:
    @pytest.mark.parametrize(
        ("text", "days", "beside", "key", "urgency"),
        [
            ("Rifampicin 600 mg", 21, "Warfarin 3 mg", "warfarin-after-inducer", R),
            ("Rifampicin 600 mg", 21.1, "Warfarin 3 mg", None, R),
            ("Carbamazepine 400 mg", 21, "Adoport 2 mg", "rejection-medicine-after-inducer", P),
            ("Carbamazepine 400 mg", 21.1, "Adoport 2 mg", None, P),
            ("Fluconazole 200 mg capsules", 7, "Adoport 2 mg", "rejection-medicine-after-inhibitor", P),
            ("Fluconazole 200 mg capsules", 7.1, "Adoport 2 mg", None, P),
            ("Phenytoin 300 mg", 10, "Methadone 1 mg/mL", "other-after-inducer", R),
            ("Epilim 500 mg", 14, "Lamotrigine 50 mg", "lamotrigine-after-valproate", P),
            ("Epilim 500 mg", 14.1, "Lamotrigine 50 mg", None, P),
            ("Epilim 500 mg", 14, "Phenytoin 300 mg", "phenytoin-after-valproate", R),
        ],
    )
    def test_what_was_held_by_the_other(
        self, text: str, days: float, beside: str, key: str | None, urgency: Urgency
    ) -> None:
        gone = ended_order(text, days, statusReason={"text": "changed by the team"})
        found = interactions(reviewed(*full_set(), gone, order(beside)))
        assert set(found) == ({key} if key is not None else set())
        for finding in found.values():
            assert finding.urgency is urgency
            assert "(ended " in finding.sentence
            assert "acts on" not in finding.sentence

    @pytest.mark.parametrize(
        ("text", "lasted", "beside", "is_asked"),
        [
            ("Phenytoin 300 mg", 5, "Warfarin 3 mg", True),
            ("Phenytoin 300 mg", 4.9, "Warfarin 3 mg", False),
            ("Dexamethasone 8 mg", 2, "Gliclazide 80 mg", True),
            ("Dexamethasone 8 mg", 1.9, "Gliclazide 80 mg", False),
        ],
    )
    def test_only_after_days_of_it(self, text: str, lasted: float, beside: str, *, is_asked: bool) -> None:
        """Ours: induction takes days, and a dose or two of a steroid is no treatment."""
        gone = ended_order(text, 2, lasted=lasted)
        found = interactions(reviewed(*full_set(), result("glucose", "5.2"), gone, order(beside)))
        assert bool(found) is is_asked

    def test_both_in_use_have_no_end(self) -> None:
        found = interactions(reviewed(*full_set(), order("Epilim 500 mg"), order("Phenytoin 300 mg")))
        assert not {key for key in found if "after" in key}

    @pytest.mark.parametrize(
        ("days", "glucose", "is_asked"),
        [(5, "5.9", True), (5.1, "5.9", False), (2, "6.0", False), (2, None, False), (2, "3.2", False)],
    )
    def test_glucose_falls_on_after_a_steroid(
        self, days: float, glucose: str | None, *, is_asked: bool
    ) -> None:
        """A low one has its own rule."""
        gone = ended_order("Prednisolone 30 mg", days, lasted=6)
        values = [result("glucose", glucose)] if glucose is not None else []
        found = interactions(reviewed(*full_set(), *values, gone, order("Gliclazide 80 mg")))
        assert ("glucose-after-steroid" in found) is is_asked
        assert all(each.urgency is P for each in found.values())

    @pytest.mark.parametrize(("now", "is_asked"), [("7.5 mg once daily", True), ("30 mg once daily", False)])
    def test_a_lower_dose_counts_as_an_end(self, now: str, *, is_asked: bool) -> None:
        gone = ended_order("Prednisolone", 2, lasted=6, dosageInstruction=[{"text": "30 mg once daily"}])
        goes_on = {**order("Prednisolone"), "dosageInstruction": [{"text": now}]}
        chart = (*full_set(), result("glucose", "5.2"), gone, goes_on, order("Gliclazide 80 mg"))
        found = interactions(reviewed(*chart))
        assert ("glucose-after-steroid" in found) is is_asked
        if is_asked:
            assert "(lowered " in found["glucose-after-steroid"].sentence


@pytest.mark.parametrize(("status", "urgency"), [("active", U), ("draft", P)])
def test_what_sets_off_malignant_hyperthermia(status: str, urgency: Urgency) -> None:
    found = said(problem("Susceptible to malignant hyperthermia"), line("Sevoflurane", status=status))
    assert found is not None
    assert found.urgency is urgency
