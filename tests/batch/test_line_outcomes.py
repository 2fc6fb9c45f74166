"""Every line is used, not needed or rejected with its reason, and the counts are exact."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import WARD, lines_in, pulse, report_of, rows, run_batch, write_lines
from weatherglass.batch import reviewing
from weatherglass.batch.output.line_outcomes import origin_of, origins_in
from weatherglass.batch.reviewing import Settings, review_group
from weatherglass.batch.sources.framing import opened
from weatherglass.fhir.reading.bundle import read_items
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.stamp import stamp

SETTINGS = Settings(as_of=None, choices=LocalChoices(), stamp=stamp())


def _line(resource: dict[str, Any]) -> bytes:
    return json.dumps(resource).encode()


def test_every_part_of_a_record_is_looked_through() -> None:
    """A new field of the record that holds origins must count as use."""
    looked_through = {
        "subject", "numbers", "codes", "artefacts", "conditions", "orders", "administrations", "procedures",
        "stays", "reasons", "directives", "allergies", "omissions", "not_taken",
    }  # fmt: skip
    about_the_whole = {"zone", "newest", "labels"}
    # Named because nobody could use it: that is no use.
    only_said = {"sent", "undated", "put_up"}
    assert set(Record.__struct_fields__) == looked_through | about_the_whole | only_said


def test_the_quick_count_is_the_count_line_by_line() -> None:
    """The demo ward, counted the slow way: is the name of each line in the record?"""
    by_patient: dict[str, list[bytes]] = {}
    for line in lines_in(WARD):
        resource = json.loads(line)
        reference = (resource.get("subject") or resource.get("patient") or {}).get("reference", "")
        patient = reference.rpartition("/")[2]
        if resource["resourceType"] == "Patient":
            patient = resource["id"]
        if patient:
            by_patient.setdefault(patient, []).append(line)
    assert len(by_patient) == 13
    for patient, lines in by_patient.items():
        items = [opened(line, number) for number, line in enumerate(sorted(lines))]
        used = set().union(*(origins_in(record) for _, record in read_items(items).records))
        slowly = sum(origin_of(item) in used for item in items)
        totals = review_group(f"Patient/{patient}", lines, [], SETTINGS).totals
        assert totals.used == slowly, patient
        assert totals.lines == len(lines) == totals.used + totals.not_needed + totals.rejected


def test_each_fate(tmp_path: Path) -> None:
    """One line of each kind, and what becomes of it."""
    unit = {"value": 80, "unit": "furlongs", "system": "http://unitsofmeasure.org", "code": "[fur_i]"}
    unknown = {"coding": [{"system": "http://loinc.org", "code": "56086-2"}]}
    given = write_lines(
        tmp_path / "in",
        [
            {"resourceType": "Patient", "id": "p1"},  # used: who it is
            pulse("Patient/p1", 1),  # used
            pulse("Patient/p1", 2, valueQuantity=unit),  # rejected: the unit
            pulse("Patient/p1", 3, status="entered-in-error"),  # not needed: does not count
            pulse("Patient/p1", 4, code=unknown),  # not needed: means nothing to any rule
            pulse("Patient/p1", 5, valueQuantity={"value": "eighty"}),  # rejected: not a number
            {"resourceType": "Claim", "id": "c1", "patient": {"reference": "Patient/p1"}},  # not needed
            {"resourceType": "Organization", "id": "o1"},  # not needed: nobody's
            pulse(None, 6),  # rejected: nobody's
            pulse("PatientGroup/g1", 7),  # rejected: about a group
            {"resourceType": "OperationOutcome", "issue": []},  # rejected: the sender's own problem
            {"id": "nothing"},  # rejected: not a resource
        ],
    )
    with (given / "rows.ndjson").open("ab") as more:
        more.write(b'{"resourceType":"Observation","id":"cut off\n')
        more.write(b'{"resourceType":"Observation","id":"\xff\xfe"}\n')
        more.write(b"   \n\n")
    out = tmp_path / "out"
    assert run_batch(given, out, "--workers", "1").exception is None
    report = report_of(out)
    assert report["lines"] == {"in": 14, "used": 2, "not_needed": 4, "rejected": 8}
    assert report["rejected_by_reason"] == {
        "incomplete-bundle": 1, "no-patient": 1, "not-about-the-patient": 1, "not-json": 2, "unit-unknown": 1,
        "wrong-resource": 1, "wrong-type": 1,
    }  # fmt: skip
    rejected = rows(out / "rejected.ndjson")
    assert [each["reasons"][0]["at"] for each in rejected if each.get("patient")] == [
        "valueQuantity.code",
        "valueQuantity.value",
    ]
    assert sum("line_bytes" in each for each in rejected) == 1, "what is not UTF-8 is kept in base64"


def test_order_of_lines_changes_nothing() -> None:
    """A group is a set of lines; shared lines may come repeated."""
    lines = [_line(pulse("Patient/p1", number)) for number in range(9)]
    shared = [_line({"resourceType": "Location", "id": "a"})]
    one = review_group("Patient/p1", lines, shared, SETTINGS)
    other = review_group("Patient/p1", lines[::-1], shared * 3, SETTINGS)
    assert (one.sections, one.totals) == (other.sections, other.totals)


def test_a_fault_in_one_review_refuses_one_patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """What should never happen is caught, named without the message, and every line kept."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("80 /min of Person Alder")

    monkeypatch.setattr(reviewing, "review_reading", broken)
    output = review_group("Patient/p1", [_line(pulse("Patient/p1", n)) for n in range(3)], [], SETTINGS)
    assert (output.totals.refused, output.totals.rejected, output.totals.reviewed) == (1, 3, 0)
    kept = [json.loads(line) for line in output.sections["rejected"]]
    assert len(kept) == 3
    reason = kept[0]["reasons"][0]
    assert reason["issue"] == "fault"
    assert "ZeroDivisionError" in reason["text"]
    assert "Alder" not in reason["text"]


