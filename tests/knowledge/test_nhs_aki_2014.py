"""NHS England 2014 algorithm: its numbers at their edges. Vectors constructed from the flow."""

from datetime import timedelta
from decimal import Decimal

import pytest

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.model.numbers.quantities import Quantity, Unit


@pytest.mark.parametrize(
    ("newest", "reference", "stage"),
    [
        pytest.param("119", "80", 0, id="1.4875"),
        pytest.param("120", "80", 1, id="1.5"),
        pytest.param("159", "80", 1, id="1.9875"),
        pytest.param("160", "80", 2, id="2.0"),
        pytest.param("239", "80", 2, id="2.9875"),
        pytest.param("240", "80", 3, id="3.0"),
        pytest.param("134", "90", 0, id="1.489"),
        pytest.param("135", "90", 1, id="135-over-90"),
    ],
)
def test_stage_by_ratio(newest: str, reference: str, stage: int) -> None:
    """The newest result over the reference value."""
    assert nhs.STAGE_BY_RATIO.points_of(Decimal(newest) / Decimal(reference)) == stage


@pytest.mark.parametrize(
    ("rise", "nhs_met", "kdigo_met"),
    [
        pytest.param("26", False, False, id="26-neither"),
        pytest.param("26.1", True, False, id="26.1-nhs-only"),
        pytest.param("26.5", True, True, id="26.5-both"),
        pytest.param("27", True, True, id="27-both"),
    ],
)
def test_the_rise_differs_from_kdigo(rise: str, nhs_met: bool, kdigo_met: bool) -> None:
    """Strictly above 26 here, at least 26.5 in KDIGO: two printed numbers, never merged."""
    assert nhs.STAGE_1_RISE.is_met_by(Decimal(rise)) is nhs_met
    assert kdigo.STAGE_1_RISE.is_met_by(Decimal(rise)) is kdigo_met


@pytest.mark.parametrize(
    ("creatinine", "nhs_met", "kdigo_met"),
    [
        pytest.param("353.5", False, False, id="353.5-neither"),
        pytest.param("353.6", False, True, id="353.6-kdigo-only"),
        pytest.param("354", False, True, id="354-kdigo-only"),
        pytest.param("355", True, True, id="355-both"),
    ],
)
def test_stage_3_differs_from_kdigo(creatinine: str, nhs_met: bool, kdigo_met: bool) -> None:
    """Strictly above 354 here, at least 353.6 in KDIGO."""
    assert nhs.STAGE_3_CREATININE.is_met_by(Decimal(creatinine)) is nhs_met
    assert kdigo.STAGE_3_CREATININE.is_met_by(Decimal(creatinine)) is kdigo_met


@pytest.mark.parametrize(("creatinine", "met"), [("180", False), ("181", True), ("190", True)])
def test_child_upper_reference_limit(creatinine: str, met: bool) -> None:
    """Age 10, upper limit 60 umol/L: stage 3 strictly above three times the limit."""
    ratio = Quantity(Decimal(creatinine) / Decimal(60), Unit.RATIO)
    assert nhs.STAGE_3_CHILD_TIMES_UPPER_LIMIT.is_met(ratio) is met


def test_windows() -> None:
    """Seven days are 168 hours and a year is 365 times 24 hours; nothing lies between them."""
    assert nhs.RECENT_WINDOW.length == timedelta(hours=168)
    assert nhs.YEAR_WINDOW.length == timedelta(hours=365 * 24)
    assert nhs.RISE_WINDOW.length == timedelta(hours=48)


def test_review_times() -> None:
    """NICE QS76, statement 3: within 6 hours if acutely ill, 24 hours if stable."""
    assert nhs.STAGE_2_REVIEW_IF_ACUTELY_ILL.length == timedelta(hours=6)
    assert nhs.STAGE_2_REVIEW_IF_STABLE.length == timedelta(hours=24)


def test_the_result_is_a_warning_stage() -> None:
    """The laboratory's result is called a warning stage, not a diagnosis (NICE QS76)."""
    assert nhs.STAGE_WORDING == {
        1: "AKI warning stage 1",
        2: "AKI warning stage 2",
        3: "AKI warning stage 3",
    }
