"""Dosage instructions: how much, how often, by which route, and for how long.

They are decoded apart from the order they belong to: a dosage that is not as FHIR has
it (systems in use do write such) is reported, and the order is reviewed without it.
"""

from collections.abc import Sequence
from datetime import datetime, time
from decimal import Decimal, DecimalException
from typing import NamedTuple, TypeVar

from msgspec import Raw

from weatherglass.fhir.datatypes import Quantity, Ratio, TimingRepeat
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.r4 import AdministrationDosage, Dosage
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData
from weatherglass.model.plain import Plain
from weatherglass.terminology.doses.german_charts import LONGEST, plainly
from weatherglass.terminology.doses.worded_dose import (
    clock_times,
    converted,
    only_amount,
    says_as_needed,
    says_once,
    times_a_day,
    without_strength,
    worded_dose,
    worded_most,
)

_Dosage = TypeVar("_Dosage", Dosage, AdministrationDosage)

_TIMES_A_DAY = {"h": Decimal(24), "d": Decimal(1), "min": Decimal(1440), "wk": 1 / Decimal(7)}


class Dose(NamedTuple):
    """An amount with its unit as written."""

    amount: Decimal | None = None
    unit: str = ""


class Day(Plain, frozen=True):
    """What an order says of a day, in the unit of its dose.

    Attributes:
        dose: One dose, of the first instruction.
        regular: All of a day; None where some of it is given only when needed, or is not said.
        at_most: The same with every dose that may be needed.
    """

    dose: Dose = Dose()
    regular: Decimal | None = None
    at_most: Decimal | None = None


_WEEK = Decimal(7)
#: Units that are said in the plural.
_COUNTED = ("unit", "microgram", "tablet")
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
        parts = decode(text, list[Raw]) if text.startswith(b"[") else [Raw(text)]
    except UNREADABLE:
        parts = [Raw(text)]
    found = []
    for position, part in enumerate(parts):
        try:
            found.append(decode(part, into))
        except UNREADABLE:
            where = f"{path}[{position}]" if text.startswith(b"[") else path
            collector.say("dosage-misread", where, data.key)
    return tuple(found)


def named_dosage(name: str) -> tuple[Dosage, ...]:
    """Return the dosage that a chart writes into the name of a medicine, and nowhere else.

    Examples:
        >>> [one.text for one in named_dosage("Methotrexate 10 mg once a day")]
        ['methotrexate 10 mg once a day']
        >>> [one.text for one in named_dosage("Apixaban 5 mg tablets twice a day")]
        ['apixaban tablets twice a day']
        >>> named_dosage("Apixaban 5 mg tablets")
        ()
    """
    words = plainly(name)
    if times_a_day(words) is None and not says_as_needed(words) and not says_once(words):
        return ()
    return (Dosage(text=without_strength(" ".join(name.casefold().split()))),)


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


def rate_of(dosage: Dosage) -> str:
    """Return how fast one instruction lets it run, in words: "8 mg/h"; empty where it does not say so."""
    part = dosage.doseAndRate[0] if dosage.doseAndRate else None
    if part is None:
        return ""
    rate, per = part.rateQuantity, ""
    if rate is None and bytes(part.rateRatio):
        try:
            ratio = decode(bytes(part.rateRatio), Ratio)
        except UNREADABLE:
            return ""
        rate, every = ratio.numerator, ratio.denominator
        if every is None or _plain_number(every.value) != 1:
            return ""
        per = f"/{every.code or every.unit or ''}"
    amount = _plain_number(rate.value) if rate is not None else None
    return f"{amount} {rate.code or rate.unit or ''}{per}" if rate is not None and amount is not None else ""


def other_dose_of(dosages: Sequence[Dosage]) -> str:
    """Return the dose that the words of the one instruction say, where its number is another; else empty."""
    if len(dosages) != 1:
        return ""
    number = dose_of(dosages[0])
    said = only_amount(dosages[0].words) if number.amount is not None else None
    if number.amount is None or said is None:
        return ""
    amount, unit = said
    if converted(number.amount, number.unit, unit) in (None, amount):
        return ""
    return f"{amount.normalize():f} {unit}{'s' if unit in _COUNTED and amount != 1 else ''}"


def is_as_needed(dosage: Dosage) -> bool:
    """Tell whether it is given only when needed, by its own element or, without one, by its words."""
    if dosage.asNeededBoolean is None and dosage.asNeededCodeableConcept is None:
        return says_as_needed(dosage.words)
    return bool(dosage.asNeededBoolean or dosage.asNeededCodeableConcept)


def day_of(dosages: Sequence[Dosage]) -> Day:
    """Add up a day, only when every instruction says how much and how often, as numbers or in plain words.

    What follows one another (`sequence`, a taper) is not added: the most that a day of it comes to counts.
    """
    if not dosages:
        return Day()
    days = [_day_of(those) for those in _concurrent(dosages)]
    if any(each.at_most is None for each in days):
        return Day(days[0].dose)
    return max(days, key=lambda each: each.at_most or Decimal(0))


def _concurrent(dosages: Sequence[Dosage]) -> list[list[Dosage]]:
    """Return what holds at the same time together: by FHIR R4 the instructions of one sequence number."""
    numbers = [bytes(each.sequence) for each in dosages]
    if not all(numbers):
        return [list(dosages)]
    groups: dict[bytes, list[Dosage]] = {}
    for number, each in zip(numbers, dosages, strict=True):
        groups.setdefault(number, []).append(each)
    return list(groups.values())


