"""Orders whose Medication was not sent: named by a dose, or counted; never ended, never lost.

Common practice, no source: what cannot be read is said.
"""

from typing import Any

from tests.medicines.wards import injury, nameless, order, reviewed
from tests.records import AT, Json
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.review import Review


def given(name: str, of: str, **rest: Any) -> Json:
    """Return a dose given an hour ago for an order."""
    return {
        "resourceType": "MedicationAdministration",
        "id": f"dose-{of}",
        "status": "completed",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": name},
        "effectiveDateTime": AT,
        "request": {"reference": f"MedicationRequest/{of}"},
        **rest,
    }


def _review(*resources: Json) -> Review:
    (review,) = reviewed(*resources).reviews
    return review


def _about(review: Review) -> list[MedicineFinding]:
    return [f for f in review.findings if isinstance(f, MedicineFinding)]


def test_a_dose_names_its_order() -> None:
    """The order is in use and held, and has not ended."""
    review = _review(*injury(2), nameless("m1"), given("Ibuprofen 400 mg", "m1"))
    (found,) = _about(review)
    assert (found.order, found.action) == ("MedicationRequest/m1", "hold")
    assert "ended" not in found.sentence
    assert "On the chart: Ibuprofen 400 mg." in review.handover.background
    assert review.medicines_not_recognised == 0


def test_an_order_names_its_dose() -> None:
    """The other way round as well."""
    dose = given("x", "ibuprofen")
    del dose["medicationCodeableConcept"]
    review = _review(
        *injury(2),
        order("Ibuprofen 400 mg"),
        {**dose, "medicationReference": {"reference": "Medication/elsewhere"}},
    )
    (found,) = _about(review)
    assert "MedicationAdministration/dose-ibuprofen" in found.evidence


def test_the_rest_is_counted() -> None:
    """One sentence, the head, and the handover."""
    review = _review(*injury(2), nameless("m1"), nameless("m2"), order("Paracetamol 1 g"))
    (found,) = _about(review)
    assert found.kind is Kind.MEDICINE_NOT_REVIEWED
    assert found.sentence.startswith("2 orders on the drug chart could not be named")
    assert review.medicines_not_recognised == 2
    assert "On the chart: Paracetamol 1 g, 2 orders that could not be named." in review.handover.background


def test_a_stopped_one_is_no_line() -> None:
    """Nothing is to be done about what ended and has no name."""
    assert not _about(_review(*injury(2), nameless("m1", status="stopped")))


def test_a_code_without_words_or_a_single_ingredient_is_named_by_the_code() -> None:
    """ATC C09BA05 is ramipril with a diuretic: recognised, and said by what was sent."""
    coded = {"coding": [{"system": "http://www.whocc.no/atc", "code": "C09BA05"}]}
    review = _review(*injury(2), {**order("x"), "id": "o", "medicationCodeableConcept": coded})
    (found,) = _about(review)
    assert found.medicine == "ATC code C09BA05"
    assert "without a name" not in found.sentence
