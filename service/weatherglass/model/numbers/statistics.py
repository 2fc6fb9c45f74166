"""Trend statistics for short, irregular series: slope, direction, outliers, change.

Rank methods, because bedside series are short, irregular in time and have outliers.
Nothing here decides anything: a trend matters only together with a published size.

Floats stay inside. Values come in as `Decimal`, results go out as `Decimal`, rounded
half to even: slopes and percentages to `SIGNIFICANT_DIGITS` digits, probabilities to
`PROBABILITY_PLACES` decimals. Compare only the rounded results.

All pairs of points are looked at, so a series is bounded by `MAX_POINTS` (19,900
pairs). Longer series are an error: which points to keep is the caller's decision.
"""

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from decimal import Context, Decimal
from functools import lru_cache
from statistics import median
from typing import Final, Literal

from weatherglass.model.plain import Plain
from weatherglass.model.sources import Mark, Publication, Source, our_choice

MAX_POINTS: Final = 200
#: Below this many points no probability is given: three points can never reach 0.05.
MIN_POINTS_FOR_SIGNIFICANCE: Final = 4
#: Up to this many points the null distribution is exact, with ties too.
EXACT_UP_TO: Final = 10
SIGNIFICANT_DIGITS: Final = 6
PROBABILITY_PLACES: Final = 6

THEIL_SEN_SOURCE: Final = Publication(
    key="sen-1968",
    citation=(
        "Sen PK. Estimates of the regression coefficient based on Kendall's tau. "
        "J Am Stat Assoc 1968;63:1379-1389"
    ),
).at("median of the pairwise slopes", Mark.FROM_MEMORY)
MANN_KENDALL_SOURCE: Final = Publication(
    key="gilbert-1987",
    citation=(
        "Gilbert RO. Statistical Methods for Environmental Pollution Monitoring. "
        "New York: Van Nostrand Reinhold, 1987"
    ),
).at("Mann-Kendall test, exact tables up to n = 10, normal approximation beyond", Mark.SECONDARY)
OUTLIER_SOURCE: Final = Publication(
    key="iglewicz-hoaglin-1993",
    citation="Iglewicz B, Hoaglin DC. How to Detect and Handle Outliers. ASQC, 1993",
).at("modified z-score, |M| above 3.5; the factor 0.6745 from memory", Mark.SECONDARY)
REFERENCE_CHANGE_SOURCE: Final = Publication(
    key="harris-yasaka-1983",
    citation=(
        "Harris EK, Yasaka T. On the calculation of a 'reference change' for comparing two "
        "consecutive measurements. Clin Chem 1983;29:25-30"
    ),
).at("square root of 2 times Z times the combined variation", Mark.FROM_MEMORY)
NO_SIGNIFICANCE_SOURCE: Final[Source] = our_choice(
    "no significance is claimed below four points; three can never reach 0.05"
)

_DIGITS: Final = Context(prec=SIGNIFICANT_DIGITS)
_PLACES: Final = Decimal(1).scaleb(-PROBABILITY_PLACES)


def theil_sen_slope(times: Sequence[float], values: Sequence[Decimal]) -> Decimal | None:
    """Return the median of the slopes between all pairs of points.

    Pairs at the same time have no slope and are left out. The order of the points does
    not matter.

    Args:
        times: When each value was taken, in the unit that the slope is wanted per
            (hours since any moment give a slope per hour).
        values: The values, as many as times.

    Returns:
        The slope, or `None` when fewer than two points differ in time.

    Raises:
        ValueError: If lengths differ or there are more than `MAX_POINTS` points.

    Examples:
        >>> theil_sen_slope([0, 1, 2, 3, 4], [Decimal(v) for v in (128, 121, 118, 110, 101)])
        Decimal('-6.70833')
    """
    _check_length(len(times), len(values))
    points = sorted(zip(times, map(float, values), strict=True))
    slopes = [
        (later - earlier) / (end - start)
        for at, (end, later) in enumerate(points)
        for start, earlier in points[:at]
        if end > start
    ]
    return _rounded(median(slopes)) if slopes else None


class MannKendall(Plain, frozen=True):
    """Whether a series goes one way, whatever the size of its steps.

    Attributes:
        s: Rising pairs minus falling pairs.
        n: Number of points.
        p_rising: Chance of an S at least this high without any trend, one-sided.
        p_falling: Chance of an S at least this low without any trend, one-sided.
        method: How the probabilities were found; "none" below four points, where both
            are `None`.
    """

    s: int
    n: int
    p_rising: Decimal | None
    p_falling: Decimal | None
    method: Literal["exact", "normal", "none"]

    @property
    def p_two_sided(self) -> Decimal | None:
        """Twice the smaller one-sided probability, at most 1."""
        if self.p_rising is None or self.p_falling is None:
            return None
        return min(Decimal(1), 2 * min(self.p_rising, self.p_falling))


