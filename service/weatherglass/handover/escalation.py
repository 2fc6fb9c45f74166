"""Whom to call and by when: roles of the site's policy, deadlines of the publications.

A deadline counts from when its reason began. Of several equally urgent reasons the one
that began first sets it, so that neither a repeat of a value nor a further reason moves it. Where
its time was not recorded it is due when it may be due at the earliest, and never called late.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.bleeding import calmed
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.ventilation import mask_going_on
from weatherglass.facts.ceiling import has_ceiling, is_not_for_resuscitation, is_wish_alone
from weatherglass.facts.results.preeclampsia import hellp_since
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.whereabouts import Due, Whereabouts, due_here, is_surgical
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import rank_of
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.metabolic.metabolic import ANSWERED_BY_INSULIN
from weatherglass.knowledge.scores.score_choices import (
    ANSWERED_BY_A_MASK,
    ANSWERED_FOR,
    DELIRIUM_KNOWN_FOR,
    DELIRIUM_KNOWN_FROM,
)
from weatherglass.knowledge.sepsis.sepsis_strata import FEVER, SCREEN_FOR_INFECTION
from weatherglass.knowledge.signs import heart_and_pressure as pressure
from weatherglass.model.findings import (
    MOST_CATASTROPHIC,
    NOT_RECORDED_SINCE,
    SLOW_DECLINE,
    Finding,
    Kind,
    State,
    Urgency,
    is_named_emergency,
    is_pressing,
    stands_beside,
)
from weatherglass.model.local_choices import Deadlines
from weatherglass.model.quantities import plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.review import Escalation
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.words.lists import capital, listed


def leading_finding(findings: Sequence[Finding]) -> Finding | None:
    """Return the finding that sets the urgency; None when everything is routine.

    A single catastrophic sign outranks every total. Else a score, which speaks for the whole
    patient, leads among equals; what is wrong comes before what to do about the chart; a
    settling finding does not lead.
    """
    return min(filter(is_pressing, findings), key=_precedence, default=None)


#: A lactate shows what something else does: of equals the other one leads.
LACTATE = "lactate-high"


def _precedence(finding: Finding) -> tuple[object, ...]:
    return (
        -finding.urgency,
        stands_beside(finding) or KINDS[finding.kind].of_chart,
        not is_catastrophic(finding),
        finding.key != MOST_CATASTROPHIC,
        not is_named_emergency(finding),
        finding.kind is not Kind.SCORE,
        KINDS[finding.kind].of_chart,  # After a score that stands beside another, too.
        finding.kind is Kind.OBSERVATIONS_OVERDUE,  # What is wrong comes before that nobody has looked again.
        finding.key != NOT_RECORDED_SINCE,
        # What signs or results come to together comes before each of them.
        finding.key != SLOW_DECLINE,
        finding.kind is not Kind.METABOLIC,
        finding.key == LACTATE,
        finding.kind,
        rank_of(finding),
        finding.key,
    )


def is_catastrophic(finding: Finding) -> bool:
    """Tell whether a finding is a single sign that calls at once."""
    is_a_sign = finding.kind is Kind.SINGLE_SIGN and finding.key != NOT_RECORDED_SINCE
    return is_a_sign and finding.urgency is Urgency.EMERGENCY


def escalate(bedside: Bedside, leading: Finding, findings: Sequence[Finding]) -> Escalation:
    """Say whom to call, by when, and which rule decided.

    Args:
        bedside: The patient.
        leading: The finding that sets the urgency.
        findings: All of them: the first of those as urgent sets the deadline.
    """
    urgency = leading.urgency
    is_arrest = leading.key == MOST_CATASTROPHIC and not is_not_for_resuscitation(bedside)
    most = timedelta(0) if is_arrest else _within(bedside.choices.deadlines, urgency)
    equals = [leading, *(f for f in findings if _counts_with(f, leading))]
    due, within = min((_asked(bedside, one, most) for one in equals), key=lambda one: one[0].at)
    besides = _besides(bedside, urgency)
    answered = answer_to(bedside, equals, due.began) if not is_arrest else ""
    return Escalation(
        urgency=urgency,
        roles=(bedside.choices.roles.arrest,) if is_arrest else _roles(bedside, leading, urgency),
        within=within,
        began=due.began,
        due=due.at,
        overdue=bedside.as_of - due.at if due.at < bedside.as_of and not is_arrest and not answered else None,
        answered=answered if due.at < bedside.as_of else "",
        is_undated=due.is_undated,
        reason=f"{leading.sentence} {besides}".rstrip(),
        decided_by=leading.decided_by,
        because=leading,
        besides=besides,
        is_arrest=is_arrest,
        is_for_the_chart=KINDS[leading.kind].of_chart and urgency is Urgency.PROMPT,
        reader=bedside.choices.roles.reader,
    )


def _counts_with(finding: Finding, leading: Finding) -> bool:
    """Tell whether a finding calls the same people as urgently: not the chart, which has its own time."""
    if finding.urgency is not leading.urgency or finding.state is State.SETTLING or stands_beside(finding):
        return False
    return KINDS[finding.kind].own_time is KINDS[leading.kind].own_time


def _asked(bedside: Bedside, finding: Finding, most: timedelta) -> tuple[Due, timedelta]:
    """Return by when a finding asks for somebody; its own time where that is shorter, or lets it wait."""
    longest = finding.waits or most
    within = longest if finding.within is None else min(finding.within, longest)
    since = finding.asked_since or finding.since or finding.at
    return due_here(bedside.record, bedside.as_of, since, within), within


def _besides(bedside: Bedside, urgency: Urgency) -> str:
    """Say what the call has to reckon with, in words that keep nobody from calling."""
    if has_ceiling(bedside):
        outreach = f"; the {_critical_care(bedside)} is called for advice at the bedside"
        is_called = urgency is Urgency.EMERGENCY and not bedside.own_doctor
        what, it = ("wish", "wish") if is_wish_alone(bedside) else ("treatment ceiling", "ceiling")
        return (
            f"A {what} is recorded: a senior review is still advised, to decide what to do that "
            f"the {it} allows{outreach if is_called else ''}."
        )
    if is_not_for_resuscitation(bedside):
        return "Not for attempted resuscitation is recorded: that limits no other treatment."
    return ""


def _roles(bedside: Bedside, leading: Finding, urgency: Urgency) -> tuple[str, ...]:
    roles = bedside.choices.roles
    ward_doctor = bedside.own_doctor or roles.ward_doctor
    if KINDS[leading.kind].of_chart and urgency is Urgency.PROMPT:
        return (ward_doctor, roles.pharmacist)
    if bedside.own_doctor:
        return (bedside.own_doctor,)
    seniors = _seniors(bedside, urgency)
    if urgency is Urgency.EMERGENCY:
        # Outreach brings critical care to the bedside; a ceiling that rules it out is for the team.
        return (*seniors, _critical_care(bedside))
    if urgency is Urgency.URGENT:
        is_there = seniors == (roles.emergency_department,)
        return seniors if is_there else (ward_doctor, *seniors)
    return (ward_doctor,)


def _critical_care(bedside: Bedside) -> str:
    """Return who brings critical care: outreach sees no children, and comes to a birth at any age."""
    roles = bedside.choices.roles
    is_for_a_child = bedside.is_child and not bedside.is_pregnant_or_recently
    return roles.paediatric_critical_care if is_for_a_child else roles.critical_care


def _seniors(bedside: Bedside, urgency: Urgency) -> tuple[str, ...]:
    """Return who decides for this person: of a girl with child both who deliver and who know her age.

    Who operated is called first; in an emergency a physician as well, for a surgeon may be in theatre.
    """
    roles = bedside.choices.roles
    of_age = (roles.paediatric_senior,) if bedside.is_child else ()
    if bedside.is_pregnant_or_recently:
        return (roles.maternity_senior, *of_age)
    if of_age:
        return of_age
    if bedside.where is Whereabouts.EMERGENCY_DEPARTMENT:
        return (roles.emergency_department,)
    if not is_surgical(bedside.record, bedside.as_of):
        return (roles.senior,)
    return (roles.surgical_senior, *((roles.senior,) if urgency is Urgency.EMERGENCY else ()))


def _within(deadlines: Deadlines, urgency: Urgency) -> timedelta:
    if urgency is Urgency.EMERGENCY:
        return deadlines.emergency
    return deadlines.urgent if urgency is Urgency.URGENT else deadlines.prompt


# What has been done about a total that calls, and whether the patient has been better since.
#
# A deadline counts from when its reason began. Where the first dose against a suspected infection came after
# that and the total has come down, somebody has been: the total still asks for a review, and nothing is late.
# So it is where ventilation by a mask began after it and the gases are better; that review is asked for now.
# Bleeding that has come to rest, neutropenic sepsis without fever and held pre-eclampsia are met alike.

#: Ours: what is suspected is written down within the hour after the round that showed it.
_JUST_BEFORE = timedelta(hours=1)
_OF_SIGNS = frozenset({Kind.SCORE, Kind.SCORE_TREND})
_OF_NEUTROPENIA = frozenset({"neutropenic-sepsis", "neutrophils-low"})
_LEAST_ROUNDS = 2
_ACID = (Signal.PH_VENOUS, Signal.PH_ARTERIAL)
_OF_KETOACIDOSIS = frozenset({"ketoacidosis", "ketones-high", "venous-gas", "metabolic-acidosis"})
_OF_HYPEROSMOLARITY = frozenset({"hyperosmolar-state", "glucose-high", "sodium-high"})
_MOTHERS_PRESSURE = "pregnancy-pressure"


def answer_to(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Say what answered a total, in words; empty where nothing did, or something else asks.

    Args:
        bedside: The patient.
        asking: The findings that are as urgent as the call.
        began: When their reason began.
    """
    if all(one.kind is Kind.POSSIBLE_BLEEDING or KINDS[one.kind].of_chart for one in asking):
        return _by_coming_to_rest(bedside)
    if all(one.key == _MOTHERS_PRESSURE and one.urgency < Urgency.EMERGENCY for one in asking):
        return _by_what_lowers_it(bedside, began)
    keys = {one.key for one in asking}
    if keys <= _OF_NEUTROPENIA:
        return _by_doses_and_no_fever(bedside, began)
    if keys <= _OF_KETOACIDOSIS:
        return _by_insulin(bedside, began)
    if "hyperosmolar-state" in keys and keys <= _OF_HYPEROSMOLARITY:
        return _by_fluid(bedside, asking[0].urgency, began)
    if asking[0].urgency is Urgency.URGENT and all(_is_of_confusion(one) for one in asking):
        return _by_a_known_delirium(bedside)
    known_from = began - _JUST_BEFORE
    rounds = [one for one in bedside.news2_now if one.is_complete and one.observed.end >= known_from]
    if not _has_come_down(rounds):
        return ""
    done = ""
    if asking[0].urgency is Urgency.EMERGENCY and all(one.kind in _OF_SIGNS for one in asking):
        done = _by_a_mask(bedside, rounds[-1], began)
    elif asking[0].urgency is Urgency.URGENT and all(KINDS[one.kind].of_the_total for one in asking):
        done = _by_a_dose(bedside, rounds[-1], began)
    most = max(one.lowest for one in rounds)
    return f"{done}, NEWS2 {most}, now {rounds[-1].lowest}" if done else ""


