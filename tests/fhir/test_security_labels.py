"""Results are no less confidential than what they come from.

HL7 FHIR R4, security-labels.html (labels in `meta.security`), and the HL7 v3 code system
Confidentiality: unrestricted U, low L, moderate M, normal N, restricted R, very restricted V.
"""

import json
from datetime import datetime
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest

from tests.records import AT, bundle, earlier, full_set, measured, observation, patient, text
from weatherglass.cli.main import run
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.pipeline import Answer, review
from weatherglass.stamp import stamp

Json = dict[str, Any]
DEGREES = "http://terminology.hl7.org/CodeSystem/v3-Confidentiality"
PSYCHIATRY = {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "PSY"}


def degree(code: str) -> Json:
    """Return a degree of confidentiality as a label."""
    return {"system": DEGREES, "code": code, "display": f"degree {code}"}


def labelled(resource: Json, *labels: Json) -> Json:
    """Return a resource with labels."""
    return {**resource, "meta": {"security": list(labels)}}


def answered(*resources: Json) -> Answer:
    """Review a Bundle."""
    return review(text(bundle(*resources)))


def security(answer: Answer) -> dict[str, list[list[str]]]:
    """Return the codes of the labels of every result, by type."""
    found: dict[str, list[list[str]]] = {}
    whole = json.loads(answer.collection(stamp()))
    for resource in (whole, *(each["resource"] for each in whole["entry"])):
        codes = [label["code"] for label in resource.get("meta", {}).get("security", [])]
        found.setdefault(resource["resourceType"], []).append(codes)
    return found


def test_without_labels_nothing_is_written() -> None:
    found = security(answered(patient(), *full_set(pulse="131")))
    assert not [codes for each in found.values() for codes in each if codes]


@pytest.mark.parametrize(("lower", "higher"), [*pairwise("ULMNRV")])
def test_the_highest_degree_is_kept(lower: str, higher: str) -> None:
    """Each degree beside the next one, on a plain Observation and on the person, either way round."""
    for one, other in permutations((lower, higher)):
        person = labelled(patient(), degree(one))
        reading = labelled(measured("x", "pulse", "131", "/min", at=earlier("2 h")), degree(other))
        found = security(answered(person, reading, *full_set()))
        assert set(map(tuple, (*found["Bundle"], *found["Observation"], *found["Provenance"]))) == {(higher,)}
        # The software and the report on the request say nothing about the person.
        assert found["Device"] == [[]]
        assert found["OperationOutcome"] == [[]]


@pytest.mark.parametrize(
    "source",
    [
        {"resourceType": "Condition", "id": "c", "code": {"text": "Depression"}},
        {"resourceType": "MedicationRequest", "id": "m", "status": "active", "intent": "order",
         "medicationCodeableConcept": {"text": "Lithium carbonate 400 mg tablets"}},
        {"resourceType": "Encounter", "id": "e", "status": "in-progress", "class": {"code": "IMP"}},
        {**measured("n", "pulse", "88", "/min", at=earlier("3 h")), "note": [{"text": "not plain"}]},
        measured("bad", "pulse", "88", "/min", at=None),
    ],
    ids=["condition", "order", "stay", "not-plain", "not-usable"],
)  # fmt: skip
def test_labels_of_every_kind_of_input(source: Json) -> None:
    """Beside a degree whatever else was sent stays, each label once."""
    owned = {"subject": {"reference": "Patient/p"}, **source}
    found = security(answered(patient(), labelled(owned, degree("R"), PSYCHIATRY, PSYCHIATRY), *full_set()))
    assert {tuple(sorted(codes)) for codes in found["Observation"]} == {("PSY", "R")}


def test_of_two_patients_each_has_the_own_ones() -> None:
    """The Bundle that holds both has the labels of both."""
    others = [{**each, "id": f"q-{each['id']}", "subject": {"reference": "Patient/q"}} for each in full_set()]
    whole = json.loads(
        answered(patient(), labelled({**patient(), "id": "q"}, degree("R")), *full_set(), *others).collection(
            stamp()
        )
    )
    by_patient: dict[str, set[str]] = {}
    for resource in (each["resource"] for each in whole["entry"]):
        if resource["resourceType"] == "Observation":
            codes = [label["code"] for label in resource.get("meta", {}).get("security", [])]
            by_patient.setdefault(resource["subject"]["reference"], set()).add(",".join(codes))
    assert by_patient == {"Patient/p": {""}, "Patient/q": {"R"}}
    assert [label["code"] for label in whole["meta"]["security"]] == ["R"]


def test_labels_that_cannot_be_read_are_said() -> None:
    """The measurement counts; that its labels are lost is no secret."""
    broken = {**measured("x", "pulse", "131", "/min", at=earlier("2 h")), "meta": {"security": "R"}}
    answer = answered(patient(), broken, *full_set())
    (issue,) = [i for i in answer.issues if i.path.endswith(".meta.security")]
    assert (issue.key, issue.severity) == (IssueKey.WRONG_TYPE, Severity.WARNING)
    assert answer.reviews[0].findings


def test_a_handover_says_how_confidential_it_is() -> None:
    """`Composition.confidentiality` and the labels of the document itself."""
    answer = answered(labelled(patient(), degree("V"), PSYCHIATRY), *full_set(pulse="131"))
    document = json.loads(encode(write_handover(answer.reviews[0], answer.issues, stamp())))
    composition, person = (each["resource"] for each in document["entry"][:2])
    assert composition["confidentiality"] == "V"
    for resource in (document, composition, person):
        assert {label["code"] for label in resource["meta"]["security"]} == {"V", "PSY"}
    plain = answered(patient(), *full_set())
    unsaid = json.loads(encode(write_handover(plain.reviews[0], plain.issues, stamp())))
    assert "confidentiality" not in unsaid["entry"][0]["resource"]


def test_the_night_labels_as_a_request_does(tmp_path: Path) -> None:
    """The same resources of a patient, from a folder and from a Bundle."""
    secret = labelled(measured("x", "pulse", "90", "/min", at=earlier("2 h")), degree("R"))
    # No rule asks for it, so that nothing comes from it.
    unasked = labelled(observation("y", "33747-0", valueString="seen"), PSYCHIATRY)
    resources = [patient(), secret, unasked, *full_set()]
    given, out = tmp_path / "in", tmp_path / "out"
    given.mkdir()
    for kind in ("Patient", "Observation"):
        lines = [text(each) for each in resources if each["resourceType"] == kind]
        (given / f"{kind}.ndjson").write_bytes(b"\n".join(lines) + b"\n")
    assert run(["batch", str(given), str(out), "--as-of", AT]) == 0
    night = [json.loads(line) for line in (out / "Observation.ndjson").read_bytes().splitlines()]
    answer = review(text(bundle(*resources)), as_of=datetime.fromisoformat(AT))
    whole = json.loads(answer.collection(stamp(), detail=Detail.FULL))
    single = [e["resource"] for e in whole["entry"] if e["resource"]["resourceType"] == "Observation"]
    assert [each["meta"] for each in night] == [each["meta"] for each in single]
    assert {label["code"] for each in night for label in each["meta"]["security"]} == {"R"}
