"""A sign that was affirmed and is an emergency by its name is a problem of that hour; our choice."""

from typing import Any

import pytest

from tests.records import AT, SNOMED, answer_of, full_set, observation, patient
from weatherglass.model.findings import Urgency


def _urgency(name: str, **value: Any) -> Urgency:
    sign = observation("sign", "x", system="urn:local", at=AT, **value)
    sign["code"] = {"text": name}
    return answer_of(patient(), *full_set(), sign).reviews[0].urgency


@pytest.mark.parametrize(
    "value",
    [
        {"valueBoolean": True},
        {"valueString": "Present"},
        {"valueCodeableConcept": {"coding": [{"system": SNOMED, "code": "52101004"}]}},
    ],
    ids=["true", "word", "code"],
)
def test_it_is_a_problem_however_it_is_affirmed(value: dict[str, Any]) -> None:
    """A threatened airway is an emergency by its name."""
    assert _urgency("Stridor at rest", **value) is Urgency.EMERGENCY


@pytest.mark.parametrize(
    "name", ["Chest pain?", "History of seizures", "Risk of seizures", "Seizure precautions", "No stridor"]
)
def test_what_asks_denies_or_is_done_about_it_is_none(name: str) -> None:
    """It calls nobody."""
    assert _urgency(name, valueBoolean=True) is Urgency.ROUTINE


def test_an_answer_of_no_is_none() -> None:
    """The same names."""
    assert _urgency("Stridor at rest", valueBoolean=False) is Urgency.ROUTINE
