"""How high is the risk of a suspected infection by NEWS2, and what raises it? Of adults, not in pregnancy."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.facts.infection.antimicrobial import last_dose
from weatherglass.facts.infection.infection import SuspectedInfection, is_bad_skin, raises
from weatherglass.facts.infection.risk_course import RiskCourse, Spell, risk_course, spells_of
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.rounds.consciousness import coma_scale_of, consciousness_of
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.knowledge.sepsis.other_causes import BACTERIA_ARE_ASKED
from weatherglass.knowledge.sepsis.sepsis_strata import NAMED_FOR
from weatherglass.knowledge.signs.single_signs import COMA
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.signals import DEEP, CodedSignal, Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.times.dates_alone import latest_of
from weatherglass.model.times.known_times import latest

_URGENCY = {
    Risk.HIGH: Urgency.EMERGENCY,
    Risk.MODERATE: Urgency.URGENT,
    Risk.LOW: Urgency.PROMPT,
    Risk.VERY_LOW: Urgency.ROUTINE,
}
_TREATED = our_choice("a low risk that is being treated is 'routine'")
_RAISED = our_choice("high risk by a feature is 'urgent' below NEWS2 5, an emergency from 5")
_CALLED = our_choice(
    "sepsis that somebody wrote down in the last day is 'prompt' at any score, until an antibiotic is on "
    "the chart or was given"
)
_ASKED = our_choice(
    "where nothing but an antibiotic without an indication speaks of infection and the score is low, "
    "kidney injury (a feature from memory) asks whether infection is meant, and sets no deadline"
)
_KIDNEYS_KNOWN = our_choice(
    "kidney injury that alone makes the risk high asks again no sooner than the score does, once it is a day "
    "old and treated"
)
#: The row of NEWS2 that sleep on purpose falsifies.
ALERTNESS = "consciousness"
_DAY = sepsis.RISK_GOES_ON_FOR.length


class Stratum(Plain, frozen=True):
    """The stratum and what makes it.

    Attributes:
        result: The round that speaks: the newest, or the last whole one where that says more.
        by_total: What the total alone gives.
        by_round: What the round gives, with its single signs.
        has_kidney_injury: Whether kidney injury is there.
        kidneys_alone: Whether kidney injury alone makes it high.
        would_be_high: Whether kidney injury would, and nothing but an order speaks of infection.
        severe: What other scores call severe, where the stratum is low.
        urgency: How soon somebody should come, which the drug chart acts on too.
        urgency_sources: What sets it where the stratum alone does not.
        asked_since: When the reason of that urgency began.
    """

    course: RiskCourse
    result: SetResult
    by_total: Risk
    by_round: Risk
    has_kidney_injury: bool
    kidneys_alone: bool
    would_be_high: bool
    severe: tuple[str, ...] = ()
    urgency: Urgency = Urgency.ROUTINE
    urgency_sources: tuple[Source, ...] = ()
    asked_since: datetime | None = None

    @property
    def risk(self) -> Risk:
        """The risk now."""
        return self.course.risk

    @property
    def is_raised(self) -> bool:
        """Whether it is higher than the total makes it."""
        return self.risk > self.by_total


def is_idle(infection: SuspectedInfection | None, risk: Risk) -> bool:
    """Tell whether nothing is asked: another cause, whose medicine is not due, at low risk."""
    cause = infection.cause if infection is not None else None
    return cause is not None and not cause.due and risk < Risk.MODERATE


def _by_total(total: int) -> Risk:
    """Return the stratum of a total; of one that is open, of the lowest possible."""
    return Risk(sum(total >= stratum.at_least for stratum in sepsis.STRATA) - 1)


def is_asleep(patient: Illness, result: SetResult) -> bool:
    """Tell whether a round is of somebody sedated on purpose, ventilated, whose alertness tells nothing."""
    found = patient.ventilation
    return found is not None and found.is_sedated and result.at >= found.since


def risk_by_round(patient: Illness, result: SetResult) -> Risk:
    """Return what a round makes it, by its total and its single signs."""
    if is_asleep(patient, result):
        told = [one.points or 0 for row, one in result.scored if row.key != ALERTNESS]
        risk = _by_total(sum(told))
        return max(risk, Risk.MODERATE) if max(told) == 3 else risk
    risk = _by_total(result.lowest)
    if result.highest_single < 3:
        return risk
    alertness = consciousness_of(result.observed, confusion_is_usual=patient.confusion_is_usual)
    scale = coma_scale_of(result.observed)
    is_deep = scale is not None and COMA.is_met_by(scale.measured.value)
    if is_deep or (alertness is not None and alertness.value in DEEP):
        return Risk.HIGH
    return max(risk, Risk.MODERATE)


def round_spells(patient: Illness, results: Sequence[SetResult]) -> Iterator[Spell]:
    """Let every round hold until the next; a round that is not whole ends no whole one."""
    following: datetime | None = None
    following_whole: datetime | None = None
    for result in reversed(results):
        at = result.observed.end
        ends = at + patient.choices.look_back
        until = following_whole if result.is_complete else following
        yield Spell(at, ends if until is None else min(ends, until), risk_by_round(patient, result))
        following = at
        if result.is_complete:
            following_whole = at


def speaking(patient: Illness, results: Sequence[SetResult]) -> SetResult:
    """Return the newest round, or the last whole one of late where that says more."""
    newest = results[-1]
    if newest.is_complete:
        return newest
    earliest = patient.as_of - patient.choices.look_back
    whole = next((r for r in reversed(results) if r.is_complete and r.observed.end >= earliest), newest)
    return whole if risk_by_round(patient, whole) > risk_by_round(patient, newest) else newest


def stratum_of(patient: Illness, infection: SuspectedInfection) -> Stratum | None:
    """Return the stratum; None where NEWS2 is not for this person or no round of a day is there."""
    results = patient.news2_known
    if not results:
        return None
    found = _follow(patient, infection, results)
    if found.risk < Risk.MODERATE and is_asleep(patient, found.result) and _is_treated(patient, infection):
        return None  # Made for wards: nobody ventilated is at low risk by it.
    urgency, sources = _urgency(patient, infection, found)
    asked = _asked_since(patient, infection, results, found)
    return replace(found, urgency=urgency, urgency_sources=sources, asked_since=asked)


def _follow(patient: Illness, infection: SuspectedInfection, results: Sequence[SetResult]) -> Stratum:
    others = [
        *round_spells(patient, results),
        *lactate_spells(patient),
        *skin_spells(patient),
        *named_spells(patient),
    ]
    kidneys = kidney_spells(patient, Risk.HIGH)
    known_from = infection.since
    course = risk_course([*others, *kidneys], patient.as_of, known_from=known_from)
    without = risk_course(others, patient.as_of, known_from=known_from) if kidneys else course
    result = speaking(patient, results)
    is_raised = without.risk < course.risk
    would_be_high = is_raised and infection.by_orders_alone and without.risk < Risk.MODERATE
    return Stratum(
        without if would_be_high else course,
        result,
        _by_total(result.lowest),
        risk_by_round(patient, result),
        has_kidney_injury=bool(kidneys),
        kidneys_alone=is_raised and not would_be_high,
        would_be_high=would_be_high,
    )


# How urgent


def _urgency(
    patient: Illness, infection: SuspectedInfection, found: Stratum
) -> tuple[Urgency, tuple[Source, ...]]:
    is_treated = _is_treated(patient, infection)
    since = found.course.since
    if found.kidneys_alone and is_treated and since is not None and patient.as_of - since > _DAY:
        return max(_URGENCY[found.by_round], Urgency.PROMPT), (_KIDNEYS_KNOWN,)
    if found.risk is Risk.HIGH and found.by_round < Risk.HIGH:
        # The features are from memory: by themselves they do not make an emergency.
        is_moderate = found.by_total >= Risk.MODERATE
        return (Urgency.EMERGENCY if is_moderate else Urgency.URGENT), (_RAISED,)
    urgency = _URGENCY[found.risk]
    if found.would_be_high:
        return max(urgency, Urgency.PROMPT), (_ASKED,)
    if urgency is Urgency.PROMPT and (is_treated or is_idle(infection, found.risk)):
        return Urgency.ROUTINE, (_TREATED if is_treated else BACTERIA_ARE_ASKED.source,)
    if urgency is Urgency.ROUTINE and not is_treated and called_sepsis(patient) is not None:
        return Urgency.PROMPT, (_CALLED,)
    return urgency, ()


def _is_treated(patient: Illness, infection: SuspectedInfection) -> bool:
    return bool(infection.orders) or last_dose(infection.doses, patient.as_of) is not None


def _asked_since(
    patient: Illness, infection: SuspectedInfection, results: Sequence[SetResult], found: Stratum
) -> datetime | None:
    """Return when the reason of the present urgency began: of a high risk by features, with the score too."""
    since = found.course.since
    if found.risk is not Risk.HIGH or found.by_round is Risk.HIGH or found.by_total < Risk.MODERATE:
        return since
    alone = risk_course(round_spells(patient, results), patient.as_of, known_from=infection.since)
    moderate = alone.reached[Risk.MODERATE]
    return latest((since, moderate))


# What makes the risk of sepsis high whoever the patient is, and since when.
#
# Lactate, skin, kidney injury, and an infection whose name asks for an antimicrobial within the hour.

_NAMED = (ConditionKind.BACTERIAL_MENINGITIS, ConditionKind.NECROTISING_INFECTION, ConditionKind.SHOCK)


def lactate_spells(patient: Illness) -> list[Spell]:
    """Return when the lactate was raised."""
    seen = [
        (one.at, Risk.HIGH if raises(one) else Risk.VERY_LOW)
        for one in patient.record.series(Signal.LACTATE).items
    ]
    return [spell for spell in spells_of(seen) if spell.risk is not Risk.VERY_LOW]


def skin_spells(patient: Illness) -> list[Spell]:
    """Return when the skin was of high risk."""
    seen = patient.record.coded(CodedSignal.SKIN).items
    return spells_of([(one.at, Risk.HIGH if is_bad_skin(one) else Risk.VERY_LOW) for one in seen])


def called_sepsis(patient: Illness) -> Recorded | None:
    """Return the newest word of the last day that this is sepsis; None where nobody wrote it."""
    return next(reversed(_written_lately(patient, ConditionKind.SEPSIS)), None)


def named_infections(patient: Illness) -> list[Recorded]:
    """Return what of the last day asks for an antimicrobial by its name, oldest first."""
    return [one for one in _written_lately(patient, *_NAMED) if _is_named(one)]


def _written_lately(patient: Illness, *kinds: ConditionKind) -> list[Recorded]:
    """Return what was written down in the last day, oldest first."""
    since = patient.as_of - NAMED_FOR.length
    dated = ((one.at, one.origin, one) for one in patient.record.told_of(*kinds) if one.at is not None)
    found = [one for one in dated if since <= latest_of(one[0]) and one[0] <= patient.as_of]
    return [one for _, _, one in sorted(found, key=lambda one: one[:2])]


def _is_named(one: Recorded) -> bool:
    return ConditionKind.SHOCK not in one.kinds or ConditionKind.INFECTION in one.kinds


def named_spells(patient: Illness) -> list[Spell]:
    """Return since when an infection is on record whose name alone makes the risk high."""
    named = (one.at for one in named_infections(patient))
    return [Spell(at, latest_of(at) + NAMED_FOR.length, Risk.HIGH) for at in named if at is not None]


def kidney_spells(patient: Illness, risk: Risk, *, raises_moderate: bool = False) -> list[Spell]:
    """Return when kidney injury was there; none where none is now, or its last result no longer counts."""
    if not patient.aki_now.stage:
        return []
    spells = [Spell(at, ends, risk, raises_moderate) for at, ends in _injured(patient)]
    return spells if any(spell.ends is None or spell.ends > patient.as_of for spell in spells) else []


def _injured(patient: Illness) -> Iterator[tuple[datetime, datetime | None]]:
    found = False
    for course in (patient.kidneys.kdigo, patient.kidneys.nhs):
        for at, ends in _runs(course, patient.choices.laboratory_counts_for):
            found = True
            yield at, ends
    urine = [one for one in patient.kidneys.urine_stages if one.stage]
    if urine:
        yield urine[0].at, urine[-1].at + patient.choices.look_back
    elif not found:
        yield patient.as_of, None  # By replacement therapy alone.


def _runs(
    course: tuple[KidneyStage, ...], counts_for: timedelta
) -> Iterator[tuple[datetime, datetime | None]]:
    """Yield every stretch of results with a stage; the last result counts for its own time."""
    began: datetime | None = None
    for one in course:
        if one.stage and began is None:
            began = one.result.at
        elif not one.stage and began is not None:
            yield began, one.result.at
            began = None
    if began is not None:
        yield began, course[-1].result.at + counts_for
