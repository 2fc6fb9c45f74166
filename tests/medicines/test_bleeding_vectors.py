"""Bleeding into the head or another critical site, into the gut, and a blow to the head.

British guideline on warfarin 2011 and NICE NG232, both restated elsewhere; the urgencies are ours.
"""

import json
from typing import Any

import pytest

from tests.medicines.wards import order, problem, result, reviewed, suggestions, the_only
from tests.records import Json, earlier, full_set
from weatherglass.model.findings import Kind, Urgency
from weatherglass.stamp import stamp

WARFARIN = order("Warfarin 3 mg tablets", "B01AA03")
APIXABAN = order("Apixaban 5 mg tablets", "B01AF02")
ASPIRIN = order("Aspirin 75 mg tablets", "B01AC06")
ALTEPLASE = order("Alteplase 50 mg", "B01AD02")
TODAY = "2026-03-01"


@pytest.mark.parametrize(
    "text",
    [
        "Acute subdural haematoma",
        "Intracerebral haemorrhage",
        "Subarachnoid hemorrhage",
        "Extradural haematoma",
        "Intracranial bleed",
        "Haemorrhagic stroke",
        "Left SDH",
        "Retroperitoneal haematoma",
        "Spinal epidural haematoma",
        "Haemarthrosis",
    ],
)
@pytest.mark.parametrize("medicine", [WARFARIN, APIXABAN, ASPIRIN, ALTEPLASE])
def test_a_critical_site(text: str, medicine: Json) -> None:
    """Whatever keeps blood from clotting, an emergency; haematology is asked about reversal."""
    found = the_only(problem(text, since=TODAY), result("INR", "3.2"), medicine)
    assert (found.action, found.urgency) == ("hold", Urgency.EMERGENCY)
    said = " ".join((found.sentence, *found.cautions)).lower()
    assert "haematology" in said
    if medicine is not ASPIRIN:
        assert "reversal" in found.sentence
        assert "Reversal: ask haematology now" in " ".join(found.cautions)
    assert not any("aspirin goes on" in reason.why for reason in found.reasons)


@pytest.mark.parametrize(
    ("system", "code"),
    [
        ("http://hl7.org/fhir/sid/icd-10", "S06.5"),
        ("http://hl7.org/fhir/sid/icd-10", "I61.9"),
        ("http://hl7.org/fhir/sid/icd-10-cm", "I62.00"),
        ("http://snomed.info/sct", "1386000"),
        ("http://snomed.info/sct", "274100004"),
        ("http://snomed.info/sct", "21454007"),
        ("http://snomed.info/sct", "35486000"),
    ],
)
def test_by_its_code(system: str, code: str) -> None:
    """The code alone is enough."""
    coded = problem("x", since=TODAY) | {"code": {"coding": [{"system": system, "code": code}]}}
    found = the_only(coded, result("Na", "140"), WARFARIN)
    assert (found.action, found.urgency) == ("hold", Urgency.EMERGENCY)


@pytest.mark.parametrize(
    "listed",
    [
        problem("Subdural haematoma", since="2019-05-01"),
        problem("Subdural haematoma", since="2019"),
        problem("History of subdural haematoma"),
        problem("No evidence of intracranial haemorrhage", since=TODAY),
        problem("Subdural haematoma", status="resolved", since=TODAY),
    ],
)
def test_long_past_or_not_there(listed: Json) -> None:
    """A bleed of years ago, one that is over and one that was excluded hold nothing."""
    assert suggestions(reviewed(listed, result("Na", "140"), WARFARIN)) == {}


def test_a_stent() -> None:
    """With a coronary stent the antiplatelet is reviewed with cardiology: as urgently."""
    found = the_only(
        problem("Subdural haematoma", since=TODAY), problem("Coronary stent"), result("Na", "140"), ASPIRIN
    )
    assert (found.action, found.urgency) == ("review", Urgency.EMERGENCY)


