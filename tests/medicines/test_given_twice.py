"""Whole doses given twice within a part of their interval; after how long is our choice."""

from typing import Any

import pytest

from tests.medicines.test_doses_due import at_nine, clock
from tests.medicines.wards import order
from tests.records import Json
from weatherglass.model.findings import Finding, Urgency


def _order(text: str = "Lantus 100 units/mL", often: int = 1, **rest: Any) -> Json:
    dose = {"value": 30, "unit": "unit"}
    timing = {"repeat": {"frequency": often, "period": 1, "periodUnit": "d"}}
    written = [{"timing": timing, "doseAndRate": [{"doseQuantity": dose}]}]
    return {**order(text), "dosageInstruction": written, **rest}


def _dose(time: str, units: int = 30, text: str = "Insulin glargine", day: str = "2026-03-01") -> Json:
    return {
        "resourceType": "MedicationAdministration",
        "id": f"d-{day}-{time}".replace(":", ""),
        "status": "completed",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
        "effectiveDateTime": clock(time, day),
        "dosage": {"dose": {"value": units, "unit": "unit"}},
    }


def _twice(*resources: Json) -> list[Finding]:
    return [one for one in at_nine(*resources) if one.key == "given-twice"]


@pytest.mark.parametrize(
    ("second", "is_asked"), [("01:20", False), ("01:21", True), ("08:55", True), ("09:00", False)]
)
def test_within_a_third_of_the_interval(second: str, *, is_asked: bool) -> None:
    """Not within 20 minutes, and not from a third of a day on (0.33, so 7 h 55 min)."""
    found = _twice(_order(), _dose("01:00"), _dose(second))
    assert bool(found) is is_asked
    assert all(one.urgency is Urgency.PROMPT for one in found)


@pytest.mark.parametrize(
    "quiet",
    [
        [_order(), _dose("02:00"), _dose("03:00", 10)],
        [_order(), _dose("02:00", 15), _dose("03:00", 15)],
        [_order(often=5), _dose("02:00"), _dose("03:00")],
        [_order("Senna 7.5 mg"), _dose("02:00", text="Senna 7.5 mg"), _dose("03:00", text="Senna 7.5 mg")],
        [_order(), {**_order("Insulin glargine once"), "id": "b"}, _dose("02:00"), _dose("03:00")],
        [_order(), _dose("02:00")],
    ],
)
def test_what_is_not_asked_about(quiet: list[Json]) -> None:
    """Another amount, parts of a dose, many doses a day, what harms little, two orders that share a name."""
    assert not _twice(*quiet)


def test_of_the_last_day() -> None:
    assert _twice(_order(), _dose("08:00", day="2026-02-28"), _dose("09:00", day="2026-02-28"))
    assert not _twice(_order(), _dose("07:00", day="2026-02-28"), _dose("08:59", day="2026-02-28"))
