"""What a ward pharmacist asks on a round, through the real door.

Expected: Papachristos 2020, abstract (before a hip is mended warfarin is reversed and a direct anticoagulant
ends), the label of fluoxetine (five weeks before an inhibitor of monoamine oxidase, two after one), Practical
Neurology table 7 (steroids in illness), NICE QS164 and NPSA/2010/RRR009 (omitted doses); no anti-inflammatory
in cirrhosis is common practice, no source. Hours, days and urgencies are our choice, as the rows say.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.rounds import NOW, P, R, U, ended_order, findings_of, said_of
from tests.medicines.wards import (
    injury,
    interactions,
    operation_asked_for,
    order,
    problem,
    result,
    reviewed,
    suggestions,
)
from tests.records import AT, Json, earlier, full_set, given, observation, procedure, quantity, stay
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding


def _doses(text: str, *hours: float) -> list[Json]:
    return [{**given(text, earlier(f"{each} h")), "id": f"d{each}"} for each in hours]


class TestGivenTooOften:
    @pytest.mark.parametrize(
        ("hours", "is_said"), [((1, 5, 9), True), ((1, 9), False), ((1, 9, 23.5), False)]
    )
    def test_more_than_the_order_allows(self, hours: tuple[float, ...], is_said: bool) -> None:
        """A dose an hour early makes no dose more."""
        found = said_of(
            *_doses("Lorazepam", *hours), text="Lorazepam", dose="1 mg when needed, max 2 mg in 24 hours"
        )
        assert (found is not None) is is_said
        if found is not None:
            assert "3 doses given in 24 hours, at most 2 written" in found.sentence
            assert found.since == datetime.fromisoformat(earlier("1 h"))

    @pytest.mark.parametrize(("times", "is_said"), [(5, True), (4, False)])
    def test_paracetamol_adds_up(self, times: int, is_said: bool) -> None:
        found = said_of(
            *_doses("Paracetamol", *(4.5 * n + 1 for n in range(times))),
            text="Paracetamol",
            dose="1 g when needed",
        )
        assert (found is not None and "given in 24 hours" in found.sentence) is is_said


class TestFirstPatch:
    """MHRA September 2020 (no fentanyl patch for who is not used to opioids); three days are our choice."""

    @pytest.mark.parametrize(("since", "is_asked"), [("3 d", True), ("4321 min", False)])
    def test_of_these_days(self, since: str, is_asked: bool) -> None:
        found = said_of(text="Fentanyl 25 micrograms/hour patch", authoredOn=earlier(since))
        assert (found is not None) is is_asked

    def test_after_another_opioid_it_is_no_first(self) -> None:
        text = "Fentanyl 25 micrograms/hour patch"
        assert said_of(ended_order("Morphine 10 mg", 2), text=text, authoredOn=earlier("1 d")) is None
        assert said_of(ended_order("Ibuprofen 400 mg", 2), text=text, authoredOn=earlier("1 d")) is not None


class TestSteroidInIllness:
    @pytest.mark.parametrize(
        ("dose", "action"),
        [("20 mg once daily", "review"), ("13 mg three times daily", "review"), ("40 mg once daily", None)],
    )
    def test_doubled_in_adrenal_insufficiency(self, dose: str, action: str | None) -> None:
        ill = (stay(period={"start": earlier("20 h")}), problem("Influenza", since=earlier("20 h")))
        known = {**problem("Addison's disease"), "id": "addison"}
        found = said_of(*ill, known, text="Hydrocortisone", dose=dose, authoredOn=earlier("90 d"))
        assert (found.action if found is not None else None) == action
        assert said_of(known, text="Hydrocortisone", dose=dose, authoredOn=earlier("90 d")) is None


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
        found = said_of(problem("Cirrhosis"), text="Ibuprofen 400 mg")
        assert found is not None
        assert (found.action, found.urgency) == ("hold", P)
        paracetamol = said_of(problem("Cirrhosis"), text="Paracetamol 500 mg")
        assert paracetamol is None

    @pytest.mark.parametrize(("potassium", "urgency"), [("2.9", P), ("3.0", None)])
    def test_what_drives_potassium_out(self, potassium: str, urgency: Urgency | None) -> None:
        found = said_of(result("K", potassium), text="Furosemide 40 mg")
        assert (found.urgency if found is not None else None) == urgency

    def test_a_preventive_dose_is_no_valve(self) -> None:
        """What only prevents clots is given for the stay: no list of high risks stands beside its hold."""
        bled = problem("Melaena", since=earlier("5 h"))
        low = said_of(bled, text="Dalteparin", dose="5000 units once daily")
        full = said_of(bled, text="Dalteparin", dose="15000 units once daily")
        assert low is not None
        assert full is not None
        assert (low.action, full.action) == ("hold", "hold")
        assert not low.do_not_stop
        assert full.do_not_stop
        assert not any("thrombosis" in each for each in low.cautions)
        assert any("thrombosis" in each for each in full.cautions)

    @pytest.mark.parametrize(
        ("dose", "done", "is_said"),
        [
            ("2.5 mg twice daily", True, False),
            ("5 mg twice daily", True, True),
            ("2.5 mg twice daily", False, True),
        ],
    )
    def test_a_tablet_that_only_prevents_is_no_valve_either(
        self, dose: str, *, done: bool, is_said: bool
    ) -> None:
        """After a new joint 2.5 mg twice a day only prevents (SmPC of apixaban): no stroke is brought on."""
        bled = problem("Melaena", since=earlier("5 h"))
        joint = [procedure("Total hip replacement", performedDateTime=earlier("5 d"))] if done else []
        found = said_of(bled, *joint, text="Apixaban", dose=dose)
        assert found is not None
        assert found.action == "hold"
        assert bool(found.do_not_stop) is is_said

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
        found = said_of(text="Gentamicin", dose="320 mg IV once daily", authoredOn=earlier(began))
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
        assert (said_of(*injury(stage), text=text, dose=dose) is not None) is is_said


class TestNothingByMouth:
    @pytest.mark.parametrize(
        ("text", "action"),
        [("Apixaban 5 mg", "review"), ("Warfarin 3 mg", "review"), ("Dalteparin 5000 units", None)],
    )
    def test_an_anticoagulant_by_mouth(self, text: str, action: str | None) -> None:
        found = said_of(operation_asked_for("Nil by mouth"), text=text)
        assert (found.action if found is not None else None) == action

    def test_before_an_operation_or_with_bleeding_it_is_held(self) -> None:
        bled = problem("Melaena", since=earlier("5 h"))
        found = said_of(operation_asked_for("Nil by mouth"), bled, text="Apixaban 5 mg")
        assert found is not None
        assert [reason.rule for reason in found.reasons] == ["bleeding-doac"]


class TestWorstFirst:
    def test_reversal_before_the_risk_of_omission(self) -> None:
        known = {**problem("Atrial fibrillation"), "id": "af"}
        found = said_of(problem("Melaena", since=earlier("5 h")), known, text="Warfarin 3 mg")
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
        found = said_of(_value("11253-2", value, "ug/L"), text="Tacrolimus 2 mg capsules")
        assert (found.urgency if found is not None else None) == urgency


class TestNextDose:
    """Ours: what asks for something before the next dose is looked at by then."""

    @staticmethod
    def _gentamicin(started: str, *creatinines: Json, **rest: Any) -> MedicineFinding | None:
        last = {**given("Gentamicin", earlier("21 h")), "id": "g"}
        dose = {"timing": {"repeat": {"frequency": 1, "period": 1, "periodUnit": "d"}}, **rest}
        return said_of(*creatinines, last, text="Gentamicin", authoredOn=started, dosageInstruction=[dose])

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
        found = said_of(*injury(1), text="Gentamicin", authoredOn=earlier("4 d"))
        assert found is not None
        assert found.review_by is not None
        assert found.review_by > NOW + timedelta(hours=3)


class TestOnce:
    """Ours: an order for one dose is over once that was given, or after a day."""

    @staticmethod
    def _lines(started: str, dose: str, *doses: Json, **rest: Any) -> MedicineFinding | None:
        line = {"dosageInstruction": [{"text": dose}], "authoredOn": earlier(started), **rest}
        return said_of(*injury(1), *doses, text="Furosemide", **line)

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
        found = findings_of(
            problem("Fall", since=earlier("2 h")), once, given("Enoxaparin", earlier(ago)), key="head-injury"
        )
        assert bool(found) is is_named

    def test_beside_bleeding_it_is_named_once(self) -> None:
        once = {
            **order("Enoxaparin", authoredOn=earlier("5 h")),
            "dosageInstruction": [{"text": "80 mg stat"}],
        }
        bleed = problem("Haematemesis", since=earlier("2 h"))
        (found,) = findings_of(bleed, once, given("Enoxaparin", earlier("4 h")), key="possible-bleeding")
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
        found = said_of(
            *injury(1), dose, text="Methotrexate", dose="5 g once only", authoredOn=earlier("40 h")
        )
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
        return said_of(bleed, *steady, text=text, dose=dose, authoredOn=earlier("20 h"))

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
        found = said_of(problem("Long-term haemodialysis"), text="Codeine 30 mg", dose="four times daily")
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
        found = findings_of(problem(problem_text), basal, vein, key="long-treatment-ended")
        assert bool(found) is is_asked


class TestTuberculosis:
    @pytest.mark.parametrize(("since", "urgency"), [("40 d", P), ("2 h", U)])
    def test_a_liver_that_fails_in_long_known_tuberculosis(self, since: str, urgency: Urgency) -> None:
        """Ours: SOFA beside it is prompt, for it is long known; the medicine that harms the liver leads."""
        bilirubin = observation("bili", "14631-6", valueQuantity=quantity("90", "umol/L"))
        treated = {**order("Rifinah 300"), "id": "r"}
        tb = problem("Pulmonary tuberculosis", since=earlier(since))
        (found,) = findings_of(tb, treated, bilirubin, key="sofa")
        assert found.urgency is urgency
