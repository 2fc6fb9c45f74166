"""Triggers read from the laboratory and the blood gas.

A result that may be spurious or that is known only as two values is doubtful: it asks for
a repeat and holds nothing by itself.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.heparin_fall import HeparinCourse, heparin_courses
from weatherglass.facts.results.result_levels import counts_for, doubts_about_potassium
from weatherglass.facts.series.limits_met import Met, meets, surely
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.medicines.triggers.met import (
    MetTrigger,
    age_caution,
    at_words,
    limit_of,
    met_beyond,
    met_by,
    since_beyond,
    since_when,
    words_of,
)
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clauses import Share

#: Circumstances of a potassium by its grade.
POTASSIUM_BY_GRADE = (Circumstance.POTASSIUM_AT_LEAST_6, Circumstance.POTASSIUM_AT_LEAST_6_5)


def result_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return the triggers that the newest results meet."""
    for found in (
        _high_potassium(bedside),
        _low_potassium(bedside),
        _beyond(bedside, Trigger.LOW_MAGNESIUM, Signal.MAGNESIUM, triggers.LOW_MAGNESIUM),
        _beyond(
            bedside,
            Trigger.LOW_PLATELETS,
            Signal.PLATELETS,
            limit_of(bedside, Signal.PLATELETS, "low", "prompt"),
            worse=triggers.VERY_LOW_PLATELETS,
        ),
        _low_sodium(bedside),
        _inr(bedside),
        _halved_platelets(bedside),
        _low_glucose(bedside),
        _lactate(bedside),
        _ketones(bedside),
    ):
        if found is not None:
            yield found


def newest_of(bedside: Bedside, *signals: Signal) -> tuple[Signal, Measurement] | None:
    """Return the newest current result of these signals, the first named at a tie."""
    best: tuple[Signal, Measurement] | None = None
    for signal in signals:
        last = bedside.record.series(signal).recent(bedside.as_of, counts_for(signal, bedside.choices))
        if last is not None and (best is None or last.at > best[1].at):
            best = signal, last
    return best


def _beyond(
    bedside: Bedside,
    trigger: Trigger,
    signal: Signal,
    cutoff: Cutoff | None,
    *,
    worse: Cutoff | None = None,
    grade: int = 0,
) -> MetTrigger | None:
    """Return the trigger that the newest result meets; beyond `worse` it is one grade up."""
    found = newest_of(bedside, signal)
    if found is None or cutoff is None:
        return None
    measured = found[1]
    if meets(cutoff, measured) is Met.NO:
        return None
    cautions = age_caution(measured, bedside)
    met = met_beyond(bedside, trigger, signal, measured, cutoff, grade=grade, cautions=cautions)
    if worse is None or not surely(worse, measured):
        return met
    asked_since = since_beyond(bedside.record.series(signal).items, worse)
    return replace(met, grade=grade + 1, asked_since=asked_since, sources=(worse.source,))


# Potassium and sodium


def potassium_doubts(bedside: Bedside, signal: Signal, measured: Measurement) -> tuple[str, ...]:
    """Say what may make a high potassium spurious; a blood gas is not doubted for its cells."""
    return doubts_about_potassium(bedside.record, measured) if signal is Signal.POTASSIUM else ()


class Potassium(NamedTuple):
    """One potassium with what speaks against it."""

    signal: Signal
    measured: Measurement
    doubts: tuple[str, ...] = ()


