"""Results that speak against single medicines, and an attack of asthma.

The limits stand in `laboratory_triggers.csv`; where the laboratory sends its own upper limit of a
liver enzyme, five times that decides. The worst limit that the newest result surely meets counts.
"""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Final, Literal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.calcium import series_of
from weatherglass.facts.metabolic.ketoacidosis import Part
from weatherglass.facts.results.result_levels import counts_for
from weatherglass.facts.results.results_of_old import are_of_old
from weatherglass.facts.series.limits_met import Met, meets
from weatherglass.knowledge.breathing import blood_gas
from weatherglass.knowledge.medicines.limits.result_limits import RESULT_LIMITS, ResultLimit
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetTrigger, age_caution, limit_of, met_by, since_beyond
from weatherglass.model.numbers.quantities import Quantity
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord
from weatherglass.model.times.known_times import latest

_TIMES_UPPER_LIMIT: Final = {Trigger.LIVER_INJURY: 5, Trigger.LIVER_THRICE: 3}
_NEUTROPENIC_SEPSIS: Final = 2
#: Milder than a result that has a trigger of its own, from this limit on.
_MILDER_SIDES: Final[Mapping[Trigger, tuple[Signal, Literal["high", "low"], UrgencyWord]]] = {
    Trigger.POTASSIUM_ABOVE_5: (Signal.POTASSIUM, "high", "prompt"),
    Trigger.POTASSIUM_BELOW_3_5: (Signal.POTASSIUM, "low", "urgent"),
    Trigger.SODIUM_BELOW_130: (Signal.SODIUM, "low", "prompt"),
}
#: Said by the trigger of the worse count.
_SAID_BY: Final = {Trigger.NEUTROPHILS_BELOW_2: Trigger.NEUTROPENIA}
_BY_TRIGGER: Final = {
    trigger: tuple(sorted((r for r in RESULT_LIMITS if r.trigger is trigger), key=lambda r: -r.grade))
    for trigger in dict.fromkeys(row.trigger for row in RESULT_LIMITS)
}


def laboratory_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return the triggers of single medicines that the newest results meet."""
    said: set[Trigger] = set()
    for trigger, limits in _BY_TRIGGER.items():
        met = _of_results(bedside, trigger, limits) if _SAID_BY.get(trigger) not in said else None
        if met is not None and trigger is Trigger.NEUTROPENIA and bedside.neutropenic_sepsis is not None:
            met = replace(met, grade=_NEUTROPENIC_SEPSIS)
        if met is not None:
            said.add(trigger)
            yield met
    attack = _attack(bedside)
    if attack is not None:
        yield attack


def _of_results(bedside: Bedside, trigger: Trigger, limits: Sequence[ResultLimit]) -> MetTrigger | None:
    signal = limits[0].signal
    items = series_of(bedside.record, signal).items
    newest = items[-1] if items else None
    if newest is None or bedside.as_of - newest.at > counts_for(signal, bedside.choices):
        return None
    if _is_worse(bedside, trigger, newest):
        return None
    if trigger is Trigger.LIVER_THRICE and are_of_old(bedside.record, signal, newest, bedside.as_of):
        return None
    known = [(one.grade, _cutoff(bedside, one, newest)) for one in limits]
    found = next((one for one in known if meets(one[1], newest) is Met.YES), None)
    if found is None:
        return None
    grade, cutoff = found
    return met_by(
        bedside,
        trigger,
        signal,
        newest,
        cutoff.source,
        since_beyond(items, known[-1][1]),
        asked_since=since_beyond(items, cutoff),
        grade=grade,
        cautions=age_caution(newest, bedside),
    )


def _is_worse(bedside: Bedside, trigger: Trigger, newest: Measurement) -> bool:
    """Tell whether the trigger of the worse result speaks in this one's place."""
    side = _MILDER_SIDES.get(trigger)
    if side is None:
        return False
    limit = limit_of(bedside, *side)
    return limit is not None and meets(limit, newest) is not Met.NO


def _cutoff(bedside: Bedside, limit: ResultLimit, newest: Measurement) -> Cutoff:
    """Return a limit: a site's own number for it, or the first of a liver enzyme by the range that came."""
    if limit.as_in is not None:
        key, urgency = limit.as_in
        graded = bedside.graded.get(key)
        bands = graded.bands if graded is not None else ()
        return next((band.cutoff for band in bands if band.urgency == urgency), limit.cutoff)
    upper = newest.reference_high
    times = _TIMES_UPPER_LIMIT.get(limit.trigger)
    if times is None or limit.grade or upper is None or upper <= Decimal(0):
        return limit.cutoff
    own = Quantity(upper * times, limit.signal.unit)
    return Cutoff(compare=Compare.AT_LEAST, limit=own, source=limit.source)


def _attack(bedside: Bedside) -> MetTrigger | None:
    if not bedside.asthma_is_acute:
        return None
    recorded = bedside.record.conditions_of(ConditionKind.ASTHMA)
    return MetTrigger(
        trigger=Trigger.BRONCHOSPASM,
        short="an attack of asthma on record",
        said="an attack of asthma on record",
        origins=tuple(one.origin for one in recorded),
        since=latest(one.began for one in recorded),
        sources=(blood_gas.ASTHMA_ACUTE_FOR.source,),
    )


# A metabolic acidosis with or without a lactate: an acid that carbon dioxide does not explain.


def acidosis_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return an acidosis as ketoacidosis asks for it, or ketones of its range, whatever the lactate.

    A pH alone says nothing of what made it where carbon dioxide is kept and bicarbonate is not low.
    """
    now = bedside.ketoacidosis.now
    acid = [part for part in now.acid if not _is_respiratory(bedside, part)]
    if now.is_met and not acid:
        acid = [part for part in now.parts if part.signal is Signal.KETONES]
    if not acid:
        return
    first = acid[0]
    beside = [part for part in (*acid[1:], *([now.ketones] if now.ketones else [])) if part is not first]
    yield met_by(
        bedside,
        Trigger.METABOLIC_ACIDOSIS,
        first.signal,
        first.result,
        first.source,
        min(part.result.at for part in acid),
        also=[(part.signal, part.result) for part in beside],
    )


def _is_respiratory(bedside: Bedside, part: Part) -> bool:
    """Tell whether the gas of a pH shows that carbon dioxide is kept, and no low bicarbonate."""
    if part.signal is Signal.BICARBONATE:
        return False
    sample = next((gas for gas in bedside.gases if gas.ph.origin == part.result.origin), None)
    return sample is not None and sample.is_high and not sample.metabolic
