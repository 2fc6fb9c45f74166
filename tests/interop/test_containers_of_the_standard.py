"""One record in every wrapping that the standard has for it: a summary, a message, pages, a notification.

In the registries that can be reached no package was found with a public example of these four, so they are
of our own invention, built after the standard's own text: HL7 FHIR R4 documents.html, messaging.html,
patient-operation-everything.html and http.html#paging; HL7 International Patient Summary, Composition and
absent-unknown-uv-ips; HL7 Subscriptions R5 Backport, notification bundles of R4 and R4B; R5 Bundle.type.
"""

import json
from typing import Any
from uuid import NAMESPACE_URL, uuid5

import pytest

from tests.records import AT, Json, allergy, full_set, measured, observation, patient, problem, quantity, text
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.pipeline import Answer, review, review_body

BASE = "https://ehr.example/fhir"
SUBJECT = {"reference": "Patient/p"}


def _coded(system: str, code: str, display: str = "") -> Json:
    return {"coding": [{"system": system, "code": code, **({"display": display} if display else {})}]}


def _record() -> list[Json]:
    """A set of signs, a creatinine and a potassium in a report, a medicine, an allergy, a problem."""
    potassium = measured("k", "potassium", "6.8", "mmol/L")
    return [
        patient(),
        *full_set(pulse="118"),
        potassium,
        {
            "resourceType": "DiagnosticReport",
            "id": "d",
            "status": "final",
            "code": {"text": "Renal profile"},
            "subject": SUBJECT,
            "result": [{"reference": "Observation/k"}],
        },
        {
            "resourceType": "MedicationStatement",
            "id": "m",
            "status": "active",
            "medicationReference": {"reference": "Medication/spiro"},
            "subject": SUBJECT,
            "effectivePeriod": {"start": "2026-01-04"},
        },
        {
            "resourceType": "Medication",
            "id": "spiro",
            "code": _coded("http://www.whocc.no/atc", "C03DA01", "spironolactone"),
        },
        allergy("Penicillin", clinicalStatus={"coding": [{"code": "active"}]}, patient=SUBJECT),
        problem("Heart failure"),
    ]


def _urn(resource: Json) -> str:
    return f"urn:uuid:{uuid5(NAMESPACE_URL, resource['resourceType'] + resource['id'])}"


def _by_urn(resources: list[Json]) -> list[Json]:
    """Refer to every resource by its urn:uuid, as documents and messages do."""
    written = text(resources).decode()
    for one in resources:
        written = written.replace(f'"{one["resourceType"]}/{one["id"]}"', f'"{_urn(one)}"')
    return [{"fullUrl": _urn(one), "resource": one} for one in json.loads(written)]


def _entries(resources: list[Json], **rest: Any) -> list[Json]:
    return [
        {"fullUrl": f"{BASE}/{one['resourceType']}/{one['id']}", "resource": one, **rest} for one in resources
    ]


def _bundle(kind: str, entries: list[Json], **rest: Any) -> Json:
    return {"resourceType": "Bundle", "type": kind, **rest, "entry": entries}


def _summary(resources: list[Json]) -> Json:
    """A document: the Composition first, with a section for each kind of entry."""
    sections = {
        "AllergyIntolerance": "48765-2",
        "MedicationStatement": "10160-0",
        "Condition": "11450-4",
        "Observation": "30954-2",
        "DiagnosticReport": "30954-2",
    }
    composition: Json = {
        "resourceType": "Composition",
        "id": "summary",
        "status": "final",
        "type": _coded("http://loinc.org", "60591-5", "Patient summary Document"),
        "subject": SUBJECT,
        "date": AT,
        "title": "Patient summary",
        "author": [{"display": "invented"}],
        "section": [
            {
                "title": kind,
                "code": _coded("http://loinc.org", code),
                "entry": [
                    {"reference": f"{kind}/{one['id']}"} for one in resources if one["resourceType"] == kind
                ],
            }
            for kind, code in sections.items()
        ],
    }
    identifier = {"system": "urn:ietf:rfc:3986", "value": "urn:uuid:6e1f60f4-4f5c-4e0e-8a9b-000000000001"}
    entries = _by_urn([composition, *resources])
    return _bundle("document", entries, identifier=identifier, timestamp=AT)


