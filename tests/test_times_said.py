"""Times as they are said at every door: the year where it could be mistaken, no time nobody recorded.

FHIR R4, `datatypes.html#dateTime`: a date, a month or a year alone are as good as a full
dateTime, and a time of day that was not written down must not be made up.
"""

import dataclasses
import json
import re
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import msgspec
import pytest

from tests.medicines.wards import order, problem, result
from tests.records import SNOMED, Json, answer_of, bundle, full_set, patient, text
from weatherglass.batch.ward.ward_row import ward_row
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.words.clock_words import MONTHS
from weatherglass.pipeline import review, review_reading
from weatherglass.stamp import stamp
from weatherglass.web.view import patient_view
from weatherglass.web.ward_line import ward_line

_WARD = sorted((Path(__file__).parents[1] / "fixtures" / "bundles").glob("*.json"))
_NAMES = "|".join((*MONTHS, *(month[:3] for month in MONTHS)))
_SAID = re.compile(rf"\b(\d{{1,2}}) ({_NAMES})\b(?: (\d{{4}})\b)?")


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, msgspec.Struct):
        for name in value.__struct_fields__:
            yield from _strings(getattr(value, name))
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _strings(getattr(value, field.name))
    elif isinstance(value, dict):
        for each in value.values():
            yield from _strings(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from _strings(each)


def said_in_text(body: bytes) -> str:
    """Return what the text output says."""
    answer = review(body)
    return "\n".join(review_text(one, answer.issues) for one in answer.reviews)


def said_on_page(body: bytes) -> str:
    """Return every word that the page is given to show."""
    reading = read_bytes(body)
    answer = review_reading(reading)
    views = [
        patient_view(one, record, answer.issues, LocalChoices())
        for one, (_, record) in zip(answer.reviews, reading.records, strict=True)
    ]
    return "\n".join(_strings(tuple(views)))


def said_in_fhir(body: bytes) -> str:
    """Return every narrative, note and sentence of the answer."""
    return "\n".join(_strings(json.loads(review(body).collection(stamp()))))


def said_in_handover(body: bytes) -> str:
    """Return every narrative of the handover document."""
    answer = review(body)
    documents = [write_handover(one, answer.issues, stamp()) for one in answer.reviews]
    return "\n".join(_strings(documents))


def said_on_ward_list(body: bytes) -> str:
    """Return what a row of the ward list says."""
    row = ward_row(review(body).reviews[0])
    return "\n".join([*row.new, *row.settling, *row.chart, *row.ceiling, row.as_of, row.data_age, row.why])


DOORS: dict[str, Callable[[bytes], str]] = {
    "text": said_in_text,
    "page": said_on_page,
    "fhir": said_in_fhir,
    "handover": said_in_handover,
    "ward list": said_on_ward_list,
}


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("path", _WARD, ids=lambda path: path.stem)
def test_no_day_of_another_year_looks_like_one_of_this(path: Path, door: str) -> None:
    """The ward is reviewed in March 2026: without a year, only January to March can be meant."""
    told = [found.groups() for found in _SAID.finditer(DOORS[door](path.read_bytes()))]
    assert told
    assert {month[:3] for _, month, year in told if not year} <= {"Jan", "Feb", "Mar"}


_KIDNEYS = next(path for path in _WARD if path.stem == "04-aki-nephrotoxics").read_bytes()
_SEPSIS = next(path for path in _WARD if path.stem == "01-sepsis").read_bytes()
_CEILING = next(path for path in _WARD if path.stem == "10-ceiling-of-treatment").read_bytes()


@pytest.mark.parametrize("door", ["text", "page", "handover", "ward list"])
def test_a_decision_of_an_earlier_year(door: str) -> None:
    """A resuscitation record of two Novembers ago is not of the coming one."""
    assert re.search(r"2 November\s+2024,\s+by", DOORS[door](_CEILING))


@pytest.mark.parametrize(("door", "words"), [("page", "20 June 2025"), ("fhir", "20 Jun 2025")])
def test_a_reference_creatinine_of_last_year(door: str, words: str) -> None:
    """The value that a kidney is compared with is eight months old."""
    assert words in DOORS[door](_SEPSIS)


@pytest.mark.parametrize("door", ["text", "page", "handover", "ward list"])
def test_the_moment_of_the_review_has_its_year(door: str) -> None:
    """A file that is opened months later does not look like today's; FHIR's fields have theirs anyway."""
    assert re.search(r"\d\d:\d\d on 12 March 2026", DOORS[door](_KIDNEYS))


def test_a_review_at_another_time_says_other_years() -> None:
    """What is said hangs on the moment of the review, not on the present."""
    (late,) = review(_KIDNEYS, as_of=datetime(2027, 3, 1, tzinfo=UTC)).reviews
    assert "12 March 2026" in late.data_age


#: One date for every kind of thing, so that a time of day beside it can be told apart.
_ALONE = {
    "creatinine": "2026-01-04",
    "weight": "2026-01-05",
    "problem": "2026-02-21",
    "operation": "2026-02-22",
    "decision": "2026-02-23",
    "admission": "2026-02-20",
    "left critical care": "2026-02-28",
    "order ended": "2026-02-27",
    "dose": "2026-02-26",
    "haemoglobin": "2026-02-25",
}
_SUBJECT = {"subject": {"reference": "Patient/p"}}


def _dated(offset: str) -> bytes:
    """A record whose timed values have an offset, and much of it dates alone."""
    at = f"2026-03-01T10:00:00{offset}"
    resources: list[Json] = [
        patient(name=[{"text": "Ottilie Marsh"}]),
        *(one if "effectiveDateTime" not in one else {**one, "effectiveDateTime": at} for one in full_set()),
        result("creatinine", "80", _ALONE["creatinine"]),
        result("creatinine", "190", at),
        result("Hb", "140", _ALONE["haemoglobin"]),
        result("Hb", "95", at),
        problem("Gastrointestinal haemorrhage", since=_ALONE["problem"]),
        order("Ibuprofen 400 mg", "M01AE01"),
        order(
            "Ramipril 5 mg",
            "C09AA05",
            status="stopped",
            dispenseRequest={"validityPeriod": {"end": _ALONE["order ended"]}},
        ),
        {
            "resourceType": "MedicationAdministration",
            "id": "dose",
            "status": "completed",
            "medicationCodeableConcept": {"text": "Ibuprofen 400 mg"},
            "effectiveDateTime": _ALONE["dose"],
            **_SUBJECT,
        },
        {
            "resourceType": "Procedure",
            "id": "operation",
            "status": "completed",
            "category": {"coding": [{"system": SNOMED, "code": "387713003"}]},
            "code": {"text": "Laparotomy"},
            "performedDateTime": _ALONE["operation"],
            **_SUBJECT,
        },
        {
            "resourceType": "Observation",
            "id": "decision",
            "status": "final",
            "code": {"text": "Resuscitation status"},
            "valueString": "Not for attempted cardiopulmonary resuscitation",
            "effectiveDateTime": _ALONE["decision"],
            **_SUBJECT,
        },
        {
            "resourceType": "ServiceRequest",
            "id": "decision-2",
            "status": "active",
            "intent": "order",
            "doNotPerform": True,
            "code": {"text": "Cardiopulmonary resuscitation"},
            "authoredOn": _ALONE["decision"],
            **_SUBJECT,
        },
        {
            "resourceType": "Encounter",
            "id": "stay",
            "status": "in-progress",
            "class": {"code": "IMP"},
            "period": {"start": _ALONE["admission"]},
            "location": [
                {
                    "status": "completed",
                    "location": {"display": "Intensive care unit"},
                    "period": {"start": _ALONE["admission"], "end": _ALONE["left critical care"]},
                },
                {"location": {"display": "Tern Ward"}, "period": {"start": _ALONE["left critical care"]}},
            ],
            "reasonCode": [{"text": "Peritonitis"}],
            **_SUBJECT,
        },
    ]
    return text(bundle(*resources))


_OFFSETS = ["+00:00", "+13:00", "-11:00"]
_TIMED = re.compile(rf"\d\d:\d\d(?: on|,) (\d{{1,2}} (?:{_NAMES}))|(\d{{1,2}} (?:{_NAMES})) \d\d:\d\d")


@pytest.mark.parametrize("offset", _OFFSETS)
@pytest.mark.parametrize("door", DOORS)
def test_no_time_is_invented_for_a_date(door: str, offset: str) -> None:
    """Of what was recorded as a date alone only the date is said, and the same one in every zone."""
    said = DOORS[door](_dated(offset))
    days = [(one or other).split() for one, other in _TIMED.findall(said)]
    timed = {f"{day} {month[:3]}" for day, month in days}
    assert timed <= {"1 Mar", "2 Mar", "28 Feb"}, timed
    alone = {f"{day.day} {MONTHS[day.month - 1][:3]}" for day in map(date.fromisoformat, _ALONE.values())}
    assert not timed & (alone - {"28 Feb"})
    assert "00:00 on" not in said
    assert "23:59" not in said


@pytest.mark.parametrize("offset", _OFFSETS)
@pytest.mark.parametrize(
    ("door", "words"),
    [
        ("text", r"not for attempted resuscitation \(23\s+February[,)]"),
        ("text", r"Post-operative day 7: Laparotomy,\s+22\s+February\."),
        ("text", r"Admitted on 2[08] February with: Peritonitis"),
        ("handover", r"not for attempted resuscitation \(23 February[,)]"),
        ("handover", r"Admitted on 2[08] February with: Peritonitis"),
        ("page", r"not for attempted resuscitation \(23 February[,)]"),
        ("page", r"creatinine 80 µmol/L, 4 January"),
        ("fhir", r"80 µmol/L, 4 Jan\b(?! \d\d:)"),
        ("fhir", r"\n2026-02-22\n"),
        ("ward list", r"not for attempted resuscitation \(23 February[,)]"),
    ],
)
def test_a_date_alone_is_said_as_such(door: str, words: str, offset: str) -> None:
    """Each at its door, and in words that fit a date."""
    assert re.search(words, DOORS[door](_dated(offset)))


def test_days_are_counted_from_a_date() -> None:
    """Hours since a date would be made up as much as its time of day."""
    assert "Out of critical care since 28 February (1 day)" in " ".join(
        said_in_text(_dated("+00:00")).split()
    )


@pytest.mark.parametrize(
    ("written", "said"),
    [("2025-11-20", "20 November 2025"), ("2025-11", "November 2025"), ("2025", "2025")],
)
@pytest.mark.parametrize("door", ["text", "page", "handover", "ward list"])
def test_as_much_of_a_decisions_date_as_was_recorded(door: str, written: str, said: str) -> None:
    """A month or a year alone is said as such, neither as a day nor as "not recorded"."""
    forbids: Json = {
        "resourceType": "ServiceRequest",
        "id": "decision",
        "status": "active",
        "intent": "order",
        "doNotPerform": True,
        "code": {"text": "Cardiopulmonary resuscitation"},
        "authoredOn": written,
        **_SUBJECT,
    }
    words = DOORS[door](text(bundle(patient(), forbids, *full_set())))
    assert re.search(rf"not for attempted resuscitation \({said.replace(' ', chr(92) + 's+')}[,)]", words)


def test_a_review_of_dates_alone_is_as_of_a_date() -> None:
    """Where nothing has a time the review has none either; what FHIR wants as an instant stays one."""
    body = text(bundle(patient(), problem("Heart failure", since="2026-02-21")))
    assert "as of 21 February 2026" in said_in_text(body)
    written = json.loads(review(body).collection(stamp()))
    summary = next(
        e["resource"]
        for e in written["entry"]
        if e["resource"].get("code", {}).get("coding", [{}])[0].get("code") == "review-urgency"
    )
    assert summary["issued"].startswith("2026-02-21T00:00:00")


@pytest.mark.parametrize(
    ("born", "age"),
    [
        ("2026-02-28", "1 day"),
        ("2026-01-15", "1 month"),
        ("2025-01-15", "13 months"),
        ("1957-06-14", "68 years"),
    ],
)
def test_an_age_is_said_alike(born: str, age: str) -> None:
    """The page said "1 days" and "1 months", and a year of what the call tells by its months."""
    (one,) = answer_of(patient(born=born), *full_set()).reviews
    assert ward_line(one).about.startswith(f"{age}, ")
    assert f", {age} old" in " ".join(one.handover.situation)