def _is_of_confusion(one: Finding) -> bool:
    """Tell whether it is the mind by itself, or a total that may be of nothing else."""
    is_the_mind = one.kind is Kind.SINGLE_SIGN and one.key == CodedSignal.CONSCIOUSNESS.value
    return is_the_mind or one.kind is Kind.SCORE


def _by_a_known_delirium(bedside: Bedside) -> str:
    """Name a delirium that is on record for hours, where new confusion is all that scores 3."""
    newest = bedside.news2_now[-1:]
    is_confused = bool(bedside.alertness) and bedside.alertness[-1].value is Consciousness.NEW_CONFUSION
    until, since = bedside.as_of - DELIRIUM_KNOWN_FROM.length, bedside.as_of - DELIRIUM_KNOWN_FOR.length
    known = [
        (one.text, one.at)
        for one in bedside.record.known_of(ConditionKind.DELIRIUM)
        if one.at is not None and since <= one.at <= until
    ]
    if not known or not newest or not newest[0].is_complete or not is_confused:
        return ""
    if SCREEN_FOR_INFECTION.is_met_by(Decimal(newest[0].lowest)) or not _confusion_alone(newest[0]):
        return ""
    words, at = known[0]
    return f"{words} on record since {bedside.clock.full(at)}, NEWS2 {newest[0].lowest} by new confusion"