def test_nothing_usable_refuses_the_patient(tmp_path: Path) -> None:
    """Only faults: the patient is refused, stands first on the ward list, and all lines are kept."""
    fast = {"value": 150, "system": "http://unitsofmeasure.org", "code": "/min"}
    given = write_lines(
        tmp_path / "in",
        [
            {"resourceType": "Patient", "id": "p1", "name": [{"family": "Alder"}]},
            pulse("Patient/p1", 1, status=4),
            pulse("Patient/p2", 2, valueQuantity=fast),
        ],
    )
    out = tmp_path / "out"
    assert run_batch(given, out, "--workers", "1").exception is None
    report = report_of(out)
    assert report["patients"]["refused"] == 1
    assert report["lines"] == {"in": 3, "used": 1, "not_needed": 0, "rejected": 2}
    page = (out / "ward-list.html").read_text("utf-8")
    assert page.index("Not reviewed") < page.index("Place not recorded")
    assert page.index("Patient/p1") < page.index("Patient/p2")
    first = rows(out / "OperationOutcome.ndjson")[0]
    assert first["issue"][0]["expression"] == ["Observation/pulse-1.status"]


def test_nobody_to_review_is_said(tmp_path: Path) -> None:
    """People without any data are counted, not listed."""
    people = [{"resourceType": "Patient", "id": f"p{number}"} for number in range(3)]
    out = tmp_path / "out"
    assert run_batch(write_lines(tmp_path / "in", people), out, "--workers", "1").exception is None
    assert report_of(out)["patients"] == {
        "in": 3, "reviewed": 0, "refused": 3, "refused_with_nothing_to_review": 3
    }  # fmt: skip
    page = (out / "ward-list.html").read_text("utf-8")
    assert "3 with nothing to review" in page
    assert "Nobody to list." in page


def test_results_inside_a_report_and_of_a_patient_looked_up_by_number(tmp_path: Path) -> None:
    """Both reach their patient in a batch as in a request, and the lines count as used."""
    number = {"system": "urn:oid:1.2.36.146", "value": "4471"}
    inside = pulse(
        None, 1, status="final", code={"coding": [{"system": "http://loinc.org", "code": "2823-3"}]}
    )
    inside["valueQuantity"] = {"value": 7.1, "code": "mmol/L", "system": "http://unitsofmeasure.org"}
    given = write_lines(
        tmp_path / "in",
        [
            {"resourceType": "Patient", "id": "p1", "identifier": [number]},
            {
                "resourceType": "DiagnosticReport",
                "id": "r",
                "status": "final",
                "code": {"text": "Urea and electrolytes"},
                "subject": {"reference": "Patient/p1"},
                "contained": [inside],
            },
            pulse("Patient?identifier=urn:oid:1.2.36.146|4471", 2),
        ],
    )
    out = tmp_path / "out"
    run_batch(given, out)
    report = report_of(out)
    assert report["lines"] == {"in": 3, "used": 3, "not_needed": 0, "rejected": 0}
    assert report["patients"]["reviewed"] == 1
    assert report["inputs"]["read_as"] == {"potassium": 1, "pulse": 1}


def test_the_report_says_what_values_were_read_as(tmp_path: Path) -> None:
    """What was read, what was not and how often, and what was left out: by code, without a value."""
    unknown = {"coding": [{"system": "urn:x", "code": "HR9", "display": "Heart rate"}]}
    given = write_lines(
        tmp_path / "in",
        [
            {"resourceType": "Patient", "id": "p1"},
            pulse("Patient/p1", 1),
            pulse("Patient/p1", 2, code=unknown),
            pulse("Patient/p1", 3, valueQuantity={"value": 80}),
        ],
    )
    out = tmp_path / "out"
    run_batch(given, out)
    inputs = report_of(out)["inputs"]
    assert inputs["read_as"] == {"pulse": 1}
    assert inputs["not_read"] == {"HR9 (pulse in words)": 1}
    assert inputs["codes_not_read"] == 1
    assert inputs["left_out"] == {"code-not-used": 1, "unit-missing": 1}