def _message(resources: list[Json]) -> Json:
    header: Json = {
        "resourceType": "MessageHeader",
        "id": "header",
        "eventCoding": {"system": "https://ehr.example/events", "code": "observations-available"},
        "source": {"endpoint": "https://laboratory.example/out"},
        "focus": [{"reference": "DiagnosticReport/d"}],
    }
    return _bundle("message", _by_urn([header, *resources]), timestamp=AT)


def _everything(resources: list[Json]) -> Json:
    """Pages as a server sends them, brought together by whoever fetched them."""
    half = len(resources) // 2
    outcome = {
        "resourceType": "OperationOutcome",
        "id": "w",
        "issue": [{"severity": "information", "code": "informational"}],
    }
    address = f"{BASE}/Patient/p/$everything"
    first = _bundle(
        "searchset",
        _entries(resources[:half], search={"mode": "match"}),
        total=len(resources),
        link=[{"relation": "self", "url": address}, {"relation": "next", "url": f"{address}?page=2"}],
    )
    second = _bundle(
        "searchset",
        [
            *_entries(resources[half:], search={"mode": "include"}),
            {"resource": outcome, "search": {"mode": "outcome"}},
        ],
        link=[
            {"relation": "self", "url": f"{address}?page=2"},
            {"relation": "previous", "url": address},
        ],
    )
    return _bundle("collection", [{"resource": first}, {"resource": second}])


def _status_of_r4(focus: list[Json]) -> Json:
    events = [
        {
            "name": "notification-event",
            "part": [{"name": "focus", "valueReference": {"reference": one["fullUrl"]}}],
        }
        for one in focus
    ]
    told = [
        {"name": "subscription", "valueReference": {"reference": f"{BASE}/Subscription/s"}},
        {"name": "status", "valueCode": "active"},
        {"name": "type", "valueCode": "event-notification"},
        *events,
    ]
    return {"resourceType": "Parameters", "id": "status", "parameter": told}


def _status_of_r4b(focus: list[Json]) -> Json:
    return {
        "resourceType": "SubscriptionStatus",
        "id": "status",
        "status": "active",
        "type": "event-notification",
        "subscription": {"reference": f"{BASE}/Subscription/s"},
        "notificationEvent": [{"eventNumber": "1", "focus": {"reference": one["fullUrl"]}} for one in focus],
    }


def _notification(kind: str, status: Json, entries: list[Json]) -> Json:
    asked = {"method": "GET", "url": f"{BASE}/Subscription/s/$status"}
    first = {"fullUrl": "urn:uuid:00000000-0000-4000-8000-000000000001", "resource": status, "request": asked}
    written = [
        {
            **one,
            "request": {"method": "PUT", "url": one["fullUrl"].removeprefix(f"{BASE}/")},
            "response": {"status": "201", "lastModified": AT},
        }
        for one in entries
    ]
    return _bundle(kind, [first, *written], timestamp=AT)


_SENT = _entries(_record())
WRAPPINGS = {
    "a patient summary": _summary(_record()),
    "a message": _message(_record()),
    "everything, in pages": _everything(_record()),
    "a notification of R4": _notification("history", _status_of_r4(_SENT), _SENT),
    "a notification of R4B": _notification("history", _status_of_r4b(_SENT), _SENT),
    "a notification of R5": _notification("subscription-notification", _status_of_r4b(_SENT), _SENT),
}


def _told(answer: Answer) -> list[tuple[str, str, str]]:
    (one,) = answer.reviews
    return [(finding.kind.value, finding.urgency.word, finding.sentence) for finding in one.findings]


@pytest.mark.parametrize("wrapped", WRAPPINGS.values(), ids=WRAPPINGS)
def test_the_findings_are_those_of_the_plain_record(wrapped: Json) -> None:
    plain = review(text(_bundle("collection", _entries(_record()))))
    answer = review(text(wrapped))
    assert _told(answer) == _told(plain)
    assert answer.reviews[0].handover.background == plain.reviews[0].handover.background
    # As a line of NDJSON too.
    line = json.dumps(json.loads(text(wrapped))).encode()
    assert _told(review_body(line + b"\n" + b"\n")) == _told(plain)