def _confusion_alone(newest: SetResult) -> bool:
    """Tell whether nothing scores 3 but the mind."""
    return all(row.signal is CodedSignal.CONSCIOUSNESS for row, one in newest.scored if one.points == 3)


def _by_coming_to_rest(bedside: Bedside) -> str:
    """Name the shock index and the haemoglobin of recorded bleeding that has come to rest."""
    found = calmed(bedside, bedside.bleeding) if bedside.bleeding is not None else None
    if found is None:
        return ""
    index = f"shock index {plain(found.worst.shown)}, now {plain(found.newest.shown)}"
    return f"{index}, haemoglobin {plain(found.before.value)}, now {plain(found.after.value)}"


def _by_what_lowers_it(bedside: Bedside, began: datetime) -> str:
    """Name what is given against a mother's high pressure, and a pressure that has come down and is held."""
    orders = bedside.on_chart(pressure.PREGNANT_TREATED_WITH)
    since = [
        (signal, bedside.record.series(signal).within(began, bedside.as_of), limit)
        for signal, limit in (
            (Signal.SYSTOLIC_PRESSURE, pressure.PREGNANT_TREATED_SYSTOLIC),
            (Signal.DIASTOLIC_PRESSURE, pressure.PREGNANT_TREATED_DIASTOLIC),
        )
    ]
    held = all(
        len(found) >= _LEAST_ROUNDS and not any(limit.is_met_by(one.value) for one in found[-_LEAST_ROUNDS:])
        for _, found, limit in since
    )
    if not orders or not held or hellp_since(bedside) is not None:
        return ""
    systolic = since[0][1]
    worst, newest = max(one.value for one in systolic), systolic[-1].value
    if worst <= newest:
        return ""
    named = listed(list(dict.fromkeys(capital(one.medicine.name) for one in orders)))
    return f"{named} on the chart, systolic {plain(worst)}, now {plain(newest)}"


