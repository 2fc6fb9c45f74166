"""Seeded populations of two outside generators go through whole.

carebundle 0.5.0: one visit each, clean; no oxygen and no consciousness, so no score that
needs them may come out complete. clinosim 0.6.5: in-patients as a bulk export with dirty
corners; the rows of scores that it writes itself are taken out unread.
"""

import json
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.conformance.judges import Judges
from tests.once import clinosim
from weatherglass.api.app import create_app

pytestmark = pytest.mark.slow

REVIEW = "/fhir/$review-deterioration"
CODES = "urn:weatherglass:codes:"
#: LOINC and SNOMED CT codes in the two populations that the service says it reads.
READ = {
    *("8867-4", "9279-1", "59408-5", "2708-6", "8310-5", "85354-9", "8480-6", "8462-4", "80288-4", "9269-2"),
    *("3151-8", "29463-7", "8302-2", "2160-0", "2823-3", "2951-2", "2345-7", "718-7", "6690-2", "777-3"),
    *("1988-5", "1975-2", "2524-7", "2744-1", "2019-8", "2703-7", "1963-8", "3094-0", "48642-3", "98979-8"),
    *(
        "9267-6",
        "9268-4",
        "9270-0",
        "10839-9",
        "6301-6",
        "2157-6",
        "75241-0",
        "33959-8",
        "304251008",
        "9192-6",
    ),
    *(
        "1751-7",
        "6299-2",
        "2339-0",
        "17861-6",
        "14979-9",
        "1925-7",
        "20564-1",
        "67151-1",
        "34714-6",
        "33762-6",
    ),
    *("58941-6", "4544-3", "30934-4", "42637-9"),
    *("2075-0", "1742-6", "1920-8", "2028-9", "2777-1", "2000-8", "2519-7", "20565-8", "5902-2", "48065-7"),
}
#: Scores that need oxygen or consciousness.
NEVER_COMPLETE = ("news2", "mews", "qsofa")


@pytest.fixture(scope="module")
def door() -> TestClient:
    """The service; what fails in it fails the test."""
    return TestClient(create_app(), headers={"Content-Type": "application/fhir+json"})


