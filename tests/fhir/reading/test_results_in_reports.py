"""Results that stand inside a report, and patients whom a reference looks up by their number.

HL7 FHIR R4, references.html (contained resources have no identity outside of their container),
http.html#trules (conditional references).
"""

from typing import Any

import pytest

from tests.records import AT, measured, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.model.signals import Signal

Json = dict[str, Any]
NUMBER = {"system": "urn:oid:1.2.36.146", "value": "4471"}


def inside(identity: str = "k", value: str = "7.1", **more: Any) -> Json:
    """Return a potassium as a report holds it: without a subject and without a time."""
    held = measured(identity, "potassium", value, "mmol/L", at=AT)
    del held["subject"], held["effectiveDateTime"]
    return {**held, **more}


def report(*results: Json, **more: Any) -> Json:
    """Return a report with its results inside."""
    return {
        "resourceType": "DiagnosticReport",
        "id": "r",
        "status": "final",
        "code": {"text": "Urea and electrolytes"},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": AT,
        "contained": list(results),
        "result": [{"reference": f"#{each.get('id')}"} for each in results],
        **more,
    }


def read(*resources: Json) -> Reading:
    """Read a Bundle of resources."""
    held = [{"resource": one} for one in resources]
    return read_bytes(text({"resourceType": "Bundle", "type": "collection", "entry": held}))


def potassium(reading: Reading) -> list[tuple[str, str]]:
    """Return every potassium with its origin."""
    return [
        (str(one.value), str(one.origin))
        for _, record in reading.records
        if Signal.POTASSIUM in record.numbers
        for one in record.numbers[Signal.POTASSIUM].items
    ]


def test_a_result_takes_subject_and_time_from_its_report() -> None:
    reading = read(patient(), report(inside()))
    assert potassium(reading) == [("7.1", "DiagnosticReport/r#k")]
    assert reading.issues == ()


def test_what_a_result_says_itself_goes_first() -> None:
    reading = read(patient(), report(inside(effectiveDateTime="2026-02-27T10:00:00+00:00")))
    ((_, record),) = reading.records
    assert record.numbers[Signal.POTASSIUM].items[0].at.isoformat() == "2026-02-27T10:00:00+00:00"


@pytest.mark.parametrize("status", ["cancelled", "entered-in-error", "registered", "unknown", "nonsense"])
def test_a_report_that_does_not_count_takes_its_results_with_it(status: str) -> None:
    reading = read(patient(), report(inside(), status=status))
    assert potassium(reading) == []
    assert [issue.path for issue in reading.issues if issue.key is IssueKey.RESOURCE_NOT_USED] == [
        "Bundle.entry[1].resource",
        "Bundle.entry[1].resource.contained",
    ]


@pytest.mark.parametrize("modified", [{"implicitRules": "urn:x"}, {"modifierExtension": [{"url": "urn:x"}]}])
def test_a_report_that_means_something_else_is_not_read(modified: Json) -> None:
    assert potassium(read(patient(), report(inside(), **modified))) == []


def test_a_result_without_a_unit_is_named_by_its_place() -> None:
    (issue,) = read(patient(), report(inside(valueQuantity={"value": 7.1}))).issues
    assert issue.path == "Bundle.entry[1].resource.contained[0].valueQuantity"


def test_the_same_id_in_two_reports_is_two_results() -> None:
    later = report(inside(value="6.0"), id="s", effectiveDateTime="2026-03-01T12:00:00+00:00")
    both = potassium(read(patient(), report(inside()), later))
    assert sorted(both) == [("6.0", "DiagnosticReport/s#k"), ("7.1", "DiagnosticReport/r#k")]


def test_a_result_sent_inside_and_beside_counts_once() -> None:
    beside = measured("k", "potassium", "7.1", "mmol/L", at=AT)
    assert len(potassium(read(patient(), beside, report(inside())))) == 1


