"""Dates without a time of day, as the readers keep them.

FHIR R4, `datatypes.html#dateTime`: "a date, date-time or partial date"; what a date
alone may serve for is our choice, written down in `fhir/times.py`.
"""

from datetime import UTC, datetime, timedelta

import pytest

from tests.medicines.wards import problem
from tests.records import (
    Json,
    answer_of,
    full_set,
    keys_of,
    measured,
    observation,
    patient,
    quantity,
    reading_of,
)
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.times import read_when
from weatherglass.model.findings import Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal
from weatherglass.model.times.dates_alone import is_date_alone, is_month_alone, is_year_alone
from weatherglass.pipeline import Answer


def _record(*resources: object) -> Record:
    ((_, record),) = reading_of(patient(), *resources).records  # type: ignore[arg-type]
    return record


@pytest.mark.parametrize(
    ("written", "alone", "month", "year"),
    [
        ("2025", True, False, True),
        ("2025-06", True, True, False),
        ("2025-06-20", True, False, False),
        ("2025-06-20T12:00:00Z", False, False, False),
        ("2025-06-20T12:00:00+00:00", False, False, False),
        ("2025-06-20T00:00:00+04:00", False, False, False),
    ],
)
def test_how_much_was_written_stays_with_the_moment(
    written: str, *, alone: bool, month: bool, year: bool
) -> None:
    """An instant at noon or midnight is an instant all the same."""
    when = read_when(written)
    assert when is not None
    assert (is_date_alone(when.at), is_month_alone(when.at), is_year_alone(when.at)) == (alone, month, year)


def test_a_value_of_a_day() -> None:
    """Its mark and its remark agree."""
    creatinine = observation("c", "14682-9", at="2025-06-20", valueQuantity=quantity("80", "umol/L"))
    (one,) = _record(creatinine).series(Signal.CREATININE)
    assert is_date_alone(one.at)
    assert Remark.DAY_ONLY in one.remarks


@pytest.mark.parametrize(
    ("start", "known"), [("2026-02-28T10:00:00+04:00", True), ("2026-02-28", False), ("2026-02", False)]
)
def test_a_day_is_no_beginning_of_a_period_in_hours(start: str, *, known: bool) -> None:
    """Urine over a period that began on some day would be spread over up to a day too many or too few."""
    urine = observation(
        "u",
        "9187-6",  # LOINC: urine output.
        at=None,
        effectivePeriod={"start": start, "end": "2026-03-01T10:00:00+04:00"},
        valueQuantity=quantity("900", "mL"),
    )
    (one,) = _record(urine).series(Signal.URINE_VOLUME)
    assert (one.began is not None) == known


@pytest.mark.parametrize(
    ("since", "seen"),
    [("2026-03-02", True), ("2026-03-02T00:00:00Z", False), ("2026-03-03", False), ("2026-03-01", True)],
)
def test_only_a_date_may_have_begun_already_elsewhere(since: str, *, seen: bool) -> None:
    """2 March has begun east of Greenwich at 20:00 UTC on the first; midnight UTC of it has not come."""
    record = _record(*full_set(), problem("Heart failure", since=since))
    moment = datetime(2026, 3, 1, 20, tzinfo=UTC)
    assert bool(record.until(moment).conditions) == seen
    assert record.until(moment + timedelta(days=3)).conditions


def _review(*resources: Json, at: str | None = None) -> Answer:
    return answer_of(patient(), *resources, as_of=datetime.fromisoformat(at) if at else None)


def _potassium(at: str, value: str = "7.1", name: str = "k") -> Json:
    return observation(name, "2823-3", at=at, valueQuantity=quantity(value, "mmol/L"))


