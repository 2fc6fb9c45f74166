"""Reasons of stays, requests and orders as problems: HL7 FHIR R4 names the elements; what counts is ours."""

import json
from typing import Any

import pytest

from tests.records import asked_for, ordered, stay
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.model.record.medicines import MedicineOrder
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record

PATIENT = {"resourceType": "Patient", "id": "p"}
SUBJECT = {"reference": "Patient/p"}
PNEUMONIA = {
    "resourceType": "Condition",
    "id": "c",
    "subject": SUBJECT,
    "clinicalStatus": {"coding": [{"code": "resolved"}]},
    "code": {"text": "Pneumonia"},
}


def _record(*resources: dict[str, Any]) -> Record:
    entries = [{"resource": one} for one in (PATIENT, *resources)]
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": entries}
    ((_, record),) = read_bytes(json.dumps(bundle).encode()).records
    return record


def _stay(**rest: Any) -> dict[str, Any]:
    return stay(subject=SUBJECT, period={"start": "2026-03-11T08:00:00Z"}, **rest)


def _asked(**rest: Any) -> dict[str, Any]:
    return asked_for("Blood cultures", subject=SUBJECT, authoredOn="2026-03-11T08:00:00Z", **rest)


def _line(**rest: Any) -> MedicineOrder:
    order = ordered("Trimethoprim 100 mg tablets", authoredOn="2026-03-11T08:00:00Z", **rest)
    return _record(order).orders[0]


def _is_infection(record: Record) -> bool:
    return any(ConditionKind.INFECTION in one.kinds for one in record.reasons)


@pytest.mark.parametrize(
    ("rest", "expected"),
    [
        pytest.param({"reasonCode": [{"text": "Pneumonia"}]}, True, id="words"),
        pytest.param({"reasonCode": [{"text": "Urosepsis"}]}, True, id="urosepsis"),
        pytest.param({"reasonCode": [{"text": "Fall"}, {"text": "?UTI"}]}, True, id="the-second-one"),
        pytest.param(
            {"reasonCode": [{"coding": [{"system": "http://snomed.info/sct", "code": "233604007"}]}]},
            True,
            id="snomed",
        ),
        pytest.param(
            {"reasonCode": [{"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "J18.9"}]}]},
            True,
            id="icd-10",
        ),
        pytest.param(
            {
                "reasonCode": [
                    {
                        "coding": [
                            {
                                "system": "http://jpfhir.jp/fhir/core/mhlw/CodeSystem/ICD10-2013-full",
                                "code": "J18.9",
                            }
                        ]
                    }
                ]
            },
            True,
            id="icd-10-of-japan",
        ),
        pytest.param({"reasonReference": [{"display": "Chest infection"}]}, True, id="a-reference-in-words"),
        pytest.param(
            {"diagnosis": [{"condition": {"reference": "Condition/away", "display": "Cellulitis"}}]},
            True,
            id="a-diagnosis-that-was-not-sent",
        ),
        pytest.param({"reasonCode": [{"text": "No sign of infection"}]}, False, id="denied"),
        pytest.param({"reasonCode": [{"text": "UTI 2019 resolved"}]}, False, id="resolved"),
        pytest.param({"reasonCode": [{"text": "UTI 2019"}]}, False, id="an-earlier-year"),
        pytest.param({"reasonCode": [{"text": "UTI March 2026"}]}, True, id="this-year"),
        pytest.param({"reasonCode": [{"text": "Previous pneumonia"}]}, False, id="past"),
        pytest.param({"reasonCode": [{"text": "Elective hip replacement"}]}, False, id="something-else"),
        pytest.param({"status": "planned", "reasonCode": [{"text": "Pneumonia"}]}, False, id="planned"),
    ],
)
def test_of_a_stay(rest: dict[str, Any], expected: bool) -> None:
    assert _is_infection(_record(_stay(**rest))) is expected


def test_the_words_beside_a_reference_are_shown() -> None:
    (stay,) = _record(_stay(reasonReference=[{"display": "Chest infection"}])).stays
    assert stay.reason == "Chest infection"


def test_a_condition_that_was_sent_speaks_for_itself() -> None:
    """It is resolved, whatever the words beside the reference say."""
    named = _stay(reasonReference=[{"reference": "Condition/c", "display": "Pneumonia"}])
    assert not _is_infection(_record(PNEUMONIA, named))
    assert not _is_infection(_record(named, PNEUMONIA))


@pytest.mark.parametrize(
    ("rest", "expected"),
    [
        pytest.param({"reasonCode": [{"text": "?sepsis"}]}, True, id="asked"),
        pytest.param({"reasonReference": [{"display": "Cholangitis"}]}, True, id="reference"),
        pytest.param({"reasonCode": [{"text": "rule out pneumonia"}]}, False, id="rule-out"),
        pytest.param({"reasonCode": [{"text": "Asthma"}]}, False, id="something-else"),
        pytest.param({"reasonCode": [{"text": "Sepsis"}], "status": "revoked"}, False, id="revoked"),
        pytest.param({"reasonCode": [{"text": "Sepsis"}], "doNotPerform": True}, False, id="forbidden"),
        pytest.param({"reasonCode": [{"text": "Sepsis"}], "intent": "proposal"}, False, id="proposed"),
    ],
)
def test_of_a_request(rest: dict[str, Any], expected: bool) -> None:
    assert _is_infection(_record(_asked(**rest), _stay())) is expected


@pytest.mark.parametrize(
    ("reason", "infection", "prophylaxis"),
    [
        ("Urinary tract infection", True, False),
        ("UTI prophylaxis", False, True),
        ("Prophylaxis against peritonitis", False, True),
        ("Pneumonia, then prophylaxis", True, False),
        ("", False, False),
    ],
)
def test_of_an_order(reason: str, infection: bool, prophylaxis: bool) -> None:
    line = _line(reasonCode=[{"text": reason}] if reason else [])
    assert (ConditionKind.INFECTION in line.indication) is infection
    assert line.for_prophylaxis is prophylaxis


def test_of_an_order_by_reference() -> None:
    assert ConditionKind.INFECTION in _line(reasonReference=[{"display": "Pyelonephritis"}]).indication


@pytest.mark.parametrize(
    ("text", "recorded", "active"),
    [
        pytest.param("UTI 2019", "2026-03-01", False, id="of-an-earlier-year"),
        pytest.param("UTI 2026", "2026-03-01", True, id="of-this-year"),
        pytest.param("COPD 2019", "2026-03-01", True, id="what-lasts"),
        pytest.param("COVID-19", "2026-03-01", True, id="no-year"),
    ],
)
def test_an_acute_problem_of_an_earlier_year(text: str, recorded: str, active: bool) -> None:
    problem = {**PNEUMONIA, "code": {"text": text}, "recordedDate": recorded}
    problem["clinicalStatus"] = {"coding": [{"code": "active"}]}
    assert _record(problem).conditions[0].active is active
