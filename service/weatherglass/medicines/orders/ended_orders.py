"""Was a long treatment meant to end at once, and was a dose given of what somebody had stopped?

Both are questions: an end may be meant, and a dose may have been written down late.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing, ended_line
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.knowledge.medicines.expected_medicines import RECENTLY_ENDED
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL, TimeCritical
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.medicines.orders.doses_due import is_in_question
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.signals import Letter
from weatherglass.model.times.dates_alone import latest_of
from weatherglass.model.words.clock_words import lasting
from weatherglass.terminology.doses.worded_interval import course_of

#: What is given for a number of days as a rule.
_COURSES: Final = frozenset({MedicineClass.ANTIBACTERIAL.value, MedicineClass.GLUCOCORTICOID.value})


def assess_ended_orders(bedside: Bedside) -> Iterator[Finding]:
    """Ask about a long treatment that ended at once, and about doses given of what was stopped."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    used = _used(bedside) if bedside.drug_chart.ended else {}
    long = [(o, row) for o in bedside.drug_chart.ended if (row := _ended_at_once(bedside, o, used))]
    situation = situation_of(bedside) if long else None
    for order, row in long:
        if situation is None or order.ends is None or is_in_question(bedside, ended_line(order), situation):
            continue
        yield _long_one(bedside, order, order.ends, row)
    after = [line for line in bedside.drug_chart.lines if _was_given_after(bedside, line)]
    if after:
        yield _after_the_end(bedside, after)
    beyond = [(line, over) for line in bedside.drug_chart.lines if (over := _course_over(bedside, line))]
    if beyond:
        yield _beyond_its_course(bedside, beyond)


def _used(bedside: Bedside) -> Mapping[str, Sequence[Line]]:
    """Return the lines in use of each row of what must not end at once, by its key."""
    rows = [row for row in TIME_CRITICAL if row.ends_slowly]
    # What is given when needed takes the place of nothing that was regular.
    regular = [
        one for one in bedside.named_lines if one.line.charted is None or not one.line.charted.as_needed
    ]
    return {row.key: tuple(each.line for each in regular if row.is_met_by(each.is_one_of)) for row in rows}


def _ended_at_once(
    bedside: Bedside, order: MedicineOrder, used: Mapping[str, Sequence[Line]]
) -> TimeCritical | None:
    """Return the row of a long treatment that ended of late, with no reason and nothing of its kind since."""
    began, ended = order.began, order.ends
    if began is None or ended is None or order.status_reason or bedside.as_of - ended > RECENTLY_ENDED.length:
        return None
    line = ended_line(order)
    if ended > bedside.as_of or order.as_needed or not line.classes:
        return None
    of_line = bedside.named(line)
    for row in TIME_CRITICAL:
        if row.only_with and row.only_with.isdisjoint(bedside.problems):
            continue
        if row.ends_slowly and of_line.is_one_of(row.members) and ended - began >= table.LASTED_LONG.length:
            others = [one for one in used[row.key] if one.order != order.origin]
            return None if _is_replaced(row, others, ended) else row
    return None


def _is_replaced(row: TimeCritical, others: Sequence[Line], ended: datetime) -> bool:
    """Tell whether what is in use took its place, or the problem asks for one by itself."""
    if not row.each or not others:
        return bool(others) or row.each
    return any(one.since is None or ended - one.since < table.LASTED_LONG.length for one in others)


def _long_one(bedside: Bedside, order: MedicineOrder, ended: datetime, row: TimeCritical) -> Finding:
    name = order.medicine.written
    lasted = lasting(ended - order.began) if order.began is not None else "long"
    return tell(
        About(Kind.MEDICINE_MISSING, "long-treatment-ended", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(bedside, ended, order.origin),
        brief=f"{name}, after {lasted}, ended at once",
        sentence=f"{name}, on the chart for {lasted}, has ended ({bedside.clock.full(ended)}), and nothing "
        f"{'was begun in its place' if row.each else 'of its kind is in use'}: was it meant to end at once? "
        f"Without it {row.harm} may follow.{f' {row.back}' if row.back else ''}",
        sources=(*row.sources, table.LASTED_LONG.source),
        decided_by="a long treatment that ended at once",
    )


def _was_given_after(bedside: Bedside, line: Line) -> bool:
    """Tell whether a dose was given after somebody had stopped the order."""
    order, dose = line.charted, line.last_dose
    if order is None or dose is None or order.ends is None or order.status is not OrderStatus.STOPPED:
        return False
    is_late = not order.ran_its_course and dose.at - latest_of(order.ends) > table.EARLY.length
    return is_late and bedside.as_of - dose.at <= table.RECORDED_LATELY.length


def _after_the_end(bedside: Bedside, lines: Sequence[Line]) -> Finding:
    clock = bedside.clock
    pairs = [(line, line.charted.ends, line.last_dose) for line in lines if line.charted is not None]
    told = [(line, ended, dose) for line, ended, dose in pairs if ended is not None and dose is not None]
    said = [
        f"{line.medicine.written} (stopped {clock.full(ended)}, given {clock.full(dose.at)})"
        for line, ended, dose in told
    ]
    return tell(
        About(Kind.MEDICINE_MISSING, "given-after-its-end", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(
            bedside,
            min(dose.at for _, _, dose in told),
            *(line.order for line in lines),
            *(dose.origin for _, _, dose in told),
        ),
        brief=f"Given after it was stopped: {', '.join(line.medicine.written for line in lines)}",
        sentence=f"Given after it was stopped: {'; '.join(said)}. Was that meant, and what is due next?",
        sources=(table.GIVEN_AFTER_SOURCE,),
        decided_by="a dose after the end of its order",
    )


def _course_over(bedside: Bedside, line: Line) -> datetime | None:
    """Return when the course was over that an order in use writes in words, and doses went on; else None."""
    order, dose = line.charted, line.last_dose
    if line.standing is not Standing.IN_USE or order is None or order.is_statement or order.began is None:
        return None
    if _COURSES.isdisjoint(line.classes) or dose is None:
        return None
    days = course_of(order.dose_text)
    if days is None:
        return None
    over = order.began + timedelta(days=days) + table.COURSE_GRACE.length
    is_late = bedside.as_of - dose.at <= table.RECORDED_LATELY.length
    return over if is_late and over < min(dose.at, bedside.as_of) else None


def _beyond_its_course(bedside: Bedside, lines: Sequence[tuple[Line, datetime]]) -> Finding:
    said = [f"{line.medicine.written} ({line.charted.dose_text})" for line, _ in lines if line.charted]
    return tell(
        About(Kind.MEDICINE_MISSING, "course-over", Letter.EXPOSURE),
        Urgency.ROUTINE,
        rests_on(bedside, min(over for _, over in lines), *(line.order for line, _ in lines)),
        brief=f"Course over, still given: {', '.join(line.medicine.written for line, _ in lines)}",
        sentence=f"Still given after the course that is written was over: {'; '.join(said)}. Is it meant to "
        "go on, and until when?",
        sources=(table.COURSE_GRACE.source,),
        decided_by="a dose after the course that its order writes",
    )
