"""The handover as it is said: each fact in its own place, and blanks named.

The four parts are those of SBAR; what goes into each is common practice and our choice.
"""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.medicines.wards import ATC, injury, order, problem, result, reviewed, unconfirmed
from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    observation,
    patient,
    procedure,
    quantity,
    stay,
)
from weatherglass.handover.aloud.chart_aloud import chart_aloud
from weatherglass.handover.until_then import LOOK_AGAIN
from weatherglass.knowledge.investigations import INVESTIGATIONS, Investigation
from weatherglass.model.findings import ScoreFinding
from weatherglass.model.review import Review
from weatherglass.pipeline import review

_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


def _review(*resources: Json) -> Review:
    (one,) = reviewed(*resources).reviews
    return one


def _starting(sentences: tuple[str, ...], words: str) -> str:
    (found,) = (s for s in sentences if s.startswith(words))
    return found


def _stay(identity: str, starts: str, ends: str | None, place: str, reason: str, bed: str = "") -> Json:
    locations = [{"location": {"display": place}}]
    if bed:
        locations = [{"location": {"display": bed}}]
    return stay(
        id=identity,
        status="in-progress" if ends is None else "finished",
        period={"start": earlier(starts), **({"end": earlier(ends)} if ends is not None else {})},
        location=locations,
        reasonCode=[{"text": reason}],
    )


def _of_the_ward(name: str) -> tuple[str, ...]:
    """Return the recommendation of a demo patient's handover."""
    (one,) = review((_WARD / f"{name}.json").read_bytes()).reviews
    return one.handover.recommendation


