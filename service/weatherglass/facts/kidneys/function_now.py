"""The kidney function that a dose is judged by: stable, reported or worked out, or long-term dialysis."""

from datetime import datetime
from decimal import Decimal

from weatherglass.facts.kidneys.chart import KidneyChart
from weatherglass.facts.kidneys.estimates import Estimate
from weatherglass.knowledge.medicines.limits import kidney_limits
from weatherglass.knowledge.medicines.rules import triggers
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

_CENTIMETRES = Decimal(100)


class FunctionNow(Plain, frozen=True):
    """What is known of a stable function.

    Attributes:
        rate: The newest filtration rate of three months, None where there is none.
        method: The equation that it was worked out with; empty where the laboratory reported it.
        clearance: By Cockcroft-Gault, None without a weight, an adult's age or a sex.
        on_dialysis: Whether it is replaced for good.
        asks_clearance: Whether age or weight make Cockcroft-Gault come first for every medicine.
        is_old: Whether the person is of the age from which that is so.
    """

    rate: Measurement | None
    method: str
    clearance: Estimate | None
    on_dialysis: bool
    asks_clearance: bool
    is_old: bool


def rate_now(kidneys: KidneyChart, record: Record, as_of: datetime) -> tuple[Measurement, str] | None:
    """Return the newest filtration rate of three months, and the equation where it was worked out."""
    earliest = as_of - triggers.EGFR_BEFORE_CONTRAST.length
    reported = record.series(Signal.EGFR).latest
    if reported is not None and reported.at < earliest:
        reported = None
    newest = _newest(kidneys, earliest)
    if newest is None or (reported is not None and reported.at >= newest.at):
        return (reported, "") if reported is not None else None
    estimate = kidneys.rate_of(newest)
    if not isinstance(estimate, Estimate):
        return (reported, "") if reported is not None else None
    rounded = estimate.value.quantize(Decimal("0.1"))
    return replace(newest, value=rounded, printed=None), estimate.equation.name


def function_now(kidneys: KidneyChart, record: Record, as_of: datetime, age: int | None) -> FunctionNow:
    """Return what is known of the function of a person without acute injury."""
    found = rate_now(kidneys, record, as_of)
    newest = _newest(kidneys, as_of - triggers.EGFR_BEFORE_CONTRAST.length)
    is_old = age is not None and age >= kidney_limits.CLEARANCE_FROM_AGE
    return FunctionNow(
        rate=found[0] if found is not None else None,
        method=found[1] if found is not None else "",
        clearance=kidneys.clearance_of(newest) if newest is not None else None,
        on_dialysis=kidneys.therapy.is_long_term_at(as_of),
        asks_clearance=is_old or _is_extreme(kidneys.weight, record.series(Signal.HEIGHT).latest),
        is_old=is_old,
    )


def _newest(kidneys: KidneyChart, earliest: datetime) -> Measurement | None:
    results = kidneys.results
    return results[-1] if results and results[-1].at >= earliest else None


def _is_extreme(weight: Measurement | None, height: Measurement | None) -> bool:
    if weight is None or height is None or height.value <= 0:
        return False
    index = weight.value / (height.value / _CENTIMETRES) ** 2
    return index < kidney_limits.CLEARANCE_BELOW_BMI or index > kidney_limits.CLEARANCE_ABOVE_BMI