class TestToday:
    """A date contains every moment of its day: what it holds is known on all of it. Our choice."""

    @pytest.mark.parametrize(
        "at",
        [
            "2026-03-12T00:00:00+04:00",
            "2026-03-12T07:30:00+04:00",
            "2026-03-12T09:00:00+00:00",
            "2026-03-12T11:59:00+00:00",
            "2026-03-12T12:01:00+00:00",
            "2026-03-12T19:59:00+00:00",
        ],
    )
    def test_a_result_of_today_is_seen_at_every_hour(self, at: str) -> None:
        """A potassium of 7.1 is an emergency (UK Kidney Association), at dawn as at noon."""
        (review,) = _review(
            measured("hr", "pulse", "80", "/min", at="2026-03-11T20:00:00+04:00"),
            _potassium("2026-03-12"),
            at=at,
        ).reviews
        assert review.urgency is Urgency.EMERGENCY

    @pytest.mark.parametrize("at", ["2026-03-11T23:59:00+04:00", "2026-03-11T08:00:00+04:00"])
    def test_a_result_of_tomorrow_is_later(self, at: str) -> None:
        answer = _review(
            measured("hr", "pulse", "80", "/min", at="2026-03-11T07:00:00+04:00"),
            _potassium("2026-03-12"),
            at=at,
        )
        assert answer.reviews[0].urgency is not Urgency.EMERGENCY
        assert IssueKey.LATER_THAN_AS_OF in keys_of(answer)

    def test_today_is_never_called_later(self) -> None:
        answer = _review(
            measured("hr", "pulse", "80", "/min", at="2026-03-12T07:00:00+04:00"), _potassium("2026-03-12")
        )
        assert answer.reviews[0].urgency is Urgency.EMERGENCY
        assert IssueKey.LATER_THAN_AS_OF not in keys_of(answer)

    def test_its_name_and_its_date_do_not_move_with_the_hour(self) -> None:
        """East of Greenwich the day begins on the UTC day before."""
        record = _record(
            measured("hr", "pulse", "80", "/min", at="2026-03-11T20:00:00+04:00"), _potassium("2026-03-12")
        )
        seen = record.until(datetime(2026, 3, 11, 21, tzinfo=UTC)).series(Signal.POTASSIUM).latest
        assert seen is not None
        assert is_date_alone(seen.at)
        assert seen.at.date().isoformat() == "2026-03-12"
        assert seen.at == datetime(2026, 3, 11, 21, tzinfo=UTC)


class TestMomentOfTheReview:
    """The newest datum; the end of its day where that has no time."""

    def test_a_record_of_dates_alone_is_reviewed(self) -> None:
        (review,) = _review(_potassium("2026-03-10", "5.0", "a"), _potassium("2026-03-12")).reviews
        assert str(review.as_of) == "2026-03-12 23:59:59+00:00"
        assert review.urgency is Urgency.EMERGENCY

    def test_the_end_of_the_newest_day_in_the_zone_of_the_record(self) -> None:
        vital = measured("hr", "pulse", "80", "/min", at="2026-03-11T20:00:00+04:00")
        (review,) = _review(vital, _potassium("2026-03-12")).reviews
        assert str(review.as_of) == "2026-03-12 23:59:59+04:00"

    def test_a_time_on_that_day_stands(self) -> None:
        vital = measured("hr", "pulse", "80", "/min", at="2026-03-12T06:00:00+04:00")
        (review,) = _review(vital, _potassium("2026-03-12")).reviews
        assert review.as_of == datetime(2026, 3, 12, 2, tzinfo=UTC)

    def test_dates_are_said_once(self) -> None:
        answer = _review(_potassium("2026-03-10", "5.0", "a"), _potassium("2026-03-12"))
        (said,) = (issue for issue in answer.issues if issue.key is IssueKey.PARTIAL_TIME)
        assert said.text.startswith("2 result(s) have a date and no time of day")


@pytest.mark.parametrize(
    ("day", "moment", "seen"),
    [
        ("2026-03-01", "2026-03-01T00:30:00+13:00", True),
        ("2026-02-28", "2026-03-01T00:30:00+13:00", True),
        ("2026-03-02", "2026-03-01T23:30:00+13:00", False),
        ("2026-03-01", "2026-03-01T00:30:00-10:00", True),
        ("2026-03-02", "2026-03-01T23:30:00-10:00", False),
        ("2026-02-28", "2026-03-01T00:30:00+14:00", True),
    ],
)
@pytest.mark.parametrize("beside", [True, False])
def test_a_day_that_is_over_is_known_far_east_too(day: str, moment: str, *, seen: bool, beside: bool) -> None:
    """Noon of a date in UTC is past midnight there; without any offset in the record, the asker's counts."""
    potassium = observation("k", "2823-3", at=day, valueQuantity=quantity("7.1", "mmol/L"))
    pulse = [measured("hr", "pulse", "80", "/min", at=moment)] if beside else []
    (review,) = _review(potassium, *pulse, at=moment).reviews
    assert (review.urgency is Urgency.EMERGENCY) == seen
    if seen:
        first = review.findings[0].measures[0].at
        assert first is not None
        assert first.date().isoformat() == day
