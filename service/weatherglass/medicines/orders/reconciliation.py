"""Was what is taken at home ordered here, and in its dose?

Of home medicines it is asked once somebody has been in hospital for a day and has orders of their own
here, and within hours of what harms when it is left out. All are questions: many medicines are left
out on purpose, and nothing is urged.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import daily_milligrams, is_preventive
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.medicines.meeting_pairs import against
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL, TimeCritical
from weatherglass.medicines.judging.judgement import judge
from weatherglass.medicines.judging.situation import Situation, is_replaced_by_infusion, situation_of
from weatherglass.medicines.orders.doses_due import is_in_question
from weatherglass.medicines.pairs import is_left_at_home, is_of_one_kind
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import listed

#: Ours: more names than this are counted only.
_NAMED: Final = 3


def assess_reconciliation(bedside: Bedside) -> Iterator[Finding]:
    """Name every home medicine that is not on the chart of this stay, in one finding."""
    admitted = bedside.admitted_at
    if admitted is None or bedside.in_hospital is not Presence.HERE:
        return
    if bedside.as_of - admitted < table.HOME_ASKED_AFTER.length or not bedside.has_orders:
        return
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    # What must not be given beside an order of here is asked about as that pair.
    told = [met for met in bedside.pairs_met if not is_left_at_home(bedside, met)]
    paired = {o for met in told if met.pair.urgency == "urgent" for o in against(met)}
    paired |= {line.order for met in told if is_of_one_kind(met) for line in met.lines}
    lines = [n for n in bedside.drug_chart.lines if _is_left_behind(n) and n.order not in paired]
    lines = [n for n in lines if not is_replaced_by_infusion(bedside, n)]
    # Nor is one whose next dose something speaks against: that names it, and that it is not ordered here.
    situation = situation_of(bedside) if lines else None
    lines = [n for n in lines if situation is None or not is_in_question(bedside, n, situation)]
    left = [(line, _row(bedside, line)) for line in lines]
    given = {frozenset(d.medicine.ingredients) for d in bedside.record.administrations if d.at >= admitted}
    is_first_day = bedside.as_of - admitted < table.RECONCILED_WITHIN.length
    critical = [
        (line, row)
        for line, row in left
        if row is not None and not (is_first_day and not row.harms_within_hours)
        if not _was_given(line, given)
        if row.harms_within_hours or not _is_asked_about(bedside, line, situation)
    ]
    # Nor is what a pair speaks against asked for.
    unwanted = {order for met in bedside.pairs_met for order in against(met)}
    others = [line for line, row in left if row is None and not is_first_day and line.order not in unwanted]
    if critical or others:
        yield _finding(bedside, admitted, critical, others)


def assess_home_doses(bedside: Bedside) -> Iterator[Finding]:
    """Ask about a dose that was ordered in this stay and is far from the dose at home."""
    admitted = bedside.admitted_at
    if admitted is None or bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    here, there = _by_medicine(bedside, admitted)
    told = [
        (lines, there[content], said)
        for content, lines in here.items()
        if content in there and (said := _other_dose(bedside, lines, there[content]))
    ]
    if told:
        named = listed([lines[0].medicine.written for lines, _, _ in told])
        yield tell(
            About(Kind.MEDICINE_MISSING, "home-dose-differs", Letter.EXPOSURE),
            Urgency.PROMPT,
            rests_on(
                bedside,
                min(line.since for lines, _, _ in told for line in lines if line.since is not None),
                *(line.order for lines, _, _ in told for line in lines),
                *(home.origin for _, homes, _ in told for home in homes),
            ),
            brief=f"Dose far from that at home: {named}",
            sentence=f"The dose here is far from the dose at home: {'; '.join(said for _, _, said in told)}. "
            "Was that meant?",
            sources=(table.OTHER_DOSE.source, table.URGENCY_SOURCE),
            decided_by="the dose at home compared with the order",
        )


_Content = frozenset[str]


def _by_medicine(
    bedside: Bedside, admitted: datetime
) -> tuple[Mapping[_Content, Sequence[Line]], Mapping[_Content, Sequence[MedicineOrder]]]:
    """Return what was ordered in this stay and is in use, and what is taken at home, by their ingredients."""
    here: dict[_Content, list[Line]] = {}
    there: dict[_Content, list[MedicineOrder]] = {}
    for line in bedside.drug_chart.lines:
        if line.standing is Standing.IN_USE and line.charted is not None and not line.charted.is_statement:
            here.setdefault(frozenset(line.medicine.ingredients), []).append(line)
    for home in bedside.record.orders:
        if home.is_statement and home.status is OrderStatus.ACTIVE and home.in_force_at(bedside.as_of):
            there.setdefault(frozenset(home.medicine.ingredients), []).append(home)
    of_this_stay = {
        content: lines
        for content, lines in here.items()
        if content and all(line.since is not None and line.since >= admitted for line in lines)
    }
    return of_this_stay, there


def _other_dose(bedside: Bedside, lines: Sequence[Line], homes: Sequence[MedicineOrder]) -> str:
    """Say both doses of a day where one is half the other or less, on the side that harms; else empty."""
    doses = [daily_milligrams(line.charted) for line in lines]
    at_home = [daily_milligrams(home) for home in homes]
    here = sum((each for each in doses if each), Decimal(0))
    there = sum((each for each in at_home if each), Decimal(0))
    row = _row(bedside, lines[0])
    if row is None or not all(doses) or not all(at_home):
        return ""
    ratio = here / there
    is_far = ratio <= table.OTHER_DOSE.value if row.late is not None else ratio >= 1 / table.OTHER_DOSE.value
    return (
        f"{lines[0].medicine.written} {plain(here)} mg a day here, {plain(there)} mg at home"
        if is_far
        else ""
    )


def _is_left_behind(line: Line) -> bool:
    return line.standing is Standing.REPORTED and not line.medicine.is_unnamed


def _row(bedside: Bedside, line: Line) -> TimeCritical | None:
    """Return why its sudden end harms; None where it does not, or where another takes its place.

    A dose that only prevents clots takes the place of none that treats.
    """
    of_line = bedside.named(line)
    row = next((row for row in TIME_CRITICAL if row.home and of_line.is_one_of(row.members)), None)
    if row is None or row.harms_within_hours:
        return row
    if (line.charted is not None and line.charted.as_needed) or (row.one_kind and _is_replaced(bedside, row)):
        return None
    return row


def _is_replaced(bedside: Bedside, row: TimeCritical) -> bool:
    """Tell whether a regular order here does, and not in a dose that only prevents clots."""
    return any(
        each.line.standing is Standing.IN_USE
        and not (each.line.charted is not None and each.line.charted.as_needed)
        and row.is_met_by(each.is_one_of)
        and not is_preventive(each)
        for each in bedside.named_lines
    )


def _is_asked_about(bedside: Bedside, line: Line, situation: Situation | None) -> bool:
    """Tell whether a problem on record asks its team about it: the day on which an anticoagulant begins."""
    if situation is None:
        return False
    judged = judge(bedside, line, situation)
    return any(one.rule.trigger is Trigger.RECORDED_PROBLEM and one.action is Action.REVIEW for one in judged)


def _was_given(line: Line, given: Iterable[frozenset[str]]) -> bool:
    """Tell whether a dose of it was given here without an order."""
    taken = frozenset(line.medicine.ingredients)
    return bool(taken) and any(taken <= each for each in given)


def _finding(
    bedside: Bedside,
    admitted: datetime,
    critical: Sequence[tuple[Line, TimeCritical]],
    others: Sequence[Line],
) -> Finding:
    lines = [*(line for line, _ in critical), *others]
    names = [line.medicine.written for line in lines]
    harms_soon = any(row.harms_within_hours for _, row in critical)
    asked = admitted + (table.HOME_ASKED_AFTER if harms_soon else table.RECONCILED_WITHIN).length
    pressing = [asked + row.urgent_after for _, row in critical if row.urgent_after is not None]
    pressing += [asked for _, row in critical if not row.urgent_with.isdisjoint(bedside.problems)]
    pressing = [at for at in pressing if at <= bedside.as_of]
    without: dict[str, list[str]] = {}
    for line, row in critical:
        without.setdefault(row.harm, []).append(line.medicine.written)
    harms = "".join(f"Without {listed(those)} {harm} may follow. " for harm, those in without.items())
    if len(lines) == len(critical) and len(without) == 1:
        harms = f"Without {'it' if len(lines) == 1 else 'them'} {critical[0][1].harm} may follow. "
    return tell(
        About(Kind.MEDICINE_MISSING, "home-medicines-not-ordered", Letter.EXPOSURE),
        Urgency.URGENT if pressing else Urgency.PROMPT if critical else Urgency.ROUTINE,
        rests_on(
            bedside,
            asked if critical else admitted,
            *(line.order for line in lines),
            asked_since=min(pressing, default=None),
        ),
        brief=_brief(names, critical),
        sentence=f"Taken at home and not ordered here: {', '.join(names)}. {harms}"
        f"Ask whether {'each' if len(names) > 1 else 'it'} is meant to be left out.",
        sources=(table.RECONCILED_WITHIN.source, table.HOME_ASKED_AFTER.source, table.URGENCY_SOURCE),
        decided_by="home medicines compared with the chart",
    )


def _brief(names: Sequence[str], critical: Sequence[tuple[Line, TimeCritical]]) -> str:
    """Name what harms within hours; count what does not."""
    if 0 < len(critical) <= _NAMED:
        verb = "is" if len(critical) == 1 else "are"
        return f"{listed(list(names[: len(critical)]))}, taken at home, {verb} not ordered here"
    return f"{len(names)} home {'medicine' if len(names) == 1 else 'medicines'} not ordered here"
