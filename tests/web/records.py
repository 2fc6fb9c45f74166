"""Records for the tests of the page, made from the invented ward."""

import json
import re
from copy import deepcopy
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from weatherglass.pipeline import review
from weatherglass.stamp import stamp

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
NAMES = sorted(path.stem for path in WARD.glob("*.json"))


@cache
def _text(name: str) -> str:
    return (WARD / f"{name}.json").read_text("utf-8")


def demo(name: str) -> dict[str, Any]:
    """Return a demo patient's Bundle."""
    bundle: dict[str, Any] = json.loads(_text(name))
    return bundle


def answered(name: str) -> list[dict[str, Any]]:
    """Return the resources of the FHIR answer about a demo patient."""
    body = review(json.dumps(demo(name)).encode()).collection(stamp())
    return [entry["resource"] for entry in json.loads(body)["entry"]]


def _is(resource: dict[str, Any], code: str) -> bool:
    return any(coding.get("code") == code for coding in resource.get("code", {}).get("coding", ()))


def _patient_of(bundle: dict[str, Any]) -> Any:
    return next(e for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")


def only_creatinine() -> dict[str, Any]:
    """Return a patient with one creatinine, without a range that would call it high, and nothing else."""
    bundle = demo("01-sepsis")
    patient = _patient_of(bundle)
    # LOINC 14682-9: creatinine in serum or plasma, moles per volume.
    one = [e for e in bundle["entry"] if _is(e["resource"], "14682-9")][-1]
    one["resource"].pop("referenceRange", None)
    return {**bundle, "entry": [patient, one]}


def no_vital_signs() -> dict[str, Any]:
    """Return a patient with results and medicines but nothing measured at the bedside."""
    bundle = demo("04-aki-nephrotoxics")
    bundle["entry"] = [
        e
        for e in bundle["entry"]
        if not any(
            coding.get("code") in ("vital-signs", "survey", "exam")
            for category in e["resource"].get("category", ())
            if isinstance(category, dict)
            for coding in category.get("coding", ())
        )
    ]
    return bundle


def crowded_chart(lines: int) -> dict[str, Any]:
    """Return a patient with acute kidney injury and so many lines on the drug chart."""
    bundle = demo("04-aki-nephrotoxics")
    orders = [e for e in bundle["entry"] if e["resource"]["resourceType"] == "MedicationRequest"]
    for index in range(len(orders), lines):
        one = deepcopy(orders[index % len(orders)])
        resource = one["resource"]
        resource["id"] += f"-{index}"
        one["fullUrl"] = f"{one['fullUrl']}-{index}"
        if "medicationCodeableConcept" in resource:
            resource["medicationCodeableConcept"]["text"] += f", line {index} of the chart"
        bundle["entry"].append(one)
    return bundle


def twenty_patients() -> dict[str, Any]:
    """Return twenty patients on two wards: the thirteen, and seven of them once more on another ward."""
    return several_patients(20)


def several_patients(many: int, *, one_ward: bool = False) -> dict[str, Any]:
    """Return so many patients: the thirteen, then the same under other names of record, on another ward."""
    entries = []
    names = sorted(path.stem for path in WARD.glob("*.json"))
    for index in range(many):
        text = _text(names[index % len(names)])
        again = index // len(names)
        if again:
            if not one_ward:
                text = text.replace("Larkmoor", "Whinmoor").replace("larkmoor", "whinmoor")
            patient = _patient_of(json.loads(text))["resource"]["id"]
            text = text.replace(patient, f"{patient}-again{'' if again == 1 else again}")
        entries += json.loads(text)["entry"]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}


def ward_lines() -> bytes:
    """Return the ward as NDJSON."""
    lines = []
    for path in sorted(WARD.glob("*.json")):
        lines += [json.dumps(e["resource"]) for e in json.loads(_text(path.stem))["entry"]]
    return "\n".join(lines).encode()


def large_record(size: int = 20_000_000) -> bytes:
    """Return one patient with observations enough for a size: the same days again and again."""
    bundle = demo("01-sepsis")
    measured = [
        e
        for e in bundle["entry"]
        if e["resource"]["resourceType"] == "Observation" and "effectiveDateTime" in e["resource"]
    ]
    other = [e for e in bundle["entry"] if e not in measured]
    entries = [json.dumps(e) for e in other]
    length = sum(map(len, entries))
    days = 0
    while length < size:
        for one in measured:
            moved = deepcopy(one)
            resource = moved["resource"]
            if days:
                resource["id"] += f"-{days}"
                moved["fullUrl"] = f"{moved['fullUrl']}-{days}"
                at = datetime.fromisoformat(resource["effectiveDateTime"]) - timedelta(days=days)
                resource["effectiveDateTime"] = at.isoformat()
            entries.append(json.dumps(moved))
            length += len(entries[-1])
        days += 3
    return ('{"resourceType":"Bundle","type":"collection","entry":[' + ",".join(entries) + "]}").encode()


#: Elements without which nothing would be read at all: types, names, codes, units and times.
_KEPT = frozenset(
    """resourceType id reference system code status intent type fullUrl unit use gender birthDate
    effectiveDateTime issued start end authoredOn recordedDate mode onsetDateTime dateAsserted
    performedDateTime assertedDate timestamp url linkId date occurrenceDateTime created profile
    comparator periodUnit dateTime""".split()
)


def hostile(node: Any, words: str) -> Any:
    """Put words into every text of a record that is not a code, an address, a time or a number."""
    if isinstance(node, dict):
        return {
            key: value if key in _KEPT and isinstance(value, str) else hostile(value, words)
            for key, value in node.items()
        }
    if isinstance(node, list):
        return [hostile(one, words) for one in node]
    return words if isinstance(node, str) else node


_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")


def moved(bundle: dict[str, Any], newest: datetime) -> dict[str, Any]:
    """Return a record with every moment moved alike, the newest observation to a moment."""
    times = [
        datetime.fromisoformat(e["resource"]["effectiveDateTime"])
        for e in bundle["entry"]
        if len(e["resource"].get("effectiveDateTime", "")) > len("2026-03-12")
    ]
    by = newest - max(times)
    text = _MOMENT.sub(lambda at: (datetime.fromisoformat(at[0]) + by).isoformat(), json.dumps(bundle))
    found: dict[str, Any] = json.loads(text)
    return found
