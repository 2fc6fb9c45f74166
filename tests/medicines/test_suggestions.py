"""What a suggestion carries: precedence, times, notes, cautions, urgency, and whose order it is."""

import json
from datetime import datetime, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from tests.medicines.wards import (
    RXNORM,
    about_medicines,
    injury,
    interactions,
    order,
    problem,
    result,
    reviewed,
    said_of,
    suggestions,
    the_only,
    unconfirmed,
)
from tests.records import (
    AT,
    Json,
    allergy,
    answer_of,
    asked_for,
    bundle,
    earlier,
    given,
    patient,
    taken,
    text,
)
from weatherglass.fhir.issues import IssueKey
from weatherglass.knowledge.medicines.rules.actions import PRECEDENCE
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP
from weatherglass.model.findings import Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.pipeline import review

IBUPROFEN = order("Ibuprofen 400 mg tablets", "M01AE01")
RAMIPRIL = order("Ramipril 5 mg capsules", "C09AA05")
WARFARIN = order("Warfarin 3 mg tablets", "B01AA03")
_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


class TestPrecedence:
    def test_one_suggestion_with_all_its_reasons(self) -> None:
        """Strongest first: hold before reduce or review before avoid before a level."""
        found = the_only(
            *injury(1), result("HR", "38"), result("K", "5.7"), order("Digoxin 125 micrograms", "C01AA05")
        )
        assert found.action == "hold"
        ranks = [[each.value for each in PRECEDENCE].index(reason.action) for reason in found.reasons]
        assert ranks == sorted(ranks)
        assert {reason.rule for reason in found.reasons} == {
            "aki-digoxin",
            "bradycardia-digoxin",
            "potassium-digoxin",
            "level-overdue-digoxin",
        }
        assert set(found.also) == {"reduce", "review", "measure level", "monitor"}

    def test_note_is_kept_beside_a_hold(self) -> None:
        """A beta-blocker in bradycardia: hold, and the note on sudden withdrawal stays."""
        found = the_only(result("HR", "38"), order("Bisoprolol 5 mg", "C07AB07"))
        assert found.action == "hold"
        assert "continue" not in found.also
        assert "angina, infarction or arrhythmia" in found.do_not_stop

    @pytest.mark.parametrize(
        ("name", "atc"),
        [
            ("Prednisolone 5 mg", "H02AB06"),
            ("Co-careldopa 25/100", "N04BA02"),
            ("Insulin glargine", "A10AE04"),
            ("Tacrolimus 1 mg", "L04AD02"),
            ("Pyridostigmine 60 mg", "N07AA02"),
            ("Epoprostenol infusion", "B01AC09"),
        ],
    )
    def test_never_held_whatever_is_the_matter(self, name: str, atc: str) -> None:
        """Everything at once, and still no hold of what must never be missed."""
        found = the_only(
            *injury(3),
            result("K", "6.7"),
            result("SBP", "84"),
            result("HR", "38"),
            result("RR", "8"),
            result("glucose", "2.8"),
            result("lactate", "6"),
            result("INR", "9"),
            result("Hb", "130", earlier("20 h")),
            result("Hb", "90"),
            order(name, atc),
        )
        assert found.action != "hold"
        assert all(reason.action != "hold" for reason in found.reasons)
        assert found.do_not_stop

    def test_do_not_stop_list_has_a_never_hold_for_each_tried(self) -> None:
        """The groups tried above are those that are never held."""
        assert {entry.key for entry in DO_NOT_STOP if entry.never_hold and not entry.when} == {
            "steroid",
            "dopaminergic",
            "insulin",
            "calcineurin",
            "antimyasthenic",
            "pulmonary-hypertension",
        }


