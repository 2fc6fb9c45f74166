"""Trend statistics against SciPy, brute force and published critical values."""

import warnings
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from weatherglass.model.numbers import statistics
from weatherglass.model.numbers.statistics import (
    log_normal_reference_change,
    mann_kendall,
    reference_change,
    robust_z,
    theil_sen_slope,
)

HAEMOGLOBIN = [Decimal(value) for value in (128, 121, 118, 110, 101)]

numbers = st.decimals(min_value=-500, max_value=500, places=1)
points = st.lists(
    st.tuples(st.integers(min_value=0, max_value=400), numbers), min_size=2, max_size=15
).filter(lambda series: len({time for time, _ in series}) > 1)


def _whole(values: tuple[int, ...] | list[int]) -> list[Decimal]:
    return [Decimal(value) for value in values]


class TestTheilSen:
    """Median of the pairwise slopes."""

    def test_worked_example(self) -> None:
        """Haemoglobin over four days: ten slopes, whose middle two are -6.75 and -6.667."""
        assert theil_sen_slope([0, 1, 2, 3, 4], HAEMOGLOBIN) == Decimal("-6.70833")

    def test_points_at_one_time_have_no_slope(self) -> None:
        """Nothing can be said about a series without extent in time."""
        assert theil_sen_slope([3, 3, 3], _whole([1, 2, 3])) is None

    @pytest.mark.property
    @given(series=points)
    def test_agrees_with_scipy(self, series: list[tuple[int, Decimal]]) -> None:
        """`scipy.stats.theilslopes` is the reference."""
        times, values = [float(time) for time, _ in series], [value for _, value in series]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Of its confidence interval, which is not compared.
            expected = stats.theilslopes([float(value) for value in values], times).slope
        assert float(theil_sen_slope(times, values) or 0) == pytest.approx(expected, rel=1e-5, abs=1e-9)

    @pytest.mark.property
    @given(series=points, seed=st.randoms(use_true_random=False))
    def test_order_of_points_does_not_matter(self, series: list[tuple[int, Decimal]], seed: object) -> None:
        """The same points in another order have the same slope."""
        shuffled = list(series)
        getattr(seed, "shuffle")(shuffled)  # noqa: B009 - hypothesis types its random loosely.
        assert theil_sen_slope(*_split(series)) == theil_sen_slope(*_split(shuffled))

    @pytest.mark.property
    @given(series=points, shift=st.integers(-100, 100))
    def test_a_shift_does_not_change_the_slope(self, series: list[tuple[int, Decimal]], shift: int) -> None:
        """Neither another start of time nor a constant added to every value matters."""
        moved = [(time + 24, value + shift) for time, value in series]
        first, second = theil_sen_slope(*_split(series)), theil_sen_slope(*_split(moved))
        assert first is not None
        assert second is not None
        assert float(first) == pytest.approx(float(second), rel=1e-4, abs=1e-9)

    def test_unequal_and_overlong_series_are_refused(self) -> None:
        """The number of pairs is bounded, and each value has a time."""
        with pytest.raises(ValueError, match="2 times for 3 values"):
            theil_sen_slope([0, 1], _whole([1, 2, 3]))
        too_many = statistics.MAX_POINTS + 1
        with pytest.raises(ValueError, match="at most"):
            theil_sen_slope([float(at) for at in range(too_many)], _whole(list(range(too_many))))


def _split(series: list[tuple[int, Decimal]]) -> tuple[list[float], list[Decimal]]:
    return [float(time) for time, _ in series], [value for _, value in series]


