"""The two operations, called in every way that FHIR R4 `operations.html` allows."""

import json
from itertools import pairwise
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW, code_of, issue, parameters, resources, scores
from weatherglass.review.selection import selectable


class TestInput:
    def test_bare_bundle_and_parameters_give_the_same_bytes(self, client: TestClient, sepsis: bytes) -> None:
        """R4: the sole resource parameter may be the body itself."""
        bare = client.post(REVIEW, content=sepsis)
        wrapped = client.post(REVIEW, json=parameters(sepsis))
        assert bare.status_code == wrapped.status_code == 200
        assert bare.content == wrapped.content

    def test_order_of_the_parameters_does_not_matter(self, client: TestClient, sepsis: bytes) -> None:
        asked = parameters(sepsis, detail=("valueCode", "brief"))
        there = client.post(REVIEW, json=asked)
        asked["parameter"].reverse()
        asked = {"parameter": asked["parameter"], "resourceType": "Parameters"}
        assert client.post(REVIEW, json=asked).content == there.content

    def test_several_patients_are_kept_apart(self, client: TestClient, ward: dict[str, bytes]) -> None:
        """Every patient of the ward in one Bundle is reviewed as if alone."""
        whole = {
            "resourceType": "Bundle",
            "type": "batch",
            "entry": [entry for one in ward.values() for entry in json.loads(one)["entry"]],
        }
        together = resources(client.post(REVIEW, json=whole))
        alone = [r for one in ward.values() for r in resources(client.post(REVIEW, content=one))]
        for kind in ("Observation", "DetectedIssue", "Task", "CommunicationRequest"):
            assert {_name(r) for r in together if r["resourceType"] == kind} == {
                _name(r) for r in alone if r["resourceType"] == kind
            }

    def test_as_of_goes_back_in_time(self, client: TestClient, sepsis: bytes) -> None:
        """Nothing later than the moment of the review is in it."""
        asked = parameters(sepsis, asOf=("valueDateTime", "2026-03-11T20:00:00Z"))
        answer = client.post(REVIEW, json=asked)
        (earlier,) = scores(answer, "score#news2")[:1]
        (now,) = scores(client.post(REVIEW, content=sepsis), "score#news2")[:1]
        assert earlier["effectiveDateTime"] < now["effectiveDateTime"]
        assert "later-than-as-of" in {code_of(i) for i in resources(answer, "OperationOutcome")[0]["issue"]}

    def test_options_beside_a_bare_bundle(self, client: TestClient, sepsis: bytes) -> None:
        """Ours, beyond R4: the same options as query keys; a plus sign arrives as a space."""
        query = "?asOf=2026-03-11T20:00:00+00:00&criteria=news2&detail=brief&members=true"
        asked = parameters(
            sepsis,
            asOf=("valueDateTime", "2026-03-11T20:00:00+00:00"),
            criteria=("valueCode", "news2"),
            detail=("valueCode", "brief"),
            members=("valueBoolean", True),
        )
        by_query = client.post(REVIEW + query, content=sepsis)
        assert by_query.status_code == 200
        assert by_query.content == client.post(REVIEW, json=asked).content

    @pytest.mark.parametrize(
        ("values", "path"),
        [
            pytest.param({"asOf": ("valueDateTime", "2026-03-11")}, "[1].valueDateTime", id="date-only"),
            pytest.param({"asOf": ("valueDateTime", 5)}, "[1].valueDateTime", id="as-of-a-number"),
            pytest.param({"asOf": ("valueInteger", 5)}, "[1]", id="as-of-of-another-type"),
            pytest.param({"detail": ("valueCode", "all")}, "[1].valueCode", id="detail"),
            pytest.param({"members": ("valueCode", "yes")}, "[1].valueCode", id="members"),
            pytest.param({"criteria": ("valueCode", "news3")}, "[1].valueCode", id="criterion"),
            pytest.param({"as-of": ("valueDateTime", "x")}, "[1].name", id="misspelt"),
            pytest.param(
                {"detail": [("valueCode", "full"), ("valueCode", "brief")]}, "[2]", id="detail-twice"
            ),
        ],
    )
    def test_a_wrong_parameter_is_refused_at_its_place(
        self, client: TestClient, sepsis: bytes, values: dict[str, Any], path: str
    ) -> None:
        answer = client.post(REVIEW, json=parameters(sepsis, **values))
        assert answer.status_code == 400
        found = issue(answer)
        assert (code_of(found), found["severity"]) == ("bad-parameter", "error")
        assert found["expression"] == [f"Parameters.parameter{path}"]

    def test_parameters_without_a_record(self, client: TestClient) -> None:
        answer = client.post(REVIEW, json={"resourceType": "Parameters", "parameter": []})
        assert answer.status_code == 400
        assert "record" in issue(answer)["diagnostics"]

    @pytest.mark.parametrize("body", ["", "  \n"])
    def test_an_empty_body(self, client: TestClient, body: str) -> None:
        answer = client.post(REVIEW, content=body)
        assert (answer.status_code, code_of(issue(answer))) == (400, "empty")


