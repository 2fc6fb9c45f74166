"""Medicines dosed by their level: outside the laboratory's range, or overdue in kidney injury.

Ours throughout: 24 hours for gentamicin, tobramycin and vancomycin, 72 for the others.
"""

from typing import Any

import pytest

from tests.charts import bedside, chart, order, reading
from weatherglass.clinical.assessments.medicines import assess_medicines
from weatherglass.clinical.criteria.ingredients import BY_NAME
from weatherglass.clinical.criteria.medicine_rules.levels import LEVEL_RULES, LevelRule
from weatherglass.clinical.findings import MedicineFinding
from weatherglass.clinical.record import MatchMethod, Medicine, MedicineOrder, OrderStatus, Route
from weatherglass.clinical.signals import Signal

INJURY = {Signal.CREATININE: [(96, 80), (1, 130)]}


def _order(name: str, *, route: Route = Route.INTRAVENOUS, **rest: Any) -> MedicineOrder:
    made = order(name, route=route, **rest)
    classes = frozenset(key.value for key in BY_NAME[name].classes)
    medicine = Medicine(text=name, ingredients=(name,), classes=classes, method=MatchMethod.NAME)
    return MedicineOrder(
        origin=made.origin,
        medicine=medicine,
        status=made.status,
        route=made.route,
        starts=made.starts,
        ends=made.ends,
    )


def _rules(numbers: dict[Signal, Any], order_: MedicineOrder) -> set[str]:
    record = chart(numbers, orders=(order_,))
    found = [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]
    return {reason.rule for finding in found for reason in finding.reasons if reason.rule.startswith("level")}


@pytest.mark.parametrize("rule", LEVEL_RULES, ids=lambda rule: str(rule.ingredient))
class TestEachLevel:
    def test_outside_the_range(self, rule: LevelRule) -> None:
        """Above or below the range that came with the result; without a range, nothing."""
        for value, is_out in (("4.9", True), ("5", False), ("10", False), ("10.1", True)):
            level = reading(rule.signal, 5, value, reference=("5", "10"))
            expected = {f"level-out-of-range-{rule.ingredient}"} if is_out else set()
            assert _rules({rule.signal: (level,)}, _order(rule.ingredient)) == expected
        assert _rules({rule.signal: [(5, "99")]}, _order(rule.ingredient)) == set()

    def test_overdue_in_kidney_injury(self, rule: LevelRule) -> None:
        """No level within its time, and only in kidney injury."""
        hours = rule.overdue.length.total_seconds() / 3600
        name = {f"level-overdue-{rule.ingredient}"}
        old = _order(rule.ingredient, starts=100)
        assert _rules(INJURY, old) == name
        assert _rules({**INJURY, rule.signal: [(hours + 1, "7")]}, old) == name
        assert _rules({**INJURY, rule.signal: [(hours - 1, "7")]}, old) == set()
        assert _rules({Signal.CREATININE: [(96, 80), (1, 82)]}, old) == set()

    def test_just_begun(self, rule: LevelRule) -> None:
        """No level is overdue of what was begun less than its time ago."""
        hours = rule.overdue.length.total_seconds() / 3600
        assert _rules(INJURY, _order(rule.ingredient, starts=hours - 1)) == set()

    def test_on_hold(self, rule: LevelRule) -> None:
        """What is on hold has no level that is overdue."""
        held = _order(rule.ingredient, starts=100, status=OrderStatus.ON_HOLD)
        assert _rules(INJURY, held) == set()


def test_what_acts_only_in_the_gut() -> None:
    """Swallowed vancomycin has no level."""
    assert _rules(INJURY, _order("vancomycin", route=Route.ORAL, starts=100)) == set()


def test_sentence() -> None:
    """The value, its side, and the laboratory's own limit."""
    level = reading(Signal.DIGOXIN_LEVEL, 5, "2.8", reference=("0.5", "2.0"))
    record = chart({Signal.DIGOXIN_LEVEL: (level,)}, orders=(_order("digoxin"),))
    (found,) = (f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding))
    assert found.action == "measure level"
    assert "digoxin level 2.8 \u00b5g/L, above the laboratory's 2" in found.sentence
    assert any("time of the last dose" in caution for caution in found.cautions)
