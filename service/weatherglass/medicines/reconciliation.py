"""Was what is taken at home ordered here, was what lasted long meant to end, and what had ended given?

Of home medicines it is asked once somebody has been in hospital for a day and has orders of their own
here, and within hours of what harms when it is left out. All are questions: many medicines are left
out on purpose, and nothing is urged.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing, ended_line
from weatherglass.facts.presence import Presence
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.knowledge.medicines.expected_medicines import RECENTLY_ENDED
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL, TimeCritical
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.signals import Letter
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import listed


def assess_reconciliation(bedside: Bedside) -> Iterator[Finding]:
    """Name every home medicine that is not on the chart of this stay, in one finding."""
    admitted = bedside.admitted_at
    if admitted is None or bedside.in_hospital is not Presence.HERE:
        return
    if bedside.as_of - admitted < table.HOME_ASKED_AFTER.length or not _has_orders(bedside):
        return
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    left = [(line, _row(bedside, line)) for line in bedside.drug_chart.lines if _is_left_behind(line)]
    critical = [
        (line, row) for line, row in left if row is not None and not _was_given(bedside, line, admitted)
    ]
    others = [line for line, row in left if row is None]
    if bedside.as_of - admitted < table.RECONCILED_WITHIN.length:
        others = []
    if critical or others:
        yield _finding(bedside, admitted, critical, others)


def assess_ended_orders(bedside: Bedside) -> Iterator[Finding]:
    """Ask about a long treatment that ended at once, and about doses given of what was stopped."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    for order in bedside.drug_chart.ended:
        row = _ended_at_once(bedside, order)
        if row is not None and order.ends is not None:
            yield _long_one(bedside, order, order.ends, row)
    after = [line for line in bedside.drug_chart.lines if _was_given_after(bedside, line)]
    if after:
        yield _after_the_end(bedside, after)


def _ended_at_once(bedside: Bedside, order: MedicineOrder) -> TimeCritical | None:
    """Return the row of a long treatment that ended of late, with no reason and nothing of its kind since."""
    began, ended = order.began, order.ends
    if began is None or ended is None or order.status_reason or bedside.as_of - ended > RECENTLY_ENDED.length:
        return None
    line = ended_line(order)
    if ended > bedside.as_of or not line.classes:
        return None
    of_line = bedside.named(line)
    for row in TIME_CRITICAL:
        if row.ends_slowly and of_line.is_one_of(row.members) and ended - began >= table.LASTED_LONG.length:
            others = (each for each in bedside.named_lines if each.line.order != order.origin)
            return None if any(each.is_one_of(row.members) for each in others) else row
    return None


def _long_one(bedside: Bedside, order: MedicineOrder, ended: datetime, row: TimeCritical) -> Finding:
    name = order.medicine.text.strip().rstrip(".")
    lasted = lasting(ended - order.began) if order.began is not None else "long"
    return Finding(
        kind=Kind.MEDICINE_MISSING,
        key="long-treatment-ended",
        letter=Letter.EXPOSURE,
        urgency=Urgency.PROMPT,
        sentence=f"{name}, on the chart for {lasted}, has ended ({bedside.clock.full(ended)}), and nothing "
        f"of its kind is in use: was it meant to end at once? Without it {row.harm} may follow.",
        brief=f"{name}, after {lasted}, ended at once",
        **rests_on(bedside, ended, order.origin),
        sources=(*row.sources, table.LASTED_LONG.source),
        decided_by="a long treatment that ended at once",
    )


def _was_given_after(bedside: Bedside, line: Line) -> bool:
    """Tell whether a dose was given after somebody had stopped the order."""
    order, dose = line.charted, line.last_dose
    if order is None or dose is None or order.ends is None or order.status is not OrderStatus.STOPPED:
        return False
    is_late = dose.at - order.ends > table.EARLY.length
    return is_late and bedside.as_of - dose.at <= table.RECORDED_LATELY.length


