"""What answers an acute problem, or speaks for another one in its place (publications beside each)."""

from typing import Any

import pytest

from tests.assessments.problems_recorded import KEYS, OF_P, SOON, by_name, calm, reviewed, told_in
from tests.charts import administered, ago, order
from tests.records import bundle, earlier, full_set, given, problem, text
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.pipeline import review

E, U, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.ROUTINE


def _operation(hours: float, kind: ProcedureKind = ProcedureKind.SURGERY) -> Procedure:
    return Procedure(origin=Origin("Procedure/p"), text="Operation", kinds=frozenset({kind}), at=ago(hours))


class TestAnswers:
    """What was done, given or measured, or another problem, answers it."""

    @pytest.mark.parametrize(
        ("kind", "recorded", "operated", "is_told"),
        [
            (ConditionKind.COMPARTMENT_SYNDROME, 3, 1, False),
            (ConditionKind.COMPARTMENT_SYNDROME, 3, 4, True),  # The operation that it came after.
            (ConditionKind.GUT_CATASTROPHE, 3, 15, False),  # Named after the operation that found it.
            (ConditionKind.GUT_CATASTROPHE, 3, 15.1, True),
            (ConditionKind.CARDIAC_TAMPONADE, 3, 1, True),
        ],
    )
    def test_an_operation(self, kind: ConditionKind, recorded: float, operated: float, is_told: bool) -> None:
        record = calm(by_name(kind, recorded), procedures=(_operation(operated),))
        assert bool(told_in(record)) is is_told

    def test_a_stent(self) -> None:
        done = _operation(1, ProcedureKind.CORONARY_STENT)
        assert told_in(calm(by_name(ConditionKind.ST_ELEVATION, 3), procedures=(done,))) == {}

    def test_an_antimicrobial(self) -> None:
        dose = administered("Ceftriaxone", 1, MedicineClass.ANTIBACTERIAL.value)
        found = told_in(calm(by_name(ConditionKind.BACTERIAL_MENINGITIS, 3), administrations=(dose,)))
        assert found == {}

    def test_results_that_another_question_judges(self) -> None:
        ketones = {Signal.KETONES: [(1, "4.1")]}
        assert told_in(calm(by_name(ConditionKind.KETOACIDOSIS, 3), numbers=ketones)) == {}

    def test_what_treats_it_on_the_chart(self) -> None:
        thiamine = order("Thiamine injection", MedicineClass.THIAMINE.value)
        named = by_name(ConditionKind.WERNICKE, 3)
        assert told_in(calm(named))
        assert told_in(calm(named, orders=(thiamine,))) == {}

    def test_a_pacemaker(self) -> None:
        paced = by_name(ConditionKind.PACEMAKER, None)
        assert told_in(calm(by_name(ConditionKind.HEART_BLOCK, 3), paced)) == {}


@pytest.mark.parametrize(
    ("words", "classes", "is_told"),
    [
        ("Pulmonary embolism", MedicineClass.LMWH, False),
        ("Deep vein thrombosis", MedicineClass.FACTOR_XA_INHIBITOR, False),
        ("Deep vein thrombosis", MedicineClass.ASPIRIN, True),
    ],
)
def test_a_clot_asks_for_the_anticoagulant_that_is_not_on_the_chart(
    words: str, classes: MedicineClass, is_told: bool
) -> None:
    kind = ConditionKind.PULMONARY_EMBOLISM if "embol" in words else ConditionKind.VENOUS_THROMBOEMBOLISM
    on_chart = order("A medicine", classes.value)
    assert bool(told_in(calm(by_name(kind, 1, has_onset=True), orders=(on_chart,)))) is is_told


def test_a_troponin_that_is_measured_answers_chest_pain() -> None:
    pain = by_name(ConditionKind.CHEST_PAIN, 1, has_onset=True)
    assert told_in(calm(pain))
    assert told_in(calm(pain, numbers={Signal.TROPONIN: [(0.5, "4")]})) == {}


