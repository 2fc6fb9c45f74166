"""What has been done about what calls, and whether the patient has been better since.

A deadline counts from when its reason began. Where the first dose against a suspected infection came after
that and the total has come down, somebody has been: the total still asks for a review, and nothing is late.
So it is where ventilation by a mask began after it and the gases are better; that review is asked for now.
Bleeding that has come to rest, neutropenic sepsis without fever, held pre-eclampsia and a lactate that goes
on falling are met alike, as is the low range of who keeps carbon dioxide. What is answered sets no deadline
for what else is asked.
"""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.bleeding_over import calmed
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.ventilation import mask_going_on
from weatherglass.facts.results.preeclampsia import hellp_since
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.handover.kinds import KINDS
from weatherglass.knowledge.limits.critical_results import LACTATE_CLEARED_TO
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
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import PH_OF_EITHER, CodedSignal, Consciousness, Signal
from weatherglass.model.words.lists import capital, listed

#: Ours: what is suspected is written down within the hour after the round that showed it.
_JUST_BEFORE = timedelta(hours=1)
_OF_SIGNS = frozenset({Kind.SCORE, Kind.SCORE_TREND})
_OF_NEUTROPENIA = frozenset({"neutropenic-sepsis", "neutrophils-low"})
_LEAST_ROUNDS = 2
_OF_KETOACIDOSIS = frozenset({"ketoacidosis", "ketones-high", "venous-gas", "metabolic-acidosis"})
_OF_HYPEROSMOLARITY = frozenset({"hyperosmolar-state", "glucose-high", "sodium-high"})
_MOTHERS_PRESSURE = "pregnancy-pressure"


