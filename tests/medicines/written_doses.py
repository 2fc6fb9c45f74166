"""What is said of one written dose, through the real door."""

from tests.medicines.wards import result, suggestions
from tests.records import Json, answer_of, observation, patient, quantity
from weatherglass.model.medicine_findings import MedicineFinding

YOUNG, OLD = patient("1980-06-01"), patient("1950-06-01")


def dose_said(*resources: Json, who: Json = YOUNG) -> MedicineFinding | None:
    """Return what is said of the order's dose, None where nothing is."""
    finding = suggestions(answer_of(who, result("Na", "140"), *resources)).get("o")
    is_dose = finding is not None and any(r.rule.startswith("dose-") for r in finding.reasons)
    return finding if is_dose else None


def weight(kilograms: str) -> Json:
    return observation("w", "29463-7", valueQuantity=quantity(kilograms, "kg"))
