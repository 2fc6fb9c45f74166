"""Dosage instructions: how much, how often, by which route, and for how long.

They are decoded apart from the order they belong to: a dosage that is not as FHIR has
it (systems in use do write such) is reported, and the order is reviewed without it.
"""

from collections.abc import Sequence
from datetime import datetime, time
from decimal import Decimal, DecimalException
from typing import NamedTuple, TypeVar

from msgspec import Raw

from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import UNREADABLE, AdministrationDosage, Dosage, Quantity
from weatherglass.fhir.reading.collector import Collector, PatientData
from weatherglass.terminology.worded_dose import says_as_needed, worded_dose

_Dosage = TypeVar("_Dosage", Dosage, AdministrationDosage)

_TIMES_A_DAY = {"h": Decimal(24), "d": Decimal(1), "min": Decimal(1440), "wk": 1 / Decimal(7)}
_MISREAD = (
    "The dosage is not as FHIR R4 has it, so dose, route and times were not read from it; the medicine "
    "itself was used."
)


class Dose(NamedTuple):
    """An amount with its unit as written."""

    amount: Decimal | None = None
    unit: str = ""


class Day(NamedTuple):
    """What an order says of a day, in the unit of its dose.

    Attributes:
        dose: One dose, of the first instruction.
        regular: All of a day; None where some of it is given only when needed, or is not said.
        at_most: The same with every dose that may be needed.
    """

    dose: Dose = Dose()
    regular: Decimal | None = None
    at_most: Decimal | None = None


#: No medicine is due more often in a day.
_MOST_TIMES = 48
#: No dose and no rate has more digits before or after its point.
_MOST_DIGITS = 15


def read_dosages(
    collector: Collector, data: PatientData, raw: Raw, into: type[_Dosage], path: str
) -> tuple[_Dosage, ...]:
    """Decode what stands under a dosage: one object or a list; what cannot be read is an issue."""
    text = bytes(raw).lstrip()
    if not text or text == b"null":
        return ()
    try:
        parts = r4.decode(text, list[Raw]) if text.startswith(b"[") else [Raw(text)]
    except UNREADABLE:
        parts = [Raw(text)]
    found = []
    for position, part in enumerate(parts):
        try:
            found.append(r4.decode(part, into))
        except UNREADABLE:
            where = f"{path}[{position}]" if text.startswith(b"[") else path
            collector.note(Severity.WARNING, IssueKey.WRONG_TYPE, where, _MISREAD, data.key)
    return tuple(found)


def dose_of(dosage: Dosage | AdministrationDosage | None) -> Dose:
    """Return the dose of one instruction."""
    if dosage is None:
        return Dose()
    quantity: Quantity | None = dosage.dose if isinstance(dosage, AdministrationDosage) else None
    if quantity is None and dosage.doseAndRate:
        quantity = dosage.doseAndRate[0].doseQuantity
    if quantity is None:
        return Dose()
    return Dose(_plain_number(quantity.value), quantity.code or quantity.unit or "")


def is_as_needed(dosage: Dosage) -> bool:
    """Tell whether it is given only when needed, by its own element or, without one, by its words."""
    if dosage.asNeededBoolean is None and dosage.asNeededCodeableConcept is None:
        return says_as_needed(dosage.text or "")
    return bool(dosage.asNeededBoolean or dosage.asNeededCodeableConcept)


def day_of(dosages: Sequence[Dosage]) -> Day:
    """Add up a day, only when every instruction says how much and how often, as numbers or in plain words."""
    parts = [_part_of(dosage) for dosage in dosages]
    if not dosages:
        return Day()
    first = parts[0].dose if parts[0] is not None else dose_of(dosages[0])
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or len({part.dose.unit for part in known}) > 1:
        return Day(first)
    at_most = sum((part.at_most for part in known if part.at_most is not None), Decimal(0))
    is_regular = not any(map(is_as_needed, dosages))
    return Day(first, at_most if is_regular else None, at_most)


def _part_of(dosage: Dosage) -> Day | None:
    """Return one instruction's dose and what it comes to in a day; None where it does not say both."""
    dose, often = dose_of(dosage), _times_a_day(dosage)
    worded = worded_dose(dosage.text or "") if dose.amount is None or often is None else None
    if dose.amount is None:
        dose = Dose(worded.amount, worded.unit) if worded is not None else dose
    if often is None and worded is not None and not _has_a_timing(dosage):
        often = worded.a_day
    if dose.amount is None or often is None:
        return None
    at_most = dose.amount * often
    if worded is not None and worded.at_most is not None and dose.unit == worded.unit:
        at_most = min(at_most, worded.at_most)
    return Day(dose, None, at_most)


def _has_a_timing(dosage: Dosage) -> bool:
    return dosage.timing is not None and dosage.timing.repeat is not None


def _times_a_day(dosage: Dosage) -> Decimal | None:
    repeat = dosage.timing.repeat if dosage.timing else None
    if repeat is None:
        return None
    period, per_day = _plain_number(repeat.period), _TIMES_A_DAY.get(repeat.periodUnit or "")
    if not period or per_day is None:
        return None
    return (_plain_number(repeat.frequency) or Decimal(1)) * per_day / period


def times_of_day(dosages: Sequence[Dosage]) -> tuple[time, ...]:
    """Return the times of a day at which doses are due; what is no time is left out."""
    repeats = [each.timing.repeat for each in dosages if each.timing and each.timing.repeat]
    found = set()
    for text in [text for each in repeats for text in each.timeOfDay][:_MOST_TIMES]:
        try:
            found.add(time.fromisoformat(text).replace(tzinfo=None))
        except ValueError:
            continue
    return tuple(sorted(found))


def bounds_of(
    collector: Collector, dosages: Sequence[Dosage]
) -> tuple[datetime | None, datetime | None] | None:
    """Return the time the dosage bounds an order to; None when it gives no bounds."""
    for dosage in dosages:
        repeat = dosage.timing.repeat if dosage.timing else None
        if repeat is not None and repeat.boundsPeriod is not None:
            return collector.period(repeat.boundsPeriod)
    return None


def _plain_number(raw: Raw) -> Decimal | None:
    text = bytes(raw)
    if not text or text[0] not in b"0123456789" or len(text) > 20:
        return None
    try:
        number = Decimal(text.decode("ascii"))
    except (DecimalException, UnicodeDecodeError):
        return None
    # A dose of 1e999 is a slip or an attack, and no sum could hold it.
    return number if -_MOST_DIGITS < number.adjusted() < _MOST_DIGITS else None