def deciding_potassium(bedside: Bedside) -> Potassium | None:
    """Return the potassium that decides.

    The newest; but for some hours after a dose that moved it, the high one before that dose; and when
    the newest is doubtful and the sample before it, at most a day older, was high beyond doubt, then
    that one. Only a high potassium is doubted.
    """
    newest = newest_of(bedside, Signal.POTASSIUM, Signal.POTASSIUM_GAS)
    if newest is None:
        return None
    shift = bedside.potassium_shift
    if shift is not None:
        newest = max(newest, (shift.signal, shift.high), key=lambda one: one[1].value)
    found = Potassium(*newest)
    if meets(triggers.DO_NOT_START_RAAS, found.measured) is Met.NO:
        return found
    found = found._replace(doubts=potassium_doubts(bedside, *newest))
    before = last_undoubted(bedside, found.measured) if found.doubts else None
    if before is None or found.measured.at - before[1].at > timedelta(hours=24):
        return found
    mildest = limit_of(bedside, before[0], "high", "prompt")
    return Potassium(*before) if mildest is not None and surely(mildest, before[1]) else found


def last_undoubted(bedside: Bedside, newest: Measurement) -> tuple[Signal, Measurement] | None:
    """Return the last potassium before a doubtful one that nothing speaks against."""
    best: tuple[Signal, Measurement] | None = None
    for signal in POTASSIUM_OF_EITHER:
        for one in reversed(bedside.record.series(signal).items):
            if one is newest or one.at > newest.at or potassium_doubts(bedside, signal, one):
                continue
            if best is None or one.at > best[1].at:
                best = signal, one
            break
    return best


def _high_potassium(bedside: Bedside) -> MetTrigger | None:
    found = deciding_potassium(bedside)
    if found is None:
        return None
    signal, measured, doubts = found
    mildest = limit_of(bedside, signal, "high", "prompt")
    if mildest is None or meets(mildest, measured) is Met.NO:
        return None
    limits = [limit for limit in worse_potassium(bedside, signal) if surely(limit, measured)]
    grade, cutoff = len(limits), (mildest, *limits)[-1]
    cautions = list(age_caution(measured, bedside))
    moved_to = _moved_to(bedside, measured)
    if moved_to is not None:
        # It is being treated: the chart is read by it, and nobody is called at once for the chart alone.
        grade = min(grade, 1)
    if doubts:
        before = last_undoubted(bedside, measured)
        if before is not None:
            said = at_words(words_of(*before), before[1].at, bedside.clock)
            cautions.append(f"The last potassium without such a doubt: {said}.")
    items = [one for one in bedside.record.series(signal).items if one.at <= measured.at]
    met = met_by(
        bedside,
        Trigger.HYPERKALAEMIA,
        signal,
        measured,
        cutoff.source,
        since_beyond(items, mildest),
        asked_since=moved_to.at
        if moved_to
        else since_beyond(items, cutoff)
        if grade and not doubts
        else None,
        certainty=meets(mildest, measured),
        grade=0 if doubts else grade,
        doubt=" and ".join(doubts),
        cautions=tuple(cautions),
    )
    if moved_to is not None:
        since = f" ({plain(moved_to.value)} since, only moved into the cells)"
        met = replace(met, short=met.short + since, said=met.said + since)
    return replace(met, if_confirmed=POTASSIUM_BY_GRADE[:grade]) if met.doubt else met


def _moved_to(bedside: Bedside, measured: Measurement) -> Measurement | None:
    """Return the newest potassium after a dose that moved the one that decides; None elsewhere."""
    shift = bedside.potassium_shift
    newest = newest_of(bedside, Signal.POTASSIUM, Signal.POTASSIUM_GAS)
    if shift is None or newest is None or measured is not shift.high or newest[1] is measured:
        return None
    return newest[1]


def worse_potassium(bedside: Bedside, signal: Signal) -> tuple[Cutoff, ...]:
    """Return the limits of a moderate and of a severe high potassium, by their urgency."""
    found = (limit_of(bedside, signal, "high", "urgent"), limit_of(bedside, signal, "high", "emergency"))
    return tuple(each for each in found if each is not None)


def _low_potassium(bedside: Bedside) -> MetTrigger | None:
    found = newest_of(bedside, Signal.POTASSIUM, Signal.POTASSIUM_GAS)
    if found is None:
        return None
    return _beyond(bedside, Trigger.LOW_POTASSIUM, found[0], limit_of(bedside, found[0], "low", "urgent"))


