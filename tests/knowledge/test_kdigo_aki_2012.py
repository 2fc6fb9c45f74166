"""KDIGO 2012, section 2, Table 2. Vectors constructed from the table."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.sources import Mark


@pytest.mark.parametrize(
    ("ratio", "stage"),
    [
        pytest.param("1.0", 0, id="unchanged"),
        pytest.param("1.4999", 0, id="just-under-1.5"),
        pytest.param("1.5", 1, id="1.5-exactly"),
        pytest.param("1.9", 1, id="printed-end-of-stage-1"),
        pytest.param("1.9999", 1, id="just-under-2.0"),
        pytest.param("2.0", 2, id="2.0-exactly"),
        pytest.param("2.9", 2, id="printed-end-of-stage-2"),
        pytest.param("2.9999", 2, id="just-under-3.0"),
        pytest.param("3.0", 3, id="3.0-exactly"),
        pytest.param("12", 3, id="far-above"),
    ],
)
def test_stage_by_ratio(ratio: str, stage: int) -> None:
    """A stage begins at its printed ratio and not before."""
    assert kdigo.STAGE_BY_RATIO.points(Quantity(Decimal(ratio), Unit.RATIO)) == stage


@pytest.mark.parametrize(
    ("baseline", "current", "stage"),
    [
        pytest.param("80", "119", 0, id="1.4875"),
        pytest.param("80", "120", 1, id="1.5"),
        pytest.param("80", "159", 1, id="1.9875"),
        pytest.param("80", "160", 2, id="2.0"),
        pytest.param("80", "239", 2, id="2.9875"),
        pytest.param("80", "240", 3, id="3.0"),
        pytest.param("0.7", "1.05", 1, id="1.05-over-0.7-is-1.5-exactly"),
        pytest.param("70", "105", 1, id="105-over-70-is-1.5-exactly"),
    ],
)
def test_stage_of_a_pair(baseline: str, current: str, stage: int) -> None:
    """Decimal division keeps a ratio of exactly 1.5 at exactly 1.5."""
    assert kdigo.STAGE_BY_RATIO.points_of(Decimal(current) / Decimal(baseline)) == stage


@pytest.mark.property
@given(
    baseline=st.integers(min_value=5, max_value=3000),
    current=st.integers(min_value=5, max_value=3000),
)
def test_quotient_agrees_with_cross_multiplication(baseline: int, current: int) -> None:
    """The stage of a quotient is the stage by whole-number comparison, which cannot round."""
    expected = 0
    for stage, times_two in ((1, 3), (2, 4), (3, 6)):
        if 2 * current >= times_two * baseline:
            expected = stage
    assert kdigo.STAGE_BY_RATIO.points_of(Decimal(current) / Decimal(baseline)) == expected


class TestAbsoluteNumbers:
    """The printed pairs: 0.3 mg/dL with 26.5 umol/L, 4.0 mg/dL with 353.6 umol/L."""

    @pytest.mark.parametrize(("rise", "met"), [("26", False), ("26.4", False), ("26.5", True), ("30", True)])
    def test_rise_in_micromole(self, rise: str, met: bool) -> None:
        """Stage 1: an increase of at least 26.5 umol/L."""
        assert kdigo.STAGE_1_RISE.is_met(Quantity(Decimal(rise), Unit.MICROMOLE_PER_LITRE)) is met

    @pytest.mark.parametrize(("rise", "met"), [("0.29", False), ("0.3", True), ("0.30", True)])
    def test_rise_in_milligram(self, rise: str, met: bool) -> None:
        """Stage 1: an increase of at least 0.3 mg/dL."""
        assert kdigo.STAGE_1_RISE_MASS.is_met(Quantity(Decimal(rise), Unit.MILLIGRAM_PER_DECILITRE)) is met

    @pytest.mark.parametrize(("value", "met"), [("353.5", False), ("353.6", True), ("354", True)])
    def test_stage_3_in_micromole(self, value: str, met: bool) -> None:
        """Stage 3: an increase to at least 353.6 umol/L."""
        assert kdigo.STAGE_3_CREATININE.is_met(Quantity(Decimal(value), Unit.MICROMOLE_PER_LITRE)) is met

    @pytest.mark.parametrize(("value", "met"), [("3.99", False), ("4.0", True)])
    def test_stage_3_in_milligram(self, value: str, met: bool) -> None:
        """Stage 3: an increase to at least 4.0 mg/dL."""
        assert (
            kdigo.STAGE_3_CREATININE_MASS.is_met(Quantity(Decimal(value), Unit.MILLIGRAM_PER_DECILITRE))
            is met
        )

    def test_the_units_belong_together(self) -> None:
        """Creatinine has 113.12 g/mol, so 1 mg/dL is 88.4 umol/L; a slip to mmol/L fails here."""
        factor = Decimal(10000) / Decimal("113.12")
        for mass, amount in (
            (kdigo.STAGE_1_RISE_MASS, kdigo.STAGE_1_RISE),
            (kdigo.STAGE_3_CREATININE_MASS, kdigo.STAGE_3_CREATININE),
        ):
            assert abs(mass.limit.value * factor - amount.limit.value) < Decimal("0.1")

    @pytest.mark.parametrize(("egfr", "met"), [("34.9", True), ("35", False)])
    def test_child_filtration_rate(self, egfr: str, met: bool) -> None:
        """Under 18: stage 3 below 35 mL/min/1.73 m2, not at it."""
        assert kdigo.STAGE_3_CHILD_EGFR.is_met(Quantity(Decimal(egfr), Unit.EGFR)) is met


@pytest.mark.parametrize(
    ("volume", "hours", "stage"),
    [
        pytest.param("230", 6, 1, id="0.479-for-6-h"),
        pytest.param("240", 6, 0, id="0.500-for-6-h-is-not-below"),
        pytest.param("470", 12, 2, id="0.490-for-12-h"),
        pytest.param("480", 12, 0, id="0.500-for-12-h"),
        pytest.param("570", 24, 3, id="0.297-for-24-h"),
        pytest.param("576", 24, 2, id="0.300-for-24-h-is-not-below-0.3"),
        pytest.param("0", 12, 3, id="nothing-for-12-h"),
        pytest.param("50", 12, 3, id="50-mL-for-12-h-counts-as-none"),
        pytest.param("51", 12, 2, id="51-mL-for-12-h"),
    ],
)
def test_urine_rows(volume: str, hours: int, stage: int) -> None:
    """A person of 80 kg: the highest row whose rate and time are both reached, or anuria."""
    time = timedelta(hours=hours)
    rate = Decimal(volume) / (80 * hours)
    stages = [
        row.stage
        for row in kdigo.URINE_CRITERIA
        if time >= row.window.length and row.rate.is_met(Quantity(rate, Unit.MILLILITRE_PER_KILOGRAM_HOUR))
    ]
    if time >= kdigo.ANURIA_WINDOW.length and kdigo.ANURIA_VOLUME.is_met_by(Decimal(volume)):
        stages.append(kdigo.ANURIA_STAGE)
    assert max(stages, default=0) == stage


def test_windows() -> None:
    """48 hours for the rise, 7 days for the ratio."""
    assert kdigo.RISE_WINDOW.length == timedelta(hours=48)
    assert kdigo.RATIO_WINDOW.length == timedelta(days=7)


def test_what_the_guideline_does_not_print_is_marked() -> None:
    """Choices of ours, and what was not re-read, never look like confirmed print."""
    assert kdigo.ANURIA_VOLUME.source.mark is Mark.OUR_CHOICE
    assert kdigo.URINE_COVERAGE.source.mark is Mark.OUR_CHOICE
    assert kdigo.STAGE_3_NEEDS_ACUTE_RISE.source.mark is Mark.FROM_MEMORY
