"""Whether somebody is septic, as far as the record tells: the risk that the findings tell, for whoever asks.

Neutropenic sepsis is; so is a suspected infection with moderate or high risk by NEWS2, or with high risk by
the tables of single signs; and sepsis that is recorded and confirmed.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.infection.antimicrobial import (
    NOT_TO_BE_PUSHED,
    Objection,
    Treatment,
    first_dose,
    last_dose,
)
from weatherglass.facts.infection.infection import SuspectedInfection, preventive_doses
from weatherglass.facts.infection.own_virus import Settled, is_breathing_alone
from weatherglass.facts.infection.risk_course import Deadline, RiskCourse, risk_course
from weatherglass.facts.infection.risk_signs import Signs, is_only_asked
from weatherglass.facts.infection.stratum import Stratum, is_idle
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.series.limits_met import reaches
from weatherglass.facts.treatment_limits import Allowed
from weatherglass.facts.treatment_limits import Treatment as Limited
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.sepsis import neutropenic_sepsis as neutropenic
from weatherglass.knowledge.sepsis import sepsis_strata
from weatherglass.knowledge.sepsis.other_causes import MORE_THAN_A_VIRUS
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import Administration, MatchMethod
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.lists import inside_a_sentence, listed

_A_DAY: Final = timedelta(hours=24)
_MOST_UNKNOWN: Final = 3

#: Within what time the first dose is due: by risk, lowest first.
_BY_STRATUM: Final = tuple(one.antimicrobial_within for one in reversed(sepsis_strata.STRATA))
_BY_TABLE: Final = (None, None, None, sepsis_strata.STRATA[0].antimicrobial_within)
_BY_SIGNS: Final = our_choice("by the tables of single signs only a high risk counts as sepsis for the chart")


class Sepsis(Plain, frozen=True, kw_only=True):
    """Sepsis, or a suspected infection with a risk of it.

    Attributes:
        words: What says so.
        by_score: The stratum by NEWS2, where that says so.
        is_emergency: Whether the finding that tells it is an emergency, or was until it was treated.
        since: When it began.
        asked_since: When it began to be as urgent; None where that is the same moment.
        at: The newest time of it.
    """

    words: tuple[str, ...]
    by_score: Stratum | None = None
    is_emergency: bool = False
    since: datetime | None = None
    asked_since: datetime | None = None
    at: datetime | None = None
    origins: tuple[Origin, ...] = ()
    sources: tuple[Source, ...] = ()


def recorded_sepsis(patient: Illness) -> tuple[Condition, ...]:
    """Return sepsis on the problem list, else as what the patient came with, confirmed and not long past."""
    record, as_of = patient.record, patient.as_of
    listed, came = record.conditions_of(ConditionKind.SEPSIS), record.admitted_with(ConditionKind.SEPSIS)
    for found, counts_for in ((listed, timing.SEPSIS_LISTED_FOR), (came, timing.CAME_WITH_FOR)):
        sure = [one for one in found if one.confirmed]
        late = tuple(one for one in sure if one.began is None or as_of - one.began <= counts_for.length)
        if late:
            return late
    return ()


def signs_course(patient: Illness, signs: Signs) -> RiskCourse:
    """Follow the risk by single signs, from when infection was suspected."""
    known_from = patient.infection.since if patient.infection is not None else None
    spells = signs.spells
    if is_only_asked(patient.infection, signs):
        spells = tuple(one for one in spells if not one.raises)
    return risk_course(spells, patient.as_of, known_from=known_from)


def first_antimicrobial(
    patient: Illness,
    stratum: Stratum | None,
    signs: RiskCourse | None,
    virus: Settled | None,
    objections: Callable[[], Mapping[Origin, Objection]],
) -> Treatment | None:
    """Say when the first antimicrobial is due and what is recorded of it; None where nothing asks for one.

    Args:
        patient: Whose it is.
        stratum: The risk by NEWS2, where that is for this person.
        signs: The risk by single signs, elsewhere.
        virus: The child's own virus that has settled.
        objections: Returns what the drug chart has against antibacterials, by their orders.
    """
    neutropenia = patient.neutropenic_sepsis
    if neutropenia is not None:
        since = neutropenia.since
        deadline = Deadline(since, neutropenic.AT_THE_LATEST.length) if since is not None else None
    elif stratum is not None:
        deadline, since = stratum.course.deadline(_BY_STRATUM), stratum.course.since
    elif signs is not None:
        deadline, since = signs.deadline(_BY_TABLE), signs.since
    else:
        return None
    if deadline is None or since is None:
        return None
    if neutropenia is None and stratum is not None and is_idle(patient.infection, stratum.risk):
        return None
    if patient.allowed(Limited.ANTIMICROBIALS) is Allowed.EXCLUDED and not patient.antibacterial_doses:
        return NOT_TO_BE_PUSHED
    of_bacteria = neutropenia is not None or _is_more_than_a_virus(patient)
    found = first_dose(
        _against_bacteria(patient.infection) if of_bacteria else patient.infection,
        patient.antibacterial_doses if of_bacteria else _doses(patient),
        patient.clock,
        patient.as_of,
        since=since,
        deadline=deadline,
        objections=objections,
        has_settled=virus is not None,
    )
    if found.deadline is None:
        return found
    unknown = _not_recognised(patient)
    beside = f"; given and not recognised: {listed(unknown[:_MOST_UNKNOWN])}" if unknown else ""
    briefly = ", what was given is not recognised" if unknown else ""
    words = f"{found.words}{_prevented(patient)}{beside}"
    return replace(found, words=words, brief=f"{found.brief}{briefly}")


def _not_recognised(patient: Illness) -> Sequence[str]:
    """Return the medicines of the last day that nobody could recognise: one may be what is asked for."""
    given = patient.record.administrations
    since = patient.as_of - _A_DAY
    lately = (dose.medicine for dose in given if since <= dose.at <= patient.as_of)
    return tuple(dict.fromkeys(one.text for one in lately if one.method is MatchMethod.NONE))


def _prevented(patient: Illness) -> str:
    """Name the dose of the last day that was for prevention, where none that treats is recorded."""
    last = last_dose(preventive_doses(patient.record, patient.antibacterial_doses), patient.as_of)
    return (
        f"; {last.medicine.text} {patient.clock.at(last.at)} was for prevention" if last is not None else ""
    )


def _doses(patient: Illness) -> tuple[Administration, ...]:
    """Return the doses that count as the antimicrobial: what treats another cause, where that is all."""
    infection = patient.infection
    return infection.doses if infection is not None and infection.cause else patient.antibacterial_doses


def _is_more_than_a_virus(patient: Illness) -> bool:
    """Tell whether a fever with blood that does not reach the tissues stands beside a virus on record."""
    cause = patient.infection.cause if patient.infection is not None else None
    if cause is None or cause.kind is not ConditionKind.VIRAL_INFECTION:
        return False
    shown = ((Signal.TEMPERATURE, sepsis_strata.FEVER), (Signal.LACTATE, MORE_THAN_A_VIRUS))
    return all(patient.newest_beyond(each, reaches(limit), _A_DAY) is not None for each, limit in shown)


def _against_bacteria(infection: SuspectedInfection | None) -> SuspectedInfection | None:
    """Return the same where bacteria are meant whatever else is recorded."""
    return replace(infection, cause=None) if infection is not None else None


def sepsis_now(
    patient: Illness, stratum: Stratum | None, signs: Signs | None, course: RiskCourse | None
) -> Sepsis | None:
    """Return the sepsis of this moment, None where nothing says so."""
    by_signs = _by_signs(patient, signs, course) if signs is not None and course is not None else None
    found = _neutropenic(patient) or _by_score(patient, stratum) or by_signs
    recorded = recorded_sepsis(patient)
    if not recorded:
        return found
    began = earliest(one.began for one in recorded)
    said = f"{inside_a_sentence(recorded[0].text)} is recorded"
    origins = tuple(one.origin for one in recorded)
    if found is None:
        return Sepsis(words=(said,), since=began, origins=origins, sources=(timing.SEPSIS_LISTED_FOR.source,))
    return Sepsis(
        words=(said, *found.words),
        by_score=found.by_score,
        is_emergency=found.is_emergency,
        since=earliest((began, found.since)),
        asked_since=found.asked_since,
        at=found.at,
        origins=tuple(dict.fromkeys((*origins, *found.origins))),
        sources=(*found.sources, timing.SEPSIS_LISTED_FOR.source),
    )


def _neutropenic(patient: Illness) -> Sepsis | None:
    one = patient.neutropenic_sepsis
    if one is None:
        return None
    measured = [each for each in (one.neutrophils, one.fever) if each is not None]
    return Sepsis(
        words=("neutropenic sepsis",),
        is_emergency=True,
        since=one.since,
        at=max((each.at for each in measured), default=None),
        origins=tuple(
            dict.fromkeys((*(each.origin for each in measured), *(each.origin for each in one.told)))
        ),
        sources=(neutropenic.EMERGENCY.source,),
    )


def _by_score(patient: Illness, stratum: Stratum | None) -> Sepsis | None:
    infection = patient.infection
    if stratum is None or infection is None or stratum.risk < Risk.MODERATE:
        return None
    features = patient.risk_features
    is_raised = features.since is not None
    result = stratum.result
    has_sign = stratum.by_round > stratum.by_total
    beside = f" and {' and '.join(features.words)}" if is_raised else ""
    seen = [one.origin for one in (features.lactate, features.skin) if one is not None] if is_raised else []
    moderate = stratum.course.reached[Risk.MODERATE]
    return Sepsis(
        words=(f"suspected infection with NEWS2 {result.total_words}{beside}",),
        by_score=stratum,
        is_emergency=stratum.urgency is Urgency.EMERGENCY,
        since=moderate or stratum.course.since,
        asked_since=stratum.asked_since,
        at=result.observed.end,
        origins=tuple(dict.fromkeys((*result.origins, *seen, *infection.origins))),
        sources=(
            timing.SEPSIS_SCORE.source,
            *((sepsis_strata.LACTATE_RAISES_RISK.source,) if is_raised else ()),
            *((sepsis_strata.SINGLE_THREE_RAISES_RISK.source,) if has_sign else ()),
            *((sepsis_strata.AKI_RAISES_RISK.source,) if stratum.kidneys_alone else ()),
        ),
    )


def _by_signs(patient: Illness, signs: Signs, course: RiskCourse) -> Sepsis | None:
    infection = patient.infection
    if infection is None or course.risk is not Risk.HIGH:
        return None
    worst = [one for one in signs.now if one.risk is Risk.HIGH] or list(signs.now)
    shown = [one.origin for one in worst if one.origin is not None]
    said = ", ".join(one.words for one in worst)
    return Sepsis(
        words=(f"suspected infection with {said}" if said else "suspected infection of high risk",),
        is_emergency=not is_breathing_alone(patient, signs),
        since=course.since,
        at=max((one.at for one in worst), default=None),
        origins=tuple(dict.fromkeys((*shown, *infection.origins))),
        sources=(*dict.fromkeys(one.source for one in worst), _BY_SIGNS),
    )
