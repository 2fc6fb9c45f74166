"""Resources of FHIR R5 are told apart by name: the medicine and the class of an Encounter moved."""

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
