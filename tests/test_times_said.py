"""Times as they are said at every door: the year where it could be mistaken."""

import dataclasses
import json
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from weatherglass.batch.ward_row import ward_row
from weatherglass.cli.text import review_text
from weatherglass.clinical.clock_words import MONTHS
from weatherglass.clinical.local_choices import LocalChoices
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.pipeline import review, review_reading
from weatherglass.stamp import stamp
from weatherglass.web.view import patient_view

_WARD = sorted((Path(__file__).parents[1] / "fixtures" / "bundles").glob("*.json"))
_NAMES = "|".join((*MONTHS, *(month[:3] for month in MONTHS)))
_SAID = re.compile(rf"\b(\d{{1,2}}) ({_NAMES})\b(?: (\d{{4}})\b)?")


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
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
    row = ward_row(review(body).reviews[0], ())
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


@pytest.mark.parametrize("door", ["text", "page", "fhir", "handover", "ward list"])
def test_the_moment_of_the_review_has_its_year(door: str) -> None:
    """A file that is opened months later does not look like today's."""
    assert re.search(r"\d\d:\d\d on 12 March 2026", DOORS[door](_KIDNEYS))


def test_a_review_at_another_time_says_other_years() -> None:
    """What is said hangs on the moment of the review, not on the present."""
    (late,) = review(_KIDNEYS, as_of=datetime(2027, 3, 1, tzinfo=UTC)).reviews
    assert "12 March 2026" in late.data_age
