"""Whether somebody is septic, as far as the record tells: the risk that the findings tell, for whoever asks.

Neutropenic sepsis is; so is a suspected infection with moderate or high risk by NEWS2, or with high risk by
the tables of single signs; and sepsis that is recorded and confirmed.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from weatherglass.facts.infection.risk_course import RiskCourse, risk_course
from weatherglass.facts.infection.risk_signs import Signs, risk_signs
from weatherglass.facts.infection.stratum import Stratum
from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.sepsis import neutropenic_sepsis as neutropenic
from weatherglass.knowledge.sepsis import sepsis_strata
from weatherglass.model.findings import Urgency
from weatherglass.model.record import Condition, ConditionKind
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.words.lists import inside_a_sentence

_BY_SIGNS: Final = our_choice("by the tables of single signs only a high risk counts as sepsis for the chart")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sepsis:
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
    """Return sepsis on the problem list that is confirmed and not long past."""
    return tuple(
        one
        for one in patient.record.conditions_of(ConditionKind.SEPSIS)
        if one.confirmed and (one.began is None or patient.as_of - one.began <= timing.LOSS_LISTED_FOR.length)
    )


def signs_course(patient: Illness, signs: Signs) -> RiskCourse:
    """Follow the risk by single signs, from when infection was suspected."""
    known_from = patient.infection.since if patient.infection is not None else None
    return risk_course(signs.spells, patient.as_of, known_from=known_from)


def sepsis_now(patient: Illness, stratum: Stratum | None) -> Sepsis | None:
    """Return the sepsis of this moment, None where nothing says so."""
    found = _neutropenic(patient) or _by_score(patient, stratum) or _by_signs(patient)
    recorded = recorded_sepsis(patient)
    if not recorded:
        return found
    began = min((one.began for one in recorded if one.began is not None), default=None)
    said = f"{inside_a_sentence(recorded[0].text)} is recorded"
    origins = tuple(one.origin for one in recorded)
    if found is None:
        return Sepsis(words=(said,), since=began, origins=origins, sources=(timing.SEPSIS_SCORE.source,))
    known = [at for at in (began, found.since) if at is not None]
    return Sepsis(
        words=(said, *found.words),
        by_score=found.by_score,
        is_emergency=found.is_emergency,
        since=min(known, default=None),
        asked_since=found.asked_since,
        at=found.at,
        origins=tuple(dict.fromkeys((*origins, *found.origins))),
        sources=found.sources,
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
    total = f"NEWS2 {result.total}" if result.is_complete else f"NEWS2 at least {result.lowest}"
    beside = f" and {' and '.join(features.words)}" if is_raised else ""
    seen = [one.origin for one in (features.lactate, features.skin) if one is not None] if is_raised else []
    moderate = stratum.course.reached[Risk.MODERATE]
    return Sepsis(
        words=(f"suspected infection with {total}{beside}",),
        by_score=stratum,
        is_emergency=stratum.urgency is Urgency.EMERGENCY,
        since=moderate or stratum.course.since,
        asked_since=stratum.asked_since,
        at=result.observed.end,
        origins=tuple(dict.fromkeys((*result.point().evidence, *seen, *infection.origins))),
        sources=(
            timing.SEPSIS_SCORE.source,
            *((sepsis_strata.LACTATE_RAISES_RISK.source,) if is_raised else ()),
            *((sepsis_strata.SINGLE_THREE_RAISES_RISK.source,) if has_sign else ()),
            *((sepsis_strata.AKI_RAISES_RISK.source,) if stratum.kidneys_alone else ()),
        ),
    )


def _by_signs(patient: Illness) -> Sepsis | None:
    infection = patient.infection
    if infection is None or patient.may_use_news2:
        return None
    signs = risk_signs(patient)
    course = signs_course(patient, signs)
    if course.risk is not Risk.HIGH:
        return None
    worst = [one for one in signs.now if one.risk is Risk.HIGH] or list(signs.now)
    shown = [one.origin for one in worst if one.origin is not None]
    said = ", ".join(one.words for one in worst)
    return Sepsis(
        words=(f"suspected infection with {said}" if said else "suspected infection of high risk",),
        is_emergency=True,
        since=course.since,
        at=max((one.at for one in worst), default=None),
        origins=tuple(dict.fromkeys((*shown, *infection.origins))),
        sources=(*dict.fromkeys(one.source for one in worst), _BY_SIGNS),
    )
