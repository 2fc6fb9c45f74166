"""A baby's values in the mother's record, told by a note that says nothing else. Ours."""

from datetime import UTC, datetime

import pytest

from tests.records import bundle, observation, patient, quantity, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.signals import Signal
from weatherglass.pipeline import Answer, review

NOW = datetime(2026, 3, 1, 7, tzinfo=UTC)


def _answer(note: str, born: str = "1995-01-01") -> Answer:
    pulse = observation(
        "pulse",
        "8867-4",
        at="2026-03-01T06:30:00Z",
        valueQuantity=quantity("140", "/min"),
        note=[{"text": note}],
    )
    return review(text(bundle(patient(born), pulse)), as_of=NOW)


def _is_used(answer: Answer) -> bool:
    return not any(one.key is IssueKey.NOT_THE_PATIENT for one in answer.issues)


@pytest.mark.parametrize(
    ("note", "is_used"),
    [
        ("baby", False),
        ("Baby girl", False),
        ("Twin 2", False),
        ("of the baby", False),
        ("fetal heart rate", False),
        ("Measured on the baby", False),
        ("Baby settled, mother tired", True),
        ("Holding baby", True),
        ("baby well", True),
        ("after feeding the baby", True),
        ("regular", True),
    ],
)
def test_only_a_note_that_says_nothing_else(note: str, is_used: bool) -> None:
    assert _is_used(_answer(note)) is is_used


def test_it_is_named_as_sent() -> None:
    said = _answer("baby").reviews[0]
    assert "The baby's pulse 140 /min" in said.headline
    assert Signal.PULSE.value not in {measure.key for one in said.findings for measure in one.measures}


@pytest.mark.parametrize(("born", "is_used"), [("2026-02-28", True), ("1995-01-01", False)])
def test_a_babys_own_record_keeps_its_values(born: str, is_used: bool) -> None:
    assert _is_used(_answer("Baby", born)) is is_used


def test_a_fetal_heart_belongs_in_the_mothers_record() -> None:
    """Its note says which twin it is; it is judged."""
    slow = observation(
        "fetal",
        "55283-6",
        at="2026-03-01T06:30:00Z",
        valueQuantity=quantity("88", "/min"),
        note=[{"text": "Twin 2"}],
    )
    answer = review(text(bundle(patient("1995-01-01"), slow)), as_of=NOW)
    assert _is_used(answer)
