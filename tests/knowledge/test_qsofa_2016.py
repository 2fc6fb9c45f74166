"""qSOFA, JAMA 2016;315:801-810."""

from decimal import Decimal

import pytest

from weatherglass.knowledge.scores import qsofa_2016 as qsofa
from weatherglass.model.signals import ACVPU, Consciousness


@pytest.mark.parametrize(
    ("breaths", "pressure", "scale", "total", "tier"),
    [
        ("22", "101", "15", 1, qsofa.NEGATIVE),
        ("21", "100", "15", 1, qsofa.NEGATIVE),
        ("21", "101", "15", 0, qsofa.NEGATIVE),
        ("22", "100", "15", 2, qsofa.POSITIVE),
        ("22", "100", "14", 3, qsofa.POSITIVE),
    ],
)
def test_at_the_printed_numbers(breaths: str, pressure: str, scale: str, total: int, tier: object) -> None:
    """A point at 22 breaths or more, at 100 mmHg or less, below 15 (constructed)."""
    found = (
        qsofa.RESPIRATION_RATE.points_of(Decimal(breaths))
        + qsofa.SYSTOLIC_PRESSURE.points_of(Decimal(pressure))
        + qsofa.GCS_TOTAL.points_of(Decimal(scale))
    )
    assert found == total
    assert qsofa.QSOFA.tier_for(total=found, highest_single=1) is tier


@pytest.mark.parametrize("answer", ACVPU)
def test_altered_mentation_is_anything_but_alert(answer: Consciousness) -> None:
    """Our reading of "altered mentation" on the ACVPU scale."""
    assert qsofa.CONSCIOUSNESS.points_of(answer) == (0 if answer is Consciousness.ALERT else 1)
