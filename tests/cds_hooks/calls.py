"""Calls of a pretended CDS client about the demo ward's patients."""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

Json = dict[str, Any]
WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
NAMES = sorted(path.stem for path in WARD.glob("*.json"))
#: A few minutes after the ward's newest observations.
PRESENT = datetime(2026, 3, 12, 7, 40, tzinfo=UTC)
INSTANCE = "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea"


def record(name: str) -> list[Json]:
    """Return the resources of one patient of the ward."""
    bundle = json.loads((WARD / f"{name}.json").read_text("utf-8"))
    return [entry["resource"] for entry in bundle["entry"]]


def patient_id(name: str) -> str:
    """Return the patient's id."""
    return next(str(r["id"]) for r in record(name) if r["resourceType"] == "Patient")


def bundle(*resources: Json, kind: str = "searchset") -> Json:
    """Return a Bundle of resources."""
    return {"resourceType": "Bundle", "type": kind, "entry": [{"resource": r} for r in resources]}


def prefetch(name: str) -> Json:
    """Return what a client would send ahead, split up as the templates ask for it."""
    resources = record(name)

    def of(kind: str, *more: str) -> Json:
        return bundle(*(r for r in resources if r["resourceType"] in (kind, *more)))

    def observed(*categories: str) -> Json:
        return bundle(*(r for r in resources if _categories(r) & set(categories)))

    def ordered(*statuses: str) -> Json:
        found = (r for r in resources if r["resourceType"] == "MedicationRequest" and r["status"] in statuses)
        return bundle(*found, *(r for r in resources if r["resourceType"] == "Medication"))

    def coded(*codes: str) -> Json:
        return bundle(*(r for r in resources if _codes(r) & set(codes)))

    return {
        "patient": next(r for r in resources if r["resourceType"] == "Patient"),
        "vitals": observed("vital-signs"),
        "bedside": observed("exam", "survey", "therapy", "procedure", "activity", "social-history"),
        "creatinine": coded("2160-0", "14682-9"),
        "potassium": coded("2823-3", "6298-4"),
        "decisions": coded("304251008", "304252001", "304253006", "spo2-scale", "treatment-ceiling"),
        "results": observed("laboratory"),
        "medications": ordered("active", "on-hold"),
        "ended": ordered("stopped", "completed"),
        "administrations": of("MedicationAdministration"),
        "statements": of("MedicationStatement"),
        "allergies": of("AllergyIntolerance"),
        "conditions": of("Condition"),
        "encounters": of("Encounter", "Location"),
        "procedures": of("Procedure"),
        "requests": of("ServiceRequest"),
        "flags": of("Flag"),
        "plans": of("CarePlan"),
        "consents": of("Consent"),
        "documents": of("DocumentReference"),
    }


def _categories(resource: Json) -> set[str]:
    if resource["resourceType"] != "Observation":
        return set()
    return {c["code"] for category in resource.get("category", []) for c in category.get("coding", [])}


def _codes(resource: Json) -> set[str]:
    if resource["resourceType"] != "Observation":
        return set()
    return {c["code"] for c in resource["code"].get("coding", [])}


def view(name: str, **changes: Any) -> Json:
    """Return a patient-view call."""
    call: Json = {
        "hook": "patient-view",
        "hookInstance": INSTANCE,
        "context": {"userId": "Practitioner/heron", "patientId": patient_id(name)},
        "prefetch": prefetch(name),
    }
    call.update(copy.deepcopy(changes))
    return call


def draft(name: str, medicine: str, identity: str | None = "draft-1", **more: Any) -> Json:
    """Return a draft order of a medicine in words."""
    order: Json = {
        "resourceType": "MedicationRequest",
        "status": "draft",
        "intent": "order",
        "subject": {"reference": f"Patient/{patient_id(name)}"},
        "authoredOn": "2026-03-12T07:41:00+00:00",
        "medicationCodeableConcept": {"text": medicine},
        "dosageInstruction": [
            {
                "text": "as charted",
                "route": {"text": "oral"},
                "doseAndRate": [{"doseQuantity": {"value": 1.50, "unit": "mg"}}],
            }
        ],
    }
    if identity is not None:
        order["id"] = identity
    order.update(more)
    return order


def sign(name: str, *drafts: Json, hook: str = "order-sign", **changes: Any) -> Json:
    """Return an order-sign or order-select call."""
    call = view(name)
    call["hook"] = hook
    call["context"]["draftOrders"] = bundle(*drafts, kind="collection")
    if hook == "order-select":
        call["context"]["selections"] = [f"MedicationRequest/{d['id']}" for d in drafts if "id" in d]
    call.update(copy.deepcopy(changes))
    return call
