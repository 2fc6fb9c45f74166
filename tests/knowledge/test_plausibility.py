"""Artefact limits: both ends are inside, the next value is not."""

from decimal import Decimal

import pytest

from weatherglass.knowledge.limits import plausibility
from weatherglass.knowledge.limits.plausibility import PlausibleRange, limits_for
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.scores import news2_2017 as news2
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice

EVERY_RANGE = [
    *plausibility.BEDSIDE_LIMITS.values(),
    *plausibility.CHILD_BEDSIDE_LIMITS.values(),
    *plausibility.HARD_LIMITS.values(),
]


#: The limits, typed a second time: ours, and "outlier low, outlier high" of MIMIC-Extract's
#: variable_ranges.csv (220 mmHg are 29.3 kPa, 66 mg/dL of bilirubin are 1129 umol/L). The parts of
#: the coma scale: Teasdale and Jennett, Lancet 1974, from memory.
TYPED_AGAIN = {
    "respiration-rate": "0 80",
    "pulse": "0 300",
    "systolic-pressure": "20 300",
    "diastolic-pressure": "10 200",
    "spo2": "40 100",
    "temperature": "25 45",
    "haemoglobin": "20 250",
    "potassium": "1 12",
    "potassium-gas": "1 12",
    "sodium": "90 200",
    "sodium-gas": "90 200",
    "creatinine": "5 3000",
    "lactate": "0.1 40",
    "glucose": "0.3 100",
    "calcium-total": "0.5 8",
    "calcium-adjusted": "0.5 8",
    "calcium-ionised": "0.2 4",
    "phosphate": "0.05 15",
    "chloride": "50 200",
    "albumin": "3 100",
    "alt": "0 100000",
    "corrected-qt": "150 1000",
    "qrs-duration": "40 400",
    "vital-capacity": "50 8000",
    "ast": "0 100000",
    "urine-rate-for-weight": "0 50",
    "fluid-intake": "0 30000",
    "fluid-output": "0 30000",
    "mean-pressure": "0 375",
    "fio2": "0.2 1.1",
    "gcs-total": "3 15",
    "gcs-eye": "1 4",
    "gcs-verbal": "1 5",
    "gcs-motor": "1 6",
    "ph-arterial": "6.3 10",
    "ph-venous": "6.3 10",
    "pco2-arterial": "0 29.3",
    "pco2-venous": "0 29.3",
    "platelets": "0 2200",
    "white-cells": "0 1100",
    "bilirubin": "0 1129",
    "bile-acids": "0 2000",
    "carboxyhaemoglobin": "0 100",
    "methaemoglobin": "0 100",
    "fetal-heart": "20 300",
    "urate": "10 4000",
    "nt-probnp": "0 300000",
    "ammonia": "1 3000",
    "bnp": "0 100000",
    "haematocrit": "5 90",
    "lipase": "0 100000",
    "amylase": "0 100000",
    "tsh": "0 1500",
}


def test_limits_are_as_typed_again() -> None:
    """Two independent typings agree, and no signal has two adult limits."""
    assert not plausibility.BEDSIDE_LIMITS.keys() & plausibility.HARD_LIMITS.keys()
    found = {**plausibility.BEDSIDE_LIMITS, **plausibility.HARD_LIMITS}
    expected = {
        Signal(name): tuple(Decimal(end) for end in ends.split()) for name, ends in TYPED_AGAIN.items()
    }
    assert {signal: (limits.low, limits.high) for signal, limits in found.items()} == expected


def test_child_and_unit_limits() -> None:
    """National paediatric specification: breathing rates of 0 to 150 can be entered; under 16."""
    child = plausibility.CHILD_BEDSIDE_LIMITS[Signal.RESPIRATION_RATE]
    assert (child.low, child.high) == (Decimal(0), Decimal(150))
    assert plausibility.CHILD_BELOW.years == 16


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