class TestTimes:
    def test_new_and_continuing(self) -> None:
        """A suggestion began with its trigger or with the order, whichever is later."""
        high = [result("K", "6.3", earlier("30 h")), result("K", "6.2")]
        old = the_only(*high, RAMIPRIL)
        assert (old.state, old.since and old.since.isoformat()) == (
            State.CONTINUING,
            "2026-02-28T00:00:00+00:00",
        )
        young = the_only(*high, {**RAMIPRIL, "authoredOn": earlier("2 h")})
        assert young.state is State.NEW
        assert young.since is not None
        assert young.since.isoformat() == "2026-03-01T04:00:00+00:00"

    def test_since_the_circumstance_that_decided(self) -> None:
        """A review of days that becomes a hold today is new today."""
        kidneys = [
            result("creatinine", "80", earlier("6 d")),
            result("creatinine", "125", earlier("40 h")),
            result("creatinine", "170"),
        ]
        found = the_only(*kidneys, RAMIPRIL)
        assert (found.action, found.state) == ("hold", State.NEW)

    def test_deadlines(self) -> None:
        """A prompt hold is looked at again within 12 hours, its restart within 24."""
        answer = reviewed(*injury(2), RAMIPRIL)
        (found,) = suggestions(answer).values()
        as_of = answer.reviews[0].as_of
        assert as_of is not None
        assert found.review_by == as_of + timedelta(hours=12)
        assert found.restart is not None
        assert found.restart.by == as_of + timedelta(hours=24)
        assert "senior ward review" in found.restart.who


class TestLookAgain:
    """Ours, since no publication sets a time: it follows how bad what speaks for the hold is."""

    MORPHINE = order("Morphine 10 mg tablets", "N02AA01")
    SPIRONOLACTONE = order("Spironolactone 25 mg", "C03DA01")

    @pytest.mark.parametrize(
        ("resources", "hours"),
        [
            pytest.param([result("RR", "8"), MORPHINE], 1, id="opioid-breathing-8"),
            pytest.param(
                [result("RR", "8"), problem("Palliative care"), MORPHINE], 1, id="opioid-in-palliative-care"
            ),
            pytest.param(
                [result("RR", "10"), result("pCO2", "7.2"), MORPHINE], 1, id="opioid-carbon-dioxide"
            ),
            pytest.param([result("K", "6.6"), SPIRONOLACTONE], 1, id="potassium-6.6"),
            pytest.param([result("K", "6.2"), SPIRONOLACTONE], 4, id="potassium-6.2"),
            pytest.param(
                [result("K", "6.2", note=[{"text": "haemolysed"}]), SPIRONOLACTONE], 4, id="in-doubt"
            ),
            pytest.param([result("SBP", "98"), order("Amlodipine 5 mg", "C08CA01")], 12, id="pressure-98"),
            pytest.param([*injury(1), order("Atenolol 25 mg", "C07AB03")], 24, id="routine-review"),
        ],
    )
    def test_time(self, resources: list[Json], hours: int) -> None:
        """The more dangerous the trigger, the sooner."""
        answer = reviewed(*resources)
        (found,) = suggestions(answer).values()
        as_of = answer.reviews[0].as_of
        assert as_of is not None
        assert found.review_by == as_of + timedelta(hours=hours)
        assert any("again within 1 hour of an emergency" in source.locator for source in found.sources)

    @pytest.mark.parametrize("is_recorded", [True, False])
    def test_what_began_at_home_waits_for_nobody_before_the_stay(self, *, is_recorded: bool) -> None:
        """A stable low filtration on tablets from home: from admission, where that is known."""
        stay = {
            "resourceType": "Encounter",
            "id": "stay",
            "status": "in-progress",
            "class": {"code": "IMP"},
            "subject": {"reference": "Patient/p"},
            "period": {"start": earlier("6 h")},
        }
        old = order("Metformin 1 g", "A10BA02", authoredOn=earlier("90 d"))
        low = [result("eGFR", "22", earlier("60 d")), result("eGFR", "22", earlier("1 h"))]
        found = the_only(*low, old, *([stay] if is_recorded else []))
        known = earlier("6 h") if is_recorded else earlier("60 d")
        assert found.review_by == datetime.fromisoformat(known) + timedelta(hours=12)

    def test_a_site_may_ask_for_less(self) -> None:
        """What a site has chosen is the longest time of all."""
        choices = LocalChoices(medicine_review_within=timedelta(hours=6))
        answer = review(text(bundle(patient(), *injury(2), RAMIPRIL)), choices=choices)
        (found,) = suggestions(answer).values()
        assert answer.reviews[0].as_of is not None
        assert found.review_by == answer.reviews[0].as_of + timedelta(hours=6)


