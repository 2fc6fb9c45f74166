"""Resources of other releases of FHIR are told apart by name.

In R5 the medicine and the class of an Encounter moved; in DSTU2 and STU3 a status was a word, and what was
ordered stood in resources that are gone (HL7 FHIR, R2 to R4 differences of each resource).
"""

import pytest

from tests.records import Json, bundle, measured, patient, text
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.bundle import Reading, read_bytes

CONCEPT: Json = {"text": "Ramipril 5 mg"}


def _read(resource: Json) -> Reading:
    return read_bytes(text(bundle(patient(), measured("hr", "pulse", "80", "/min"), resource)))


@pytest.mark.parametrize("kind", ["MedicationRequest", "MedicationStatement", "MedicationAdministration"])
@pytest.mark.parametrize("medication", [{"concept": CONCEPT}, {"reference": {"reference": "Medication/m"}}])
def test_a_medicine_where_r5_writes_it(kind: str, medication: Json) -> None:
    status = "completed" if kind == "MedicationAdministration" else "active"
    resource = {
        "resourceType": kind,
        "id": "m",
        "status": status,
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": "2026-03-01T08:00:00Z",
        "medication": medication,
    }
    (said,) = (issue for issue in _read(resource).issues if issue.path.endswith(".medication"))
    assert (said.key, said.severity) == (IssueKey.WRONG_TYPE, Severity.ERROR)
    assert said.text.startswith("This is FHIR R5")


def test_the_class_of_an_encounter_is_a_list_in_r5() -> None:
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": [{"coding": [{"code": "IMP"}]}],
        "subject": {"reference": "Patient/p"},
    }
    assert any("FHIR R5; send R4" in issue.text for issue in _read(stay).issues)


@pytest.mark.parametrize("element", ["clinicalStatus", "verificationStatus"])
def test_a_status_of_a_condition_was_a_word(element: str) -> None:
    problem = {
        "resourceType": "Condition",
        "id": "c",
        "subject": {"reference": "Patient/p"},
        "code": {"text": "COPD"},
        element: "active",
    }
    (said,) = (issue.text for issue in _read(problem).issues if element in issue.path)
    assert "DSTU2 or STU3; send R4" in said


def test_the_class_of_an_encounter_was_a_word() -> None:
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": "inpatient",
        "patient": {"reference": "Patient/p"},
    }
    assert any("DSTU2 or STU3; send R4" in issue.text for issue in _read(stay).issues)


@pytest.mark.parametrize("kind", ["MedicationOrder", "ProcedureRequest", "DiagnosticOrder"])
def test_a_resource_that_is_gone_is_named(kind: str) -> None:
    """An order that was not read is missed by name; a name that may be anything is not repeated."""
    said = [issue.text for issue in _read({"resourceType": kind, "id": "m"}).issues]
    assert said == [f"{kind} is a resource of an earlier release of FHIR (DSTU2 or STU3); not used. Send R4."]
    unknown = [issue.text for issue in _read({"resourceType": "Ambrose", "id": "m"}).issues]
    assert not any("Ambrose" in each for each in unknown)
