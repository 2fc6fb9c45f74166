"""Modules of single limits: shock index, oxygen targets, sepsis strata, trends, baseline."""

from datetime import timedelta
from decimal import Decimal

import pytest

from weatherglass.knowledge.breathing import oxygen_targets
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.knowledge.scores import maternal_criteria_2014 as maternal
from weatherglass.knowledge.scores import news2_2017 as news2
from weatherglass.knowledge.scores import shock_index
from weatherglass.knowledge.sepsis import sepsis_strata
from weatherglass.knowledge.signs import trend_limits as trend
from weatherglass.model.numbers.statistics import log_normal_reference_change, reference_change
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clauses import AgeLimit, Share, Window


class TestShockIndex:
    """Pulse over systolic pressure."""

    @pytest.mark.parametrize(
        ("pulse", "pressure", "raised", "high"),
        [
            ("80", "120", False, False),
            ("89", "100", False, False),
            ("90", "100", True, False),
            ("99", "100", True, False),
            ("100", "100", True, True),
        ],
    )
    def test_cut_offs(self, pulse: str, pressure: str, raised: bool, high: bool) -> None:
        """0.9 is raised and 1.0 is high, each at the number itself (constructed)."""
        index = Decimal(pulse) / Decimal(pressure)
        assert shock_index.RAISED.is_met_by(index) is raised
        assert shock_index.HIGH.is_met_by(index) is high

    def test_age_shock_index(self) -> None:
        """80 years, pulse 80, pressure 120: 53.3, above 50 (constructed)."""
        index = 80 * Decimal(80) / Decimal(120)
        assert round(index, 1) == Decimal("53.3")
        assert shock_index.AGE_HIGH.is_met_by(index)
        assert not shock_index.AGE_HIGH.is_met_by(Decimal("49.9"))


class TestOxygenTargets:
    """BTS 2017: 94-98% and 88-92%."""

    @pytest.mark.parametrize(
        ("target", "percent", "above"),
        [
            (oxygen_targets.MOST_ADULTS, "98", False),
            (oxygen_targets.MOST_ADULTS, "99", True),
            (oxygen_targets.RISK_OF_HYPERCAPNIA, "92", False),
            (oxygen_targets.RISK_OF_HYPERCAPNIA, "93", True),
        ],
        ids=["94-98-at-98", "94-98-at-99", "88-92-at-92", "88-92-at-93"],
    )
    def test_above_the_range(self, target: oxygen_targets.TargetRange, percent: str, above: bool) -> None:
        """The upper end is inside; the next whole number is above."""
        assert target.above.is_met_by(Decimal(percent)) is above

    def test_printed_ranges(self) -> None:
        """Two ranges, as the guideline prints them."""
        ranges = [(target.low, target.high) for target in oxygen_targets.TARGET_RANGES]
        assert ranges == [(Decimal(94), Decimal(98)), (Decimal(88), Decimal(92))]


class TestSepsisStrata:
    """NICE NG51, 1.11.5, and the times of the Academy's statement."""

    @pytest.mark.parametrize(
        ("total", "label", "hours"),
        [
            (0, "very low", None),
            (1, "low", 6),
            (4, "low", 6),
            (5, "moderate", 3),
            (6, "moderate", 3),
            (7, "high", 1),
            (20, "high", 1),
        ],
    )
    def test_strata(self, total: int, label: str, hours: int | None) -> None:
        """Each stratum begins at its printed total."""
        stratum = next(row for row in sepsis_strata.STRATA if total >= row.at_least)
        within = None if hours is None else timedelta(hours=hours)
        assert (stratum.label, stratum.antimicrobial_within) == (label, within)

    def test_lactate(self) -> None:
        """Above 2 mmol/L, not at it; from memory."""
        assert not sepsis_strata.LACTATE_RAISES_RISK.is_met_by(Decimal("2.0"))
        assert sepsis_strata.LACTATE_RAISES_RISK.is_met_by(Decimal("2.1"))
        assert sepsis_strata.LACTATE_RAISES_RISK.source.mark is Mark.FROM_MEMORY


