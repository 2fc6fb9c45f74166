"""How the tests of printed tables are written: rows as a reader copies them."""

from collections.abc import Iterable
from decimal import Decimal

import pytest
from _pytest.mark.structures import ParameterSet

#: One printed row: the lowest and the highest number in it, and its points.
Row = tuple[str | None, str | None, int]


def both_ends(rows: Iterable[Row]) -> list[ParameterSet]:
    """Turn printed rows into one case for each end of each row."""
    cases = []
    for low, high, points in rows:
        name = f"{low or 'lowest'}-to-{high or 'highest'}"
        if low is not None:
            cases.append(pytest.param(Decimal(low), points, id=f"{name}-low-end"))
        if high is not None:
            cases.append(pytest.param(Decimal(high), points, id=f"{name}-high-end"))
    return cases
