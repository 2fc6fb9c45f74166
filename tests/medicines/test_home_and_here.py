"""Medicines of home, ended ones and those named by their class: the sources stand beside each test."""

from datetime import timedelta

import pytest

from tests.medicines.rounds import NOW, P, R, U, broken_hip, ended_order, findings_of, said_of
from tests.medicines.wards import interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, earlier, full_set, given, stay, taken
from weatherglass.knowledge.medicines.limits.washouts import WASHOUTS
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding


class TestClassInWords:
    @pytest.mark.parametrize(
        "text", ["Blood thinner", "Anticoagulant as per clinic letter", "DOAC 1 daily", "NOAC"]
    )
    def test_a_fall_beside_it_is_asked_about(self, text: str) -> None:
        (found,) = findings_of(problem("Fall", since=earlier("5 h")), order(text), key="head-injury")
        assert found.urgency is P
        assert "(find out which)" in found.sentence

    @pytest.mark.parametrize(
        "text",
        ["No anticoagulant", "Mystery tablet", "Anticoagulant citrate solution", "Anticoagulant allergy"],
    )
    def test_what_names_no_class(self, text: str) -> None:
        assert not findings_of(problem("Fall", since=earlier("5 h")), order(text), key="head-injury")

    def test_it_stays_unrecognised(self) -> None:
        (review,) = reviewed(*full_set(), order("Blood thinner")).reviews
        assert review.medicines_not_recognised == 1
        (found,) = (f for f in review.findings if isinstance(f, MedicineFinding))
        assert found.kind is Kind.MEDICINE_NOT_REVIEWED
        assert "only what holds for its whole class was looked at; find out which it is" in found.sentence

    def test_its_rules_hold(self) -> None:
        found = said_of(broken_hip(), text="Blood thinner")
        assert found is not None
        assert found.action == "hold"
        assert "Blood thinner (which one is not known)" in found.sentence
        assert any("find out now" in caution for caution in found.cautions)

    def test_a_local_one_reaches_no_rule(self) -> None:
        low, long = result("SBP", "85"), {"authoredOn": earlier("90 d")}
        assert interactions(reviewed(low, order("Steroid cream", **long))) == {}
        assert "steroid-adrenal-risk" in interactions(reviewed(low, order("Steroid tablets", **long)))


class TestLeftAtHome:
    @pytest.mark.parametrize(
        ("text", "hours", "urgency"),
        [
            ("Sinemet Plus", 5.9, None),
            ("Sinemet Plus", 6, P),
            ("Sinemet Plus", 11.9, P),
            ("Sinemet Plus", 12, U),
            ("Levetiracetam 500 mg", 17.9, P),
            ("Levetiracetam 500 mg", 18, U),
            ("Prednisolone 5 mg", 6, P),
            ("Apixaban 5 mg", 23.9, None),
            ("Apixaban 5 mg", 24, P),
            ("Biktarvy", 40, P),
        ],
    )
    def test_what_harms_within_hours(self, text: str, hours: float, urgency: Urgency | None) -> None:
        home = taken(text, id="home")
        here = stay(period={"start": (NOW - timedelta(hours=hours)).isoformat()})
        found = findings_of(here, order("Paracetamol 1 g"), home, key="home-medicines-not-ordered")
        assert [f.urgency for f in found] == ([urgency] if urgency is not None else [])
        if urgency is not None:
            assert text in found[0].brief
            assert not findings_of(
                here,
                order("Paracetamol 1 g"),
                home,
                given(text, earlier("2 h")),
                key="home-medicines-not-ordered",
            )

    @pytest.mark.parametrize(
        ("dose", "last", "is_late"),
        [
            ("25/100 at 07:00, 10:30 and 13:00", "4 h", False),
            ("25/100 at 07:00, 09:30 and 13:00", "4 h", True),
            ("25/100 four times daily", "12 h", False),
            ("25/100 four times daily", "721 min", True),
            ("25/100 when needed", "30 h", False),
        ],
    )
    def test_late_by_words_alone(self, dose: str, last: str, is_late: bool) -> None:
        levodopa = {**order("Co-careldopa"), "dosageInstruction": [{"text": dose}]}
        found = findings_of(levodopa, given("Co-careldopa", earlier(last)), key="doses-not-given")
        assert bool(found) is is_late

    @pytest.mark.parametrize(("last", "is_late"), [("36 h", True), ("2161 min", False)])
    def test_where_doses_were_recorded_lately(self, last: str, is_late: bool) -> None:
        keppra = {**order("Levetiracetam"), "dosageInstruction": [{"text": "500 mg twice daily"}]}
        assert (
            bool(findings_of(keppra, given("Levetiracetam", earlier(last)), key="doses-not-given")) is is_late
        )


