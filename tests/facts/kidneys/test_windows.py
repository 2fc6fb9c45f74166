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

from weatherglass.facts.kidneys.windows import Step, usable, walk, worst_last
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement, Remark, Spread
from weatherglass.model.sources import Origin

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
    for place, step in enumerate(_steps(results, zone=zone, by_calendar=True)):
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


def _dated(days: float, value: int) -> Measurement:
    noon = START + timedelta(days=days, hours=12)
    return Measurement(Decimal(value), noon, Origin(f"d{days}"), None, frozenset({Remark.DAY_ONLY}))


@given(_SERIES, st.data())
def test_dates_without_a_time_agree_with_looking_at_everything_anew(
    results: list[Measurement], data: st.DataObject
) -> None:
    """Our choice: where one of a pair is a date alone, 1 to 7 and 8 to 365 calendar days decide."""
    alone = data.draw(st.lists(st.booleans(), min_size=len(results), max_size=len(results)))
    mixed: dict[datetime, Measurement] = {}
    for one, is_date in zip(results, alone, strict=True):
        noon = one.at.replace(hour=12)
        dated = replace(one, at=noon, remarks=frozenset({Remark.DAY_ONLY}))
        mixed[noon if is_date else one.at] = dated if is_date else one
    series = [mixed[at] for at in sorted(mixed)]
    for place, step in enumerate(_steps(series)):
        index = series[place]
        week, year = [], []
        for other in series[:place]:
            if index.remarks or other.remarks:
                age = timedelta(days=(index.at.date() - other.at.date()).days)
                is_earlier = bool(age)
            else:
                age, is_earlier = index.at - other.at, True
            if is_earlier and age <= WEEK:
                week.append(other.value)
            elif is_earlier and age <= YEAR:
                year.append(other.value)
        assert (step.recent.value if step.recent else None) == min(week, default=None)
        assert (step.recent.chosen_from if step.recent else 0) == len(week)
        assert (step.median.value if step.median else None) == (median(year) if year else None)


class TestDatesWithoutATime:
    """Our choice: dates 1 to 7 days apart are surely in that order; the 48 hours cannot be counted."""

    @pytest.mark.parametrize("early", ["time", "date"])
    @pytest.mark.parametrize("late", ["time", "date"])
    @pytest.mark.parametrize(
        ("days", "recent", "year"), [(1, 1, 0), (7, 1, 0), (8, 0, 1), (365, 0, 1), (366, 0, 0)]
    )
    def test_whole_days_apart(self, early: str, late: str, days: int, recent: int, year: int) -> None:
        def one(day: float, kind: str, value: int) -> Measurement:
            if kind == "date":
                return _dated(day, value)
            return _series([(timedelta(days=day, hours=12), value)])[0]

        step = _steps([one(0, early, 80), one(days, late, 90)])[-1]
        assert (step.recent is not None, step.median is not None) == (bool(recent), bool(year))

    @pytest.mark.parametrize(("hour", "days"), [(0, 7), (23, 7)])
    def test_the_calendar_decides_where_one_is_a_date(self, hour: int, days: int) -> None:
        """Whatever the hour of the other: seven dates apart are seven days."""
        step = _steps([_dated(0, 80), *_series([(timedelta(days=days, hours=hour), 90)])])[-1]
        assert step.recent is not None

    def test_it_never_serves_the_48_hours_and_that_is_said(self) -> None:
        step = _steps([_dated(0, 80), *_series([(timedelta(days=1, hours=8), 120)])])[-1]
        assert (step.rise_from, step.rise_left_out) == (None, True)

    @pytest.mark.parametrize(("days", "said"), [(2, True), (3, False)])
    def test_only_within_two_dates(self, days: int, said: bool) -> None:
        for series in (
            [_dated(0, 80), *_series([(timedelta(days=days, hours=8), 120)])],
            [*_series([(timedelta(hours=8), 80)]), _dated(days, 120)],
        ):
            assert _steps(series)[-1].rise_left_out is said

    def test_not_on_its_own_day(self) -> None:
        step = _steps([_dated(0, 80), *_series([(timedelta(hours=20), 90)])])[-1]
        assert (step.recent, step.unordered) == (None, _dated(0, 80))

    def test_the_date_is_that_of_the_record_where_the_other_has_a_time(self) -> None:
        """20:00 UTC is 08:00 of the next day at +12: the date alone of that day is not earlier."""
        timed = _series([(timedelta(hours=20), 90)])
        east = timezone(timedelta(hours=12))
        assert _steps([_dated(0, 80), *timed], zone=east)[-1].recent is not None
        assert _steps([*timed, _dated(1, 95)], zone=east)[-1].recent is None


@pytest.mark.parametrize(
    ("dated", "expected"),
    [
        pytest.param(250, [90, 85, 250], id="higher"),
        pytest.param(80, [80, 90, 85], id="lower"),
        pytest.param(88, [90, 85, 88], id="above-the-last"),
    ],
)
def test_of_one_date_the_worst_is_the_newest(dated: int, expected: list[int]) -> None:
    """Our choice: where nobody knows which came first, the worse counts."""
    early, late = _series([(timedelta(hours=8), 90), (timedelta(hours=20), 85)])
    found = worst_last([early, _dated(0, dated), late], UTC)
    assert [int(one.value) for one in found] == expected


def test_the_level_before_the_week() -> None:
    """The newest result of 8 to 90 days before, and the median of them all."""
    pairs = [(0, 70), (80, 75), (85, 90), (92, 95), (176, 120)]
    steps = list(
        walk(
            _series([(timedelta(days=d), v) for d, v in pairs]),
            recent=WEEK,
            rise=TWO_DAYS,
            year=YEAR,
            lasting=timedelta(days=90),
        )
    )
    assert [int(s.before.value) if s.before else None for s in steps] == [None, 70, 70, 75, 95]
    assert [s.level.value if s.level else None for s in steps] == [None, 70, 70, 75, 95]


def test_what_is_known_only_as_a_limit_is_not_compared() -> None:
    one_sided = Measurement(Decimal(20), START, Origin("a"), Spread(None, Decimal(20)))
    conflict = Measurement(
        Decimal(85), START, Origin("b"), Spread(Decimal(80), Decimal(90)), frozenset({Remark.CONFLICT})
    )
    assert usable([one_sided, conflict]) == (conflict,)
