"""Doses of a morning, and what is missing at 09:00."""

from typing import Any

from tests.medicines.wards import result, reviewed
from tests.records import Json
from weatherglass.model.findings import Finding, Kind

#: The review is at 09:00 on this day, in this zone.
TODAY = "2026-03-01"


ZONE = "+04:00"


def clock(time: str, day: str = TODAY) -> str:
    return f"{day}T{time}:00{ZONE}"


def given(time: str, text: str, day: str = TODAY, status: str = "completed", **rest: Any) -> Json:
    """Return a dose given at a time of a day."""
    return {
        "resourceType": "MedicationAdministration",
        "id": f"given-{text[:4]}-{day}-{time}".replace(":", "").replace(" ", ""),
        "status": status,
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
        "effectiveDateTime": clock(time, day),
        **rest,
    }


def at_nine(*resources: Json) -> list[Finding]:
    """Return what is missing at 09:00; another medicine was recorded as given this morning."""
    beside = given("08:30", "Paracetamol 1 g")
    last = result("Na", "140", clock("09:00"))
    (review,) = reviewed(last, beside, *resources).reviews
    return [f for f in review.findings if f.kind is Kind.MEDICINE_MISSING]
