"""Small FHIR records for tests: written as a sender would, read through the real door."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import msgspec

from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.model.findings import AkiFinding, Kind, ScoreFinding
from weatherglass.model.record.problems import ConditionKind
from weatherglass.pipeline import Answer, review

Json = dict[str, Any]

LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
ATC = "http://www.whocc.no/atc"
LOCAL = "urn:weatherglass:codes:observation"
_ENCODER = msgspec.json.Encoder(decimal_format="number")
_CLINICAL = "http://terminology.hl7.org/CodeSystem/condition-clinical"
_OF_P = {"subject": {"reference": "Patient/p"}}
AT = "2026-03-01T10:00:00+04:00"

#: LOINC code by signal, for what the tests measure.
CODES = {
    "respiration-rate": "9279-1",
    "spo2": "59408-5",
    "systolic-pressure": "8480-6",
    "pulse": "8867-4",
    "temperature": "8310-5",
    "creatinine": "14682-9",
    "potassium": "2823-3",
    "oxygen-flow": "3151-8",
}
ACVPU = {
    "alert": "248234008",
    "new-confusion": "130987000",
    "voice": "300202002",
    "pain": "450847001",
    "unresponsive": "422768004",
}


def observation(identity: str, code: str, *, system: str = LOINC, at: str | None = AT, **rest: Any) -> Json:
    """Return an Observation without a value; keyword arguments add or replace elements."""
    resource: Json = {
        "resourceType": "Observation",
        "id": identity,
        "status": "final",
        "code": {"coding": [{"system": system, "code": code}]},
        **_OF_P,
    }
    if at is not None:
        resource["effectiveDateTime"] = at
    return {**resource, **rest}


def quantity(value: str, unit: str) -> Json:
    """Return a Quantity with a UCUM code; the number keeps its digits."""
    return {"value": Decimal(value), "unit": unit, "system": UCUM, "code": unit}


def measured(identity: str, signal: str, value: str, unit: str, **rest: Any) -> Json:
    """Return an Observation of a numeric signal."""
    return observation(identity, CODES[signal], valueQuantity=quantity(value, unit), **rest)


def alertness(answer: str, **rest: Any) -> Json:
    """Return an Observation of ACVPU."""
    value = {"coding": [{"system": SNOMED, "code": ACVPU[answer]}]}
    return observation("acvpu", "1104441000000107", system=SNOMED, valueCodeableConcept=value, **rest)


def on_air(**rest: Any) -> Json:
    """Return an Observation of breathing room air."""
    return observation("o2", "722742002", system=SNOMED, **rest)


def on_oxygen(**rest: Any) -> Json:
    """Return an Observation of breathing oxygen."""
    return observation("o2", "371825009", system=SNOMED, **rest)


def patient(born: str | None = "1950-06-01", **rest: Any) -> Json:
    """Return a Patient."""
    resource: Json = {"resourceType": "Patient", "id": "p", "gender": "female"}
    if born is not None:
        resource["birthDate"] = born
    return {**resource, **rest}


def ordered(words: str, atc: str = "", **rest: Any) -> Json:
    """Return a MedicationRequest in force; keyword arguments add or replace elements."""
    found = {"resourceType": "MedicationRequest", "id": "m", "status": "active", "intent": "order", **_OF_P}
    return {**found, "medicationCodeableConcept": _medicine(words, atc), **rest}


def given(words: str, at: str, atc: str = "", **rest: Any) -> Json:
    """Return a MedicationAdministration that is done; keyword arguments add or replace elements."""
    found = {"resourceType": "MedicationAdministration", "id": "given", "status": "completed", **_OF_P}
    return {**found, "medicationCodeableConcept": _medicine(words, atc), "effectiveDateTime": at, **rest}


def _medicine(words: str, atc: str) -> Json:
    return {"text": words, **({"coding": [{"system": ATC, "code": atc}]} if atc else {})}


def taken(words: str, **rest: Any) -> Json:
    """Return a MedicationStatement of what is being taken; keyword arguments add or replace elements."""
    found = {"resourceType": "MedicationStatement", "id": "t", "status": "active", **_OF_P}
    return {**found, "medicationCodeableConcept": {"text": words}, **rest}


def allergy(words: str, **rest: Any) -> Json:
    """Return an AllergyIntolerance in words; keyword arguments add or replace elements."""
    found = {"resourceType": "AllergyIntolerance", "id": "a", "patient": _OF_P["subject"]}
    return {**found, "code": {"text": words}, **rest}


def problem(words: str, **rest: Any) -> Json:
    """Return an active Condition in words; keyword arguments add or replace elements."""
    status = {"coding": [{"system": _CLINICAL, "code": "active"}]}
    found = {"resourceType": "Condition", "id": "c", "clinicalStatus": status, **_OF_P}
    return {**found, "code": {"text": words}, **rest}


def procedure(words: str, code: str = "", **rest: Any) -> Json:
    """Return a Procedure that is done, with a SNOMED CT code where one is given; arguments as above."""
    found = {"resourceType": "Procedure", "id": "r", "status": "completed", **_OF_P}
    coding = {"coding": [{"system": SNOMED, "code": code}]} if code else {}
    return {**found, "code": {"text": words, **coding}, **rest}


def stay(**rest: Any) -> Json:
    """Return an Encounter of somebody who is in the hospital; arguments add or replace elements."""
    found = {"resourceType": "Encounter", "id": "e", "status": "in-progress", "class": {"code": "IMP"}}
    return {**found, **_OF_P, **rest}


def asked_for(words: str, **rest: Any) -> Json:
    """Return a ServiceRequest in words; keyword arguments add or replace elements."""
    found = {"resourceType": "ServiceRequest", "id": "s", "status": "active", "intent": "order", **_OF_P}
    return {**found, "code": {"text": words}, **rest}


def flag(words: str, **rest: Any) -> Json:
    """Return a Flag that is up; keyword arguments add or replace elements."""
    return {"resourceType": "Flag", "id": "f", "status": "active", **_OF_P, "code": {"text": words}, **rest}


def bundle(*resources: Json, kind: str = "collection", base: str = "https://ward.example/fhir") -> Json:
    """Return a Bundle with a full URL for every resource that has an id; none where the base is empty."""
    entries = []
    for resource in resources:
        url = f"{base}/{resource['resourceType']}/{resource.get('id', '')}"
        is_named = bool(base and resource.get("id"))
        entries.append({"fullUrl": url, "resource": resource} if is_named else {"resource": resource})
    return {"resourceType": "Bundle", "type": kind, "entry": entries}


def text(value: Any) -> bytes:
    """Encode JSON with decimals as they stand."""
    return _ENCODER.encode(value)


def has_problem(words: str, kind: ConditionKind) -> bool:
    """Tell whether a problem in these words is read as one of a kind."""
    ((_, record),) = reading_of(patient(), problem(words)).records
    return record.has(kind)


def answer_of(*resources: Json, as_of: datetime | None = None) -> Answer:
    """Review a Bundle of these resources."""
    return review(text(bundle(*resources)), as_of=as_of)


def reading_of(*resources: Json) -> Reading:
    """Read a Bundle of these resources; nothing is judged."""
    return read_bytes(text(bundle(*resources)))


def full_set(**changed: str | None) -> list[Json]:
    """Return one normal round of observations; None leaves a signal out."""
    values: dict[str, str | None] = {
        "respiration-rate": "16 /min",
        "spo2": "97 %",
        "oxygen": "air",
        "systolic-pressure": "120 mm[Hg]",
        "pulse": "75 /min",
        "consciousness": "alert",
        "temperature": "37.0 Cel",
    }
    values.update({key.replace("_", "-"): value for key, value in changed.items()})
    found: list[Json] = []
    for signal, value in values.items():
        if value is None:
            continue
        if signal == "consciousness":
            found.append(alertness(value))
        elif signal == "oxygen":
            found.append(on_air() if value == "air" else on_oxygen())
        else:
            number, _, unit = value.partition(" ")
            found.append(measured(signal, signal, number, unit))
    return found


def score_in(answer: Answer, key: str = "news2") -> ScoreFinding:
    """Return the first score of a kind in the first review."""
    return next(
        f
        for f in answer.reviews[0].findings
        if isinstance(f, ScoreFinding) and f.key == key and f.kind in (Kind.SCORE, Kind.SCORE_NOT_APPLICABLE)
    )


def stage_in(answer: Answer, criterion: str) -> AkiFinding:
    """Return the stage by one criterion in the first review."""
    return next(
        f for f in answer.reviews[0].findings if isinstance(f, AkiFinding) and f.criterion == criterion
    )


def points_of(score: ScoreFinding) -> dict[str, int | None]:
    """Return the points of a score by parameter."""
    return {part.key: part.points for part in score.parts}


def keys_of(answer: Answer) -> set[IssueKey]:
    """Return the kinds of issue an answer names."""
    return {issue.key for issue in answer.issues}


def earlier(span: str, at: str = AT) -> str:
    """Return a time some days, hours or minutes before another: '3 d', '36 h', '20 min'."""
    number, _, unit = span.partition(" ")
    length = (
        float(number) * {"d": timedelta(days=1), "h": timedelta(hours=1), "min": timedelta(minutes=1)}[unit]
    )
    return (datetime.fromisoformat(at) - length).isoformat()


def creatinines(index: str, before: Iterable[tuple[str, str]], unit: str = "umol/L") -> list[Json]:
    """Return a newest creatinine and earlier ones, each as (how long before, value)."""
    found = [measured("scr", "creatinine", index, unit)]
    for number, (span, value) in enumerate(before):
        found.append(measured(f"scr-{number}", "creatinine", value, unit, at=earlier(span)))
    return found


def round_before(before: str, **changed: str | None) -> list[Json]:
    at = earlier(before) if before else AT
    return [
        {**one, "id": f"{one['id']}-{before.replace(' ', '')}", "effectiveDateTime": at}
        for one in full_set(**changed)
    ]
