"""What an earlier review wrote back is no input of the next one."""

import json
from pathlib import Path

import pytest

from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.issues import IssueKey
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

WARD = sorted((Path(__file__).parents[3] / "fixtures" / "bundles").glob("*.json"))


@pytest.mark.parametrize("path", WARD, ids=lambda path: path.stem)
def test_a_record_with_our_own_results_in_it_is_reviewed_as_without_them(path: Path) -> None:
    """NEWS2 carries a SNOMED CT code that the reading knows; read back, it would be its own input."""
    body = json.loads(path.read_bytes())
    first = review(json.dumps(body).encode())
    written = json.loads(first.collection(stamp()))
    body["entry"] += [e for e in written["entry"] if e["resource"]["resourceType"] != "OperationOutcome"]
    again = review(json.dumps(body).encode())
    assert [review_text(one, ()) for one in again.reviews] == [review_text(one, ()) for one in first.reviews]
    said = [i for i in again.issues if i.key is IssueKey.CODE_NOT_USED and "own-earlier-result" in i.text]
    assert len(said) == 1
