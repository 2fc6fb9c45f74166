"""Shares with the interval they could lie in, and the middle of a list."""

from collections.abc import Sequence
from statistics import quantiles
from typing import NamedTuple

from weatherglass.evaluation import extra

#: Ours: from fewer outcomes than this no interval is given.
FEWEST_OUTCOMES = 10


class Share(NamedTuple):
    """A share of a number, with its 95 % interval; None where the number is 0."""

    number: int
    of: int
    value: float | None
    low: float | None
    high: float | None


def share(number: int, of: int, *, outcomes: int) -> Share:
    """Return a share with its Wilson score interval, as SciPy has it.

    Args:
        number: How many.
        of: Of how many.
        outcomes: How many outcomes stand behind the share; from fewer than `FEWEST_OUTCOMES`
            there is no interval, and none without the extra `evaluate`.

    Source:
        Wilson EB. Probable inference, the law of succession, and statistical inference.
        J Am Stat Assoc 1927;22:209-212. The interval treats each round or alert as
        independent of the others, which rounds of one patient are not: it is too narrow
        where few patients give many rounds.

    Examples:
        >>> share(8, 10, outcomes=9).value
        0.8
        >>> share(8, 10, outcomes=9).low is None
        True
        >>> share(0, 0, outcomes=20).value is None
        True
    """
    if of == 0:
        return Share(number, of, None, None, None)
    if outcomes < FEWEST_OUTCOMES or not extra.is_installed():
        return Share(number, of, number / of, None, None)
    from scipy.stats import binomtest

    found = binomtest(number, of).proportion_ci(0.95, method="wilson")
    return Share(number, of, number / of, float(found.low), float(found.high))


class Spread(NamedTuple):
    """How numbers are spread out."""

    number: int
    least: float
    lower_quartile: float
    median: float
    upper_quartile: float
    most: float


def spread(values: Sequence[float]) -> Spread | None:
    """Return the quartiles of some numbers (linear between neighbours); None when there are none."""
    if not values:
        return None
    lower, median, upper = quantiles(values if len(values) > 1 else [*values, *values], method="inclusive")
    return Spread(len(values), min(values), lower, median, upper, max(values))