def _home(text: str, dose: str = "") -> Json:
    return taken(text, id=f"home-{text[:4].lower()}", **({"dosage": [{"text": dose}]} if dose else {}))


class TestHomeAndHere:
    HERE = stay(period={"start": earlier("8 h")})

    @pytest.mark.parametrize(
        ("known", "urgency"), [("Type 1 diabetes", U), ("Type 2 diabetes", P), ("Hypertension", P)]
    )
    def test_insulin_left_at_home(self, known: str, urgency: Urgency) -> None:
        beside = (self.HERE, problem(known), order("Paracetamol 1 g"))
        (found,) = findings_of(*beside, _home("Lantus"), key="home-medicines-not-ordered")
        assert found.urgency is urgency

    def test_what_a_pair_asks_about_is_asked_once(self) -> None:
        beside = (self.HERE, order("Enoxaparin 40 mg injection"), _home("Apixaban"))
        assert not findings_of(*beside, key="home-medicines-not-ordered")
        assert "two-anticoagulants-named" in interactions(reviewed(*full_set(), *beside))

    @pytest.mark.parametrize(
        ("text", "home", "here", "is_asked"),
        [
            ("Levetiracetam", "1 g twice daily", "500 mg twice daily", True),
            ("Levetiracetam", "1 g twice daily", "501 mg twice daily", False),
            ("Levetiracetam", "500 mg twice daily", "1 g twice daily", False),
            ("Methadone", "40 mg once daily", "80 mg once daily", True),
            ("Methadone", "40 mg once daily", "79 mg once daily", False),
            ("Methadone", "40 mg once daily", "20 mg once daily", False),
            ("Furosemide", "80 mg once daily", "40 mg once daily", False),
            ("Levetiracetam", "", "500 mg twice daily", False),
        ],
    )
    def test_a_dose_far_from_the_one_at_home(self, text: str, home: str, here: str, is_asked: bool) -> None:
        ordered = {**order(text), "authoredOn": earlier("7 h"), "dosageInstruction": [{"text": here}]}
        found = findings_of(self.HERE, ordered, _home(text, home), key="home-dose-differs")
        assert [f.urgency for f in found] == ([P] if is_asked else [])
        assert not findings_of(
            self.HERE, {**ordered, "authoredOn": earlier("9 h")}, _home(text, home), key="home-dose-differs"
        )

    def test_parts_of_a_day_add_up(self) -> None:
        parts = [
            {
                **order("Levetiracetam"),
                "id": each,
                "authoredOn": earlier("7 h"),
                "dosageInstruction": [{"text": each}],
            }
            for each in ("500 mg in the morning", "1 g at night")
        ]
        home = _home("Levetiracetam", "750 mg twice daily")
        assert not findings_of(self.HERE, *parts, home, key="home-dose-differs")
        assert findings_of(self.HERE, parts[0], home, key="home-dose-differs")


