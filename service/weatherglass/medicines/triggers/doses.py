"""What the written dose of a line says by itself: too much, too often, or far above its other order."""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.doses import daily_in, doses_a_day, single_in
from weatherglass.facts.drug_chart import Line
from weatherglass.facts.kidneys.estimates import ADULT_FROM
from weatherglass.facts.named_lines import NamedLine
from weatherglass.knowledge.medicines.dose_limits import DOSE_LIMITS, DoseLimit
from weatherglass.knowledge.medicines.rules.rule import MedicineRule, Trigger
from weatherglass.medicines.triggers.hits import Hit
from weatherglass.model.quantities import plain
from weatherglass.model.record import ConditionKind, MedicineOrder
from weatherglass.model.sources import Origin

_UNITS = {"mg": "mg", "unit": "units"}
_CANCER = frozenset({ConditionKind.CANCER, ConditionKind.CHEMOTHERAPY})


def dose_hits(bedside: Bedside, of_line: NamedLine) -> Iterator[tuple[MedicineRule, Hit]]:
    """Return what the dose of one line says; silent in children, and where no dose is a number."""
    line = of_line.line
    if line.charted is None or line.charted.dose is None:
        return
    if bedside.age is not None and bedside.age < ADULT_FROM:
        return
    for limit in DOSE_LIMITS:
        if of_line.is_one_of(limit.who) and _applies(bedside, limit):
            said = _said(bedside, line, limit)
            if said:
                yield limit.rule, _hit(bedside, line, limit, said)


def _applies(bedside: Bedside, limit: DoseLimit) -> bool:
    if limit.from_age and (bedside.age is None or bedside.age < limit.from_age):
        return False
    if limit.below_kg is not None:
        weight = bedside.kidneys.weight
        if weight is None or weight.value >= limit.below_kg:
            return False
    return not (limit.unless_treated_for_cancer and not _CANCER.isdisjoint(bedside.problems))


def _said(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    """Return what is too much, in words; empty where nothing is."""
    return (
        _in_itself(line.charted, limit) or _for_weight(bedside, line, limit) or _beside(bedside, line, limit)
    )


def _in_itself(order: MedicineOrder | None, limit: DoseLimit) -> str:
    daily, single, often = daily_in(limit.unit, order), single_in(limit.unit, order), doses_a_day(order)
    if limit.max_daily is not None and daily is not None and daily > limit.max_daily:
        return f"{plain(daily)} {_UNITS[limit.unit]} a day written"
    if limit.max_single is not None and single is not None and single > limit.max_single:
        return f"{plain(single)} {_UNITS[limit.unit]} at once written"
    if limit.most_often is not None and often is not None and often > limit.most_often:
        return f"{_times(often)} written"
    return ""


def _times(often: Decimal) -> str:
    if often < 1:
        return "more than one dose a week"
    return "a dose every day" if often == 1 else "more than one dose a day"


def _for_weight(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    weight, daily = bedside.kidneys.weight, daily_in(limit.unit, line.charted)
    if limit.per_kg_daily is None or daily is None or weight is None:
        return ""
    is_too_much = daily > limit.per_kg_daily * weight.value
    return f"{plain(daily)} mg a day written at {plain(weight.value)} kg" if is_too_much else ""


def _beside(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    """Compare a dose with the largest of the other orders of the same medicine, in force or ended."""
    single = single_in(limit.unit, line.charted)
    if limit.times_last is None or single is None:
        return ""
    others = [
        dose
        for name in line.medicine.ingredients
        for dose, order in bedside.largest_doses.get((name, limit.unit), ())
        if order != line.order
    ]
    if not others or single < limit.times_last * max(others):
        return ""
    return f"{plain(single)} {_UNITS[limit.unit]} written, {plain(max(others))} in the other order"


def _hit(bedside: Bedside, line: Line, limit: DoseLimit, said: str) -> Hit:
    weight = bedside.kidneys.weight
    rests_on: tuple[Origin, ...] = ()
    if limit.below_kg is not None and weight is not None:
        rests_on = (weight.origin,)
    return Hit(
        trigger=Trigger.WRITTEN_DOSE,
        short=said,
        said=said,
        evidence=rests_on,
        since=line.since,
        sources=(limit.source,),
    )
