"""Is an injection that acts for weeks or months overdue?

Asked of an order in force whose words or timing say how often, and of which a dose is recorded: whoever never
had one here may have it elsewhere. A question, for it may have been given there.
"""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.medicines.orders.doses_due import DAY
from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Administration
from weatherglass.model.signals import Letter
from weatherglass.terminology.doses.worded_interval import days_between

#: A seventh of a day does not come back as seven.
_A_WEEK: Final = Decimal("6.9")


class _Overdue(Plain, frozen=True):
    """An injection, its last dose and how long it is meant to last."""

    line: Line
    last: Administration
    every: timedelta


def assess_depots(bedside: Bedside) -> Iterator[Finding]:
    """Ask about every injection that acts for long and is overdue, in one finding."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    lines = [each.line for each in bedside.named_lines if each.is_one_of(table.ACTS_FOR_WEEKS)]
    given = bedside.record.administrations if lines else ()
    last = {name: dose for dose in given for name in dose.medicine.ingredients}
    found = [one for line in lines if (one := _overdue(bedside, line, last)) is not None]
    if found:
        yield _finding(bedside, found)


def _overdue(bedside: Bedside, line: Line, given: Mapping[str, Administration]) -> _Overdue | None:
    """Return an injection that is overdue; of what it holds the last dose on record counts."""
    order = line.regular
    if order is None:
        return None
    a_day = doses_a_day(order)
    days = 1 / a_day if a_day else days_between(order.dose_text)
    if days is None or days < _A_WEEK:
        return None
    doses = [given[name] for name in line.medicine.ingredients if name in given]
    if not doses:
        return None
    every, last = timedelta(days=float(days)), max(doses, key=lambda one: one.at)
    grace = max(every * float(table.DEPOT_GRACE.value), table.DEPOT_GRACE_AT_LEAST.length)
    return _Overdue(line, last, every) if bedside.as_of - last.at > every + grace else None


def _finding(bedside: Bedside, found: list[_Overdue]) -> Finding:
    clock = bedside.clock
    said = [
        f"{each.line.medicine.written} (last {clock.full(each.last.at)}, due every {each.every // DAY} days)"
        for each in found
    ]
    return tell(
        About(Kind.MEDICINE_MISSING, "depot-overdue", Letter.EXPOSURE),
        Urgency.ROUTINE,
        rests_on(
            bedside,
            min(one.last.at + one.every for one in found),
            *(one.line.order for one in found),
            *(one.last.origin for one in found),
        ),
        brief=f"Overdue: {', '.join(as_charted(one.line.medicine.text) for one in found)}",
        sentence=f"No dose recorded for longer than it lasts: {'; '.join(said)}. Was it given elsewhere? "
        "Its team says how it is given after a gap.",
        sources=(table.DEPOT_GRACE.source,),
        decided_by="an injection that acts for weeks and is overdue",
    )
