"""Urine output: KDIGO 2012, Table 2, the urine column.

That anuria is at most 50 mL in 12 hours, that 80 % of a window must be charted, and what
a volume without a period covers, is ours and listed in the catalogue.
"""

from collections.abc import Iterable
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts import NOW, ago, reading
from weatherglass.facts.kidneys.urine import UrineChart, UrineStage, stage_urine
from weatherglass.model.record.values import Measurement, Remark, Series
from weatherglass.model.signals import Signal

KILOGRAM = reading(Signal.WEIGHT, 30, 80)
_Entry = tuple[float, float | None, str | int]


def _chart(volumes: Iterable[_Entry] = (), rates: Iterable[_Entry] = ()) -> UrineChart:
    """A chart of entries given as (ended hours ago, began hours ago, amount)."""
    return UrineChart(
        Series([reading(Signal.URINE_VOLUME, end, v, began=began) for end, began, v in volumes]),
        Series([reading(Signal.URINE_RATE, end, v, began=began) for end, began, v in rates]),
    )


def _newest(chart: UrineChart, weight: Measurement | None = KILOGRAM) -> UrineStage:
    return stage_urine(chart, weight)[-1]


class TestStages:
    """80 kg: 0.5 mL/kg/h is 240 mL in 6 hours and 480 in 12, 0.3 is 576 in 24."""

    @pytest.mark.parametrize(
        ("hours", "volume", "stage", "rate"),
        [
            (6, 230, 1, "0.479"),
            (6, 239, 1, "0.497"),
            (6, 240, 0, "0.500"),
            (12, 470, 2, "0.489"),
            (12, 480, 0, "0.500"),
            (24, 570, 3, "0.296"),
            (24, 576, 2, "0.300"),
            (24, 960, 0, "0.500"),
            (12, 0, 3, None),
            (12, 50, 3, None),
            (12, 51, 2, "0.053"),
            (6, 0, 1, "0.000"),
        ],
    )
    def test_one_entry(self, hours: int, volume: int, stage: int, rate: str | None) -> None:
        found = _newest(_chart([(0, hours, volume)]))
        assert found.stage == stage
        if rate is not None:
            assert found.passed is not None
            assert found.passed.per_kilogram(Decimal(80)) == Decimal(rate)

    def test_a_quiet_night_inside_a_good_day_is_its_own_stage(self) -> None:
        """Six low hours are stage 1, whatever the day before was like."""
        chart = _chart([(6, 24, 1500), (0, 6, 200)])
        assert [one.stage for one in stage_urine(chart, KILOGRAM)] == [0, 1]

    def test_five_hours_are_too_few(self) -> None:
        """Five of six hours are 83 %: judged. Four are 67 %: not."""
        assert _newest(_chart([(0, 5, 100)])).stage == 1
        assert _newest(_chart([(0, 4, 100)])).stage is None

    def test_at_80_percent(self) -> None:
        assert _newest(_chart([(0, 4.8, 100)])).stage == 1
        assert _newest(_chart([(0, 4.79, 100)])).stage is None

    def test_charted_hours_count_not_the_window(self) -> None:
        """200 mL in 5 charted hours is 0.5 mL/kg/h, not 0.42."""
        assert _newest(_chart([(0, 5, 200)])).stage == 0

    def test_without_a_weight_only_anuria_can_be_told(self) -> None:
        low, none = _newest(_chart([(0, 12, 300)]), None), _newest(_chart([(0, 12, 40)]), None)
        assert (low.stage, low.rule) == (None, "no weight is recorded")
        assert none.stage == 3


class TestBoundedByWeight:
    """KDIGO 2012, table 2, for everybody above a weight; that an adult weighs 40 kg is our choice."""

    @pytest.mark.parametrize(
        ("hours", "volume", "stage", "above"),
        [
            (12, 96, 2, 16),
            (12, 239, 2, 40),
            (12, 240, None, None),
            (6, 119, 1, 40),
            (6, 120, None, None),
            (24, 200, 3, 28),
        ],
    )
    def test_both_ends(self, hours: float, volume: int, stage: int | None, above: int | None) -> None:
        chart = _chart([(0, hours, volume)])
        found = stage_urine(chart, None, least_weight=Decimal(40))[-1]
        assert (found.stage, found.above) == (stage, above)

    def test_a_weight_comes_first(self) -> None:
        found = stage_urine(_chart([(0, 12, 300)]), KILOGRAM, least_weight=Decimal(40))[-1]
        assert found.above is None
        assert found.weight is not None


