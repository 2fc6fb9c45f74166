"""Named rules beside pregnancy, hospital stays, antibacterials, doses and ways in, through the real door.

Expected: the publication that each row of `named_rules.toml` names; rows marked "common practice" have no
source. How soon each is asked is our choice.
"""

import pytest

from tests.medicines.named import PROBLEMS, P, R, U, said, value
from tests.medicines.wards import injury, order, problem, result, reviewed, suggestions
from tests.records import Json, answer_of, asked_for, earlier, given, observation, patient, stay
from weatherglass.knowledge.medicines.named_rules import BY_TRIGGER
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

#: What a pregnancy forbids, the rule that speaks, its action and how soon.
IN_PREGNANCY = [
    ("Sodium valproate 500 mg MR tablets", "pregnancy-valproate", "review", U),
    ("Topiramate 50 mg", "pregnancy-topiramate", "review", P),
    ("Ramipril 5 mg", "pregnancy-renin-angiotensin", "hold", P),
    ("Entresto 49/51 mg", "pregnancy-renin-angiotensin", "hold", P),
    ("Methotrexate 10 mg", "pregnancy-methotrexate", "hold", U),
    ("Isotretinoin 20 mg", "pregnancy-teratogen", "hold", U),
    ("Mycophenolate mofetil 500 mg", "pregnancy-teratogen-with-its-team", "review", U),
    ("Ibuprofen 400 mg", "pregnancy-nsaid", "review", P),
    ("Warfarin 3 mg", "pregnancy-vitamin-k-antagonist", "review", P),
    ("Apixaban 5 mg", "pregnancy-doac", "review", P),
    ("Doxycycline 100 mg", "pregnancy-tetracycline", "review", P),
    ("Atorvastatin 20 mg", "pregnancy-others", "review", R),
    ("Trimethoprim 200 mg", "pregnancy-trimethoprim", "review", P),
    ("Fluconazole 150 mg", "pregnancy-azole", "review", P),
    ("Ciprofloxacin 500 mg", "pregnancy-quinolone", "review", P),
]


_MOTHER = {**patient("1994-05-01"), "gender": "female"}


_PREGNANCY = problem("Pregnancy, 22 weeks")


