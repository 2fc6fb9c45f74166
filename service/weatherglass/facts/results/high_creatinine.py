"""Is a creatinine high that nothing earlier stages: by its range, else by what is high at that age?"""

from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.record.values import Measurement

_NEWBORN_DAYS = 28


def upper_limit_of(bedside: Bedside, measured: Measurement) -> Decimal | None:
    """Return the laboratory's own upper limit of a creatinine, else an adult's that the site has chosen."""
    if measured.reference_high is not None:
        return measured.reference_high
    age = bedside.kidneys.age_at(measured.at)
    is_child = age is not None and age < kdigo.ADULT_AGE.years
    return None if is_child else bedside.choices.upper_creatinine_limit


def is_high_without_a_range(bedside: Bedside, measured: Measurement) -> bool:
    """Tell whether a creatinine that has no range is high at this age, without known chronic disease."""
    if (
        bedside.kidney_disease_is_known
        or not measured.is_exact
        or upper_limit_of(bedside, measured) is not None
    ):
        return False
    if bedside.age_in_days is not None and bedside.age_in_days < _NEWBORN_DAYS:
        return False  # It is still the mother's.
    age = bedside.kidneys.age_at(measured.at)
    of_age = (limit for years, limit in ours.HIGH_OF_A_CHILD.items() if age is not None and age < years)
    return next(of_age, ours.HIGH_WITHOUT_A_RANGE).is_met_by(measured.value)
