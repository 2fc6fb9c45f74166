"""How well a score tells rounds before an outcome from other rounds: the area under the curve.

The area is the chance that a round before an outcome has the higher score of the two,
ties counting half (Hanley JA, McNeil BJ. Radiology 1982;143:29-36). scikit-learn works it
out, SciPy draws the patients for its interval; without the extra `evaluate` there is none.
"""

import warnings
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from weatherglass.evaluation import extra

#: Levels with how many rounds: (level, before an outcome, not before one).
Tally = tuple[tuple[int, int, int], ...]
#: Numbers held at once while patients are drawn.
_HELD = 4_000_000


class Area(NamedTuple):
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
    before = sum(b for each in held for _, b, _ in each)
    not_before = sum(n for each in held for _, _, n in each)
    if not before or not not_before or not extra.is_installed():
        return Area(None, None, None, len(held), before, not_before)
    low, high = _interval(held, repeats, seed) if repeats and len(held) > 1 else (None, None)
    return Area(_value(held), low, high, len(held), before, not_before)


def _value(held: Sequence[Tally]) -> float:
    from sklearn.metrics import roc_auc_score

    rows = [(level, True, b) for each in held for level, b, _ in each if b]
    rows += [(level, False, n) for each in held for level, _, n in each if n]
    levels, truth, weights = zip(*rows, strict=True)
    return float(roc_auc_score(truth, levels, sample_weight=weights))


def _interval(held: Sequence[Tally], repeats: int, seed: int) -> tuple[float | None, float | None]:
    import numpy as np
    from scipy.stats import DegenerateDataWarning, bootstrap

    before, after = _by_patient_and_level(held)

    def drawn_area(drawn: Any, axis: int) -> Any:  # noqa: ARG001 - SciPy names the axis; it is always the last
        b, n = (each[drawn.astype(int)].sum(axis=-2) for each in (before, after))
        below = n.cumsum(axis=-1) - n
        pairs = b.sum(axis=-1) * n.sum(axis=-1)
        won = (b * (below + n / 2)).sum(axis=-1)
        return np.divide(won, pairs, out=np.full(np.shape(pairs), np.nan), where=pairs > 0)

    with warnings.catch_warnings():
        # Draws without an area are counted below; the bounds that SciPy takes from all draws are not used.
        warnings.simplefilter("ignore", DegenerateDataWarning)
        found = bootstrap(
            (np.arange(len(held)),), drawn_area, n_resamples=repeats, batch=max(1, _HELD // before.size),
            vectorized=True, method="percentile", rng=np.random.default_rng(seed),
        ).bootstrap_distribution  # fmt: skip
    # A draw without rounds of both kinds has no area; where that is usual there is no interval.
    if np.isnan(found).mean() > 0.5:
        return None, None
    low, high = np.nanquantile(found, [0.025, 0.975])
    return float(low), float(high)


def _by_patient_and_level(held: Sequence[Tally]) -> tuple[Any, Any]:
    import numpy as np

    levels = sorted({level for each in held for level, _, _ in each})
    place = {level: at for at, level in enumerate(levels)}
    before, after = (np.zeros((len(held), len(levels)), dtype=np.int64) for _ in range(2))
    for row, each in enumerate(held):
        for level, b, n in each:
            before[row, place[level]], after[row, place[level]] = b, n
    return before, after