class TestBesideOthers:
    """No other sentence says the contrary."""

    def test_no_low_risk_beside_meningitis(self) -> None:
        """NICE NG240: an antimicrobial within an hour; the hour is counted from when it was written down."""
        one = reviewed(problem("Meningitis", recordedDate=SOON))
        (risk,) = [f for f in one.findings if f.key == "sepsis-risk"]
        assert (
            "high risk of severe illness or death, raised by Meningitis (09:30 on 1 March)" in risk.sentence
        )
        assert "low risk" not in " ".join(f.sentence for f in one.findings)

    @pytest.mark.parametrize("words", ["Carbon monoxide poisoning", "Methaemoglobinaemia"])
    def test_oxygen_is_not_turned_down_by_a_saturation_that_misleads(self, words: str) -> None:
        """Hampson 1998: a pulse oximeter overestimates in carbon monoxide poisoning."""
        one = review(
            text(
                bundle(
                    *full_set(oxygen="oxygen", spo2="100 %"),
                    problem(words, recordedDate=SOON),
                )
            )
        ).reviews[0]
        said = " ".join(f.sentence for f in one.findings)
        assert ": reduce" not in said
        assert "94-98" not in said

    def test_not_in_the_last_days_of_life(self) -> None:
        end = {"resourceType": "Flag", "id": "f", "status": "active", "code": {"text": "Last days of life"}}
        one = reviewed({**end, **OF_P}, problem("Stridor", recordedDate=SOON))
        assert not any(f.key in KEYS for f in one.findings)

    def test_a_child_with_meningitis_is_of_high_risk(self) -> None:
        """NICE NG240: an antimicrobial within an hour, by the tables of children too."""
        calm = full_set(systolic_pressure=None)
        child = {"resourceType": "Patient", "id": "p", "birthDate": "2022-01-01"}
        (one,) = review(text(bundle(child, *calm, problem("Meningitis", recordedDate=SOON, **OF_P)))).reviews
        (risk,) = [f for f in one.findings if f.key == "sepsis-signs"]
        assert "high risk by Meningitis on record" in risk.sentence


class TestThrombolysis:
    """AHA 2013, from memory: thrombectomy is not held back by alteplase. The six hours before are ours."""

    @pytest.mark.parametrize("kind", [ConditionKind.ACUTE_STROKE, ConditionKind.STROKE_SIGNS])
    @pytest.mark.parametrize(
        ("rest", "is_said"),
        [
            pytest.param(
                {"administrations": (administered("Alteplase", 1, "thrombolytic"),)}, True, id="dose"
            ),
            pytest.param(
                {"administrations": (administered("Alteplase", 8, "thrombolytic"),)}, True, id="6-h"
            ),
            pytest.param(
                {"administrations": (administered("Alteplase", 8.1, "thrombolytic"),)}, False, id="6.1-h"
            ),
            pytest.param({"administrations": (administered("Aspirin", 1, "aspirin"),)}, False, id="other"),
            pytest.param({"procedures": (_operation(1, ProcedureKind.THROMBOLYSIS),)}, True, id="procedure"),
            pytest.param({"procedures": (_operation(1),)}, False, id="operation"),
            pytest.param({}, False, id="nothing"),
        ],
    )
    def test_what_was_done_is_not_asked_again(self, kind: ConditionKind, rest: Any, is_said: bool) -> None:
        (found,) = told_in(calm(by_name(kind, 2, has_onset=True), **rest)).values()
        assert found.urgency is E
        assert ("vessel can be opened" in found.sentence) is not is_said
        assert ("decides on thrombectomy beside it" in found.sentence) is is_said
        assert ("when last well" in found.at_once) is not is_said
        assert found.at_once.endswith("nothing by mouth")


@pytest.mark.parametrize(("hours", "is_done"), [(2, True), (4, False), (None, False)])
def test_an_adrenal_crisis_in_which_hydrocortisone_was_given(hours: float | None, is_done: bool) -> None:
    """What was given since it was written down is said, and not asked for again."""
    doses = [
        administered("Hydrocortisone", each, ingredients=("hydrocortisone",), route=Route.INTRAVENOUS)
        for each in (hours,)
        if each is not None
    ]
    known = by_name(ConditionKind.ADRENAL_CRISIS, 3, has_onset=True)
    found = told_in(calm(known, administrations=tuple(doses)))["adrenal-recorded"]
    assert found.urgency is E
    assert ("hydrocortisone was given" in found.sentence) is is_done
    assert ("hydrocortisone now" in found.sentence) is not is_done


@pytest.mark.parametrize(
    ("medicine", "before", "is_asked"),
    [
        ("Glucagon 5 mg injection", "2 h", False),
        ("Acetylcysteine infusion", "2 h", False),
        ("Glucagon 5 mg injection", "4 h", True),
        ("Ondansetron 4 mg injection", "2 h", True),
    ],
)
def test_an_overdose_is_answered_by_an_antidote_since(medicine: str, before: str, is_asked: bool) -> None:
    """Ours: whoever gave it has asked what was taken; "due nine hours ago" stood over the well."""
    taken = problem("Overdose of propranolol", recordedDate=earlier("3 h"))
    one = reviewed(taken, *full_set(), given(medicine, earlier(before)))
    assert ("overdose-recorded" in {f.key for f in one.findings}) is is_asked
    assert "Overdose of propranolol" in one.headline
