"""Shares with the interval they could lie in, drawn by patient, and the middle of a list."""

from collections.abc import Iterable, Sequence
from statistics import quantiles
from typing import NamedTuple

from weatherglass.evaluation import extra

#: Ours: from fewer outcomes than this no interval is given.
FEWEST_OUTCOMES = 10


class Proportion(NamedTuple):
    """A proportion of a number, with its 95 % interval; None where the number is 0."""

    number: int
    of: int
    value: float | None
    low: float | None
    high: float | None


#: Of one patient: how many, of how many.
Part = tuple[int, int]


def proportion(parts: Iterable[Part], *, outcomes: int) -> Proportion:
    """Return a proportion that was counted patient by patient, with an interval that is drawn by patient too.

    Args:
        parts: Of each patient how many, and of how many.
        outcomes: How many outcomes stand behind the proportion; from fewer than `FEWEST_OUTCOMES`
            there is no interval, none from one patient, and none without the extra `evaluate`.

    Source:
        Korn EL, Graubard BI. Confidence intervals for proportions with small expected number of
        positive counts estimated from survey data. Surv Methodol 1998;24:193-201 (as the R package
        survey has it, method "beta"): the exact interval of Clopper and Pearson, from as many
        independent rounds as these rounds of few patients are worth. Where a patient counts
        once at most it is the exact interval itself.

    Examples:
        >>> proportion([(4, 5), (4, 5)], outcomes=9).value
        0.8
        >>> proportion([(4, 5), (4, 5)], outcomes=9).low is None
        True
        >>> proportion([(0, 0)], outcomes=20).value is None
        True
    """
    held = [part for part in parts if part[1]]
    number, of = sum(part[0] for part in held), sum(part[1] for part in held)
    if of == 0:
        return Proportion(number, of, None, None, None)
    value = number / of
    if outcomes < FEWEST_OUTCOMES or len(held) < 2 or not extra.is_installed():
        return Proportion(number, of, value, None, None)
    from scipy.special import betaincinv

    worth = effective_size(held)
    hit, missed = worth * value, worth * (1 - value)
    low = float(betaincinv(hit, missed + 1, 0.025)) if number else 0.0
    high = float(betaincinv(hit + 1, missed, 0.975)) if number < of else 1.0
    return Proportion(number, of, value, low, high)


def effective_size(held: Sequence[Part]) -> float:
    """Return how many independent rounds the rounds of some patients are worth; never more than there are.

    The variance between patients is held beside that of as many independent rounds (the design
    effect), and few patients are made up for by Student's t. Ours: where all rounds or none
    count, nothing can be learned of their likeness, and each patient's are taken for alike.
    """
    from scipy.special import stdtrit

    of, many = sum(n for _, n in held), len(held)
    value = sum(x for x, _ in held) / of
    few = (stdtrit(of - 1, 0.975) / stdtrit(many - 1, 0.975)) ** 2
    if value in {0.0, 1.0}:
        return float(min(of, few * of**2 / sum(n * n for _, n in held)))
    between = many / (many - 1) * sum((x - value * n) ** 2 for x, n in held) / of**2
    alone = value * (1 - value) / (of - 1)
    return float(of * few / max(1.0, between / alone))


class Quartiles(NamedTuple):
    """How numbers are spread out."""

    number: int
    least: float
    lower_quartile: float
    median: float
    upper_quartile: float
    most: float


def quartiles(values: Sequence[float]) -> Quartiles | None:
    """Return the quartiles of some numbers (linear between neighbours); None when there are none."""
    if not values:
        return None
    lower, median, upper = quantiles(values if len(values) > 1 else [*values, *values], method="inclusive")
    return Quartiles(len(values), min(values), lower, median, upper, max(values))