def _by_doses_and_no_fever(bedside: Bedside, began: datetime) -> str:
    """Name the first dose against neutropenic sepsis, and a temperature that has come down to no fever."""
    doses = [one for one in bedside.antibacterial_doses if one.at > began]
    heat = bedside.record.series(Signal.TEMPERATURE).within(began, bedside.as_of)
    found = bedside.neutropenic_sepsis
    if not doses or len(heat) < _LEAST_ROUNDS or found is None or found.unwell is not None:
        return ""
    hottest, newest = max(one.value for one in heat), heat[-1]
    is_lately = bedside.as_of - max(newest.at, doses[-1].at) <= ANSWERED_FOR.length
    if not is_lately or newest.value >= hottest or FEVER.is_met_by(newest.value):
        return ""
    first = min(doses, key=lambda one: one.at)
    given = f"{first.medicine.text} since {bedside.clock.full(first.at)}"
    return f"{given}, temperature {plain(hottest)}, now {plain(newest.value)} \u00b0C"


def _by_insulin(bedside: Bedside, began: datetime) -> str:
    """Name insulin by a vein, with ketones and acid that have both turned and are fresh."""
    orders = [one for one in bedside.on_chart((MedicineClass.INSULIN,)) if one.route is Route.INTRAVENOUS]
    ketones = bedside.record.series(Signal.KETONES).within(began, bedside.as_of)
    acid = next((s for s in map(bedside.record.series, _ACID) if s.within(began, bedside.as_of)), None)
    if not orders or acid is None or len(ketones) < _LEAST_ROUNDS:
        return ""
    values = acid.within(began, bedside.as_of)
    is_fresh = bedside.as_of - min(ketones[-1].at, values[-1].at) <= ANSWERED_BY_INSULIN.length
    lowest, most = min(one.value for one in values), max(one.value for one in ketones)
    has_turned = values[-1].value > lowest and most > ketones[-1].value < ketones[-2].value
    if not is_fresh or not has_turned:
        return ""
    return (
        f"{orders[0].medicine.text} by vein, ketones {plain(most)}, now {plain(ketones[-1].value)}, "
        f"pH {plain(lowest)}, now {plain(values[-1].value)}"
    )