def _after_the_end(bedside: Bedside, lines: Sequence[Line]) -> Finding:
    clock = bedside.clock
    pairs = [(line, line.charted.ends, line.last_dose) for line in lines if line.charted is not None]
    told = [(line, ended, dose) for line, ended, dose in pairs if ended is not None and dose is not None]
    said = [
        f"{_name(line)} (stopped {clock.full(ended)}, given {clock.full(dose.at)})"
        for line, ended, dose in told
    ]
    return Finding(
        kind=Kind.MEDICINE_MISSING,
        key="given-after-its-end",
        letter=Letter.EXPOSURE,
        urgency=Urgency.PROMPT,
        sentence=f"Given after it was stopped: {'; '.join(said)}. Was that meant, and what is due next?",
        brief=f"Given after it was stopped: {', '.join(_name(line) for line in lines)}",
        **rests_on(
            bedside,
            min(dose.at for _, _, dose in told),
            *(line.order for line in lines),
            *(dose.origin for _, _, dose in told),
        ),
        sources=(table.GIVEN_AFTER_SOURCE,),
        decided_by="a dose after the end of its order",
    )


def _has_orders(bedside: Bedside) -> bool:
    return any(o.status is OrderStatus.ACTIVE and not o.is_statement for o in bedside.record.orders)


def _is_left_behind(line: Line) -> bool:
    return line.standing is Standing.REPORTED and not line.medicine.is_unnamed


def _row(bedside: Bedside, line: Line) -> TimeCritical | None:
    """Return why its sudden end harms; None where it does not."""
    of_line = bedside.named(line)
    return next((row for row in TIME_CRITICAL if row.home and of_line.is_one_of(row.members)), None)


def _was_given(bedside: Bedside, line: Line, admitted: datetime) -> bool:
    """Tell whether a dose of it was given here without an order."""
    taken = set(line.medicine.ingredients)
    return bool(taken) and any(
        dose.at >= admitted and taken <= set(dose.medicine.ingredients)
        for dose in bedside.record.administrations
    )


def _finding(
    bedside: Bedside,
    admitted: datetime,
    critical: Sequence[tuple[Line, TimeCritical]],
    others: Sequence[Line],
) -> Finding:
    lines = [*(line for line, _ in critical), *others]
    names = [_name(line) for line in lines]
    asked = admitted + table.HOME_ASKED_AFTER.length
    pressing = [asked + row.urgent_after for _, row in critical if row.urgent_after is not None]
    pressing = [at for at in pressing if at <= bedside.as_of]
    harms = "".join(f"Without {_name(line)} {row.harm} may follow. " for line, row in critical)
    if len(critical) > 1 and len({row.harm for _, row in critical}) == 1:
        harms = f"Without {listed([_name(line) for line, _ in critical])} {critical[0][1].harm} may follow. "
    return Finding(
        kind=Kind.MEDICINE_MISSING,
        key="home-medicines-not-ordered",
        letter=Letter.EXPOSURE,
        urgency=Urgency.URGENT if pressing else Urgency.PROMPT if critical else Urgency.ROUTINE,
        sentence=f"Taken at home and not ordered here: {', '.join(names)}. {harms}"
        f"Ask whether {'each' if len(names) > 1 else 'it'} is meant to be left out.",
        brief=_brief(names, critical),
        **rests_on(
            bedside,
            asked if critical else admitted,
            *(line.order for line in lines),
            asked_since=min(pressing, default=None),
        ),
        sources=(table.RECONCILED_WITHIN.source, table.HOME_ASKED_AFTER.source, table.URGENCY_SOURCE),
        decided_by="home medicines compared with the chart",
    )


def _name(line: Line) -> str:
    return line.medicine.text.strip().rstrip(".")


def _brief(names: Sequence[str], critical: Sequence[tuple[Line, TimeCritical]]) -> str:
    """Name what harms within hours; count what does not."""
    if len(critical) == 1:
        return f"{names[0]}, taken at home, is not ordered here"
    return f"{len(names)} home {'medicine' if len(names) == 1 else 'medicines'} not ordered here"
