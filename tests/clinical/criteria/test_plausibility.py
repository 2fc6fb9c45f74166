"""Artefact limits: both ends are inside, the next value is not."""

from decimal import Decimal

import pytest

from weatherglass.clinical.criteria import bedside_pews_2009 as pews
from weatherglass.clinical.criteria import news2_2017 as news2
from weatherglass.clinical.criteria import plausibility
from weatherglass.clinical.criteria.plausibility import PlausibleRange, limits_for
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import our_choice

EVERY_RANGE = [
    *plausibility.BEDSIDE_LIMITS.values(),
    *plausibility.CHILD_BEDSIDE_LIMITS.values(),
    *plausibility.HARD_LIMITS.values(),
]


@pytest.mark.parametrize("limits", EVERY_RANGE, ids=lambda limits: f"{limits.signal}-{limits.high}")
def test_both_ends_are_inside(limits: PlausibleRange) -> None:
    """The limits themselves can be true, a value beyond them cannot."""
    step = Decimal("0.01")
    assert limits.holds(limits.low)
    assert limits.holds(limits.high)
    assert not limits.holds(limits.low - step)
    assert not limits.holds(limits.high + step)


def test_a_fast_infant_is_not_an_artefact() -> None:
    """Bedside PEWS scores 91 breaths in a young infant; the adult limit would drop it."""
    fastest = pews.RESPIRATION_RATE[0].bands[-1].low
    assert fastest is not None
    child, adult = (limits_for(Signal.RESPIRATION_RATE, is_child=age) for age in (True, False))
    assert child is not None
    assert adult is not None
    assert child.holds(fastest)
    assert not adult.holds(fastest)


def test_limits_leave_room_for_every_scored_row() -> None:
    """No row of an adult score lies beyond the bedside limit of its signal."""
    for signal, table in (
        (Signal.RESPIRATION_RATE, news2.RESPIRATION_RATE),
        (Signal.PULSE, news2.PULSE),
        (Signal.SYSTOLIC_PRESSURE, news2.SYSTOLIC_PRESSURE),
        (Signal.TEMPERATURE, news2.TEMPERATURE),
        (Signal.SPO2, news2.SPO2_SCALE_2_ON_OXYGEN),
    ):
        limits = limits_for(signal, is_child=False)
        lowest, highest = table.bands[0].high, table.bands[-1].low
        assert limits is not None
        assert lowest is not None
        assert highest is not None
        assert limits.low < lowest
        assert highest < limits.high


def test_signals_without_limits() -> None:
    """Where nothing is known nothing is rejected."""
    assert limits_for(Signal.CRP, is_child=False) is None


def test_an_empty_range_is_refused() -> None:
    """Ends the wrong way round fail at import, not at a bedside."""
    with pytest.raises(ValueError, match="empty"):
        PlausibleRange(signal=Signal.PULSE, low=Decimal(300), high=Decimal(0), source=our_choice("example"))


def test_saturation_to_verify() -> None:
    """Below 70 wants a second look, 70 does not."""
    assert plausibility.SPO2_VERIFY.is_met_by(Decimal("69.9"))
    assert not plausibility.SPO2_VERIFY.is_met_by(Decimal(70))
