"""Resources of other releases of FHIR are told apart by name.

In R5 the medicine and the class of an Encounter moved; in DSTU2 and STU3 a status was a word, and what was
ordered stood in resources that are gone (HL7 FHIR, R2 to R4 differences of each resource).
"""

import pytest

from tests.records import AT, Json, measured, observation, patient, reading_of
from weatherglass.fhir.issues import IssueKey, Severity, UnreadableError
from weatherglass.fhir.reading.bundle import Reading, read_bytes

CONCEPT: Json = {"text": "Ramipril 5 mg"}


def _read(resource: Json) -> Reading:
    return reading_of(patient(), measured("hr", "pulse", "80", "/min"), resource)


@pytest.mark.parametrize("kind", ["MedicationRequest", "MedicationStatement", "MedicationAdministration"])
@pytest.mark.parametrize("medication", [{"concept": CONCEPT}, {"reference": {"reference": "Medication/m"}}])
def test_a_medicine_where_r5_writes_it(kind: str, medication: Json) -> None:
    status = "completed" if kind == "MedicationAdministration" else "active"
    resource = {
        "resourceType": kind,
        "id": "m",
        "status": status,
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": "2026-03-01T08:00:00Z",
        "medication": medication,
    }
    (said,) = (issue for issue in _read(resource).issues if issue.path.endswith(".medication"))
    assert (said.key, said.severity) == (IssueKey.WRONG_TYPE, Severity.ERROR)
    assert said.text.startswith("This is FHIR R5")


def test_the_class_of_an_encounter_is_a_list_in_r5() -> None:
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": [{"coding": [{"code": "IMP"}]}],
        "subject": {"reference": "Patient/p"},
    }
    assert any("FHIR R5; send R4" in issue.text for issue in _read(stay).issues)


@pytest.mark.parametrize("element", ["clinicalStatus", "verificationStatus"])
def test_a_status_of_a_condition_was_a_word(element: str) -> None:
    problem = {
        "resourceType": "Condition",
        "id": "c",
        "subject": {"reference": "Patient/p"},
        "code": {"text": "COPD"},
        element: "active",
    }
    (said,) = (issue.text for issue in _read(problem).issues if element in issue.path)
    assert "DSTU2 or STU3; send R4" in said


def test_the_class_of_an_encounter_was_a_word() -> None:
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": "inpatient",
        "patient": {"reference": "Patient/p"},
    }
    assert any("DSTU2 or STU3; send R4" in issue.text for issue in _read(stay).issues)


@pytest.mark.parametrize("kind", ["MedicationOrder", "ProcedureRequest", "DiagnosticOrder"])
def test_a_resource_that_is_gone_is_named(kind: str) -> None:
    """An order that was not read is missed by name; a name that may be anything is not repeated."""
    said = [issue.text for issue in _read({"resourceType": kind, "id": "m"}).issues]
    assert said == [f"{kind} is a resource of an earlier release of FHIR (DSTU2 or STU3); not used. Send R4."]
    unknown = [issue.text for issue in _read({"resourceType": "Ambrose", "id": "m"}).issues]
    assert not any("Ambrose" in each for each in unknown)


def _happened(kind: str, **rest: object) -> Json:
    return {
        "resourceType": kind,
        "id": "x",
        "status": "completed",
        "subject": {"reference": "Patient/p"},
        **rest,
    }


_DOSE = {"effectiveDateTime": "2026-03-01T08:00:00Z", "medicationCodeableConcept": {"text": "Warfarin 3 mg"}}


@pytest.mark.parametrize(
    "resource",
    [
        _happened("MedicationAdministration", **_DOSE, notGiven=True),
        _happened("MedicationStatement", **_DOSE, taken="n"),
        _happened("MedicationStatement", **_DOSE, taken="unk"),
        _happened("Procedure", code={"text": "Hip replacement"}, performedDateTime=AT, notDone=True),
    ],
)
def test_what_stu3_says_did_not_happen_did_not(resource: Json) -> None:
    """STU3 denies a dose, a medicine or a procedure in an element that R4 does not have."""
    reading = _read(resource)
    ((_, record),) = reading.records
    assert (record.administrations, record.orders, record.procedures) == ((), (), ())
    (said,) = [issue for issue in reading.issues if "did not happen" in issue.text]
    assert (said.severity, "FHIR STU3" in said.text) == (Severity.ERROR, True)