@pytest.mark.parametrize(
    ("cutoff", "not_met", "met"),
    [
        # NICE NG51 2016, adults, as printed in Scand J Trauma Resusc Emerg Med 2019, table 1.
        pytest.param(trend.PRESSURE_LOW, "91", "90", id="systolic-90-or-less"),
        pytest.param(trend.PRESSURE_FALL, "40", "41", id="fall-of-more-than-40"),
        pytest.param(trend.PULSE_HIGH, "130", "131", id="pulse-more-than-130"),
        pytest.param(trend.OXYGEN_HIGH_NEED, "0.40", "0.41", id="more-than-40-percent"),
        # ISTH 2005 and VARC 2011: falls of 2, 3 and 5 g/dL.
        pytest.param(trend.HAEMOGLOBIN_FALL, "19", "20", id="isth-20-g-per-L"),
        pytest.param(trend.HAEMOGLOBIN_FALL_MAJOR, "29", "30", id="varc-30-g-per-L"),
        pytest.param(trend.HAEMOGLOBIN_FALL_LIFE_THREATENING, "49", "50", id="varc-50-g-per-L"),
        # Surviving Sepsis Campaign hour-1 bundle.
        pytest.param(trend.PRESSURE_MEAN_TARGET, "65", "64", id="mean-pressure-below-65"),
        # Ours or from memory, at the stated number.
        pytest.param(trend.SCORE_RISE, "1", "2", id="score-rise-2"),
        pytest.param(trend.SCORE_RISE_FLOOR, "2", "3", id="score-rise-to-3"),
        pytest.param(trend.SUSTAINED_HIGH, "4", "5", id="sustained-5"),
        pytest.param(trend.PULSE_RISE, "29", "30", id="pulse-rise-30"),
        pytest.param(trend.PULSE_RISE_FLOOR, "110", "111", id="pulse-above-110"),
        pytest.param(trend.OXYGEN_FRACTION_STEP, "0.09", "0.10", id="fio2-step"),
        pytest.param(trend.OXYGEN_FLOW_STEP, "1.9", "2", id="flow-step"),
        pytest.param(trend.OXYGEN_FLOW_LESS, "0.9", "1", id="flow-less"),
        pytest.param(trend.PRESSURE_FALL_CERTAIN, "100", "99", id="fall-certain-below-100"),
        pytest.param(trend.GCS_FALL, "1", "2", id="gcs-fall-2"),
        pytest.param(trend.SODIUM_CHANGE, "10", "11", id="sodium-change-more-than-10"),
    ],
)
def test_trend_limits_at_their_numbers(cutoff: Cutoff, not_met: str, met: str) -> None:
    """Each limit holds on its printed side and not one step before."""
    assert not cutoff.is_met_by(Decimal(not_met))
    assert cutoff.is_met_by(Decimal(met))


def test_reference_changes_of_the_stated_variation() -> None:
    """Creatinine 14.7%, haemoglobin 8.2% (worked by hand), CRP +152% and -60%."""
    found = {}
    for row in trend.BIOLOGICAL_VARIATION:
        form = log_normal_reference_change if row.form == "log-normal" else reference_change
        found[row.signal] = form(analytical_cv=row.analytical_cv, within_subject_cv=row.within_subject_cv)
    assert round(found[Signal.CREATININE].rise, 1) == Decimal("14.7")
    assert round(found[Signal.HAEMOGLOBIN].rise, 1) == Decimal("8.2")
    assert (round(found[Signal.CRP].rise), round(found[Signal.CRP].fall)) == (152, -60)


def test_published_reference_changes() -> None:
    """J Clin Lab Anal 2013;27:438, abstract."""
    printed = {row.signal: row.percent for row in trend.PUBLISHED_REFERENCE_CHANGES}
    assert printed == {
        Signal.SODIUM: Decimal("3.25"),
        Signal.POTASSIUM: Decimal("12.81"),
        Signal.UREA: Decimal("16.5"),
        Signal.ALBUMIN: Decimal("12.57"),
    }


def test_no_analyte_has_two_reference_changes() -> None:
    """A change is judged by one rule."""
    computed = {row.signal for row in trend.BIOLOGICAL_VARIATION}
    printed = {row.signal for row in trend.PUBLISHED_REFERENCE_CHANGES}
    assert not computed & printed


class TestKidneyBaseline:
    """Order of the candidates."""

    def test_order(self) -> None:
        """Measured first; the estimate is last, has to be asked for and is only possible."""
        assert [rule.key for rule in kidney_baseline.ORDER] == [
            "lowest-7-days",
            "median-8-365-days",
            "mdrd75-estimated",
        ]
        assert [rule.opt_in for rule in kidney_baseline.ORDER] == [False, False, True]
        assert kidney_baseline.BACK_CALCULATED.certainty == "possible"

    def test_windows_touch(self) -> None:
        """No result falls between the week and the year."""
        week, year = kidney_baseline.LOWEST_OF_WEEK, kidney_baseline.MEDIAN_OF_YEAR
        assert week.not_older_than == year.older_than == timedelta(days=7)
        assert year.not_older_than == timedelta(days=365)


