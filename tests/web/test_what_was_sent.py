"""What could not be used is named for people: what it was, when, and what was sent. Our choice of words."""

import json
from datetime import UTC, datetime

import pytest

from tests.records import bundle, observation, patient, quantity, text
from tests.web.records import demo
from weatherglass.fhir.issues import Severity, grouped
from weatherglass.model.words.clock_words import Clock
from weatherglass.pipeline import review
from weatherglass.web.what_was_sent import NotUsed, not_used

CLOCK = Clock(UTC, datetime(2026, 3, 12, 7, tzinfo=UTC))


def _named(body: bytes) -> tuple[NotUsed, ...]:
    issues = grouped(one for one in review(body).issues if one.severity is not Severity.INFORMATION)
    return not_used(issues, body, CLOCK)


def test_a_sample_that_was_not_reported() -> None:
    """09: nobody has to count entries to learn which potassium was haemolysed."""
    named = [one.what for one in _named(json.dumps(demo("09-incomplete-after-operation")).encode())]
    assert "Potassium, 18:00 on 11 March: Haemolysed, not reported" in named
    assert "Creatinine, 2026-02: 78 \u00b5mol/L" in named
    assert "Heart tablet from home, small and white, name not known, 17:00 on 10 March" in named


def test_the_first_of_several_and_how_many_more() -> None:
    named = _named(json.dumps(demo("02-usual-low-pressure")).encode())
    assert [one.what for one in named] == ["Systolic blood pressure, 14 May 2024: 96 mmHg, and 5 more"]
    assert named[0].times == 6


def test_inside_parameters() -> None:
    record = demo("09-incomplete-after-operation")
    parameters = [
        {"name": "asOf", "valueDateTime": "2026-03-12T07:00:00Z"},
        {"name": "record", "resource": record},
    ]
    body = json.dumps({"resourceType": "Parameters", "parameter": parameters}).encode()
    issues = grouped(review(json.dumps(record).encode()).issues)
    assert any("Potassium" in one.what for one in not_used(issues, body, CLOCK))


@pytest.mark.parametrize(
    "body", [b"", b"[]", b'{"entry": 3}', b'{"entry": []}', b'{"entry": [{"resource": 1}]}']
)
def test_a_body_that_does_not_say_is_no_fault(body: bytes) -> None:
    """NDJSON, or a body that is broken elsewhere: the place and the reason stand, and nothing is guessed."""
    sent = bundle(patient(), observation("k", "2823-3", valueQuantity=quantity("4.1", "furlong")))
    issues = grouped(review(text(sent)).issues)
    told = not_used(issues, body, CLOCK)
    assert [one.what for one in told] == [""] * len(issues)
    assert all(one.text for one in told)