class TestDrugChart:
    """What a prescriber is asked to decide, each medicine with what is asked about it."""

    def test_each_medicine_is_asked_about_once_and_rightly(self) -> None:
        """An NSAID in kidney injury is a hold; a beta-blocker and amlodipine are not."""
        one = _review(
            *injury(1),
            order("Ibuprofen 400 mg", "M01AE01"),
            order("Morphine 10 mg", "N02AA01"),
            order("Furosemide 40 mg", "C03CA01"),
        )
        said = one.handover.recommendation
        assert _starting(said, "Drug chart, please decide whether to hold: ").startswith(
            "Drug chart, please decide whether to hold: Ibuprofen 400 mg, because of acute kidney injury"
        )
        assert _starting(said, "Drug chart, please decide whether to reduce: ").startswith(
            "Drug chart, please decide whether to reduce: Morphine 10 mg, because of acute kidney injury"
        )
        assert "Drug chart, less urgent: Furosemide 40 mg." in said
        (alone,) = (
            one
            for one in _review(*injury(1), order("Furosemide 40 mg", "C03CA01")).handover.recommendation
            if one.startswith("Drug chart")
        )
        assert alone.startswith(
            "Drug chart, please decide whether to review: Furosemide 40 mg, because of acute kidney injury"
        )

    def test_one_line_is_asked_one_thing_with_its_allergy_named(self) -> None:
        """Held in kidney injury and in question by an allergy: "hold" and "review" of one line contradict."""
        allergy = {
            "resourceType": "AllergyIntolerance",
            "id": "a",
            "patient": {"reference": "Patient/p"},
            "code": {"text": "Ibuprofen"},
            "reaction": [{"manifestation": [{"text": "bronchospasm"}]}],
        }
        lines = (order("Celecoxib 100 mg"), order("Aspirin 75 mg"))
        told = _review(*injury(1), allergy, *lines).handover.recommendation
        asked = [said for said in told if said.startswith("Drug chart, please decide whether to ")]
        assert sum("Celecoxib" in said for said in asked) == 1
        assert any(
            said.endswith("Aspirin 75 mg, because of recorded allergy: Ibuprofen (bronchospasm).")
            for said in asked
        )

    def test_an_order_not_signed_yet(self) -> None:
        """Whether to start it is asked as well."""
        one = _review(*injury(1), order("Ibuprofen 400 mg", "M01AE01", status="draft"))
        assert _starting(one.handover.recommendation, "Drug chart, please decide whether to avoid: ")

    def test_more_than_eight_are_counted(self) -> None:
        """Ten to hold: eight are named."""
        names = (
            "Ibuprofen",
            "Naproxen",
            "Diclofenac",
            "Ketoprofen",
            "Celecoxib",
            "Etoricoxib",
            "Meloxicam",
            "Etodolac",
            "Piroxicam",
            "Tenoxicam",
        )
        one = _review(*injury(1), *(order(name) for name in names))
        said = _starting(one.handover.recommendation, "Drug chart, please decide whether to hold: ")
        named = said.partition(": ")[2].partition(", because")[0]
        assert named.count(",") == 7
        assert named.endswith(" and 2 more")

    def test_what_is_asked_alike_is_said_once_with_what_all_have(self) -> None:
        """For potassium and kidneys four are one line; metformin is not, whose first reason is another."""
        said = _of_the_ward("04-aki-nephrotoxics")
        first, second = (one for one in said if one.startswith("Drug chart, "))
        injury_said = "acute kidney injury stage 2"
        assert first.endswith(f"because of potassium 6.2 mmol/L; {injury_said}.")
        assert all(name in first for name in ("Ibuprofen", "Ramipril", "Spironolactone", "Trimethoprim"))
        assert f"Metformin 1 g tablets, because of {injury_said}" in second

    def test_the_first_reason_of_a_hold_is_never_left_out(self) -> None:
        """Lithium at a level of poisoning was to be held "because of acute kidney injury", with an NSAID."""
        level = observation("l", "14334-7", valueQuantity=quantity("1.9", "mmol/L"))
        lines = (order("Lithium carbonate 400 mg"), order("Ibuprofen 400 mg"))
        said = _review(*injury(1), level, *lines).handover.recommendation
        assert any("Lithium carbonate 400 mg, because of lithium level 1.9 mmol/L" in one for one in said)

    @pytest.mark.parametrize("is_hurt", [False, True])
    def test_a_combination_that_a_hold_ends_is_not_told(self, *, is_hurt: bool) -> None:
        """With an injured kidney methotrexate is to be held, and so is what it does with trimethoprim."""
        chart = (order("Methotrexate 10 mg weekly", "L04AX03"), order("Trimethoprim 200 mg", "J01EA01"))
        one = _review(*(injury(1) if is_hurt else ()), *chart)
        told = [said for said in chart_aloud(one.findings, None) if said.startswith("Drug chart, together: ")]
        assert len(told) == (not is_hurt)
        assert one.escalation is not None
        assert not any("together" in said for said in chart_aloud(one.findings, one.escalation.because))
        assert not any("Methotrexate" in said for said in one.handover.assessment)

    def test_a_value_in_doubt_is_a_condition(self) -> None:
        """The potassium of 6.4 comes from a haemolysed sample: the medicine waits for its repeat."""
        said = _starting(_of_the_ward("09-incomplete-after-operation"), "Drug chart, ")
        assert said == (
            "Drug chart, please decide whether to review: Enoxaparin 40 mg/0.4 mL injection "
            "(once the potassium is repeated and confirmed)."
        )

    def test_what_is_asked_once_it_is_confirmed(self) -> None:
        """A true 6.6 would hold spironolactone; a low pressure holds it too and waits for nothing."""
        spironolactone = order("Spironolactone 25 mg tablets", "C03DA01")
        haemolysed = result("K", "6.6", note=[{"text": "Sample haemolysed"}])
        doubtful = _review(haemolysed, spironolactone)
        assert _starting(doubtful.handover.recommendation, "Drug chart, ") == (
            "Drug chart, please decide whether to hold: Spironolactone 25 mg tablets "
            "(once the potassium is repeated and confirmed)."
        )
        low = _review(
            haemolysed, result("SBP", "84"), spironolactone, order("Amlodipine 5 mg tablets", "C08CA01")
        )
        asked = [one for one in low.handover.recommendation if one.startswith("Drug chart, ")]
        assert all(one.startswith("Drug chart, please decide whether to hold: ") for one in asked)
        said = " ".join(asked)
        assert "Spironolactone 25 mg tablets" in said
        assert "Amlodipine 5 mg tablets" in said
        assert "once" not in said

    @pytest.mark.parametrize("name", ["04-aki-nephrotoxics", "07-drowsy-opioids"])
    def test_no_condition_without_a_doubt(self, name: str) -> None:
        """Nothing is put off that nobody doubts."""
        asked = [s for s in _of_the_ward(name) if s.startswith("Drug chart, ")]
        assert asked
        assert not any("once the" in s for s in asked)