def _by_fluid(bedside: Bedside, urgency: Urgency, began: datetime) -> str:
    """Name what runs by a vein against a hyperosmolar state that comes down; it is then no emergency."""
    running = bedside.drug_chart.perhaps_running
    line = next((one for one in running if one.route is Route.INTRAVENOUS), None)
    glucose = bedside.record.series(Signal.GLUCOSE).within(began, bedside.as_of)
    if line is None or not glucose or urgency is not Urgency.URGENT:
        return ""
    most = max(one.value for one in glucose)
    return f"{line.medicine.text} by vein, glucose {plain(most)}, now {plain(glucose[-1].value)}"


def _has_come_down(rounds: Sequence[SetResult]) -> bool:
    """Tell whether the newest whole round is below the highest since, and not above the one before it."""
    if len(rounds) < 2:
        return False
    newest = rounds[-1].lowest
    return newest < max(one.lowest for one in rounds) and newest <= rounds[-2].lowest


def _by_a_dose(bedside: Bedside, newest: SetResult, began: datetime) -> str:
    """Name the first dose against an infection since, where they go on and no sign scores 3."""
    doses = [one for one in bedside.antibacterial_doses if one.at > began]
    if not doses or bedside.as_of - doses[-1].at > ANSWERED_FOR.length or newest.highest_single >= 3:
        return ""
    first = min(doses, key=lambda one: one.at)
    return f"{first.medicine.text} since {bedside.clock.full(first.at)}"


def _by_a_mask(bedside: Bedside, newest: SetResult, began: datetime) -> str:
    """Name the ventilation by a mask that goes on, with a gas that is better since; nothing else scores 3."""
    mask = mask_going_on(bedside.record)
    if mask is None or mask.at <= began or not _scores_3_by_saturation_alone(newest):
        return ""
    gases = [one for one in bedside.arterial_gases if one.pco2 is not None and not one.rest_is_earlier]
    before = [one for one in gases if one.ph.at <= mask.at]
    since = [one for one in gases if one.ph.at > mask.at]
    if not before or not since or bedside.as_of - since[-1].ph.at > ANSWERED_BY_A_MASK.length:
        return ""
    if not _is_better(since[-1], before[-1]) or since[-1].ph.value < since[-2:][0].ph.value:
        return ""
    return f"{mask.text} since {bedside.clock.full(mask.at)}, {_from_to(before[-1], since[-1])}"


def _scores_3_by_saturation_alone(newest: SetResult) -> bool:
    """Tell whether nothing scores 3 but the saturation, which below its range asks as a single sign."""
    return all(row.signal is Signal.SPO2 for row, one in newest.scored if one.points == 3)


def _is_better(newest: GasSample, before: GasSample) -> bool:
    if newest.pco2 is None or before.pco2 is None:
        return False
    return newest.ph.value > before.ph.value and newest.pco2.value < before.pco2.value


def _from_to(before: GasSample, newest: GasSample) -> str:
    parts = [f"pH {plain(before.ph.value)}, now {plain(newest.ph.value)}"]
    if before.pco2 is not None and newest.pco2 is not None:
        parts.append(f"pCO2 {plain(before.pco2.value)}, now {plain(newest.pco2.value)} kPa")
    return ", ".join(parts)
