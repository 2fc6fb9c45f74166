"""Since when the risk is as high as it is: our reading of 'a deadline counts from when its reason began'."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts import NOW, ago
from weatherglass.facts.infection.risk_course import RiskCourse, Spell, risk_course, spells_of
from weatherglass.model.tables.risk_tables import Risk

pytestmark = pytest.mark.property

HOUR = timedelta(hours=1)
WITHIN = (None, 6 * HOUR, 3 * HOUR, HOUR)
LOW, MODERATE, HIGH = Risk.LOW, Risk.MODERATE, Risk.HIGH
_SEEN = st.lists(st.tuples(st.integers(0, 47), st.sampled_from(Risk)), min_size=1, max_size=12)


def _course(*each: tuple[float, Risk], known: float | None = None) -> RiskCourse:
    seen = sorted((ago(hours), risk) for hours, risk in each)
    return risk_course(spells_of(seen), NOW, known_from=ago(known) if known is not None else None)


def _due(course: RiskCourse) -> datetime | None:
    deadline = course.deadline(WITHIN)
    return deadline.due if deadline is not None else None


@pytest.mark.parametrize(
    ("each", "known", "risk", "since", "due"),
    [
        pytest.param([(8, HIGH), (2, HIGH)], None, HIGH, 8, 7, id="a-repeat"),
        pytest.param([(8, HIGH), (5, LOW), (2, HIGH)], None, HIGH, 8, 7, id="a-lapse"),
        pytest.param([(47, HIGH), (45, LOW), (2, HIGH)], None, HIGH, 2, 1, id="a-lapse-of-more-than-a-day"),
        pytest.param([(8, LOW), (3, HIGH)], None, HIGH, 3, 2, id="a-step-up-is-stricter"),
        pytest.param([(8, MODERATE), (5.5, HIGH)], None, HIGH, 5.5, 5, id="a-step-up-never-later"),
        pytest.param([(20, LOW), (3, HIGH)], None, HIGH, 3, 2, id="what-was-missed-before-is-another-matter"),
        pytest.param([(8, HIGH), (2, MODERATE)], None, MODERATE, 8, 7, id="a-step-down-never-later"),
        pytest.param([(8, HIGH), (2, HIGH)], 5, HIGH, 5, 4, id="infection-known-later"),
        pytest.param([(8, HIGH), (6, LOW)], 5, LOW, 5, -1, id="what-was-over-before-does-not-count"),
    ],
)
def test_deadlines(
    each: list[tuple[float, Risk]], known: float | None, risk: Risk, since: float, due: float
) -> None:
    course = _course(*each, known=known)
    assert (course.risk, course.since, _due(course)) == (risk, ago(since), ago(due))


@given(seen=_SEEN, more=st.lists(st.integers(1, 60), max_size=6))
def test_repeats_of_the_newest_value_never_move_it(seen: list[tuple[int, Risk]], more: list[int]) -> None:
    whole = {ago(hours): risk for hours, risk in seen}
    ordered = sorted(whole.items())
    before = risk_course(spells_of(ordered), NOW, known_from=None)
    newest, risk = ordered[-1]
    repeats = {newest + timedelta(minutes=minutes) for minutes in more}
    later = NOW + HOUR
    again = sorted([*ordered, *((at, risk) for at in repeats)])
    after = risk_course(spells_of(again), later, known_from=None)
    if before.risk is risk and newest + 24 * HOUR > later:
        assert (after.risk, after.since) == (before.risk, before.since)
        assert after.deadline(WITHIN) == before.deadline(WITHIN)


@given(seen=_SEEN, random=st.randoms(use_true_random=False))
def test_order_of_the_spells(seen: list[tuple[int, Risk]], random: object) -> None:
    spells = [Spell(ago(hours), ago(hours) + 3 * HOUR, risk) for hours, risk in seen]
    shuffled = list(spells)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert risk_course(shuffled, NOW, known_from=None) == risk_course(spells, NOW, known_from=None)


@given(seen=_SEEN)
def test_a_step_up_never_moves_it_later(seen: list[tuple[int, Risk]]) -> None:
    course = _course(*((h + 1, r) for h, r in dict(seen).items()))
    worse = _course(*((h + 1, r) for h, r in dict(seen).items()), (0, HIGH))
    before, after = _due(course), _due(worse)
    if before is not None and before > NOW:
        assert after is not None
        assert after <= before