class TestLayingOut:
    def test_a_volume_without_a_period_covers_the_time_since_the_one_before(self) -> None:
        chart = _chart([(6, 7, 40), (3, None, 90), (0, None, 60)])
        passed = chart.over(NOW, timedelta(hours=6))
        assert (int(passed.volume), passed.seconds, passed.assumed) == (150, 6 * 3600, True)

    def test_not_when_that_is_more_than_six_hours(self) -> None:
        chart = _chart([(7, 8, 40), (0, None, 60)])
        assert chart.over(NOW, timedelta(hours=6)).seconds == 0

    def test_the_first_volume_without_a_period_covers_nothing(self) -> None:
        assert _chart([(0, None, 400)]).ends == []

    def test_hourly_rates(self) -> None:
        chart = _chart(rates=[(float(h), None, 30) for h in range(5, -1, -1)])
        passed = chart.over(NOW, timedelta(hours=6))
        assert (int(passed.volume), passed.seconds) == (180, 6 * 3600)

    def test_a_rate_over_a_period_is_a_volume(self) -> None:
        assert _chart(rates=[(0, 24, 25)]).over(NOW, timedelta(hours=24)).volume == 600

    def test_time_that_two_entries_cover_counts_once(self) -> None:
        """Hourly entries and the sum of the same hours."""
        hourly: list[_Entry] = [(float(h), h + 1.0, 50) for h in range(5, 0, -1)]
        chart = _chart([*hourly, (0, 6, 300)])
        passed = chart.over(NOW, timedelta(hours=6))
        assert (int(passed.volume), passed.seconds) == (300, 6 * 3600)

    def test_a_window_cuts_an_entry_at_its_mean_rate(self) -> None:
        passed = _chart([(0, 12, 600)]).over(ago(3), timedelta(hours=6))
        assert (int(passed.volume), passed.seconds) == (300, 6 * 3600)

    def test_limits_and_dates_alone_are_holes(self) -> None:
        limit = reading(Signal.URINE_VOLUME, 0, 500, began=6, spread=("500", None))
        dated = reading(Signal.URINE_VOLUME, 0, 500, began=6, remarks=(Remark.DAY_ONLY,))
        for entry in (limit, dated):
            assert UrineChart(Series([entry]), Series(())).ends == []


_VOLUMES = st.lists(
    st.tuples(st.integers(1, 8), st.integers(0, 8), st.integers(0, 900)), min_size=1, max_size=15
)


@given(_VOLUMES, st.integers(1, 30))
def test_a_window_holds_what_each_hour_holds(pieces: list[tuple[int, int, int]], hours: int) -> None:
    """The sum over a window is the sum over its hours, and covers no more than its length."""
    entries: list[_Entry] = []
    end = 0
    for length, gap, volume in pieces:
        entries.append((float(end), float(end + length), volume))
        end += length + gap
    chart = _chart(reversed(entries))
    whole = chart.over(NOW, timedelta(hours=hours))
    parts = [chart.over(ago(h), timedelta(hours=1)) for h in range(hours)]
    assert sum(part.seconds for part in parts) == whole.seconds <= hours * 3600
    assert abs(sum((part.volume for part in parts), Decimal(0)) - whole.volume) < Decimal("0.0001")


@given(st.integers(0, 2000), st.integers(0, 400))
def test_less_urine_is_never_a_lower_stage(volume: int, less: int) -> None:
    more, fewer = _newest(_chart([(0, 24, volume + less)])), _newest(_chart([(0, 24, volume)]))
    assert (fewer.stage or 0) >= (more.stage or 0)