@pytest.mark.parametrize(
    ("signs", "urgency"),
    [
        ([result("GCS", "15")], Urgency.PROMPT),
        ([result("GCS", "14")], Urgency.URGENT),
        ([result("GCS", "8")], Urgency.URGENT),
    ],
)
@pytest.mark.parametrize("medicine", [WARFARIN, APIXABAN, ASPIRIN])
def test_a_head_injury(signs: list[Json], urgency: Urgency, medicine: Json) -> None:
    """Prompt; urgent with a neurological sign, and an anticoagulant is held until the head is imaged."""
    found = the_only(problem("Head injury after a fall", since=TODAY), *signs, medicine)
    is_held = urgency is Urgency.URGENT and medicine is not ASPIRIN
    assert (found.action, found.urgency) == ("hold" if is_held else "review", urgency)
    assert any("CT of the head" in caution for caution in found.cautions)


def test_a_head_injury_of_last_week() -> None:
    """Ours: it counts for 3 days from its date."""
    old = problem("Head injury", since="2026-02-20")
    assert suggestions(reviewed(old, result("Na", "140"), WARFARIN)) == {}


@pytest.mark.parametrize(
    ("listed", "pressure", "pulse", "urgency"),
    [
        ("Haematemesis", "120", "80", Urgency.URGENT),
        ("Melaena", "120", "80", Urgency.URGENT),
        ("Melaena", "100", "100", Urgency.EMERGENCY),  # A shock index of 1.0.
        ("Melaena", "101", "100", Urgency.URGENT),
        ("Epistaxis bleeding", "120", "80", Urgency.PROMPT),
    ],
)
def test_bleeding_on_an_anticoagulant(listed: str, pressure: str, pulse: str, urgency: Urgency) -> None:
    """Bleeding into the gut does not wait for a fall in haemoglobin."""
    vitals: list[Any] = [result("SBP", pressure), result("HR", pulse)]
    found = the_only(problem(listed, since=TODAY), *vitals, APIXABAN)
    assert (found.action, found.urgency) == ("hold", urgency)


@pytest.mark.parametrize("medicine", [WARFARIN, APIXABAN, ASPIRIN])
def test_the_reason_of_the_stay(medicine: Json) -> None:
    """Who came for a bleed into the head has it, whether or not the problem list says so too."""
    stay: Json = {
        "resourceType": "Encounter",
        "id": "stay",
        "status": "in-progress",
        "subject": {"reference": "Patient/p"},
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "period": {"start": f"{TODAY}T06:00:00Z"},
        "reasonCode": [{"text": "Intracerebral haemorrhage"}],
    }
    found = the_only(stay, result("Na", "140"), medicine)
    assert (found.action, found.urgency) == ("hold", Urgency.EMERGENCY)


def test_a_suspicion_holds_nothing() -> None:
    """What nobody has confirmed is looked for: the anticoagulant waits for the answer."""
    unsure = problem("Gastrointestinal bleed", since=TODAY)
    unsure["verificationStatus"] = {
        "coding": [
            {
                "system": "http://terminology.hl7.org/CodeSystem/condition-ver-status",
                "code": "provisional",
            }
        ]
    }
    found = the_only(unsure, result("Na", "140"), APIXABAN)
    assert found.action != "hold"
    assert "nobody has confirmed it" in found.sentence
    assert "If it is confirmed: consider holding" in found.sentence


def test_priority_and_issue_agree() -> None:
    """The Task and the DetectedIssue of one suggestion say the same urgency."""
    answer = reviewed(problem("Subdural haematoma", since=TODAY), result("INR", "3.2"), WARFARIN)
    entries = {e["fullUrl"]: e["resource"] for e in json.loads(answer.collection(stamp()))["entry"]}
    (task,) = (one for one in entries.values() if one["resourceType"] == "Task")
    issue = entries[task["reasonReference"]["reference"]]
    assert (task["priority"], issue["severity"]) == ("stat", "high")
    assert '"emergency"' in json.dumps(issue)


