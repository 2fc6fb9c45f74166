"""Medicines that a recorded problem lets one expect, present and absent, through the real door.

Expected: Simpson 2020 (steroid), NHS/PSA/W/2016/001 (desmopressin), NPSA/2010/RRR009 (insulin,
Parkinson's disease, antiepileptics); transplant, valve and thiamine are common practice, no source.
Urgencies and days are our choice.
"""

from datetime import timedelta

import pytest

from tests.medicines.wards import order, problem, result, reviewed
from tests.records import AT, Json, earlier, full_set, given, procedure, stay, taken
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.review import Review

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
PARACETAMOL = order("Paracetamol 1 g")

EXPECTED = [
    ("Addison's disease", "Hydrocortisone 10 mg tablets", "Adrenal insufficiency"),
    ("Type 1 diabetes", "Lantus 20 units", "Type 1 diabetes"),
    ("Parkinson's disease", "Co-careldopa 25/100", "Parkinson's disease"),
    ("Epilepsy", "Levetiracetam 500 mg", "Epilepsy"),
    ("Myasthenia gravis", "Pyridostigmine 60 mg", "Myasthenia gravis"),
    ("Kidney transplant", "Tacrolimus 2 mg capsules", "An organ transplant"),
    ("Mechanical aortic valve", "Warfarin 3 mg", "A mechanical heart valve"),
    ("Alcohol dependence syndrome", "Thiamine 100 mg tablets", "Alcohol dependence"),
    ("Alcohol withdrawal", "Pabrinex intravenous", "Alcohol dependence"),
    ("Cranial diabetes insipidus", "Desmopressin 100 microgram tablets", "Arginine vasopressin deficiency"),
]


def _review(*resources: Json) -> Review:
    (review,) = reviewed(result("K", "4.2"), *resources).reviews
    return review


def missing(*resources: Json) -> list[Finding]:
    """Return what was found to be missing."""
    return [f for f in _review(*resources).findings if f.kind is Kind.MEDICINE_MISSING]


def home(text: str) -> Json:
    """Return a statement of what is taken at home."""
    return taken(text, id="home", effectivePeriod={"start": "2025-01-01T00:00:00Z"})


def ended(text: str, days: float | None = None, status: str = "stopped") -> Json:
    """Return an order that ended some days ago, or on a day that nobody recorded."""
    bounds: Json = {}
    if days is not None:
        end = earlier(f"{days} d")
        bounds = {"dosageInstruction": [{"timing": {"repeat": {"boundsPeriod": {"end": end}}}}]}
    return order(text, status=status, **bounds)


