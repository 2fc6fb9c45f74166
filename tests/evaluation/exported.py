"""A ward of our own invention as a bulk export: one gets worse, one goes home, one is quiet."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

from tests.records import Json, measured, patient

DAY = datetime(2026, 3, 1, tzinfo=UTC)


MARKER = "Zanzibar-Quill"


def time_of(hours: float) -> str:
    return (DAY + timedelta(hours=hours)).isoformat()


def _round(name: str, hours: float, breathing: int) -> Iterator[Json]:
    """Four of the seven inputs of NEWS2; 25 breaths score 3, 14 score 0."""
    for signal, value, unit in (
        ("respiration-rate", str(breathing), "/min"),
        ("pulse", "80", "/min"),
        ("systolic-pressure", "120", "mm[Hg]"),
        ("temperature", "37.0", "Cel"),
    ):
        yield measured(
            f"{name}-{hours}-{signal}",
            signal,
            value,
            unit,
            at=time_of(hours),
            subject={"reference": f"Patient/{name}"},
        )


def _stay(name: str, number: int, starts: float, ends: float, *, ward: str, **rest: Any) -> Json:
    return {
        "resourceType": "Encounter",
        "id": f"{name}-{number}",
        "status": "finished",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": f"Patient/{name}"},
        "period": {"start": time_of(starts), "end": time_of(ends)},
        "location": [{"location": {"display": ward}}],
        **rest,
    }


def ward() -> list[Json]:
    """`a` goes to intensive care, `b` goes home after one false alarm, `c` is quiet."""
    person: Json = {"name": [{"family": MARKER}], "meta": {"security": [{"code": "HTEST"}]}}
    resources: list[Json] = [patient(id=name, **person) for name in "abc"]
    for name, rates in (("a", (14, 14, 25, 25)), ("b", (25, 14, 14, 14)), ("c", (14, 14, 14, 14))):
        for hour, rate in zip((2, 14, 26, 38), rates, strict=True):
            resources += _round(name, hour, rate)
        resources.append(_stay(name, 1, 0, 40, ward="Harbour ward"))
    resources.append(_stay("a", 2, 40, 60, ward="Intensive care unit"))
    return resources
