"""Late and omitted doses of time-critical medicines, and home medicines that were not ordered.

Expected: NICE QS164 statement 4 (levodopa within 30 minutes), NPSA/2010/RRR009 (insulin, antiepileptics,
anti-infectives, anticoagulants). From when other doses are late, and how soon that is asked, is our choice;
that home medicines are compared within 24 hours is common practice, no source.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.at_nine import TODAY, at_nine, clock, given
from tests.medicines.wards import order, problem, result, reviewed
from tests.records import Json, earlier
from weatherglass.model.findings import Finding, Kind, Urgency

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


def due(text: str, *times: str, often: int = 0, **rest: Any) -> Json:
    """Return an order due at times of a day, or so many times a day."""
    repeat: Json = {"timeOfDay": [f"{each}:00" for each in times]} if times else {}
    if often:
        repeat |= {"frequency": often, "period": 1, "periodUnit": "d"}
    dose = {"value": 1, "unit": "tablet"}
    dosage = [{"timing": {"repeat": repeat}, "doseAndRate": [{"doseQuantity": dose}]}]
    return {**order(text), "dosageInstruction": dosage, **rest}


LEVODOPA = "Co-careldopa 25/100"


class TestLate:
    @pytest.mark.parametrize(("time", "is_late"), [("08:30", True), ("08:31", False), ("06:00", True)])
    def test_levodopa_is_late_after_half_an_hour(self, time: str, is_late: bool) -> None:
        found = at_nine(due(LEVODOPA, time), given("23:00", LEVODOPA, "2026-02-28"))
        assert bool(found) is is_late
        if found:
            assert f"due {'08:30' if time == '08:30' else '06:00'}" in found[0].sentence

    def test_it_is_late_from_the_first_time_of_the_day_that_passed(self) -> None:
        ordered = due(LEVODOPA, "22:00", "02:00", "06:00")
        (found,) = at_nine(ordered, given("22:00", LEVODOPA, "2026-02-28"))
        assert "due 02:00" in found.sentence
        (found,) = at_nine({**ordered, "authoredOn": clock("05:00")}, given("22:00", LEVODOPA, "2026-02-28"))
        assert "due 06:00" in found.sentence

    @pytest.mark.parametrize(("time", "is_late"), [("07:00", True), ("07:01", False)])
    def test_an_antiepileptic_after_two_hours(self, time: str, is_late: bool) -> None:
        order_due = due("Levetiracetam 500 mg", time, "20:00")
        assert bool(at_nine(order_due, given("20:00", "Levetiracetam 500 mg", "2026-02-28"))) is is_late

    @pytest.mark.parametrize(("at", "is_late"), [("05:00", False), ("04:59", True), ("06:20", False)])
    def test_a_dose_up_to_an_hour_early_counts(self, at: str, is_late: bool) -> None:
        assert bool(at_nine(due(LEVODOPA, "06:00"), given(at, LEVODOPA))) is is_late

    def test_the_last_time_may_be_of_yesterday(self) -> None:
        found = at_nine(due(LEVODOPA, "22:00"), given("10:00", LEVODOPA, "2026-02-28"))
        assert len(found) == 1
        assert not at_nine(due(LEVODOPA, "22:00"), given("22:05", LEVODOPA, "2026-02-28"))

    @pytest.mark.parametrize(
        ("often", "last", "day", "is_late"),
        [
            (4, "21:00", "2026-02-28", False),
            (4, "20:59", "2026-02-28", True),
            (1, "05:00", "2026-02-28", False),
            (1, "04:59", "2026-02-28", True),
        ],
    )
    def test_without_times_after_twice_the_interval(
        self, often: int, last: str, day: str, is_late: bool
    ) -> None:
        """Four doses a day leave a night of twelve hours; one a day is late after 28."""
        assert bool(at_nine(due(LEVODOPA, often=often), given(last, LEVODOPA, day))) is is_late

    def test_an_order_of_this_morning_owes_nothing_of_before(self) -> None:
        assert not at_nine(due(LEVODOPA, "06:00", authoredOn=clock("08:00")))

    def test_how_soon(self) -> None:
        late = due(LEVODOPA, "06:00")
        assert [f.urgency for f in at_nine(late)] == [P]
        assert [f.urgency for f in at_nine(late, result("K", "6.1", clock("08:00")))] == [U]

    def test_several_are_one_finding(self) -> None:
        (found,) = at_nine(due(LEVODOPA, "06:00"), due("Levetiracetam 500 mg", "06:00"))
        assert "Co-careldopa" in found.sentence
        assert "Levetiracetam" in found.sentence
        assert found.brief == "Not recorded as given: Co-careldopa, Levetiracetam"

    @pytest.mark.parametrize(
        "quiet",
        [
            due("Atorvastatin 20 mg", "06:00"),
            due(LEVODOPA, "06:00", status="on-hold"),
            due(LEVODOPA, "06:00", status="draft"),
            {**due(LEVODOPA, "06:00"), "dosageInstruction": [{"asNeededBoolean": True}]},
            due(LEVODOPA),
        ],
    )
    def test_what_owes_no_dose(self, quiet: Json) -> None:
        assert not at_nine(quiet)

    def test_where_nobody_records_doses(self) -> None:
        (review,) = reviewed(result("Na", "140", clock("09:00")), due(LEVODOPA, "06:00")).reviews
        assert not [f for f in review.findings if f.kind is Kind.MEDICINE_MISSING]

    def test_what_the_record_speaks_against_is_not_asked_for(self) -> None:
        """Warfarin at an INR of 9, and a penicillin of somebody who is allergic to it."""
        assert not at_nine(due("Warfarin 3 mg", "06:00"), result("INR", "9.0", clock("08:00")))
        allergy = {
            "resourceType": "AllergyIntolerance",
            "id": "a",
            "patient": {"reference": "Patient/p"},
            "code": {"text": "Penicillin"},
        }
        assert not at_nine(due("Amoxicillin 500 mg", "06:00"), allergy)


class TestOmitted:
    def test_a_dose_recorded_as_not_given(self) -> None:
        missed = given("07:00", LEVODOPA, status="not-done", statusReason=[{"text": "nil by mouth"}])
        (found,) = at_nine(due(LEVODOPA, often=4), missed)
        assert "recorded as not given at 07:00" in found.sentence
        assert "nil by mouth" in found.sentence
        assert len(found.evidence) == 2

    def test_it_is_late_from_the_first_dose_left_out(self) -> None:
        """Another dose left out never moves the deadline."""
        ordered = due(LEVODOPA, often=4)
        missed = [given(at, LEVODOPA, status="not-done") for at in ("01:00", "05:00", "08:30")]
        (found,) = at_nine(ordered, given("20:00", LEVODOPA, "2026-02-28"), *missed)
        assert found.since is not None
        assert found.since.isoformat() in (clock("01:00"), "2026-02-28T21:00:00+00:00")
        assert "3 times in a row, last at 08:30" in found.sentence
        (found,) = at_nine(ordered, given("02:00", LEVODOPA), *missed)
        assert "2 times in a row" in found.sentence

    def test_the_line_that_was_meant(self) -> None:
        """Of two lines that share an ingredient the one that is written as the dose is told."""
        missed = given("07:00", LEVODOPA, status="not-done")
        (found,) = at_nine(due(LEVODOPA, often=4), due("Co-beneldopa 62.5 mg dispersible", often=1), missed)
        assert f"given: {LEVODOPA}" in found.sentence

    def test_one_given_since_settles_it(self) -> None:
        missed = given("07:00", LEVODOPA, status="not-done")
        assert not at_nine(due(LEVODOPA, often=4), missed, given("08:00", LEVODOPA))

    def test_it_is_never_counted_as_given(self) -> None:
        """Potassium that was not given is no reason to avoid it."""
        missed = given("07:00", "Morphine 10 mg injection", status="not-done")
        (review,) = reviewed(result("RR", "6", clock("09:00")), missed).reviews
        assert not [f for f in review.findings if f.kind is Kind.MEDICINE]


def home(text: str) -> Json:
    return {
        "resourceType": "MedicationStatement",
        "id": f"home-{text.split(maxsplit=1)[0].lower()}",
        "status": "active",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
    }


def stay(hours: float) -> Json:
    """Return an admission that many hours before the review."""
    return {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": {"code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {"start": earlier(f"{hours} h")},
    }


class TestFromHome:
    ORDERED = order("Paracetamol 1 g")

    def _missing(self, *resources: Json) -> list[Finding]:
        (review,) = reviewed(result("Na", "140"), *resources).reviews
        return [f for f in review.findings if f.key == "home-medicines-not-ordered"]

    @pytest.mark.parametrize(("hours", "is_said"), [(24, True), (23.9, False)])
    def test_after_a_day_in_hospital(self, hours: float, is_said: bool) -> None:
        found = self._missing(stay(hours), self.ORDERED, home("Atorvastatin 20 mg"))
        assert bool(found) is is_said

    @pytest.mark.parametrize(("text", "urgency"), [("Atorvastatin 20 mg", R), ("Clozapine 100 mg", P)])
    def test_how_soon(self, text: str, urgency: Urgency) -> None:
        (found,) = self._missing(stay(30), self.ORDERED, home(text))
        assert found.urgency is urgency
        assert text in found.sentence

    def test_what_was_ordered_held_or_is_alone_is_not_asked_about(self) -> None:
        ordered = order("Atorvastatin 40 mg tablets")
        held = order("Atorvastatin 20 mg", status="on-hold")
        assert not self._missing(stay(30), ordered, home("Atorvastatin 20 mg"))
        assert not self._missing(stay(30), self.ORDERED, held, home("Atorvastatin 20 mg"))
        assert not self._missing(stay(30), home("Atorvastatin 20 mg"))
        assert not self._missing(self.ORDERED, home("Atorvastatin 20 mg"))

    def test_the_most_harmful_first(self) -> None:
        (found,) = self._missing(
            stay(30), self.ORDERED, home("Atorvastatin 20 mg"), home("Levetiracetam 500 mg")
        )
        assert found.sentence.index("Levetiracetam") < found.sentence.index("Atorvastatin")


class TestRecentClot:
    def _clot(self, *resources: Json, days: float = 30) -> list[Finding]:
        clot = problem("Pulmonary embolism", since=earlier(f"{days} d"))
        (review,) = reviewed(result("Na", "140"), order("Paracetamol 1 g"), clot, *resources).reviews
        return [f for f in review.findings if f.key == "recent-clot"]

    @pytest.mark.parametrize(("days", "is_said"), [(91, True), (93, False)])
    def test_of_the_last_three_months(self, days: float, is_said: bool) -> None:
        assert bool(self._clot(days=days)) is is_said

    def test_any_anticoagulant_is_enough(self) -> None:
        assert not self._clot(order("Apixaban 5 mg"))
        assert not self._clot(order("Dalteparin 5000 units"))

    def test_bleeding_may_be_why(self) -> None:
        (found,) = self._clot(problem("Melaena", since="2026-02-28"))
        assert found.urgency is P
        assert "may be why" in found.sentence
        assert "replace it" not in found.sentence


class TestHoursWithoutADose:
    """From when a gap alone is urgent: our choice, after NICE QS164 (levodopa) and NPSA/2010/RRR009."""

    @pytest.mark.parametrize(
        ("text", "time", "urgency"),
        [
            (LEVODOPA, "03:01", P),
            (LEVODOPA, "03:00", U),
            ("Levetiracetam 500 mg", "03:00", P),
            ("Levetiracetam 500 mg", "21:00", U),
        ],
    )
    def test_it_becomes_urgent(self, text: str, time: str, urgency: Urgency) -> None:
        day = TODAY if time < "09:00" else "2026-02-28"
        (found,) = at_nine(due(text, time), given(time, text, day, status="not-done"))
        assert found.urgency is urgency
        hours = 6 if text == LEVODOPA else 12
        since = datetime.fromisoformat(clock(time, day)) + timedelta(hours=hours)
        assert found.asked_since == (since if urgency is U else None)


@pytest.mark.parametrize(
    ("text", "first", "is_asked"),
    [
        ("Levothyroxine 100 micrograms", "2026-02-24", True),
        ("Levothyroxine 100 micrograms", "2026-02-25", False),
        ("Dolutegravir 50 mg", "2026-02-28", True),
    ],
)
def test_what_acts_on_for_days_is_asked_about_after_them(text: str, first: str, *, is_asked: bool) -> None:
    """Common practice, no source; after how many days is our choice."""
    left_out = [given("08:00", text, day=day, status="not-done") for day in (first, TODAY)]
    assert bool(at_nine(due(text, often=1), *left_out)) is is_asked


@pytest.mark.parametrize(("hours", "urgency"), [(5.9, None), (6, U)])
def test_levodopa_from_home_in_parkinsons_disease(hours: float, urgency: Urgency | None) -> None:
    """NPSA/2010/RRR009; that six hours without an order are urgent by themselves is our choice."""
    known = problem("Parkinson's disease")
    answer = reviewed(
        result("Na", "140"), known, stay(hours), order("Paracetamol 1 g"), home("Sinemet 25/100")
    )
    found = [f for f in answer.reviews[0].findings if f.key == _FROM_HOME]
    assert [f.urgency for f in found] == ([urgency] if urgency is not None else [])


@pytest.mark.parametrize(
    ("known", "sodium", "urgency"),
    [
        ("Cranial diabetes insipidus", "145", P),
        ("Cranial diabetes insipidus", "146", U),
        ("Nocturia", "150", P),
    ],
)
def test_desmopressin_left_out_with_a_high_sodium(known: str, sodium: str, urgency: Urgency) -> None:
    """NHS/PSA/W/2016/001; that a sodium above 145 since then makes it urgent is our choice."""
    text = "Desmopressin 10 micrograms nasal spray"
    missed = given("07:00", text, status="not-done", statusReason=[{"text": "not available"}])
    late = result("Na", sodium, clock("09:01"))
    (found,) = at_nine(problem(known), due(text, often=2), missed, late)
    assert found.urgency is urgency


@pytest.mark.parametrize(
    ("known", "glucose", "urgency"),
    [("Type 1 diabetes", "11.0", P), ("Type 1 diabetes", "11.1", U), ("Type 2 diabetes", "23", P)],
)
def test_insulin_left_out_with_a_high_glucose(known: str, glucose: str, urgency: Urgency) -> None:
    """NPSA/2010/RRR009 names insulin; that a glucose above 11 since then makes it urgent is our choice."""
    missed = given("07:00", "Levemir 18 units", status="not-done", statusReason=[{"text": "not eating"}])
    ordered = due("Levemir 18 units", often=2)
    (found,) = at_nine(problem(known), ordered, missed, result("glucose", glucose, clock("08:00")))
    assert found.urgency is urgency
    assert "Ask now what replaces it" in found.sentence
    before = result("glucose", "23", clock("06:00"))
    (found,) = at_nine(problem(known), ordered, missed, before)
    assert found.urgency is P


@pytest.mark.parametrize(
    ("text", "is_asked"), [("NovoRapid", False), ("NovoMix 30", False), ("Lantus 20 units", True)]
)
def test_insulin_by_vein_stands_for_what_is_not_long_acting(text: str, *, is_asked: bool) -> None:
    """Common practice, no source: long-acting insulin goes on beside an infusion, the rest is replaced."""
    by_vein = order(
        "Actrapid 50 units in 50 mL infusion", dosageInstruction=[{"route": {"text": "intravenous"}}]
    )
    here = [stay(8), problem("Type 1 diabetes"), result("Na", "140"), home(text)]
    alone = [f for f in reviewed(*here, order("Paracetamol 1 g")).reviews[0].findings if f.key == _FROM_HOME]
    beside = [f for f in reviewed(*here, by_vein).reviews[0].findings if f.key == _FROM_HOME]
    assert alone
    assert bool(beside) is is_asked


_FROM_HOME = "home-medicines-not-ordered"


@pytest.mark.parametrize(("taken", "is_asked"), [("Ibuprofen 200 mg", False), ("Amlodipine 5 mg", True)])
def test_what_a_pair_speaks_against_is_not_asked_for(taken: str, is_asked: bool) -> None:
    """Ours: an NSAID beside lithium was asked after as if it had been forgotten."""
    answer = reviewed(result("Na", "140"), stay(30), order("Priadel 400 mg"), home(taken))
    assert (_FROM_HOME in {f.key for f in answer.reviews[0].findings}) is is_asked
