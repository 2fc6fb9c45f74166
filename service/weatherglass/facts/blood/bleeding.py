"""Whether this patient may be bleeding, how bad, since when and how it is known.

Worked out once: the finding tells it, and the drug chart acts on the same. A fall in haemoglobin,
bleeding that somebody wrote down, or pulse and pressure after a fresh operation raise the question;
everything else only says how soon to look.
"""

from datetime import datetime, timedelta

from weatherglass.facts.blood.bleeding_urgency import grounds, is_still_lost
from weatherglass.facts.blood.blood_loss import AfterOperation, ChildInShock, bleeding_since
from weatherglass.facts.blood.haemoglobin_fall import HaemoglobinFall, last_steady
from weatherglass.facts.blood.recorded_bleeding import RecordedBleeding, last_written
from weatherglass.facts.blood.thinned import beyond_prevention
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.rounds.shock_index import ShockIndex, index_since
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits.newborn_jaundice import DAYS as NEWBORN
from weatherglass.knowledge.scores import shock_index
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import Done
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.lists import inside_a_sentence

_LOST_LATELY = timedelta(days=3)


class BleedingNow(Plain, frozen=True, kw_only=True):
    """Possible bleeding at one moment.

    Attributes:
        fall: The fall in haemoglobin by the published amount, where its newest result still counts.
        recorded: Bleeding that somebody wrote down, confirmed or not.
        after_operation: Pulse and pressure since a fresh operation, where they alone raise the question.
        index: Pulse over pressure, where it makes the urgency what it is.
        child: What stands in for it in a child, where that does.
        urgency: How soon somebody should look, which is the degree that the drug chart acts on.
        rule: What made it so, in words.
        sources: Where that is printed.
        since: When the first of it began; None where nothing of it has a time.
        asked_since: When it began to be as urgent; None where that is the same moment.
        doubt: Why it may not be so; empty where a measured fall or confirmed bleeding says it.
        settles: What settles the doubt.
    """

    fall: HaemoglobinFall | None = None
    recorded: tuple[RecordedBleeding, ...] = ()
    after_operation: AfterOperation | None = None
    index: ShockIndex | None = None
    child: ChildInShock | None = None
    urgency: Urgency
    rule: str
    sources: tuple[Source, ...]
    since: datetime | None
    asked_since: datetime | None = None
    doubt: str = ""
    settles: str = ""

    @property
    def critical(self) -> tuple[RecordedBleeding, ...]:
        """What is recorded of the head, the spine or another closed place."""
        return tuple(one for one in self.recorded if one.is_critical)

    @property
    def is_in_the_skull_alone(self) -> bool:
        """Whether nothing is recorded but bleeding in the skull."""
        return bool(self.recorded) and all(one.is_in_the_skull for one in self.recorded)

    @property
    def is_small_fall(self) -> bool:
        """Whether a small fall in haemoglobin, as fluids and operations bring it, is all there is."""
        return self.fall is not None and not self.recorded and self.urgency is Urgency.PROMPT

    @property
    def is_provisional(self) -> bool:
        """Whether a value that it rests on is not final."""
        if self.fall is not None:
            return self.fall.newest.is_provisional
        one = self.after_operation
        return one is not None and any(each.is_provisional for each in one.measured)

    @property
    def origins(self) -> tuple[Origin, ...]:
        """Every input that it rests on."""
        one, fall, index = self.after_operation, self.fall, self.index
        found = [each.origin for each in (fall.before, fall.newest)] if fall is not None else []
        found.extend(each.origin for each in self.recorded)
        if index is not None:
            found.extend((index.pulse.origin, index.systolic.origin))
        if self.child is not None:
            found.extend(sign.origin for _, sign in self.child.signs)
        if one is not None:
            found.extend((*(each.origin for each in one.measured), one.operation.origin))
        return tuple(dict.fromkeys(found))


def bleeding_now(patient: Illness) -> BleedingNow | None:
    """Return the possible bleeding of this moment, None where nothing speaks of it."""
    loss = patient.blood_loss
    fall = None if fall_of_an_operation(patient) is not None else patient.haemoglobin_fall
    if fall is None and not loss.recorded:
        return _after_operation(loss.after_operation) if loss.after_operation is not None else None
    since = bleeding_since(fall, loss.recorded)
    found = grounds(patient, fall)
    ground = found[0]
    began = [one.began for one in found if one.began is not None]
    is_sure = fall is not None or any(one.is_confirmed for one in loss.recorded)
    instead = _takes_it_too(patient) if not loss.recorded else ""
    if instead:
        ground = replace(ground, urgency=min(ground.urgency, Urgency.URGENT))
    thinned = _was_thick(patient, fall)
    if thinned:
        instead = thinned
        ground = replace(ground, urgency=Urgency.PROMPT, sources=(*ground.sources, ours.THICK_BLOOD.source))
    again = _lost_again_since(patient, fall)
    if again is not None and since is not None:
        began = [max(again, one) for one in began or [since]]
    return BleedingNow(
        fall=fall,
        recorded=loss.recorded,
        index=ground.shock,
        child=ground.child,
        urgency=ground.urgency,
        rule=ground.rule,
        sources=ground.sources,
        since=since,
        asked_since=min(began) if began and since is not None else None,
        doubt=instead or ("" if is_sure else "nobody has confirmed it"),
        settles="" if is_sure and not instead else "look for it now",
    )