class TestUrgency:
    @pytest.mark.parametrize(
        ("resources", "urgency"),
        [
            ([result("K", "5.7"), RAMIPRIL], Urgency.ROUTINE),
            ([result("K", "6.1"), RAMIPRIL], Urgency.URGENT),
            ([result("K", "6.5"), RAMIPRIL], Urgency.EMERGENCY),
            ([*injury(1), IBUPROFEN], Urgency.PROMPT),
            ([*injury(3), IBUPROFEN], Urgency.URGENT),
            ([result("RR", "8"), order("Morphine 10 mg", "N02AA01")], Urgency.EMERGENCY),
            ([result("INR", "6"), WARFARIN], Urgency.PROMPT),
            ([result("INR", "9"), WARFARIN], Urgency.URGENT),
            ([result("SBP", "98"), order("Amlodipine 5 mg", "C08CA01")], Urgency.PROMPT),
            ([result("SBP", "85"), order("Amlodipine 5 mg", "C08CA01")], Urgency.URGENT),
            ([result("SBP", "85"), order("Clonidine 25 micrograms", "C02AC01")], Urgency.PROMPT),
        ],
    )
    def test_by_trigger_and_action(self, resources: list[Json], urgency: Urgency) -> None:
        """Ours: a hold follows the danger of its trigger; a review waits, unless that is urgent."""
        assert the_only(*resources).urgency is urgency


