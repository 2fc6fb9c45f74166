"""Whether recorded bleeding has stopped, or is quiet for now."""

from datetime import timedelta

from weatherglass.facts.blood.bleeding import BleedingNow
from weatherglass.facts.blood.bleeding_urgency import is_still_lost
from weatherglass.facts.blood.recorded_bleeding import last_written
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.rounds.shock_index import ShockIndex, shock_index_of
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.values import Measurement

_DAY = timedelta(hours=24)
_LEAST_CALM = 2


def has_stopped(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether haemoglobin has been steady for long enough since bleeding was written down."""
    return _is_steady_for(_steady_for(patient), patient, now)


def is_quiet_for_now(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether recorded bleeding shows no other sign, and haemoglobin has been steady for some hours."""
    return (
        now.urgency is Urgency.PROMPT
        and now.fall is None
        and _is_steady_for(ours.STEADY_FOR_NOW.length, patient, now)
    )


def endoscopy_since(patient: Illness, now: BleedingNow) -> Done | None:
    """Return the endoscopy of the gut since bleeding there was written down; None where there was none."""
    since = last_written(patient.blood_loss.recorded)
    is_of_the_gut = bool(now.recorded) and all(one.is_visible_gut for one in now.recorded)
    if since is None or not is_of_the_gut:
        return None
    done = patient.record.done(ProcedureKind.GUT_ENDOSCOPY)
    return next((one for one in reversed(done) if since <= one.until <= patient.as_of), None)


def is_known_in_the_skull(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether bleeding in the skull is a day old and nothing else makes it pressing: its team has it."""
    since = last_written(patient.blood_loss.recorded)
    is_old = since is not None and patient.as_of - since >= ours.KNOWN_IN_THE_SKULL.length
    is_awake = bool(patient.alertness) and patient.altered_mind is None
    is_alone = now.urgency is Urgency.PROMPT and now.fall is None and now.is_in_the_skull_alone
    return is_old and is_awake and is_alone


def _is_steady_for(length: timedelta, patient: Illness, now: BleedingNow) -> bool:
    loss = patient.blood_loss
    steady, since = loss.steady, last_written(loss.recorded)
    if steady is None or since is None or now.critical or is_still_lost(patient):
        return False
    return (
        since <= steady.first.at
        and steady.newest.at - steady.first.at >= length
        and patient.as_of - steady.newest.at <= _DAY
    )


def _steady_for(patient: Illness) -> timedelta:
    """Return how long a steady haemoglobin ends bleeding: around a birth as after an operation."""
    births = [one.at for one in patient.record.done(ProcedureKind.BIRTH)]
    written = [one.at for one in patient.blood_loss.recorded if one.at is not None]
    is_of_a_birth = all(any(abs(at - birth) <= _DAY for birth in births) for at in written)
    return (ours.STEADY_AFTER_OPERATION if is_of_a_birth else ours.STEADY_AFTER_BLEEDING).length


class Calmed(Plain, frozen=True):
    """Recorded bleeding after which pulse, pressure and haemoglobin have come to rest, and not for long yet.

    Attributes:
        worst: The highest shock index since it was written down.
        newest: The newest, which is not raised.
        before: The first haemoglobin since from which it has not fallen.
        after: The newest.
    """

    worst: ShockIndex
    newest: ShockIndex
    before: Measurement
    after: Measurement


def calmed(patient: Illness, now: BleedingNow) -> Calmed | None:
    """Return what says that recorded bleeding has come to rest for hours; None where it has not."""
    loss = patient.blood_loss
    steady, since = loss.steady, last_written(loss.recorded)
    if steady is None or since is None or steady.first.at < since or now.critical:
        return None
    indices = [
        index for one in patient.sets if one.end >= since and (index := shock_index_of(one)) is not None
    ]
    lately = [one for one in indices if patient.as_of - one.at <= ours.CALM_AFTER_BLEEDING.length]
    if len(lately) < _LEAST_CALM or any(one.is_raised for one in lately) or is_still_lost(patient):
        return None
    worst = max(indices, key=lambda one: one.value)
    if not worst.is_raised:
        return None
    return Calmed(worst, lately[-1], steady.first, steady.newest)