@pytest.mark.parametrize(
    ("window", "hours"),
    [
        # Ours.
        pytest.param(trend.SCORE_RISE_WINDOW, 24, id="score-rise"),
        pytest.param(trend.REPEAT_AFTER, 12, id="repeat-after"),
        pytest.param(trend.PRESSURE_BASELINE_WINDOW, 7 * 24, id="pressure-baseline"),
        pytest.param(trend.PRESSURE_BASELINE_EXCLUDES, 6, id="pressure-baseline-excludes"),
        pytest.param(trend.PULSE_WINDOW, 24, id="pulse"),
        pytest.param(trend.OXYGEN_WINDOW, 24, id="oxygen"),
        pytest.param(trend.GCS_WINDOW, 24, id="gcs"),
        pytest.param(trend.HAEMOGLOBIN_WINDOW, 48, id="haemoglobin"),
        pytest.param(trend.SODIUM_WINDOW, 24, id="sodium"),
        # KDIGO 2012 and ADQI 2017, and our rule that recovery takes two results a day apart.
        pytest.param(kdigo.ANURIA_WINDOW, 12, id="anuria"),
        pytest.param(kdigo.INJURY_LASTS, 7 * 24, id="injury"),
        pytest.param(kdigo.DISEASE_LASTS, 90 * 24, id="kidney-disease"),
        pytest.param(kdigo.PERSISTENT_AFTER, 48, id="persistent"),
        pytest.param(kdigo.RECOVERY_CONFIRMED_AFTER, 24, id="recovery"),
        # NICE NG148, from memory.
        pytest.param(nhs.STAGE_3_NEPHROLOGY, 24, id="nephrology"),
        # Maternal Early Warning Criteria: oliguria for at least 2 hours.
        pytest.param(maternal.URINE_WINDOW, 2, id="maternal-urine"),
        # Ours: recently pregnant is up to 42 days.
        pytest.param(news2.RECENTLY_PREGNANT, 42 * 24, id="recently-pregnant"),
    ],
)
def test_windows(window: Window, hours: int) -> None:
    """Every window has its stated length."""
    assert window.length == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("limit", "years", "days"),
    [
        pytest.param(news2.MINIMUM_AGE, 16, 0, id="news2-from-16"),
        pytest.param(kdigo.ADULT_AGE, 18, 0, id="kdigo-children-under-18"),
        pytest.param(nhs.ADULT_AGE, 18, 0, id="nhs-children-under-18"),
        pytest.param(nhs.MINIMUM_AGE, 0, 29, id="nhs-from-29-days"),
        pytest.param(shock_index.MINIMUM_AGE, 16, 0, id="shock-index-from-16"),
    ],
)
def test_ages(limit: AgeLimit, years: int, days: int) -> None:
    """Every age limit is where its source puts it."""
    assert (limit.years, limit.days) == (years, days)


@pytest.mark.parametrize(
    ("share", "value"),
    [
        pytest.param(trend.SUSTAINED_SETS, "2", id="sustained-sets"),
        pytest.param(trend.PRESSURE_BASELINE_READINGS, "3", id="baseline-readings"),
        pytest.param(kdigo.URINE_COVERAGE, "0.8", id="urine-coverage"),
    ],
)
def test_shares(share: Share, value: str) -> None:
    """Plain numbers, typed a second time."""
    assert share.value == Decimal(value)


def test_other_single_numbers() -> None:
    """What is neither a window nor a share: held saturations, low pressures, recovery."""
    for cutoff, not_met, met in (
        (trend.OXYGEN_HELD_AT, "92", "93"),
        (trend.OXYGEN_HELD_AT_COPD, "88", "89"),
        (trend.PRESSURE_MODERATE_LOW, "101", "100"),
        (kdigo.RECOVERING_SHARE_OF_PEAK, "0.68", "0.67"),
        (sepsis_strata.SCREEN_FOR_INFECTION, "4", "5"),
        (news2.URGENT_RESPONSE, "4", "5"),
        (news2.EMERGENCY_RESPONSE, "6", "7"),
    ):
        assert not cutoff.is_met_by(Decimal(not_met)), cutoff.printed
        assert cutoff.is_met_by(Decimal(met)), cutoff.printed
    assert kidney_baseline.RESULTS_THAT_MUST_REMAIN == 2
    assert (news2.SCALE_2_LOWEST_TARGET.value, news2.SCALE_2_HIGHEST_TARGET.value) == (
        Decimal(88),
        Decimal(92),
    )


def test_variation_of_platelets_is_the_higher_end() -> None:
    """7-9% from memory: the higher end claims less."""
    (row,) = [row for row in trend.BIOLOGICAL_VARIATION if row.signal is Signal.PLATELETS]
    assert (row.analytical_cv, row.within_subject_cv) == (Decimal("2.0"), Decimal(9))
