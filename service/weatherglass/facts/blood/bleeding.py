"""Whether this patient may be bleeding, how bad, since when and how it is known.

Worked out once: the finding tells it, and the drug chart acts on the same. A fall in haemoglobin,
bleeding that somebody wrote down, or pulse and pressure after a fresh operation raise the question;
everything else only says how soon to look.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.facts.blood.blood_loss import AfterOperation, BloodLoss, ChildInShock, bleeding_since
from weatherglass.facts.blood.haemoglobin_fall import HaemoglobinFall, last_steady
from weatherglass.facts.blood.recorded_bleeding import RecordedBleeding
from weatherglass.facts.blood.thinned import (
    beyond_prevention,
    is_anticoagulated,
    is_inr_prolonged,
    may_still_act,
    only_prevents_after,
    thinned_since,
)
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.results.result_levels import GradedSeries
from weatherglass.facts.rounds.shock_index import ShockIndex, shock_index_of
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits.newborn_jaundice import DAYS as NEWBORN
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import shock_index
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Urgency
from weatherglass.model.known_times import earliest
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import limit_words

_FALL_SOURCES = (
    trend_limits.HAEMOGLOBIN_FALL.source,
    trend_limits.HAEMOGLOBIN_FALL_MAJOR.source,
    trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING.source,
)
_DAY = timedelta(hours=24)
_LEAST_CALM = 2
#: Ours: a lactate of so long ago speaks of the blood that is lost now.
_LACTATE_FOR = timedelta(hours=6)
#: An INR so high, or platelets so few, that what has stopped can begin again.
_CLOTS_BADLY = ("inr-high", "platelets-low")
_LOST_LATELY = timedelta(days=3)
_IN_SHOCK = "a shock index of 1.0 or more"
_RECORDED_ALONE = our_choice("recorded bleeding without another sign is 'prompt'")
_ULCERATES = frozenset({MedicineClass.NSAID, MedicineClass.SALICYLATE_ANALGESIC})


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
        one = self.after_operation
        measured = (
            (self.fall.newest,)
            if self.fall is not None
            else (one.pulse, one.pulse_before, one.systolic, one.systolic_before)
            if one is not None
            else ()
        )
        return any(each.is_provisional for each in measured)

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
            measured = (one.pulse, one.pulse_before, one.systolic, one.systolic_before)
            found.extend((*(each.origin for each in measured), one.operation.origin))
        return tuple(dict.fromkeys(found))


class _Ground(Plain, frozen=True):
    """Why bleeding is as urgent as it is, and since when; `shock` where the shock index makes it so."""

    urgency: Urgency
    rule: str
    sources: tuple[Source, ...]
    began: datetime | None = None
    shock: ShockIndex | None = None
    child: ChildInShock | None = None


def bleeding_now(patient: Illness) -> BleedingNow | None:
    """Return the possible bleeding of this moment, None where nothing speaks of it."""
    loss = patient.blood_loss
    fall = None if fall_of_an_operation(patient) is not None else patient.haemoglobin_fall
    if fall is None and not loss.recorded:
        return _after_operation(loss.after_operation) if loss.after_operation is not None else None
    since = bleeding_since(fall, loss.recorded)
    found = list(_emergencies(patient, loss, fall))
    ground = found[0] if found else _urgent(patient, loss, fall) or _prompt(loss, fall)
    began = [one.began for one in found or [ground] if one.began is not None]
    is_sure = fall is not None or any(one.is_confirmed for one in loss.recorded)
    instead = _takes_it_too(patient) if not loss.recorded else ""
    if instead:
        ground = replace(ground, urgency=min(ground.urgency, Urgency.URGENT))
    thinned = _was_thick(patient, loss, fall)
    if thinned:
        instead = thinned
        ground = replace(ground, urgency=Urgency.PROMPT, sources=(*ground.sources, ours.THICK_BLOOD.source))
    again = _lost_again_since(patient, loss, fall)
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
    if loss.recorded or patient.haemoglobin_fall is None or _is_still_lost(patient, loss):
        return None
    return loss.operation_that_took_it or _took_a_little(patient, loss, patient.haemoglobin_fall)


def _took_a_little(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall) -> Done | None:
    """Return a birth or an operation before a first, small fall, with enough blood left and calm signs."""
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


def has_stopped(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether haemoglobin has been steady for long enough since bleeding was written down."""
    return _is_steady_for(_steady_for(patient, patient.blood_loss), patient, now)