class TestBackground:
    def test_the_last_operation(self) -> None:
        operation = procedure("Anterior resection of rectum", id="op", performedDateTime=earlier("4 d"))
        said = _starting(_review(*full_set(), operation).handover.background, "Post-operative day 4")
        assert "Anterior resection of rectum" in said

    """What is known of the patient."""

    def test_problems_that_are_there_and_confirmed(self) -> None:
        """What is over, and what nobody has confirmed, is not said as known."""
        one = _review(
            result("K", "4.2"),
            problem("Heart failure"),
            problem("Cataract", status="resolved", abatementDateTime="2020-01-01"),
            unconfirmed("Epilepsy"),
        )
        assert _starting(one.handover.background, "Known: ") == "Known: Heart failure."

    def test_the_reason_of_the_last_stay(self) -> None:
        """Where the patient is, and why, are those of now."""
        one = _review(
            *full_set(),
            _stay("old", "400 d", "390 d", "Heron Ward", "Hip fracture"),
            _stay("new", "2 d", None, "Tern Ward", "Pneumonia"),
        )
        assert "with: Pneumonia." in _starting(one.handover.background, "Admitted")
        assert _starting(one.handover.background, "Known") == "Known: not recorded."
        assert one.place == "Tern Ward"
        assert one.handover.situation[0].endswith("on Tern Ward.")

    def test_a_visit_of_before_is_not_why(self) -> None:
        """In whatever order stays are sent."""
        one = _review(
            *full_set(),
            problem("Pneumonia"),
            _stay("new", "2 d", None, "Tern Ward", "Pneumonia"),
            _stay("old", "40 d", "39 d", "Clinic", "Vaccination"),
        )
        assert "with: Pneumonia." in _starting(one.handover.background, "Admitted")
        assert _starting(one.handover.background, "Known") == "Known: nothing else."

    def test_a_stay_without_a_reason_is_told_by_its_problem(self) -> None:
        """The call says "here for" too."""
        told = problem("Pneumonia", recordedDate=earlier("20 h"))
        one = _review(*full_set(), told, stay(period={"start": earlier("24 h")}))
        assert "Here for pneumonia" in _starting(one.handover.background, "Admitted")

    def test_who_is_not_known_to_be_admitted_is_not_said_to_be(self) -> None:
        """A fall of this morning and no stay: "Admitted. Here for fall" was said."""
        fell = {"onsetDateTime": earlier("3 h"), "recordedDate": earlier("3 h")}
        background = _review(problem("Fall", **fell), *full_set()).handover.background
        assert background[0].startswith("Here for fall")
        assert not any(line.startswith("Admitted") for line in background)

    def test_an_order_that_each_dose_closes(self) -> None:
        closed = order("Ramipril", status="completed")
        one = _review(*full_set(), closed, given("Ramipril", earlier("1 h")))
        assert _starting(one.handover.background, "On the chart") == (
            "On the chart: no order now; given lately: Ramipril."
        )

    def test_blanks_are_named(self) -> None:
        """Neither a name nor a ward is left out in silence."""
        one = _review(result("K", "4.2"))
        assert one.handover.situation[0] == (
            "I am calling about a patient whose name is not recorded, born 1 June 1950, number not recorded, "
            "75 years old, female, on a ward that is not recorded."
        )


