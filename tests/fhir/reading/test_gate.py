"""A modifier keeps a resource from being used, whatever its type, and it is named.

FHIR R4, `extensibility.html`, "Modifier Extensions", and `resource.html`, `implicitRules`: an
application that does not understand one must not use the resource.
"""

from typing import Any

import pytest

from tests.records import LOINC, SNOMED, Json, full_set, patient, reading_of
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.record.record import Record

_SUBJECT: Json = {"subject": {"reference": "Patient/p"}}
_PATIENT: Json = {"patient": {"reference": "Patient/p"}}
_DNACPR = {"coding": [{"system": SNOMED, "code": "450476008"}], "text": "Not for attempted resuscitation"}
#: One resource of each type, as it is used without a modifier.
RESOURCES: dict[str, Json] = {
    "Observation": {
        "status": "final",
        "code": {"coding": [{"system": LOINC, "code": "8867-4"}]},
        "effectiveDateTime": "2026-03-01T09:00:00Z",
        "valueQuantity": {"value": 131, "code": "/min", "system": "http://unitsofmeasure.org"},
        **_SUBJECT,
    },
    "Condition": {"code": {"text": "Epilepsy"}, **_SUBJECT},
    "MedicationRequest": {
        "status": "active",
        "intent": "order",
        "medicationCodeableConcept": {"text": "Ramipril"},
        **_SUBJECT,
    },
    "MedicationStatement": {
        "status": "active",
        "medicationCodeableConcept": {"text": "Ramipril"},
        **_SUBJECT,
    },
    "MedicationAdministration": {
        "status": "completed",
        "medicationCodeableConcept": {"text": "Ramipril"},
        "effectiveDateTime": "2026-03-01T09:00:00Z",
        **_SUBJECT,
    },
    "Encounter": {
        "status": "in-progress",
        "class": {"code": "IMP"},
        "period": {"start": "2026-02-28T09:00:00Z"},
        **_SUBJECT,
    },
    "Procedure": {
        "status": "completed",
        "code": {"text": "Haemodialysis"},
        "performedDateTime": "2026-03-01T06:00:00Z",
        **_SUBJECT,
    },
    "Flag": {"status": "active", "code": _DNACPR, **_SUBJECT},
    "CarePlan": {"status": "active", "intent": "plan", "title": "Not for intensive care", **_SUBJECT},
    "Goal": {
        "lifecycleStatus": "active",
        "description": {"text": "Target saturation 88-92 %"},
        **_SUBJECT,
    },
}
MODIFIERS: list[Json] = [
    {"modifierExtension": [{"url": "urn:example:negated", "valueBoolean": True}]},
    {"implicitRules": "urn:example:rules"},
]


def _read(resource: Json) -> tuple[Record, Any]:
    answer = reading_of(patient(), *full_set(), resource)
    ((_, record),) = answer.records
    return record, answer.issues


def _held(record: Record) -> object:
    return (
        [len(series.items) for series in record.numbers.values()],
        *(len(each) for each in (record.conditions, record.orders, record.administrations, record.stays)),
        *(len(each) for each in (record.procedures, record.directives, record.allergies)),
    )


@pytest.mark.parametrize("modifier", MODIFIERS, ids=["extension", "rules"])
@pytest.mark.parametrize("kind", RESOURCES)
def test_it_is_not_used_and_named(kind: str, modifier: Json) -> None:
    resource = {"resourceType": kind, "id": "x", **RESOURCES[kind]}
    nothing, _ = _read({"resourceType": "Basic", "id": "x"})
    plain, _ = _read(resource)
    assert _held(plain) != _held(nothing)
    record, issues = _read({**resource, **modifier})
    assert _held(record) == _held(nothing)
    assert [i.path for i in issues if i.key is IssueKey.MODIFIER] == ["Bundle.entry[8].resource"]


@pytest.mark.parametrize("modifier", MODIFIERS, ids=["extension", "rules"])
def test_an_allergy_is_shown_as_unconfirmed(modifier: Json) -> None:
    """Our choice: to miss an allergy can hurt, to ask about one cannot."""
    resource = {"resourceType": "AllergyIntolerance", "id": "x", "code": {"text": "Penicillin"}, **_PATIENT}
    (plain,) = _read(resource)[0].allergies
    record, issues = _read({**resource, **modifier})
    (found,) = record.allergies
    assert (plain.confirmed, found.confirmed) == (True, False)
    assert IssueKey.MODIFIER in {issue.key for issue in issues}
