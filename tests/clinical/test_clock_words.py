"""Moments in words: the record's own zone, and the year wherever it could be mistaken.

The months of the calendar and their days are common knowledge; the 180 days are our choice.
"""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.clinical.clock_words import A_MOMENT, Clock, lasting

NOW = datetime(2026, 3, 12, 7, 10, tzinfo=UTC)
CLOCK = Clock(UTC, NOW)


@pytest.mark.parametrize(
    ("moment", "said", "short"),
    [
        (NOW, "07:10 on 12 March", "12 Mar 07:10"),
        (datetime(2026, 1, 1, 0, 0, tzinfo=UTC), "00:00 on 1 January", "1 Jan 00:00"),
        (datetime(2025, 12, 31, 23, 59, tzinfo=UTC), "23:59 on 31 December 2025", "31 Dec 2025 23:59"),
        (datetime(2025, 6, 20, 12, 0, tzinfo=UTC), "12:00 on 20 June 2025", "20 Jun 2025 12:00"),
        (datetime(2026, 3, 14, 8, 0, tzinfo=UTC), "08:00 on 14 March", "14 Mar 08:00"),
        (datetime(2026, 9, 9, 8, 0, tzinfo=UTC), "08:00 on 9 September 2026", "9 Sep 2026 08:00"),
        (datetime(2027, 1, 2, 8, 0, tzinfo=UTC), "08:00 on 2 January 2027", "2 Jan 2027 08:00"),
    ],
)
def test_the_year_where_it_could_be_mistaken(moment: datetime, said: str, short: str) -> None:
    """Another year than that of the review, or more than 180 days away."""
    assert CLOCK.full(moment) == said
    assert CLOCK.at(moment) == f"at {said}"
    assert CLOCK.short(moment) == short


@pytest.mark.parametrize(("days", "told"), [(180, False), (181, True), (-180, False), (-181, True)])
def test_at_both_sides_of_180_days(days: int, *, told: bool) -> None:
    """The limit is not met at 180 days; the review stands in the middle of a leap year."""
    clock = Clock(UTC, datetime(2028, 7, 1, tzinfo=UTC))
    assert clock.full(datetime(2028, 7, 1, tzinfo=UTC) - timedelta(days=days)).endswith(" 2028") == told


def test_the_review_itself_has_its_year() -> None:
    """Eight months later 'as of 12 March' would look like today."""
    assert CLOCK.dated(NOW) == "07:10 on 12 March 2026"


def test_the_year_is_that_of_the_records_own_zone() -> None:
    """Late on New Year's Eve in Greenwich it is next year already further east."""
    east = Clock(timezone(timedelta(hours=4)), datetime(2026, 1, 1, 6, 0, tzinfo=UTC))
    assert east.full(datetime(2025, 12, 31, 21, 0, tzinfo=UTC)) == "01:00 on 1 January"
    assert east.full(datetime(2025, 12, 31, 19, 0, tzinfo=UTC)) == "23:00 on 31 December 2025"


def test_without_a_moment_of_review_every_year_is_said() -> None:
    """Nothing is taken for granted."""
    assert Clock(UTC, None).full(NOW) == "07:10 on 12 March 2026"


_MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
_ZONES = st.integers(-12, 14).map(lambda hours: timezone(timedelta(hours=hours)))


@given(_MOMENTS, _MOMENTS, _ZONES)
def test_no_moment_is_said_as_another(moment: datetime, now: datetime, zone: timezone) -> None:
    """What is said, with the year of the review where none is said, is that minute and no other."""
    said = Clock(zone, now).full(moment)
    year = "" if said[-4:].isdigit() else f" {now.astimezone(zone).year}"
    read = datetime.strptime(f"{said}{year}", "%H:%M on %d %B %Y").replace(tzinfo=zone)
    assert read == moment.astimezone(zone).replace(second=0, microsecond=0)


@given(_MOMENTS, _MOMENTS, _ZONES)
def test_what_is_said_can_be_found_again(moment: datetime, now: datetime, zone: timezone) -> None:
    """Lists drop the time of a value by this pattern."""
    import re

    assert re.fullmatch(A_MOMENT, Clock(zone, now).full(moment))


def test_lengths() -> None:
    """Roughly, as they are said."""
    assert lasting(timedelta(minutes=1)) == "1 minute"