class TestNotes:
    def test_thrombosis_risks_beside_a_hold(self) -> None:
        """Atrial fibrillation with a past stroke and a recent clot are named, with whom to ask."""
        found = the_only(
            result("INR", "9"),
            problem("Atrial fibrillation"),
            problem("Stroke", status="inactive", since="2021-06"),
            problem("Pulmonary embolism", since="2026-01-20"),
            WARFARIN,
        )
        assert found.cautions[0].startswith("Thrombosis risk on record: atrial fibrillation with a previous")
        assert "venous thromboembolism within 3 months" in found.cautions[0]
        assert "haematology or cardiology" in found.cautions[0]
        assert "stroke within 3 months" not in found.cautions[0]

    def test_no_risk_recorded(self) -> None:
        """Nothing on record is no all-clear: the list to ask about is shown."""
        found = the_only(result("INR", "9"), WARFARIN)
        assert found.cautions[0].startswith("No high risk of thrombosis is recorded; ask about a mechanical")

    def test_unconfirmed_problem(self) -> None:
        """A problem that nobody has confirmed changes nothing and is named."""
        found = the_only(result("SBP", "92"), unconfirmed("Heart failure"), RAMIPRIL)
        assert found.action == "hold"
        assert "Not confirmed on the problem list, and not counted: Heart failure." in found.cautions
        sure = the_only(result("SBP", "92"), problem("Heart failure"), RAMIPRIL)
        assert sure.action == "review"

    def test_evidence_grade(self) -> None:
        """BMJ Open 2017: little direct evidence for pausing medicines in acute illness."""
        found = the_only(*injury(2), RAMIPRIL)
        assert found.limited_evidence.startswith("Evidence grade: limited")
        assert found.limited_evidence not in found.cautions, "it is said once for the whole chart"
        assert any("PMC5541442" in source.citation for source in found.sources)

    def test_no_sentence_twice(self) -> None:
        """Three reasons that bring the same advice with them give it once."""
        found = the_only(*injury(2), result("K", "6.2"), result("SBP", "92"), RAMIPRIL)
        assert len(found.reasons) == 3
        said = [sentence for caution in found.cautions for sentence in caution.split(". ")]
        assert len(said) == len(set(said))
        assert sum("plan the restart now" in sentence for sentence in said) == 1

    def test_unreliable_filtration_rate(self) -> None:
        """Where the dose hangs on filtration, the review says that the rate is not reliable now."""
        found = the_only(*injury(2), order("Gabapentin 300 mg", "N02BF01"))
        assert any("not reliable" in caution for caution in found.cautions)

    def test_allergy_for_context(self) -> None:
        """A recorded allergy that names an ingredient is shown; another is not."""
        allergies = [allergy(name, id=name) for name in ("Ibuprofen", "Penicillin")]
        (answer,) = reviewed(*injury(1), *allergies, IBUPROFEN).reviews
        (found,) = [f for f in answer.findings if f.kind is Kind.MEDICINE]
        assert [c for c in found.cautions if "allergy" in c] == ["Recorded allergy: Ibuprofen."]

    def test_words_that_say_more_than_the_code(self) -> None:
        """An ingredient that only the words name is reviewed and said to be only in the words."""
        found = the_only(*injury(1), order("Paracetamol with ibuprofen", "C09AA05"))
        assert any("also mentions ibuprofen" in caution for caution in found.cautions)
        assert {reason.rule for reason in found.reasons} == {"aki-nsaid", "aki-raas"}

    def test_words_and_code_that_name_different_medicines(self) -> None:
        """An NSAID by its code, paracetamol by its words: said beside the suggestion and among the issues."""
        answer = reviewed(*injury(2), order("Paracetamol 1 g tablets", "M01AE01"))
        (found,) = suggestions(answer).values()
        assert any("The name says paracetamol, the code ibuprofen" in one for one in found.cautions)
        assert any(issue.key is IssueKey.CONFLICT for issue in answer.issues)

    def test_words_that_say_the_same_are_no_contradiction(self) -> None:
        """A name with a part that no rule speaks of, or another spelling, contradicts nothing."""
        for name, atc in (("Codeine 30 mg / paracetamol 500 mg", "N02AJ06"), ("Aspirin 75 mg", "B01AC06")):
            answer = reviewed(*injury(2), order(name, atc))
            assert not any(issue.key is IssueKey.CONFLICT for issue in answer.issues)

    def test_pregnancy_and_childhood(self) -> None:
        """The rules are for adults, and do not weigh pregnancy."""
        pregnant = the_only(result("K", "6.1"), problem("Pregnant"), RAMIPRIL)
        assert any("obstetrics" in caution for caution in pregnant.cautions)
        child = suggestions(answer_of(patient("2018-05-01"), result("K", "6.1"), RAMIPRIL))["ramipril"]
        assert any("written for adults" in caution for caution in child.cautions)

    def test_reported_and_ended(self) -> None:
        """A statement and a dose of an ended order say what they are."""
        home = taken("Ibuprofen 400 mg", id="home")
        reported = the_only(*injury(1), home)
        assert "reported as taken, not ordered here" in reported.sentence
        assert reported.action == "hold"
        dose = given("Methotrexate 10 mg", earlier("60 h"), id="dose")
        ended = the_only(*injury(1), dose)
        assert (ended.action, ended.order) == ("avoid", "MedicationAdministration/dose")
        assert "last dose may still act" in ended.sentence
        assert any("The last dose was given at 22:00 on 26 February" in c for c in ended.cautions)

    def test_ended_by_mistake(self) -> None:
        """Levodopa whose order has ended, hours after a dose, in an illness: was that meant?"""
        dose = given(
            "Co-beneldopa 25/100",
            earlier("5 h"),
            id="dose",
            request={"reference": "MedicationRequest/co-beneldopa"},
        )
        stopped = order("Co-beneldopa 25/100", "N04BA02", status="stopped")
        found = the_only(*injury(1), dose, stopped)
        assert (found.action, found.order) == ("continue", "MedicationRequest/co-beneldopa")
        assert found.sentence.startswith("Co-beneldopa 25/100 has ended: ask whether that was meant")
        # Without any order, sent or named, nobody has ended it.
        alone = {**dose, "request": None}
        assert not any(
            "has ended" in one.sentence for one in suggestions(reviewed(*injury(1), alone)).values()
        )
        # What ended and is none of these is not asked about.
        ended = {**dose, "medicationCodeableConcept": {"text": "Amlodipine 5 mg"}, "request": None}
        assert suggestions(reviewed(*injury(1), ended)) == {}

    def test_when_needed(self) -> None:
        """A medicine given when needed is judged and labelled."""
        found = the_only(*injury(1), {**IBUPROFEN, "dosageInstruction": [{"asNeededBoolean": True}]})
        assert found.as_needed
        assert "(when needed)" in found.sentence

    def test_what_would_change_it(self) -> None:
        """A review says what would make it a hold, and a hold what would end it."""
        review = the_only(*injury(1), RAMIPRIL)
        (said,) = review.would_change
        assert said.startswith(
            "Would be 'consider holding' instead of 'look again' if the blood pressure is low,"
        )
        assert said.endswith(
            "there is sepsis, potassium reaches 6.0 or the kidney injury reaches stage 2 or 3."
        )
        hold = the_only(*injury(2), RAMIPRIL)
        (said,) = hold.would_change
        assert said.startswith("Would be 'look again' instead of 'consider holding'")
        assert said.endswith(" if the kidney injury is no longer stage 2 or 3.")
        pressure = the_only(result("SBP", "92"), RAMIPRIL)
        assert pressure.would_change == (
            "Would be 'look again' instead of 'consider holding' if there is heart failure.",
            "No longer suggested once the blood pressure is no longer low.",
        )

    def test_hold_of_several_rules(self) -> None:
        """While one rule holds, another that lets go changes nothing: all that has to pass is named."""
        both = the_only(*injury(2), result("SBP", "92"), RAMIPRIL)
        (said,) = both.would_change
        assert said.startswith(
            "Would be 'look again' instead of 'consider holding' if the blood pressure is no"
        )
        assert said.endswith(" low and the kidney injury is no longer stage 2 or 3.")
        more = the_only(*injury(2), result("SBP", "92"), result("K", "6.1"), RAMIPRIL)
        (said,) = more.would_change
        assert said.startswith("Stays 'consider holding' until all of this is so: ")
        assert said.count("the blood pressure is no longer low") == 1
        assert said.count(";") == 2

    def test_one_reason_behind_two_rules(self) -> None:
        """Amlodipine is held for the pressure alone, in kidney injury too: the other rule stays."""
        found = the_only(*injury(1), result("SBP", "92"), order("Amlodipine 5 mg", "C08CA01"))
        assert found.would_change == (
            "Would be 'look again' instead of 'consider holding' if the blood pressure is no longer low.",
        )

    def test_not_signed_yet(self) -> None:
        """What is not signed is avoided, not held, and the words say so."""
        found = the_only(*injury(1), order("Ramipril 2.5 mg", "C09AA05", status="draft"))
        assert found.would_change[0].startswith("Would be 'consider avoiding' instead of 'look again' if")

    def test_never_held(self) -> None:
        """No circumstance is said to make a hold of what is never held."""
        found = the_only(*injury(1), order("Tablets from abroad", "M01BA01"))
        assert not any("holding" in each for each in found.would_change)

    def test_in_doubt(self) -> None:
        """A haemolysed sample is repeated, and nothing is foretold from it."""
        found = the_only(result("K", "6.4", note=[{"text": "haemolysed"}]), RAMIPRIL)
        assert found.would_change == ("A repeat measurement decides: this one is in doubt.",)

    def test_how_it_was_recognised(self) -> None:
        """The method of the match is carried."""
        by_code = {**RAMIPRIL, "medicationCodeableConcept": {"coding": [{"system": RXNORM, "code": "35296"}]}}
        assert the_only(*injury(1), by_code).matched_by == "RxNorm ingredient code"
        assert the_only(*injury(1), order("Ramipril 5 MG Oral Capsule")).matched_by == "name"
        assert the_only(*injury(1), RAMIPRIL).matched_by == "ATC code"


