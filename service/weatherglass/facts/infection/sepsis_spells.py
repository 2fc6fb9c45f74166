"""What makes the risk of sepsis high whoever the patient is, and since when.

Lactate, skin, kidney injury, and an infection whose name asks for an antimicrobial within the hour.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.facts.infection.infection import is_bad_skin, raises
from weatherglass.facts.infection.risk_course import Spell, spells_of
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.sepsis.sepsis_strata import NAMED_FOR
from weatherglass.model.dates_alone import latest_of
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.tables.risk_tables import Risk

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
