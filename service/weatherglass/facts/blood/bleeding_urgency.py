"""How soon somebody should look at possible bleeding: by what, and since when."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.facts.blood.blood_loss import BloodLoss, ChildInShock, bleeding_since
from weatherglass.facts.blood.haemoglobin_fall import HaemoglobinFall
from weatherglass.facts.blood.recorded_bleeding import RecordedBleeding, last_written
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
from weatherglass.facts.rounds.shock_index import ShockIndex, index_since
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import shock_index
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.clauses import Window
from weatherglass.model.words.value_words import limit_words

_FALL_SOURCES = (
    trend_limits.HAEMOGLOBIN_FALL.source,
    trend_limits.HAEMOGLOBIN_FALL_MAJOR.source,
    trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING.source,
)
_DAY = timedelta(hours=24)
#: Ours: a lactate of so long ago speaks of the blood that is lost now.
_LACTATE_FOR = timedelta(hours=6)
#: An INR so high, or platelets so few, that what has stopped can begin again.
_CLOTS_BADLY = ("inr-high", "platelets-low")
_IN_SHOCK = "a shock index of 1.0 or more"
_RECORDED_ALONE = our_choice("recorded bleeding without another sign is 'prompt'")
_ULCERATES = frozenset({MedicineClass.NSAID, MedicineClass.SALICYLATE_ANALGESIC})


class Ground(Plain, frozen=True, kw_only=True):
    """Why bleeding is as urgent as it is, and since when; with the shock index or the child's signs of it."""

    urgency: Urgency = Urgency.EMERGENCY
    rule: str
    sources: tuple[Source, ...] = ()
    began: datetime | None = None
    shock: ShockIndex | None = None
    child: ChildInShock | None = None


def grounds(patient: Illness, fall: HaemoglobinFall | None) -> tuple[Ground, ...]:
    """Return each thing that makes it an emergency, the plainest first; else what makes it less."""
    loss = patient.blood_loss
    sources = _sources(loss, fall)
    found = tuple(_emergencies(patient, fall)) or (_urgent(patient, fall) or _prompt(fall),)
    return tuple(replace(one, sources=(*sources, *one.sources) or (_RECORDED_ALONE,)) for one in found)


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


def _emergencies(patient: Illness, fall: HaemoglobinFall | None) -> Iterator[Ground]:
    loss = patient.blood_loss
    if fall is not None and fall.level == len(_FALL_SOURCES):
        yield Ground(
            rule=f"a haemoglobin fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING)}",
            sources=(ours.BLEEDING_EMERGENCY.source,),
            began=fall.run.since if fall.run is not None else None,
        )
    since = bleeding_since(fall, loss.recorded)
    is_likely = bool(loss.recorded) or (fall is not None and _is_likely(patient, fall))
    if is_likely:
        yield from _shock(patient, fall, since)
    bled = _is_low_and_anaemic(patient) if _is_more_than_minor(loss) else None
    if bled is not None:
        limit = limit_words(ours.BLED_HAEMOGLOBIN)
        yield Ground(
            rule=f"recorded bleeding with a low pressure and a haemoglobin {limit}",
            sources=(ours.BLED_PRESSURE.source,),
            began=latest((bled, since)),
        )
    child = loss.child
    if child is not None and child.is_shock and is_likely:
        yield Ground(
            rule=f"{'recorded bleeding' if loss.recorded else _asks(fall)} in a child with signs of shock",
            sources=(ours.CHILD_PULSE_POINTS.source, ours.BLEEDING_EMERGENCY.source),
            began=latest((child.since, since)),
            child=child,
        )
    lost = _lost_around_a_birth(patient, ours.BIRTH_LOSS)
    if lost is not None:
        yield Ground(
            rule=f"blood lost around a birth, {limit_words(ours.BIRTH_LOSS)}",
            sources=(ours.BIRTH_LOSS.source,),
            began=lost.at,
        )
    critical = [one for one in loss.recorded if one.is_critical]
    thinned = _thinned(patient, last_written(critical)) if critical else ""
    if thinned:
        place = "inside the skull" if any(one.is_in_the_skull for one in critical) else "into a closed place"
        bled = earliest(one.at for one in critical)
        yield Ground(
            rule=f"bleeding {place} with {thinned}",
            sources=(ours.BLEEDING_IN_THE_SKULL.source,),
            began=latest((bled, thinned_since(patient))) if bled is not None else None,
        )


def _shock(patient: Illness, fall: HaemoglobinFall | None, since: datetime | None) -> Iterator[Ground]:
    """Yield a pulse and a pressure that say shock, or a pressure alone where the pulse is held down."""
    index = patient.blood_loss.shock_index
    if index is not None and index.is_high:
        began = index_since(patient.sets, lambda one: one.is_high)
        yield Ground(
            rule=f"{_in_shock(patient, fall)} {_IN_SHOCK}",
            sources=(ours.BLEEDING_EMERGENCY.source,),
            began=latest((began, since)) if began is not None else None,
            shock=index,
        )
    elif held := _in_shock_with_a_held_pulse(patient):
        yield Ground(
            rule=f"{_asks(fall)} with a low pressure and a raised lactate, the pulse held down",
            sources=(ours.HELD_PULSE_PRESSURE.source,),
            began=latest((held, since)),
        )


