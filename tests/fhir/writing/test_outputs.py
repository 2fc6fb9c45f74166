"""Every type of resource that a review writes has its row, and says the status of it. Our choice."""

from pathlib import Path

import msgspec
import pytest

from tests.records import answer_of, measured, patient
from weatherglass.fhir.writing.bundle import write_review
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.pipeline import review_body
from weatherglass.stamp import stamp

BUNDLES = sorted((Path(__file__).parents[3] / "fixtures" / "bundles").glob("*.json"))


@pytest.mark.parametrize("path", BUNDLES, ids=lambda path: path.stem)
def test_what_is_written_is_a_row(path: Path) -> None:
    """An OperationOutcome is an answer, not a result."""
    written = msgspec.json.decode(review_body(path.read_bytes()).collection(stamp()))
    for resource in (entry["resource"] for entry in written["entry"]):
        kind = resource["resourceType"]
        if kind != "OperationOutcome":
            assert resource.get("status") == (OUTPUTS[kind].open or resource.get("status"))


def test_what_closes_has_been_open() -> None:
    """A result is closed only from the status that we wrote; what is shared is nobody's to close."""
    for kind, row in OUTPUTS.items():
        assert bool(row.open) is bool(row.closed), kind
        assert not (row.is_shared and row.closed), kind


def test_an_issue_is_named_in_words() -> None:
    """A reader of the record system sees the few words of the finding, and no key of ours."""
    high = measured("k", "potassium", "6.8", "mmol/L")
    (reviewed,) = answer_of(patient(), high).reviews
    written = [each["resource"] for each in write_review(reviewed, "", Terms())]
    said = [one["code"]["text"] for one in written if one["resourceType"] == "DetectedIssue"]
    assert "Potassium 6.8 mmol/L: severe hyperkalaemia" in said
    assert not any("potassium high" in each for each in said)
