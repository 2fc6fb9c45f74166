"""A running epidural with slow breathing or sedation; a low pressure is named beside them.

Whom to ask and for what: NHS Highland, epidural analgesia guidelines. By when, and below 90, is our choice;
breathing below 10 is from memory.
"""

import pytest

from tests.medicines.wards import reviewed
from tests.records import Json, alertness, earlier, full_set
from weatherglass.model.findings import Finding, Kind, Urgency

_TEXT = "Levobupivacaine 0.1% with fentanyl 2 micrograms/mL"


def _epidural(route: str = "epidural", status: str = "active", named: str = _TEXT) -> Json:
    return {
        "resourceType": "MedicationRequest",
        "id": "m-epidural",
        "status": status,
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "authoredOn": earlier("20 h"),
        "medicationCodeableConcept": {"text": named},
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
        (
            {"respiration_rate": "9 /min", "systolic_pressure": "89 mm[Hg]"},
            "respiration rate 9 /min and systolic 89 mmHg",
        ),
        ({"respiration_rate": "9 /min", "systolic_pressure": "90 mm[Hg]"}, "respiration rate 9 /min:"),
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
    assert _found(*full_set(respiration_rate="9 /min"), _epidural(route, status)) is None


@pytest.mark.parametrize("named", [_TEXT, f"{_TEXT} epidural infusion"])
def test_a_low_pressure_alone_is_said_once(named: str) -> None:
    """Whatever its name says; never to be looked at in 12 hours."""
    found = _findings(*full_set(systolic_pressure="84 mm[Hg]"), _epidural(named=named))
    rows = [f for f in found if f.kind is Kind.MEDICINE]
    assert (len(rows), sum(f.key == "epidural" for f in found)) == (0, 1)
