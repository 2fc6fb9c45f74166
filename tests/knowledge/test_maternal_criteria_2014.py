"""Maternal Early Warning Criteria, Obstet Gynecol 2014;124:782-786, table as reproduced."""

from decimal import Decimal

import pytest

from weatherglass.knowledge.scores import maternal_criteria_2014 as maternal
from weatherglass.model.signals import ACVPU, Consciousness
from weatherglass.model.tables.scores import CutoffTable


@pytest.mark.parametrize(
    ("table", "value", "met"),
    [
        pytest.param(table, value, met, id=f"{name}-{value}")
        for name, table, edges in (
            ("systolic", maternal.SYSTOLIC_PRESSURE, {"89": 1, "90": 0, "160": 0, "161": 1}),
            ("diastolic", maternal.DIASTOLIC_PRESSURE, {"100": 0, "101": 1, "40": 0}),
            ("pulse", maternal.PULSE, {"49": 1, "50": 0, "120": 0, "121": 1}),
            ("respiration", maternal.RESPIRATION_RATE, {"9": 1, "10": 0, "30": 0, "31": 1}),
            ("saturation", maternal.SPO2_ON_AIR, {"94": 1, "95": 0, "100": 0}),
            ("urine", maternal.URINE_RATE, {"34": 1, "35": 0, "34.9": 1}),
        )
        for value, met in edges.items()
    ],
)
def test_printed_inequalities_are_strict(table: CutoffTable, value: str, met: int) -> None:
    """A criterion is met past the printed number, never at it."""
    assert table.points_of(Decimal(value)) == met


@pytest.mark.parametrize("answer", ACVPU)
def test_anything_but_alert(answer: Consciousness) -> None:
    """Agitation, confusion or unresponsiveness is a criterion."""
    assert maternal.CONSCIOUSNESS.points_of(answer) == (0 if answer is Consciousness.ALERT else 1)


@pytest.mark.parametrize(("met", "urgency"), [(0, "routine"), (1, "urgent"), (4, "urgent")])
def test_one_criterion_is_enough(met: int, urgency: str) -> None:
    """Any single criterion asks for urgent bedside evaluation."""
    tier = maternal.MATERNAL_CRITERIA.tier_for(total=met, highest_single=min(met, 1))
    assert tier is not None
    assert tier.urgency == urgency


def test_urine_is_not_required() -> None:
    """Where urine is not measured the other criteria can still be complete."""
    optional = {row.key for row in maternal.MATERNAL_CRITERIA.parameters if not row.required}
    assert optional == {"urine-output"}