class TestOutput:
    def test_brief_has_what_ordinary_records_can_store(
        self, client: TestClient, ward: dict[str, bytes]
    ) -> None:
        brief = client.post(f"{REVIEW}?detail=brief", content=ward["04-aki-nephrotoxics"])
        assert {r["resourceType"] for r in resources(brief)} == {
            "Device",
            "Observation",
            "OperationOutcome",
            "Provenance",
        }

    def test_history_has_the_names_of_reviews_at_those_moments(
        self, client: TestClient, sepsis: bytes
    ) -> None:
        """A past score has the identifier that a review of that moment gives it."""
        answer = client.post(f"{REVIEW}?detail=history", content=sepsis)
        points = scores(answer, "score#news2")
        times = [p["effectiveDateTime"] for p in points[1:]]
        assert times == sorted(times)
        assert len(points) > 5
        for point in points[-3:]:
            then = client.post(REVIEW, params={"asOf": point["effectiveDateTime"]}, content=sepsis)
            assert _name(scores(then, "score#news2")[0]) == _name(point)
            assert scores(then, "score#news2")[0]["valueQuantity"] == point["valueQuantity"]

    def test_history_is_the_full_answer_and_more(self, client: TestClient, sepsis: bytes) -> None:
        full = {_name(r) for r in resources(client.post(REVIEW, content=sepsis)) if "identifier" in r}
        more = {
            _name(r)
            for r in resources(client.post(f"{REVIEW}?detail=history", content=sepsis))
            if "identifier" in r
        }
        kinds = {r["resourceType"] for r in resources(client.post(REVIEW, content=sepsis))}
        assert kinds >= {"Observation", "Provenance"}
        assert len(more) > len(full)
        assert len(full - more) <= 1  # Provenance names what it is about, which has grown.

    def test_members_are_the_components_as_observations(self, client: TestClient, sepsis: bytes) -> None:
        """FHIR R4 Observation: `hasMember` for receivers that cannot show components."""
        with_members = client.post(f"{REVIEW}?members=true", content=sepsis)
        (total,) = scores(with_members, "score#news2")[:1]
        (usual,) = scores(client.post(REVIEW, content=sepsis), "score#news2")[:1]
        assert _name(total) == _name(usual)
        by_url = {e["fullUrl"]: e["resource"] for e in with_members.json()["entry"]}
        members = [by_url[m["reference"]] for m in total["hasMember"]]
        assert [m["code"] for m in members] == [c["code"] for c in usual["component"]]
        assert [m["valueQuantity"] for m in members] == [c["valueQuantity"] for c in usual["component"]]
        assert "component" not in total
        assert all(m["derivedFrom"] for m in members)

    def test_criteria_narrow_the_answer_and_say_so(self, client: TestClient, ward: dict[str, bytes]) -> None:
        answer = client.post(f"{REVIEW}?criteria=aki-kdigo", content=ward["04-aki-nephrotoxics"])
        observed = resources(answer, "Observation")
        assert [len(scores(answer, f"score#{c}")) for c in ("aki-kdigo", "review-urgency")] == [1, 1]
        assert len(observed) == 2
        assert not resources(answer, "DetectedIssue")
        assert any("aki-kdigo" in note["text"] for note in observed[0]["note"])

    def test_every_score_of_the_ward_can_be_asked_for(
        self, client: TestClient, ward: dict[str, bytes]
    ) -> None:
        """No score is written under a name that `criteria` does not take."""
        seen = {
            code["code"]
            for one in ward.values()
            for o in resources(client.post(REVIEW, content=one), "Observation")
            for code in o["code"]["coding"]
            if code["system"] == "urn:weatherglass:codes:score"
        }
        assert {"news2", "aki-kdigo"} < seen
        assert seen - {"review-urgency"} <= selectable()

    def test_inputs_are_named_as_the_request_names_them(
        self, client: TestClient, ward: dict[str, bytes]
    ) -> None:
        """Every reference to an input is the id or the fullUrl of an entry of the request."""
        for one in ward.values():
            sent = json.loads(one)["entry"]
            names = {e.get("fullUrl") for e in sent}
            names |= {f"{e['resource']['resourceType']}/{e['resource'].get('id')}" for e in sent}
            answer = client.post(REVIEW, content=one).json()
            own = {e["fullUrl"] for e in answer["entry"]}
            for resource in resources(answer):
                assert set(_references(resource)) <= names | own

    def test_the_same_request_has_the_same_answer(self, client: TestClient, sepsis: bytes) -> None:
        assert client.post(REVIEW, content=sepsis).content == client.post(REVIEW, content=sepsis).content


