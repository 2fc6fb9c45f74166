"""How old somebody is where only part of the birth date is recorded. Our choice of words."""

from datetime import UTC, date, datetime

import pytest

from tests.records import answer_of, full_set, patient
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Subject
from weatherglass.model.words.person_words import aged

NOW = datetime(2026, 3, 12, 9, tzinfo=UTC)


def _subject(born: date, *, exactly: bool) -> Subject:
    return Subject(origin=Origin("Patient/p"), born=born, born_exactly=exactly)


@pytest.mark.parametrize(
    ("born", "exactly", "youngest", "words"),
    [
        (date(2010, 1, 1), False, 15, "15 or 16 years old"),
        (date(2010, 3, 1), False, 15, "15 or 16 years old"),
        (date(2010, 2, 1), False, 16, "16 years old"),
        (date(2010, 4, 1), False, 15, "15 years old"),
        (date(2010, 3, 12), True, 16, "16 years old"),
        (date(1950, 1, 1), False, 75, "75 or 76 years old"),
        (date(2026, 1, 1), False, 0, "0 years old"),
    ],
)
def test_what_a_part_of_the_birth_date_allows(born: date, exactly: bool, youngest: int, words: str) -> None:
    """A year alone begins in January and a month on its first day; what is left open is said."""
    subject = _subject(born, exactly=exactly)
    assert (subject.youngest_age_at(NOW), aged(subject, NOW)) == (youngest, words)


@pytest.mark.parametrize(("born", "is_said"), [("2010", True), ("2009", False), ("2010-03-01", False)])
def test_who_may_not_be_an_adult_yet_is_said_to_be_read_as_one(born: str, is_said: bool) -> None:
    """The review is of 1 March 2026."""
    (review,) = answer_of(patient(born), *full_set()).reviews
    assert ("15 or 16 years old by what is recorded" in review.headline) is is_said