class TestPresentAndAbsent:
    """One row of the table at a time."""

    @pytest.mark.parametrize(("condition", "medicine", "said"), EXPECTED)
    def test_absent(self, condition: str, medicine: str, said: str) -> None:
        """Nothing of its kind is on a chart that holds something else."""
        (found,) = missing(problem(condition), PARACETAMOL)
        assert found.urgency is P
        assert found.sentence.startswith(f"{said} is recorded, and no ")
        assert found.evidence

    @pytest.mark.parametrize(("condition", "medicine", "said"), EXPECTED)
    def test_present(self, condition: str, medicine: str, said: str) -> None:
        """In use, or taken at home: nothing to ask."""
        assert not missing(problem(condition), order(medicine))
        assert not missing(problem(condition), PARACETAMOL, home(medicine))

    @pytest.mark.parametrize(("condition", "medicine", "said"), EXPECTED)
    @pytest.mark.parametrize("status", ["stopped", "completed"])
    def test_ended(self, condition: str, medicine: str, said: str, status: str) -> None:
        """It is asked about by name."""
        (found,) = missing(problem(condition), PARACETAMOL, ended(medicine, 2, status))
        assert f"{medicine} has ended" in found.sentence
        assert "was this meant to end?" in found.sentence
        assert found.since is not None

    @pytest.mark.parametrize("condition", [row[0] for row in EXPECTED])
    def test_no_chart_at_all(self, condition: str) -> None:
        """Without a drug chart nobody knows; the handover says that none is recorded."""
        review = _review(problem(condition))
        assert not [f for f in review.findings if f.kind is Kind.MEDICINE_MISSING]
        assert "On the chart: not recorded." in review.handover.background

    def test_not_confirmed(self) -> None:
        """A problem that is only suspected lets nobody expect anything."""
        assert not missing(problem("Query epilepsy"), PARACETAMOL)

    def test_inhaled_steroid(self) -> None:
        """What acts only where it is put does not count."""
        (found,) = missing(problem("Addison's disease"), order("Beclometasone 100 microgram inhaler"))
        assert "glucocorticoid" in found.sentence

    @pytest.mark.parametrize(
        ("condition", "hours", "urgency"),
        [("Addison's disease", 48, U), ("Addison's disease", 49, P), ("Epilepsy", 6, P)],
    )
    def test_an_operation_presses_for_a_steroid(self, condition: str, hours: int, urgency: Urgency) -> None:
        """An operation is a stress that the adrenals would answer (common practice); two days are ours."""
        done = procedure("Laparoscopic cholecystectomy", performedDateTime=earlier(f"{hours} h"))
        found = next(f for f in missing(problem(condition), done, PARACETAMOL) if "clots" not in f.sentence)
        assert found.urgency is urgency
        assert ("the stress of an operation" in found.sentence) is (urgency is U)

    @pytest.mark.parametrize(("days", "asked"), [(14, True), (15, False)])
    def test_of_late(self, days: int, asked: bool) -> None:
        """Our choice: an order is asked about by name for 14 days."""
        (found,) = missing(problem("Epilepsy"), PARACETAMOL, ended("Levetiracetam 500 mg", days))
        assert ("was this meant to end?" in found.sentence) is asked

    def test_another_of_the_group(self) -> None:
        """Mycophenolate alone is a regimen; with tacrolimus stopped it is a question."""
        mycophenolate = order("Mycophenolate 500 mg")
        assert not missing(problem("Kidney transplant"), mycophenolate)
        assert missing(problem("Kidney transplant"), mycophenolate, ended("Tacrolimus 2 mg", 1))

    def test_doses_without_orders(self) -> None:
        """A chart of doses alone holds what was given."""
        dose: Json = given("Insulin aspart 6 units", AT, id="d")
        assert not missing(problem("Type 1 diabetes"), dose)


class TestClotsAndEncephalitis:
    """From memory: a suspected clot is treated while its scan waits (NICE NG158); aciclovir in 6 hours."""

    @pytest.mark.parametrize(
        ("chart", "urgency"),
        [
            ("Enoxaparin 40 mg once daily subcutaneous", U),
            ("Enoxaparin 120 mg once daily subcutaneous", None),
            ("Apixaban 10 mg twice daily", None),
        ],
    )
    def test_a_dose_that_prevents_clots_treats_none(self, chart: str, urgency: Urgency | None) -> None:
        """An embolism beside 40 mg of enoxaparin said "Nothing urgent found"."""
        found = missing(problem("Pulmonary embolism", since=earlier("2 h")), order(chart))
        assert [one.urgency for one in found] == ([] if urgency is None else [urgency])
        if found:
            assert "is a dose that only prevents clots" in found[0].sentence

    @pytest.mark.parametrize(
        ("words", "urgency", "head"),
        [
            ("Pulmonary embolism", U, "A clot of the last 3 months is recorded"),
            ("Suspected pulmonary embolism", U, "A clot of the last 3 months, suspected, is recorded"),
            ("Deep vein thrombosis", P, "A clot of the last 3 months is recorded"),
            ("Suspected encephalitis", U, "Encephalitis, suspected, is recorded"),
            ("Viral encephalitis", U, "Encephalitis is recorded"),
        ],
    )
    def test_a_suspicion_is_enough(self, words: str, urgency: Urgency, head: str) -> None:
        (found,) = missing(problem(words, since=earlier("26 h")), PARACETAMOL)
        assert found.urgency is urgency
        assert found.sentence.startswith(head)

    def test_a_new_clot_is_told_once(self) -> None:
        """Its name asks for the same medicine while it is new."""
        one = _review(problem("Pulmonary embolism", since=earlier("2 h")), PARACETAMOL)
        asks = [f for f in one.findings if "anticoagulant" in f.sentence]
        assert [f.key for f in asks] == ["embolus-recorded"]

    def test_giant_cell_arteritis(self) -> None:
        """British Society for Rheumatology 2020, from memory: at once on strong suspicion."""
        arteritis = problem("Suspected giant cell arteritis", since=earlier("5 h"))
        (found,) = missing(arteritis, PARACETAMOL)
        assert "sight can be lost" in found.sentence
        assert not missing(arteritis, order("Prednisolone 60 mg"))

    @pytest.mark.parametrize(("days", "urgency"), [("6 d", U), ("8 d", P)])
    def test_an_embolism_presses_for_a_week(self, days: str, urgency: Urgency) -> None:
        (found,) = missing(problem("Pulmonary embolism", since=earlier(days)), PARACETAMOL)
        assert found.urgency is urgency

    def test_it_is_due_from_when_the_problem_was_written_down(self) -> None:
        """Not from the admission days before."""
        clot = problem("Deep vein thrombosis", since=earlier("26 h"))
        (found,) = missing(stay(period={"start": earlier("5 d")}), clot, PARACETAMOL)
        (old,) = missing(
            stay(period={"start": earlier("5 d")}), problem("Epilepsy", since=earlier("9 d")), PARACETAMOL
        )
        assert found.since is not None
        assert old.since is not None
        assert found.since - old.since == timedelta(days=5, hours=-26)


