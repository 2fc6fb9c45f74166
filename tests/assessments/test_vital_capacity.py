"""Vital capacity: Lawn 2001, secondary: below 20 mL/kg, or down by more than 30 %, went with ventilation.

Without a weight a litre stands for the first; that myasthenia is read alike, and how soon, is our choice.
"""

from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.assessments.emergencies.crises import asked_once
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal

VC, KG = Signal.VITAL_CAPACITY, Signal.WEIGHT
E, U, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.ROUTINE
WEAK = condition(ConditionKind.GUILLAIN_BARRE, text="Guillain-Barré syndrome", began=48)


def _found(values: list[tuple[float, str]], kilograms: str | None = "70", **rest: Any) -> Finding | None:
    numbers: dict[Signal, Any] = {VC: values}
    if kilograms is not None:
        numbers[KG] = [(100, kilograms)]
    known = rest.pop("conditions", (WEAK,))
    return findings(chart(numbers, conditions=known, **rest), Kind.METABOLIC).get("vital-capacity")


@pytest.mark.parametrize(
    ("values", "kilograms", "urgency"),
    [
        pytest.param([(1, "1400")], "70", R, id="20-mL/kg"),
        pytest.param([(1, "1399")], "70", E, id="below-20"),
        pytest.param([(24, "3000"), (1, "2100")], "70", R, id="down-by-30-percent"),
        pytest.param([(24, "3000"), (1, "2099")], "70", U, id="down-by-more"),
        pytest.param([(24 * 8, "3000"), (1, "2000")], "70", R, id="the-best-is-too-long-ago"),
        pytest.param([(1, "1000")], None, R, id="a-litre-without-a-weight"),
        pytest.param([(1, "999")], None, E, id="less-than-a-litre"),
    ],
)
def test_both_ends(values: list[tuple[float, str]], kilograms: str | None, urgency: Urgency) -> None:
    found = _found(values, kilograms)
    assert found is not None
    assert found.urgency is urgency


def test_it_is_said_with_its_weight_and_its_fall() -> None:
    found = _found([(24, "2600"), (1, "1200")])
    assert found is not None
    assert found.brief == (
        "Breathing muscles failing? Guillain-Barré syndrome with vital capacity 1200 mL, 17 mL/kg, "
        "down from 2600"
    )


def test_a_further_low_one_moves_nothing() -> None:
    one, both = _found([(5, "1200")]), _found([(5, "1200"), (1, "1150")])
    assert one is not None
    assert both is not None
    assert one.since == both.since == ago(5)


def test_what_is_old_or_of_others_is_not_judged() -> None:
    assert _found([(25, "1200")]) is None
    assert _found([(1, "1200")], conditions=()) is None


def test_the_question_is_asked_once() -> None:
    """Ours: what was measured asks it, and a breathing rate above 20 does not ask the same again."""
    fast = {Signal.RESPIRATION_RATE: [(1, "24")]}
    assert "breathing-muscles-early" in findings(chart(fast, conditions=(WEAK,)), Kind.METABOLIC)
    both = findings(chart({**fast, VC: [(1, "900")]}, conditions=(WEAK,)), Kind.METABOLIC)
    assert [one.key for one in asked_once(both.values())] == ["vital-capacity"]