class TestHandover:
    def test_sections_are_readable_and_nothing_dangles(
        self, client: TestClient, ward: dict[str, bytes]
    ) -> None:
        for one in ward.values():
            document = client.post(HANDOVER, content=one).json()
            own = {e["fullUrl"] for e in document["entry"]}
            sections = document["entry"][0]["resource"]["section"]
            titles = [s["title"] for s in sections]
            assert titles[:4] == ["Situation", "Background", "Assessment", "Recommendation"]
            assert all("<li>" in s["text"]["div"] for s in sections)
            assert {r for each in resources(document) for r in _references(each)} <= own

    def test_the_patient_travels_with_it(self, client: TestClient, sepsis: bytes) -> None:
        (patient,) = resources(client.post(HANDOVER, content=sepsis), "Patient")
        assert patient["identifier"] == [
            {"system": "urn:weatherglass:input", "value": _patient_in(sepsis)},
            {"type": {"text": "Hospital number"}, "value": "LM-1001"},
        ]
        assert {"name", "gender", "birthDate"} <= set(patient)

    def test_several_patients_are_refused(self, client: TestClient, ward: dict[str, bytes]) -> None:
        both = json.loads(ward["01-sepsis"])
        both["entry"] += json.loads(ward["12-child"])["entry"]
        answer = client.post(HANDOVER, json=both)
        assert (answer.status_code, code_of(issue(answer))) == (422, "several-patients")
        assert issue(answer)["code"] == "business-rule"

    def test_nobody_is_refused(self, client: TestClient) -> None:
        answer = client.post(HANDOVER, json={"resourceType": "Bundle", "type": "collection"})
        assert (answer.status_code, code_of(issue(answer))) == (422, "no-patient")


def test_an_empty_bundle_is_answered(client: TestClient) -> None:
    """Nothing to review is no fault of the caller."""
    answer = client.post(REVIEW, json={"resourceType": "Bundle", "type": "collection"})
    assert answer.status_code == 200
    assert [r["resourceType"] for r in resources(answer)] == ["Device", "OperationOutcome"]
    (said,) = resources(answer, "OperationOutcome")[0]["issue"]
    assert said["details"]["coding"][0]["code"] == "empty", "never that everything was used"


def test_past_scores_do_not_outgrow_their_bounds(client: TestClient) -> None:
    """Ours: at most 72 hours and 200 points a score."""
    entries = [
        {
            "resource": {
                "resourceType": "Observation",
                "id": f"rr-{n}",
                "status": "final",
                "code": {"coding": [{"system": "http://loinc.org", "code": "9279-1"}]},
                "subject": {"reference": "Patient/p"},
                "effectiveDateTime": f"2026-03-{1 + n // 48:02d}T{n // 2 % 24:02d}:{n % 2 * 30:02d}:00Z",
                "valueQuantity": {"value": 16, "system": "http://unitsofmeasure.org", "code": "/min"},
            }
        }
        for n in range(48 * 6)
    ]
    answer = client.post(f"{REVIEW}?detail=history", json={"resourceType": "Bundle", "entry": entries})
    times = sorted(o["effectiveDateTime"] for o in scores(answer, "score#news2"))
    assert len(times) == 2 * 72 + 1
    assert times[0] == "2026-03-03T23:30:00+00:00"
    assert all(a < b for a, b in pairwise(times))


def _name(resource: dict[str, Any]) -> str:
    identifier = resource.get("identifier", [{"value": ""}])
    value: str = (identifier[0] if isinstance(identifier, list) else identifier)["value"]
    return value


def _patient_in(record: bytes) -> str:
    return next(
        f"Patient/{e['resource']['id']}"
        for e in json.loads(record)["entry"]
        if e["resource"]["resourceType"] == "Patient"
    )


def _references(node: Any) -> list[str]:
    found = []
    if isinstance(node, dict):
        if isinstance(node.get("reference"), str) and "resourceType" not in node:
            found.append(node["reference"])
        for value in node.values():
            found += _references(value)
    elif isinstance(node, list):
        for value in node:
            found += _references(value)
    return found