class TestByNameAndMind:
    """NICE CG100, EASL 2018, from memory; antithyroid medicines in storm: common practice, no source."""

    def test_a_confused_drinker_may_have_wernickes(self) -> None:
        confused = full_set(consciousness="new-confusion")
        (found,) = missing(*confused, problem("Alcohol dependence syndrome"), PARACETAMOL)
        assert found.urgency is U
        assert "This may be Wernicke's encephalopathy: thiamine by vein now" in found.sentence
        (calm,) = missing(*full_set(), problem("Alcohol dependence syndrome"), PARACETAMOL)
        assert calm.urgency is P
        assert "can follow" in calm.sentence

    def test_carbimazole_on_hold_in_thyroid_storm(self) -> None:
        storm = problem("Thyroid storm", since=earlier("4 h"))
        held = order("Carbimazole 20 mg", status="on-hold")
        (found,) = missing(storm, held)
        assert found.urgency is U
        assert "Carbimazole 20 mg is on hold: ask now whether it goes back on" in found.sentence
        assert not missing(storm, order("Propylthiouracil 200 mg"))

    @pytest.mark.parametrize(
        ("chart", "is_asked"),
        [("Lactulose 20 mL", False), ("Rifaximin 550 mg", False), ("Senna 15 mg", True)],
    )
    def test_what_treats_encephalopathy_of_the_liver(self, chart: str, is_asked: bool) -> None:
        ill = problem("Hepatic encephalopathy", since=earlier("8 h"))
        assert bool(missing(ill, order(chart))) is is_asked