def _low_sodium(bedside: Bedside) -> MetTrigger | None:
    found = newest_of(bedside, Signal.SODIUM, Signal.SODIUM_GAS)
    if found is None:
        return None
    signal, measured = found
    low = _beyond(
        bedside,
        Trigger.LOW_SODIUM,
        signal,
        limit_of(bedside, signal, "low", "prompt"),
        worse=limit_of(bedside, signal, "low", "urgent"),
    )
    if low is not None or not measured.is_exact:
        return low
    start = measured.at - triggers.SODIUM_FALL_WINDOW.length
    earlier = [m for m in bedside.record.series(signal).within(start, measured.at) if m.is_exact]
    highest = max(earlier, key=lambda m: (m.value, m.at))
    if not triggers.SODIUM_FALL.is_met_by(highest.value - measured.value):
        return None
    since = since_when(
        bedside.record.series(signal).items,
        lambda one: triggers.SODIUM_FALL.is_met_by(highest.value - one.value),
    )
    return met_by(
        bedside,
        Trigger.LOW_SODIUM,
        signal,
        measured,
        triggers.SODIUM_FALL.source,
        since,
        also=((signal, highest),),
        cautions=age_caution(measured, bedside),
    )


# Blood


def _inr(bedside: Bedside) -> MetTrigger | None:
    found = newest_of(bedside, Signal.INR)
    if found is None:
        return None
    measured = found[1]
    for trigger, cutoff in (
        (Trigger.INR_ABOVE_8, limit_of(bedside, Signal.INR, "high", "urgent")),
        (Trigger.INR_5_TO_8, triggers.INR_5),
        (Trigger.INR_ABOVE_TARGET, triggers.INR_ABOVE_EVERY_TARGET),
    ):
        if cutoff is not None and surely(cutoff, measured):
            return _beyond(bedside, trigger, Signal.INR, cutoff)
    # Two values that lie on both sides of a limit: the mildest limit, with its doubt.
    return _beyond(bedside, Trigger.INR_ABOVE_TARGET, Signal.INR, triggers.INR_ABOVE_EVERY_TARGET)


def _halved_platelets(bedside: Bedside) -> MetTrigger | None:
    found = newest_of(bedside, Signal.PLATELETS)
    if found is None or not found[1].is_exact:
        return None
    measured = found[1]
    given = [one for one in heparin_courses(bedside) if one.starts is None or one.starts <= measured.at]
    if not given:
        return None
    start = measured.at - timing.PLATELETS_BEFORE.length
    earlier = [m for m in bedside.record.series(Signal.PLATELETS).within(start, measured.at) if m.is_exact]
    highest = max(earlier, key=lambda m: (m.value, m.at))
    if _is_marrow(bedside):
        return None
    share = next(
        (each for each in _shares(bedside, given, measured) if _is_below(measured, highest, each)), None
    )
    if share is None:
        return None
    items = bedside.record.series(Signal.PLATELETS).items
    short = f"{words_of(Signal.PLATELETS, measured)}, down from {plain(highest.value)}"
    met = met_by(
        bedside,
        Trigger.PLATELETS_HALVED_ON_HEPARIN,
        Signal.PLATELETS,
        measured,
        share.source,
        since_when(items, lambda one: _is_below(one, highest, share)),
        grade=int(share is triggers.PLATELETS_HALVED),
        also=((Signal.PLATELETS, highest),),
        cautions=age_caution(measured, bedside),
    )
    return replace(met, short=short, said=at_words(short, measured.at, bedside.clock))


def _is_marrow(bedside: Bedside) -> bool:
    """Tell whether neutrophils are low too: then both fail in the marrow; antibodies take platelets alone."""
    found, limit = (
        newest_of(bedside, Signal.NEUTROPHILS),
        limit_of(bedside, Signal.NEUTROPHILS, "low", "prompt"),
    )
    return found is not None and limit is not None and surely(limit, found[1])


