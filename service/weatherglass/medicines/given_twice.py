"""Was a whole dose given twice within a part of its interval, of what harms when it is doubled?

A question: two entries may be of one dose. Parts of a dose are written down together, or with another amount.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from functools import cache, partial
from itertools import islice, pairwise
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.medicines.doses_due import DAY
from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.patterns import when_asked
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin

#: An amount as a dose is written: "30 [iU]".
_AMOUNT: Final = when_asked(r"\s*(\d+(?:\.\d+)?)\s*(\S*)")
_MOST_A_DAY: Final = 4


class _Given(Plain, frozen=True):
    """The doses of what a line holds, by their order, and whether one line alone is ordered for all of it."""

    by_order: Mapping[Origin | None, Sequence[Administration]]
    is_alone: bool

    def of(self, order: MedicineOrder) -> Sequence[Administration]:
        """Return the doses of an order: by its reference, or of what it holds where it alone holds it."""
        if self.by_order.keys() - {None}:
            return self.by_order.get(order.origin, ())
        return self.by_order.get(None, ()) if self.is_alone else ()


class _Twice(Plain, frozen=True):
    """Two whole doses that are nearer than they are meant."""

    line: Line
    first: Administration
    second: Administration


def assess_given_twice(bedside: Bedside) -> Iterator[Finding]:
    """Ask about every dose that seems to have been given twice, in one finding."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    given_of = cache(partial(_given, bedside.record))
    found = [
        one
        for each in bedside.named_lines
        if each.is_one_of(table.HARMS_TWICE)
        if (one := _twice(bedside, each.line, given_of)) is not None
    ]
    if found:
        yield _finding(bedside, found)


def _twice(bedside: Bedside, line: Line, given_of: Callable[[frozenset[str]], _Given]) -> _Twice | None:
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
    given = given_of(frozenset(line.medicine.ingredients)).of(order)
    doses = [one for one in given if one.at >= since - nearest]
    for first, second in reversed(list(pairwise(doses))):
        if second.at >= since and _are_two(order, first, second, nearest):
            return _Twice(line, first, second)
    return None


def _given(record: Record, content: frozenset[str]) -> _Given:
    by_order = defaultdict[Origin | None, list[Administration]](list)
    for dose in record.administrations:
        if not content.isdisjoint(dose.medicine.ingredients):
            by_order[dose.order].append(dose)
    here = (
        one
        for one in record.orders
        if not one.is_statement and not content.isdisjoint(one.medicine.ingredients)
    )
    return _Given(by_order, len(list(islice(here, 2))) == 1)


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
