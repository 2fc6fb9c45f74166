"""Sliding windows against the plain way of computing the same, and NumPy."""

from datetime import timedelta
from decimal import Decimal
from statistics import median

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts import ago
from weatherglass.facts.series.windows import SlidingExtreme, SlidingMedian, median_of, quantile_of

numbers = st.decimals(min_value=-200, max_value=200, places=1)
series = st.lists(st.tuples(st.integers(min_value=0, max_value=60), numbers), min_size=1, max_size=25).map(
    lambda points: sorted(dict(points).items(), reverse=True)
)


@pytest.mark.property
@given(points=series, hours=st.integers(min_value=1, max_value=30), highest=st.booleans())
def test_extreme_is_that_of_the_window(points: list[tuple[int, Decimal]], hours: int, highest: bool) -> None:
    """The sliding extreme equals the extreme of the values that the window holds."""
    window = timedelta(hours=hours)
    sliding = SlidingExtreme(window, highest=highest)
    for place, (hour, value) in enumerate(points):
        held = [v for h, v in points[:place] if h - hour <= hours]
        found = sliding.before(ago(hour))
        assert (found is None) == (not held)
        if found is not None:
            assert points[found][1] == (max(held) if highest else min(held))
        sliding.add(ago(hour), value, place)


@pytest.mark.property
@given(
    points=series,
    oldest=st.integers(min_value=5, max_value=40),
    youngest=st.integers(min_value=0, max_value=5),
)
def test_median_is_that_of_the_window(points: list[tuple[int, Decimal]], oldest: int, youngest: int) -> None:
    """`statistics.median` of the values between the two ages is the reference."""
    times, values = [ago(hour) for hour, _ in points], [value for _, value in points]
    sliding = SlidingMedian(times, values, oldest=timedelta(hours=oldest), youngest=timedelta(hours=youngest))
    for hour, _ in points:
        held = [v for h, v in points if youngest < h - hour <= oldest]
        count, middle = sliding.at(ago(hour))
        assert count == len(held)
        assert middle == (median(held) if held else None)


@pytest.mark.property
@given(
    values=st.lists(numbers, min_size=1, max_size=30),
    share=st.sampled_from([Decimal(0), Decimal("0.25"), Decimal("0.5"), Decimal("0.75"), Decimal(1)]),
)
def test_quantile_agrees_with_numpy(values: list[Decimal], share: Decimal) -> None:
    """`numpy.quantile` with its default, linear interpolation, is the reference."""
    expected = np.quantile([float(value) for value in values], float(share))
    assert float(quantile_of(sorted(values), share)) == pytest.approx(expected, abs=1e-9)


def test_median_of_nothing() -> None:
    """No values have no middle."""
    assert median_of([]) is None
