"""Was a whole dose given twice within a part of its interval, of what harms when it is doubled?

A question: two entries may be of one dose. Parts of a dose are written down together, or with another amount.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Final, NamedTuple

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.medicines.doses_due import DAY
from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.patterns import when_asked
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.signals import Letter

#: An amount as a dose is written: "30 [iU]".
_AMOUNT: Final = when_asked(r"\s*(\d+(?:\.\d+)?)\s*(\S*)")
_MOST_A_DAY: Final = 4


class _Twice(NamedTuple):
    """Two whole doses that are nearer than they are meant."""

    line: Line
    first: Administration
    second: Administration


def assess_given_twice(bedside: Bedside) -> Iterator[Finding]:
    """Ask about every dose that seems to have been given twice, in one finding."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    found = [
        one
        for each in bedside.named_lines
        if each.is_one_of(table.HARMS_TWICE)
        if (one := _twice(bedside, each.line)) is not None
    ]
    if found:
        yield _finding(bedside, found)


def _twice(bedside: Bedside, line: Line) -> _Twice | None:
    order = line.charted
    if line.standing is not Standing.IN_USE or order is None:
        return None
    if order.is_statement or order.as_needed or order.for_once:
        return None
    often = doses_a_day(order)
    if often is None or not 0 < often <= _MOST_A_DAY:
        return None
    interval = DAY / float(often)
    nearest = interval * float(table.GIVEN_TWICE_WITHIN.value)
    since = bedside.as_of - max(interval, DAY)
    doses = [one for one in _doses(bedside, line, order) if one.at >= since - nearest]
    for first, second in reversed(list(pairwise(doses))):
        if second.at >= since and _are_two(order, first, second, nearest):
            return _Twice(line, first, second)
    return None


def _doses(bedside: Bedside, line: Line, order: MedicineOrder) -> Sequence[Administration]:
    """Return the doses of an order: by its reference, or by what they hold where one line alone holds it."""
    content = set(line.medicine.ingredients)
    record = bedside.record
    given = [one for one in record.administrations if not content.isdisjoint(one.medicine.ingredients)]
    if any(one.order is not None for one in given):
        return [one for one in given if one.order == order.origin]
    holders = [one for one in record.orders if not content.isdisjoint(one.medicine.ingredients)]
    here = [one for one in holders if not one.is_statement]
    return given if len(here) == 1 else []


def _are_two(order: MedicineOrder, first: Administration, second: Administration, nearest: timedelta) -> bool:
    apart = second.at - first.at
    is_alike = bool(first.dose_text) and first.dose_text == second.dose_text
    return is_alike and table.WRITTEN_TOGETHER.length < apart <= nearest and not _is_a_part(order, first)


def _is_a_part(order: MedicineOrder, dose: Administration) -> bool:
    """Tell whether a dose is less than what is ordered, in the same unit."""
    said = _AMOUNT.match(dose.dose_text)
    if said is None or order.dose is None or said[2] != order.dose_unit:
        return False
    return Decimal(said[1]) < order.dose


def _finding(bedside: Bedside, found: Sequence[_Twice]) -> Finding:
    clock = bedside.clock
    said = [
        f"{one.line.medicine.written} ({one.first.dose_text} {clock.at(one.first.at)} and again "
        f"{clock.at(one.second.at)})"
        for one in found
    ]
    return tell(
        About(Kind.MEDICINE_MISSING, "given-twice", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(
            bedside,
            min(one.second.at for one in found),
            *(one.line.order for one in found),
            *(dose.origin for one in found for dose in (one.first, one.second)),
        ),
        brief=f"Given twice? {', '.join(as_charted(one.line.medicine.text) for one in found)}",
        sentence=f"Given twice, or written down twice? {'; '.join(said)}. Ask before the next dose, and "
        "watch for what too much of it brings.",
        sources=(table.GIVEN_TWICE_WITHIN.source,),
        decided_by="two whole doses within a part of their interval",
    )
