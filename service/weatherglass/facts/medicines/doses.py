"""Written doses as numbers, where the order says them in a unit of mass or in units of insulin."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.groups import ByMember
from weatherglass.knowledge.medicines.limits.dose_units import MILLIGRAMS, UNITS, unit_of, words_of
from weatherglass.knowledge.medicines.limits.preventive_doses import PREVENTIVE_DOSES, PreventiveDose
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.medicines import MedicineOrder
from weatherglass.model.remembered import remembered
from weatherglass.model.sources import Origin

_WORDS: Final = word_patterns(
    "strength-patterns.toml",
    unit=words_of(*MILLIGRAMS, "unit"),
    rated=words_of(*MILLIGRAMS, "unit", "mL"),
)
_EACH: Final = _WORDS["each"]
_IN_A_VOLUME: Final = _WORDS["in-a-volume"]
_JOINED: Final = _WORDS["joined"]
_RATE: Final = _WORDS["rate"]
_MMOL_RATE: Final = _WORDS["mmol-rate"]
_MMOL_OVER: Final = _WORDS["mmol-over"]


class Strength(NamedTuple):
    """An amount, in one of `dose_units.UNITS`."""

    amount: Decimal
    unit: str


@remembered(4096)
def strength_of(name: str, unit: str) -> Strength | None:
    """Return what one of a unit holds, where the name says one strength and no other.

    Args:
        name: Of the medicine, as the chart has it.
        unit: Of its dose: "tablet", "mL".

    Examples:
        >>> strength_of("Methotrexate 2.5 mg tablets", "tablet").amount
        Decimal('2.5')
        >>> strength_of("Morphine 10 mg/5 mL oral solution", "mL").amount
        Decimal('2')
        >>> strength_of("Co-careldopa 25/100 tablets", "tablet") is None
        True
        >>> strength_of("Enoxaparin 150 mg/mL", "tablet") is None
        True
    """
    words = name.casefold()
    if unit == "mL":
        (found, *others) = _IN_A_VOLUME.findall(words) or [()]
        if not found or others or not (volume := Decimal(found[2] or 1)):
            return None
        return Strength(_number(found[0]) / volume, UNITS[found[1]])
    if unit != "tablet":
        return None
    (each, *others) = _EACH.findall(words) or [()]
    return Strength(_number(each[0]), UNITS[each[1]]) if each and not others else None


def _number(written: str) -> Decimal:
    return Decimal(written.replace(",", ""))


Dose = tuple[Decimal, Origin]

#: The last two are of doses that no strength makes anything else of.
_FACTORS: Final[Mapping[str, Mapping[str, Decimal]]] = {
    "mg": MILLIGRAMS,
    **{unit: {unit: Decimal(1)} for unit in ("unit", "mL", "tablet")},
}


def daily_milligrams(order: MedicineOrder | None) -> Decimal | None:
    """Return the dose of a day in milligrams; None where it is not written so."""
    return daily_in("mg", order)


def daily_in(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return the dose of a day in a unit of `_FACTORS`; None where it is not written so."""
    factor = _factor(unit, order)
    return order.daily_dose * factor if order is not None and order.daily_dose and factor else None


def most_of_a_day(order: MedicineOrder | None) -> Decimal | None:
    """Return the milligrams of a day with every dose that may be needed; None where it is not written so."""
    factor = _factor("mg", order)
    return order.daily_at_most * factor if order is not None and order.daily_at_most and factor else None


def millimoles_an_hour(order: MedicineOrder | None) -> Decimal | None:
    """Return how fast the words of an order let millimoles run: "40 mmol over 2 hours", "10 mmol/hour".

    None where they do not say it.
    """
    if order is None:
        return None
    words = f"{order.medicine.text} {order.dose_text}".casefold()
    rate = _MMOL_RATE.search(words)
    if rate is not None:
        return _an_hour(rate[1], "1", rate[2])
    over = _MMOL_OVER.search(words)
    return _an_hour(*over.groups()) if over is not None else None