@pytest.mark.parametrize(
    "resource",
    [
        _happened("MedicationAdministration", **_DOSE, notGiven=False),
        _happened("MedicationStatement", **_DOSE, taken="y") | {"status": "active"},
        _happened("Procedure", code={"text": "Hip replacement"}, performedDateTime=AT, notDone=False),
    ],
)
def test_what_it_does_not_deny_is_used_and_the_element_is_named(resource: Json) -> None:
    reading = _read(resource)
    ((_, record),) = reading.records
    assert record.administrations or record.orders or record.procedures
    assert any("is FHIR STU3's and was not read" in issue.text for issue in reading.issues)


@pytest.mark.parametrize(
    ("resource", "element"),
    [
        (measured("k", "potassium", "7.1", "mmol/L", comment="haemolysed"), "comment"),
        (measured("k", "potassium", "7.1", "mmol/L", related=[{"type": "has-member"}]), "related"),
        (
            _happened("Procedure", code={"text": "Hip replacement"}, occurrenceDateTime=AT),
            "occurrenceDateTime",
        ),
        (
            {"resourceType": "Encounter", "id": "e", "status": "in-progress", "actualPeriod": {}},
            "actualPeriod",
        ),
    ],
)
def test_what_another_release_calls_otherwise_is_named(resource: Json, element: str) -> None:
    resource = {"subject": {"reference": "Patient/p"}, **resource}
    (said,) = [issue for issue in _read(resource).issues if issue.path.endswith(f".{element}")]
    assert "was not read; send R4" in said.text


def test_a_word_that_only_sounds_like_one_is_none() -> None:
    code = {
        "coding": [{"system": "http://loinc.org", "code": "2823-3", "display": "comment"}],
        "text": "related",
    }
    reading = _read({**measured("k", "potassium", "4.1", "mmol/L"), "code": code})
    assert not reading.issues


def test_the_kind_of_an_allergy_was_a_word_before_r5() -> None:
    allergy = {"resourceType": "AllergyIntolerance", "id": "a", "patient": {"reference": "Patient/p"}}
    told = _read(
        {**allergy, "code": {"text": "Penicillin"}, "type": {"coding": [{"code": "allergy"}]}}
    ).issues
    assert any("a concept is FHIR R5; send R4" in issue.text for issue in told)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"MSH|^~\\&|LAB|NORTH|", "HL7 v2"),
        (b"\x0bMSH|^~\\&|LAB\xe9", "HL7 v2"),
        (b"BHS|^~\\&|", "HL7 v2"),
        (b"\x1f\x8b\x08", "gzip"),
        (b' <Bundle xmlns="http://hl7.org/fhir"/>', "XML"),
    ],
)
def test_another_format_is_named(body: bytes, said: str) -> None:
    with pytest.raises(UnreadableError) as refused:
        read_bytes(body)
    assert said in refused.value.issues[0].text


def test_a_value_of_a_type_of_another_release_is_no_absence() -> None:
    told = _read(observation("r", "9279-1", valueDecimal=28)).issues
    assert any("a type that R4 does not have here" in issue.text for issue in told)
    told = _read(observation("r", "9279-1")).issues
    assert any(issue.text.startswith("There is no value") for issue in told)


def test_results_that_a_report_names_and_that_were_not_sent_are_counted() -> None:
    named = (
        "Observation/hr",
        "https://ward.example/fhir/Observation/hr",
        "Observation/gone",
        "Observation/lost",
    )
    report = {
        "resourceType": "DiagnosticReport",
        "id": "d",
        "status": "final",
        "subject": {"reference": "Patient/p"},
        "result": [{"reference": each} for each in named],
    }
    told = [issue.text for issue in _read(report).issues if issue.key is IssueKey.VALUE_MISSING]
    assert told == ["2 result(s) of 1 report(s) were not sent; nothing was read from them."]
