"""Which equation estimates whose kidney function, and what it needs."""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.kidneys.equations import (
    BEDSIDE_SCHWARTZ,
    CKD_EPI_2009,
    CKD_EPI_2021,
    COCKCROFT_GAULT,
    HIGHEST_AGE,
    Equation,
    back_calculated_creatinine,
    bedside_schwartz,
    ckd_epi_2009,
    ckd_epi_2021,
    cockcroft_gault,
)
from weatherglass.model.findings import Missing, MissingReason
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.subject import Sex

ADULT_FROM: Final = CKD_EPI_2021.lowest_age


class Estimate(Plain, frozen=True):
    """One estimate, with everything that went into it.

    Attributes:
        value: Unrounded, in the equation's unit.
        size: The height or weight used, None where the equation takes none.
    """

    equation: Equation
    value: Decimal
    creatinine: Measurement
    age: int
    size: Measurement | None = None


def filtration_rate(
    creatinine: Measurement,
    *,
    age: int | None,
    sex: Sex,
    height: Measurement | None,
    equation: str,
) -> Estimate | Missing:
    """Estimate the filtration rate: by a site's CKD-EPI equation from 18, by Schwartz below.

    Args:
        creatinine: The result.
        age: Completed years when the sample was taken.
        sex: As recorded.
        height: Needed under 18 only.
        equation: "ckd-epi-2021" or "ckd-epi-2009".

    Returns:
        The estimate, or the one input that it fails for.
    """
    if age is None or not BEDSIDE_SCHWARTZ.lowest_age <= age <= HIGHEST_AGE or creatinine.value <= 0:
        reason = MissingReason.NOT_RECORDED if age is None else MissingReason.IMPLAUSIBLE
        return Missing(key="age", label="age", reason=reason)
    if age < ADULT_FROM:
        if height is None or height.value <= 0:
            return Missing(key="height", label="height", reason=MissingReason.NOT_RECORDED)
        value = bedside_schwartz(creatinine_umol_l=creatinine.value, height_cm=height.value, age_years=age)
        return Estimate(BEDSIDE_SCHWARTZ, value, creatinine, age, height)
    if sex not in (Sex.FEMALE, Sex.MALE):
        return Missing(key="sex", label="sex", reason=MissingReason.NOT_RECORDED)
    female = sex is Sex.FEMALE
    if equation == CKD_EPI_2009.key:
        value = ckd_epi_2009(creatinine_umol_l=creatinine.value, age_years=age, female=female)
        return Estimate(CKD_EPI_2009, value, creatinine, age)
    value = ckd_epi_2021(creatinine_umol_l=creatinine.value, age_years=age, female=female)
    return Estimate(CKD_EPI_2021, value, creatinine, age)


def clearance(
    creatinine: Measurement, *, age: int | None, sex: Sex, weight: Measurement | None
) -> Estimate | None:
    """Estimate creatinine clearance by Cockcroft-Gault; None without an adult's weight and sex."""
    age = _adult(age, sex)
    if age is None or weight is None or weight.value <= 0 or creatinine.value <= 0:
        return None
    value = cockcroft_gault(
        creatinine_umol_l=creatinine.value,
        age_years=age,
        weight_kg=weight.value,
        female=sex is Sex.FEMALE,
    )
    return Estimate(COCKCROFT_GAULT, value, creatinine, age, weight)


def estimated_baseline(*, age: int | None, sex: Sex) -> Decimal | None:
    """Return the creatinine that would give an eGFR of 75; None where it cannot be known."""
    age = _adult(age, sex)
    if age is None:
        return None
    return back_calculated_creatinine(age_years=age, female=sex is Sex.FEMALE)


def _adult(age: int | None, sex: Sex) -> int | None:
    """Return the age of somebody whom the equations mean; None where age or sex leaves that open."""
    is_meant = age is not None and ADULT_FROM <= age <= HIGHEST_AGE and sex in (Sex.FEMALE, Sex.MALE)
    return age if is_meant else None
