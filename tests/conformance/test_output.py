"""What the writers emit, judged from outside over the whole case matrix."""

import json
from itertools import product
from typing import Any

import pytest
from fhir.resources.R4B import get_fhir_model_class

from tests.conformance import house_rules, output_cases
from tests.conformance.judges import Judges
from tests.conformance.round_trip import spelt_alike
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.writing.bundle import encode, lines_of, write_collection
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.fhir.writing.frame.detail import Detail, Stamp
from weatherglass.model.findings import Kind
from weatherglass.stamp import stamp

#: Every profile that can be asked for.
PROFILES = [
    pytest.param(detail, members, id=f"{detail.value}{'-members' * members}")
    for detail, members in product(Detail, (False, True))
]
STAMP = stamp()


def _collection(kind: Kind, state: str, detail: Detail, *, members: bool) -> bytes:
    review = output_cases.review(output_cases.findings(kind, state), state)
    return encode(write_collection([review], output_cases.ISSUES, STAMP, detail=detail, members=members))


def _without_what_the_request_holds(bundle: bytes) -> dict[str, Any]:
    """Leave out names that only the request can resolve: the caller's own urn:uuid."""
    text = bundle.decode().replace("urn:uuid:6b1f3c1e-0000-5000-8000-000000000001", "Patient/p-1")
    parsed: dict[str, Any] = json.loads(text)
    return parsed


@pytest.mark.parametrize(("detail", "members"), PROFILES)
@pytest.mark.parametrize("state", output_cases.STATES)
@pytest.mark.parametrize("kind", list(Kind), ids=lambda kind: kind.value)
def test_every_kind_in_every_state_and_profile(
    kind: Kind, state: str, detail: Detail, *, members: bool, judges: Judges
) -> None:
    """No judge has anything against any combination."""
    judges.accept(_without_what_the_request_holds(_collection(kind, state, detail, members=members)))


@pytest.mark.parametrize("state", output_cases.STATES)
@pytest.mark.parametrize("kind", list(Kind), ids=lambda kind: kind.value)
def test_every_kind_in_a_document(kind: Kind, state: str, judges: Judges) -> None:
    """A handover is a valid document in which every reference leads to an entry."""
    review = output_cases.review(output_cases.findings(kind, state), state)
    document = json.loads(encode(write_handover(review, output_cases.ISSUES, STAMP)))
    judges.accept(document)
    named = {entry["fullUrl"] for entry in document["entry"]}
    pointed_to = {
        part["reference"]
        for _, part in house_rules.walk(document)
        if isinstance(part.get("reference"), str) and "resourceType" not in part
    }
    assert pointed_to <= named


@pytest.mark.parametrize("state", output_cases.STATES)
def test_all_kinds_and_several_patients_in_one_bundle(state: str, judges: Judges) -> None:
    """Names stay apart when everything is found at once."""
    found = [finding for kind in Kind for finding in output_cases.findings(kind, state)]
    reviews = [output_cases.review(found, state), output_cases.review([], "complete", patient="Patient/p-2")]
    judges.accept(_without_what_the_request_holds(encode(write_collection(reviews, (), STAMP))))


def test_nothing_at_all(judges: Judges) -> None:
    """An answer about nobody still says who answered and that nothing was left out."""
    emitted = write_collection([], (), STAMP)
    judges.accept(emitted)
    assert [e["resource"]["resourceType"] for e in emitted["entry"]] == ["Device", "OperationOutcome"]


def test_two_findings_that_rest_on_the_same_have_two_names() -> None:
    """bdl-7: no two entries share a fullUrl, even if a rule says the same thing twice."""
    twice = [*output_cases.findings(Kind.CONCERN, "excluded")] * 2
    entries = write_collection([output_cases.review(twice, "excluded")], (), STAMP)["entry"]
    names = [entry["fullUrl"] for entry in entries]
    assert len(set(names)) == len(names) > 8


@pytest.mark.parametrize("state", output_cases.STATES)
@pytest.mark.parametrize("kind", list(Kind), ids=lambda kind: kind.value)
def test_round_trip_through_the_typed_models(kind: Kind, state: str) -> None:
    """R4B parsed and written back: equal, apart from the spelling of UTC, which that library rewrites."""
    emitted = _collection(kind, state, Detail.HISTORY, members=True)
    model = get_fhir_model_class("Bundle").model_validate_json(emitted)
    back = json.loads(model.model_dump_json())
    # Its JSON writes decimals as strings of digits; as numbers they have to be the same.
    assert spelt_alike(back) == spelt_alike(json.loads(emitted, parse_float=float))


def test_lines_are_resources_with_the_names_of_their_entries(judges: Judges) -> None:
    """NDJSON: each line is a valid resource whose id is the UUID that others refer to."""
    found = [finding for kind in Kind for finding in output_cases.findings(kind, "complete")]
    entries = write_collection([output_cases.review(found, "complete")], (), STAMP)["entry"]
    lines = b"".join(lines_of(entries))
    assert judges.accept_ndjson(lines) == len(entries)
    ids = {json.loads(line)["id"] for line in lines.splitlines()}
    assert {entry["fullUrl"].removeprefix("urn:uuid:") for entry in entries} == ids


def test_every_issue_code_is_written_with_an_r4_issue_type(judges: Judges) -> None:
    """OperationOutcome: every code of ours under a type of the R4 value set issue-type."""
    outcome = write_collection([], output_cases.ISSUES, Stamp(software="1"))["entry"][-1]["resource"]
    judges.accept(outcome)
    assert {i["details"]["coding"][0]["code"] for i in outcome["issue"]} == {key.value for key in IssueKey}
