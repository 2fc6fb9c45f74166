"""Sliding windows over a creatinine series against the plainest way to write them.

The reference here looks at every earlier result anew for every result; the windows are
those of KDIGO 2012 (7 days, 48 hours) and of the NHS England algorithm (8 to 365 days).
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.clinical.kidneys.windows import Step, usable, walk
from weatherglass.clinical.record import Measurement, Remark, Spread
from weatherglass.clinical.references import Origin

START = datetime(2025, 1, 1, tzinfo=UTC)
WEEK, TWO_DAYS, YEAR = timedelta(days=7), timedelta(hours=48), timedelta(days=365)


def _series(pairs: Sequence[tuple[timedelta, int]]) -> list[Measurement]:
    return [
        Measurement(Decimal(value), START + after, Origin(f"Observation/{place}"))
        for place, (after, value) in enumerate(pairs)
    ]


def _steps(results: Sequence[Measurement], **rest: object) -> list[Step]:
    return list(walk(results, recent=WEEK, rise=TWO_DAYS, year=YEAR, **rest))  # type: ignore[arg-type]


_SERIES = st.lists(
    st.tuples(st.integers(0, 400 * 24), st.integers(20, 60)),
    min_size=1,
    max_size=40,
    unique_by=lambda p: p[0],
).map(lambda pairs: _series([(timedelta(hours=h), v) for h, v in sorted(pairs)]))


@given(_SERIES)
def test_windows_agree_with_looking_at_everything_anew(results: list[Measurement]) -> None:
    for place, step in enumerate(_steps(results)):
        earlier, at = results[:place], results[place].at
        week = [m for m in earlier if at - m.at <= WEEK]
        days = [m for m in earlier if at - m.at <= TWO_DAYS]
        year = [m for m in earlier if WEEK < at - m.at <= YEAR]
        assert (step.recent.value if step.recent else None) == min((m.value for m in week), default=None)
        assert (step.recent.chosen_from if step.recent else 0) == len(week)
        assert (step.rise_from.value if step.rise_from else None) == min(
            (m.value for m in days), default=None
        )
        assert (step.median.value if step.median else None) == (
            median([m.value for m in year]) if year else None
        )


@given(_SERIES)
def test_calendar_days_agree_with_looking_at_everything_anew(results: list[Measurement]) -> None:
    zone = timezone(timedelta(hours=4))
    for place, step in enumerate(_steps(results, calendar=zone)):
        earlier, day = results[:place], results[place].at.astimezone(zone).date()
        ages = [((day - m.at.astimezone(zone).date()).days, m.value) for m in earlier]
        week = [value for age, value in ages if age <= 7]
        year = [value for age, value in ages if 8 <= age <= 365]
        assert (step.recent.value if step.recent else None) == min(week, default=None)
        assert (step.median.value if step.median else None) == (median(year) if year else None)


@given(_SERIES, st.data())
def test_injuries_are_left_out_while_two_others_remain(
    results: list[Measurement], data: st.DataObject
) -> None:
    flags = data.draw(st.lists(st.booleans(), min_size=len(results), max_size=len(results)))
    injured: list[bool] = []
    for place, step in enumerate(walk(results, recent=WEEK, rise=TWO_DAYS, year=YEAR, injured=injured)):
        at = results[place].at
        year = [
            (m.value, hurt)
            for m, hurt in zip(results[:place], flags, strict=False)
            if WEEK < at - m.at <= YEAR
        ]
        clean = [value for value, hurt in year if not hurt]
        chosen = clean if len(clean) >= 2 else [value for value, _ in year]
        assert (step.median.value if step.median else None) == (median(chosen) if chosen else None)
        assert (step.median.left_out if step.median else 0) == len(year) - len(chosen)
        injured.append(flags[place])


class TestEdges:
    """Both ends of every window: at most 7 days, at most 48 hours, more than 7 and at most 365 days."""

    @pytest.mark.parametrize(
        ("before", "recent", "rise", "year"),
        [
            (timedelta(hours=48), True, True, False),
            (timedelta(hours=48, seconds=1), True, False, False),
            (timedelta(hours=168), True, False, False),
            (timedelta(hours=168, seconds=1), False, False, True),
            (timedelta(days=365), False, False, True),
            (timedelta(days=365, seconds=1), False, False, False),
        ],
    )
    def test_window(self, before: timedelta, recent: bool, rise: bool, year: bool) -> None:
        step = _steps(_series([(timedelta(0), 80), (before, 90)]))[-1]
        found = (step.recent is not None, step.rise_from is not None, step.median is not None)
        assert found == (recent, rise, year)

    def test_the_median_of_an_even_count_is_the_mean_of_the_middle_two(self) -> None:
        pairs = [(timedelta(days=d), v) for d, v in ((0, 70), (1, 90), (2, 120), (3, 60), (40, 200))]
        found = _steps(_series(pairs))[-1].median
        assert found is not None
        assert (found.value, [int(m.value) for m in found.results]) == (Decimal(80), [70, 90])


class TestDatesWithoutATime:
    """A date alone serves the windows of days when its whole day surely lies inside."""

    def _dated(self, days: float, value: int) -> Measurement:
        noon = START + timedelta(days=days, hours=12)
        return Measurement(Decimal(value), noon, Origin(f"d{days}"), None, frozenset({Remark.DAY_ONLY}))

    def test_it_is_a_reference_on_the_days_after(self) -> None:
        later = _series([(timedelta(days=3, hours=6), 90)])
        step = _steps([self._dated(0, 80), *later])[-1]
        assert step.recent is not None
        assert (int(step.recent.value), step.rise_from) == (80, None)

    def test_it_never_serves_the_48_hours(self) -> None:
        step = _steps([self._dated(0, 80), *_series([(timedelta(days=1, hours=8), 120)])])[-1]
        assert step.rise_from is None

    def test_not_on_its_own_day(self) -> None:
        step = _steps([self._dated(0, 80), *_series([(timedelta(hours=20), 90)])])[-1]
        assert step.recent is None

    def test_a_higher_result_of_the_same_day_outlives_it(self) -> None:
        """The date alone leaves the week by its earliest moment, the timed result by its own."""
        timed = _series(
            [(timedelta(hours=20), 100), (timedelta(days=2), 110), (timedelta(days=7, hours=12), 90)]
        )
        step = _steps([self._dated(0, 80), *timed])[-1]
        assert step.recent is not None
        assert step.recent.value == 100


def test_what_is_known_only_as_a_limit_is_not_compared() -> None:
    one_sided = Measurement(Decimal(20), START, Origin("a"), Spread(None, Decimal(20)))
    conflict = Measurement(
        Decimal(85), START, Origin("b"), Spread(Decimal(80), Decimal(90)), frozenset({Remark.CONFLICT})
    )
    assert usable([one_sided, conflict]) == (conflict,)