class TestAssessment:
    """Pressing findings, each under its own letter."""

    def test_each_letter_has_its_own(self) -> None:
        one = _review(*full_set(), result("K", "6.7"), result("glucose", "2.4"))
        said = one.handover.assessment
        assert "Potassium 6.7" in _starting(said, "Circulation: ")
        assert "Glucose" not in _starting(said, "Circulation: ")
        assert "Glucose 2.4" in _starting(said, "Disability: ")

    def test_what_is_past_is_not_pressed(self) -> None:
        """A potassium that has come down is neither told nor investigated."""
        one = _review(*full_set(), result("K", "6.7", earlier("5 h")), result("K", "4.4"))
        assert not any("Potassium" in s for s in one.handover.assessment)
        assert one.investigations == ()
        high = _review(*full_set(), result("K", "6.7"))
        assert "12-lead ECG" in high.at_bedside

    def test_a_low_pressure_that_is_usual_is_told(self) -> None:
        """The one who is called would ask."""
        usual = [result("SBP", "92", earlier(f"{days} d")) for days in range(1, 8)]
        one = _review(*full_set(systolic_pressure="93 mm[Hg]"), *usual, problem("Chronic hypotension"))
        assert any("pressure" in s.lower() for s in one.handover.assessment[1:])


class TestHowUrgent:
    """The one who is called hears at once how urgent it is, and the worst before the rest."""

    @pytest.mark.parametrize(
        ("resources", "said"),
        [
            pytest.param(
                [result("K", "6.7")],
                "This is an emergency call: please come within 30 minutes, by 10:30.",
                id="6.7",
            ),
            pytest.param(
                [result("K", "6.1")], "This is an urgent call: please come within 1 hour, by 11:00.", id="6.1"
            ),
            pytest.param(
                [result("K", "5.6")],
                "This is a call for prompt review: please come within 4 hours, by 14:00.",
                id="5.6",
            ),
        ],
    )
    def test_second_of_all(self, resources: list[Json], said: str) -> None:
        """UK Kidney Association: severe from 6.5, moderate from 6.0, mild from 5.5; deadlines are ours."""
        one = _review(*full_set(), *resources)
        assert one.handover.situation[1] == said
        assert one.handover.situation[2].startswith("What worries me most: Potassium")

    def test_a_call_for_the_chart_alone_asks_nobody_to_run(self) -> None:
        """Common practice, no source: two medicines that do not go together are put right at the chart."""
        together = (order("Clarithromycin 500 mg", "J01FA09"), order("Simvastatin 40 mg", "C10AA01"))
        one = _review(*full_set(), *together)
        assert "please look at the drug chart" in one.handover.situation[1]
        assert one.handover.recommendation[0].startswith("Please look at the drug chart with me")
        ill = _review(*full_set(), *together, result("K", "5.6"))
        assert "please come" in ill.handover.situation[1]

    def test_nothing_to_call_about(self) -> None:
        assert not any("call:" in s for s in _review(*full_set()).handover.situation)

    def test_the_worst_letter_first_and_the_whole_patient_next(self) -> None:
        """A glucose of 2.4 stands under disability, which would come after circulation."""
        one = _review(*full_set(pulse="95 /min"), result("K", "6.1"), result("glucose", "2.4"))
        titles = [s.partition(":")[0] for s in one.handover.assessment[1:]]
        assert titles == ["Disability", "Circulation", "Results at 10"]

    def test_the_score_speaks_for_the_whole_patient(self) -> None:
        day_before = [{**r, "id": f"{r['id']}-0", "effectiveDateTime": earlier("10 h")} for r in full_set()]
        ill = full_set(pulse="135 /min", respiration_rate="28 /min", spo2="90 %")
        one = _review(*day_before, *ill, result("K", "6.1"))
        titles = [s.partition(":")[0] for s in one.handover.assessment[1:]]
        assert titles[0] == "Overall"