@pytest.mark.parametrize("wrapped", WRAPPINGS.values(), ids=WRAPPINGS)
def test_nothing_is_called_unreadable_and_what_is_not_read_is_named(wrapped: Json) -> None:
    issues = review(text(wrapped)).issues
    assert not [one for one in issues if one.severity is Severity.ERROR]
    named = {one.text.split()[1] for one in issues if one.key is IssueKey.RESOURCE_NOT_USED}
    sent = json.dumps(json.loads(text(wrapped)))
    kinds = (
        "Composition MessageHeader Parameters SubscriptionStatus DiagnosticReport OperationOutcome".split()
    )
    assert named == {kind for kind in kinds if f'"resourceType": "{kind}"' in sent}


def test_a_page_that_did_not_come_is_missed() -> None:
    wrapped = WRAPPINGS["everything, in pages"]
    first = wrapped["entry"][0]["resource"]
    told = [issue.key for issue in review(text(first)).issues]
    assert IssueKey.INCOMPLETE_BUNDLE in told


def test_a_notification_without_resources_says_that_nothing_is_about_a_patient() -> None:
    for status in (_status_of_r4(_SENT), _status_of_r4b(_SENT)):
        answer = review(text(_notification("history", status, [])))
        assert not answer.reviews
        assert answer.issues


#: HL7 International Patient Summary, code system absent-unknown-uv-ips.
_ABSENT = "http://hl7.org/fhir/uv/ips/CodeSystem/absent-unknown-uv-ips"


@pytest.mark.parametrize(
    ("kind", "code", "display"),
    [
        ("MedicationStatement", "no-known-medications", "No known medications"),
        ("MedicationStatement", "no-medication-info", "No information about medications"),
        ("MedicationRequest", "no-medication-info", "No information about medications"),
        ("Condition", "no-known-problems", "No known problems"),
        ("Condition", "no-problem-info", "No information about problems"),
        ("Procedure", "no-procedure-info", "No information about past history of procedures"),
        ("AllergyIntolerance", "no-allergy-info", "No information about allergies"),
    ],
)
def test_an_entry_that_stands_for_nothing_is_nothing(kind: str, code: str, display: str) -> None:
    """A summary has to send something in each section; it is no medicine, problem, operation or allergy."""
    concept = {
        "medicationCodeableConcept" if kind.startswith("Med") else "code": _coded(_ABSENT, code, display)
    }
    who = {"patient": SUBJECT} if kind == "AllergyIntolerance" else {"subject": SUBJECT}
    status = {"status": "completed" if kind == "Procedure" else "active", "intent": "order"}
    absent = {"resourceType": kind, "id": "x", **status, **who, **concept}
    plain = [patient(), *full_set()]
    without, with_it = (
        review(text(_bundle("collection", _entries(each)))) for each in (plain, [*plain, absent])
    )
    assert _told(with_it) == _told(without)
    assert with_it.reviews[0].handover == without.reviews[0].handover
    (said,) = with_it.issues
    assert (said.key, said.severity) == (IssueKey.RESOURCE_NOT_USED, Severity.INFORMATION)


@pytest.mark.parametrize("code", ["no-known-allergies", "no-known-medication-allergies"])
def test_that_no_allergy_is_known_is_an_answer(code: str) -> None:
    absent = {
        "resourceType": "AllergyIntolerance",
        "id": "x",
        "patient": SUBJECT,
        "code": _coded(_ABSENT, code),
    }
    (one,) = review(text(_bundle("collection", _entries([patient(), *full_set(), absent])))).reviews
    assert any("No known" in line for line in one.handover.background)


def test_a_summary_of_one_visit_keeps_its_values_where_they_stand_in_the_composition_only() -> None:
    """An Observation inside the Composition is named: nothing outside could refer to it."""
    composition = {
        "resourceType": "Composition",
        "id": "s",
        "status": "final",
        "subject": SUBJECT,
        "contained": [observation("k", "2823-3", valueQuantity=quantity("7.1", "mmol/L"))],
    }
    answer = review(text(_bundle("document", _entries([composition, patient(), *full_set()]))))
    assert any("contained resource(s) with data were not read" in issue.text for issue in answer.issues)