class TestWashout:
    @pytest.mark.parametrize(
        ("text", "days", "beside", "urgency"),
        [
            ("Fluoxetine 20 mg", 35, "Linezolid 600 mg", U),
            ("Fluoxetine 20 mg", 35.1, "Linezolid 600 mg", None),
            ("Phenelzine 15 mg", 14, "Sertraline 50 mg", U),
            ("Phenelzine 15 mg", 14.1, "Sertraline 50 mg", None),
            ("Sertraline 50 mg", 7, "Linezolid 600 mg", P),
            ("Sertraline 50 mg", 7.1, "Linezolid 600 mg", None),
            ("Rasagiline 1 mg", 14, "Pethidine 50 mg", U),
            ("Rasagiline 1 mg", 14.1, "Pethidine 50 mg", None),
            ("Amiodarone 200 mg", 90, "Digoxin 125 micrograms", R),
            ("Amiodarone 200 mg", 90.1, "Digoxin 125 micrograms", None),
            ("Moclobemide 150 mg", 3, "Sertraline 50 mg", None),
            ("Ibuprofen 400 mg", 1, "Warfarin 3 mg", None),
        ],
    )
    def test_what_acts_on_makes_a_pair(
        self, text: str, days: float, beside: str, urgency: Urgency | None
    ) -> None:
        found = list(interactions(reviewed(*full_set(), ended_order(text, days), order(beside))).values())
        assert [f.urgency for f in found] == ([urgency] if urgency is not None else [])
        if urgency is not None:
            assert "acts on" in found[0].sentence

    def test_two_that_have_ended_make_none(self) -> None:
        other = {**ended_order("Phenelzine 15 mg", 5), "id": "other"}
        assert interactions(reviewed(*full_set(), ended_order("Fluoxetine 20 mg", 5), other)) == {}

    def test_every_row_has_a_source(self) -> None:
        assert all(row.sources and row.lasts > timedelta(0) for row in WASHOUTS)