class TestUrgency:
    """Prompt; urgent with a trigger; an emergency with shock, sepsis or ketones (ours)."""

    ADDISONS = (problem("Addison's disease"), PARACETAMOL)

    @pytest.mark.parametrize(
        "words", ["Alcohol dependence", "Parkinson's disease", "Epilepsy", "Mechanical aortic valve"]
    )
    def test_what_does_not_fail_within_hours_is_no_emergency_of_a_sepsis(self, words: str) -> None:
        """Ours: thiamine stood before NEWS2 9 and a pO2 of 7.2 kPa in the head of a septic shock."""
        (found,) = missing(
            problem(words), PARACETAMOL, problem("Sepsis"), result("RR", "28"), result("SBP", "80")
        )
        assert found.urgency is U

    def test_a_trigger(self) -> None:
        """Low sodium is one."""
        (found,) = missing(*self.ADDISONS, result("Na", "119"))
        assert found.urgency is U

    def test_shock(self) -> None:
        """Systolic 80."""
        (found,) = missing(*self.ADDISONS, result("SBP", "80"))
        assert (found.urgency, found.asked_since is not None) == (E, True)

    def test_sepsis(self) -> None:
        """Septic with Addison's disease and no steroid."""
        (found,) = missing(*self.ADDISONS, problem("Sepsis"), result("RR", "28"), result("HR", "130"))
        assert found.urgency is E

    def test_a_valve_that_is_hardly_protected(self) -> None:
        """INR below 2.0; exactly 2.0 leaves it prompt."""
        valve = (problem("Mechanical mitral valve"), PARACETAMOL)
        assert [missing(*valve, result("INR", inr))[0].urgency for inr in ("1.9", "2.0")] == [U, P]

    def test_on_hold(self) -> None:
        """Nothing the matter: the question of the hold. With shock: asked now."""
        held = order("Hydrocortisone 10 mg tablets", status="on-hold")
        assert not missing(problem("Addison's disease"), held)
        (found,) = missing(problem("Addison's disease"), held, result("SBP", "80"))
        assert "is on hold: ask now" in found.sentence

    def test_what_could_not_be_recognised(self) -> None:
        """It may be there: one step less urgent, and said."""
        (found,) = missing(*self.ADDISONS, order("Zorptide 5 mg"), result("SBP", "80"))
        assert found.urgency is U
        assert "1 medicine on the chart could not be recognised" in found.sentence


class TestEndedHereAndTakenAtHome:
    """An ended order does not hide a home medicine."""

    SHOCK = (problem("Addison's disease"), result("SBP", "80"))

    def test_the_statement_is_still_there(self) -> None:
        """Prednisolone for 400 days, its order stopped, and shock."""
        review = _review(*self.SHOCK, home("Prednisolone 7.5 mg"), ended("Prednisolone 7.5 mg", 1))
        kinds = [f.kind for f in review.findings]
        assert Kind.MEDICINE_MISSING in kinds
        said = [f for f in review.findings if isinstance(f, MedicineFinding) and f.order.endswith("/home")]
        assert any("its order here has ended" in f.sentence for f in said)

    def test_nobody_is_asked_to_hold_what_was_stopped(self) -> None:
        """A home medicine that was stopped here is not to be held once more."""
        review = _review(result("K", "6.2"), home("Ramipril 5 mg"), ended("Ramipril 5 mg", 1))
        asked = {f.action for f in review.findings if isinstance(f, MedicineFinding)}
        assert "hold" not in asked


class TestLongActingInsulin:
    """JBDS: in type 1 diabetes the long-acting insulin is never left out; a pump and a mixture hold it."""

    _T1 = problem("Type 1 diabetes")

    @pytest.mark.parametrize(
        ("texts", "is_missing"),
        [
            (("NovoRapid 6 units",), True),
            (("NovoRapid 6 units", "Humalog 4 units"), True),
            (("NovoRapid 6 units", "Lantus 20 units"), False),
            (("NovoRapid 6 units", "Insulatard 12 units"), False),
            (("NovoRapid by insulin pump",), False),
            (("NovoMix 30 20 units",), False),
            (("Insulin soluble human 50 units in 50 mL infusion",), False),
            (("Lantus 20 units",), False),
        ],
    )
    def test_insulin_for_meals_alone(self, texts: tuple[str, ...], is_missing: bool) -> None:
        orders = [{**order(text), "id": f"o{at}"} for at, text in enumerate(texts)]
        found = [one for one in missing(self._T1, *orders) if one.key == "type-1-basal-insulin"]
        assert bool(found) is is_missing
        if found:
            assert found[0].brief == "Type 1 diabetes, and no long-acting insulin in use"

    def test_insulin_by_the_vein_is_not_for_meals(self) -> None:
        by_vein = order("Insulin soluble human", dosageInstruction=[{"route": {"text": "Intravenous"}}])
        assert not [one for one in missing(self._T1, by_vein) if one.key == "type-1-basal-insulin"]

    def test_a_pump_that_its_dosage_alone_names(self) -> None:
        """Raised ketones then ask about the pump: common practice, no source."""
        by_pump = order("Insulin aspart", dosageInstruction=[{"text": "by insulin pump"}])
        found = _review(self._T1, by_pump, result("ketones", "6.2")).findings
        assert not [f for f in found if f.key == "type-1-basal-insulin"]
        assert [f.action for f in found if isinstance(f, MedicineFinding)] == ["review"]

    def test_only_in_type_1_and_only_beside_other_insulin(self) -> None:
        assert not missing(problem("Type 2 diabetes"), order("NovoRapid 6 units"))
        assert [one.key for one in missing(self._T1, PARACETAMOL)] == ["type-1-diabetes"]