def _day_of(dosages: Sequence[Dosage]) -> Day:
    parts = [_part_of(dosage) for dosage in dosages]
    first = parts[0].dose if parts[0] is not None else _single_dose(dosages[0])
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or len({part.dose.unit for part in known}) > 1:
        return Day(first)
    at_most = sum((part.at_most for part in known if part.at_most is not None), Decimal(0))
    is_regular = not any(map(is_as_needed, dosages))
    return Day(first, at_most if is_regular else None, at_most)


def _single_dose(dosage: Dosage) -> Dose:
    """Return one dose of an instruction that says no frequency, as a number or as the one amount in words."""
    dose = dose_of(dosage)
    said = only_amount(dosage.words) if dose.amount is None else None
    return Dose(*said) if said is not None else dose


def _part_of(dosage: Dosage) -> Day | None:
    """Return one instruction's dose and what it comes to in a day; None where it does not say both."""
    dose, often = dose_of(dosage), _times_a_day(dosage)
    # Of a longer text only the beginning was put into plain words, and the rest may change it.
    is_whole = len(dosage.text or "") <= LONGEST
    worded = worded_dose(dosage.words) if is_whole and (dose.amount is None or often is None) else None
    if is_whole and worded is None and often is None and is_as_needed(dosage):
        worded = worded_most(dosage.words)
    if dose.amount is None:
        dose = Dose(worded.amount, worded.unit) if worded is not None else dose
    if often is None and worded is not None and not _has_a_timing(dosage):
        often = worded.a_day
    if dose.amount is None:
        return None
    most = [] if often is None else [dose.amount * often]
    if worded is not None and worded.at_most is not None and dose.unit == worded.unit:
        most.append(worded.at_most)
    written = _most_of_a_day(dosage, dose.unit)
    if written is not None and (often is not None or is_as_needed(dosage)):
        most.append(written)
    return Day(dose, None, min(most)) if most else None


_A_DAY = {"d": Decimal(1), "day": Decimal(1), "days": Decimal(1), "h": Decimal(24), "hours": Decimal(24)}


def _most_of_a_day(dosage: Dosage, unit: str) -> Decimal | None:
    """Return the most that is given in a day by its own element, in the unit of the dose."""
    try:
        ratio = decode(bytes(dosage.maxDosePerPeriod), Ratio) if bytes(dosage.maxDosePerPeriod) else None
    except UNREADABLE:
        return None
    most, period = (ratio.numerator, ratio.denominator) if ratio is not None else (None, None)
    if most is None or period is None:
        return None
    amount, said = _plain_number(most.value), most.code or most.unit or ""
    if amount is None or _plain_number(period.value) != _A_DAY.get(period.code or period.unit or ""):
        return None
    return converted(amount, said, unit)


def _has_a_timing(dosage: Dosage) -> bool:
    """Tell whether the dosage says when by its own element, which no words then replace."""
    repeat = dosage.timing.repeat if dosage.timing else None
    return repeat is not None and bool(bytes(repeat.period) or bytes(repeat.frequency) or repeat.dayOfWeek)


def _times_a_day(dosage: Dosage) -> Decimal | None:
    repeat = dosage.timing.repeat if dosage.timing else None
    often = _repeated(repeat) if repeat is not None else None
    code = dosage.timing.code if dosage.timing else None
    if often is not None or code is None or _has_a_timing(dosage):
        return often
    said = [text for coding in code.coding for text in (coding.code, coding.display)] + [code.text]
    return next((found for text in said if text and (found := times_a_day(plainly(text))) is not None), None)


def _repeated(repeat: TimingRepeat) -> Decimal | None:
    period, per_day = _plain_number(repeat.period), _TIMES_A_DAY.get(repeat.periodUnit or "")
    times, days = _plain_number(repeat.frequency), len(set(repeat.dayOfWeek))
    at_times = len(set(repeat.timeOfDay[:_MOST_TIMES])) or len(set(repeat.when[:_MOST_TIMES]))
    if not bytes(repeat.period) and at_times and times is None:
        return Decimal(at_times) * (days or _WEEK) / _WEEK
    if not period or per_day is None:
        return None
    if not days:
        return (times or Decimal(1)) * per_day / period
    # Weekly with its days named is once on each of them; daily with days named is so on those days alone.
    if repeat.periodUnit == "wk":
        return max(times or Decimal(1), Decimal(days)) * per_day / period
    return (times or Decimal(1)) * per_day / period * days / _WEEK


def is_for_once(dosages: Sequence[Dosage]) -> bool:
    """Tell whether the one instruction is of one dose: by its own count, or its words."""
    if len(dosages) != 1:
        return False
    repeat = dosages[0].timing.repeat if dosages[0].timing else None
    if repeat is not None and bytes(repeat.count):
        return _plain_number(repeat.count) == 1
    return not is_as_needed(dosages[0]) and not _has_a_timing(dosages[0]) and says_once(dosages[0].words)


def times_a_day_of(dosages: Sequence[Dosage]) -> Decimal | None:
    """Return how often a day the one instruction says, also where it says no amount: "five times daily"."""
    if len(dosages) != 1:
        return None
    often = _times_a_day(dosages[0])
    return often if often is not None or _has_a_timing(dosages[0]) else times_a_day(dosages[0].words)


def times_of_day(dosages: Sequence[Dosage]) -> tuple[time, ...]:
    """Return the times of a day at which doses are due; what is no time is left out.

    They are read from the words of the one instruction where it has no timing: "at 07:00, 10:00 and 13:00".
    """
    if len(dosages) == 1 and not dosages[0].timing:
        return clock_times(dosages[0].words)
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
