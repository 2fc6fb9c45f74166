"""Kidney function from creatinine: five published equations and their limits.

`Decimal` in, `Decimal` out, unrounded (28 digits); `egfr_in_words` rounds for display
only. Powers are taken with `Decimal`, in a context of our own, so that no binary
rounding stands between a result and a cut-off and every machine prints the same digits.

None of the equations holds while creatinine is changing (acute kidney injury), in
pregnancy, on dialysis or at extremes of muscle mass. That is known to the caller, not
to an equation: mark the result, and never call a dose safe because of it.

Left out, with reasons:
    Race coefficients: the 2009 equation is used without its factor, as NICE NG203
    recommends; the 2021 equation has none.
    Cystatin C: not among the signals that are read.
"""

from decimal import Context, Decimal, localcontext
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.sent_units import in_milligrams
from weatherglass.model.numbers.quantities import Unit, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice

_CONTEXT: Final = Context(prec=28)

#: Creatinine in mg/dL times this is creatinine in umol/L; printed pair 4.0 and 353.6.
MICROMOLE_PER_MILLIGRAM: Final = in_milligrams(Signal.CREATININE).multiply
#: Ours: beyond this a date of birth is wrong sooner than an equation is right.
HIGHEST_AGE: Final = 120


class Equation(Plain, frozen=True, kw_only=True):
    """What is known about one equation, for results and for the catalogue.

    Attributes:
        key: The name in results.
        name: The name in a sentence.
        lowest_age: The youngest age in completed years that it is published for.
        highest_age: The oldest age that it is used for.
        limits: When not to rely on it.
        source: Where it is printed.
    """

    key: str
    name: str
    unit: Unit
    lowest_age: int
    highest_age: int
    limits: str
    source: Source

    def check_age(self, age_years: int) -> None:
        """Refuse an age that the equation is not published for.

        Raises:
            AgeOutOfRangeError: If the age is outside the equation's range.
        """
        if not self.lowest_age <= age_years <= self.highest_age:
            raise AgeOutOfRangeError(equation=self, age_years=age_years)


class AgeOutOfRangeError(ValueError):
    """An equation was asked about an age that it is not published for.

    Attributes:
        age_years: The age in completed years.
    """

    def __init__(self, *, equation: Equation, age_years: int) -> None:
        """Say which ages would have been accepted."""
        self.equation = equation
        self.age_years = age_years
        super().__init__(
            f"{equation.name} is for ages {equation.lowest_age} to {equation.highest_age}, "
            f"not for {age_years}."
        )


_UNSTEADY: Final = (
    "not valid while creatinine is changing, in pregnancy, on dialysis or at extremes of muscle mass"
)

CKD_EPI_2021: Final = Equation(
    key="ckd-epi-2021",
    name="CKD-EPI creatinine equation 2021",
    unit=Unit.EGFR,
    lowest_age=18,
    highest_age=HIGHEST_AGE,
    limits=_UNSTEADY,
    source=publication("ckd-epi-2021").at("creatinine equation, age 18 and over"),
)
CKD_EPI_2009: Final = Equation(
    key="ckd-epi-2009",
    name="CKD-EPI creatinine equation 2009",
    unit=Unit.EGFR,
    lowest_age=18,
    highest_age=HIGHEST_AGE,
    limits=f"{_UNSTEADY}; used without the race factor",
    source=publication("ckd-epi-2009").at("creatinine equation, without the race factor"),
)
BEDSIDE_SCHWARTZ: Final = Equation(
    key="bedside-schwartz-2009",
    name="bedside Schwartz equation",
    unit=Unit.EGFR,
    lowest_age=1,
    highest_age=17,
    limits=f"{_UNSTEADY}; only with enzymatic creatinine traceable to isotope dilution",
    source=publication("schwartz-2009").at("bedside equation, ages 1 to 18"),
)
COCKCROFT_GAULT: Final = Equation(
    key="cockcroft-gault-1976",
    name="Cockcroft-Gault creatinine clearance",
    unit=Unit.MILLILITRE_PER_MINUTE,
    lowest_age=18,
    highest_age=HIGHEST_AGE,
    limits=f"{_UNSTEADY}; not indexed to body surface; depends on the weight that is used",
    source=publication("cockcroft-gault-1976").at(
        "equation, in the form for umol/L with the factors 1.23 and 1.04"
    ),
)
MDRD_75: Final = Equation(
    key="mdrd-75",
    name="baseline creatinine back-calculated from an eGFR of 75",
    unit=Unit.MICROMOLE_PER_LITRE,
    lowest_age=18,
    highest_age=HIGHEST_AGE,
    limits=(
        "an assumption, not a measurement: over-calls acute kidney injury; never in known "
        "chronic kidney disease, in pregnancy or under 18"
    ),
    source=publication("mdrd-2006").at(
        "four-variable equation with the constant 175, solved for creatinine", Mark.SECONDARY
    ),
)

