"""The person behind the record; names and dates are invented."""

from datetime import date, datetime
from typing import Any

import pytest

from tests.fhir.reading.people_read import KEY, person
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.patient_data import PatientData
from weatherglass.fhir.reading.people.patient import subject_of
from weatherglass.model.subject import Sex, Subject


class TestName:
    """Which name is shown."""

    @pytest.mark.parametrize(
        ("names", "shown"),
        [
            (
                [{"use": "usual", "text": "Bea"}, {"use": "official", "given": ["Beate"], "family": "Quill"}],
                "Beate Quill",
            ),
            ([{"use": "old", "text": "B. Former"}, {"use": "usual", "text": "Bea  Quill"}], "Bea Quill"),
            ([{"given": ["Beate", "Ida"], "family": "Quill"}], "Beate Ida Quill"),
            ([{"use": "old", "text": "B. Former"}], ""),
            ([{"use": "maiden", "text": "B. Former"}], ""),
            ([{"use": "anonymous", "text": "X"}], ""),
            ([{"use": "nickname", "text": "Bee"}], ""),
            ([{"use": "temp", "text": "Unknown 7"}], ""),
            ([], ""),
        ],
    )
    def test_official_then_usual_and_never_others(self, names: list[dict[str, Any]], shown: str) -> None:
        """A name from another time or purpose is not shown."""
        assert person(name=names)[0].name == shown


class TestBirthAndDeath:
    """How much of the birth date is known, and whether the person has died."""

    @pytest.mark.parametrize(
        ("written", "born", "exactly"),
        [
            ("1951-07-20", date(1951, 7, 20), True),
            ("1951-07", date(1951, 7, 1), False),
            ("1951", date(1951, 1, 1), False),
        ],
    )
    def test_the_first_possible_day(self, written: str, born: date, exactly: bool) -> None:
        """A partial date keeps its first day and says so."""
        subject, collector = person(birthDate=written)
        assert (subject.born, subject.born_exactly) == (born, exactly)
        assert collector.issues == []

    @pytest.mark.parametrize("written", ["20/07/1951", "1951-13-01", "1951-07-20T10:00:00Z"])
    def test_a_bad_date_is_said(self, written: str) -> None:
        """The age is unknown, and the issue does not repeat the date."""
        subject, collector = person(birthDate=written)
        assert subject.born is None
        assert [i.key for i in collector.issues] == [IssueKey.BAD_TIME]
        assert all(written not in i.text + i.path for i in collector.issues)

    @pytest.mark.parametrize(
        ("more", "deceased"),
        [
            ({}, False),
            ({"deceasedBoolean": False}, False),
            ({"deceasedBoolean": True}, True),
            ({"deceasedDateTime": "2026-01-01"}, True),
        ],
    )
    def test_death(self, more: dict[str, Any], deceased: bool) -> None:
        """Either way of saying it."""
        assert person(**more)[0].deceased is deceased

    @pytest.mark.parametrize(
        ("written", "before", "after"),
        [
            ("2026-01-01T10:00:00+00:00", "2026-01-01T09:59:00+00:00", "2026-01-01T10:00:00+00:00"),
            ("2026-01-01", "2025-12-31T09:00:00+00:00", "2026-01-01T00:00:00+00:00"),
        ],
    )
    def test_when(self, written: str, before: str, after: str) -> None:
        """A review of an earlier moment knows nothing of it."""
        subject = person(deceasedDateTime=written)[0]
        assert not subject.has_died_by(datetime.fromisoformat(before))
        assert subject.has_died_by(datetime.fromisoformat(after))

    def test_a_month_alone_is_known_at_any_moment(self) -> None:
        """Nobody knows which day it was."""
        subject = person(deceasedDateTime="2026-01")[0]
        assert (subject.died_at, subject.deceased) == (None, True)


class TestSex:
    """Administrative gender, as the equations of the kidneys need it."""

    @pytest.mark.parametrize("sex", list(Sex))
    def test_each(self, sex: Sex) -> None:
        """The four values of FHIR."""
        assert person(gender=sex.value)[0].sex is sex

    def test_another_word_is_said(self) -> None:
        """Read as unknown."""
        subject, collector = person(gender="f")
        assert subject.sex is Sex.UNKNOWN
        assert [i.key for i in collector.issues] == [IssueKey.VALUE_UNKNOWN]


def test_a_patient_that_was_not_sent_is_only_a_reference() -> None:
    """Nothing is made up about somebody who is only referred to."""
    assert subject_of(PatientData(key=KEY)) == Subject(origin=KEY)  # type: ignore[arg-type]


_URL = "http://hl7.org/fhir/StructureDefinition/patient-birthTime"


@pytest.mark.parametrize(
    ("beside", "is_read"),
    [
        ({"extension": [{"url": _URL, "valueDateTime": "2026-03-01T23:30:00+04:00"}]}, True),
        ({"extension": [{"url": _URL, "valueDateTime": "2026-03-01"}]}, False),
        (
            {"extension": [{"url": _URL, "valueDateTime": "2026-03-04T23:30:00+04:00"}]},
            False,
        ),  # Not of that day.
        ({"extension": [{"url": "http://x.example", "valueDateTime": "2026-03-01T23:30:00+04:00"}]}, False),
        ({"extension": {"url": _URL}}, False),
    ],
)
def test_the_hour_of_a_birth(beside: Any, is_read: bool) -> None:
    """FHIR R4, standard extension patient-birthTime; malformed or of another day it is left."""
    subject, _ = person(birthDate="2026-03-01", _birthDate=beside)
    assert (subject.born_at is not None) is is_read
