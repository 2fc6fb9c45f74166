"""Which signs of high risk are those of a child's own virus: of a bronchiolitis or a wheeze?

A wheeze of a virus is an attack of asthma in a small child: its breathing and pulse are its own below what is
severe there, and for some hours after a bronchodilator the pulse is the medicine's.
"""

from datetime import datetime
from decimal import Decimal

from weatherglass.facts.breathing.oxygen_course import OxygenPoint, is_much
from weatherglass.facts.infection.risk_signs import Sign, Signs
from weatherglass.facts.newborn import is_born_early, is_newborn
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.sepsis import other_causes as criteria
from weatherglass.knowledge.sepsis.sepsis_strata import FEVER
from weatherglass.model.findings import Measure
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.times.known_times import earliest

#: What a fever itself makes faster or higher.
_OF_A_FEVER = (Signal.PULSE, Signal.RESPIRATION_RATE, Signal.TEMPERATURE)


def _alone_high(signs: Signs) -> list[Sign]:
    """Return what is of high risk; nothing where a sign raises what another is."""
    return [] if any(one.raises for one in signs.now) else [one for one in signs.now if one.risk is Risk.HIGH]


def is_breathing_alone(patient: Illness, signs: Signs) -> bool:
    """Tell whether what its own virus explains is all that is of high risk."""
    high = _alone_high(signs)
    return _has_its_virus(patient) and bool(high) and all(_is_its_own(patient, one) for one in high)


def is_oxygen_left(patient: Illness, signs: Signs) -> bool:
    """Tell whether some oxygen is all that is left of high risk in a child."""
    high = [] if patient.is_pregnant_or_recently else _alone_high(signs)
    is_all = bool(high) and all(one.is_of(CodedSignal.OXYGEN_DELIVERY) for one in high)
    return is_all and not is_much(patient.oxygen_course[-1])


def is_pulse_of_a_fever_left(patient: Illness, signs: Signs) -> bool:
    """Tell whether a pulse in a fever is all that is left of high risk in a child, with nothing beside it.

    Breathing of moderate risk is the fever's too.
    """
    high = [] if patient.is_pregnant_or_recently else _alone_high(signs)
    is_pulse = bool(high) and all(one.is_of(Signal.PULSE) for one in high)
    is_all = is_pulse and all(any(map(one.is_of, _OF_A_FEVER)) for one in signs.now)
    look_back = patient.choices.look_back
    return is_all and patient.newest_beyond(Signal.TEMPERATURE, reaches(FEVER), look_back) is not None


def beyond_its_virus_since(patient: Illness, signs: Signs) -> datetime | None:
    """Return since when a high-risk sign is there that a small child's virus does not explain by itself.

    None where no virus is on record, or nothing else is of high risk.
    """
    if not _has_its_virus(patient):
        return None
    high = [one for one in signs.now if one.risk is Risk.HIGH]
    return earliest(one.since for one in high if not _is_its_own(patient, one))


class Settled(Plain, frozen=True):
    """How a virus alone went: from when, since when for long, and whether breathing and oxygen are less."""

    began: datetime
    since: datetime
    better: bool


def settled(patient: Illness, signs: Signs, since: datetime | None) -> Settled | None:
    """Return that it has been the virus alone for hours, and no worse than at first; None elsewhere."""
    if since is None or patient.as_of - since < criteria.SETTLED_AFTER.length:
        return None
    if not is_breathing_alone(patient, signs):
        return None
    rates = [one.value for one in patient.record.series(Signal.RESPIRATION_RATE).within(since, patient.as_of)]
    course = [one for one in patient.oxygen_course if since <= one.at <= patient.as_of]
    given = [_amount(one) for one in course]
    first, last = (given[0], given[-1]) if given else (None, None)
    if len(rates) < 2 or first is None or last is None or first[0] is not last[0]:
        return None
    if rates[-1] > rates[0] or last[1] > first[1]:
        return None
    is_better = rates[-1] < rates[0] and last[1] < first[1]
    return Settled(since, since + criteria.SETTLED_AFTER.length, is_better)


def _amount(point: OxygenPoint) -> tuple[Signal, Decimal] | None:
    """Return how much oxygen a round shows: a flow, or a fraction where that is all; air is no flow."""
    if point.is_oxygen and point.flow is None and point.fraction is not None:
        return Signal.FIO2, point.fraction
    flow = point.flow if point.is_oxygen else Decimal(0)
    return (Signal.OXYGEN_FLOW, flow) if flow is not None else None


def _has_its_virus(patient: Illness) -> bool:
    """Tell whether a virus is on record, or lungs of who was born early where orders alone suspect."""
    infection = patient.infection
    if infection is not None and infection.by_orders_alone and is_newborn(patient.record, patient.as_of):
        return is_born_early(patient.record)
    cause = infection.cause if infection is not None else None
    if cause is None or cause.kind is not ConditionKind.VIRAL_INFECTION:
        return False
    return patient.is_below(criteria.BELOW_AGE) or _wheezes(patient)


def _wheezes(patient: Illness) -> bool:
    return patient.is_below(criteria.WHEEZE_BELOW_AGE) and bool(
        patient.record.known_of(ConditionKind.VIRAL_WHEEZE)
    )


def _is_its_own(patient: Illness, sign: Sign) -> bool:
    one = sign.measure
    if one is None:
        return False
    if sign.is_of(CodedSignal.OXYGEN_DELIVERY):
        return True
    if not isinstance(one.value, Decimal):
        return False
    if one.key == Signal.RESPIRATION_RATE.value:
        return not _is_too_fast(patient, one.value)
    return one.key == Signal.PULSE.value and _wheezes(patient) and _is_pulse_of_a_wheeze(patient, one)


def _is_too_fast(patient: Illness, rate: Decimal) -> bool:
    if patient.is_below(criteria.BELOW_AGE):
        return criteria.FAST_IN_BRONCHIOLITIS.is_met_by(rate)
    return _of_age(patient, criteria.BREATHING_OF_A_WHEEZE).is_met_by(rate)


def _is_pulse_of_a_wheeze(patient: Illness, one: Measure) -> bool:
    value = one.value
    since = one.at - criteria.BRONCHODILATOR_ACTS.length if one.at is not None else None
    if not isinstance(value, Decimal) or since is None or one.at is None:
        return False
    is_dosed = any(
        since <= dose.at <= one.at and MedicineClass.BETA_AGONIST in dose.medicine.classes
        for dose in patient.record.administrations
    )
    added = criteria.BRONCHODILATOR_ADDS.value if is_dosed else Decimal(0)
    return not _of_age(patient, criteria.PULSE_OF_A_WHEEZE).is_met_by(value - added)


def _of_age(patient: Illness, pair: tuple[Cutoff, Cutoff]) -> Cutoff:
    return pair[0] if patient.is_below(criteria.YOUNG_WHEEZE) else pair[1]