#: Laboratories differ; a site may choose the other one.
DEFAULT_ADULT_EQUATION_SOURCE: Final = our_choice(
    "CKD-EPI 2021 by default, the 2009 equation selectable; the result names its equation"
)


_ONE: Final = Decimal(1)


def _power(base: Decimal, exponent: Decimal) -> Decimal:
    """Raise to a fraction: as `**` does but for the last digits of 28, in half its time."""
    return _ONE if base == 1 else (base.ln() * exponent).exp()


def ckd_epi_2021(*, creatinine_umol_l: Decimal, age_years: int, female: bool) -> Decimal:
    """Return the estimated filtration rate in mL/min/1.73 m2, by the 2021 equation.

    142 x min(Scr/k, 1)^a x max(Scr/k, 1)^-1.200 x 0.9938^age [x 1.012 if female], with Scr
    in mg/dL, k 0.7 (female) or 0.9 and a -0.241 (female) or -0.302.

    Args:
        creatinine_umol_l: Serum creatinine in umol/L, above zero.
        age_years: Completed years, 18 or more.
        female: Whether the female coefficients apply.

    Raises:
        AgeOutOfRangeError: If the age is outside the published range.
        ValueError: If the creatinine is not above zero.

    Source:
        Inker 2021; see `CKD_EPI_2021`.

    Examples:
        >>> egfr_in_words(
        ...     ckd_epi_2021(creatinine_umol_l=Decimal(150), age_years=75, female=True)
        ... )
        '31'
    """
    CKD_EPI_2021.check_age(age_years)
    _check_positive(creatinine_umol_l, "creatinine")
    with localcontext(_CONTEXT):
        power = Decimal("-0.241") if female else Decimal("-0.302")
        rate = (
            142 * _shape(creatinine_umol_l, female, power, Decimal("-1.2")) * Decimal("0.9938") ** age_years
        )
        return rate * Decimal("1.012") if female else rate


def ckd_epi_2009(*, creatinine_umol_l: Decimal, age_years: int, female: bool) -> Decimal:
    """Return the estimated filtration rate in mL/min/1.73 m2, by the 2009 equation.

    141 x min(Scr/k, 1)^a x max(Scr/k, 1)^-1.209 x 0.993^age [x 1.018 if female], with Scr in
    mg/dL, k 0.7 (female) or 0.9 and a -0.329 (female) or -0.411; without the race factor.

    Args:
        creatinine_umol_l: Serum creatinine in umol/L, above zero.
        age_years: Completed years, 18 or more.
        female: Whether the female coefficients apply.

    Raises:
        AgeOutOfRangeError: If the age is outside the published range.
        ValueError: If the creatinine is not above zero.

    Source:
        Levey 2009; see `CKD_EPI_2009`.
    """
    CKD_EPI_2009.check_age(age_years)
    _check_positive(creatinine_umol_l, "creatinine")
    with localcontext(_CONTEXT):
        power = Decimal("-0.329") if female else Decimal("-0.411")
        rate = (
            141 * _shape(creatinine_umol_l, female, power, Decimal("-1.209")) * Decimal("0.993") ** age_years
        )
        return rate * Decimal("1.018") if female else rate


