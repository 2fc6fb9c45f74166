"""Three invented wards: what happens to their patients hour by hour, from a seed."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tests.records import CODES, LOINC, SNOMED, UCUM

Json = dict[str, Any]
WARDS = ("larkmoor", "fenbridge", "highcombe")
_UNITS = {
    "respiration-rate": "/min",
    "spo2": "%",
    "systolic-pressure": "mm[Hg]",
    "pulse": "/min",
    "temperature": "Cel",
}
_WELL = {"respiration-rate": 16, "spo2": 97, "systolic-pressure": 124, "pulse": 76, "temperature": 36.8}
_WORSE = {"respiration-rate": 2, "spo2": -1, "systolic-pressure": -6, "pulse": 8, "temperature": 0.3}


@dataclass(frozen=True)
class Event:
    """One thing that is charted: when, what kind of thing, and what is put at the record server."""

    at: datetime
    kind: str
    resource: Json


def day(seed: int, begin: datetime, hours: int, beds: int = 2) -> list[Event]:
    """Return everything that is charted on the wards in `hours`, in order of time."""
    dice = random.Random(seed)
    found: list[Event] = []
    for ward in WARDS:
        for bed in range(beds):
            found += _stay(dice, f"{ward}-{bed}", begin + timedelta(minutes=3 * bed), hours, worse=bed == 0)
    return sorted(found, key=lambda event: event.at)


def _stay(dice: random.Random, who: str, begin: datetime, hours: int, *, worse: bool) -> Iterator[Event]:
    person: Json = {
        "resourceType": "Patient",
        "id": who,
        "gender": dice.choice(("female", "male")),
        "birthDate": f"19{dice.randint(30, 85)}-04-0{dice.randint(1, 9)}",
    }
    yield Event(begin, "admission", person)
    yield Event(begin, "admission", _encounter(who, begin, "in-progress"))
    for hour in range(hours):
        at = begin + timedelta(hours=hour, minutes=dice.randint(5, 20))
        for resource in _round(dice, who, at, hour if worse else 0):
            yield Event(at, "round", resource)
        if hour % 3 == 1:
            yield Event(at, "result", _measured(who, "creatinine", 80 + (40 * hour if worse else 0), at))
            yield Event(at, "result", _measured(who, "potassium", 4.1, at))
    yield from _orders_and_mistakes(who, begin, hours)
    if not worse:
        end = begin + timedelta(hours=hours)
        yield Event(end, "discharge", _encounter(who, begin, "finished", end))
    elif who.startswith("highcombe"):
        end = begin + timedelta(hours=hours)
        yield Event(end, "death", {**person, "deceasedDateTime": end.isoformat()})


def _orders_and_mistakes(who: str, begin: datetime, hours: int) -> Iterator[Event]:
    order: Json = {
        "resourceType": "MedicationRequest",
        "id": f"{who}-order",
        "status": "active",
        "intent": "order",
        "subject": {"reference": f"Patient/{who}"},
        "authoredOn": begin.isoformat(),
        "medicationCodeableConcept": {"text": "Ibuprofen 400 mg tablets"},
    }
    yield Event(begin + timedelta(minutes=30), "order", order)
    stop = begin + timedelta(hours=hours - 1, minutes=40)
    if not who.startswith("larkmoor"):
        yield Event(stop, "stop", {**order, "status": "stopped"})
    at = begin + timedelta(hours=1, minutes=2)
    slip = _measured(who, "potassium", 6.9, at)
    yield Event(at, "result", slip)
    mended = {**slip, "status": "corrected", "valueQuantity": {**slip["valueQuantity"], "value": 3.9}}
    withdrawn = {**slip, "status": "entered-in-error"}
    yield Event(at + timedelta(minutes=30), "correction", withdrawn if who.endswith("1") else mended)


def _encounter(who: str, begin: datetime, status: str, end: datetime | None = None) -> Json:
    period = {"start": begin.isoformat()} | ({"end": end.isoformat()} if end else {})
    return {
        "resourceType": "Encounter",
        "id": f"{who}-stay",
        "status": status,
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": f"Patient/{who}"},
        "period": period,
    }


def _round(dice: random.Random, who: str, at: datetime, worse: int) -> Iterator[Json]:
    for signal, well in _WELL.items():
        value = round(well + _WORSE[signal] * worse + dice.choice((-1, 0, 1)) * 0.1, 1)
        yield _measured(who, signal, value if signal == "temperature" else int(value), at)
    awake = {"coding": [{"system": SNOMED, "code": "248234008"}]}
    yield _observation(who, "acvpu", SNOMED, "1104441000000107", at, valueCodeableConcept=awake)
    yield _observation(who, "air", SNOMED, "722742002", at)


def _measured(who: str, signal: str, value: float, at: datetime) -> Json:
    unit = _UNITS.get(signal, "umol/L" if signal == "creatinine" else "mmol/L")
    measure = {"value": value, "unit": unit, "system": UCUM, "code": unit}
    return _observation(who, signal, LOINC, CODES[signal], at, valueQuantity=measure)


def _observation(who: str, name: str, system: str, code: str, at: datetime, **rest: Any) -> Json:
    kind = "laboratory" if name in ("creatinine", "potassium") else "vital-signs"
    category = "http://terminology.hl7.org/CodeSystem/observation-category"
    return {
        "resourceType": "Observation",
        "id": f"{who}-{name}-{at:%d%H%M}",
        "status": "final",
        "category": [{"coding": [{"system": category, "code": kind}]}],
        "code": {"coding": [{"system": system, "code": code}]},
        "subject": {"reference": f"Patient/{who}"},
        "effectiveDateTime": at.isoformat(),
        **rest,
    }