def _in_shock(patient: Illness, fall: HaemoglobinFall | None) -> str:
    recorded = patient.blood_loss.recorded
    if not recorded:
        return f"{_asks(fall)} with"
    if fall is not None:
        return "recorded bleeding, a haemoglobin fall and"
    if any(one.is_visible_gut for one in recorded):
        return "vomited blood or black stool with"
    if patient.is_pregnant_or_recently:
        return "recorded bleeding in pregnancy or soon after with"
    return "recorded bleeding with"


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


def _is_likely(patient: Illness, fall: HaemoglobinFall) -> bool:
    """Tell whether a fall is more than fluids make of it: a large one, or one with a reason to bleed."""
    return fall.level > 1 or bool(patient.blood_loss.operations) or is_anticoagulated(patient)


def _thinned(patient: Illness, bled: datetime | None) -> str:
    """Name what keeps blood from clotting, empty where nothing is known to, or only prevents since then."""
    is_treated = is_anticoagulated(patient) and not only_prevents_after(patient, bled)
    if is_treated or is_inr_prolonged(patient):
        return "an anticoagulant or a prolonged INR"
    return "an antiplatelet" if patient.on_chart(ours.ANTIPLATELETS) else ""


def _urgent(patient: Illness, fall: HaemoglobinFall | None) -> Ground | None:
    lost = _lost_outside_theatre(patient)
    if lost is not None:
        return Ground(
            urgency=Urgency.URGENT,
            rule=f"{limit_words(ours.VERY_LARGE_LOSS)} lost in a day",
            sources=(ours.BLEEDING_UPGRADE.source, ours.VERY_LARGE_LOSS.source),
            began=lost.at,
        )
    support = next((said for is_so, said in _supports(patient, fall) if is_so), "")
    if not support:
        return None
    rule = f"{_asks(fall)} with {support}"
    return Ground(urgency=Urgency.URGENT, rule=rule, sources=(ours.BLEEDING_UPGRADE.source,))


def _prompt(fall: HaemoglobinFall | None) -> Ground:
    return Ground(urgency=Urgency.PROMPT, rule=_asks(fall))


def _asks(fall: HaemoglobinFall | None) -> str:
    if fall is None:
        return "recorded bleeding"
    return f"a haemoglobin fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL)}"


def _lost_around_a_birth(patient: Illness, limit: Cutoff) -> RecordedBleeding | None:
    """Return a measured or recorded loss of a mother that is so large, and fresh."""
    if not patient.is_pregnant_or_recently:
        return None
    return next(_losses(patient, limit, ours.BIRTH_LOSS_IS_FRESH_FOR), None)


def _lost_outside_theatre(patient: Illness) -> RecordedBleeding | None:
    """Return a very large loss of the last day; what an operation took was met by who was there."""
    operated = max((one.until for one in patient.blood_loss.operations), default=None)
    lost = _losses(patient, ours.VERY_LARGE_LOSS, ours.BIRTH_LOSS_LISTED_FOR)
    return next((one for one in lost if operated is None or (one.at and one.at > operated)), None)


def _losses(patient: Illness, limit: Cutoff, fresh: Window) -> Iterator[RecordedBleeding]:
    for one in patient.blood_loss.recorded:
        is_large = one.volume is not None and limit.is_met_by(one.volume)
        if is_large and one.at is not None and patient.as_of - one.at <= fresh.length:
            yield one


def _supports(patient: Illness, fall: HaemoglobinFall | None) -> Iterator[tuple[object, str]]:
    """Yield each thing that makes the question more urgent, and whether it is so."""
    loss = patient.blood_loss
    index = loss.shock_index
    yield (
        fall is not None and fall.level > 1,
        f"a fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL_MAJOR)}",
    )
    yield fall is not None and loss.recorded, "recorded bleeding"
    yield (
        _lost_around_a_birth(patient, ours.BIRTH_LOSS_MAJOR),
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


def _lactate_is_raised(patient: Illness) -> bool:
    return _since_met(patient, ours.HELD_PULSE_LACTATE, Signal.LACTATE, _LACTATE_FOR) is not None


def beyond(patient: Illness, key: str) -> GradedSeries | None:
    """Return the results of an analyte on one side, where the newest is beyond its limit and counts."""
    graded = patient.graded.get(key)
    return graded if graded is not None and graded.band is not None and graded.is_current else None


def is_still_lost(patient: Illness) -> bool:
    """Tell whether pulse, pressure or lactate say that blood is being lost now, or it hardly clots."""
    loss = patient.blood_loss
    is_raised = loss.shock_index is not None and loss.shock_index.is_raised
    clots_badly = any(beyond(patient, key) is not None for key in _CLOTS_BADLY)
    return is_raised or clots_badly or loss.child is not None or _lactate_is_raised(patient)
