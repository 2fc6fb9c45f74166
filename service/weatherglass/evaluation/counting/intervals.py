"""Shares with the interval they could lie in, and the middle of a list."""

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

#: Normal quantile of a two-sided 95 % interval.
Z_95 = 1.959963984540054


class Share(NamedTuple):
    """A share of a number, with its 95 % interval; None where the number is 0."""

    number: int
    of: int
    value: float | None
    low: float | None
    high: float | None


def share(number: int, of: int) -> Share:
    """Return a share with its Wilson score interval.

    Source:
        Wilson EB. Probable inference, the law of succession, and statistical inference.
        J Am Stat Assoc 1927;22:209-212. The interval treats each round or alert as
        independent of the others, which rounds of one patient are not: it is too narrow
        where few patients give many rounds.

    Examples:
        >>> [round(bound, 4) for bound in share(8, 10)[3:]]
        [0.4902, 0.9433]
        >>> share(0, 0).value is None
        True
    """
    if of == 0:
        return Share(number, of, None, None, None)
    part = number / of
    square = Z_95 * Z_95
    middle = (part + square / (2 * of)) / (1 + square / of)
    half = Z_95 * sqrt(part * (1 - part) / of + square / (4 * of * of)) / (1 + square / of)
    return Share(number, of, part, max(0.0, middle - half), min(1.0, middle + half))


def bare_share(number: int, of: int) -> Share:
    """Return a share without an interval, for where too few outcomes stand behind it."""
    return Share(number, of, number / of if of else None, None, None)


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
    ordered = sorted(values)
    return Spread(
        len(ordered),
        ordered[0],
        quantile(ordered, 0.25),
        quantile(ordered, 0.5),
        quantile(ordered, 0.75),
        ordered[-1],
    )


def quantile(ordered: Sequence[float], part: float) -> float:
    """Return a quantile of sorted numbers, linear between neighbours."""
    place = part * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