def fall_of_an_operation(patient: Illness) -> Done | None:
    """Return the operation that took the blood, where nothing says that it goes on being lost."""
    loss = patient.blood_loss
    if loss.recorded or patient.haemoglobin_fall is None or is_still_lost(patient):
        return None
    return loss.operation_that_took_it or _took_a_little(patient, patient.haemoglobin_fall)


def _took_a_little(patient: Illness, fall: HaemoglobinFall) -> Done | None:
    """Return a birth or an operation before a first, small fall, with enough blood left and calm signs."""
    loss = patient.blood_loss
    is_calm = loss.shock_index is not None and loss.after_operation is None
    if not is_calm or fall.level > 1 or not ours.ENOUGH_BLOOD_LEFT.is_met_by(fall.newest.value):
        return None
    done = max((*loss.operations, *loss.births), key=lambda one: one.until, default=None)
    if done is None or not fall.before.at < done.until <= fall.newest.at:
        return None
    if fall.newest.at - done.until > ours.BLOOD_IS_TAKEN_FOR.length or beyond_prevention(patient):
        return None
    series = patient.record.series(Signal.HAEMOGLOBIN)
    last = series.last_by(done.until)
    is_across = last is not None and last.value - fall.newest.value >= fall.before.value - last.value
    is_first = len(series.within(done.until, patient.as_of)) == 1
    is_transfused = any(one.until >= done.until for one in loss.transfusions)
    return done if is_across and is_first and not is_transfused else None


def _lost_again_since(patient: Illness, fall: HaemoglobinFall | None) -> datetime | None:
    """Return when blood began to be lost again after bleeding, or an operation, that had stopped."""
    loss = patient.blood_loss
    if loss.recorded:
        since, least = last_written(loss.recorded), ours.STEADY_AFTER_BLEEDING.length
    else:
        over = [one.until for one in loss.operations if fall is not None and one.until <= fall.newest.at]
        since, least = max(over, default=None), ours.STEADY_AFTER_OPERATION.length
    steady = last_steady(patient.record, since, least) if since is not None else None
    if steady is None:
        return None
    return steady.left_at or index_since(patient.sets, lambda one: one.is_raised)


def _takes_it_too(patient: Illness) -> str:
    """Return what else takes haemoglobin: red cells that break down, or are held in the spleen."""
    days = patient.age_in_days
    is_newborn = days is not None and days < NEWBORN.length.days
    of_a_newborn = (ConditionKind.NEWBORN_HAEMOLYSIS,) if is_newborn else ()
    told = patient.record.known_of(ConditionKind.SICKLE_CRISIS, ConditionKind.HAEMOLYSIS, *of_a_newborn)
    return f"{inside_a_sentence(told[0].text)} takes haemoglobin too" if told else ""


def _was_thick(patient: Illness, fall: HaemoglobinFall | None) -> str:
    """Return what had thickened the blood that fluid now thins; empty where it bleeds, or may."""
    loss = patient.blood_loss
    if fall is None or loss.recorded or loss.operations or is_still_lost(patient):
        return ""
    if not (ours.THICK_BLOOD.is_met_by(fall.before.value) and ours.THINNED_TO.is_met_by(fall.newest.value)):
        return ""
    since = fall.before.at - _LOST_LATELY
    told = [one for one in patient.record.known_of(*ours.THICKENS_BLOOD) if one.at is None or one.at >= since]
    return f"fluid after {inside_a_sentence(told[0].text)} thins blood that was thick" if told else ""


def _after_operation(one: AfterOperation) -> BleedingNow:
    return BleedingNow(
        after_operation=one,
        urgency=Urgency.URGENT,
        rule="a faster pulse and a lower pressure within 24 hours of an operation",
        sources=(ours.PULSE_UP_AFTER_OPERATION.source, shock_index.HIGH.source),
        since=one.since,
        doubt="pulse and pressure alone say so",
        settles="look, and measure haemoglobin",
    )