@pytest.fixture(scope="module")
def visits(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """Forty visits by carebundle, each a transaction Bundle."""
    folder = tmp_path_factory.mktemp("carebundle")
    program = Path(sys.executable).with_name("carebundle")
    asked = "--profile mixed --count 40 --seed 42 --sex mixed --age-range 25-95 --format bundle --out"
    subprocess.run([program, "generate", *asked.split(), folder], check=True, capture_output=True)
    return [json.loads(path.read_text("utf-8")) for path in sorted(folder.rglob("*.json"))]


@pytest.fixture(scope="module")
def export(tools: Path, tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """The lines of a bulk export by clinosim, without the scores that it computed."""
    return list(_without_scores(clinosim(tools, tmp_path_factory).rglob("*.ndjson")))


def _without_scores(files: Iterable[Path]) -> Iterator[bytes]:
    for path in sorted(files):
        for line in path.read_bytes().splitlines():
            if line.strip() and b"nursing-scores" not in line:
                yield line


def _resources(bundle: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == kind]


def _told(outcome: dict[str, Any]) -> list[tuple[str, str]]:
    return [(i["details"]["coding"][0]["code"], i["diagnostics"]) for i in outcome["issue"]]


class TestCarebundle:
    def test_no_score_is_complete(self, door: TestClient, visits: list[dict[str, Any]]) -> None:
        """What was not observed is never taken for normal."""
        seen: Counter[str] = Counter()
        for visit in visits:
            answer = door.post(REVIEW, json=visit)
            assert answer.status_code == 200
            for observation in _resources(answer.json(), "Observation"):
                (code,) = [
                    c["code"] for c in observation["code"]["coding"] if c["system"] == f"{CODES}score"
                ][:1]
                if code in NEVER_COMPLETE:
                    seen[code] += 1
                    assert observation["valueQuantity"]["comparator"] == ">="
                    assert any("dataAbsentReason" in part for part in observation["component"])
        assert seen["news2"] == len(visits) == 40

    def test_saturation_with_two_codings_is_one_measurement(
        self, door: TestClient, visits: list[dict[str, Any]]
    ) -> None:
        """One Observation, one input, whatever it is called."""
        for visit in visits[:10]:
            both = [
                r
                for r in _resources(visit, "Observation")
                if {"59408-5", "2708-6"} <= {c["code"] for c in r["code"]["coding"]}
            ]
            assert len(both) == 1
            issues = _told(_resources(door.post(REVIEW, json=visit).json(), "OperationOutcome")[0])
            assert not [code for code, _ in issues if code in ("duplicate", "conflict")]

    def test_what_was_not_needed_is_counted(self, door: TestClient, visits: list[dict[str, Any]]) -> None:
        for visit in visits[:10]:
            outcome = _resources(door.post(REVIEW, json=visit).json(), "OperationOutcome")[0]
            sent = [entry["resource"] for entry in visit["entry"]]
            _check_every_code_is_named_or_read(sent, outcome)

    def test_answers_are_valid(self, door: TestClient, visits: list[dict[str, Any]], judges: Judges) -> None:
        """Names that the request gives by urn:uuid are looked for in the request."""
        for visit in visits[:10]:
            answer = door.post(REVIEW, json=visit).json()
            own = {"fullUrl", "resource"}
            sent = [{k: v for k, v in entry.items() if k in own} for entry in visit["entry"]]
            names = {e["fullUrl"] for e in answer["entry"]}
            problems = judges.problems({**answer, "entry": [*answer["entry"], *sent]})
            assert [p for p in problems if _is_about(p.where, len(names))] == []


def _is_about(where: str, answered: int) -> bool:
    place = re.search(r"entry\[(\d+)\]", where)
    return place is None or int(place[1]) < answered


def _check_every_code_is_named_or_read(sent: list[dict[str, Any]], outcome: dict[str, Any]) -> None:
    counted = {
        match[2]: int(match[1])
        for code, text in _told(outcome)
        if code == "code-not-used" and (match := re.match(r"(\d+) Observation\(s\) with code (\S+)", text))
    }
    given: Counter[str] = Counter()
    for resource in sent:
        if resource["resourceType"] == "Observation":
            codes = [c["code"] for c in resource["code"]["coding"]]
            named = [code for code in codes if code in counted]
            if named:
                given[named[0]] += 1
            else:
                assert set(codes) & READ, f"{codes} is neither read nor named"
    assert dict(given) == counted


class TestClinosim:
    def test_everything_goes_through_and_is_named(self, door: TestClient, export: list[bytes]) -> None:
        """One answer for the whole export: every patient, every unused type and code with its count."""
        body = b"\n".join(export)
        answer = door.post(REVIEW, content=body, headers={"Content-Type": "application/fhir+ndjson"})
        assert answer.status_code == 200
        lines = [json.loads(line) for line in answer.content.splitlines()]
        outcome = lines[-1]
        assert outcome["resourceType"] == "OperationOutcome"
        assert not any(issue["severity"] == "fatal" for issue in outcome["issue"])
        sent = [json.loads(line) for line in export]
        _check_every_code_is_named_or_read(sent, outcome)
        _check_types(sent, outcome)
        reviewed = {
            r["subject"]["reference"]
            for r in lines
            if r["resourceType"] == "Observation" and r["code"]["coding"][0]["code"] == "review-urgency"
        }
        measured = {r["subject"]["reference"] for r in sent if r["resourceType"] == "Observation"}
        assert measured <= reviewed
        print(  # noqa: T201
            f"{len(export)} lines of {len(measured)} patients: {len(lines)} lines back, "
            f"{len(outcome['issue'])} issues"
        )

    def test_strict_handling_names_what_is_not_r4(self, door: TestClient, export: list[bytes]) -> None:
        """Its MedicationAdministrations have elements that R4 does not; only strict callers are refused."""
        lines = [line for line in export if b'"MedicationAdministration"' in line[:60]]
        answer = door.post(
            REVIEW,
            content=b"\n".join(lines),
            headers={"Content-Type": "application/fhir+ndjson", "Prefer": "handling=strict"},
        )
        assert answer.status_code == 400
        places = {
            re.sub(r"line \d+", "line", i["expression"][0])
            for i in answer.json()["issue"]
            if "expression" in i
        }
        assert {"line.dosage.doseAndRate", "line.dosage.timing"} & places

    def test_patient_by_patient_it_is_the_same(self, door: TestClient, export: list[bytes]) -> None:
        """Each of the first patients alone, as a Bundle, has the results that the export gave."""
        whole = door.post(
            REVIEW, content=b"\n".join(export), headers={"Content-Type": "application/fhir+ndjson"}
        )
        together = {
            r["identifier"][0]["value"]
            for line in whole.content.splitlines()
            if (r := json.loads(line))["resourceType"] in ("Observation", "DetectedIssue")
        }
        by_patient: dict[str, list[dict[str, Any]]] = {}
        shared = []
        for line in export:
            resource = json.loads(line)
            subject = resource.get("subject", resource.get("patient", {})).get("reference")
            if resource["resourceType"] == "Patient":
                subject = f"Patient/{resource['id']}"
            if subject:
                by_patient.setdefault(subject, []).append(resource)
            elif resource["resourceType"] in ("Location", "Medication"):
                shared.append(resource)
        for own in list(by_patient.values())[:10]:
            bundle = {"resourceType": "Bundle", "entry": [{"resource": r} for r in [*own, *shared]]}
            answer = door.post(REVIEW, json=bundle)
            assert answer.status_code in (200, 400)
            if answer.status_code == 200:
                results = [r for k in ("Observation", "DetectedIssue") for r in _resources(answer.json(), k)]
                assert {r["identifier"][0]["value"] for r in results} <= together


def _check_types(sent: list[dict[str, Any]], outcome: dict[str, Any]) -> None:
    counted = {
        match[2]: int(match[1])
        for code, text in _told(outcome)
        if code == "resource-not-used" and (match := re.match(r"(\d+) (\w+) resource", text))
    }
    given = Counter(r["resourceType"] for r in sent)
    assert counted == {kind: given[kind] for kind in counted}
    assert {"Immunization", "Composition", "Specimen"} <= set(counted)