class TestPregnancy:
    """MHRA December 2007 and June 2023, PMC1779429 table 3, secondary for valproate; else common practice."""

    @staticmethod
    def found(*resources: Json, text: str) -> MedicineFinding | None:
        chart = {**order(text), "id": "o"}
        return suggestions(answer_of(_MOTHER, result("Na", "140"), *resources, chart)).get("o")

    @pytest.mark.parametrize(("text", "key", "action", "urgency"), IN_PREGNANCY)
    def test_what_it_forbids(self, text: str, key: str, action: str, urgency: Urgency) -> None:
        finding = self.found(_PREGNANCY, text=text)
        assert finding is not None
        assert (finding.reasons[0].rule, finding.action, finding.urgency) == (key, action, urgency)
        without = self.found(text=text)
        assert without is None or [each.rule for each in without.reasons] == ["childbearing-valproate"]

    def test_every_rule_is_tried(self) -> None:
        assert {key for _, key, _, _ in IN_PREGNANCY} == {each.key for each in BY_TRIGGER[Trigger.PREGNANCY]}

    @pytest.mark.parametrize(
        ("born", "gender", "is_asked"),
        [
            ("2014-03-02", "female", False),
            ("2014-03-01", "female", True),
            ("1971-03-02", "female", True),
            ("1971-03-01", "female", False),
            ("1996-03-01", "male", False),
            ("1996-03-01", "unknown", False),
            (None, "female", False),
        ],
    )
    def test_valproate_of_a_woman_who_may_become_pregnant(
        self, born: str | None, gender: str, *, is_asked: bool
    ) -> None:
        """From 12 to the 55th birthday (ours), routinely; pregnancy is asked for by its own rule."""
        who = patient(born, gender=gender)
        chart = {**order("Sodium valproate 500 mg MR tablets"), "id": "o"}
        found = suggestions(answer_of(who, result("Na", "140"), chart)).get("o")
        assert (found is not None) is is_asked
        assert found is None or (found.reasons[0].rule, found.urgency) == ("childbearing-valproate", R)

    @pytest.mark.parametrize("text", ["Labetalol 200 mg", "Ibuprofen 5% gel", "Amoxicillin 500 mg"])
    def test_what_it_does_not(self, text: str) -> None:
        assert self.found(_PREGNANCY, text=text) is None

    def test_after_the_birth_it_is_over(self) -> None:
        ended = problem("Pregnancy", status="resolved")
        assert self.found(ended, text="Ramipril 5 mg") is None

    @pytest.mark.parametrize(
        ("reason", "is_held"), [("Threatened miscarriage", True), ("Pregnancy", True), ("Miscarriage", False)]
    )
    def test_of_a_stay_it_counts_too(self, reason: str, *, is_held: bool) -> None:
        """One fact for all (ours): the score was chosen by it, and the chart was silent."""
        here = stay(period={"start": "2026-02-28T08:00:00+04:00"}, reasonCode=[{"text": reason}])
        assert (self.found(here, text="Ramipril 5 mg") is not None) is is_held

    def test_by_a_test(self) -> None:
        positive = observation("hcg", "2106-3", valueCodeableConcept={"text": "Positive"})
        assert self.found(positive, text="Ramipril 5 mg") is not None

    def test_it_makes_nobody_acutely_ill(self) -> None:
        """What must not be missed is not asked about in a well pregnant woman."""
        assert self.found(_PREGNANCY, text="Prednisolone 5 mg") is None


def _stay() -> Json:
    return stay(id="stay", period={"start": "2026-02-28T08:00:00+04:00"})


class TestInfectionInHospital:
    """BSR November 2025 (secondary): severe infection, by vein or in hospital."""

    PNEUMONIA = problem("Pneumonia", since="2026-02-28")

    @pytest.mark.parametrize(
        "text", ["Methotrexate 10 mg", "Adalimumab 40 mg", "Sulfasalazine 1 g", "Ruxolitinib 10 mg"]
    )
    def test_what_is_held(self, text: str) -> None:
        finding = said(self.PNEUMONIA, _stay(), text=text)
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", P)
        assert said(self.PNEUMONIA, text=text) is None  # Nobody says that it is treated in hospital.
        assert said(_stay(), text=text) is None

    def test_never_after_a_transplant(self) -> None:
        graft = problem("Kidney transplant")
        assert said(self.PNEUMONIA, _stay(), graft, text="Azathioprine 50 mg") is None


def _dose(text: str, at: str) -> Json:
    return given(text, at, id="dose")


@pytest.mark.parametrize(("span", "is_asked"), [("1 h", True), ("24 h", True), ("25 h", False)])
def test_thrombolysis_of_the_last_day(span: str, is_asked: bool) -> None:
    """Common practice, no source: after a stroke nothing against clotting for 24 hours."""
    finding = said(_dose("Alteplase 70 mg intravenous", earlier(span)), text="Clopidogrel 75 mg")
    keys = {each.rule for each in finding.reasons} if finding is not None else set()
    assert ("thrombolysed-antithrombotic" in keys) is is_asked
    if finding is not None and is_asked:
        assert finding.urgency is U


