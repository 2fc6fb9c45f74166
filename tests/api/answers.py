"""Looking into answers."""

import json
from typing import Any

from httpx import Response
from prometheus_client.parser import text_string_to_metric_families

REVIEW = "/fhir/$review-deterioration"
HANDOVER = "/fhir/$handover-document"
CODES = "urn:weatherglass:codes:"


def resources(answer: Response | dict[str, Any], kind: str = "") -> list[dict[str, Any]]:
    """Return the resources of a Bundle, of one type if named."""
    bundle = answer if isinstance(answer, dict) else answer.json()
    every = [entry["resource"] for entry in bundle["entry"]]
    return [each for each in every if not kind or each["resourceType"] == kind]


def codes(resource: dict[str, Any]) -> set[str]:
    """Return the codes of a resource in our own systems, as 'score#news2'."""
    return {
        f"{coding['system'].removeprefix(CODES)}#{coding['code']}"
        for coding in resource["code"].get("coding", ())
        if coding["system"].startswith(CODES)
    }


def scores(answer: Response | dict[str, Any], code: str) -> list[dict[str, Any]]:
    """Return the Observations of one of our codes."""
    return [o for o in resources(answer, "Observation") if code in codes(o)]


def issue(answer: Response) -> dict[str, Any]:
    """Return the first issue of an OperationOutcome, which the answer has to be."""
    outcome = answer.json()
    assert outcome["resourceType"] == "OperationOutcome", answer.text[:300]
    assert answer.headers["content-type"] == "application/fhir+json; charset=utf-8"
    found: dict[str, Any] = outcome["issue"][0]
    return found


def code_of(found: dict[str, Any]) -> str:
    """Return our own code of an issue."""
    coding = found["details"]["coding"][0]
    assert coding["system"] == f"{CODES}issue"
    code: str = coding["code"]
    return code


def parameters(record: bytes, **values: Any) -> dict[str, Any]:
    """Return Parameters around a record; a value is `(value[x], value)`, or several of them."""
    listed: list[dict[str, Any]] = [{"name": "record", "resource": json.loads(record)}]
    for name, value in values.items():
        for kind, content in value if isinstance(value, list) else [value]:
            listed.append({"name": name, kind: content})
    return {"resourceType": "Parameters", "parameter": listed}


GOOD = json.dumps(
    {
        "resourceType": "Observation",
        "id": "hr",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": "2026-03-12T06:00:00Z",
        "valueQuantity": {"value": 75, "system": "http://unitsofmeasure.org", "code": "/min"},
    }
)


def numbers(text: str) -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
    """Read the text format as a scraper does: name and labels to value."""
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }
