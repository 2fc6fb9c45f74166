"""Is a dose of a time-critical medicine late, or recorded as not given?

Asked only where doses are recorded at all, and never of what the record itself speaks against: a
medicine that a rule would hold, that meets an allergy, or that a pair forbids may have been left out on
purpose.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.allergy_check import Strength
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.series.limits_met import Met, meets
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.knowledge.medicines.rules.actions import ACTIONS
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL, TimeCritical
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.medicines.judging.judgement import judge
from weatherglass.medicines.judging.situation import Situation, is_replaced_by_infusion, situation_of
from weatherglass.medicines.pairs import pairs
from weatherglass.medicines.telling.wording import as_charted, name_of
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import MedicineOrder
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin

#: Ours: more names than this are counted only.
_NAMED: Final = 3


_WORDS: Final = word_patterns("chart-patterns.toml")
_WITHHELD: Final = _WORDS["withheld-for-a-sign"]
#: Rows of which doses are looked at.
_LOOKED_AT: Final = tuple(each for each in TIME_CRITICAL if each.late or each.missed_after)


class _Missed(Plain, frozen=True):
    """A dose that was due and of which nothing says that it was given."""

    line: Line
    row: TimeCritical
    due: datetime
    said: str
    evidence: tuple[Origin, ...]


def assess_doses_due(bedside: Bedside) -> Iterator[Finding]:
    """Name every late or omitted dose of a time-critical medicine, in one finding."""
    if not _are_recorded(bedside):
        return
    found = [one for line in bedside.drug_chart.lines if (one := _missed(bedside, line)) is not None]
    if not found:
        return
    situation = situation_of(bedside)
    if Circumstance.LAST_DAYS in situation.applies:
        return
    forbidden = {order for pair in pairs(bedside, situation, ()) for order in pair.against}
    found = [
        one
        for one in found
        if one.line.order not in forbidden and not is_in_question(bedside, one.line, situation)
    ]
    if found:
        yield _finding(bedside, found, situation)


def _are_recorded(bedside: Bedside) -> bool:
    earliest = bedside.as_of - table.RECORDED_LATELY.length
    given, omitted = bedside.record.administrations, bedside.record.omissions
    return any(one.at >= earliest for one in given) or any(one.at >= earliest for one in omitted)


def _missed(bedside: Bedside, line: Line) -> _Missed | None:
    order = line.regular
    if order is None:
        return None
    if line.is_running or is_replaced_by_infusion(bedside, line):
        return None
    of_line = bedside.named(line)
    row = next((each for each in _LOOKED_AT if of_line.is_one_of(each.members)), None)
    if row is None:
        return None
    missed = _omitted(bedside, line, row)
    if missed is None and row.late is not None:
        missed = _late(bedside, line, order, row, row.late)
    after = row.missed_after or row.asked_after
    return missed if missed is not None and bedside.as_of - missed.due >= after else None


def _omitted(bedside: Bedside, line: Line, row: TimeCritical) -> _Missed | None:
    """Return the doses recorded as not given since the last that was; it is late from the first of them."""
    given = line.last_dose.at if line.last_dose is not None else None
    doses = [one for one in bedside.omitted.get(line.order, ()) if given is None or one.at > given]
    if not doses or (row.missed_after is not None and all(_WITHHELD.search(one.reason) for one in doses)):
        return None
    newest, times = doses[-1], len({one.at for one in doses})
    why = f", {newest.reason}" if newest.reason else ""
    often = "" if times == 1 else f" {times} times in a row, last"
    said = f"{name_of(line)} (recorded as not given{often} at {bedside.clock.full(newest.at)}{why})"
    return _Missed(line, row, doses[0].at, said, tuple(one.origin for one in doses))


def _late(
    bedside: Bedside, line: Line, order: MedicineOrder, row: TimeCritical, late: timedelta
) -> _Missed | None:
    due = _due(bedside, line, order, late)
    if due is None:
        return None
    began = line.since
    if began is not None and began > due:
        return None
    ago = bedside.clock.apart(due, bedside.as_of)
    said = f"{name_of(line)} (due {bedside.clock.full(due)}, {ago} ago)"
    return _Missed(line, row, due, said, ())


def _due(bedside: Bedside, line: Line, order: MedicineOrder, late: timedelta) -> datetime | None:
    """Return when the dose was due that is late by now; None where none is, or nothing tells."""
    given = line.last_dose.at if line.last_dose is not None else None
    if order.due:
        due = _last_time(bedside, order)
        if given is not None:
            # From the first time after the last dose on doses are missing.
            after = max(given + table.EARLY.length, line.since or given)
            due = min(due, first_time_after(bedside, order, after))
        if bedside.as_of - due < late or (given is not None and given >= due - table.EARLY.length):
            return None
        return due
    often = doses_a_day(order)
    if often is None or often < 1 or given is None:
        return None
    interval = DAY / float(often)
    gap = table.LEAST_GAP.length
    # Several doses a day are given in waking hours, with a longer gap at night.
    allowed = max(2 * interval, interval + gap) if often > 1 else interval + gap
    return given + interval if bedside.as_of - given > allowed else None


def _last_time(bedside: Bedside, order: MedicineOrder) -> datetime:
    """Return the last of an order's times of a day that has passed."""
    now = bedside.local(bedside.as_of)
    today = [datetime.combine(now.date(), each, now.tzinfo) for each in order.due]
    passed = [each for each in today if each <= now]
    return max(passed) if passed else max(today) - DAY