class TestEnded:
    @pytest.mark.parametrize(
        ("days", "lasted", "is_asked"), [(2, 28, True), (2, 27.9, False), (14, 28, True), (14.1, 28, False)]
    )
    def test_a_long_steroid_that_ended_at_once(self, days: float, lasted: float, is_asked: bool) -> None:
        found = findings_of(
            ended_order("Prednisolone 20 mg", days, lasted=lasted),
            order("Paracetamol 1 g"),
            key="long-treatment-ended",
        )
        assert [f.urgency for f in found] == ([P] if is_asked else [])

    def test_what_answers_it(self) -> None:
        gone = ended_order("Prednisolone 20 mg", 2)
        assert not findings_of(gone, order("Hydrocortisone 20 mg"), key="long-treatment-ended")
        reason = {"statusReason": {"text": "Tapered and finished"}}
        assert not findings_of({**gone, **reason}, key="long-treatment-ended")
        assert not findings_of(ended_order("Beclometasone inhaler", 2), key="long-treatment-ended")
        assert not findings_of(ended_order("Atorvastatin 20 mg", 2), key="long-treatment-ended")

    @pytest.mark.parametrize(
        ("began", "known", "is_asked"),
        [
            ("100 d", "Epilepsy", True),
            ("29 d", "Epilepsy", False),
            ("2 d", "Epilepsy", False),
            ("100 d", "Fall", False),
        ],
    )
    def test_one_of_two_antiepileptics(self, began: str, known: str, is_asked: bool) -> None:
        """Ours: one that was there before protects no more than it did; a new one takes its place."""
        gone = ended_order("Levetiracetam 1 g", 2)
        other = {**order("Lamotrigine 100 mg"), "id": "o", "authoredOn": earlier(began)}
        found = findings_of(problem(known), gone, other, key="long-treatment-ended")
        assert [one.urgency for one in found] == ([P] if is_asked else [])
        assert all("nothing was begun in its place" in one.sentence for one in found)

    def test_the_last_antiepileptic_is_asked_about_once(self) -> None:
        """Epilepsy without any asks for one by itself."""
        gone = ended_order("Levetiracetam 1 g", 2)
        assert not findings_of(problem("Epilepsy"), gone, key="long-treatment-ended")

    def test_clozapine_says_how_it_comes_back(self) -> None:
        """NHS Cheshire and Merseyside, secondary: after 48 hours it is titrated anew."""
        (found,) = findings_of(ended_order("Clozapine 300 mg", 3), key="long-treatment-ended")
        assert "After more than 48 hours without it psychiatry begins it anew" in found.sentence

    @pytest.mark.parametrize(("since", "is_gap"), [("49 h", True), ("48 h", False)])
    def test_clozapine_on_hold(self, since: str, is_gap: bool) -> None:
        held = {**order("Clozapine 300 mg", status="on-hold"), "id": "o", "authoredOn": earlier("90 d")}
        dose, now = given("Clozapine 300 mg", earlier(since)), result("Na", "140")
        found = suggestions(reviewed(now, held, dose))["o"]
        assert any(one.rule == "clozapine-gap" for one in found.reasons) is is_gap
        assert ("and this still supports it: no dose recorded after" in found.sentence) is is_gap

    @pytest.mark.parametrize(("after", "is_asked"), [(61, True), (60, False)])
    def test_a_dose_after_its_order_was_stopped(self, after: float, is_asked: bool) -> None:
        at = (NOW - timedelta(days=1) + timedelta(minutes=after)).isoformat()
        found = findings_of(
            ended_order("Enoxaparin 80 mg injection", 1, lasted=3),
            given("Enoxaparin 80 mg injection", at),
            key="given-after-its-end",
        )
        assert [f.urgency for f in found] == ([P] if is_asked else [])

    def test_what_ran_its_course_or_ended_on_a_day_is_not_asked_about(self) -> None:
        """A one-off order is completed when its dose is due; a date alone lasts until midnight."""
        gone = ended_order("Enoxaparin 80 mg injection", 1, lasted=3)
        late = given("Enoxaparin 80 mg injection", earlier("20 h"))
        assert findings_of(gone, late, key="given-after-its-end")
        assert not findings_of({**gone, "status": "completed"}, late, key="given-after-its-end")
        today = {"validityPeriod": {"start": "2026-02-26", "end": "2026-03-01"}}
        assert not findings_of({**gone, "dispenseRequest": today}, late, key="given-after-its-end")

    @pytest.mark.parametrize(("given_at", "goes_on"), [("19.9 h", True), ("20 h", False)])
    def test_a_course_that_is_over_and_is_still_given_goes_on(self, given_at: str, *, goes_on: bool) -> None:
        """Four hours after its end are ours: "completed" hid apixaban that went on beside heparin."""
        over = {**ended_order("Apixaban 5 mg", 1, lasted=3), "id": "o", "status": "completed"}
        heparin = {**order("Heparin sodium infusion"), "id": "h"}
        both = interactions(reviewed(*full_set(), over, heparin, given("Apixaban 5 mg", earlier(given_at))))
        assert ("two-anticoagulants-named" in both) is goes_on

    def test_an_active_order_that_ran_out_and_is_still_given_goes_on(self) -> None:
        """Law 5: nothing is called ended that is given and that nobody stopped."""
        bled = problem("Melaena", since=earlier("5 h"))
        ran_out = {**ended_order("Apixaban 5 mg", 1), "id": "o", "status": "active"}
        answer = suggestions(reviewed(*full_set(), bled, ran_out, given("Apixaban 5 mg", earlier("3 h"))))
        assert answer["o"].action == "hold"
        stopped = suggestions(
            reviewed(
                *full_set(), bled, {**ran_out, "status": "stopped"}, given("Apixaban 5 mg", earlier("3 h"))
            )
        )
        assert stopped["o"].action == "avoid"


class TestRouteInWords:
    """A route that stands in the words of a dosage alone is read (common practice, no source)."""

    @pytest.mark.parametrize(
        ("dose", "is_asked"),
        [
            ("50 units in 50 mL IV variable rate", True),
            ("50 units in 50 mL infusion", True),
            ("6 units subcutaneous infusion", False),
            ("6 units", False),
        ],
    )
    def test_insulin_by_vein_is_watched(self, dose: str, is_asked: bool) -> None:
        insulin = {**order("Insulin soluble"), "dosageInstruction": [{"text": dose}]}
        assert bool(findings_of(insulin, key="insulin-unmeasured")) is is_asked
