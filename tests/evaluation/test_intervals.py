"""Intervals against SciPy and by hand, quartiles against NumPy."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.evaluation.counting.intervals import effective_size, proportion, quartiles


def _exact(number: int, of: int) -> Any:
    """Return the interval of Clopper and Pearson by SciPy, which is loaded where it is asked."""
    from scipy.stats import binomtest

    return binomtest(number, of).proportion_ci(method="exact")


@pytest.mark.parametrize(("number", "of"), [(0, 20), (20, 20), (8, 10), (1, 5000), (263, 857)])
def test_where_a_patient_counts_once_it_is_the_exact_interval_of_scipy(number: int, of: int) -> None:
    """`scipy.stats.binomtest(...).proportion_ci(method="exact")`: Clopper and Pearson."""
    found = proportion([(int(at < number), 1) for at in range(of)], outcomes=10)
    theirs = _exact(number, of)
    assert found.value == pytest.approx(number / of)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_by_hand() -> None:
    """Twenty patients of two rounds that are alike, half of them counted (Korn and Graubard 1998).

    Between patients: 20/19 x 20 x 1 / 40² = 1/76. Forty alone: 1/4 / 39 = 1/156. Design effect 39/19,
    so that 40 rounds are worth 19.49, and with t(39) = 2.02269 and t(19) = 2.09302 for few patients 18.20.
    """
    from scipy.stats import beta

    parts = [(2, 2)] * 10 + [(0, 2)] * 10
    assert effective_size(parts) == pytest.approx(40 * 19 / 39 * (2.02269 / 2.09302) ** 2, abs=1e-3)
    found = proportion(parts, outcomes=10)
    half = effective_size(parts) / 2
    assert found.low == pytest.approx(beta.ppf(0.025, half, half + 1))
    assert found.high == pytest.approx(beta.ppf(0.975, half + 1, half))


@pytest.mark.parametrize("number", [0, 4])
def test_where_all_or_none_count_a_patients_rounds_are_one(number: int) -> None:
    """Our choice: fifty patients of four rounds are worth at most fifty, not two hundred."""
    assert effective_size([(number, 4)] * 50) <= 50
    found = proportion([(number, 4)] * 50, outcomes=10)
    alone = _exact(50 if number else 0, 50)
    assert found.low is not None
    assert found.high is not None
    assert found.high - found.low >= alone.high - alone.low


def test_nineteen_of_twenty_intervals_hold_the_truth() -> None:
    """Of 300 invented wards whose patients differ, at least 93 % (our choice).

    Intervals that take each round for independent hold the truth far less often.
    """
    draw = np.random.default_rng(5)
    held = alone = 0
    for _ in range(300):
        sizes, own = draw.integers(1, 30, 40), draw.beta(0.6, 1.4, 40)
        parts = [(int(draw.binomial(n, p)), int(n)) for n, p in zip(sizes, own, strict=True)]
        found = proportion(parts, outcomes=10)
        naive = _exact(found.number, found.of)
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 0.3 <= found.high
        alone += naive.low <= 0.3 <= naive.high
    assert held >= 279
    assert alone < 240


@given(st.lists(st.integers(1, 20).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), min_size=2))
def test_rounds_are_never_worth_more_than_there_are(parts: list[tuple[int, int]]) -> None:
    assert 0 < effective_size(parts) <= sum(n for _, n in parts) + 1e-9
    found = proportion(parts, outcomes=10)
    assert found.value is not None
    assert found.low is not None
    assert found.high is not None
    assert 0 <= found.low <= found.value <= found.high <= 1


def test_of_one_patient_there_is_no_interval() -> None:
    assert proportion([(3, 9)], outcomes=10).low is None


def test_of_nothing_there_is_no_share() -> None:
    """A percentage of zero rounds is not 0 %."""
    assert proportion([(0, 0)], outcomes=10)[2:] == (None, None, None)
    assert quartiles([]) is None


@given(st.lists(st.floats(0, 1000), min_size=1, max_size=50))
def test_quartiles_as_numpy_has_them(values: list[float]) -> None:
    found = quartiles(values)
    assert found is not None
    assert found[1:] == pytest.approx(tuple(np.percentile(values, [0, 25, 50, 75, 100])))