def test_what_else_stands_inside_is_still_named() -> None:
    reading = read(patient(), report(inside(), {"resourceType": "Condition", "id": "c"}))
    assert [issue.path for issue in reading.issues] == ["Bundle.entry[1].resource.contained"]


def test_a_patient_inside_names_nobody() -> None:
    nobody = inside(subject={"reference": "#p"})
    held = report(nobody, {"resourceType": "Patient", "id": "p"})
    reading = read(patient(), held, measured("1", "pulse", "70", "/min", at=AT))
    assert potassium(reading) == []
    assert [issue.key for issue in reading.issues] == [IssueKey.NO_PATIENT]


@pytest.mark.parametrize("bar", ["|", "%7C"])
def test_a_conditional_reference_finds_its_patient(bar: str) -> None:
    asked = {"reference": f"Patient?identifier={NUMBER['system']}{bar}{NUMBER['value']}"}
    result = measured("k", "potassium", "7.1", "mmol/L", at=AT, subject=asked)
    assert potassium(read({**patient(), "identifier": [NUMBER]}, result)) == [("7.1", "Observation/k")]


@pytest.mark.parametrize(
    "asked", ["Patient?identifier=urn:x|4471", "Patient?name=Quill", "Patient?identifier="]
)
def test_a_conditional_reference_that_finds_nobody_is_named(asked: str) -> None:
    result = measured("k", "potassium", "7.1", "mmol/L", at=AT, subject={"reference": asked})
    reading = read({**patient(), "identifier": [NUMBER]}, result, measured("1", "pulse", "70", "/min", at=AT))
    assert potassium(reading) == []
    assert IssueKey.NOT_THE_PATIENT in {issue.key for issue in reading.issues}


def panel(*results: Json, **more: Any) -> Json:
    """Return a heading with its results inside, as some gas machines send them."""
    return {
        "resourceType": "Observation",
        "id": "panel",
        "status": "final",
        "code": {"text": "Blood gas"},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": AT,
        "contained": list(results),
        "hasMember": [{"reference": f"#{each.get('id')}"} for each in results],
        **more,
    }


@pytest.mark.parametrize("code", [None, "85354-9", "8867-4"])
def test_a_result_inside_another_is_read_whatever_is_around_it(code: str | None) -> None:
    """A heading that is known, one that is not, or a value of its own."""
    around = panel(inside())
    if code is not None:
        around["code"] = {"coding": [{"system": "http://loinc.org", "code": code}]}
    if code == "8867-4":
        around["valueQuantity"] = {"value": 88, "code": "/min", "system": "http://unitsofmeasure.org"}
    reading = read(patient(), around)
    assert potassium(reading) == [("7.1", "Observation/panel#k")]
    assert not [issue for issue in reading.issues if "member" in issue.text or "contained" in issue.path]


@pytest.mark.parametrize("status", ["entered-in-error", "cancelled", "registered", "unknown"])
def test_a_panel_that_does_not_count_takes_its_results_with_it(status: str) -> None:
    reading = read(patient(), panel(inside(), status=status))
    assert not potassium(reading)
    assert any(issue.path.endswith(".contained") for issue in reading.issues)


def test_results_of_a_panel_about_somebody_else_are_not_the_patients() -> None:
    reading = read(patient(), panel(inside(), focus=[{"reference": "Patient/donor"}]))
    assert not potassium(reading)
    assert any(issue.path.endswith(".contained") for issue in reading.issues)


def test_a_result_inside_a_resource_of_another_kind_is_named() -> None:
    problem = {
        "resourceType": "Condition",
        "id": "c",
        "subject": {"reference": "Patient/p"},
        "code": {"text": "Hyperkalaemia"},
        "contained": [inside()],
        "evidence": [{"detail": [{"reference": "#k"}]}],
    }
    reading = read(patient(), problem)
    assert not potassium(reading)
    assert [issue.text for issue in reading.issues if issue.path.endswith(".contained")] == [
        "1 contained resource(s) with data were not read; send each as a resource of its own."
    ]
