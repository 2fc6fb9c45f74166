"""Four times the body may cost six times the time, whatever it grows by.

Common practice, no source: a body of some kilobytes that takes minutes stops a service for everybody.
CPU time of this process, the least of nine at most, so that a busy machine does not decide.
"""

import pytest

from tests.fuzzing.shapes import MOST_GROWTH, SHAPES, growth


@pytest.mark.parametrize("name", SHAPES)
def test_growth(name: str) -> None:
    times, seconds = growth(SHAPES[name])
    assert times <= MOST_GROWTH, f"{seconds:.2f} s at four times the size"
