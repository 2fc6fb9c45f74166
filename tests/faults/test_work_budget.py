"""Work that costs too much is ended and said to be; what is beside it goes on.

The limits are our choice.
"""

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.api.answers import code_of, issue, resources
from tests.records import measured
from weatherglass import pipeline
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings
from weatherglass.budget import OverBudgetError, check, limited, watched
from weatherglass.review.assess import assess

_REVIEW = "/fhir/$review-deterioration"
_LINES = {"Content-Type": "application/fhir+ndjson"}


def _ward(patients: int) -> list[dict[str, Any]]:
    people = [{"resourceType": "Patient", "id": f"p{n}"} for n in range(patients)]
    pulses = [
        {**measured(f"o{n}", "pulse", "80", "/min"), "subject": {"reference": f"Patient/p{n}"}}
        for n in range(patients)
    ]
    return [*people, *pulses]


def _bundle(patients: int) -> bytes:
    entries = [{"resource": one} for one in _ward(patients)]
    return json.dumps({"resourceType": "Bundle", "entry": entries}, default=float).encode()


def _lines(patients: int) -> bytes:
    return b"\n".join(json.dumps(one, default=float).encode() for one in _ward(patients))


def _endless_for(monkeypatch: pytest.MonkeyPatch, patient: str) -> None:
    """Make the review of one patient go on until it is ended."""

    def slow(record: Any, *rest: Any, between: Any, **more: Any) -> Any:
        while record.subject.origin == patient:
            between()
        return assess(record, *rest, between=between, **more)

    monkeypatch.setattr(pipeline, "assess", slow)


def test_no_limit_unless_somebody_sets_one() -> None:
    check()
    assert list(watched(range(200))) == list(range(200))


def test_work_that_nobody_waits_for_any_more_ends() -> None:
    waits = [False, False, True]
    with limited(60.0, waits.pop):
        with pytest.raises(OverBudgetError):
            check()
        check()


def test_the_work_ends_with_the_service() -> None:
    with TestClient(create_app(Settings())) as client:
        limiter = client.app.state.service.limiter  # type: ignore[attr-defined]
        assert client.post(_REVIEW, content=_bundle(1)).status_code == 200
    with pytest.raises(OverBudgetError), limiter.budget():
        check()


def test_the_innermost_limit_counts() -> None:
    with limited(0.0):
        with limited(60.0):
            check()
        with pytest.raises(OverBudgetError):
            list(watched(iter(int, 1)))
    check()


@pytest.mark.parametrize("inline_below_bytes", [0, 1_000_000], ids=["in-a-thread", "at-once"])
def test_an_answer_that_costs_too_much(monkeypatch: pytest.MonkeyPatch, inline_below_bytes: int) -> None:
    _endless_for(monkeypatch, "Patient/p1")
    settings = Settings(work_seconds=0.05, inline_below_bytes=inline_below_bytes)
    with TestClient(create_app(settings)) as client:
        refused = client.post(_REVIEW, content=_bundle(3))
        assert refused.status_code == 503
        assert code_of(issue(refused)) == "too-costly"
        assert "NDJSON" in issue(refused)["diagnostics"]
        assert "retry-after" not in refused.headers
        assert client.post(_REVIEW, content=_bundle(1)).status_code == 200


def test_a_patient_who_costs_too_much_is_named_and_the_others_are_answered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _endless_for(monkeypatch, "Patient/p1")
    with TestClient(create_app(Settings(work_seconds=0.05))) as client:
        answer = client.post(_REVIEW, content=_lines(3), headers=_LINES)
    written = [json.loads(line) for line in answer.content.splitlines()]
    about = {one["subject"]["reference"] for one in written if one["resourceType"] == "Observation"}
    assert about == {"Patient/p0", "Patient/p2"}
    codes = [code_of(one) for one in written[-1]["issue"]]
    assert "too-costly" in codes


def test_a_page_that_costs_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    _endless_for(monkeypatch, "Patient/p1")
    with TestClient(create_app(Settings(work_seconds=0.05))) as client:
        assert client.post("/view", content=_bundle(3)).status_code == 503


@pytest.mark.parametrize(("patients", "status"), [(3, 200), (4, 413)])
def test_one_bundle_is_about_so_many_patients(patients: int, status: int) -> None:
    with TestClient(create_app(Settings(max_patients=3))) as client:
        answer = client.post(_REVIEW, content=_bundle(patients))
        assert answer.status_code == status
        if status == 413:
            assert code_of(issue(answer)) == "too-large"
            assert "NDJSON" in issue(answer)["diagnostics"]
        lines = client.post(_REVIEW, content=_lines(patients), headers=_LINES)
        assert lines.status_code == 200
        assert len(resources(client.post(_REVIEW, content=_bundle(3)), "Provenance")) == 3
