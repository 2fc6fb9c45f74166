"""Moments in words: the record's own zone, and the year wherever it could be mistaken.

The months of the calendar and their days are common knowledge; the 180 days are our choice.
"""

import copy
import pickle
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.model.times.dates_alone import DATE_ALONE, MONTH_ALONE, YEAR_ALONE, is_date_alone
from weatherglass.model.words.clock_words import MONTHS, Clock, lasting

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


def test_lengths() -> None:
    """Roughly, as they are said."""
    assert lasting(timedelta(minutes=1)) == "1 minute"


class TestDatesAlone:
    """What was recorded without a time of day has none in words either."""

    DAY = datetime(2025, 6, 20, 12, tzinfo=DATE_ALONE)
    MONTH = datetime(2025, 6, 1, 12, tzinfo=MONTH_ALONE)
    YEAR = datetime(2025, 1, 1, 12, tzinfo=YEAR_ALONE)
    RECENT = datetime(2026, 3, 9, tzinfo=DATE_ALONE)

    @pytest.mark.parametrize(
        ("moment", "full", "at", "short", "time"),
        [
            (DAY, "20 June 2025", "on 20 June 2025", "20 Jun 2025", "20 June 2025"),
            (MONTH, "June 2025", "in June 2025", "Jun 2025", "June 2025"),
            (YEAR, "2025", "in 2025", "2025", "2025"),
            (RECENT, "9 March", "on 9 March", "9 Mar", "9 March"),
        ],
    )
    def test_as_much_as_was_recorded(
        self, moment: datetime, full: str, at: str, short: str, time: str
    ) -> None:
        """Each in every shape."""
        assert (CLOCK.full(moment), CLOCK.at(moment)) == (full, at)
        assert (CLOCK.short(moment), CLOCK.time(moment)) == (short, time)

    def test_the_year_is_always_that_of_the_date(self) -> None:
        assert CLOCK.dated(self.RECENT) == "9 March 2026"

    @given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.sampled_from([0, 12, 23]), _ZONES)
    def test_a_date_is_the_same_date_everywhere(self, day: date, hour: int, zone: timezone) -> None:
        """Wherever a reader put it on its day, and whatever the zone of the record."""
        moment = datetime(day.year, day.month, day.day, hour, tzinfo=DATE_ALONE)
        assert Clock(zone, None).full(moment) == f"{day.day} {MONTHS[day.month - 1]} {day.year}"

    def test_it_is_a_moment_like_any_other_in_every_comparison(self) -> None:
        """Only words tell it apart; order, equality and sums do not."""
        plain = self.DAY.astimezone(UTC)
        assert plain == self.DAY
        assert hash(self.DAY) == hash(plain)
        assert self.DAY - plain == timedelta(0)
        assert is_date_alone(self.DAY + timedelta(hours=48))
        assert not is_date_alone(plain)

    def test_the_mark_survives_the_way_to_another_process(self) -> None:
        assert is_date_alone(pickle.loads(pickle.dumps(self.DAY)))  # noqa: S301 - our own bytes.
        assert is_date_alone(copy.deepcopy(self.DAY))

    @pytest.mark.parametrize(
        ("earlier", "later", "said"),
        [
            (datetime(2026, 3, 9, 12, tzinfo=DATE_ALONE), NOW, "3 days"),
            (datetime(2026, 3, 11, 12, tzinfo=DATE_ALONE), NOW, "1 day"),
            (datetime(2026, 3, 12, 0, tzinfo=DATE_ALONE), NOW, "less than a day"),
            (datetime(2026, 3, 11, 12, tzinfo=UTC), NOW, "19 hours"),
        ],
    )
    def test_no_hours_are_counted_from_it(self, earlier: datetime, later: datetime, said: str) -> None:
        assert CLOCK.apart(earlier, later) == said
