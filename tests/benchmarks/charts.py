"""How much the drug chart says: suggestions a patient, on the demo ward and on generated charts.

    python -m tests.benchmarks.charts

Nothing is asserted. Run it before and after a change of the rules, and compare.
"""

import json
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import mean, median
from typing import Any

from weatherglass.model.findings import Kind, Urgency
from weatherglass.pipeline import review

_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
_AT = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)
_OF_THE_CHART = (Kind.MEDICINE, Kind.MEDICINE_INTERACTION)
#: An ordinary chart of a medical ward, by how often it is written: common practice, no source.
_ORDINARY = """
Paracetamol 1 g tablets|Omeprazole 20 mg capsules|Atorvastatin 20 mg tablets|Amlodipine 5 mg tablets
Bisoprolol 2.5 mg tablets|Ramipril 5 mg capsules|Furosemide 40 mg tablets|Aspirin 75 mg tablets
Enoxaparin 40 mg injection|Metformin 500 mg tablets|Apixaban 5 mg tablets|Sertraline 50 mg tablets
Codeine 30 mg tablets|Zopiclone 3.75 mg tablets|Salbutamol 100 microgram inhaler|Senna 7.5 mg tablets
Tamsulosin 400 microgram capsules|Levothyroxine 50 microgram tablets|Gabapentin 300 mg capsules
Prednisolone 5 mg tablets|Spironolactone 25 mg tablets|Morphine sulfate 10 mg/5 mL oral solution
Lansoprazole 30 mg capsules|Losartan 50 mg tablets|Indapamide 2.5 mg tablets|Gliclazide 80 mg tablets
Allopurinol 100 mg tablets|Digoxin 125 microgram tablets|Naproxen 250 mg tablets|Mirtazapine 15 mg tablets
Glyceryl trinitrate 400 microgram spray|Ondansetron 4 mg tablets|Doxycycline 100 mg capsules
Clopidogrel 75 mg tablets|Folic acid 5 mg tablets|Dapagliflozin 10 mg tablets|Carvedilol 6.25 mg tablets
"""
_NAMES = tuple(_ORDINARY.strip().replace("\n", "|").split("|"))
_TWELVE = (
    *_NAMES[:7],
    "Zopiclone 3.75 mg tablets",
    "Tamsulosin 400 microgram capsules",
    "Metformin 500 mg tablets",
    "Enoxaparin 40 mg injection",
    "Gabapentin 300 mg capsules",
)


def _number(code: str, value: float, unit: str, hours: float) -> dict[str, Any]:
    return {
        "resourceType": "Observation",
        "id": f"{code}-{int(hours * 10)}",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": (_AT - timedelta(hours=hours)).isoformat(),
        "valueQuantity": {"value": value, "unit": unit, "system": "http://unitsofmeasure.org", "code": unit},
    }


def _order(number: int, name: str) -> dict[str, Any]:
    return {
        "resourceType": "MedicationRequest",
        "id": f"m{number}",
        "status": "active",
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "authoredOn": (_AT - timedelta(days=3)).isoformat(),
        "medicationCodeableConcept": {"text": name},
    }


def _bundle(names: Iterable[str], values: Iterable[tuple[str, float, str, float]]) -> bytes:
    person = {"resourceType": "Patient", "id": "p", "birthDate": "1948-05-01", "gender": "male"}
    resources = [person, *(_order(*each) for each in enumerate(names)), *(_number(*one) for one in values)]
    return json.dumps(
        {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in resources]}
    ).encode()


def _values(times_creatinine: float, pressure: int, potassium: float) -> list[tuple[str, float, str, float]]:
    return [
        ("14682-9", 80, "umol/L", 48),
        ("14682-9", round(80 * times_creatinine), "umol/L", 2),
        ("2823-3", potassium, "mmol/L", 2),
        ("8480-6", pressure, "mm[Hg]", 1),
        ("8867-4", 84, "/min", 1),
    ]


def _generated() -> Iterator[bytes]:
    for seed in range(300):
        draw = Random(seed)
        names = draw.sample(_NAMES, draw.randint(5, 14))
        kidney = draw.choice((1.0, 1.0, 1.0, 1.6, 1.6, 2.3, 3.2))
        yield _bundle(
            names, _values(kidney, draw.choice((98, 118, 132, 150)), draw.choice((3.2, 4.2, 4.8, 5.7)))
        )


def _counted(body: bytes) -> tuple[int, int]:
    """Return how many suggestions of the chart there are, and how many are above routine."""
    found = [f for one in review(body, as_of=None).reviews for f in one.findings if f.kind in _OF_THE_CHART]
    return len(found), sum(one.urgency > Urgency.ROUTINE for one in found)


def _said(name: str, counts: list[tuple[int, int]]) -> None:
    each, asking = ([pair[place] for pair in counts] for place in (0, 1))
    print(  # noqa: T201 - the counts are this command's output
        f"{name}: {len(counts)} charts, suggestions a chart mean {mean(each):.1f}, median {median(each):g}, "
        f"most {max(each)}; above routine mean {mean(asking):.1f}, most {max(asking)}"
    )


if __name__ == "__main__":
    _said("demo ward", [_counted(path.read_bytes()) for path in sorted(_WARD.glob("*.json"))])
    _said("generated", [_counted(body) for body in _generated()])
    _said("twelve ordinary medicines, stage 1", [_counted(_bundle(_TWELVE, _values(1.6, 150, 4.6)))])
    _said("the same, well", [_counted(_bundle(_TWELVE, _values(1.0, 150, 4.6)))])
