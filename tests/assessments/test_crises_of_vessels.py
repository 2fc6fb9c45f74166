"""Crises of vessels, joints, grafts and infusions, at both ends of each sign.

Expected, all from memory: British Society for Rheumatology 2020 (giant cell arteritis from 50 years), 2016
(systemic sclerosis), 2006 (hot joint); EULAR 2022 (bleeding of the lungs); NICE NG158 and RCOG 37b (leg
veins), NICE NG128 (attack of the last week), WAO/EAACI 2021 (hereditary angioedema), UKINETS 2012;
common practice (graft of a liver, reaction to an infusion). How soon and for how long is our choice.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import administered, condition, crises_asked, findings, order, rounds
from tests.medicines.wards import injury, interactions, problem, reviewed, suggestions
from tests.medicines.wards import order as ordered
from tests.records import earlier, has_problem
from weatherglass.assessments.emergencies.crises import asked_once
from weatherglass.facts.medicines.allergy_check import against_named
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.care import Allergy
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind as C
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
T, SPO2, BP, RATE = Signal.TEMPERATURE, Signal.SPO2, Signal.SYSTOLIC_PRESSURE, Signal.RESPIRATION_RATE
CRP, CREAT, ALT, BILI = Signal.CRP, Signal.CREATININE, Signal.ALT, Signal.BILIRUBIN


def _lately(kind: C, days: float = 1) -> Any:
    return condition(kind, began=days * 24)


JAW, SIGHT, HEAD = _lately(C.JAW_OR_SCALP, 4), _lately(C.DISTURBED_SIGHT), _lately(C.HEADACHE, 9)
VASCULITIS, BLOOD = _lately(C.VASCULITIS, 900), _lately(C.HAEMOPTYSIS)
SCLEROSIS = _lately(C.SYSTEMIC_SCLEROSIS, 900)
JOINT, CALF = _lately(C.HOT_JOINT), _lately(C.SWOLLEN_CALF)
GRAFT = _lately(C.LIVER_TRANSPLANT, 900)
LUNG = _lately(C.LUNG_TRANSPLANT, 900)
HEREDITARY, CARCINOID = _lately(C.HEREDITARY_ANGIOEDEMA, 9000), _lately(C.CARCINOID, 900)


@pytest.mark.parametrize(
    ("signs", "problems", "key", "urgency"),
    [
        pytest.param({}, (JAW, SIGHT), "giant-cell-sight", U, id="jaw-and-sight"),
        pytest.param({}, (JAW,), "giant-cell-sight", None, id="jaw-alone-and-sight"),
        pytest.param({}, (JAW,), "giant-cell", P, id="jaw-alone"),
        pytest.param({CRP: "24"}, (HEAD, SIGHT), "giant-cell-headache", None, id="crp-24"),
        pytest.param({CRP: "25"}, (HEAD, SIGHT), "giant-cell-headache", U, id="crp-25"),
        pytest.param({CRP: "90"}, (HEAD,), "giant-cell-headache", None, id="headache-alone"),
        pytest.param({}, (VASCULITIS, BLOOD), "bleeding-of-the-lungs", U, id="haemoptysis"),
        pytest.param({SPO2: 93, RATE: 20}, (VASCULITIS, BLOOD), "bleeding-of-the-lungs", U, id="one-sign"),
        pytest.param({SPO2: 93, RATE: 21}, (VASCULITIS, BLOOD), "bleeding-of-the-lungs", E, id="two-signs"),
        pytest.param({SPO2: 93, RATE: 21}, (BLOOD,), "bleeding-of-the-lungs", None, id="no-vasculitis"),
        pytest.param({BP: 150, CREAT: 149}, (SCLEROSIS,), "renal-crisis-of-scleroderma", None, id="149"),
        pytest.param({BP: 150, CREAT: 150}, (SCLEROSIS,), "renal-crisis-of-scleroderma", U, id="150"),
        pytest.param({BP: 149, CREAT: 150}, (SCLEROSIS,), "renal-crisis-of-scleroderma", None, id="bp-149"),
        pytest.param({CRP: "100"}, (JOINT,), "septic-joint", None, id="joint-crp-100"),
        pytest.param({CRP: "100"}, (JOINT,), "septic-joint-alone", P, id="joint-alone"),
        pytest.param({CRP: "101"}, (JOINT,), "septic-joint", U, id="joint-crp-101"),
        pytest.param({}, (_lately(C.HOT_JOINT, 8),), "septic-joint-alone", None, id="joint-of-old"),
        pytest.param({}, (_lately(C.TRANSIENT_ISCHAEMIC_ATTACK, 2),), "transient-attack", P, id="attack"),
        pytest.param(
            {}, (_lately(C.TRANSIENT_ISCHAEMIC_ATTACK, 3),), "transient-attack", None, id="attack-of-old"
        ),
        pytest.param({}, (CALF,), "clot-in-a-calf", P, id="calf"),
        pytest.param({}, (CALF, _lately(C.VENOUS_THROMBOEMBOLISM)), "clot-in-a-calf", None, id="known"),
        pytest.param({}, (_lately(C.SWOLLEN_CALF, 8),), "clot-in-a-calf", None, id="calf-of-old"),
        pytest.param({}, (CALF, _lately(C.PREGNANCY)), "clot-in-a-calf", None, id="no-score-in-pregnancy"),
        pytest.param({}, (CALF, _lately(C.PREGNANCY)), "clot-in-a-calf-of-a-mother", P, id="mother"),
        pytest.param({SPO2: 94, RATE: 21, T: "37.9"}, (LUNG,), "lung-graft", None, id="lung-94"),
        pytest.param({SPO2: 93, RATE: 20}, (LUNG,), "lung-graft", None, id="lung-93"),
        pytest.param({SPO2: 93, RATE: 21}, (LUNG,), "lung-graft", U, id="lung-two"),
        pytest.param({}, (HEREDITARY, _lately(C.AIRWAY_THREATENED)), "hereditary-angioedema", E, id="tongue"),
        pytest.param({}, (HEREDITARY, _lately(C.ANGIOEDEMA, 2)), "hereditary-angioedema", None, id="past"),
        pytest.param({}, (HEREDITARY,), "hereditary-angioedema", None, id="hereditary-well"),
        pytest.param({BP: 89}, (CARCINOID,), "carcinoid-crisis", E, id="carcinoid-89"),
        pytest.param({BP: 90}, (CARCINOID,), "carcinoid-crisis", None, id="carcinoid-90"),
        pytest.param({ALT: 119, BILI: 41}, (GRAFT,), "liver-graft-later", None, id="alt-119"),
        pytest.param({ALT: 120}, (GRAFT,), "liver-graft-later", P, id="alt-120"),
        pytest.param({ALT: 120, BILI: 42}, (GRAFT,), "liver-graft-later", U, id="alt-and-bilirubin"),
        pytest.param(
            {ALT: 800}, (_lately(C.LIVER_TRANSPLANT, 9),), "liver-graft-later", None, id="new-graft"
        ),
    ],
)
def test_asked_at_its_signs(
    signs: dict[Any, Any], problems: tuple[Any, ...], key: str, urgency: Urgency | None
) -> None:
    found = crises_asked(signs, *problems).get(key)
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(("born", "is_asked"), [(date(1980, 1, 1), False), (date(1970, 1, 1), True)])
def test_giant_cells_from_50_years(born: date, is_asked: bool) -> None:
    assert ("giant-cell-sight" in crises_asked({}, JAW, SIGHT, born=born)) is is_asked


def test_giant_cells_are_asked_once_and_a_steroid_answers() -> None:
    """With sight the one question holds the other; a steroid on the chart answers jaw and scalp."""
    asked = [one.key for one in asked_once(crises_asked({}, JAW, SIGHT).values())]
    assert asked == ["giant-cell-sight"]
    steroid = order("Prednisolone 60 mg", "glucocorticoid")
    assert "giant-cell" not in crises_asked({}, JAW, orders=(steroid,))


def test_a_hot_joint_on_colchicine_is_asked_about_with_a_sign_alone() -> None:
    gout = {"orders": (order("Colchicine 500 micrograms", "colchicine"),)}
    assert "septic-joint-alone" not in crises_asked({}, JOINT, **gout)
    assert crises_asked({T: "38.0"}, JOINT, **gout)["septic-joint"].urgency is U


def _dose(hours: float, route: Route = Route.INTRAVENOUS, kind: str = "biologic-immunosuppressant") -> Any:
    return administered("Rituximab", hours, kind, route=route)


@pytest.mark.parametrize(
    ("signs", "dose", "urgency"),
    [
        pytest.param({BP: 99, RATE: 21}, _dose(4), U, id="two-within-4-hours"),
        pytest.param({BP: 99, RATE: 21, SPO2: 93}, _dose(2), E, id="three"),
        pytest.param({BP: 99, RATE: 21}, _dose(4.1), None, id="longer-ago"),
        pytest.param({BP: 99, RATE: 20}, _dose(2), None, id="one"),
        pytest.param({BP: 99, RATE: 21}, _dose(0.5), None, id="signs-before-the-dose"),
        pytest.param({BP: 99, RATE: 21}, _dose(2, Route.ORAL, "cancer-medicine"), None, id="swallowed"),
        pytest.param({BP: 99, RATE: 21}, _dose(2, kind="antibacterial"), None, id="another"),
    ],
)
def test_a_reaction_to_an_infusion(signs: dict[Any, Any], dose: Any, urgency: Urgency | None) -> None:
    """What came after the dose speaks, what was there before does not."""
    found = crises_asked(signs, administrations=(dose,)).get("reaction-to-an-infusion")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("signs", "dose", "urgency"),
    [
        pytest.param({BP: 89, SPO2: 91}, _dose(1, kind="antibacterial"), U, id="two-within-an-hour"),
        pytest.param({BP: 89, SPO2: 91, RATE: 25}, _dose(1, kind="nsaid"), E, id="three"),
        pytest.param({BP: 90, SPO2: 91}, _dose(1, kind="antibacterial"), None, id="one"),
        pytest.param({BP: 89, SPO2: 92}, _dose(1, kind="antibacterial"), None, id="the-other-alone"),
        pytest.param({BP: 89, SPO2: 91}, _dose(1.1, kind="antibacterial"), None, id="longer-ago"),
        pytest.param({BP: 89, SPO2: 91}, _dose(0.2, kind="antibacterial"), None, id="signs-before-the-dose"),
        pytest.param({BP: 89, SPO2: 91}, _dose(1, Route.ORAL, "antibacterial"), None, id="swallowed"),
    ],
)
def test_anaphylaxis_by_what_came_after_a_dose(
    signs: dict[Any, Any], dose: Any, urgency: Urgency | None
) -> None:
    """Ours: 76 mmHg and 89 % twelve minutes after co-amoxiclav were told as sepsis, "already treated"."""
    found = crises_asked(signs, administrations=(dose,)).get("anaphylaxis-after-a-dose")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("signs", "problems", "urgency"),
    [
        ({SPO2: 91, RATE: 23}, (), None),
        ({SPO2: 92, RATE: 24}, (), None),
        ({SPO2: 91, RATE: 24}, (), P),
        ({SPO2: 91, RATE: 24}, (_lately(C.INFECTION),), None),
    ],
)
def test_lungs_on_methotrexate(
    signs: dict[Any, Any], problems: tuple[Any, ...], urgency: Urgency | None
) -> None:
    """Its label, from memory; an infection on record is looked for first."""
    line = order("Methotrexate 20 mg", "methotrexate")
    found = crises_asked(signs, *problems, orders=(line,)).get("lungs-on-methotrexate")
    assert (found.urgency if found is not None else None) is urgency


def test_one_question_about_an_embolism() -> None:
    """High-risk and a further one ask the same."""
    clot = _lately(C.PULMONARY_EMBOLISM)
    keys = [one.key for one in asked_once(crises_asked({Signal.PULSE: 120, BP: 89}, clot).values())]
    assert "further-embolism" not in keys


@pytest.mark.parametrize(("before", "is_asked"), [(105, False), (104, True)])
def test_a_creatinine_of_old_is_no_renal_crisis(before: int, is_asked: bool) -> None:
    """Ours: 70 % of that of now, 8 days ago or more."""
    numbers = {CREAT: [(9 * 24, before), (2, 150)]}
    record = rounds((1, {BP: 150}), numbers=numbers, conditions=(SCLEROSIS,))
    assert ("renal-crisis-of-scleroderma" in findings(record, Kind.METABOLIC)) is is_asked


def test_an_ace_inhibitor_is_not_held_in_scleroderma() -> None:
    """It is the treatment there, and held in any other kidney injury of this stage."""
    line = {**ordered("Ramipril 5 mg"), "id": "o"}
    assert suggestions(reviewed(*injury(3), line))["o"].action == "hold"
    told = problem("Diffuse systemic sclerosis")
    assert suggestions(reviewed(*injury(3), told, line))["o"].action == "review"


def test_a_live_vaccine_under_immunosuppression() -> None:
    vaccine, other = ordered("MMR vaccine 0.5 mL"), ordered("Azathioprine 100 mg")
    assert interactions(reviewed(vaccine, other))
    assert not interactions(reviewed(ordered("Influenza vaccine 0.5 mL"), other))


@pytest.mark.parametrize(
    ("words", "kind", "means"),
    [
        ("Jaw claudication", C.JAW_OR_SCALP, True),
        ("Amaurosis fugax", C.DISTURBED_SIGHT, True),
        ("Amaurosis fugax", C.TRANSIENT_ISCHAEMIC_ATTACK, True),
        ("Hot swollen left knee", C.HOT_JOINT, True),
        ("Swollen, red and hot ankle", C.HOT_JOINT, True),
        ("Swollen ankles", C.HOT_JOINT, False),
        ("Left calf swelling", C.SWOLLEN_CALF, True),
        ("Leg swelling", C.SWOLLEN_CALF, False),
        ("GPA", C.VASCULITIS, True),
        ("Limited scleroderma", C.SYSTEMIC_SCLEROSIS, True),
        ("Localised scleroderma", C.SYSTEMIC_SCLEROSIS, False),
        ("Portal vein thrombosis", C.VENOUS_THROMBOEMBOLISM, True),
        ("Bilateral lung transplant", C.LUNG_TRANSPLANT, True),
        ("Massive haemoptysis", C.MASSIVE_HAEMOPTYSIS, True),
        ("Massive haemoptysis", C.AIRWAY_THREATENED, False),
        ("Disseminated shingles", C.INFECTION, True),
        ("Carcinoid of the appendix", C.CARCINOID, False),
    ],
)
def test_words(words: str, kind: C, means: bool) -> None:
    assert has_problem(words, kind) is means


@pytest.mark.parametrize(
    ("allergy", "reaction", "is_said"),
    [
        ("Aspirin", "anaphylaxis", True),
        ("NSAIDs", "", True),
        ("Aspirin", "indigestion", False),
        ("Penicillin", "anaphylaxis", False),
    ],
)
def test_what_is_asked_for_names_the_allergy_that_it_meets(
    allergy: str, reaction: str, is_said: bool
) -> None:
    """Nothing is pushed that the record forbids: aspirin for an attack, beside an allergy; words ours."""
    recorded = {
        "resourceType": "AllergyIntolerance",
        "id": "al",
        "patient": {"reference": "Patient/p"},
        "code": {"text": allergy},
        **({"reaction": [{"manifestation": [{"text": reaction}]}]} if reaction else {}),
    }
    answer = reviewed(problem("Transient ischaemic attack", since=earlier("5 h")), recorded)
    (found,) = (one for one in answer.reviews[0].findings if one.key == "transient-attack")
    assert (f"recorded allergy: {allergy}" in found.sentence) is is_said


@pytest.mark.parametrize(
    ("asks", "is_met"), [("heparin now", True), ("no heparin, and no more heparin", False)]
)
def test_what_is_not_to_be_given_meets_no_allergy(asks: str, is_met: bool) -> None:
    known = Allergy(origin=Origin("a"), text="Heparin", ingredients=("heparin",))
    assert bool(against_named(asks, [known])) is is_met