def mann_kendall(values: Sequence[Decimal]) -> MannKendall:
    """Test a series for a monotone trend.

    Up to `EXACT_UP_TO` points the null distribution of S is exact, also with ties: all
    arrangements of the values are equally likely, and their inversions are counted by a
    recurrence. Beyond, the normal approximation with tie-corrected variance and
    continuity correction is used.

    Args:
        values: The values in the order of their times; no two at the same time.

    Returns:
        S with its one-sided probabilities, or without them below four points.

    Raises:
        ValueError: If there are more than `MAX_POINTS` points.

    Examples:
        >>> found = mann_kendall([Decimal(v) for v in (128, 121, 118, 110, 101)])
        >>> found.s, found.p_falling, found.method
        (-10, Decimal('0.008333'), 'exact')
    """
    n = len(values)
    _check_length(n, n)
    s = _rising_minus_falling(values)
    if n < MIN_POINTS_FOR_SIGNIFICANCE:
        return MannKendall(s, n, None, None, "none")
    groups = tuple(sorted(Counter(values).values()))
    if n <= EXACT_UP_TO:
        rising, falling = _exact_tail(groups, s), _exact_tail(groups, -s)
        return MannKendall(s, n, rising, falling, "exact")
    rising, falling = _normal_tail(groups, s), _normal_tail(groups, -s)
    return MannKendall(s, n, rising, falling, "normal")


def _rising_minus_falling(values: Sequence[Decimal]) -> int:
    """Count the pairs that rise, less those that fall, by placing each value among the earlier ones."""
    s = 0
    earlier: list[Decimal] = []
    for value in values:
        lower = bisect_left(earlier, value)
        upper = bisect_right(earlier, value, lower)
        s += lower - (len(earlier) - upper)
        earlier.insert(upper, value)
    return s


@lru_cache(maxsize=4096)
def _exact_tail(groups: tuple[int, ...], s: int) -> Decimal:
    """Return the exact chance of an S of at least `s` when the order means nothing."""
    counts = _inversion_counts(groups)
    strict_pairs = len(counts) - 1
    # Each inversion turns a rising pair into a falling one: S = pairs - 2 * inversions.
    fewest = (strict_pairs - s) // 2
    reached = sum(counts[: fewest + 1])
    return (Decimal(reached) / Decimal(sum(counts))).quantize(_PLACES)


@lru_cache(maxsize=256)
def _inversion_counts(groups: tuple[int, ...]) -> tuple[int, ...]:
    """Count the arrangements of a multiset by their number of inversions.

    Without ties this is the recurrence of Kendall's S. With ties each group of equal
    values is merged into those already placed, which is a Gaussian binomial.
    """
    counts = [1]
    placed = 0
    for size in groups:
        for step in range(1, size + 1):
            counts = _times_geometric(counts, placed + step)
            counts = _divided_by_geometric(counts, step)
        placed += size
    return tuple(counts)


def _times_geometric(counts: list[int], length: int) -> list[int]:
    """Multiply by 1 + q + ... + q^(length-1)."""
    product = [0] * (len(counts) + length - 1)
    for at, count in enumerate(counts):
        for shift in range(length):
            product[at + shift] += count
    return product


def _divided_by_geometric(counts: list[int], length: int) -> list[int]:
    """Divide by 1 + q + ... + q^(length-1); the division leaves no rest."""
    quotient: list[int] = []
    for at in range(len(counts) - length + 1):
        quotient.append(counts[at] - sum(quotient[max(0, at - length + 1) : at]))
    return quotient


def _normal_tail(groups: tuple[int, ...], s: int) -> Decimal:
    """Return the approximate chance of an S of at least `s` when the order means nothing."""
    n = sum(groups)
    variance = n * (n - 1) * (2 * n + 5)
    variance -= sum(size * (size - 1) * (2 * size + 5) for size in groups)
    if variance == 0:
        return Decimal(1)  # All values are equal.
    z = (s - 1) / math.sqrt(variance / 18)
    return Decimal(math.erfc(z / math.sqrt(2)) / 2).quantize(_PLACES)