class TestUntilThen:
    """How often to look again: the interval of the score where it decided or is the shorter one."""

    def test_the_score_decided(self) -> None:
        """RCP NEWS2 2017, Chart 4: at least hourly at 5 to 6."""
        one = _review(*full_set(respiration_rate="22 /min", spo2="93 %", pulse="95 /min"))
        assert _starting(one.handover.recommendation, "Until then") == (
            "Until then: Observations: at least hourly."
        )

    def test_something_else_decided(self) -> None:
        """Every 4 to 6 hours at a total of 1 is no answer to a glucose of 2.9."""
        one = _review(*full_set(pulse="95 /min"), result("glucose", "2.9"))
        assert _starting(one.handover.recommendation, "Until then") == (
            f"Until then: Consider treating the low glucose now. Stay with the patient. {LOOK_AGAIN}"
        )

    def test_the_interval_is_the_shorter_one(self) -> None:
        """A call within the hour for a potassium, and hourly observations for a single 3."""
        one = _review(*full_set(respiration_rate="25 /min"), result("K", "6.1"))
        assert "at least hourly" in _starting(one.handover.recommendation, "Until then")

    def test_nobody_is_called(self) -> None:
        one = _review(*full_set())
        assert _starting(one.handover.recommendation, "Observations") == (
            "Observations: at least every 12 hours; then look again."
        )

    def test_without_a_single_vital_sign(self) -> None:
        one = _review(result("K", "6.7"))
        said = _starting(one.handover.recommendation, "Until then")
        assert said == f"Until then: {one.at_bedside} {LOOK_AGAIN}"
        assert said.startswith(
            "Until then: 12-lead ECG and heart monitor now. Stay with the patient. Take a full set"
        )
        none = _review(result("K", "4.2"))
        assert "Observations: a full set now; then look again." in none.handover.recommendation

    def test_at_the_end_of_life(self) -> None:
        """Ours: nobody is sent to measure a dying patient whose observations were stopped."""
        plan = {
            "resourceType": "CarePlan",
            "id": "plan",
            "status": "active",
            "intent": "plan",
            "subject": {"reference": "Patient/p"},
            "title": "End of life care plan",
            "description": "End of life care, comfort first",
            "created": earlier("20 h"),
        }
        one = _review(plan, *full_set(temperature=None))
        assert one.is_limited, one.ceiling
        assert _starting(one.handover.recommendation, "Observations").endswith("stopped on purpose.")
        (score,) = (f for f in one.findings if isinstance(f, ScoreFinding) and f.key == "news2")
        assert (score.response, score.monitoring) == ("", "")


class TestNothingMeasured:
    """A record of results alone is told as such, with the results."""

    def test_one_creatinine(self) -> None:
        one = _review(result("creatinine", "118"))
        assert "Not assessed: no vital signs are recorded." in one.handover.situation
        assert one.handover.assessment[:2] == (
            "Observations: not recorded, so how the patient is now is not known.",
            "Results at 10:00 on 1 March: creatinine 118 \u00b5mol/L.",
        )

    def test_many_results_are_counted(self) -> None:
        """By the moment of the sample, the newest first; ours."""
        names = ("K", "Na", "Mg", "creatinine", "Hb", "INR", "platelets", "lactate", "digoxin")
        values = ("4.2", "139", "0.9", "70", "130", "1.0", "220", "1.1", "0.8")
        one = _review(
            *(result(n, v, earlier("2 h")) for n, v in zip(names, values, strict=True)),
            result("glucose", "6"),
        )
        first, second, *_ = (s for s in one.handover.assessment if s.startswith("Results"))
        assert first == "Results at 10:00 on 1 March: glucose 6 mmol/L."
        assert second.startswith("Results at 08:00 on 1 March: Hb 130 g/L, platelets 220")
        other = _starting(one.handover.assessment, "Other results: ")
        assert "magnesium 0.9 mmol/L" in other
        assert second.endswith("INR 1.0, digoxin 0.8 \u00b5g/L.")

    def test_what_is_missing_of_a_score_is_named(self) -> None:
        one = _review(*full_set(consciousness=None))
        assert _starting(one.handover.situation, "NEWS2").startswith("NEWS2 is at least 0 and at most 3")
        assert _starting(one.handover.assessment, "Observations").endswith("not recorded: consciousness.")