class TestPreventiveDose:
    """A preventive dose treats no clot: common practice, no source. The doses: labels, 4.2, from memory."""

    @staticmethod
    def enoxaparin(amount: str) -> Json:
        said = f"{amount} mg once daily"
        return order(f"Enoxaparin {amount} mg injection", dosageInstruction=[{"text": said}])

    @pytest.mark.parametrize(("amount", "is_asked"), [("40", True), ("120", False)])
    @pytest.mark.parametrize("recorded", ["Mechanical mitral valve", "Pulmonary embolism"])
    def test_it_is_no_treatment(self, recorded: str, amount: str, is_asked: bool) -> None:
        since = earlier("20 d")
        found = missing(problem(recorded, since=since), self.enoxaparin(amount))
        assert [f.brief.endswith("and only a preventive dose in use") for f in found] == [True] * is_asked
        if is_asked:
            assert "Enoxaparin 40 mg injection is a dose that only prevents clots" in found[0].sentence

    def test_warfarin_on_hold_beside_it_is_asked_about_at_a_low_inr(self) -> None:
        """The valve has nothing that protects it, whatever stands on the chart beside it."""
        held = {**order("Warfarin 5 mg", status="on-hold"), "id": "w"}
        valve = problem("Mechanical mitral valve")
        (found,) = missing(valve, held, self.enoxaparin("40"), result("INR", "1.3"))
        assert found.urgency is U
        assert "Warfarin 5 mg is on hold" in found.sentence

    def test_where_somebody_may_bleed_it_may_be_all_that_is_meant(self) -> None:
        """ISTH SSC 2018, secondary: from 25 to 49 platelets half the dose or a preventive one."""
        clot = problem("Pulmonary embolism", since=earlier("20 d"))
        assert missing(clot, self.enoxaparin("40"), result("platelets", "31")) == []


def test_status_epilepticus_is_not_epilepsy() -> None:
    """A febrile child with a fit that does not stop is not told to be on medicines for epilepsy."""
    assert not missing(problem("Status epilepticus"), PARACETAMOL)


def test_cabergoline_is_no_medicine_of_parkinsons_disease() -> None:
    """It stops milk; in Parkinson's disease it still counts as treatment."""
    review = _review(order("Cabergoline 250 micrograms"))
    assert not any("Parkinson" in one.sentence for one in review.findings)
    assert not missing(problem("Parkinson's disease"), order("Cabergoline 1 mg"))


class TestAntiD:
    """British Society for Haematology 2014, from memory: within 72 hours of a birth."""

    NEGATIVE = problem("RhD negative")

    @staticmethod
    def birth(ago: str) -> Json:
        return procedure("Normal vaginal delivery", id="birth", performedDateTime=earlier(ago))

    @pytest.mark.parametrize(("ago", "is_asked"), [("30 h", True), ("71 h", True), ("73 h", False)])
    def test_after_a_birth(self, ago: str, is_asked: bool) -> None:
        found = missing(PARACETAMOL, self.NEGATIVE, self.birth(ago))
        assert [f.urgency for f in found] == ([P] if is_asked else [])

    def test_not_without_the_group(self) -> None:
        assert not missing(PARACETAMOL, self.birth("30 h"))

    def test_once_given_it_is_enough(self) -> None:
        dose = given("Anti-D immunoglobulin 1500 units", earlier("28 h"))
        assert not missing(PARACETAMOL, self.NEGATIVE, self.birth("30 h"), dose)
