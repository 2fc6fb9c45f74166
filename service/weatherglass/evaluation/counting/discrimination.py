"""How well a score tells rounds before an outcome from other rounds: the area under the curve.

The area is the chance that a round before an outcome has the higher score of the two,
ties counting half (Hanley JA, McNeil BJ. Radiology 1982;143:29-36). Scores are small
whole numbers, so counting rounds by score is all that is needed.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

from weatherglass.evaluation.counting.intervals import quantile

#: Levels with how many rounds: (level, before an outcome, not before one).
Tally = tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Area:
    """The area under the curve with its 95 % interval; None where it cannot be had."""

    value: float | None
    low: float | None
    high: float | None
    patients: int
    before: int
    not_before: int


def tally(rounds: Iterable[tuple[int, bool]]) -> Tally:
    """Count one patient's rounds by level.

    Args:
        rounds: Level, and whether an outcome followed in time.
    """
    before: Counter[int] = Counter()
    after: Counter[int] = Counter()
    for level, followed in rounds:
        (before if followed else after)[level] += 1
    return tuple((level, before[level], after[level]) for level in sorted({*before, *after}))


def area(tallies: Sequence[Tally], *, repeats: int, seed: int) -> Area:
    """Return the area, with an interval from drawing patients again and again.

    Whole patients are drawn, not rounds, because rounds of one patient resemble each
    other (percentile bootstrap: Efron B, Tibshirani RJ. An introduction to the
    bootstrap, 1993, chapter 13).

    Args:
        tallies: One a patient.
        repeats: How often patients are drawn; 0 for no interval.
        seed: Where the drawing starts, so that the same data give the same interval.
    """
    held = [each for each in tallies if each]
    total = _summed(held)
    value = area_of(total)
    before, not_before = sum(b for _, b, _ in total), sum(n for _, _, n in total)
    if value is None or not repeats:
        return Area(value, None, None, len(held), before, not_before)
    draw = Random(seed)  # noqa: S311 - to repeat a calculation, not to keep a secret
    drawn = [
        again
        for _ in range(repeats)
        if (again := area_of(_summed(draw.choices(held, k=len(held))))) is not None
    ]
    drawn.sort()
    enough = len(drawn) >= repeats // 2
    return Area(
        value,
        quantile(drawn, 0.025) if enough else None,
        quantile(drawn, 0.975) if enough else None,
        len(held),
        before,
        not_before,
    )


def area_of(counted: Tally) -> float | None:
    """Return the area of rounds counted by level; None when one side is empty.

    Examples:
        >>> area_of(((0, 0, 5), (3, 5, 0)))
        1.0
        >>> area_of(((2, 1, 1),))
        0.5
    """
    before = sum(b for _, b, _ in counted)
    not_before = sum(n for _, _, n in counted)
    if not before or not not_before:
        return None
    below, won = 0, 0.0
    for _, b, n in counted:
        won += b * (below + n / 2)
        below += n
    return won / (before * not_before)


def _summed(tallies: Iterable[Tally]) -> Tally:
    before: dict[int, int] = {}
    after: dict[int, int] = {}
    for each in tallies:
        for level, b, n in each:
            before[level] = before.get(level, 0) + b
            after[level] = after.get(level, 0) + n
    return tuple((level, before[level], after[level]) for level in sorted(before))
