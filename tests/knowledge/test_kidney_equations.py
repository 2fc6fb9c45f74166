"""Kidney equations against worked values and a published example."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.knowledge.kidneys import equations as kidney
from weatherglass.knowledge.kidneys.equations import (
    AgeOutOfRangeError,
    back_calculated_creatinine,
    bedside_schwartz,
    ckd_epi_2009,
    ckd_epi_2021,
    cockcroft_gault,
    egfr_in_words,
)

creatinines = st.decimals(min_value=20, max_value=1500, places=1)
adult_ages = st.integers(min_value=18, max_value=110)


@pytest.mark.parametrize(
    ("creatinine", "age", "sex", "by_2021", "by_2009"),
    [
        # Worked from the printed equations, 88.4 umol/L to the mg/dL.
        ("80", 50, "M", "103.36", "98.58"),
        ("80", 50, "F", "77.37", "74.06"),
        ("60", 30, "F", "120.13", "117.45"),
        ("79.56", 40, "M", "110.73", "106.46"),
        ("61.88", 40, "F", "112.05", "108.38"),
        ("88.4", 60, "M", "86.16", "81.44"),
        ("88.4", 60, "F", "64.50", "61.19"),
        ("150", 75, "M", "41.61", "38.68"),
        ("150", 75, "F", "31.15", "29.06"),
        ("300", 68, "M", "18.92", "17.57"),
        ("500", 55, "M", "11.11", "10.38"),
        ("45", 85, "F", "91.46", "87.73"),
    ],
)
def test_ckd_epi(creatinine: str, age: int, sex: str, by_2021: str, by_2009: str) -> None:
    """Both equations, on both sides of their knee, to two decimals."""
    female = sex == "F"
    level = Decimal(creatinine)
    found_2021 = ckd_epi_2021(creatinine_umol_l=level, age_years=age, female=female)
    found_2009 = ckd_epi_2009(creatinine_umol_l=level, age_years=age, female=female)
    assert round(found_2021, 2) == Decimal(by_2021)
    assert round(found_2009, 2) == Decimal(by_2009)


def test_published_example() -> None:
    """A woman of 55 with 0.9 mg/dL: "about 76" in a patient-education example, 75.5 by hand."""
    level = Decimal("0.9") * kidney.MICROMOLE_PER_MILLIGRAM
    found = ckd_epi_2021(creatinine_umol_l=level, age_years=55, female=True)
    assert abs(found - 76) < 1
    assert round(found, 1) == Decimal("75.5")


@pytest.mark.property
@given(creatinine=creatinines, age=adult_ages, female=st.booleans())
def test_decimal_powers_agree_with_floats(creatinine: Decimal, age: int, female: bool) -> None:
    """The same equation in binary floating point gives the same twelve digits."""
    knee, power = (0.7, -0.241) if female else (0.9, -0.302)
    relative = float(creatinine) / 88.4 / knee
    expected = 142 * min(relative, 1) ** power * max(relative, 1) ** -1.2 * 0.9938**age
    expected *= 1.012 if female else 1
    found = ckd_epi_2021(creatinine_umol_l=creatinine, age_years=age, female=female)
    assert float(found) == pytest.approx(expected, rel=1e-12)


@pytest.mark.property
@given(creatinine=creatinines, age=adult_ages, female=st.booleans())
def test_the_quicker_power_gives_the_digits_of_the_exact_one(
    creatinine: Decimal, age: int, female: bool
) -> None:
    """Twenty-four digits of Python's own decimal power, far beyond the whole number that is told."""
    knee, power = (Decimal("0.7"), Decimal("-0.241")) if female else (Decimal("0.9"), Decimal("-0.302"))
    relative = creatinine / kidney.MICROMOLE_PER_MILLIGRAM / knee
    exact = 142 * min(relative, Decimal(1)) ** power * max(relative, Decimal(1)) ** Decimal("-1.2")
    exact *= Decimal("0.9938") ** age * (Decimal("1.012") if female else 1)
    found = ckd_epi_2021(creatinine_umol_l=creatinine, age_years=age, female=female)
    assert abs(found / exact - 1) < Decimal("1e-24")


@pytest.mark.property
@given(creatinine=creatinines, age=adult_ages, female=st.booleans())
def test_more_creatinine_or_age_never_means_more_filtration(
    creatinine: Decimal, age: int, female: bool
) -> None:
    """Both equations fall with creatinine and with age."""
    for equation in (ckd_epi_2021, ckd_epi_2009):
        here = equation(creatinine_umol_l=creatinine, age_years=age, female=female)
        assert equation(creatinine_umol_l=creatinine + 1, age_years=age, female=female) < here
        assert equation(creatinine_umol_l=creatinine, age_years=age + 1, female=female) < here


@pytest.mark.parametrize(("height", "creatinine", "rate"), [("110", "40", "100.4"), ("95", "120", "28.9")])
def test_bedside_schwartz(height: str, creatinine: str, rate: str) -> None:
    """0.413 x height / creatinine in mg/dL, worked by hand."""
    found = bedside_schwartz(creatinine_umol_l=Decimal(creatinine), height_cm=Decimal(height), age_years=6)
    assert round(found, 1) == Decimal(rate)