def _series_with_s(n: int, s: int) -> list[Decimal]:
    """Build a series of `n` different values whose S is `s`, by moving values forwards."""
    falling_pairs = (n * (n - 1) // 2 - s) // 2
    series: list[int] = []
    for value in reversed(range(n)):
        behind = min(falling_pairs, len(series))
        series.insert(behind, value)
        falling_pairs -= behind
    return _whole(series)


class TestMannKendall:
    """Direction of a series."""

    @pytest.mark.parametrize(
        ("n", "s", "p"),
        [
            # Kendall's distribution without ties, as tabulated for the exact test
            # (Gilbert 1987 recommends the tables up to n = 10).
            (4, 6, "0.0417"),
            (5, 8, "0.0417"),
            (5, 10, "0.0083"),
            (6, 11, "0.0278"),
            (6, 13, "0.0083"),
            (6, 15, "0.0014"),
            (7, 13, "0.0345"),
            (7, 15, "0.0151"),
            (7, 17, "0.0054"),
            (8, 16, "0.0305"),
            (8, 18, "0.0156"),
            (8, 20, "0.0071"),
            (9, 18, "0.0376"),
            (9, 20, "0.0223"),
            (9, 24, "0.0063"),
            (10, 21, "0.0363"),
            (10, 23, "0.0233"),
            (10, 27, "0.0083"),
        ],
    )
    def test_critical_values(self, n: int, s: int, p: str) -> None:
        """The printed critical values of S have the printed one-sided probabilities."""
        rising = mann_kendall(_series_with_s(n, s))
        assert rising.s == s
        assert rising.p_rising is not None
        assert round(rising.p_rising, 4) == Decimal(p)
        falling = mann_kendall(list(reversed(_series_with_s(n, s))))
        assert (falling.s, falling.p_falling) == (-s, rising.p_rising)

    def test_worked_example(self) -> None:
        """Five falling values: S = -10, one-sided 0.0083, two-sided 0.017."""
        found = mann_kendall(HAEMOGLOBIN)
        assert (found.s, found.n, found.method) == (-10, 5, "exact")
        assert found.p_falling == Decimal("0.008333")
        assert found.p_two_sided == Decimal("0.016666")

    def test_three_points_are_never_significant(self) -> None:
        """Below four points no probability is given at all."""
        found = mann_kendall(_whole([1, 2, 3]))
        assert (found.s, found.p_rising, found.p_falling, found.p_two_sided) == (3, None, None, None)
        assert found.method == "none"

    @pytest.mark.property
    @given(values=st.lists(st.integers(-1000, 1000), min_size=4, max_size=10, unique=True))
    def test_without_ties_agrees_with_scipy(self, values: list[int]) -> None:
        """`scipy.stats.kendalltau(method="exact")` against the order of time is the reference."""
        expected = stats.kendalltau(range(len(values)), values, method="exact").pvalue
        found = mann_kendall(_whole(values)).p_two_sided
        assert found is not None
        assert float(found) == pytest.approx(expected, abs=2e-6)

    @pytest.mark.property
    @given(values=st.lists(st.integers(0, 3), min_size=4, max_size=6))
    def test_with_ties_agrees_with_every_arrangement(self, values: list[int]) -> None:
        """With ties the reference is the count over all orders of the values."""
        everything = [mann_kendall(_whole(order)).s for order in permutations(values)]
        found = mann_kendall(_whole(values))
        for p, reached in (
            (found.p_rising, sum(s >= found.s for s in everything)),
            (found.p_falling, sum(s <= found.s for s in everything)),
        ):
            assert p is not None
            assert float(p) == pytest.approx(reached / len(everything), abs=1e-6)

    @pytest.mark.property
    @given(values=st.lists(st.integers(0, 12), min_size=11, max_size=30))
    def test_beyond_ten_points_agrees_with_scipy(self, values: list[int]) -> None:
        """The variance is SciPy's (its z has no continuity correction, ours has)."""
        found = mann_kendall(_whole(values))
        assert found.method == "normal"
        scipy_p = stats.kendalltau(range(len(values)), values, method="asymptotic").pvalue
        if abs(found.s) < 2 or not 1e-12 < scipy_p < 1:
            return
        deviation = abs(found.s) / stats.norm.isf(scipy_p / 2)
        expected = stats.norm.sf((abs(found.s) - 1) / deviation)
        smaller = min(p for p in (found.p_rising, found.p_falling) if p is not None)
        assert float(smaller) == pytest.approx(expected, abs=2e-6)

    @pytest.mark.property
    @given(values=st.lists(numbers, min_size=4, max_size=30))
    def test_only_the_order_of_values_matters(self, values: list[Decimal]) -> None:
        """A shift or a stretch changes nothing; turning the series round swaps the sides."""
        found = mann_kendall(values)
        assert mann_kendall([3 * value + 7 for value in values]) == found
        turned = mann_kendall(list(reversed(values)))
        assert (turned.s, turned.p_rising, turned.p_falling) == (-found.s, found.p_falling, found.p_rising)

    @pytest.mark.parametrize("n", [4, 10, 11, 50])
    def test_a_flat_series_has_no_trend(self, n: int) -> None:
        """Equal values give S = 0 and probability 1 on both sides."""
        found = mann_kendall([Decimal(7)] * n)
        assert found.s == 0
        assert found.p_rising == found.p_falling == Decimal(1)

    def test_longest_series(self) -> None:
        """The bound itself is allowed, one more is not."""
        assert mann_kendall(_whole(list(range(statistics.MAX_POINTS)))).p_rising == 0
        with pytest.raises(ValueError, match="choose some"):
            mann_kendall(_whole(list(range(statistics.MAX_POINTS + 1))))


class TestRobustZ:
    """Distance from the median in units of the median absolute deviation."""

    def test_worked_example(self) -> None:
        """Pulse 78, 80, 82, 79, 81, 120: median 80.5, MAD 1.5, M(120) = 17.8."""
        pulse = _whole([78, 80, 82, 79, 81, 120])
        scores = robust_z(pulse)
        assert scores is not None
        assert round(scores[-1], 1) == Decimal("17.8")

    def test_mostly_equal_values_fall_back_to_the_mean_deviation(self) -> None:
        """With a MAD of zero: (20 - 10) / (1.2533 x 10/6) = 4.79."""
        scores = robust_z(_whole([10, 10, 10, 10, 10, 20]))
        assert scores is not None
        assert scores[-1] == Decimal("4.79")

    @pytest.mark.parametrize("values", [[], [5], [5, 9], [5, 5, 5, 5]])
    def test_where_the_question_has_no_answer(self, values: list[int]) -> None:
        """Too few values, or all equal: nothing is marked."""
        assert robust_z(_whole(values)) is None

    @pytest.mark.property
    @given(values=st.lists(st.integers(-200, 200), min_size=3, max_size=40))
    def test_agrees_with_scipy(self, values: list[int]) -> None:
        """`scipy.stats.median_abs_deviation` is the reference for the scale."""
        mad = float(stats.median_abs_deviation(values))
        if mad == 0:
            return
        scores = robust_z(_whole(values))
        assert scores is not None
        middle = sorted(values)
        centre = (middle[(len(values) - 1) // 2] + middle[len(values) // 2]) / 2
        for value, score in zip(values, scores, strict=True):
            assert float(score) == pytest.approx(0.6745 * (value - centre) / mad, abs=0.0051)

    @pytest.mark.property
    @given(values=st.lists(st.integers(-200, 200), min_size=3, max_size=40), shift=st.integers(-99, 99))
    def test_a_shift_does_not_change_it(self, values: list[int], shift: int) -> None:
        """Adding a constant to every value marks the same ones."""
        assert robust_z(_whole(values)) == robust_z(_whole([value + shift for value in values]))


class TestReferenceChange:
    """How much a result may change by chance."""

    @pytest.mark.parametrize(
        ("analytical", "within", "percent"),
        [
            pytest.param("1.1", "5.0", "14.2", id="creatinine-5.0"),
            pytest.param("1.1", "5.2", "14.7", id="creatinine-5.2"),
            pytest.param("1.0", "2.7", "8.0", id="haemoglobin"),
            pytest.param("1.0", "4.0", "11.4", id="potassium"),
            pytest.param("0.5", "0.5", "2.0", id="sodium"),
            pytest.param("2", "13.9", "38.9", id="urea"),
        ],
    )
    def test_symmetric(self, analytical: str, within: str, percent: str) -> None:
        """Worked by hand from sqrt(2) x 1.96 x sqrt(CVa^2 + CVi^2)."""
        found = reference_change(analytical_cv=Decimal(analytical), within_subject_cv=Decimal(within))
        assert round(found.rise, 1) == Decimal(percent)
        assert found.fall == -found.rise

    def test_log_normal(self) -> None:
        """C-reactive protein with 5% and 34%: +152% and -60%."""
        found = log_normal_reference_change(analytical_cv=Decimal(5), within_subject_cv=Decimal(34))
        assert (round(found.rise), round(found.fall)) == (152, -60)

    @pytest.mark.property
    @given(within=st.decimals(min_value=Decimal("0.1"), max_value=60, places=1))
    def test_log_normal_limits_undo_each_other(self, within: Decimal) -> None:
        """A largest rise followed by a largest fall is back at the start."""
        found = log_normal_reference_change(analytical_cv=Decimal(3), within_subject_cv=within)
        assert float((1 + found.rise / 100) * (1 + found.fall / 100)) == pytest.approx(1, abs=2e-5)
        assert found.rise > -found.fall > 0

    def test_variation_must_be_positive(self) -> None:
        """Nobody varies by nothing."""
        with pytest.raises(ValueError, match="above zero"):
            reference_change(analytical_cv=Decimal(1), within_subject_cv=Decimal(0))
