"""Documents that are called a plan are named; no publication, our choice."""

import pytest

from tests.records import Json, answer_of, full_set, patient
from weatherglass.cli.printing.text import review_text
from weatherglass.facts.ceiling import NOT_RECORDED


def _document(words: str, **rest: object) -> Json:
    return {
        "resourceType": "DocumentReference",
        "id": "d",
        "status": "current",
        "type": {"text": words},
        "subject": {"reference": "Patient/p"},
        "date": "2026-03-01T09:00:00+04:00",
        **rest,
    }


def _head(*more: Json) -> str:
    answer = answer_of(patient(), *full_set(respiration_rate="25 /min"), *more)
    return " ".join(review_text(answer.reviews[0], answer.issues).split())


@pytest.mark.parametrize("words", ["ReSPECT form", "DNACPR form", "Treatment escalation plan"])
def test_a_plan_that_nobody_read_is_not_called_not_recorded(words: str) -> None:
    """Its name and its time, and whom to ask."""
    said = _head(_document(words))
    assert f"Sent and not read as a decision: {words} (09:00 on 1 March); ask the team." in said
    assert NOT_RECORDED not in said
    assert "resuscitation not read, ask the team" in said


@pytest.mark.parametrize(
    "document", [_document("Discharge letter"), _document("DNACPR form", status="superseded")]
)
def test_others_change_nothing(document: Json) -> None:
    """No plan by its name, or one that is not in force."""
    assert NOT_RECORDED in _head(document)