def is_quiet_for_now(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether recorded bleeding shows no other sign, and haemoglobin has been steady for some hours."""
    return (
        now.urgency is Urgency.PROMPT
        and now.fall is None
        and _is_steady_for(ours.STEADY_FOR_NOW.length, patient, now)
    )


def endoscopy_since(patient: Illness, now: BleedingNow) -> Done | None:
    """Return the endoscopy of the gut since bleeding there was written down; None where there was none."""
    since = _last_written(patient.blood_loss)
    is_of_the_gut = bool(now.recorded) and all(one.is_visible_gut for one in now.recorded)
    if since is None or not is_of_the_gut:
        return None
    done = patient.record.done(ProcedureKind.GUT_ENDOSCOPY)
    return next((one for one in reversed(done) if since <= one.until <= patient.as_of), None)


def is_known_in_the_skull(patient: Illness, now: BleedingNow) -> bool:
    """Tell whether bleeding in the skull is a day old and nothing else makes it pressing: its team has it."""
    since = _last_written(patient.blood_loss)
    is_old = since is not None and patient.as_of - since >= ours.KNOWN_IN_THE_SKULL.length
    is_awake = bool(patient.alertness) and patient.altered_mind is None
    is_alone = now.urgency is Urgency.PROMPT and now.fall is None and now.is_in_the_skull_alone
    return is_old and is_awake and is_alone


def _is_steady_for(length: timedelta, patient: Illness, now: BleedingNow) -> bool:
    loss = patient.blood_loss
    steady, since = loss.steady, _last_written(loss)
    if steady is None or since is None or now.critical or _is_still_lost(patient, loss):
        return False
    return (
        since <= steady.first.at
        and steady.newest.at - steady.first.at >= length
        and patient.as_of - steady.newest.at <= _DAY
    )


def _steady_for(patient: Illness, loss: BloodLoss) -> timedelta:
    """Return how long a steady haemoglobin ends bleeding: around a birth as after an operation."""
    births = [one.at for one in patient.record.done(ProcedureKind.BIRTH)]
    written = [one.at for one in loss.recorded if one.at is not None]
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
    steady, since = loss.steady, _last_written(loss)
    if steady is None or since is None or steady.first.at < since or now.critical:
        return None
    indices = [
        index for one in patient.sets if one.end >= since and (index := shock_index_of(one)) is not None
    ]
    lately = [one for one in indices if patient.as_of - one.at <= ours.CALM_AFTER_BLEEDING.length]
    if len(lately) < _LEAST_CALM or any(one.is_raised for one in lately) or _is_still_lost(patient, loss):
        return None
    worst = max(indices, key=lambda one: one.value)
    if not worst.is_raised:
        return None
    return Calmed(worst, lately[-1], steady.first, steady.newest)


def _lost_again_since(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> datetime | None:
    """Return when blood began to be lost again after bleeding, or an operation, that had stopped."""
    if loss.recorded:
        since, least = _last_written(loss), ours.STEADY_AFTER_BLEEDING.length
    else:
        over = [one.until for one in loss.operations if fall is not None and one.until <= fall.newest.at]
        since, least = max(over, default=None), ours.STEADY_AFTER_OPERATION.length
    steady = last_steady(patient.record, since, least) if since is not None else None
    if steady is None:
        return None
    return steady.left_at or _index_since(patient, lambda one: one.is_raised)


def _last_written(loss: BloodLoss) -> datetime | None:
    """Return when bleeding was last written down; None where it was not, or one of it has no time."""
    dated = [one.at for one in loss.recorded if one.at is not None]
    return max(dated) if dated and len(dated) == len(loss.recorded) else None


def _index_since(patient: Illness, is_so: Callable[[ShockIndex], bool]) -> datetime | None:
    """Return since when the shock index of every round has been so; None where the newest is not."""
    indices = [index for one in patient.sets if (index := shock_index_of(one)) is not None]
    first = first_of_run(indices, is_so)
    return first.at if first is not None else None


def _not_before(at: datetime, since: datetime | None) -> datetime:
    """Return from when both were there; of the first alone where the other has no time."""
    return max(at, since) if since is not None else at


def _is_still_lost(patient: Illness, loss: BloodLoss) -> bool:
    """Tell whether pulse, pressure or lactate say that blood is being lost now, or it hardly clots."""
    index = loss.shock_index
    is_raised = index is not None and index.is_raised
    clots_badly = any(beyond(patient, key) is not None for key in _CLOTS_BADLY)
    return is_raised or clots_badly or loss.child is not None or _lactate_is_raised(patient)


def _takes_it_too(patient: Illness) -> str:
    """Return what else takes haemoglobin: red cells that break down, or are held in the spleen."""
    days = patient.age_in_days
    is_newborn = days is not None and days < NEWBORN.length.days
    of_a_newborn = (ConditionKind.NEWBORN_HAEMOLYSIS,) if is_newborn else ()
    told = patient.record.known_of(ConditionKind.SICKLE_CRISIS, ConditionKind.HAEMOLYSIS, *of_a_newborn)
    return f"{inside_a_sentence(told[0].text)} takes haemoglobin too" if told else ""


def _was_thick(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> str:
    """Return what had thickened the blood that fluid now thins; empty where it bleeds, or may."""
    if fall is None or loss.recorded or loss.operations or _is_still_lost(patient, loss):
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


def beyond(patient: Illness, key: str) -> GradedSeries | None:
    """Return the results of an analyte on one side, where the newest is beyond its limit and counts."""
    graded = patient.graded.get(key)
    return graded if graded is not None and graded.band is not None and graded.is_current else None


# How urgent


def _sources(loss: BloodLoss, fall: HaemoglobinFall | None) -> tuple[Source, ...]:
    found: tuple[Source, ...] = (_FALL_SOURCES[fall.level - 1],) if fall is not None else ()
    if any(one.measured is not None for one in loss.recorded):
        found += (
            ours.BIRTH_LOSS_MINOR.source,
            ours.BIRTH_LOSS_MAJOR.source,
            ours.BIRTH_LOSS_URGENCY,
            ours.LARGE_LOSS.source,
        )
    index = loss.shock_index
    if index is not None and index.is_raised:
        found += ((shock_index.HIGH if index.is_high else shock_index.RAISED).source,)
    return found


def _emergencies(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> Iterator[_Ground]:
    """Yield each thing that makes it an emergency, the plainest first."""
    sources, since = _sources(loss, fall), bleeding_since(fall, loss.recorded)
    if fall is not None and fall.level == len(_FALL_SOURCES):
        limit = limit_words(trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING)
        yield _Ground(
            Urgency.EMERGENCY,
            f"a haemoglobin fall of {limit}",
            (*sources, ours.BLEEDING_EMERGENCY.source),
            fall.run.since if fall.run is not None else None,
        )
    yield from _shock(patient, loss, fall, since)
    bled = _is_low_and_anaemic(patient) if _is_more_than_minor(loss) else None
    if bled is not None:
        yield _Ground(
            Urgency.EMERGENCY,
            f"recorded bleeding with a low pressure and a haemoglobin {limit_words(ours.BLED_HAEMOGLOBIN)}",
            (*sources, ours.BLED_PRESSURE.source),
            _not_before(bled, since),
        )
    child = loss.child
    if child is not None and child.is_shock and (loss.recorded or _is_likely_fall(patient, loss, fall)):
        yield _Ground(
            Urgency.EMERGENCY,
            f"{'recorded bleeding' if loss.recorded else _asks(fall)} in a child with signs of shock",
            (*sources, ours.CHILD_PULSE_POINTS.source, ours.BLEEDING_EMERGENCY.source),
            _not_before(child.since, since),
            child=child,
        )
    lost = _lost_around_a_birth(patient, loss, ours.BIRTH_LOSS)
    if lost is not None:
        yield _Ground(
            Urgency.EMERGENCY,
            f"blood lost around a birth, {limit_words(ours.BIRTH_LOSS)}",
            (*sources, ours.BIRTH_LOSS.source),
            lost.at,
        )
    critical = [one for one in loss.recorded if one.is_critical]
    thinned = _thinned(patient, began_last(critical)) if critical else ""
    if thinned:
        place = "inside the skull" if any(one.is_in_the_skull for one in critical) else "into a closed place"
        yield _Ground(
            Urgency.EMERGENCY,
            f"bleeding {place} with {thinned}",
            (*sources, ours.BLEEDING_IN_THE_SKULL.source),
            _since_both(earliest(one.at for one in critical), patient),
        )


def _shock(
    patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None, since: datetime | None
) -> Iterator[_Ground]:
    """Yield a pulse and a pressure that say shock, or a pressure alone where the pulse is held down."""
    sources, index = _sources(loss, fall), loss.shock_index
    if index is not None and index.is_high and loss.recorded:
        yield _Ground(
            Urgency.EMERGENCY,
            _in_shock(patient, loss, fall),
            (*sources, ours.BLEEDING_EMERGENCY.source),
            _in_shock_since(patient, since),
            index,
        )
    elif index is not None and index.is_high and fall is not None and _is_likely(patient, loss, fall):
        yield _Ground(
            Urgency.EMERGENCY,
            f"{_asks(fall)} with {_IN_SHOCK}",
            (*sources, ours.BLEEDING_EMERGENCY.source),
            _in_shock_since(patient, since),
            index,
        )
    elif (held := _in_shock_with_a_held_pulse(patient)) and (
        loss.recorded or _is_likely_fall(patient, loss, fall)
    ):
        yield _Ground(
            Urgency.EMERGENCY,
            f"{_asks(fall)} with a low pressure and a raised lactate, the pulse held down",
            (*sources, ours.HELD_PULSE_PRESSURE.source),
            _not_before(held, since),
        )


def _since_both(bleeding: datetime | None, patient: Illness) -> datetime | None:
    """Return from when there was a bleed and what thins the blood; of the bleed where that is not known."""
    return _not_before(bleeding, thinned_since(patient)) if bleeding is not None else None


def _lost_around_a_birth(patient: Illness, loss: BloodLoss, limit: Cutoff) -> RecordedBleeding | None:
    """Return a measured or recorded loss of a mother that is so large, and fresh."""
    if not patient.is_pregnant_or_recently:
        return None
    for one in loss.recorded:
        is_large = one.volume is not None and limit.is_met_by(one.volume)
        if is_large and one.at is not None and patient.as_of - one.at <= ours.BIRTH_LOSS_IS_FRESH_FOR.length:
            return one
    return None


def _in_shock_with_a_held_pulse(patient: Illness) -> datetime | None:
    """Return since when pressure and lactate say what a pulse that is held down cannot."""
    if not patient.pulse_is_held_down:
        return None
    return _since_both_met(patient, ours.HELD_PULSE_PRESSURE, ours.HELD_PULSE_LACTATE, Signal.LACTATE)


def _is_low_and_anaemic(patient: Illness) -> datetime | None:
    """Return since when pressure and haemoglobin are so low that they need no pulse beside them."""
    return _since_both_met(patient, ours.BLED_PRESSURE, ours.BLED_HAEMOGLOBIN, Signal.HAEMOGLOBIN)


def _since_both_met(patient: Illness, pressure: Cutoff, limit: Cutoff, signal: Signal) -> datetime | None:
    """Return since when the newest systolic pressure and result of a day both meet their limits."""
    low = _since_met(patient, pressure, Signal.SYSTOLIC_PRESSURE)
    beyond_it = _since_met(patient, limit, signal)
    return max(low, beyond_it) if low is not None and beyond_it is not None else None


def _since_met(patient: Illness, limit: Cutoff, signal: Signal, within: timedelta = _DAY) -> datetime | None:
    newest = patient.newest_beyond(signal, lambda one: limit.is_met_by(one.value), within)
    return newest.since if newest is not None else None


def _is_more_than_minor(loss: BloodLoss) -> bool:
    return not all(one.is_minor for one in loss.recorded)


def _is_likely_fall(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> bool:
    return fall is not None and _is_likely(patient, loss, fall)


def _is_likely(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall) -> bool:
    """Tell whether a fall is more than fluids make of it: a large one, or one with a reason to bleed."""
    return fall.level > 1 or bool(loss.operations) or is_anticoagulated(patient)


def _in_shock(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> str:
    if fall is not None:
        return f"recorded bleeding, a haemoglobin fall and {_IN_SHOCK}"
    if any(one.is_visible_gut for one in loss.recorded):
        return f"vomited blood or black stool with {_IN_SHOCK}"
    if patient.is_pregnant_or_recently:
        return f"recorded bleeding in pregnancy or soon after with {_IN_SHOCK}"
    return f"recorded bleeding with {_IN_SHOCK}"


def began_last(critical: Sequence[RecordedBleeding]) -> datetime | None:
    """Return when the last of these bleeds was written down; None where one of them has no time."""
    dated = [one.at for one in critical if one.at is not None]
    return max(dated) if dated and len(dated) == len(critical) else None


def _thinned(patient: Illness, bled: datetime | None) -> str:
    """Name what keeps blood from clotting, empty where nothing is known to, or only prevents since then."""
    is_treated = is_anticoagulated(patient) and not only_prevents_after(patient, bled)
    if is_treated or is_inr_prolonged(patient):
        return "an anticoagulant or a prolonged INR"
    return "an antiplatelet" if patient.on_chart(ours.ANTIPLATELETS) else ""


def _in_shock_since(patient: Illness, since: datetime | None) -> datetime | None:
    """Return since when the shock index has been so high beside the bleeding."""
    began = _index_since(patient, lambda one: one.is_high)
    return _not_before(began, since) if began is not None else None


def _urgent(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> _Ground | None:
    sources = (*_sources(loss, fall), ours.BLEEDING_UPGRADE.source)
    lost = _lost_outside_theatre(patient, loss)
    if lost is not None:
        rule = f"{limit_words(ours.VERY_LARGE_LOSS)} lost in a day"
        return _Ground(Urgency.URGENT, rule, (*sources, ours.VERY_LARGE_LOSS.source), lost.at)
    support = _support(patient, loss, fall)
    if not support:
        return None
    return _Ground(Urgency.URGENT, f"{_asks(fall)} with {support}", sources)


def _prompt(loss: BloodLoss, fall: HaemoglobinFall | None) -> _Ground:
    return _Ground(Urgency.PROMPT, _asks(fall), _sources(loss, fall) or (_RECORDED_ALONE,))


def _asks(fall: HaemoglobinFall | None) -> str:
    if fall is None:
        return "recorded bleeding"
    return f"a haemoglobin fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL)}"


def _lost_outside_theatre(patient: Illness, loss: BloodLoss) -> RecordedBleeding | None:
    """Return a very large loss of the last day; what an operation took was met by who was there."""
    for one in loss.recorded:
        is_large = one.volume is not None and ours.VERY_LARGE_LOSS.is_met_by(one.volume)
        is_fresh = one.at is not None and patient.as_of - one.at <= ours.BIRTH_LOSS_LISTED_FOR.length
        if is_large and is_fresh and not any(_was_then(one, each) for each in loss.operations):
            return one
    return None


def _was_then(bleeding: RecordedBleeding, operation: Done) -> bool:
    return bleeding.at is not None and bleeding.at <= operation.until


def _support(patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None) -> str:
    """Name the first thing that makes the question more urgent."""
    return next((said for is_so, said in _supports(patient, loss, fall) if is_so), "")


def _lactate_is_raised(patient: Illness) -> bool:
    return _since_met(patient, ours.HELD_PULSE_LACTATE, Signal.LACTATE, _LACTATE_FOR) is not None


def _supports(
    patient: Illness, loss: BloodLoss, fall: HaemoglobinFall | None
) -> Iterator[tuple[object, str]]:
    index = loss.shock_index
    yield (
        fall is not None and fall.level > 1,
        f"a fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL_MAJOR)}",
    )
    yield fall is not None and loss.recorded, "recorded bleeding"
    yield (
        _lost_around_a_birth(patient, loss, ours.BIRTH_LOSS_MAJOR),
        f"{limit_words(ours.BIRTH_LOSS_MAJOR)} lost around a birth",
    )
    yield index is not None and index.is_raised, "a raised shock index"
    yield (
        _is_more_than_minor(loss) and _since_met(patient, ours.BLED_HAEMOGLOBIN, Signal.HAEMOGLOBIN),
        f"a haemoglobin {limit_words(ours.BLED_HAEMOGLOBIN)}",
    )
    yield fall is not None and _lactate_is_raised(patient), "a raised lactate"
    yield loss.child is not None and loss.recorded, "a sign of lost blood in a child"
    yield beyond(patient, "inr-high"), "a high INR"
    yield beyond(patient, "platelets-low"), "low platelets"
    if fall is not None or _is_more_than_minor(loss):
        yield beyond_prevention(patient), "an anticoagulant on the chart"
        yield may_still_act(patient), "an anticoagulant that has only just ended"
    ulcerating = patient.on_chart(ours.ANTIPLATELETS | _ULCERATES)
    is_gut = any(one.is_visible_gut for one in loss.recorded)
    yield is_gut and ulcerating, "an antiplatelet or an anti-inflammatory on the chart"