class TestDrafts:
    @pytest.mark.parametrize(
        ("resources", "name", "atc", "action"),
        [
            (injury(1), "Ibuprofen 400 mg", "M01AE01", "avoid"),
            ([result("K", "6.2")], "Spironolactone 25 mg", "C03DA01", "avoid"),
            ([result("K", "5.2")], "Ramipril 2.5 mg", "C09AA05", "avoid"),
            ([result("K", "5.0")], "Ramipril 2.5 mg", "C09AA05", None),
            (injury(1), "Ramipril 2.5 mg", "C09AA05", "review"),
            (injury(1), "Gabapentin 300 mg", "N02BF01", "reduce"),
            (injury(1), "Iohexol 300", "V08AB02", "avoid"),
            ([result("SBP", "90")], "Prednisolone 30 mg", "H02AB06", None),
            # Whether to start at all comes before the dose: held for the kidneys, reviewed for potassium.
            ([*injury(1), result("K", "5.7")], "Ibuprofen 400 mg", "M01AE01", "avoid"),
        ],
    )
    def test_not_signed_yet(self, resources: list[Json], name: str, atc: str, action: str | None) -> None:
        """What would be held is not to be started; NICE NG203: no RAAS blocker above 5.0."""
        found = suggestions(reviewed(*resources, order(name, atc, status="draft")))
        assert [f.action for f in found.values()] == ([action] if action else [])
        if action == "avoid":
            (only,) = found.values()
            assert only.sentence.startswith("Consider not starting")
            assert "not signed yet" in only.sentence
            assert only.restart is None