def _shape(creatinine_umol_l: Decimal, female: bool, below: Decimal, above: Decimal) -> Decimal:
    """Return the part of both CKD-EPI equations that creatinine makes, on either side of its knee."""
    knee = Decimal("0.7") if female else Decimal("0.9")
    relative = creatinine_umol_l / MICROMOLE_PER_MILLIGRAM / knee
    return _power(min(relative, _ONE), below) * _power(max(relative, _ONE), above)


def bedside_schwartz(*, creatinine_umol_l: Decimal, height_cm: Decimal, age_years: int) -> Decimal:
    """Return a child's estimated filtration rate in mL/min/1.73 m2.

    0.413 x height in cm / Scr in mg/dL.

    Args:
        creatinine_umol_l: Serum creatinine in umol/L, above zero; enzymatic method.
        height_cm: Height or length in cm, above zero.
        age_years: Completed years, 1 to 17.

    Raises:
        AgeOutOfRangeError: If the age is outside the published range.
        ValueError: If creatinine or height is not above zero.

    Source:
        Schwartz 2009; see `BEDSIDE_SCHWARTZ`.
    """
    BEDSIDE_SCHWARTZ.check_age(age_years)
    _check_positive(creatinine_umol_l, "creatinine")
    _check_positive(height_cm, "height")
    with localcontext(_CONTEXT):
        return Decimal("0.413") * height_cm * MICROMOLE_PER_MILLIGRAM / creatinine_umol_l


def cockcroft_gault(
    *, creatinine_umol_l: Decimal, age_years: int, weight_kg: Decimal, female: bool
) -> Decimal:
    """Return the estimated creatinine clearance in mL/min, not indexed to body surface.

    (140 - age) x kg x 1.23 (1.04 if female) / Scr in umol/L.

    Args:
        creatinine_umol_l: Serum creatinine in umol/L, above zero.
        age_years: Completed years, 18 or more.
        weight_kg: Weight in kg, above zero; which weight is the caller's to say.
        female: Whether the female factor applies.

    Raises:
        AgeOutOfRangeError: If the age is outside the published range.
        ValueError: If creatinine or weight is not above zero.

    Source:
        Cockcroft and Gault 1976; see `COCKCROFT_GAULT`.
    """
    COCKCROFT_GAULT.check_age(age_years)
    _check_positive(creatinine_umol_l, "creatinine")
    _check_positive(weight_kg, "weight")
    factor = Decimal("1.04") if female else Decimal("1.23")
    with localcontext(_CONTEXT):
        return (140 - age_years) * weight_kg * factor / creatinine_umol_l


def back_calculated_creatinine(*, age_years: int, female: bool) -> Decimal:
    """Return the creatinine in umol/L that would give an eGFR of 75, by MDRD.

    Scr in mg/dL = (75 / (175 x age^-0.203 [x 0.742 if female]))^(-1/1.154). No race factor.
    Off unless a site asks for it; a stage that rests on it is "possible" at most.

    Args:
        age_years: Completed years, 18 or more.
        female: Whether the female factor applies.

    Raises:
        AgeOutOfRangeError: If the age is below 18 or beyond belief.

    Source:
        Levey 2006, solved for creatinine; see `MDRD_75`.
    """
    MDRD_75.check_age(age_years)
    with localcontext(_CONTEXT):
        at_one = 175 * Decimal(age_years) ** Decimal("-0.203")
        if female:
            at_one *= Decimal("0.742")
        milligram = (75 / at_one) ** (-1 / Decimal("1.154"))
        return milligram * MICROMOLE_PER_MILLIGRAM


def egfr_in_words(rate: Decimal) -> str:
    """Return a filtration rate as laboratories print it: whole, and ">90" above 90.

    Examples:
        >>> egfr_in_words(Decimal("75.5")), egfr_in_words(Decimal("103.36"))
        ('76', '>90')
    """
    whole = round_half_up(rate, Decimal(1))
    return ">90" if whole > 90 else str(whole)


def _check_positive(value: Decimal, what: str) -> None:
    """Refuse a measurement that no equation can take."""
    if value <= 0:
        raise ValueError(f"The {what} must be greater than zero.")
