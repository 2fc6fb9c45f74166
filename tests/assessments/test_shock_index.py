"""Shock index: Koch and colleagues 2019 (1.0), the trauma cut-off of 0.9, age shock index 50.

Cut-offs as the criteria module cites them; that 1.0 itself counts, and that none of them
triggers anything alone, is ours.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, chart, condition, order, reading, scores
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import shock_index
from weatherglass.model.findings import Kind, MissingReason, ScoreFinding, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal

HR, SBP = Signal.PULSE, Signal.SYSTOLIC_PRESSURE
EIGHTY = date(1946, 1, 1)


def _record(pulse: int, systolic: int, *, hours: float = 1, **rest: Any) -> Record:
    return chart({HR: [(hours, pulse)], SBP: [(hours, systolic)]}, **rest)


def _index(record: Record, key: str = "shock-index", **rest: Any) -> ScoreFinding:
    return scores(record, key, **rest)[0]


@pytest.mark.parametrize(
    ("pulse", "systolic", "value", "tier"),
    [
        (80, 120, "0.67", ""),
        (89, 100, "0.89", ""),
        (90, 100, "0.90", "raised"),
        (99, 100, "0.99", "raised"),
        (100, 100, "1.00", "high"),
        (112, 104, "1.08", "high"),
        pytest.param(98, 109, "0.89", "", id="0.8991-is-not-shown-as-0.90"),
        pytest.param(231, 232, "0.99", "raised", id="0.9957-is-not-shown-as-1.00"),
    ],
)
def test_cut_offs(pulse: int, systolic: int, value: str, tier: str) -> None:
    found = _index(_record(pulse, systolic))
    assert (found.value, found.tier) == (Decimal(value), tier)
    assert found.urgency is Urgency.ROUTINE, "never a trigger by itself"


@pytest.mark.parametrize(
    ("pulse", "systolic", "value", "tier"),
    [(84, 120, "56.0", "high"), (83, 120, "55.3", ""), (75, 120, "50.0", ""), (74, 120, "49.3", "")],
)
def test_age_shock_index(pulse: int, systolic: int, value: str, tier: str) -> None:
    """80 years x pulse / pressure, high from 50; not by age alone (a quotient below 0.7, our choice)."""
    found = _index(_record(pulse, systolic, born=EIGHTY), "age-shock-index")
    assert (found.value, found.tier) == (Decimal(value), tier)


def test_without_an_age_there_is_no_age_shock_index() -> None:
    record = _record(100, 100, born=None)
    assert scores(record, "age-shock-index") == []
    assert any("Age is not recorded" in each for each in _index(record).cautions)


@pytest.mark.parametrize(
    ("rest", "unreliable"),
    [
        pytest.param({}, False, id="nothing"),
        pytest.param({"orders": (order("Bisoprolol", MedicineClass.BETA_BLOCKER.value),)}, True, id="taken"),
        pytest.param(
            {"orders": (order("Bisoprolol", MedicineClass.BETA_BLOCKER.value, status=OrderStatus.STOPPED),)},
            False,
            id="stopped",
        ),
        pytest.param(
            {"orders": (order("Timolol", MedicineClass.BETA_BLOCKER.value, route=Route.OPHTHALMIC),)},
            False,
            id="eye-drops",
        ),
        pytest.param({"conditions": (condition(ConditionKind.PACEMAKER),)}, True, id="pacemaker"),
    ],
)
def test_rate_control_makes_it_unreliable(rest: dict[str, Any], unreliable: bool) -> None:
    found = _index(_record(70, 100, **rest))
    assert any(each.startswith("Unreliable") for each in found.cautions) is unreliable


class TestMissing:
    @pytest.mark.parametrize(("left", "gap"), [(HR, "systolic-pressure"), (SBP, "pulse")])
    def test_half_a_pair_is_named(self, left: Signal, gap: str) -> None:
        found = _index(chart({left: [(1, 100)]}))
        assert (found.value, [one.key for one in found.missing]) == (None, [gap])

    def test_the_last_pair_within_a_day_is_shown_instead(self) -> None:
        record = chart({HR: [(6, 100), (1, 110)], SBP: [(6, 100)]})
        (last,) = scores(record, "shock-index")
        assert (last.value, last.is_current, last.brief[-12:]) == (Decimal("1.00"), False, "(last known)")
        assert "02:00" in last.sentence

    def test_an_older_pair_is_not(self) -> None:
        record = chart({HR: [(25, 100), (1, 110)], SBP: [(25, 100)]})
        assert [found.value for found in scores(record, "shock-index")] == [None]

    def test_a_limit_is_no_number(self) -> None:
        pulse = reading(HR, 1, "120", spread=("120", None))
        found = _index(chart({HR: [pulse], SBP: [(1, 100)]}))
        assert found.missing[0].reason is MissingReason.ONE_SIDED


def test_since_when() -> None:
    record = chart({HR: [(20, 80), (9, 100), (1, 104)], SBP: [(20, 120), (9, 100), (1, 100)]})
    found = _index(record)
    assert (found.state, found.since) == (State.NEW, ago(9))
    assert [point.value for point in found.history] == [Decimal("0.67"), Decimal("1.00"), Decimal("1.04")]


def test_children_are_told_why_not() -> None:
    for key in ("shock-index", "age-shock-index"):
        found = _index(_record(120, 90, born=date(2010, 3, 13)), key)
        assert found.kind is Kind.SCORE_NOT_APPLICABLE
    assert _index(_record(120, 90, born=date(2010, 3, 12))).tier == "high"


def test_a_site_that_does_not_use_it() -> None:
    choices = LocalChoices(scores=())
    assert scores(_record(120, 90), "shock-index", choices=choices) == []


def test_rate_control_has_its_source_and_a_preliminary_value_is_said() -> None:
    """Ours: either of the two values being preliminary makes it provisional."""
    slowed = _record(100, 100, orders=(order("Bisoprolol", MedicineClass.BETA_BLOCKER.value),))
    assert shock_index.UNRELIABLE_WITH_RATE_CONTROL.source in _index(slowed).sources
    assert shock_index.UNRELIABLE_WITH_RATE_CONTROL.source not in _index(_record(100, 100)).sources
    early = (reading(HR, 1, "100", remarks=[Remark.PROVISIONAL]),)
    assert _index(chart({HR: early, SBP: [(1, 100)]})).provisional
    assert not _index(_record(100, 100)).provisional
