"""A running epidural with a low pressure, slow breathing or sedation.

Whom to ask and for what: NHS Highland, epidural analgesia guidelines. By when, and below 90, is our choice;
breathing below 10 is from memory.
"""

import pytest

from tests.medicines.wards import reviewed
from tests.records import Json, alertness, earlier, full_set
from weatherglass.model.findings import Finding, Kind, Urgency

_TEXT = "Levobupivacaine 0.1% with fentanyl 2 micrograms/mL"


def _epidural(route: str = "epidural", status: str = "active") -> Json:
    return {
        "resourceType": "MedicationRequest",
        "id": "m-epidural",
        "status": status,
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "authoredOn": earlier("20 h"),
        "medicationCodeableConcept": {"text": _TEXT},
        "dosageInstruction": [{"route": {"text": route}}],
    }


def _findings(*resources: Json) -> tuple[Finding, ...]:
    (review,) = reviewed(*resources).reviews
    return review.findings


def _found(*resources: Json) -> Finding | None:
    return next((f for f in _findings(*resources) if f.key == "epidural"), None)


@pytest.mark.parametrize(
    ("signs", "says"),
    [
        ({"systolic_pressure": "89 mm[Hg]"}, "systolic 89 mmHg"),
        ({"systolic_pressure": "90 mm[Hg]"}, None),
        ({"respiration_rate": "9 /min"}, "respiration rate 9 /min"),
        ({"respiration_rate": "10 /min"}, None),
        ({}, None),
    ],
)
def test_signs(signs: dict[str, str], says: str | None) -> None:
    """Both ends of each limit; a well patient with an epidural is told nothing."""
    found = _found(*full_set(**signs), _epidural())
    assert (found is not None) is (says is not None)
    if found is not None:
        assert found.urgency is Urgency.URGENT
        assert f"An epidural is running, with {says}" in found.sentence
        assert "anaesthetist or acute pain team" in found.sentence


@pytest.mark.parametrize("answer", ["new-confusion", "voice", "pain", "unresponsive"])
def test_sedation(answer: str) -> None:
    found = _found(*(one for one in full_set() if one["id"] != "acvpu"), alertness(answer), _epidural())
    assert found is not None
    assert found.urgency is Urgency.URGENT


@pytest.mark.parametrize(("route", "status"), [("intravenous", "active"), ("epidural", "stopped")])
def test_what_is_no_epidural(route: str, status: str) -> None:
    assert _found(*full_set(systolic_pressure="84 mm[Hg]"), _epidural(route, status)) is None


def test_the_pressure_is_said_once_and_no_later_look_is_named() -> None:
    """The row that says an opioid can lower pressure, to be looked at in 12 hours, is silent beside it."""
    found = _findings(*full_set(systolic_pressure="84 mm[Hg]"), _epidural())
    assert not [f for f in found if f.kind is Kind.MEDICINE]