#: A value whose robust z is further from zero than this wants a second look.
OUTLIER_LIMIT: Final = Decimal("3.5")
_TO_NORMAL: Final = Decimal("0.6745")
_MEAN_TO_NORMAL: Final = Decimal("1.2533")
_HUNDREDTH: Final = Decimal("0.01")


def robust_z(values: Sequence[Decimal]) -> tuple[Decimal, ...] | None:
    """Return how far each value lies from the median, in robust standard deviations.

    For marking a value as "verify" only: an outlier at the bedside is as often true as
    false, so nothing is ever left out because of it.

    Args:
        values: At least three values, in any order.

    Returns:
        One number for each value, rounded to two decimals; `None` when fewer than three
        values are given or all are equal, where the question has no answer.

    Raises:
        ValueError: If there are more than `MAX_POINTS` values.

    Examples:
        >>> robust_z([Decimal(v) for v in (78, 80, 82, 79, 81, 120)])[-1]
        Decimal('17.76')
    """
    _check_length(len(values), len(values))
    if len(values) < 3:
        return None
    centre = Decimal(median(values))
    distances = [abs(value - centre) for value in values]
    typical = Decimal(median(distances))
    # More than half of the values are equal: fall back to the mean absolute deviation.
    scale = typical / _TO_NORMAL if typical else _MEAN_TO_NORMAL * sum(distances) / len(distances)
    if scale == 0:
        return None
    return tuple(((value - centre) / scale).quantize(_HUNDREDTH) for value in values)


#: Standard normal deviate for 95%: a change in either direction.
_Z_TWO_SIDED: Final = 1.96


class ReferenceChange(Plain, frozen=True):
    """How much a result may change by chance alone, in percent of the first result.

    Attributes:
        rise: The largest chance rise, positive.
        fall: The largest chance fall, negative.
    """

    rise: Decimal
    fall: Decimal


def reference_change(*, analytical_cv: Decimal, within_subject_cv: Decimal) -> ReferenceChange:
    """Return the symmetric reference change value: sqrt(2) Z sqrt(CVa^2 + CVi^2).

    Biological variation is measured in healthy people and is larger in illness, so the
    result is the least change that could mean anything, never proof that it does.

    Args:
        analytical_cv: Variation of the method, in percent.
        within_subject_cv: Variation within one person, in percent.

    Examples:
        >>> reference_change(analytical_cv=Decimal("1.1"), within_subject_cv=Decimal("5.2"))
        ReferenceChange(rise=Decimal('14.7326'), fall=Decimal('-14.7326'))
    """
    total = _combined(analytical_cv, within_subject_cv)
    change = _rounded(math.sqrt(2) * _Z_TWO_SIDED * total)
    return ReferenceChange(change, -change)


def log_normal_reference_change(*, analytical_cv: Decimal, within_subject_cv: Decimal) -> ReferenceChange:
    """Return the asymmetric reference change value, for variation above about 10%.

    With sigma = sqrt(ln(CV^2 + 1)) the limits are exp(+-Z sqrt(2) sigma) - 1: a rise may be
    larger than a fall.

    Args:
        analytical_cv: Variation of the method, in percent.
        within_subject_cv: Variation within one person, in percent.

    Examples:
        >>> log_normal_reference_change(analytical_cv=Decimal(5), within_subject_cv=Decimal(34))
        ReferenceChange(rise=Decimal('152.467'), fall=Decimal('-60.3909'))
    """
    total = _combined(analytical_cv, within_subject_cv) / 100
    spread = _Z_TWO_SIDED * math.sqrt(2) * math.sqrt(math.log1p(total * total))
    return ReferenceChange(_rounded(100 * math.expm1(spread)), _rounded(100 * math.expm1(-spread)))


def _combined(analytical_cv: Decimal, within_subject_cv: Decimal) -> float:
    """Return the combined variation of method and person, in percent."""
    if analytical_cv < 0 or within_subject_cv <= 0:
        raise ValueError("Variation within a person must be above zero, of a method not below.")
    return math.hypot(float(analytical_cv), float(within_subject_cv))


def _check_length(times: int, values: int) -> None:
    """Refuse series of unequal length and series that are too long."""
    if times != values:
        raise ValueError(f"There are {times} times for {values} values.")
    if values > MAX_POINTS:
        raise ValueError(f"A series has at most {MAX_POINTS} points, got {values}; choose some.")


def _rounded(value: float) -> Decimal:
    """Return a float as a decimal of `SIGNIFICANT_DIGITS` digits."""
    return _DIGITS.create_decimal_from_float(value)