def an_hour(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return how much an order lets run in an hour, in a unit of `_FACTORS`; None where it does not say.

    Millilitres an hour count by the strength in its name; what is written for a weight does not.
    """
    if order is None:
        return None
    found = _RATE.search(f"{order.dose_text} ; {order.medicine.text}".casefold())
    if found is None:
        return None
    amount, of = _number(found[1]), UNITS[found[2]]
    if of == "mL":
        strength = strength_of(order.medicine.text, of)
        if strength is None:
            return None
        amount, of = amount * strength.amount, strength.unit
    factor = _FACTORS[unit].get(of)
    return amount * factor if factor else None


def _an_hour(amount: str, number: str, unit: str) -> Decimal | None:
    hours = Decimal(number) / (60 if unit.startswith("m") else 1)
    return Decimal(amount) / hours if hours > 0 else None


def single_in(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return one dose in a unit of `_FACTORS`; None where it is not written so."""
    factor = _factor(unit, order)
    return order.dose * factor if order is not None and order.dose and factor else None


def doses_a_day(order: MedicineOrder | None) -> Decimal | None:
    """Return how many doses a day holds, a part of one for weekly ones; None where it is not written."""
    if order is None:
        return None
    return order.daily_dose / order.dose if order.dose and order.daily_dose is not None else order.a_day


def largest_doses(orders: Iterable[MedicineOrder]) -> Mapping[tuple[str, str], tuple[Dose, ...]]:
    """Return the two largest single doses of each ingredient, by ingredient and "mg" or "unit"."""
    found: dict[tuple[str, str], tuple[Dose, ...]] = {}
    for order in {order.origin: order for order in orders}.values():
        for unit in ("mg", "unit"):
            dose = single_in(unit, order)
            if dose is None:
                continue
            for name in order.medicine.ingredients:
                ranked = sorted((*found.get((name, unit), ()), (dose, order.origin)), reverse=True)
                found[name, unit] = tuple(ranked[:2])
    return found


_BY_MEMBER: Final = ByMember(PREVENTIVE_DOSES, lambda row: row.members)


def is_preventive(of_line: NamedLine) -> bool:
    """Tell whether an injected anticoagulant is, by its dose or its reason, surely for prevention alone."""
    order = of_line.line.charted
    if order is None:
        return False
    rows = _BY_MEMBER.that_may_mean(of_line.line.classes, of_line.words)
    row = next((row for row in rows if of_line.is_one_of(row.members)), None)
    if row is None:
        return False
    return order.for_prophylaxis or _is_at_most(row, order)


def prevents_by_its_dose(order: MedicineOrder) -> bool:
    """Tell whether the dose of a day that an order writes is one that only prevents, by its ingredients."""
    medicine = order.medicine
    held = frozenset(medicine.ingredients)
    row = next((row for row in PREVENTIVE_DOSES if row.members.may_mean(medicine.classes, held)), None)
    daily = daily_in("mg", order) if row is not None else None
    if row is None or daily is None or "mg" not in row.most or daily > row.most["mg"]:
        return False
    often = doses_a_day(order)
    return not row.doses or (often is not None and often <= row.doses)


def _is_at_most(row: PreventiveDose, order: MedicineOrder) -> bool:
    for unit, most in row.most.items():
        daily = daily_in(unit, order)
        if daily is not None:
            return daily <= most
    return is_worded(order, row.in_order)


def is_worded(order: MedicineOrder, words: Iterable[str]) -> bool:
    """Tell whether an order writes its dose in one of these words, in small letters and spaced: "30 mg"."""
    said = _JOINED.sub(r" \1 \2", f" {order.medicine.text} {order.dose_text}".casefold())
    return any(f" {each}" in said for each in words)


def _factor(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return what one of the order's unit is in another; by the strength in its name where it is no weight.

    Of a compound nobody knows which part a strength is of.
    """
    if order is None:
        return None
    means = "tablet" if is_counted(order) else unit_of(order.dose_unit)
    strength = strength_of(order.medicine.text, means) if len(order.medicine.ingredients) == 1 else None
    if strength is None:
        return _FACTORS[unit].get(unit_of(order.dose_unit))
    of_it = _FACTORS[unit].get(strength.unit)
    return of_it * strength.amount if of_it is not None else None


def is_counted(order: MedicineOrder) -> bool:
    """Tell whether the dose of an order counts tablets or the like, which UCUM may have as "1"."""
    return order.dose_unit.strip() == "1" or unit_of(order.dose_unit) == "tablet"