def _shares(bedside: Bedside, heparins: Sequence[HeparinCourse], measured: Measurement) -> tuple[Share, ...]:
    """Return which falls count, the largest first: the lesser only once heparin has been given for days.

    Before that the larger counts in a longer stay, or where none is known: there may be earlier heparin.
    """
    days = triggers.HEPARIN_BEFORE_FALL.length
    since = max(measured.at - one.starts if one.starts is not None else days for one in heparins)
    if since >= days:
        return triggers.PLATELETS_HALVED, triggers.PLATELETS_FALLEN
    admitted = bedside.admitted_at
    is_first = admitted is not None and measured.at - admitted < days
    return () if is_first or since < triggers.HEPARIN_AT_FIRST.length else (triggers.PLATELETS_HALVED,)


def _is_below(one: Measurement, highest: Measurement, share: Share) -> bool:
    # Half of it is not yet less than half; a fall by 30 % is one.
    limit = highest.value * share.value
    return one.value < limit or (share is triggers.PLATELETS_FALLEN and one.value == limit)


# Glucose and acid


def _low_glucose(bedside: Bedside) -> MetTrigger | None:
    """Return the newest low glucose of the last day, although it has been corrected since."""
    start = bedside.as_of - timing.GLUCOSE_COUNTS_FOR.length
    items = bedside.record.series(Signal.GLUCOSE).within(start, bedside.as_of)
    limit = limit_of(bedside, Signal.GLUCOSE, "low", "prompt")
    worse = limit_of(bedside, Signal.GLUCOSE, "low", "emergency")
    low = [one for one in items if limit is not None and meets(limit, one) is not Met.NO]
    if not low or limit is None:
        return None
    measured = low[-1]
    is_worse = worse is not None and measured is items[-1] and surely(worse, measured)
    again = f"{len(low)} low glucose values in 24 hours." if len(low) > 1 else ""
    return met_by(
        bedside,
        Trigger.HYPOGLYCAEMIA,
        Signal.GLUCOSE,
        measured,
        limit.source,
        low[0].at,
        asked_since=since_beyond(items, worse) if worse is not None and is_worse else None,
        certainty=meets(limit, measured),
        grade=int(is_worse),
        cautions=(again,) if again else (),
    )


def _lactate(bedside: Bedside) -> MetTrigger | None:
    limit = limit_of(bedside, Signal.LACTATE, "high", "emergency")
    alone = _beyond(bedside, Trigger.LACTATE_OR_ACIDOSIS, Signal.LACTATE, limit, grade=1)
    if alone is not None:
        return alone
    found = newest_of(bedside, Signal.LACTATE)
    raised = limit_of(bedside, Signal.LACTATE, "high", "prompt")
    if found is None or raised is None or meets(raised, found[1]) is not Met.YES:
        return None
    measured = found[1]
    window = timing.GAS_WITH_LACTATE.length
    gases = bedside.record.series(Signal.PH_ARTERIAL).within(measured.at - window, measured.at + window)
    acid = [one for one in gases if surely(triggers.ACIDOSIS, one)]
    if not acid:
        return None
    return met_by(
        bedside,
        Trigger.LACTATE_OR_ACIDOSIS,
        Signal.LACTATE,
        measured,
        raised.source,
        min(measured.at, acid[-1].at),
        also=((Signal.PH_ARTERIAL, acid[-1]),),
        cautions=age_caution(measured, bedside),
    )


def _ketones(bedside: Bedside) -> MetTrigger | None:
    return _beyond(
        bedside,
        Trigger.RAISED_KETONES,
        Signal.KETONES,
        limit_of(bedside, Signal.KETONES, "high", "prompt"),
        worse=limit_of(bedside, Signal.KETONES, "high", "emergency"),
    )
