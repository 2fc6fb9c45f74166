"""Sends texts through the doors of an application and prints where any is still held afterwards.

Run as a program of its own, so that nothing else holds them:

    python -m tests.privacy.remains
"""

import gc
import json
import secrets
import sys
import threading
from collections.abc import Iterator

from starlette.testclient import TestClient

from tests.cds_hooks.calls import view
from tests.records import ATC, LOINC, Json, bundle
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

REVIEW = "/fhir/$review-deterioration"
_LINES = "application/fhir+ndjson"
#: How long the planted texts are: one that fits into any cache, and one of many pages.
LENGTHS = (24, 60_000)
#: By kind of resource a word that is read, so that later questions are asked of the text behind it.
_READ = {
    "Condition": "Pneumonia",
    "Procedure": "Appendicectomy",
    "MedicationRequest": "Morphine 10 mg tablets",
    "MedicationAdministration": "Gentamicin 80 mg/2 mL",
    "AllergyIntolerance": "Penicillin",
    "CarePlan": "Not for resuscitation",
    "Flag": "Infection",
    "ServiceRequest": "Crossmatch",
    "Encounter": "Sepsis",
}


def planted(text: str) -> list[Json]:
    """Return resources with a text wherever a sender may write one, alone and behind what is read."""
    person = {"resourceType": "Patient", "id": "p", "name": [{"text": text, "family": text}]}
    kinds = [*_kinds(text), *(_behind(word, kind, text) for kind, word in _READ.items())]
    return [person, *({**kind, "id": f"x{number}"} for number, kind in enumerate(kinds))]


def _behind(word: str, kind: str, text: str) -> Json:
    """Return a resource of a kind that is read by a word, which a text follows."""
    said: Json = {"text": f"{word} {text}"}
    own: Json = {"code": said, "category": [said], "reasonCode": [said]}
    if kind.startswith("Medication"):
        own = {**_dosed(said, f"2 tablets {text}"), "reasonCode": [said], "intent": "order"}
    if kind == "CarePlan":
        own = {"title": said["text"], "intent": "plan"}
    whom = "patient" if kind == "AllergyIntolerance" else "subject"
    done = kind in ("Procedure", "MedicationAdministration")
    status = "in-progress" if kind == "Encounter" else "completed" if done else "active"
    times = {"effectiveDateTime": _AT, "performedDateTime": _AT, "recordedDate": _AT, "authoredOn": _AT}
    return {"resourceType": kind, "status": status, whom: {"reference": "Patient/p"}, **times, **own}


def _kinds(text: str) -> list[Json]:
    coded = {
        "coding": [{"system": system, "code": text, "display": text} for system in (ATC, LOINC, text)],
        "text": text,
    }
    shared: Json = {
        "subject": {"reference": "Patient/p", "display": text},
        "meta": {"security": [{"system": text, "code": text, "display": text}], "lastUpdated": text},
        "identifier": [{"system": text, "value": text}],
        "note": [{"text": text}],
        "status": "active",
        "code": coded,
    }
    measured = {"value": 80, "unit": text, "system": "http://unitsofmeasure.org", "code": text}
    rate = {"coding": [{"system": LOINC, "code": "8867-4", "display": text}], "text": text}
    good = {**measured, "unit": text, "code": "/min"}
    kinds: list[Json] = [
        {"resourceType": "Observation", "status": "final", "valueQuantity": good, "code": rate},
        {"resourceType": "Observation", "status": "final", "valueQuantity": measured},
        {"resourceType": "Observation", "status": "final", "valueString": text, "method": coded},
        {"resourceType": "Observation", "status": text, "effectiveDateTime": text},
        {"resourceType": "Condition", "onsetDateTime": text},
        {"resourceType": "CarePlan", "title": text, "description": text, "intent": "plan"},
        {"resourceType": "Procedure", "status": "completed", "performedDateTime": _AT},
        {"resourceType": "MedicationRequest", "intent": "order", **_dosed(coded, text)},
        {"resourceType": "MedicationAdministration", "status": "completed", **_dosed(coded, text)},
        {"resourceType": "Encounter", "status": "in-progress", "class": {"code": text}, "type": [coded]},
        {"resourceType": "AllergyIntolerance", "patient": {"reference": "Patient/p"}},
        {"resourceType": text},
    ]
    return [{**shared, "effectiveDateTime": _AT, "issued": text, **kind} for kind in kinds]


_AT = "2026-03-12T07:00:00Z"


def _dosed(medicine: Json, text: str) -> Json:
    dosage = {"text": text, "route": medicine, "dose": {"value": 1, "unit": text}}
    return {
        "medicationCodeableConcept": medicine,
        "authoredOn": _AT,
        "dosageInstruction": [{k: v for k, v in dosage.items() if k != "dose"}],
        "dosage": dosage,
    }


def _send(client: TestClient, text: str) -> list[int]:
    resources = planted(text)
    whole = bundle(*resources, base="")
    lines = "\n".join(json.dumps(one) for one in resources)
    call = view("01-sepsis")
    call["prefetch"]["vitals"]["entry"] += whole["entry"]
    call["prefetch"][text] = whole
    asked = {"Accept": f"application/fhir+json, x/{text[:200]}", "Accept-Encoding": f"gzip, {text[:200]}"}
    return [
        client.post(REVIEW, json=whole, headers=asked).status_code,
        client.post(REVIEW, content=lines, headers={"Content-Type": _LINES}).status_code,
        client.post("/fhir/$handover-document", json=whole).status_code,
        client.post("/view", json=whole).status_code,
        client.post("/cds-services/deterioration-review", json=call).status_code,
        client.post(REVIEW, content=json.dumps(whole)[:-9]).status_code,
    ]


def held(first: str, second: str) -> Iterator[str]:
    """Yield what is reachable and holds a text, given in two parts so that they are not found themselves."""
    waiting = [one for one in gc.get_objects() if one is not sys._getframe()]
    seen = {id(waiting)}
    while waiting:
        one = waiting.pop()
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one, str):
            found = first + second in one
        elif isinstance(one, bytes | bytearray):
            found = (first + second).encode() in one
        else:
            waiting.extend(gc.get_referents(one))
            continue
        if found:
            holders = [type(h).__name__ for h in gc.get_referrers(one) if h is not waiting]
            yield f"{type(one).__name__} of {len(one)} in {holders[:4]}: {one[:60]!r}"


def main() -> int:
    """Print what is held, and return whether anything is."""
    first, second = secrets.token_hex(6), secrets.token_hex(6)
    statuses: list[list[int]] = []
    app = create_app(Settings(_env_file=None))
    with TestClient(app) as client:
        statuses.extend(_send(client, (first + second) * (length // 24)) for length in LENGTHS)
        client.get("/health/live")
    # The client goes first: it holds its last request a moment longer, as does a thread that has answered.
    del client
    for thread in set(threading.enumerate()) - {threading.current_thread()}:
        thread.join(timeout=10)
    gc.collect()
    found = list(held(first, second))
    sys.stdout.write(f"{statuses}\n" + ("\n".join(found) or "nothing is held") + "\n")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
