"""What a ward pharmacist asks on a round, through the real door.

Expected: Papachristos 2020, abstract (before a hip is mended warfarin is reversed and a direct anticoagulant
ends), the label of fluoxetine (five weeks before an inhibitor of monoamine oxidase, two after one), Practical
Neurology table 7 (steroids in illness), NICE QS164 and NPSA/2010/RRR009 (omitted doses); no anti-inflammatory
in cirrhosis is common practice, no source. Hours, days and urgencies are our choice, as the rows say.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.wards import (
    injury,
    interactions,
    operated,
    operation_asked_for,
    order,
    problem,
    result,
    reviewed,
    stay_for,
    suggestions,
)
from tests.records import AT, Json, earlier, full_set, given, observation, quantity, stay
from weatherglass.knowledge.medicines.washouts import WASHOUTS
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT
NOW = datetime.fromisoformat(AT)


def _of(*resources: Json, text: str, dose: str = "", **rest: Any) -> MedicineFinding | None:
    """Return what is suggested of one medicine beside an ordinary round."""
    dosage = {"dosageInstruction": [{"text": dose}]} if dose else {}
    answer = reviewed(*full_set(), *resources, {**order(text), "id": "o", **dosage, **rest})
    return suggestions(answer).get("o")


def _findings(*resources: Json, key: str) -> list[Finding]:
    (review,) = reviewed(*full_set(), *resources).reviews
    return [f for f in review.findings if f.key == key]


def _hip(since: str | None = None, text: str = "Fractured neck of femur") -> Json:
    return problem(text, since=since or earlier("5 h"))


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
        found = _of(_hip(), text=text, dose=dose)
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
        assert (_of(hip, text="Apixaban 5 mg") is not None) is is_held

    def test_it_is_over_once_it_was_done(self) -> None:
        assert _of(_hip(), operated("Hemiarthroplasty of hip", earlier("2 h")), text="Apixaban 5 mg") is None
        before = operated("Hemiarthroplasty of hip", earlier("9 d"))
        assert _of(_hip(), before, text="Apixaban 5 mg") is not None

    def test_as_the_reason_of_the_stay_or_a_code(self) -> None:
        assert _of(stay_for("Fractured neck of femur", earlier("5 h")), text="Apixaban 5 mg") is not None
        coded = {
            **_hip(),
            "code": {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "S72.0"}]},
        }
        assert _of(coded, text="Apixaban 5 mg") is not None

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
        assert (_of(_hip(text=words), text="Apixaban 5 mg") is not None) is is_one

    @pytest.mark.parametrize(
        ("hours", "action", "urgency"),
        [(24.1, "review", P), (24, "hold", P), (4.1, "hold", P), (4, "hold", U), (-1, "hold", U)],
    )
    def test_the_nearer_the_sooner(self, hours: float, action: str, urgency: Urgency) -> None:
        due = (NOW + timedelta(hours=hours)).isoformat()
        found = _of(operation_asked_for("Laparotomy", due, at=earlier("2 d")), text="Apixaban 5 mg")
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
        found = _of(operation_asked_for(text, due, at=earlier("2 h")), text=beside)
        assert (found.action if found is not None else None) == action

    def test_at_the_end_of_life_no_operation_is_likely(self) -> None:
        found = _of(_hip(), problem("End of life care", since=earlier("8 h")), text="Apixaban 5 mg")
        assert found is not None
        assert [one.rule for one in found.reasons] == ["last-days-without-comfort"]

    @pytest.mark.parametrize(("since", "urgency"), [("28 d", P), ("27 d", None)])
    def test_a_long_steroid(self, since: str, urgency: Urgency | None) -> None:
        found = _of(_hip(), text="Prednisolone 10 mg", authoredOn=earlier(since))
        assert (found.urgency if found is not None else None) == urgency

    def test_its_deadline_counts_from_when_it_was_asked_for(self) -> None:
        """Law 3: every look an hour later gave an hour more."""
        due = (NOW + timedelta(hours=40)).isoformat()
        found = _of(operation_asked_for("Laparotomy", due, at=earlier("2 h")), text="Apixaban 5 mg")
        assert found is not None
        assert found.since == NOW - timedelta(hours=2)


class TestClassInWords:
    @pytest.mark.parametrize(
        "text", ["Blood thinner", "Anticoagulant as per clinic letter", "DOAC 1 daily", "NOAC"]
    )
    def test_a_fall_beside_it_is_asked_about(self, text: str) -> None:
        (found,) = _findings(problem("Fall", since=earlier("5 h")), order(text), key="head-injury")
        assert found.urgency is P
        assert "(find out which)" in found.sentence

    @pytest.mark.parametrize(
        "text",
        ["No anticoagulant", "Mystery tablet", "Anticoagulant citrate solution", "Anticoagulant allergy"],
    )
    def test_what_names_no_class(self, text: str) -> None:
        assert not _findings(problem("Fall", since=earlier("5 h")), order(text), key="head-injury")

    def test_it_stays_unrecognised(self) -> None:
        (review,) = reviewed(*full_set(), order("Blood thinner")).reviews
        assert review.medicines_not_recognised == 1
        (found,) = (f for f in review.findings if isinstance(f, MedicineFinding))
        assert found.kind is Kind.MEDICINE_NOT_REVIEWED
        assert "only what holds for its whole class was looked at; find out which it is" in found.sentence

    def test_its_rules_hold(self) -> None:
        found = _of(_hip(), text="Blood thinner")
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
        home = {
            "resourceType": "MedicationStatement",
            "id": "home",
            "status": "active",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": text},
        }
        here = stay(period={"start": (NOW - timedelta(hours=hours)).isoformat()})
        found = _findings(here, order("Paracetamol 1 g"), home, key="home-medicines-not-ordered")
        assert [f.urgency for f in found] == ([urgency] if urgency is not None else [])
        if urgency is not None:
            assert text in found[0].brief
            assert not _findings(
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
        found = _findings(levodopa, given("Co-careldopa", earlier(last)), key="doses-not-given")
        assert bool(found) is is_late

    @pytest.mark.parametrize(("last", "is_late"), [("36 h", True), ("2161 min", False)])
    def test_where_doses_were_recorded_lately(self, last: str, is_late: bool) -> None:
        keppra = {**order("Levetiracetam"), "dosageInstruction": [{"text": "500 mg twice daily"}]}
        assert (
            bool(_findings(keppra, given("Levetiracetam", earlier(last)), key="doses-not-given")) is is_late
        )


def _home(text: str, dose: str = "") -> Json:
    return {
        "resourceType": "MedicationStatement",
        "id": f"home-{text[:4].lower()}",
        "status": "active",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
        **({"dosage": [{"text": dose}]} if dose else {}),
    }


class TestHomeAndHere:
    HERE = stay(period={"start": earlier("8 h")})

    @pytest.mark.parametrize(
        ("known", "urgency"), [("Type 1 diabetes", U), ("Type 2 diabetes", P), ("Hypertension", P)]
    )
    def test_insulin_left_at_home(self, known: str, urgency: Urgency) -> None:
        beside = (self.HERE, problem(known), order("Paracetamol 1 g"))
        (found,) = _findings(*beside, _home("Lantus"), key="home-medicines-not-ordered")
        assert found.urgency is urgency

    def test_what_a_pair_asks_about_is_asked_once(self) -> None:
        beside = (self.HERE, order("Enoxaparin 40 mg injection"), _home("Apixaban"))
        assert not _findings(*beside, key="home-medicines-not-ordered")
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
        found = _findings(self.HERE, ordered, _home(text, home), key="home-dose-differs")
        assert [f.urgency for f in found] == ([P] if is_asked else [])
        assert not _findings(
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
        assert not _findings(self.HERE, *parts, home, key="home-dose-differs")
        assert _findings(self.HERE, parts[0], home, key="home-dose-differs")


def _ended(text: str, days: float, *, lasted: float = 100, **rest: Any) -> Json:
    ends = (NOW - timedelta(days=days)).isoformat()
    began = (NOW - timedelta(days=days + lasted)).isoformat()
    bounds = {"validityPeriod": {"start": began, "end": ends}}
    return {
        **order(text),
        "id": "gone",
        "status": "stopped",
        "authoredOn": began,
        "dispenseRequest": bounds,
        **rest,
    }


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
        found = list(interactions(reviewed(*full_set(), _ended(text, days), order(beside))).values())
        assert [f.urgency for f in found] == ([urgency] if urgency is not None else [])
        if urgency is not None:
            assert "acts on" in found[0].sentence

    def test_two_that_have_ended_make_none(self) -> None:
        other = {**_ended("Phenelzine 15 mg", 5), "id": "other"}
        assert interactions(reviewed(*full_set(), _ended("Fluoxetine 20 mg", 5), other)) == {}

    def test_every_row_has_a_source(self) -> None:
        assert all(row.sources and row.lasts > timedelta(0) for row in WASHOUTS)


class TestEnded:
    @pytest.mark.parametrize(
        ("days", "lasted", "is_asked"), [(2, 28, True), (2, 27.9, False), (14, 28, True), (14.1, 28, False)]
    )
    def test_a_long_steroid_that_ended_at_once(self, days: float, lasted: float, is_asked: bool) -> None:
        found = _findings(
            _ended("Prednisolone 20 mg", days, lasted=lasted),
            order("Paracetamol 1 g"),
            key="long-treatment-ended",
        )
        assert [f.urgency for f in found] == ([P] if is_asked else [])

    def test_what_answers_it(self) -> None:
        gone = _ended("Prednisolone 20 mg", 2)
        assert not _findings(gone, order("Hydrocortisone 20 mg"), key="long-treatment-ended")
        reason = {"statusReason": {"text": "Tapered and finished"}}
        assert not _findings({**gone, **reason}, key="long-treatment-ended")
        assert not _findings(_ended("Beclometasone inhaler", 2), key="long-treatment-ended")
        assert not _findings(_ended("Atorvastatin 20 mg", 2), key="long-treatment-ended")

    @pytest.mark.parametrize(("after", "is_asked"), [(61, True), (60, False)])
    def test_a_dose_after_its_order_was_stopped(self, after: float, is_asked: bool) -> None:
        at = (NOW - timedelta(days=1) + timedelta(minutes=after)).isoformat()
        found = _findings(
            _ended("Enoxaparin 80 mg injection", 1, lasted=3),
            given("Enoxaparin 80 mg injection", at),
            key="given-after-its-end",
        )
        assert [f.urgency for f in found] == ([P] if is_asked else [])

    def test_what_ran_its_course_or_ended_on_a_day_is_not_asked_about(self) -> None:
        """A one-off order is completed when its dose is due; a date alone lasts until midnight."""
        gone = _ended("Enoxaparin 80 mg injection", 1, lasted=3)
        late = given("Enoxaparin 80 mg injection", earlier("20 h"))
        assert _findings(gone, late, key="given-after-its-end")
        assert not _findings({**gone, "status": "completed"}, late, key="given-after-its-end")
        today = {"validityPeriod": {"start": "2026-02-26", "end": "2026-03-01"}}
        assert not _findings({**gone, "dispenseRequest": today}, late, key="given-after-its-end")

    @pytest.mark.parametrize(("given_at", "goes_on"), [("19.9 h", True), ("20 h", False)])
    def test_a_course_that_is_over_and_is_still_given_goes_on(self, given_at: str, *, goes_on: bool) -> None:
        """Four hours after its end are ours: "completed" hid apixaban that went on beside heparin."""
        over = {**_ended("Apixaban 5 mg", 1, lasted=3), "id": "o", "status": "completed"}
        heparin = {**order("Heparin sodium infusion"), "id": "h"}
        both = interactions(reviewed(*full_set(), over, heparin, given("Apixaban 5 mg", earlier(given_at))))
        assert ("two-anticoagulants-named" in both) is goes_on

    def test_an_active_order_that_ran_out_and_is_still_given_goes_on(self) -> None:
        """Law 5: nothing is called ended that is given and that nobody stopped."""
        bled = problem("Melaena", since=earlier("5 h"))
        ran_out = {**_ended("Apixaban 5 mg", 1), "id": "o", "status": "active"}
        answer = suggestions(reviewed(*full_set(), bled, ran_out, given("Apixaban 5 mg", earlier("3 h"))))
        assert answer["o"].action == "hold"
        stopped = suggestions(
            reviewed(
                *full_set(), bled, {**ran_out, "status": "stopped"}, given("Apixaban 5 mg", earlier("3 h"))
            )
        )
        assert stopped["o"].action == "avoid"


def _doses(text: str, *hours: float) -> list[Json]:
    return [{**given(text, earlier(f"{each} h")), "id": f"d{each}"} for each in hours]


class TestGivenTooOften:
    @pytest.mark.parametrize(
        ("hours", "is_said"), [((1, 5, 9), True), ((1, 9), False), ((1, 9, 23.5), False)]
    )
    def test_more_than_the_order_allows(self, hours: tuple[float, ...], is_said: bool) -> None:
        """A dose an hour early makes no dose more."""
        found = _of(
            *_doses("Lorazepam", *hours), text="Lorazepam", dose="1 mg when needed, max 2 mg in 24 hours"
        )
        assert (found is not None) is is_said
        if found is not None:
            assert "3 doses given in 24 hours, at most 2 written" in found.sentence
            assert found.since == datetime.fromisoformat(earlier("1 h"))

    @pytest.mark.parametrize(("times", "is_said"), [(5, True), (4, False)])
    def test_paracetamol_adds_up(self, times: int, is_said: bool) -> None:
        found = _of(
            *_doses("Paracetamol", *(4.5 * n + 1 for n in range(times))),
            text="Paracetamol",
            dose="1 g when needed",
        )
        assert (found is not None and "given in 24 hours" in found.sentence) is is_said


class TestFirstPatch:
    """MHRA September 2020 (no fentanyl patch for who is not used to opioids); three days are our choice."""

    @pytest.mark.parametrize(("since", "is_asked"), [("3 d", True), ("4321 min", False)])
    def test_of_these_days(self, since: str, is_asked: bool) -> None:
        found = _of(text="Fentanyl 25 micrograms/hour patch", authoredOn=earlier(since))
        assert (found is not None) is is_asked

    def test_after_another_opioid_it_is_no_first(self) -> None:
        text = "Fentanyl 25 micrograms/hour patch"
        assert _of(_ended("Morphine 10 mg", 2), text=text, authoredOn=earlier("1 d")) is None
        assert _of(_ended("Ibuprofen 400 mg", 2), text=text, authoredOn=earlier("1 d")) is not None


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
        assert bool(_findings(insulin, key="insulin-unmeasured")) is is_asked


class TestSteroidInIllness:
    @pytest.mark.parametrize(
        ("dose", "action"),
        [("20 mg once daily", "review"), ("13 mg three times daily", "review"), ("40 mg once daily", None)],
    )
    def test_doubled_in_adrenal_insufficiency(self, dose: str, action: str | None) -> None:
        ill = (stay(period={"start": earlier("20 h")}), problem("Influenza", since=earlier("20 h")))
        known = {**problem("Addison's disease"), "id": "addison"}
        found = _of(*ill, known, text="Hydrocortisone", dose=dose, authoredOn=earlier("90 d"))
        assert (found.action if found is not None else None) == action
        assert _of(known, text="Hydrocortisone", dose=dose, authoredOn=earlier("90 d")) is None


def _value(code: str, value: str, unit: str, at: str = AT) -> Json:
    return observation(f"v{code}", code, at=at, valueQuantity=quantity(value, unit))


class TestRules:
    @pytest.mark.parametrize(("temperature", "action"), [("39.0", "hold"), ("38.9", "review")])
    def test_fever_with_muscle_that_breaks_down(self, temperature: str, action: str) -> None:
        hot = _value("8310-5", temperature, "Cel")
        found = _of_round(hot, _value("2157-6", "6200", "U/L"), text="Haloperidol 5 mg")
        assert found is not None
        assert found.action == action
        alone = _of_round(hot, text="Haloperidol 5 mg")
        assert alone is None

    def test_no_nsaid_in_cirrhosis(self) -> None:
        found = _of(problem("Cirrhosis"), text="Ibuprofen 400 mg")
        assert found is not None
        assert (found.action, found.urgency) == ("hold", P)
        paracetamol = _of(problem("Cirrhosis"), text="Paracetamol 500 mg")
        assert paracetamol is None

    @pytest.mark.parametrize(("potassium", "urgency"), [("2.9", P), ("3.0", None)])
    def test_what_drives_potassium_out(self, potassium: str, urgency: Urgency | None) -> None:
        found = _of(result("K", potassium), text="Furosemide 40 mg")
        assert (found.urgency if found is not None else None) == urgency

    def test_a_preventive_dose_is_no_valve(self) -> None:
        """What only prevents clots is given for the stay: no list of high risks stands beside its hold."""
        bled = problem("Melaena", since=earlier("5 h"))
        low = _of(bled, text="Dalteparin", dose="5000 units once daily")
        full = _of(bled, text="Dalteparin", dose="15000 units once daily")
        assert low is not None
        assert full is not None
        assert (low.action, full.action) == ("hold", "hold")
        assert not low.do_not_stop
        assert full.do_not_stop
        assert not any("thrombosis" in each for each in low.cautions)
        assert any("thrombosis" in each for each in full.cautions)

    def test_hiv_is_no_infection_of_today(self) -> None:
        (well,) = reviewed(*full_set(), problem("HIV infection")).reviews
        (ill,) = reviewed(*full_set(), problem("Infection of the chest", since=earlier("5 h"))).reviews
        assert not [f for f in well.findings if f.kind is Kind.SEPSIS_RISK]
        assert [f for f in ill.findings if f.kind is Kind.SEPSIS_RISK]


def _of_round(*resources: Json, text: str) -> MedicineFinding | None:
    return suggestions(reviewed(*resources, {**order(text), "id": "o"})).get("o")


class TestLong:
    @pytest.mark.parametrize(("began", "urgency"), [("120 h", P), ("119 h", R)])
    def test_an_aminoglycoside_for_five_days(self, began: str, urgency: Urgency) -> None:
        """Common practice, no source; the fifth day is our choice. The 72-hour question is routine."""
        found = _of(text="Gentamicin", dose="320 mg IV once daily", authoredOn=earlier(began))
        assert found is not None
        assert found.urgency is urgency

    @pytest.mark.parametrize(("last", "is_said"), [("24 h", True), ("1441 min", False)])
    def test_on_hold_and_given(self, last: str, is_said: bool) -> None:
        held = {**order("Ramipril 5 mg"), "id": "o", "status": "on-hold"}
        found = suggestions(reviewed(*full_set(), held, given("Ramipril 5 mg", earlier(last))))["o"]
        assert ("last given" in found.sentence) is is_said


class TestMildInjury:
    """Struck out: what a mild injury of the kidneys changes nothing of (UK Renal Pharmacy Group; ours)."""

    @pytest.mark.parametrize(
        ("text", "dose", "stage", "is_said"),
        [
            ("Bisoprolol", "2.5 mg once daily", 1, False),
            ("Bisoprolol", "2.5 mg once daily", 2, True),
            ("Atenolol", "50 mg once daily", 1, True),
            ("Enoxaparin", "40 mg once daily", 1, False),
            ("Enoxaparin", "40 mg once daily", 2, True),
            ("Enoxaparin", "80 mg twice daily", 1, True),
        ],
    )
    def test_who_is_asked_about(self, text: str, dose: str, stage: int, is_said: bool) -> None:
        assert (_of(*injury(stage), text=text, dose=dose) is not None) is is_said


class TestNothingByMouth:
    @pytest.mark.parametrize(
        ("text", "action"),
        [("Apixaban 5 mg", "review"), ("Warfarin 3 mg", "review"), ("Dalteparin 5000 units", None)],
    )
    def test_an_anticoagulant_by_mouth(self, text: str, action: str | None) -> None:
        found = _of(operation_asked_for("Nil by mouth"), text=text)
        assert (found.action if found is not None else None) == action

    def test_before_an_operation_or_with_bleeding_it_is_held(self) -> None:
        bled = problem("Melaena", since=earlier("5 h"))
        found = _of(operation_asked_for("Nil by mouth"), bled, text="Apixaban 5 mg")
        assert found is not None
        assert [reason.rule for reason in found.reasons] == ["bleeding-doac"]


class TestWorstFirst:
    def test_reversal_before_the_risk_of_omission(self) -> None:
        known = {**problem("Atrial fibrillation"), "id": "af"}
        found = _of(problem("Melaena", since=earlier("5 h")), known, text="Warfarin 3 mg")
        assert found is not None
        assert found.cautions[0].startswith("For the haematology protocol")
        assert any("Thrombosis risk on record" in each for each in found.cautions)

    def test_in_asthma_the_beta_blocker(self) -> None:
        attack = problem("Acute severe asthma", since=earlier("1 h"))
        both = ({**order("Naproxen 500 mg"), "id": "n"}, {**order("Propranolol 40 mg"), "id": "b"})
        found = suggestions(reviewed(*full_set(), attack, *both))
        assert found["b"].rank < found["n"].rank


class TestWarfarin:
    @pytest.mark.parametrize(
        ("began", "inr", "at", "urgency"),
        [
            ("71 h", "2.4", "80 h", R),
            ("72 h", "2.4", "80 h", P),
            ("20 h", "3.0", "30 h", R),
            ("20 h", "3.1", "30 h", P),
            ("20 h", "", "", P),
            ("80 h", "2.4", "20 h", R),
        ],
    )
    def test_an_inr_is_due_on_the_third_day(self, began: str, inr: str, at: str, urgency: Urgency) -> None:
        warfarin = {**order("Warfarin 3 mg"), "authoredOn": earlier("90 d")}
        other = {**order("Clarithromycin 500 mg"), "authoredOn": earlier(began)}
        known = [result("INR", inr, earlier(at))] if inr else []
        found = interactions(reviewed(*full_set(), warfarin, other, *known))["warfarin-with-antimicrobial"]
        assert found.urgency is urgency


class TestLevels:
    @pytest.mark.parametrize(
        ("code", "value", "is_named"),
        [
            ("20578-1", "20", False),
            ("20578-1", "20.1", True),
            ("35668-3", "0.9", False),
            ("35668-3", "1.0", True),
        ],
    )
    def test_of_what_is_not_on_the_chart_is_named(self, code: str, value: str, is_named: bool) -> None:
        level = _value(code, value, "mg/L")
        (review,) = reviewed(*full_set(), level).reviews
        assert ("Nothing urgent found" not in review.headline) is is_named

    @pytest.mark.parametrize(("value", "urgency"), [("15", None), ("15.1", P), ("20", P), ("20.1", U)])
    def test_tacrolimus(self, value: str, urgency: Urgency | None) -> None:
        found = _of(_value("11253-2", value, "ug/L"), text="Tacrolimus 2 mg capsules")
        assert (found.urgency if found is not None else None) == urgency


class TestNextDose:
    """Ours: what asks for something before the next dose is looked at by then."""

    @staticmethod
    def _gentamicin(started: str, *creatinines: Json, **rest: Any) -> MedicineFinding | None:
        last = {**given("Gentamicin", earlier("21 h")), "id": "g"}
        dose = {"timing": {"repeat": {"frequency": 1, "period": 1, "periodUnit": "d"}}, **rest}
        return _of(*creatinines, last, text="Gentamicin", authoredOn=started, dosageInstruction=[dose])

    @pytest.mark.parametrize(
        ("started", "stage", "action", "urgency"),
        [
            ("4 d", 2, "hold", U),
            ("4 d", 3, "hold", U),
            ("4 d", 1, "measure level", P),
            ("49 h", 2, "hold", U),
            ("47 h", 2, "measure level", P),
        ],
    )
    def test_an_aminoglycoside_in_kidney_injury(
        self, started: str, stage: int, action: str, urgency: Urgency
    ) -> None:
        """Held from stage 2 after two days of treatment; before that a level comes first."""
        found = self._gentamicin(earlier(started), *injury(stage))
        assert found is not None
        assert (found.action, found.urgency) == (action, urgency)

    def test_it_is_looked_at_before_the_next_dose(self) -> None:
        found = self._gentamicin(earlier("4 d"), *injury(1))
        assert found is not None
        assert found.review_by == NOW + timedelta(hours=3)

    def test_by_a_time_of_the_day_that_is_written(self) -> None:
        due = (NOW + timedelta(hours=2)).strftime("%H:%M:%S")
        repeat = {"frequency": 1, "period": 1, "periodUnit": "d", "timeOfDay": [due]}
        found = self._gentamicin(earlier("4 d"), *injury(1), timing={"repeat": repeat})
        assert found is not None
        assert found.review_by == NOW + timedelta(hours=2)

    def test_a_dose_that_is_passed_or_unknown_changes_nothing(self) -> None:
        found = _of(*injury(1), text="Gentamicin", authoredOn=earlier("4 d"))
        assert found is not None
        assert found.review_by is not None
        assert found.review_by > NOW + timedelta(hours=3)


class TestOnce:
    """Ours: an order for one dose is over once that was given, or after a day."""

    @staticmethod
    def _lines(started: str, dose: str, *doses: Json, **rest: Any) -> MedicineFinding | None:
        line = {"dosageInstruction": [{"text": dose}], "authoredOn": earlier(started), **rest}
        return _of(*injury(1), *doses, text="Furosemide", **line)

    @pytest.mark.parametrize(
        ("dose", "goes_on"),
        [
            ("40 mg IV stat", False),
            ("40 mg once only", False),
            ("40 mg oral once", False),
            ("40 mg once daily", True),
            ("40 mg stat then 40 mg twice daily", True),
        ],
    )
    def test_what_was_given_has_no_next_dose(self, dose: str, goes_on: bool) -> None:
        one = given("Furosemide", earlier("4 h"))
        assert (self._lines("5 h", dose, one) is not None) is goes_on

    @pytest.mark.parametrize(("started", "goes_on"), [("23 h", True), ("25 h", False)])
    def test_what_nobody_gave_waits_for_a_day(self, started: str, goes_on: bool) -> None:
        assert (self._lines(started, "40 mg IV stat") is not None) is goes_on

    def test_a_dose_before_its_order_is_another(self) -> None:
        one = given("Furosemide", earlier("4 h"))
        assert self._lines("2 h", "40 mg IV stat", one) is not None

    def test_what_meets_it_is_met_while_it_acts(self) -> None:
        """A heparin of this morning and a direct anticoagulant now are two anticoagulants."""
        once = {
            **order("Enoxaparin", authoredOn=earlier("5 h")),
            "dosageInstruction": [{"text": "80 mg stat"}],
        }
        dose = given("Enoxaparin", earlier("4 h"))
        found = interactions(reviewed(*full_set(), once, dose, order("Apixaban 5 mg")))
        assert found["two-anticoagulants-named"].urgency is U

    @pytest.mark.parametrize(("ago", "is_named"), [("4 h", True), ("30 h", False)])
    def test_a_fall_beside_one_that_acts_or_is_over(self, ago: str, is_named: bool) -> None:
        once = {**order("Enoxaparin", authoredOn=earlier(ago)), "dosageInstruction": [{"text": "80 mg stat"}]}
        found = _findings(
            problem("Fall", since=earlier("2 h")), once, given("Enoxaparin", earlier(ago)), key="head-injury"
        )
        assert bool(found) is is_named

    def test_beside_bleeding_it_is_named_once(self) -> None:
        once = {
            **order("Enoxaparin", authoredOn=earlier("5 h")),
            "dosageInstruction": [{"text": "80 mg stat"}],
        }
        bleed = problem("Haematemesis", since=earlier("2 h"))
        (found,) = _findings(bleed, once, given("Enoxaparin", earlier("4 h")), key="possible-bleeding")
        assert found.sentence.count("Enoxaparin") == 1

    def test_a_single_dose_has_not_ended_by_mistake(self) -> None:
        """Hydrocortisone of an hour ago is in use; a day later somebody asks for the next."""
        for ago, is_missing in (("1 h", False), ("25 h", True)):
            once = order("Hydrocortisone", authoredOn=earlier(ago))
            once["dosageInstruction"] = [{"text": "100 mg IV stat"}]
            dose = given("Hydrocortisone", earlier(ago))
            (review,) = reviewed(
                *full_set(), problem("Addison's disease"), result("K", "6.1"), once, dose
            ).reviews
            said = [each.sentence for each in review.findings if each.kind is Kind.MEDICINE_MISSING]
            assert bool(said) is is_missing
            assert not any("meant to end" in each for each in said)

    def test_what_acts_for_days_is_not_over(self) -> None:
        dose = given("Methotrexate", earlier("38 h"))
        found = _of(*injury(1), dose, text="Methotrexate", dose="5 g once only", authoredOn=earlier("40 h"))
        assert found is not None
        assert found.action == "hold"

    def test_by_its_own_count(self) -> None:
        one = given("Furosemide", earlier("4 h"))
        dose = {"dosageInstruction": [{"text": "40 mg", "timing": {"repeat": {"count": 1}}}]}
        assert self._lines("5 h", "", one, **dose) is None


class TestBleedingThatIsOver:
    """Ours: the chart asks less once blood has been steady for a day since bleeding was written down."""

    @staticmethod
    def _of_bleeding(hours: str, text: str, dose: str) -> MedicineFinding | None:
        bleed = problem("Upper gastrointestinal bleed", since=earlier("60 h"))
        steady = [result("Hb", "86", earlier(hours)), result("Hb", "87")]
        return _of(bleed, *steady, text=text, dose=dose, authoredOn=earlier("20 h"))

    @pytest.mark.parametrize(
        ("hours", "text", "dose", "action", "urgency"),
        [
            ("25 h", "Enoxaparin", "40 mg once daily", "review", R),
            ("23 h", "Enoxaparin", "40 mg once daily", "hold", P),
            ("25 h", "Apixaban", "5 mg twice daily", "hold", P),
            ("23 h", "Apixaban", "5 mg twice daily", "hold", U),
        ],
    )
    def test_a_day_of_steady_blood(
        self, hours: str, text: str, dose: str, action: str, urgency: Urgency
    ) -> None:
        found = self._of_bleeding(hours, text, dose)
        assert found is not None
        assert (found.action, found.urgency) == (action, urgency)


class TestOnDialysis:
    def test_no_kidneys_are_waited_for(self) -> None:
        found = _of(problem("Long-term haemodialysis"), text="Codeine 30 mg", dose="four times daily")
        assert found is not None
        assert found.restart is not None
        assert found.restart.condition == "the renal team has agreed to it"


class TestBasalInsulin:
    @pytest.mark.parametrize(
        ("problem_text", "is_asked"),
        [("Type 1 diabetes mellitus", True), ("Type 2 diabetes mellitus", False)],
    )
    def test_its_end_beside_insulin_by_vein(self, problem_text: str, is_asked: bool) -> None:
        """Common practice: long-acting insulin goes on beside insulin by vein in type 1 diabetes."""
        basal = {**order("Insulin glargine", authoredOn=earlier("300 d")), "id": "b", "status": "stopped"}
        basal["dispenseRequest"] = {"validityPeriod": {"start": earlier("300 d"), "end": earlier("9 h")}}
        vein = order("Insulin soluble human 50 units in 50 mL", dosageInstruction=[{"text": "2 mL/h IV"}])
        found = _findings(problem(problem_text), basal, vein, key="long-treatment-ended")
        assert bool(found) is is_asked


class TestTuberculosis:
    @pytest.mark.parametrize(("since", "urgency"), [("40 d", P), ("2 h", U)])
    def test_a_liver_that_fails_in_long_known_tuberculosis(self, since: str, urgency: Urgency) -> None:
        """Ours: SOFA beside it is prompt, for it is long known; the medicine that harms the liver leads."""
        bilirubin = observation("bili", "14631-6", valueQuantity=quantity("90", "umol/L"))
        treated = {**order("Rifinah 300"), "id": "r"}
        tb = problem("Pulmonary tuberculosis", since=earlier(since))
        (found,) = _findings(tb, treated, bilirubin, key="sofa")
        assert found.urgency is urgency
