"""`Prefer: handling=strict`: every fault of every resource, or none (FHIR R4 `http.html`)."""

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.answers import GOOD, HANDOVER, REVIEW, code_of, issue, parameters, resources
from weatherglass.fhir.strict import MOST_ISSUES

STRICT = {"Prefer": "handling=strict"}


def _bundle(*changed: dict[str, Any]) -> dict[str, Any]:
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"resource": {**json.loads(GOOD), **one}} for one in changed],
    }


def test_the_demo_ward_passes(client: TestClient, ward: dict[str, bytes]) -> None:
    """Each patient's answer is the same as without, and the preference is told back."""
    for one in ward.values():
        answer = client.post(REVIEW, content=one, headers=STRICT)
        assert answer.headers["preference-applied"] == "handling=strict"
        if answer.status_code == 200:
            assert answer.content == client.post(REVIEW, content=one).content
        else:
            # Data that the record holds on purpose and that cannot be used: refused as a rule, not as a form.
            assert answer.status_code == 422


def test_valid_data_that_cannot_be_used_is_422(client: TestClient) -> None:
    """Well formed, but nobody's: lenient names it and goes on, strict refuses."""
    nobody = _bundle({}, {"id": "b", "subject": {"display": "somebody"}})
    assert client.post(REVIEW, json=nobody).status_code == 200
    answer = client.post(REVIEW, json=nobody, headers=STRICT)
    assert (answer.status_code, code_of(issue(answer))) == (422, "no-patient")


@pytest.mark.parametrize(
    ("change", "code", "place"),
    [
        pytest.param({"colour": "red"}, "invalid-resource", ".colour", id="unknown-element"),
        pytest.param({"status": None}, "missing-element", ".status", id="no-status"),
        pytest.param({"issued": "yesterday"}, "invalid-resource", ".issued", id="no-instant"),
        pytest.param({"id": "a b"}, "invalid-resource", ".id", id="bad-id"),
        pytest.param({"note": [{"words": "x"}]}, "invalid-resource", ".note[0].words", id="inside-a-list"),
        pytest.param({"valueString": "x"}, "invalid-resource", "", id="two-values"),
        pytest.param(
            {"performer": [{"reference": 5}]}, "invalid-resource", ".performer[0].reference", id="type"
        ),
        pytest.param({"resourceType": "Observations"}, "wrong-resource", "", id="no-resource"),
        pytest.param({"contained": [{"resourceType": "Foo"}]}, "wrong-resource", "", id="contained"),
        pytest.param({"<b>": "x"}, "invalid-resource", ".(unnamed)", id="markup-as-a-name"),
    ],
)
def test_invalid_resources_are_refused_with_the_place(
    client: TestClient, change: dict[str, Any], code: str, place: str
) -> None:
    """Lenient reviews what it can; strict refuses and says what is wrong and where."""
    bundle = _bundle({}, change)
    if change.get("status", "") is None:
        del bundle["entry"][1]["resource"]["status"]
    for body in (bundle, parameters(json.dumps(bundle).encode())):
        answer = client.post(REVIEW, json=body, headers=STRICT)
        assert answer.status_code == 400
        told = {(code_of(i), i["expression"][0]) for i in answer.json()["issue"]}
        assert (code, f"Bundle.entry[1].resource{place}") in told


def test_every_fault_is_listed(client: TestClient) -> None:
    bundle = _bundle({"colour": 1, "issued": "x"}, {}, {"id": "a b"})
    bundle["entry"][1]["colour"] = 1
    bundle["flavour"] = 1
    answer = client.post(HANDOVER, json=bundle, headers=STRICT)
    assert {place for i in answer.json()["issue"] for place in i["expression"]} == {
        "Bundle.flavour",
        "Bundle.entry[1].colour",
        "Bundle.entry[0].resource.colour",
        "Bundle.entry[0].resource.issued",
        "Bundle.entry[2].resource.id",
    }


def test_a_long_list_is_cut_and_counted(client: TestClient) -> None:
    answer = client.post(
        REVIEW, json=_bundle(*({"colour": 1} for _ in range(MOST_ISSUES + 30))), headers=STRICT
    )
    issues = answer.json()["issue"]
    assert len(issues) == 2, "equal ones are one"
    assert f"({MOST_ISSUES} times)" in issues[0]["diagnostics"]
    assert "30 more" in issues[-1]["diagnostics"]


def test_lines_are_judged_before_the_first_is_answered(client: TestClient) -> None:
    lines = f"{GOOD}\n{GOOD.replace('final', '', 1)}\n"
    answer = client.post(REVIEW, content=lines, headers={**STRICT, "Content-Type": "application/fhir+ndjson"})
    assert answer.status_code == 400
    assert issue(answer)["expression"] == ["line 2.status"]


def test_lenient_is_the_default(client: TestClient) -> None:
    answer = client.post(REVIEW, json=_bundle({"colour": "red"}))
    assert answer.status_code == 200
    assert "preference-applied" not in answer.headers
    assert resources(answer, "Provenance")