class TestAntibacterials:
    """The first dose is time-critical (NPSA/2010/RRR009); what is no first dose is not. Ours: a week."""

    SEPSIS = problem("Sepsis", since="2026-03-01")

    @pytest.mark.parametrize(("span", "is_first"), [("3 h", True), ("7 d", True), ("8 d", False)])
    def test_a_long_standing_order(self, span: str, is_first: bool) -> None:
        finding = said(self.SEPSIS, text="Trimethoprim 200 mg twice a day", authoredOn=earlier(span))
        assert (finding is not None and "first dose" in finding.sentence) is is_first

    @pytest.mark.parametrize(
        ("text", "is_first"),
        [
            ("Trimethoprim 100 mg at night", False),
            ("Co-trimoxazole 960 mg once a day", False),
            ("Co-trimoxazole 960 mg twice a day", True),
        ],
    )
    def test_what_only_prevents_has_no_first_dose_to_hurry(self, text: str, is_first: bool) -> None:
        """Labels: the doses of prevention; an infection is not answered by them."""
        finding = said(self.SEPSIS, text=text, authoredOn=earlier("3 h"))
        assert (finding is not None and "first dose" in finding.sentence) is is_first

    def test_what_is_not_absorbed(self) -> None:
        assert said(self.SEPSIS, text="Vancomycin 125 mg capsules oral") is None
        assert said(self.SEPSIS, text="Vancomycin 1 g intravenous") is not None


def test_a_flush_of_heparin_is_not_held_for_bleeding() -> None:
    """Common practice, no source: a few units keep a line open, whatever route is recorded."""
    melaena = problem("Melaena", since="2026-03-01")
    by_vein = [{"route": {"text": "Intravenous"}}]
    assert said(melaena, text="Heparin sodium 10 units/mL flush", dosageInstruction=by_vein) is None
    assert said(melaena, text="Heparin sodium 5000 units", dosageInstruction=by_vein) is not None


def test_code_and_words_that_disagree_are_said_first() -> None:
    """The code was reviewed; a reader of one line has to know that the words name something else."""
    concept = {
        "text": "Paracetamol 1 g",
        "coding": [{"system": "http://www.whocc.no/atc", "code": "M01AE01"}],
    }
    chart = {**order("Paracetamol 1 g"), "id": "o", "medicationCodeableConcept": concept}
    finding = suggestions(reviewed(*injury(2), chart))["o"]
    assert finding.cautions[0] == "The name says paracetamol, the code ibuprofen: find out which is meant."


def test_an_order_later_than_every_value_is_looked_at() -> None:
    """Contrast asked for a minute after the newest result moves the moment of the review."""
    scan = asked_for(
        "CT abdomen with intravenous contrast", id="scan", authoredOn="2026-03-01T10:01:00+04:00"
    )
    finding = said(scan, text="Metformin 500 mg")
    assert finding is not None
    assert any(each.rule == "contrast-metformin" for each in finding.reasons)


def _open_stay(reason: str, end: str = "") -> Json:
    period = {"start": earlier("20 h")}
    return {
        "resourceType": "Encounter",
        "id": "stay",
        "status": "finished" if end else "in-progress",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {**period, "end": end} if end else period,
        "reasonCode": [{"text": reason}],
    }


class TestTheReasonOfAStayCounts:
    """Ours: what somebody came in for forbids what the same words on the problem list would."""

    @pytest.mark.parametrize(("problem_", "text", "rule", "action"), PROBLEMS)
    def test_as_a_problem_does(self, problem_: str, text: str, rule: str, action: str) -> None:
        finding = said(_open_stay(problem_), text=text)
        assert finding is not None
        assert rule in {each.rule for each in finding.reasons}

    def test_not_of_a_stay_that_is_over(self) -> None:
        over = _open_stay("Parkinson's disease", end=earlier("2 h"))
        assert said(over, text="Metoclopramide 10 mg") is None

    def test_a_problem_without_words_is_named_by_what_it_is(self) -> None:
        coded = {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "G20"}]}
        finding = said({**problem("x"), "code": coded}, text="Metoclopramide 10 mg")
        assert finding is not None
        assert "Parkinson" in finding.sentence