class TestWorthHaving:
    """Items joined by commas: each can be told from the next, and each is named once."""

    @pytest.mark.parametrize("one", INVESTIGATIONS, ids=lambda one: one.name)
    def test_no_item_reads_as_two(self, one: Investigation) -> None:
        for name in filter(None, (one.name, one.once_treated)):
            assert "," not in name
            assert ";" not in name
            assert " and " not in name

    def test_ketoacidosis_without_a_glucose_asks_for_one(self) -> None:
        """Common practice, no source: glucose and potassium are what its treatment turns on."""
        diabetes = problem("Type 2 diabetes mellitus")
        ketones = observation("k", "6873-4", valueQuantity=quantity("3.4", "mmol/L"))
        acid = observation("v", "2746-6", valueQuantity=quantity("7.24", "[pH]"))
        one = _review(diabetes, ketones, acid)
        assert {"capillary glucose", "renal profile"} <= set(one.investigations)

    def test_each_once(self) -> None:
        """An ECG is asked for by the score and by the potassium, and at the bedside already."""
        ill = full_set(pulse="135 /min", respiration_rate="28 /min", spo2="90 %")
        one = _review(*ill, result("K", "6.7"))
        assert one.at_bedside.count("12-lead ECG") == 1
        assert "12-lead ECG" not in one.investigations
        assert "potassium again by 11:00" in one.investigations

    @pytest.mark.parametrize(
        ("before", "said"),
        [
            pytest.param(
                None, "blood cultures before antimicrobials if that does not delay them", id="none-given"
            ),
            pytest.param("2 h", "blood cultures", id="given"),
            pytest.param("24 h", "blood cultures", id="given-a-day-ago"),
            pytest.param(
                "25 h", "blood cultures before antimicrobials if that does not delay them", id="long-ago"
            ),
        ],
    )
    def test_cultures_before_what_was_given_already(self, before: str | None, said: str) -> None:
        """Ours: a dose of the last 24 hours is treatment that goes on."""
        ill = full_set(pulse="135 /min", respiration_rate="28 /min", spo2="90 %")
        given = [] if before is None else [_given("Co-amoxiclav 1.2 g", "J01CR02", earlier(before))]
        one = _review(*ill, problem("Community acquired pneumonia", since=earlier("1 h")), *given)
        assert [name for name in one.investigations if name.startswith("blood cultures")] == [said]


def _given(name: str, atc: str, at: str) -> Json:
    return {
        "resourceType": "MedicationAdministration",
        "id": "given",
        "status": "completed",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": name, "coding": [{"system": ATC, "code": atc}]},
        "effectiveDateTime": at,
    }


def test_the_age_of_the_data_is_that_of_the_newest_round() -> None:
    """Not of the first."""
    first = [{**r, "id": f"{r['id']}-0", "effectiveDateTime": earlier("30 h")} for r in full_set()]
    (one,) = answer_of(patient(), *first, *full_set()).reviews
    assert one.data_age == "Newest vital signs 10:00 on 1 March."
    late = datetime.fromisoformat(AT) + timedelta(hours=13)
    (old,) = answer_of(patient(), *first, *full_set(), as_of=late).reviews
    assert "13 hours before this review: too old to rely on" in old.data_age


def test_a_childs_temperature_and_alertness_are_read_out() -> None:
    """Bedside PEWS has no row for either; common practice, no source: a call names them."""
    one = answer_of(patient("2019-01-01"), *full_set(temperature="38.5 Cel")).reviews[0]
    said = _starting(one.handover.assessment, "Observations ")
    assert "temperature 38.5" in said
    assert said.count("alert") == 1
    grown = answer_of(patient(), *full_set(temperature="38.5 Cel")).reviews[0]
    assert _starting(grown.handover.assessment, "Observations ").count("temperature") == 1


def test_a_girl_with_child_is_for_those_who_deliver_and_those_who_know_her_age() -> None:
    """Severe hypertension at 15 in pregnancy: the sentence asks for obstetrics, and so does the call."""
    girl = patient("2011-01-01")
    (review,) = answer_of(
        girl,
        problem("Pregnancy, 30 weeks"),
        observation("bp", "8480-6", valueQuantity=quantity("168", "mm[Hg]")),
    ).reviews
    assert review.escalation is not None
    assert review.escalation.roles[:2] == ("obstetric registrar", "paediatric registrar")


@pytest.mark.parametrize(
    ("born", "role"),
    [("2015-01-01", "paediatric critical care team"), ("1960-01-01", "critical care outreach team")],
)
def test_who_brings_critical_care(born: str, role: str) -> None:
    """Outreach of adults sees no children; our choice, a role of its own."""
    (review,) = answer_of(patient(born), *full_set(spo2="80 %")).reviews
    assert review.escalation is not None
    assert review.escalation.roles[-1] == role