def answer_to(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Say what answered what asks, in words; empty where nothing did, or something else asks.

    Args:
        bedside: The patient.
        asking: The findings that are as urgent as the call.
        began: When their reason began.
    """
    said = (one.by(bedside, asking, began) for one in _ANSWERS if one.is_of_all(asking))
    return next(filter(None, said), "")


def unanswered(
    bedside: Bedside, asking: Sequence[Finding], began: Callable[[Finding], datetime]
) -> Sequence[Finding]:
    """Return what of several is not answered by what was done: it sets the deadline; all where all is."""
    for one in _ANSWERS:
        group = [each for each in asking if one.of(each)]
        rest = [each for each in asking if not one.of(each)]
        if rest and one.is_of_all(group) and one.by(bedside, group, min(map(began, group))):
            asking = rest
    return asking


def _is_of_confusion(one: Finding) -> bool:
    """Tell whether it is the mind by itself, or a total that may be of nothing else."""
    is_the_mind = one.kind is Kind.SINGLE_SIGN and one.key == CodedSignal.CONSCIOUSNESS.value
    return is_the_mind or one.kind is Kind.SCORE


def _by_a_known_delirium(bedside: Bedside, _: Sequence[Finding], __: datetime) -> str:
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


def _is_of_saturation(one: Finding) -> bool:
    """Tell whether it is the saturation by itself, or a total that may be of nothing else."""
    return one.kind in _OF_SIGNS or (one.kind is Kind.SINGLE_SIGN and one.key == Signal.SPO2.value)


def _by_the_low_range(bedside: Bedside, _: Sequence[Finding], __: datetime) -> str:
    """Name the total on scale 2 of who is known to keep carbon dioxide, where that asks for nobody."""
    newest = bedside.news2_now[-1:]
    if not newest or not newest[0].is_complete or not bedside.is_known_to_keep:
        return ""
    on_scale_2 = bedside.on_scale_2(newest[0].observed)
    if SCREEN_FOR_INFECTION.is_met_by(Decimal(on_scale_2.lowest)) or on_scale_2.highest_single >= 3:
        return ""
    return f"carbon dioxide is known to be kept, and on SpO2 scale 2 NEWS2 is {on_scale_2.lowest}"


def _by_coming_to_rest(bedside: Bedside, _: Sequence[Finding], __: datetime) -> str:
    """Name the shock index and the haemoglobin of recorded bleeding that has come to rest."""
    found = calmed(bedside, bedside.bleeding) if bedside.bleeding is not None else None
    if found is None:
        return ""
    index = f"shock index {plain(found.worst.shown)}, now {plain(found.newest.shown)}"
    return f"{index}, haemoglobin {plain(found.before.value)}, now {plain(found.after.value)}"


def _by_what_lowers_it(bedside: Bedside, _: Sequence[Finding], began: datetime) -> str:
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


def _by_doses_and_no_fever(bedside: Bedside, _: Sequence[Finding], began: datetime) -> str:
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


def _by_insulin(bedside: Bedside, _: Sequence[Finding], began: datetime) -> str:
    """Name insulin by a vein, with ketones and acid that have both turned and are fresh."""
    orders = [one for one in bedside.on_chart((MedicineClass.INSULIN,)) if one.route is Route.INTRAVENOUS]
    ketones = bedside.record.series(Signal.KETONES).within(began, bedside.as_of)
    acid = next((s for s in map(bedside.record.series, PH_OF_EITHER) if s.within(began, bedside.as_of)), None)
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


def _by_clearing(bedside: Bedside, _: Sequence[Finding], began: datetime) -> str:
    """Name a lactate that has come down by a fifth since, and goes on down."""
    lactate = bedside.record.series(Signal.LACTATE).within(began, bedside.as_of)
    if len(lactate) < _LEAST_ROUNDS or lactate[-1].value >= lactate[-2].value:
        return ""
    most, newest = max(one.value for one in lactate), lactate[-1].value
    is_less = newest <= most * LACTATE_CLEARED_TO.value
    return f"lactate {plain(most)}, now {plain(newest)}" if is_less else ""


def _by_fluid(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Name what runs by a vein against a hyperosmolar state that comes down; it is then no emergency."""
    running = bedside.drug_chart.perhaps_running
    line = next((one for one in running if one.route is Route.INTRAVENOUS), None)
    glucose = bedside.record.series(Signal.GLUCOSE).within(began, bedside.as_of)
    if line is None or not glucose or asking[0].urgency is not Urgency.URGENT:
        return ""
    most = max(one.value for one in glucose)
    return f"{line.medicine.text} by vein, glucose {plain(most)}, now {plain(glucose[-1].value)}"


def _by_a_lower_total(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Name the dose or the mask since which a total has come down."""
    known_from = began - _JUST_BEFORE
    rounds = [one for one in bedside.news2_now if one.is_complete and one.observed.end >= known_from]
    if not _has_come_down(rounds):
        return ""
    done = _by_a_dose(bedside, rounds[-1], began)
    if asking[0].urgency is Urgency.EMERGENCY and all(one.kind in _OF_SIGNS for one in asking):
        done = done or _by_a_mask(bedside, rounds[-1], began)
    most = max(one.lowest for one in rounds)
    return f"{done}, NEWS2 {most}, now {rounds[-1].lowest}" if done else ""


def _has_come_down(rounds: Sequence[SetResult]) -> bool:
    """Tell whether the newest whole round is below the highest since, and not above the one before it."""
    if len(rounds) < 2:
        return False
    newest = rounds[-1].lowest
    return newest < max(one.lowest for one in rounds) and newest <= rounds[-2].lowest


def _by_a_dose(bedside: Bedside, newest: SetResult, began: datetime) -> str:
    """Name the first dose against an infection since, where they go on and no sign scores 3."""
    doses = [one for one in bedside.antibacterial_doses if one.at > began]
    # Whoever keeps carbon dioxide scores 3 inside the range that is meant.
    judged = bedside.on_scale_2(newest.observed) if bedside.is_known_to_keep else newest
    if not doses or bedside.as_of - doses[-1].at > ANSWERED_FOR.length or judged.highest_single >= 3:
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


class _Answer(Plain, frozen=True):
    """What answers some findings: of which it does, how it is said, and of which one must be there."""

    of: Callable[[Finding], bool]
    by: Callable[[Bedside, Sequence[Finding], datetime], str]
    needs: Callable[[Finding], bool] = lambda _: True

    def is_of_all(self, asking: Sequence[Finding]) -> bool:
        """Tell whether it answers all of some findings, and at least one."""
        return any(map(self.needs, asking)) and all(map(self.of, asking))


_ANSWERS: Final = (
    _Answer(lambda one: one.kind is Kind.POSSIBLE_BLEEDING or KINDS[one.kind].of_chart, _by_coming_to_rest),
    _Answer(lambda one: one.key == _MOTHERS_PRESSURE and one.urgency < Urgency.EMERGENCY, _by_what_lowers_it),
    _Answer(lambda one: one.key in _OF_NEUTROPENIA, _by_doses_and_no_fever),
    _Answer(lambda one: one.key in _OF_KETOACIDOSIS, _by_insulin),
    _Answer(lambda one: one.key == "lactate-high", _by_clearing),
    _Answer(
        lambda one: one.key in _OF_HYPEROSMOLARITY, _by_fluid, lambda one: one.key == "hyperosmolar-state"
    ),
    _Answer(lambda one: one.urgency is Urgency.URGENT and _is_of_confusion(one), _by_a_known_delirium),
    _Answer(lambda one: one.urgency is Urgency.URGENT and _is_of_saturation(one), _by_the_low_range),
    _Answer(lambda one: KINDS[one.kind].of_the_total, _by_a_lower_total),
)