def is_in_question(bedside: Bedside, line: Line, situation: Situation) -> bool:
    """Tell whether an allergy or a rule speaks against the next dose of a line."""
    met = bedside.allergies_met.get(line.order)
    if met is not None and met.strength is not Strength.NOTE:
        return True
    return any(ACTIONS[one.action].withholds for one in judge(bedside, line, situation))


def _brief(found: list[_Missed]) -> str:
    """Name what is missing, as far as few words reach."""
    named = list(dict.fromkeys(_short(one.line) for one in found))
    rest = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
    return f"Not recorded as given: {', '.join(named[:_NAMED])}{rest}"


def _short(line: Line) -> str:
    return as_charted(line.medicine.text) or " with ".join(line.medicine.ingredients).capitalize()


def _ask(found: list[_Missed]) -> str:
    """Ask what the record leaves open: of what somebody wrote down as not given, what replaces it."""
    if all(one.evidence for one in found):
        return "Ask now what replaces it, or by which other way it goes"
    return "Ask now whether it was given or left out on purpose"


def _presses_since(bedside: Bedside, one: _Missed) -> datetime | None:
    """Return since when a missed dose is urgent by itself: so long after it was due, or by a result."""
    if one.row.urgent_after is not None and one.due + one.row.urgent_after <= bedside.as_of:
        return one.due + one.row.urgent_after
    worse = one.row.worse
    if worse is None or one.row.urgent_with.isdisjoint(bedside.problems):
        return None
    newest = bedside.record.series(worse.signal).recent(bedside.as_of, bedside.as_of - one.due)
    return newest.at if newest is not None and meets(worse.cutoff, newest) is Met.YES else None


def _finding(bedside: Bedside, found: list[_Missed], situation: Situation) -> Finding:
    acute = situation.met.get(Trigger.ANY)
    # What may be late by a day is no more pressing in an illness.
    is_acute = acute is not None and not acute.doubt and any(one.row.late for one in found)
    since = min(one.due + (one.row.missed_after or one.row.asked_after) for one in found)
    pressing = [at for one in found if (at := _presses_since(bedside, one)) is not None]
    harms = ", ".join(dict.fromkeys(one.row.harm for one in found))
    doses = "dose" if len(found) == 1 else "doses"
    return tell(
        About(Kind.MEDICINE_MISSING, "doses-not-given", Letter.EXPOSURE),
        Urgency.URGENT if is_acute or pressing else Urgency.PROMPT,
        rests_on(
            bedside,
            since,
            *(origin for one in found for origin in (one.line.order, *one.evidence)),
            asked_since=min(pressing) if pressing and not is_acute else None,
        ),
        brief=_brief(found),
        sentence=f"No {doses} recorded as given: {'; '.join(one.said for one in found)}. {_ask(found)}; "
        f"without it {harms} may follow.",
        sources=(
            *(source for one in found for source in one.row.sources),
            table.GAP_SOURCE,
            table.URGENCY_SOURCE,
        ),
        decided_by="time-critical dose late or not given",
    )


# When is the next dose of a line due, as far as its order and its last dose tell?

DAY: Final = timedelta(days=1)


def next_dose(bedside: Bedside, line: Line) -> datetime | None:
    """Return when the next dose is due after the moment of the review; None where nothing tells.

    By the times of a day that the order names, or else by its last dose and how often it is given.
    """
    order = line.charted
    if line.standing is not Standing.IN_USE or order is None or order.as_needed or line.is_running:
        return None
    if order.due:
        return first_time_after(bedside, order, bedside.as_of)
    often = doses_a_day(order)
    if line.last_dose is None or not often:
        return None
    due = line.last_dose.at + DAY / float(often)
    return due if due > bedside.as_of else None


def first_time_after(bedside: Bedside, order: MedicineOrder, moment: datetime) -> datetime:
    """Return the first of an order's times of a day after a moment."""
    local = bedside.local(moment)
    today = [datetime.combine(local.date(), each, local.tzinfo) for each in order.due]
    return min(each if each > local else each + DAY for each in today)