class TestLeftOut:
    @pytest.mark.parametrize(
        "rest",
        [
            {"doNotPerform": True},
            {"intent": "proposal"},
            {"intent": "option"},
            {"status": "cancelled"},
            {"status": "entered-in-error"},
        ],
        ids=str,
    )
    def test_no_order_to_give(self, rest: dict[str, Any]) -> None:
        """What is not meant to be given is not on the chart, and is named among what was not used."""
        answer = reviewed(*injury(2), {**IBUPROFEN, **rest})
        assert about_medicines(answer) == []
        assert IssueKey.NOT_FINAL in {issue.key for issue in answer.issues}

    def test_another_patient(self) -> None:
        """One patient's kidneys say nothing about another's chart."""
        theirs = {**IBUPROFEN, "subject": {"reference": "Patient/q"}, "id": "theirs"}
        answer = answer_of(patient(), patient(id="q"), *injury(2), theirs)
        assert about_medicines(answer) == []

    def test_recognised_and_untouched(self) -> None:
        """Recognised medicines that no rule speaks of yield nothing, and are counted."""
        answer = reviewed(
            *injury(2),
            order("Paracetamol 1 g", "N02BE01"),
            order("Atorvastatin 20 mg tablets"),
            order("What?"),
        )
        assert [f.kind for f in about_medicines(answer)] == [Kind.MEDICINE_NOT_REVIEWED]
        review = answer.reviews[0]
        assert (review.medicines_reviewed, review.medicines_not_recognised) == (2, 1)

    def test_requested_contrast_is_not_given_contrast(self) -> None:
        """A request for contrast sets the rules off as asked for."""
        scan = asked_for("CT abdomen with contrast", id="ct", authoredOn=AT)
        found = the_only(result("Na", "140"), scan, IBUPROFEN)
        assert "contrast imaging asked for: CT abdomen with contrast" in found.sentence


class TestOrderDoesNotMatter:
    def test_order_of_the_chart(self) -> None:
        """Any order of the entries gives the same findings in the same order."""
        chart = [RAMIPRIL, IBUPROFEN, order("Furosemide 40 mg", "C03CA01"), order("Unknown X")]
        rest = [*injury(2), result("K", "6.1")]
        expected = about_medicines(reviewed(*rest, *chart))
        assert len(expected) >= 5
        for each in permutations(chart):
            assert about_medicines(reviewed(*each, *rest)) == expected

    @pytest.mark.parametrize("path", sorted(_WARD.glob("*.json")), ids=lambda path: str(path.stem))
    def test_reversed_ward(self, path: Path) -> None:
        """The demo ward backwards says the same of every medicine."""
        entries = json.loads(path.read_text("utf-8"))["entry"]
        resources = [entry["resource"] for entry in entries]
        assert about_medicines(answer_of(*resources)) == about_medicines(answer_of(*reversed(resources)))


