"""Triggers read at the bedside: low pressure, slow pulse, consciousness and breathing.

The limits of pressure and pulse are those of adults; under 16 only how alert the child is, breathing
that is slow at this age and the blood gas count. A pressure that is low as usual for this person is
no trigger while it stays there; at 90 or less only where it is known to be tolerated, as the finding
has it.
"""

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from datetime import datetime
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.alertness import MINDS, Alertness
from weatherglass.facts.rounds.signs.sign_limits import slow_breathing_of_child
from weatherglass.facts.series.limits_met import Met, meets, surely
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.timing import VITAL_SIGNS_COUNT_FOR
from weatherglass.knowledge.signs import single_signs
from weatherglass.medicines.triggers.met import (
    MetTrigger,
    at_words,
    met_beyond,
    met_by,
    since_beyond,
    since_when,
)
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import as_sent, plain
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import DEEP, Consciousness, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.clock_words import Clock

_TO_VOICE = frozenset({Consciousness.VOICE})


def vital_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return the triggers that the newest vital signs meet."""
    if bedside.is_below(timing.ADULT_LIMITS):
        sedated = _surer(_reduced(bedside), _drowsy(bedside))
        if sedated is not None and bedside.ventilation is None:
            yield sedated
        return
    low = _low_pressure(bedside)
    if low is not None:
        yield low
    slow = _slow_pulse(bedside, low_pressure=low is not None)
    if slow is not None:
        yield slow
    if bedside.ventilation is not None:
        return  # The machine breathes, and what sedates for it does harm where it is stopped.
    unwell = _surer(_reduced(bedside), _drowsy(bedside))
    if unwell is not None:
        yield unwell


def _surer(reduced: MetTrigger | None, drowsy: MetTrigger | None) -> MetTrigger | None:
    """Return what holds a dose, or what asks for a look where that is in doubt or not there."""
    return reduced if reduced is not None and not (reduced.doubt and drowsy) else drowsy


def newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    """Return the newest value of a vital sign that still speaks for now."""
    return bedside.series(signal).recent(bedside.as_of, VITAL_SIGNS_COUNT_FOR.length)


# Pressure


def _low_pressure(bedside: Bedside) -> MetTrigger | None:
    measured = newest(bedside, Signal.SYSTOLIC_PRESSURE)
    if measured is None:
        return None
    falls = {step.reading: step for step in bedside.pressure if step.is_fall or step.is_first_fall}
    certainty = meets(triggers.HYPOTENSION_SYSTOLIC, measured)
    fall = falls.get(measured)
    if certainty is Met.NO and fall is None:
        return None
    very_low = meets(triggers.SHOCK_SYSTOLIC, measured)
    is_tolerated = very_low is Met.NO or bedside.low_pressure_is_tolerated
    if fall is None and bedside.pressure_is_low_as_usual and is_tolerated:
        return None
    if fall is None and very_low is Met.NO and _is_of_the_heart(bedside, measured):
        return None
    cutoff = triggers.HYPOTENSION_SYSTOLIC if certainty is not Met.NO else triggers.HYPOTENSION_FALL
    is_unsure = fall is not None and fall.is_first_fall and certainty is not Met.YES
    since = since_when(
        bedside.record.series(Signal.SYSTOLIC_PRESSURE).items,
        lambda one: one in falls or meets(triggers.HYPOTENSION_SYSTOLIC, one) is not Met.NO,
    )
    met = met_by(
        bedside,
        Trigger.HYPOTENSION,
        Signal.SYSTOLIC_PRESSURE,
        measured,
        cutoff.source,
        since,
        asked_since=_since_met(bedside, Signal.SYSTOLIC_PRESSURE, triggers.SHOCK_SYSTOLIC, very_low),
        certainty=Met.YES if fall is not None else certainty,
        grade=int(very_low is Met.YES),
        doubt="a fall that no second reading has confirmed: repeat the pressure" if is_unsure else "",
    )
    if fall is None or fall.usual is None:
        return met
    return _with_usual(met, fall.usual, measured.at, bedside.clock)


def _is_of_the_heart(bedside: Bedside, measured: Measurement) -> bool:
    """Tell whether a failing heart alone lowers a pressure, and no sign of bleeding or sepsis is there."""
    is_ill = bedside.bleeding is not None or bedside.sepsis is not None
    return not is_ill and bedside.is_steady_in_heart_failure(measured)


def _since_met(bedside: Bedside, signal: Signal, worse: Cutoff, is_met: Met) -> datetime | None:
    """Return since when values have been beyond the worse limit, where the newest surely is."""
    if is_met is not Met.YES:
        return None
    return since_beyond(bedside.series(signal).items, worse)


def _with_usual(met: MetTrigger, normal: Decimal, at: datetime, clock: Clock) -> MetTrigger:
    short = f"{met.short}, usually {plain(normal)}"
    usual = Measure("usual-median", "usual systolic blood pressure", normal, met.measures[0].unit)
    return replace(
        met,
        short=short,
        said=at_words(short, at, clock),
        measures=(*met.measures, usual),
        sources=tuple(dict.fromkeys((*met.sources, triggers.HYPOTENSION_FALL.source))),
    )


# Pulse


def _slow_pulse(bedside: Bedside, *, low_pressure: bool) -> MetTrigger | None:
    measured = newest(bedside, Signal.PULSE)
    if measured is None:
        return None
    very_slow = meets(triggers.BRADYCARDIA, measured)
    cutoff = triggers.BRADYCARDIA
    if very_slow is Met.NO and low_pressure:
        cutoff = triggers.BRADYCARDIA_WITH_HYPOTENSION
    if meets(cutoff, measured) is not Met.NO:
        grade = int(very_slow is Met.YES)
        return met_beyond(bedside, Trigger.BRADYCARDIA, Signal.PULSE, measured, cutoff, grade=grade)
    if meets(triggers.SLOW_PULSE, measured) is not Met.YES:
        return None
    return met_beyond(bedside, Trigger.SLOW_PULSE, Signal.PULSE, measured, triggers.SLOW_PULSE)


# Consciousness and breathing


def _reduced(bedside: Bedside) -> MetTrigger | None:
    """Return what holds the next dose of what sedates."""
    return _as_one((_breathing(bedside), _coma_scale(bedside), _answer(bedside), _acidosis(bedside)))


def _drowsy(bedside: Bedside) -> MetTrigger | None:
    """Return what asks for a look at it: drowsiness comes before slow breathing."""
    return _as_one((_sleepy(bedside), _sleepy_scale(bedside)))


def _as_one(parts: Iterable[MetTrigger | None]) -> MetTrigger | None:
    """Put the parts of one trigger together: the worst first, and what goes with it."""
    found = sorted((one for one in parts if one is not None), key=lambda met: -met.grade)
    if not found:
        return None
    worst = [met.asked_since or met.since for met in found if met.grade == found[0].grade]
    measures = {(m.key, m.at, m.value): m for met in found for m in met.measures}
    return replace(
        found[0],
        short="; ".join(dict.fromkeys(met.short for met in found)),
        said="; ".join(dict.fromkeys(met.said for met in found)),
        measures=tuple(measures.values()),
        origins=tuple(dict.fromkeys(origin for met in found for origin in met.origins)),
        since=earliest(met.since for met in found),
        asked_since=earliest(worst),
        sources=tuple(dict.fromkeys(source for met in found for source in met.sources)),
        cautions=(triggers.OTHER_CAUSES.text,),
        is_provisional=any(met.is_provisional for met in found),
    )


def _breathing(bedside: Bedside) -> MetTrigger | None:
    measured = newest(bedside, Signal.RESPIRATION_RATE)
    if measured is None:
        return None
    by_itself, cutoff = _slow_breathing(bedside)
    trigger, signal = Trigger.REDUCED_CONSCIOUSNESS, Signal.RESPIRATION_RATE
    if meets(by_itself, measured) is not Met.NO:
        return met_beyond(bedside, trigger, signal, measured, by_itself, grade=1)
    if meets(cutoff, measured) is Met.NO:
        return None
    gas = _retention(bedside, measured)
    sleepy = (_sleepy(bedside, to_voice=True) or _sleepy_scale(bedside, to_voice=True)) if not gas else None
    if gas is None and sleepy is None:
        return None
    met = met_beyond(bedside, trigger, signal, measured, cutoff, also=(gas,) if gas is not None else ())
    return _beside(met, sleepy) if sleepy is not None else met


def _slow_breathing(bedside: Bedside) -> tuple[Cutoff, Cutoff]:
    """Return the rate that is slow by itself, and the one that is in somebody drowsy or who retains."""
    months = bedside.age_in_months
    if months is not None and bedside.is_below(timing.ADULT_LIMITS):
        return slow_breathing_of_child(months)
    return triggers.SLOW_BREATHING, triggers.SLOW_BREATHING_WITH_HYPERCAPNIA


def _beside(met: MetTrigger, other: MetTrigger) -> MetTrigger:
    """Add to one met what makes it count; both have been so since the later of the two."""
    return replace(
        met,
        short=f"{met.short} with {other.short}",
        said=f"{met.said} with {other.said}",
        measures=(*met.measures, *other.measures),
        origins=tuple(dict.fromkeys((*met.origins, *other.origins))),
        since=latest((met.since, other.since)),
        sources=tuple(dict.fromkeys((*met.sources, *other.sources))),
    )


def _acidosis(bedside: Bedside) -> MetTrigger | None:
    """Return respiratory acidosis in the newest gas, at whatever rate somebody breathes."""
    kept = bedside.retention
    if kept is None:
        return None
    met = met_by(
        bedside,
        Trigger.REDUCED_CONSCIOUSNESS,
        Signal.PH_ARTERIAL,
        kept.ph,
        triggers.ACIDOSIS.source,
        kept.since,
        also=((Signal.PCO2_ARTERIAL, kept.pco2),),
        doubt=kept.doubt,
    )
    if not kept.doubt:
        return met
    short = f"pH {as_sent(kept.ph.value)} with pCO2 {as_sent(kept.pco2.value)} kPa"
    said = at_words(short, kept.ph.at, bedside.clock)
    return replace(met, short=short, said=said, settles="an arterial or capillary sample decides")


def _retention(bedside: Bedside, breathing: Measurement) -> tuple[Signal, Measurement] | None:
    """Return the arterial carbon dioxide or pH near a breathing rate that shows too little of it."""
    window = timing.GAS_WITH_BREATHING.length
    limits: tuple[tuple[Signal, Cutoff], ...] = (
        (Signal.PCO2_ARTERIAL, triggers.HYPERCAPNIA),
        (Signal.PH_ARTERIAL, triggers.ACIDOSIS),
    )
    for signal, cutoff in limits:
        near = bedside.record.series(signal).within(breathing.at - window, bedside.as_of)
        if near and surely(cutoff, near[-1]):
            return signal, near[-1]
    return None


def _alertness_now(bedside: Bedside) -> Alertness | None:
    """Return what the newest round shows of alertness, while it speaks for now."""
    newest = bedside.alertness[-1] if bedside.alertness else None
    too_old = newest is None or bedside.as_of - newest.one.end > VITAL_SIGNS_COUNT_FOR.length
    return None if too_old else newest


def _coma_scale(bedside: Bedside) -> MetTrigger | None:
    shown = _alertness_now(bedside)
    if shown is None or shown.scale is None or meets(triggers.LOW_GCS, shown.scale.measured) is Met.NO:
        return None
    measured = shown.scale.measured
    very_low = meets(single_signs.COMA, measured)
    met = met_beyond(
        bedside,
        Trigger.REDUCED_CONSCIOUSNESS,
        Signal.GCS_TOTAL,
        measured,
        triggers.LOW_GCS,
        asked_since=_since_met(bedside, Signal.GCS_TOTAL, single_signs.COMA, very_low),
        grade=int(single_signs.COMA.is_met_by(measured.value)),
    )
    # A total that was added up rests on its three parts.
    return replace(met, origins=shown.scale.origins)


def _answer(bedside: Bedside) -> MetTrigger | None:
    return _met_by_answer(
        bedside, Trigger.REDUCED_CONSCIOUSNESS, DEEP, grade=1, source=triggers.NO_ANSWER_SOURCE
    )


def _sleepy(bedside: Bedside, *, to_voice: bool = False) -> MetTrigger | None:
    """Return an answer to voice, or new confusion where that is asked for."""
    answers = _TO_VOICE if to_voice else _TO_VOICE | {Consciousness.NEW_CONFUSION}
    return _met_by_answer(bedside, Trigger.DROWSINESS, answers, source=triggers.DROWSY_GCS.source)


def _met_by_answer(
    bedside: Bedside, trigger: Trigger, answers: AbstractSet[Consciousness], *, source: Source, grade: int = 0
) -> MetTrigger | None:
    shown = _alertness_now(bedside)
    said = shown.said if shown is not None else None
    if shown is None or said is None or said.value not in answers:
        return None
    words = MINDS[said.value]
    origin = said.origins[0]
    return MetTrigger(
        trigger=trigger,
        short=words,
        said=at_words(words, said.at, bedside.clock),
        measures=(Measure("consciousness", "consciousness", words, at=said.at, origin=origin),),
        origins=said.origins,
        since=_answered_since(bedside, answers),
        grade=grade,
        sources=(source,),
        is_provisional=shown.is_provisional,
    )


def _answered_since(bedside: Bedside, answers: AbstractSet[Consciousness]) -> datetime | None:
    """Return since when every answer in words has been one of these."""
    since = None
    for shown in reversed(bedside.alertness):
        if shown.said is None:
            continue
        if shown.said.value not in answers:
            break
        since = shown.said.at
    return since


def _sleepy_scale(bedside: Bedside, *, to_voice: bool = False) -> MetTrigger | None:
    """Return a coma scale below its best, where confusion that is usual does not explain it."""
    shown = _alertness_now(bedside)
    cutoff = triggers.AS_TO_VOICE if to_voice or bedside.confusion_is_usual else triggers.DROWSY_GCS
    if shown is None or shown.scale is None or meets(cutoff, shown.scale.measured) is not Met.YES:
        return None
    met = met_beyond(bedside, Trigger.DROWSINESS, Signal.GCS_TOTAL, shown.scale.measured, cutoff)
    return replace(met, origins=shown.scale.origins)