@pytest.mark.parametrize(
    ("dose", "haemoglobin", "more", "action", "urgency"),
    [
        ("5000 units once daily", "118", (), "review", Urgency.ROUTINE),
        ("15000 units once daily", "118", (), "hold", Urgency.URGENT),
        ("5000 units once daily", "108", (), "hold", Urgency.URGENT),
        ("5000 units once daily", "118", (problem("Melaena", since=TODAY),), "hold", Urgency.URGENT),
    ],
    ids=["prevents", "treats", "falls by 30", "bleeding seen"],
)
def test_a_preventive_dose_beside_a_small_fall(
    dose: str, haemoglobin: str, more: tuple[Json, ...], action: str, urgency: Urgency
) -> None:
    """Ours: a fall of 20 g/L, as an operation brings it, stops no prevention; 30 g/L or blood does."""
    dalteparin = order("Dalteparin", "B01AB04", dosageInstruction=[{"text": dose}])
    fall = (result("Hb", "138", "2026-02-27T12:00:00+04:00"), result("Hb", haemoglobin))
    found = the_only(*fall, *more, dalteparin)
    assert (found.action, found.urgency) == (action, urgency)


@pytest.mark.parametrize(
    ("dose", "begun", "mind", "action", "urgency"),
    [
        ("5000 units once daily", "48 h", "alert", "review", Urgency.PROMPT),
        ("5000 units once daily", "49 h", "alert", "hold", Urgency.EMERGENCY),
        ("5000 units once daily", "48 h", "voice", "hold", Urgency.EMERGENCY),
        ("15000 units once daily", "48 h", "alert", "hold", Urgency.EMERGENCY),
    ],
    ids=["prevents since the second day", "since the first", "drowsy", "treats"],
)
def test_prevention_begun_after_a_bleed_into_the_head(
    dose: str, begun: str, mind: str, action: str, urgency: Urgency
) -> None:
    """Common practice, no source: clots are prevented from the second day of a bleed that does not grow."""
    bled = problem("Subarachnoid haemorrhage", since=earlier("72 h"))
    dalteparin = order("Dalteparin", "B01AB04", dosageInstruction=[{"text": dose}], authoredOn=earlier(begun))
    answer = reviewed(bled, dalteparin, *full_set(consciousness=mind))
    (found,) = suggestions(answer).values()
    assert (found.action, found.urgency) == (action, urgency)
    (bleeding,) = [one for one in answer.reviews[0].findings if one.kind is Kind.POSSIBLE_BLEEDING]
    is_calm = dose == "5000 units once daily" and begun == "48 h"
    assert (bleeding.urgency is Urgency.EMERGENCY) is not is_calm


@pytest.mark.parametrize(
    ("dose", "platelets", "action", "urgency"),
    [
        ("90 mg twice daily", "49", "review", Urgency.PROMPT),
        ("40 mg once daily", "49", "review", Urgency.ROUTINE),
        ("90 mg twice daily", "25", "review", Urgency.PROMPT),
        ("40 mg once daily", "25", "review", Urgency.ROUTINE),
        ("90 mg twice daily", "24", "hold", Urgency.URGENT),
        ("40 mg once daily", "24", "hold", Urgency.URGENT),
    ],
)
def test_heparin_with_few_platelets(dose: str, platelets: str, action: str, urgency: Urgency) -> None:
    """ISTH SSC 2018, secondary: from 25 a lower dose, below 25 none. How soon is ours."""
    enoxaparin = order("Enoxaparin", "B01AB05", dosageInstruction=[{"text": dose}])
    found = the_only(result("platelets", platelets), enoxaparin)
    assert (found.action, found.urgency) == (action, urgency)


def test_a_fall_on_heparin_is_said_as_one() -> None:
    """British Society for Haematology 2023, abstract: a fall of 30 % or more; here from 180 to 80."""
    enoxaparin = order("Enoxaparin", "B01AB05", authoredOn="2026-02-20T09:00:00+04:00")
    found = the_only(
        result("platelets", "180", "2026-02-27T12:00:00+04:00"), result("platelets", "80"), enoxaparin
    )
    assert "platelets 80 ×10⁹/L, down from 180" in found.sentence
