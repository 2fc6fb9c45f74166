"""Which number is shown. Numbers are invented.

What the words mean is FHIR R4, `datatypes.html#Identifier` and `valueset-identifier-use.html`
("usual: the identifier recommended for display and use in real-world interactions";
"old: no longer considered valid"); MR is HL7 v2 table 0203, "Medical record number".
"""

import json
from datetime import UTC, datetime
from typing import Any

import pytest

from tests.fhir.reading.people_read import person
from tests.records import answer_of, full_set, patient
from weatherglass.fhir import r4
from weatherglass.fhir.decoding import decode
from weatherglass.fhir.reading.people.hospital_number import hospital_number

_MR = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "MR"}]}
_SS = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "SS"}]}
NEWEST = datetime(2026, 3, 12, 7, 10, tzinfo=UTC)


def shown(*identifiers: dict[str, Any], newest: datetime | None = NEWEST) -> str:
    """Choose among identifiers as they would be sent."""
    sent = decode(json.dumps({"identifier": identifiers}).encode(), r4.Patient)
    return hospital_number(sent.identifier, newest)


@pytest.mark.parametrize(
    ("identifiers", "number"),
    [
        pytest.param([], "", id="none"),
        pytest.param([{"system": "urn:ward:number"}], "", id="no-value"),
        pytest.param([{"value": ""}, {"value": " "}, {"value": "LM-1"}], "LM-1", id="first-with-a-value"),
        pytest.param([{"value": "A"}, {"value": "B"}], "A", id="first-of-equals"),
        pytest.param([{"value": "A"}, {"value": "B", "type": _MR}], "B", id="medical-record-number"),
        pytest.param([{"value": "A"}, {"value": "B", "use": "official"}], "B", id="official-before-none"),
        pytest.param(
            [{"value": "A", "use": "official"}, {"value": "B", "use": "usual"}], "B", id="usual-first"
        ),
        pytest.param([{"value": "A", "use": "temp"}, {"value": "B"}], "B", id="not-temporary"),
        pytest.param([{"value": "A", "use": "secondary"}, {"value": "B"}], "B", id="not-secondary"),
        pytest.param(
            [{"value": "A", "use": "old", "type": _MR}, {"value": "B", "use": "temp"}], "B", id="not-old"
        ),
        pytest.param(
            [{"value": "A", "use": "temp", "type": _MR}, {"value": "B", "use": "official"}],
            "B",
            id="temporary-record-number",
        ),
        pytest.param([{"value": "A", "use": "old"}], "A", id="old-when-there-is-no-other"),
        pytest.param(
            [{"value": "A", "type": _MR, "period": {"end": "2025-01-01"}}, {"value": "B"}], "B", id="ended"
        ),
        pytest.param([{"value": "A", "type": _SS}], "", id="a-number-of-the-state-is-not-for-a-screen"),
        pytest.param([{"value": "A" * 65}, {"value": "B"}], "B", id="too-long-to-be-one"),
    ],
)
def test_the_one_a_hospital_would_print(identifiers: list[dict[str, Any]], number: str) -> None:
    """What holds first, then the medical record number, then usual before official."""
    assert shown(*identifiers) == number


@pytest.mark.parametrize(
    ("end", "ended"),
    [
        ("2026-03-12T07:00:00Z", True),
        ("2026-03-12T07:10:00Z", False),
        ("2026-03-11", True),
        ("2026-03-12", False),
        ("2026-02", True),
        ("2026-03", False),
        ("2025", True),
        ("2026", False),
        ("soon", False),
    ],
)
def test_a_period_holds_to_its_last_moment(end: str, ended: bool) -> None:
    """FHIR R4, Period: an end of a day means to the end of that day."""
    assert shown({"value": "A", "period": {"end": end}}, {"value": "B"}) == ("B" if ended else "A")


@pytest.mark.parametrize("odd", [4, "usual", ["x"], {"coding": "MR"}, None])
def test_a_kind_that_cannot_be_read_costs_nothing(odd: Any) -> None:
    """The person and the number are still there."""
    subject, intake = person(identifier=[{"value": "LM-7", "type": odd, "use": odd, "period": odd}])
    assert (subject.number, intake.issues) == ("LM-7", [])


def test_what_cannot_be_seen_is_dropped() -> None:
    """Control characters and the marks that turn a line round; letters of any script stay."""
    assert shown({"value": "\u202eLM\u0000-\u200f10\n01\u2069"}) == "LM-10 01"
    assert shown({"value": "\u05de\u05e1-1001"}) == "\u05de\u05e1-1001"


def test_an_end_is_held_against_the_newest_of_the_record() -> None:
    """The record's own newest time decides, whatever day it is read on."""
    identifiers = [{"value": "A", "period": {"end": "2026-02-28"}}, {"value": "B"}]
    (one,) = answer_of(patient(identifier=identifiers), *full_set()).reviews
    assert one.subject.number == "B"
