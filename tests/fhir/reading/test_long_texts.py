"""Texts of many pages: the beginning is read, the rest is named and never a silent loss."""

import json
from typing import Any

import pytest

from tests.records import measured
from weatherglass.fhir.issues import Issue, IssueKey
from weatherglass.fhir.json_faults import place_of_fault
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.fhir.reading.long_texts import LONGEST_READ
from weatherglass.fhir.reading.salvage import take_apart
from weatherglass.model.record.problems import ConditionKind

# The length is our choice.


def _read(*resources: dict[str, Any]) -> Reading:
    pulse = measured("pulse", "pulse", "80", "/min")
    entries = [{"resource": one} for one in ({"resourceType": "Patient", "id": "p"}, pulse, *resources)]
    return read_bytes(json.dumps({"resourceType": "Bundle", "entry": entries}, default=float).encode())


def _condition(text: str, **rest: Any) -> dict[str, Any]:
    code = {"text": text}
    return {
        "resourceType": "Condition",
        "id": "c",
        "subject": {"reference": "Patient/p"},
        "code": code,
        **rest,
    }


def _too_long(reading: Reading) -> list[Issue]:
    return [issue for issue in reading.issues if issue.key is IssueKey.TOO_LARGE]


@pytest.mark.parametrize(("letters", "issues"), [(LONGEST_READ, 0), (LONGEST_READ + 1, 1)])
def test_a_text_is_read_up_to_its_bound(letters: int, issues: int) -> None:
    reading = _read(_condition("Heart failure.".ljust(letters, "\u00e9")))
    (condition,) = reading.records[0][1].conditions
    assert condition.kinds == {ConditionKind.HEART_FAILURE}
    assert len(condition.text) == LONGEST_READ
    assert len(_too_long(reading)) == issues


def test_the_issue_names_the_place_and_nothing_of_the_text() -> None:
    text = "Heart failure " + "secretword " * 1000
    (issue,) = _too_long(_read(_condition(text, note=[{"text": text}])))
    assert issue.path == "Bundle.entry[2].resource.code.text"
    assert issue.text.startswith("2 text(s) of more than 4000 characters")
    assert "secretword" not in issue.text


def test_references_and_narratives_are_left_alone() -> None:
    far = "x" * 9000
    reading = _read(
        {**_condition("Heart failure"), "subject": {"reference": f"Patient/{far}"}},
        {**_condition("COPD"), "text": {"status": "generated", "div": f"<div>{far}</div>"}},
    )
    assert not _too_long(reading)
    assert {key for key, _ in reading.records} >= {f"Patient/{far}"}


def test_what_stands_twice_is_still_refused() -> None:
    long = json.dumps(_condition("Heart failure " * 1000)).encode()
    body = b'{"resourceType":"Bundle","entry":[{"resource":%s}]}' % long.replace(
        b'"code"', b'"code": {}, "code"'
    )
    with pytest.raises(ValueError, match="stands twice"):
        read_bytes(body)


def test_a_string_that_is_never_closed_is_one_token() -> None:
    body = b'{"resourceType": "Bundle", "entry": [{"resource": "' + b'\\"' * 500_000
    assert place_of_fault(body)[0] == "Bundle.entry[0].resource"
    assert take_apart(body, "entry") is None
