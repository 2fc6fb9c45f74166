"""Observations of every shape that senders write, made at random from a seed."""

import json
import random
from typing import Any

from tests.records import LOINC, SNOMED, UCUM

Json = dict[str, Any]

_CODES = [
    (LOINC, "59408-5", 95, "%"),
    (LOINC, "2708-6", 95, "%"),
    (SNOMED, "431314004", 95, "%"),
    (SNOMED, "866661000000106", 95, "%"),
    (SNOMED, "866701000000100", 93, "%"),
    (SNOMED, "866721000000109", 85, "%"),
    (SNOMED, "722742002", 1, ""),
    (SNOMED, "371825009", 2, "L/min"),
    (LOINC, "8867-4", 88, "/min"),
    (LOINC, "8889-8", 88, "/min"),
    (LOINC, "9279-1", 18, "/min"),
    (LOINC, "8480-6", 120, "mm[Hg]"),
    (LOINC, "76215-3", 120, "mm[Hg]"),
    (LOINC, "8310-5", 37.2, "Cel"),
    (LOINC, "14682-9", 90, "umol/L"),
    (LOINC, "2160-0", 1.1, "mg/dL"),
    (LOINC, "2823-3", 4.4, "mmol/L"),
    (LOINC, "32713-0", 4.4, "mmol/L"),
    (LOINC, "2519-7", 2.4, "mmol/L"),
    (LOINC, "3151-8", 2, "L/min"),
    (LOINC, "9192-6", 60, "mL/h"),
    (LOINC, "9192-6", 60, "mL"),
    (LOINC, "80288-4", 0, ""),
    (LOINC, "85354-9", 0, ""),
    (LOINC, "99999-7", 7, "mmol/L"),
    ("urn:x", "abc", 7, "mmol/L"),
]
_ALERT = {"coding": [{"system": SNOMED, "code": "248234008"}]}
_DAY = "2026-03-12"


class Made:
    """One Observation, with the names of what makes it unlike the plainest."""

    def __init__(self, index: int, chance: random.Random) -> None:
        """Draw a code, a value and a few oddities."""
        self.tags: set[str] = set()
        self._chance = chance
        system, code, value, unit = chance.choice(_CODES)
        codings = [{"system": system, "code": code}]
        while chance.random() < 0.3:
            other = chance.choice(_CODES)
            codings.insert(chance.randint(0, 1), {"system": other[0], "code": other[1]})
            self.tags.add("codings")
        self.json: Json = {
            "resourceType": "Observation",
            "id": f"o{index}",
            "status": chance.choice(["final"] * 8 + ["amended", "preliminary", "unknown"]),
            "code": {"coding": codings},
            "subject": {"reference": "Patient/p"},
            "effectiveDateTime": f"{_DAY}T{chance.randint(6, 11):02d}:00:00+00:00",
            "valueQuantity": {"value": value, "unit": unit, "system": UCUM, "code": unit},
        }
        if code == "80288-4" and chance.random() < 0.8:
            del self.json["valueQuantity"]
            self.json["valueCodeableConcept"] = _ALERT
        self._odd()

    def _maybe(self, name: str, **changes: Any) -> None:
        if self._chance.random() < 0.05:
            self.json.update(changes)
            self.tags.add(name)

    def _odd(self) -> None:
        choice = self._chance.choice
        quantity = self.json.get("valueQuantity", {})
        self._maybe(
            "subject.type",
            subject={"reference": "Patient/p", "type": choice(["Patient", "Device", "Group"])},
        )
        self._maybe("dataAbsentReason", dataAbsentReason={"text": "x"})
        self._maybe("valueString", valueString=choice(["x", "HI"]))
        self._maybe("valueInteger", valueInteger=12)
        self._maybe("device", component=[{"code": {"text": "device"}, "valueString": "venturi mask"}])
        self._maybe("pressures", component=[_part("8480-6", 120), _part("8462-4", 70)])
        self._maybe("part", component=[_part(choice(["8462-4", "59408-5"]), 90, flag=choice(["", "HH"]))])
        self._maybe("modifier", modifierExtension=[{"url": "urn:x", "valueBoolean": True}])
        self._maybe("period", effectivePeriod={"start": f"{_DAY}T05:00:00Z", "end": f"{_DAY}T06:00:00Z"})
        self._maybe("date", effectiveDateTime=choice([_DAY, "2026-03"]))
        self._maybe("quantity", valueQuantity={**quantity, "system": choice([None, "urn:x"])})
        self._maybe("quantity", valueQuantity={k: v for k, v in quantity.items() if k != "code"})
        self._maybe("quantity", valueQuantity={**quantity, "comparator": choice(["<", ">="])})
        self._maybe("quantity", valueQuantity={**quantity, "value": choice([0, -1, 5000, "9"])})
        self._maybe("contained", contained=[{"resourceType": "Observation", "status": "final"}])
        self._maybe("method", method={"text": "palpation"}, bodySite={"text": "left arm"})
        self._maybe("note", note=[{"text": choice(["haemolysed", "x"])}])
        self._maybe("flag", interpretation=[{"coding": [{"code": choice(["N", "H", "HH", "LL"])}]}])
        self._maybe("range", referenceRange=[{"low": {"value": 1}, "high": {"value": 5}}])
        category = choice(["vital-signs", "laboratory", "survey"])
        self._maybe("category", category=[{"coding": [{"code": category}]}])
        self._maybe("label", meta={"security": [{"system": "urn:c", "code": "R"}]})
        self._maybe("member", hasMember=[{"reference": "Observation/zz"}])
        self._maybe("focus", focus=[{"reference": "Patient/child"}])


def _part(code: str, value: int, flag: str = "") -> Json:
    part: Json = {
        "code": {"coding": [{"system": LOINC, "code": code}]},
        "valueQuantity": {"value": value, "unit": "x", "system": UCUM, "code": "mm[Hg]"},
    }
    return {**part, "interpretation": [{"coding": [{"code": flag}]}]} if flag else part


def as_record(*observations: Json) -> bytes:
    """Return a record of one person with a problem, so that the person is known, and these."""
    problem = {"resourceType": "Condition", "id": "c", "subject": {"reference": "Patient/p"}}
    resources: list[Json] = [
        {"resourceType": "Patient", "id": "p"},
        {**problem, "code": {"text": "asthma"}},
        *observations,
    ]
    entries = [{"resource": each} for each in resources]
    return json.dumps({"resourceType": "Bundle", "type": "collection", "entry": entries}).encode()
