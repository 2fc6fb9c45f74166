"""Wilson intervals against SciPy, quartiles against NumPy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from weatherglass.evaluation.counting.intervals import share, spread


@pytest.mark.parametrize(
    ("number", "of"), [(0, 1), (1, 1), (0, 20), (20, 20), (8, 10), (1, 5000), (263, 857)]
)
def test_wilson_as_scipy_has_it(number: int, of: int) -> None:
    """`scipy.stats.binomtest(...).proportion_ci(method="wilson")`."""
    found = share(number, of, outcomes=10)
    theirs = binomtest(number, of).proportion_ci(method="wilson")
    assert found.value == pytest.approx(number / of)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_of_nothing_there_is_no_share() -> None:
    """A percentage of zero rounds is not 0 %."""
    assert share(0, 0, outcomes=10)[2:] == (None, None, None)
    assert spread([]) is None


@given(st.lists(st.floats(0, 1000), min_size=1, max_size=50))
def test_quartiles_as_numpy_has_them(values: list[float]) -> None:
    found = spread(values)
    assert found is not None
    assert found[1:] == pytest.approx(tuple(np.percentile(values, [0, 25, 50, 75, 100])))