def test_tuberculosis_medicines_come_before_paracetamol() -> None:
    """Common practice, no source: stopped at five times the upper limit; 199 is below 5 x 40."""
    chart = [{**order(text), "id": text[:4].lower()} for text in ("Paracetamol 1 g", "Rifampicin 600 mg")]
    found = suggestions(reviewed(result("creatinine", "70"), value("ALT", "200"), *chart))
    assert list(found) == ["rifa", "para"]
    assert [each.action for each in found.values()] == ["hold", "review"]
    assert not suggestions(reviewed(result("creatinine", "70"), value("ALT", "199"), *chart))


@pytest.mark.parametrize(
    ("gcs", "hours", "action"), [("15", "4 h", "review"), ("14", "4 h", "hold"), ("14", "25 h", None)]
)
@pytest.mark.parametrize("text", ["Aspirin 300 mg", "Enoxaparin 40 mg"])
def test_drowsiness_after_thrombolysis_holds_what_thins_the_blood(
    gcs: str, hours: str, action: str | None, text: str
) -> None:
    """Common practice, no source: 24 hours after thrombolysis, and a scan before anything more."""
    lysis = given("Alteplase 60 mg", earlier(hours), id="lysis")
    finding = said(lysis, result("GCS", gcs), text=text)
    reasons = finding.reasons if finding is not None else ()
    mine = [each.action for each in reasons if each.rule.startswith("thrombolysed-antithrombotic")]
    assert mine == ([action] if action is not None else [])


@pytest.mark.parametrize(
    ("text", "is_for_meals"),
    [
        ("NovoRapid 8 units", True),
        ("Insulin lispro 6 units", True),
        ("Actrapid 6 units", True),
        ("Lantus 20 units", False),
        ("NovoMix 30 18 units", False),
        ("Insulin aspart by pump", False),
    ],
)
def test_insulin_for_meals_waits_for_food_and_basal_insulin_does_not(text: str, is_for_meals: bool) -> None:
    """Common practice, no source."""
    fasting = {**problem("Nil by mouth"), "onsetDateTime": earlier("2 h")}
    finding = said(fasting, problem("Type 1 diabetes"), text=text)
    assert finding is not None
    rules = {each.rule for each in finding.reasons}
    assert ("fasting-mealtime-insulin" in rules) is is_for_meals
    assert ("fasting-insulin" in rules) is not is_for_meals
    assert "Basal insulin goes on" not in str(finding)


@pytest.mark.parametrize(("route", "is_asked"), [("Oral", True), ("PEG", False), ("Subcutaneous", False)])
def test_what_is_not_swallowed_has_its_route_already(route: str, is_asked: bool) -> None:
    """A gastrostomy of years asks about what is swallowed alone; our choice."""
    tablets = order("Sodium valproate 500 mg", dosageInstruction=[{"route": {"text": route}}])
    found = suggestions(reviewed(problem("PEG tube"), tablets)).values()
    rules = {each.rule for one in found for each in one.reasons}
    assert ("swallow-time-critical" in rules) is is_asked


@pytest.mark.parametrize(
    ("ended", "text", "is_asked"),
    [
        ("2026-02-16T10:00:00+04:00", "Naproxen 500 mg", True),
        ("2026-02-14T10:00:00+04:00", "Naproxen 500 mg", False),
        ("2026-02-16T10:00:00+04:00", "Ibuprofen 5% gel", False),
    ],
)
def test_an_anti_inflammatory_after_a_kidney_injury(ended: str, text: str, *, is_asked: bool) -> None:
    """Common practice; 14 days are ours: naproxen was signed three days after stage 3 without a word."""
    before = [result("creatinine", "70", "2026-01-10T10:00:00+04:00")]
    course = [result("creatinine", "160", ended), result("creatinine", "75", "2026-02-27T10:00:00+04:00")]
    found = said(*before, *course, text=text)
    rules = {one.rule for one in found.reasons} if found is not None else set()
    assert ("after-kidney-injury-nsaid" in rules) is is_asked
