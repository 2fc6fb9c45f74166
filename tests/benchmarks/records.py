"""Invented records of a stated size: one inpatient, rounds of vital signs and blood results.

The resources carry what feeds carry (identifiers of versions, categories, performers,
display texts), so that a decoder has the usual ballast to step over.
"""

import json
from datetime import datetime, timedelta, timezone
from functools import cache
from typing import Any

_START = datetime(2026, 3, 1, tzinfo=timezone(timedelta(hours=1)))
_LOINC = "http://loinc.org"
_UCUM = "http://unitsofmeasure.org"
_BASE = "https://ward.example/fhir"
#: code, unit, usual value, how far it wanders; the order of one round.
_ROUND: tuple[tuple[str, str, float, int], ...] = (
    ("9279-1", "/min", 16, 9),
    ("59408-5", "%", 95, 4),
    ("8867-4", "/min", 84, 37),
    ("8310-5", "Cel", 37.1, 15),
    ("85354-9", "mm[Hg]", 118, 31),
    ("80288-4", "", 0, 1),
    ("3151-8", "L/min", 2, 2),
    ("2160-0", "mg/dL", 0.98, 9),
    ("2823-3", "mmol/L", 4.2, 11),
    ("718-7", "g/dL", 12.9, 13),
)
_MEDICINES = (
    "Ramipril 5 mg capsules",
    "Furosemide 40 mg tablets",
    "Metformin 500 mg tablets",
    "Ibuprofen 400 mg tablets",
    "Apixaban 5 mg tablets",
    "Bisoprolol 2.5 mg tablets",
)


@cache
def record(observations: int) -> bytes:
    """Return a Bundle of one patient with so many Observations, six orders and two conditions."""
    entries = [
        {"resourceType": "Patient", "id": "p", "birthDate": "1948-04-02", "gender": "female"},
        *(_order(index, text) for index, text in enumerate(_MEDICINES)),
        _condition("copd", "J44.9"),
        _condition("af", "I48.9"),
        *(_observation(index, observations) for index in range(observations)),
    ]
    whole = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"fullUrl": f"{_BASE}/{r['resourceType']}/{r['id']}", "resource": r} for r in entries],
    }
    return json.dumps(whole).encode()


def _observation(index: int, count: int) -> dict[str, Any]:
    code, unit, usual, wander = _ROUND[index % len(_ROUND)]
    number = index // len(_ROUND)
    # Four-hourly rounds, and hourly where that would reach back further than a year.
    at = _START + timedelta(hours=(4 if count <= 2000 else 1) * number)
    resource: dict[str, Any] = {
        "resourceType": "Observation",
        "id": f"o{index}",
        "meta": {"versionId": "1", "lastUpdated": (at + timedelta(minutes=4)).isoformat()},
        "status": "final",
        "category": [
            {
                "coding": [
                    {
                        "system": "http://terminology.hl7.org/CodeSystem/observation-category",
                        "code": "vital-signs",
                        "display": "Vital Signs",
                    }
                ]
            }
        ],
        "code": {"coding": [{"system": _LOINC, "code": code, "display": "As the feed names it"}]},
        "subject": {"reference": "Patient/p"},
        "encounter": {"reference": "Encounter/e"},
        "effectiveDateTime": at.isoformat(),
        "issued": (at + timedelta(minutes=3)).isoformat(),
        "performer": [{"reference": "Practitioner/n"}],
    }
    step = (number * 7) % (wander + 1)
    if code == "80288-4":
        resource["valueCodeableConcept"] = {
            "coding": [{"system": "http://snomed.info/sct", "code": "248234008", "display": "Alert"}]
        }
    elif code == "85354-9":
        resource["component"] = [
            {
                "code": {"coding": [{"system": _LOINC, "code": part}]},
                "valueQuantity": _quantity(value, "mm[Hg]"),
            }
            for part, value in (("8480-6", usual + step), ("8462-4", 70))
        ]
    else:
        value = round(usual + step / 10, 2) if usual % 1 else usual + step
        resource["valueQuantity"] = _quantity(value, unit)
    return resource


def _quantity(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit, "system": _UCUM, "code": unit}


def _order(index: int, text: str) -> dict[str, Any]:
    return {
        "resourceType": "MedicationRequest",
        "id": f"m{index}",
        "status": "active",
        "intent": "order",
        "medicationCodeableConcept": {"text": text},
        "subject": {"reference": "Patient/p"},
        "authoredOn": _START.isoformat(),
        "dosageInstruction": [{"text": "once daily", "route": {"text": "oral"}}],
    }


def _condition(identity: str, code: str) -> dict[str, Any]:
    return {
        "resourceType": "Condition",
        "id": identity,
        "clinicalStatus": {
            "coding": [
                {"system": "http://terminology.hl7.org/CodeSystem/condition-clinical", "code": "active"}
            ]
        },
        "code": {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": code}]},
        "subject": {"reference": "Patient/p"},
    }