class TestWording:
    def test_everything_on_the_ward(self) -> None:
        """No sentence about a medicine of the demo ward orders anything."""
        told: list[MedicineFinding] = []
        for path in sorted(_WARD.glob("*.json")):
            resources = [entry["resource"] for entry in json.loads(path.read_text("utf-8"))["entry"]]
            told += suggestions(answer_of(*resources)).values()
        assert len(told) > 20
        for finding in told:
            said = said_of(finding)
            assert "stop " not in said.replace("do not stop ", "").replace("not be stopped", "").casefold()
            assert finding.sentence.startswith(("Consider", "Possibly spurious:", finding.medicine[:10])), (
                finding.sentence
            )


class TestDoubt:
    def test_two_values_on_both_sides_of_a_limit(self) -> None:
        """A pressure recorded as 95 and as 108 at one time holds nothing: measured again first."""
        at_once = [result("SBP", "95", id="one"), result("SBP", "108", id="other")]
        found = the_only(*at_once, order("Amlodipine 5 mg tablets", "C08CA01"))
        assert found.action == "review"
        assert found.sentence.startswith("Possibly spurious: systolic blood pressure")
        assert "two different values are recorded for that time" in found.sentence
        assert "If it is confirmed: consider holding the next dose of Amlodipine" in found.sentence

    def test_doubtful_trigger_makes_no_combination(self) -> None:
        """In adrenal insufficiency a haemolysed potassium is not said to be in danger of a crisis."""
        known = (problem("Addison's disease"), order("Hydrocortisone 10 mg tablets", "H02AB09"))
        doubtful = reviewed(result("K", "6.6", note=[{"text": "haemolysed"}]), *known)
        sure = reviewed(result("K", "6.6"), *known)
        assert interactions(doubtful) == {}
        assert "adrenal-potassium" in interactions(sure)

    def test_one_product_of_what_is_held_and_what_never_is(self) -> None:
        """An NSAID with a steroid in one product: the steroid in it is never held."""
        found = the_only(*injury(2), order("Tablets from abroad", "M01BA01"))
        assert found.action == "review"
        assert "adrenal crisis" in found.do_not_stop


class TestThrombosisRisksThatAreUnsure:
    """Ours: a risk that nobody has confirmed or dated is shown with that said."""

    @pytest.mark.parametrize(
        ("problem_", "said"),
        [
            pytest.param(problem("Pulmonary embolism", since="2026-02-01"), "months.", id="sure"),
            pytest.param(problem("Pulmonary embolism"), "(no date recorded)", id="no-date"),
            pytest.param(unconfirmed("Mechanical mitral valve"), "(not confirmed)", id="not-confirmed"),
            pytest.param(
                unconfirmed("Pulmonary embolism"), "(not confirmed, no date recorded)", id="neither"
            ),
        ],
    )
    def test_what_is_unsure(self, problem_: Json, said: str) -> None:
        answer = reviewed(result("INR", "6.4"), problem_, order("Warfarin 3 mg", "B01AA03"))
        (found,) = suggestions(answer).values()
        risk = next(c for c in found.cautions if c.startswith("Thrombosis risk on record"))
        assert said in risk
        assert ("not confirmed" in risk) == ("not confirmed" in said)
        assert ("no date" in risk) == ("no date" in said)


@pytest.mark.parametrize(
    ("dosage", "begins"),
    [
        (
            "20 mg over 24 hours by syringe driver",
            "Consider stopping or pausing Morphine, which may be running",
        ),
        ("10 mg every 24 hours", "Consider holding the next dose of Morphine"),
        ("10 mg/h intravenous infusion", "Consider stopping or pausing Morphine, which may be running"),
        ("25 micrograms/h", "Consider holding the next dose of Morphine"),
    ],
)
def test_what_runs_on_has_no_next_dose(dosage: str, begins: str) -> None:
    """By the words of the order, where no dose says that it runs; our choice."""
    drug = order("Morphine", dosageInstruction=[{"text": dosage}])
    assert the_only(result("RR", "7"), drug).sentence.startswith(begins)
