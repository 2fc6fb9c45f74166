"""The area under the curve against scikit-learn, its interval against a bootstrap written with NumPy."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from weatherglass.evaluation.counting.discrimination import area, tally

_ROUNDS = st.lists(st.tuples(st.integers(0, 20), st.booleans()), min_size=2, max_size=200)


@given(_ROUNDS)
def test_the_area_as_scikit_learn_has_it(rounds: list[tuple[int, bool]]) -> None:
    """`sklearn.metrics.roc_auc_score`, ties and all."""
    from sklearn.metrics import roc_auc_score

    assume(len({followed for _, followed in rounds}) == 2)
    theirs = roc_auc_score([followed for _, followed in rounds], [level for level, _ in rounds])
    assert area([tally(rounds)], repeats=0, seed=1).value == pytest.approx(theirs, abs=1e-12)


def test_without_rounds_of_both_kinds_there_is_none() -> None:
    assert area([tally([(3, True), (5, True)])], repeats=50, seed=1).value is None
    assert area([tally([(3, False)])], repeats=50, seed=1).value is None


def _ward(seed: int, patients: int) -> list[list[tuple[int, bool]]]:
    """Patients with rounds that resemble each other; those with an outcome score higher."""
    draw = np.random.default_rng(seed)
    ward = []
    for number in range(patients):
        ill = number % 4 == 0
        own = draw.normal(4 if ill else 2, 1.5)
        rounds = draw.integers(3, 15)
        levels = np.clip(np.round(draw.normal(own, 1, rounds)), 0, 20).astype(int)
        ward.append([(int(level), bool(ill and at > rounds // 2)) for at, level in enumerate(levels)])
    return ward


def test_the_interval_as_a_bootstrap_by_patient_has_it() -> None:
    """2,000 draws with NumPy, each area by the ranks of SciPy; two bootstraps agree to about a hundredth."""
    from scipy.stats import rankdata

    def by_ranks(rounds: list[tuple[int, bool]]) -> float:
        levels, followed = map(np.asarray, zip(*rounds, strict=True))
        ill = int(followed.sum())
        above = rankdata(levels)[followed].sum() - ill * (ill + 1) / 2
        return float(above / (ill * (len(followed) - ill)))

    ward = _ward(7, 80)
    found = area([tally(rounds) for rounds in ward], repeats=2000, seed=1)
    draw = np.random.default_rng(3)
    areas = []
    for _ in range(2000):
        rounds = [one for number in draw.integers(0, len(ward), len(ward)) for one in ward[number]]
        areas.append(by_ranks(rounds))
    low, high = np.percentile(areas, [2.5, 97.5])
    assert found.value is not None
    assert found.low == pytest.approx(low, abs=0.012)
    assert found.high == pytest.approx(high, abs=0.012)
    assert found.low < found.value < found.high  # type: ignore[operator]


def test_the_same_seed_gives_the_same_interval() -> None:
    tallies = [tally(rounds) for rounds in _ward(1, 30)]
    assert area(tallies, repeats=200, seed=5) == area(tallies, repeats=200, seed=5)
    assert area(tallies, repeats=200, seed=5) != area(tallies, repeats=200, seed=6)


def test_drawing_patients_is_wider_than_drawing_rounds() -> None:
    """Rounds of one patient resemble each other; an interval that forgets it is too narrow.

    Here they are all alike, so that each patient is worth one round and not twenty.
    """
    draw = np.random.default_rng(11)
    own = [(int(draw.integers(0, 8)), number % 3 == 0) for number in range(40)]
    ward = [[one] * 20 for one in own]
    by_patient = area([tally(rounds) for rounds in ward], repeats=800, seed=1)
    by_round = area([tally([one]) for rounds in ward for one in rounds], repeats=800, seed=1)
    assert by_patient.high - by_patient.low > 3 * (by_round.high - by_round.low)  # type: ignore[operator]