@pytest.mark.parametrize(("female", "clearance"), [(False, "60.3"), (True, "51.0")])
def test_cockcroft_gault(female: bool, clearance: str) -> None:
    """100 umol/L, 70 years, 70 kg, worked by hand from the umol/L form."""
    found = cockcroft_gault(
        creatinine_umol_l=Decimal(100), age_years=70, weight_kg=Decimal(70), female=female
    )
    assert round(found, 1) == Decimal(clearance)


@pytest.mark.property
@given(
    creatinine=creatinines,
    age=st.integers(min_value=18, max_value=100),
    weight=st.integers(min_value=35, max_value=200),
    female=st.booleans(),
)
def test_cockcroft_gault_in_its_two_printed_forms(
    creatinine: Decimal, age: int, weight: int, female: bool
) -> None:
    """The form for mg/dL, (140 - age) x kg / (72 x Scr) [x 0.85], differs by less than 1%."""
    metric = cockcroft_gault(
        creatinine_umol_l=creatinine, age_years=age, weight_kg=Decimal(weight), female=female
    )
    mass = float(creatinine) / 88.4
    other = (140 - age) * weight / (72 * mass) * (0.85 if female else 1)
    assert float(metric) == pytest.approx(other, rel=0.01)


@pytest.mark.parametrize(
    ("age", "male", "female"),
    [(20, "108.8", "84.0"), (40, "96.3", "74.3"), (65, "88.4", "68.3"), (80, "85.2", "65.8")],
)
def test_back_calculated_creatinine(age: int, male: str, female: str) -> None:
    """MDRD with 175 solved for an eGFR of 75, worked by hand."""
    assert round(back_calculated_creatinine(age_years=age, female=False), 1) == Decimal(male)
    assert round(back_calculated_creatinine(age_years=age, female=True), 1) == Decimal(female)


@pytest.mark.property
@given(age=adult_ages, female=st.booleans())
def test_back_calculation_undoes_the_equation(age: int, female: bool) -> None:
    """Put back into MDRD, the baseline gives 75 again."""
    mass = float(back_calculated_creatinine(age_years=age, female=female)) / 88.4
    rate = 175 * mass**-1.154 * age**-0.203 * (0.742 if female else 1)
    assert math.isclose(rate, 75, rel_tol=1e-9)


class TestLimits:
    """What an equation is not published for is refused, not estimated."""

    @pytest.mark.parametrize("age", [-1, 0, 17, 121])
    def test_adult_equations_refuse_other_ages(self, age: int) -> None:
        """18 and over."""
        level, weight = Decimal(80), Decimal(70)
        with pytest.raises(AgeOutOfRangeError):
            ckd_epi_2021(creatinine_umol_l=level, age_years=age, female=True)
        with pytest.raises(AgeOutOfRangeError):
            ckd_epi_2009(creatinine_umol_l=level, age_years=age, female=True)
        with pytest.raises(AgeOutOfRangeError):
            cockcroft_gault(creatinine_umol_l=level, age_years=age, weight_kg=weight, female=True)
        with pytest.raises(AgeOutOfRangeError) as caught:
            back_calculated_creatinine(age_years=age, female=True)
        assert caught.value.age_years == age
        assert caught.value.equation is kidney.MDRD_75

    @pytest.mark.parametrize("age", [0, 18])
    def test_schwartz_refuses_infants_and_adults(self, age: int) -> None:
        """1 to 17 completed years."""
        with pytest.raises(AgeOutOfRangeError):
            bedside_schwartz(creatinine_umol_l=Decimal(40), height_cm=Decimal(110), age_years=age)

    @pytest.mark.parametrize("age", [1, 17])
    def test_schwartz_takes_both_ends(self, age: int) -> None:
        """Both ends of the range are in it."""
        assert bedside_schwartz(creatinine_umol_l=Decimal(40), height_cm=Decimal(110), age_years=age) > 0

    @pytest.mark.parametrize("value", ["0", "-1"])
    def test_impossible_measurements(self, value: str) -> None:
        """Zero creatinine, weight or height is an error, never an infinite clearance."""
        wrong, right = Decimal(value), Decimal(80)
        with pytest.raises(ValueError, match="creatinine"):
            ckd_epi_2021(creatinine_umol_l=wrong, age_years=50, female=True)
        with pytest.raises(ValueError, match="creatinine"):
            ckd_epi_2009(creatinine_umol_l=wrong, age_years=50, female=True)
        with pytest.raises(ValueError, match="weight"):
            cockcroft_gault(creatinine_umol_l=right, age_years=50, weight_kg=wrong, female=True)
        with pytest.raises(ValueError, match="height"):
            bedside_schwartz(creatinine_umol_l=right, height_cm=wrong, age_years=5)


@pytest.mark.parametrize(
    ("rate", "text"), [("90.4", "90"), ("90.5", ">90"), ("59.5", "60"), ("59.49", "59"), ("7.2", "7")]
)
def test_in_words(rate: str, text: str) -> None:
    """Whole numbers, halves upwards, ">90" only in text."""
    assert egfr_in_words(Decimal(rate)) == text
