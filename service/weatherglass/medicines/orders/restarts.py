"""Medicines on hold, or ended in an illness that is over: whether and when they come back.

A hold is never suggested twice. While what speaks for it is still there the question is
who brings the medicine back and when; once it has passed, a restart is suggested with the
original reason, so that a hold is not forgotten.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.allergy_check import Strength, meetings
from weatherglass.facts.medicines.drug_chart import Line, Standing, is_in_use, systemic_classes, used_by
from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.rule import (
    RESTART_SOURCE,
    Circumstance,
    MedicineRule,
    RestartPlan,
    Trigger,
)
from weatherglass.knowledge.medicines.rules.rules import NOT_TO_BE_STARTED, RULES_BY_TRIGGER
from weatherglass.knowledge.medicines.rules.said import ways_back
from weatherglass.medicines.judging.judgement import Judged, judge, potassium_forbids_start
from weatherglass.medicines.judging.notes import contradiction, is_for_heart_failure, line_cautions
from weatherglass.medicines.judging.of_line import notes_for
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.orders.recovery import Recovered
from weatherglass.medicines.pairs import Partners
from weatherglass.medicines.telling.fixed import way_back
from weatherglass.medicines.telling.suggestions import (
    measures_of,
    of_line,
    reason_of,
    restart_of,
    review_by,
    urgency_of,
)
from weatherglass.medicines.telling.wording import name_of
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding, MedicineReason
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import MatchMethod, MedicineOrder, OrderStatus
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Source
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.value_words import limit_words

_NOT_STARTED_ABOVE_IT: Final = frozenset(key.value for key in NOT_TO_BE_STARTED.classes)
_ASKED_ABOUT: Final = frozenset(key.value for key in timing.ASKED_ABOUT_AFTERWARDS)
_ANY_PLAN: Final = RestartPlan(
    conditions=("what it was held for has passed",), then=(ways_back.CHECK_INDICATION,)
)


def restarts(
    bedside: Bedside, situation: Situation, over: Sequence[Recovered], partners: Partners
) -> Iterator[MedicineFinding]:
    """Return one question for each medicine on hold, and for each that ended in what is over."""
    lines = [line for line in bedside.drug_chart.lines if not _is_refused(bedside, line)]
    used = used_by(lines)
    for line in lines:
        if line.standing is Standing.ON_HOLD and line.is_recognised and not is_in_use(line.medicine, used):
            yield _on_hold(bedside, line, situation, over, partners.of(line))
    for order in bedside.drug_chart.ended:
        line = _ended_line(order)
        if _is_refused(bedside, line):
            continue
        passed = [one for one in over if _ended_in(bedside, order, one) and _was_concerned(line, one)]
        if passed and not _ASKED_ABOUT.isdisjoint(line.classes) and not _is_still_there(bedside, order):
            yield _ended(bedside, line, situation, passed, partners.of(line))


def _is_refused(bedside: Bedside, line: Line) -> bool:
    """Tell whether a recorded allergy speaks against giving it at all."""
    met = bedside.allergies_met.get(line.order)
    if met is None and line.standing is Standing.ENDED:
        met = meetings(bedside.record.allergies, [line]).get(line.order)
    return met is not None and met.strength is not Strength.NOTE


# On hold


def _given_since(bedside: Bedside, line: Line) -> str:
    """Say that a dose of what is on hold was given in the last day: it may have been meant to wait."""
    dose = line.last_dose
    if dose is None or bedside.as_of - dose.at > timedelta(days=1):
        return ""
    return f"; last given {bedside.clock.full(dose.at)}"


def _on_hold(
    bedside: Bedside, line: Line, situation: Situation, over: Sequence[Recovered], partner: Line | None
) -> MedicineFinding:
    never_hold = notes_for(bedside, line, situation).never_hold
    against = [one for one in judge(bedside, line, situation) if _speaks_for_it(one, never_hold=never_hold)]
    high = potassium_forbids_start(bedside) if not _NOT_STARTED_ABOVE_IT.isdisjoint(line.classes) else None
    passed = [one for one in over if _was_concerned(line, one)]
    name = name_of(line)
    why = _why(line)
    given = _given_since(bedside, line)
    brief = f"{name} is already on hold ({why}{given})"
    because = tuple(dict.fromkeys(one.met.short for one in against))
    if against:
        speaks = "; ".join(because)
        asks = "See that no further dose is given." if given else "Is there a plan for its restart?"
        sentence = f"{brief}, and this still supports it: {speaks}. {asks}"
    elif high is not None:
        above = limit_words(triggers.DO_NOT_START_RAAS, with_unit=False)
        sentence = f"{brief}; {high.short} is {above}. Is there a plan for its restart?"
    elif partner is not None:
        sentence = (
            f"{brief}, and {name_of(partner)} is on the chart, with which it is not given. Is there a plan?"
        )
    elif passed:
        said = "; ".join(one.said for one in passed)
        brief = f"Consider restarting {name}, on hold ({why})"
        sentence = f"{brief}: {said}."
    elif _is_pressing(situation) and never_hold:
        sentence = f"{brief}: ask now whether it goes back on, by which route, and what was missed."
    else:
        sentence = f"{brief}: consider whether and when it goes back on."
    stands = bool(against) or high is not None or partner is not None
    return _finding(
        bedside,
        line,
        situation,
        sentence=sentence,
        brief=brief,
        against=against,
        because=because,
        above_5=high,
        passed=() if stands else passed,
        is_forbidden=partner is not None,
        least=_least(against) if given else Urgency.ROUTINE,
    )


def _speaks_for_it(one: Judged, *, never_hold: bool) -> bool:
    """Tell whether a rule speaks for a hold: of what must never be missed only what would hold it does."""
    action = ACTIONS[one.action]
    return action.withholds if never_hold else bool(action.asks)


def _least(against: Sequence[Judged]) -> Urgency:
    """Return how soon a dose given although on hold is told: as a hold, but prompt at most (ours)."""
    holds = (urgency_of(one.action, [one]) for one in against if ACTIONS[one.action].withholds)
    return min(max(holds, default=Urgency.ROUTINE), Urgency.PROMPT)


def _why(line: Line) -> str:
    reason = line.charted.status_reason if line.charted is not None else ""
    return reason.strip().rstrip(".") or "no reason recorded"


# Ended


def _ended_line(order: MedicineOrder) -> Line:
    return Line(
        order.origin,
        order.medicine,
        systemic_classes(order.medicine.classes, order.route),
        Standing.ENDED,
        order.route,
        order.began,
        None,
        order,
    )


def _ended_in(bedside: Bedside, order: MedicineOrder, one: Recovered) -> bool:
    """Tell whether an order ended after something began, by its end or its last dose."""
    if order.status is not OrderStatus.STOPPED or order.is_statement:
        return False
    if order.medicine.method is MatchMethod.NONE:
        return False
    before = one.began - timing.CONTRAST_GIVEN.length
    if order.ends is not None:
        return before <= order.ends <= bedside.as_of
    return any(
        dose.at >= before
        and (dose.order == order.origin or set(dose.medicine.ingredients) & set(order.medicine.ingredients))
        for dose in bedside.record.administrations
    )


def _is_still_there(bedside: Bedside, order: MedicineOrder) -> bool:
    """Tell whether the medicine, or another of its classes, is in use, on hold or about to be signed."""
    classes = order.medicine.classes & _ASKED_ABOUT
    return any(
        line.standing is not Standing.ENDED and not classes.isdisjoint(line.classes)
        for line in bedside.drug_chart.lines
    )


def _ended(
    bedside: Bedside,
    line: Line,
    situation: Situation,
    passed: Sequence[Recovered],
    partner: Line | None,
) -> MedicineFinding:
    against = [
        one
        for one in judge(bedside, replace(line, standing=Standing.ON_HOLD), situation)
        if ACTIONS[one.action].asks
    ]
    said = "; ".join(one.said for one in passed)
    order = line.charted
    when = f" {bedside.clock.at(order.ends)}" if order is not None and order.ends else ""
    brief = f"{name_of(line)} was ended{when} ({_why(line)})"
    sentence = f"{brief}; {said}. Consider whether and when it comes back."
    if partner is not None:
        sentence += f" {name_of(partner)} is on the chart, with which it is not given."
    return _finding(
        bedside,
        line,
        situation,
        sentence=sentence,
        brief=brief,
        against=against,
        passed=passed,
        is_forbidden=partner is not None,
    )


# Both


def _was_concerned(line: Line, one: Recovered) -> bool:
    return bool(_plans(line, one))


def _plans(line: Line, one: Recovered) -> list[RestartPlan]:
    """Return the ways back that the rules of a trigger give for a line."""
    return [rule.restart for rule in _rules_back(line, one) if rule.restart is not None]


def _rules_back(line: Line, one: Recovered) -> list[MedicineRule]:
    """Return the rules of a trigger for a line that give a way back."""
    rules = RULES_BY_TRIGGER[one.trigger]
    return [rule for rule in rules if rule.restart is not None and not line.classes.isdisjoint(rule.classes)]


def _since(all_met: Sequence[MetTrigger], passed: Sequence[Recovered]) -> datetime | None:
    """Return since when what speaks for the pause has been there, or since when it is over."""
    if all_met:
        return earliest(met.since for met in all_met)
    return max((one.over_since for one in passed), default=None)


def _urgency(situation: Situation, *, is_vital: bool, stands: bool) -> Urgency:
    """Return how soon a restart is asked about: in acute illness what must never be missed is urgent."""
    if not is_vital:
        return Urgency.ROUTINE
    return Urgency.URGENT if _is_pressing(situation) and not stands else Urgency.PROMPT


def _is_pressing(situation: Situation) -> bool:
    """Tell whether somebody is surely acutely ill, outside recorded last days of life."""
    acute = situation.met.get(Trigger.ANY)
    return acute is not None and not acute.doubt and Circumstance.LAST_DAYS not in situation.applies


def _finding(
    bedside: Bedside,
    line: Line,
    situation: Situation,
    *,
    sentence: str,
    brief: str,
    against: Sequence[Judged],
    because: Sequence[str] = (),
    above_5: MetTrigger | None = None,
    passed: Sequence[Recovered] = (),
    is_forbidden: bool = False,
    least: Urgency = Urgency.ROUTINE,
) -> MedicineFinding:
    all_met = [one.met for one in against] + ([above_5] if above_5 is not None else [])
    measures = (*measures_of(all_met), *(m for one in passed for m in one.measures))
    since = _since(all_met, passed)
    plans = [one.rule.restart for one in against if one.rule.restart is not None]
    plans = plans or [p for one in passed for p in _plans(line, one)] or [_ANY_PLAN]
    notes = notes_for(bedside, line, situation)
    stands = bool(all_met) or is_forbidden
    last_days = Circumstance.LAST_DAYS in situation.applies
    asked = _urgency(situation, is_vital=notes.never_hold and not last_days, stands=stands)
    urgency = asked if last_days else max(asked, least)
    asks_now = urgency is Urgency.URGENT
    acute = situation.met.get(Trigger.ANY) if asks_now else None
    return MedicineFinding(
        kind=Kind.MEDICINE_RESTART,
        key="restart-later" if stands else "restart-now" if passed else "restart-question",
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=sentence,
        brief=brief,
        **rests_on(bedside, since, *all_met, *passed, line.order, measures=tuple(dict.fromkeys(measures))),
        sources=tuple(dict.fromkeys(_sources(against, passed))),
        cautions=tuple(dict.fromkeys(_cautions(bedside, line, situation, against))),
        decided_by="on hold" if line.standing is Standing.ON_HOLD else "ended in an illness that is over",
        **of_line(line),
        action=Action.RESTART,
        reasons=(*(reason_of(one, because) for one in against), *_reasons_passed(line, passed)),
        restart=restart_of(bedside, way_back(plans)) if passed or not asks_now else None,
        do_not_stop=notes.text,
        review_by=review_by(bedside, urgency, acute.since)
        if acute is not None
        else bedside.as_of + bedside.choices.medicine_review_within,
        hold_stands=bool(all_met) or is_forbidden,
    )


def _reasons_passed(line: Line, passed: Sequence[Recovered]) -> Iterator[MedicineReason]:
    """Return the original reasons: the rules that spoke for the hold while it lasted."""
    for one in passed:
        for rule in _rules_back(line, one):
            yield MedicineReason(
                rule=rule.key,
                action=Action.RESTART,
                why=f"Then: {rule.reason}",
                trigger=one.said,
                source=rule.sources[0],
                measures=one.measures,
                short=one.said,
                trigger_is_said=True,
            )


def _cautions(bedside: Bedside, line: Line, situation: Situation, against: Sequence[Judged]) -> Iterator[str]:
    if is_for_heart_failure(line, situation):
        yield timing.IN_HEART_FAILURE.text
    for one in against:
        yield from one.met.cautions
    if line.standing is Standing.ON_HOLD:
        yield from contradiction(line)
        yield from line_cautions(bedside, line)
    yield from situation.person


def _sources(against: Sequence[Judged], passed: Sequence[Recovered]) -> Iterator[Source]:
    for one in against:
        yield from one.rule.sources
    if any(one.trigger is Trigger.AKI for one in passed):
        yield cited.AKI_RESTART.at("when or whether to restart")
        yield timing.ASKED_ABOUT_AFTERWARDS_SOURCE
    yield timing.REMEMBERED_FOR.source
    yield RESTART_SOURCE
