"""Three invented wards: what happens to their patients hour by hour, from a seed."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tests.records import ACVPU, CODES, LOINC, SNOMED, Json, observation, ordered, patient, quantity, stay

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

    @property
    def patient(self) -> str:
        """Return the id of the patient whom it is about."""
        subject = self.resource.get("subject", {}).get("reference", "")
        return subject.rpartition("/")[2] or str(self.resource["id"])


def day(seed: int, begin: datetime, hours: int, beds: int = 2) -> list[Event]:
    """Return everything that is charted on the wards in `hours`, in order of time."""
    dice = random.Random(seed)
    found: list[Event] = []
    for ward in WARDS:
        icu = {"resourceType": "Location", "id": f"{ward}-icu", "status": "active", "name": f"{ward} ICU"}
        found.append(Event(begin, "place", icu))
        for bed in range(beds):
            # Who comes later in a long day is still there for a while.
            late = timedelta(minutes=3 * bed if bed < 2 else dice.randint(0, 30 * hours))
            left = hours - -(-late // timedelta(hours=1)) + (bed < 2)
            found += _stay(dice, f"{ward}-{bed}", begin + late, left, worse=bed % 3 == 0)
    found += _unnamed(dice, begin + timedelta(minutes=20), begin + timedelta(hours=hours * 0.6))
    # The same moment: what was written first stands first.
    return sorted(found, key=lambda event: event.at)


def _stay(dice: random.Random, who: str, begin: datetime, hours: int, *, worse: bool) -> Iterator[Event]:
    gender = dice.choice(("female", "male"))
    person = patient(f"19{dice.randint(30, 85)}-04-0{dice.randint(1, 9)}", id=who, gender=gender)
    yield Event(begin, "admission", person)
    yield Event(begin, "admission", _encounter(who, begin, "in-progress"))
    peak = dice.randint(4, 7)
    dies = who.startswith("highcombe-0")
    for hour in range(0, hours, 1 if worse or hours < 8 else 4):
        at = begin + timedelta(hours=hour, minutes=dice.randint(5, 20))
        # Worse from hour to hour, then better again, but for who dies.
        level = 0 if not worse else min(hour, peak) if hour < 12 or dies else max(0, peak - (hour - 12))
        for resource in _round(dice, who, at, level):
            yield Event(at, "round", resource)
        if hour % 4 == 1 or (hours >= 8 and hour % 8 == 0):
            creatinine = 80 + (40 * level if worse else 0)
            yield Event(at, "result", _measured(who, "creatinine", creatinine, at))
            yield Event(at, "result", _measured(who, "potassium", 4.1, at))
    yield from _orders_and_mistakes(who, begin, hours)
    yield from _leaving(person, begin, hours, worse=worse, dies=dies)


def _leaving(person: Json, begin: datetime, hours: int, *, worse: bool, dies: bool) -> Iterator[Event]:
    who, end = str(person["id"]), begin + timedelta(hours=hours) - timedelta(minutes=10)
    if worse and not dies:
        step = _encounter(who, begin, "in-progress")
        step["location"] = [{"location": {"reference": f"Location/{who[:-2]}-icu"}, "status": "active"}]
        yield Event(begin + timedelta(hours=min(7, hours - 1), minutes=30), "ICU", step)
    elif dies:
        yield Event(end, "death", {**person, "deceasedDateTime": end.isoformat()})
    else:
        yield Event(end, "discharge", _encounter(who, begin, "finished", end))


def _unnamed(dice: random.Random, begin: datetime, known: datetime) -> Iterator[Event]:
    """Somebody without a name, who turns out to be a patient of the first ward: the records are merged."""
    who, true = "fenbridge-unnamed", "fenbridge-1"
    person = patient(None, id=who, gender="unknown")
    yield Event(begin, "admission", person)
    moved = [one for step in range(2) for one in _round(dice, who, begin + timedelta(minutes=30 * step), 5)]
    for one in moved:
        yield Event(datetime.fromisoformat(one["effectiveDateTime"]), "round", one)
    for one in moved:
        yield Event(known, "merge", {**one, "subject": {"reference": f"Patient/{true}"}})
    link = [{"other": {"reference": f"Patient/{true}"}, "type": "replaced-by"}]
    yield Event(known, "merge", {**person, "active": False, "link": link})


def _orders_and_mistakes(who: str, begin: datetime, hours: int) -> Iterator[Event]:
    about: Json = {"id": f"{who}-order", "subject": {"reference": f"Patient/{who}"}}
    order = ordered("Ibuprofen 400 mg tablets", authoredOn=begin.isoformat(), **about)
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
    # In a unit that nobody can use: it has to be named.
    odd = _measured(who, "potassium", 5.5, at + timedelta(minutes=45))
    odd["valueQuantity"] |= {"unit": "furlongs", "code": "[fur_us]"}
    yield Event(at + timedelta(minutes=45), "unusable", odd)


def _encounter(who: str, begin: datetime, status: str, end: datetime | None = None) -> Json:
    period = {"start": begin.isoformat()} | ({"end": end.isoformat()} if end else {})
    kind = {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"}
    about: Json = {"id": f"{who}-stay", "subject": {"reference": f"Patient/{who}"}, "class": kind}
    return stay(status=status, period=period, **about)


def _round(dice: random.Random, who: str, at: datetime, worse: int) -> Iterator[Json]:
    for signal, well in _WELL.items():
        value = round(well + _WORSE[signal] * worse + dice.choice((-1, 0, 1)) * 0.1, 1)
        yield _measured(who, signal, value if signal == "temperature" else int(value), at)
    awake = {"coding": [{"system": SNOMED, "code": ACVPU["alert"]}]}
    yield _observation(who, "acvpu", SNOMED, "1104441000000107", at, valueCodeableConcept=awake)
    yield _observation(who, "air", SNOMED, "722742002", at)


def _measured(who: str, signal: str, value: float, at: datetime) -> Json:
    unit = _UNITS.get(signal, "umol/L" if signal == "creatinine" else "mmol/L")
    # A number that the client of the record server can write.
    measure = {**quantity("0", unit), "value": value}
    return _observation(who, signal, LOINC, CODES[signal], at, valueQuantity=measure)


def _observation(who: str, name: str, system: str, code: str, at: datetime, **rest: Any) -> Json:
    kind = "laboratory" if name in ("creatinine", "potassium") else "vital-signs"
    category = "http://terminology.hl7.org/CodeSystem/observation-category"
    rest |= {
        "category": [{"coding": [{"system": category, "code": kind}]}],
        "subject": {"reference": f"Patient/{who}"},
    }
    return observation(f"{who}-{name}-{at:%d%H%M}", code, system=system, at=at.isoformat(), **rest)
