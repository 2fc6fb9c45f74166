"""Is an attack of asthma near-fatal, life-threatening or severe by its gas, its saturation and its signs?

Whoever fights for breath blows carbon dioxide off: a normal one means tiring, a raised one
worse. A fast breath or pulse alone is a severe attack of an adult. Where asthma is on record
without an attack, only carbon dioxide is read, with an "if".
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, asked_by, rests_on, tell
from weatherglass.assessments.telling.ventilation_words import critical_care_now
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.pressure_course import Kept
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Sample, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff

_SEVERE: Final = next(row for row in ACUTE_PROBLEMS if row.problem is ConditionKind.SEVERE_ASTHMA_ATTACK)
_SAID: Final = {
    Signal.SPO2: "saturation {} %",
    Signal.PO2_ARTERIAL: "pO2 {} kPa",
    Signal.RESPIRATION_RATE: "breathing {}",
    Signal.PULSE: "pulse {}",
}


class _Sign(Plain, frozen=True):
    """One sign of a failing attack; `is_worst` is near-fatal."""

    words: str
    since: datetime
    measure: Measure
    source: Source
    is_worst: bool = False


def assess_asthma(bedside: Bedside) -> Iterator[Finding]:
    """Name what makes an attack of asthma life-threatening or near-fatal."""
    if not (bedside.asthma_is_acute or bedside.asthma_may_be_acute):
        return
    found = [_carbon_dioxide(bedside) or _venous(bedside)]
    if bedside.asthma_is_acute:
        found += [_low(bedside, Signal.PO2_ARTERIAL), _low(bedside, Signal.SPO2)]
    measured = [sign for sign in found if sign is not None]
    tired = _mind(bedside) if bedside.asthma_is_acute else None
    signs = [*measured, *((tired,) if tired is not None else ())]
    if not signs:
        yield from _severe(bedside)
        return
    words = "Near-fatal" if any(sign.is_worst for sign in signs) else "Life-threatening"
    if_any = "" if bedside.asthma_is_acute else ", if this is an attack"
    brief = f"{words} asthma{if_any}: {', '.join(sign.words for sign in signs)}"
    since = min(sign.since for sign in signs)
    worst = [sign.since for sign in signs if sign.is_worst]
    yield tell(
        About(Kind.BLOOD_GAS, "asthma", Letter.BREATHING),
        Urgency.EMERGENCY if measured or _is_fast(bedside) else Urgency.URGENT,
        rests_on(bedside, min(worst, default=since), *(sign.measure for sign in signs), asked_since=since),
        brief=brief,
        asks=critical_care_now(bedside),
        measures=(sign.measure for sign in signs),
        sources=signs,
        cautions=("In asthma a normal carbon dioxide means tiring, and oxygen goes to 94-98%.",),
        decided_by=f"asthma with {signs[0].words}",
    )


def _severe(bedside: Bedside) -> Iterator[Finding]:
    """Name a severe attack of an adult that nobody has written down by that name, by its signs."""
    is_named = bool(bedside.record.told_of(_SEVERE.problem))
    if is_named or bedside.is_child or not bedside.asthma_is_acute:
        return
    breathing = _beyond(bedside, Signal.RESPIRATION_RATE, gas.ASTHMA_BREATHING)
    pulse = _beyond(bedside, Signal.PULSE, gas.ASTHMA_PULSE)
    signs = [sign for sign in (breathing, pulse) if sign is not None]
    if not signs:
        return
    asked_since = breathing.since if breathing is not None else None
    measures = tuple(sign.measure for sign in signs)
    yield asked_by(
        _SEVERE,
        f"Acute severe asthma: {', '.join(sign.words for sign in signs)}",
        rests_on(
            bedside, min(sign.since for sign in signs), *measures, asked_since=asked_since, measures=measures
        ),
        key="asthma",
        kind=Kind.BLOOD_GAS,
        # What opens the airways quickens the pulse too.
        urgency=Urgency.URGENT if breathing is not None else Urgency.PROMPT,
        sources=(*(sign.source for sign in signs), gas.ASTHMA_SEVERE),
        decided_by="asthma with the breathing or the pulse of a severe attack",
    )


def _carbon_dioxide(bedside: Bedside) -> _Sign | None:
    results = _current(bedside, Signal.PCO2_ARTERIAL)
    if not results:
        return None
    newest = results[-1]
    shown = f"pCO2 {plain(newest.value)} kPa"
    measure = measure_of(Signal.PCO2_ARTERIAL, newest)
    if gas.ASTHMA_RAISED.is_met_by(newest.value):
        since = _began(results, gas.ASTHMA_RAISED.is_met_by)
        return _Sign(f"raised {shown}", since, measure, gas.ASTHMA_RAISED.source, is_worst=True)
    if gas.ASTHMA_NORMAL_FROM.is_met_by(newest.value) and _is_struggling(bedside):
        since = _began(results, gas.ASTHMA_NORMAL_FROM.is_met_by)
        return _Sign(f"normal {shown}", since, measure, gas.ASTHMA_NORMAL_FROM.source)
    return None


def _venous(bedside: Bedside) -> _Sign | None:
    """Return carbon dioxide of a vein that is high in an artery too."""
    newest = bedside.newest_gas
    if (
        newest is None
        or newest.pco2 is None
        or newest not in bedside.venous_gases
        or not newest.is_surely_high
    ):
        return None
    words = f"raised venous pCO2 {plain(newest.pco2.value)} kPa"
    measure = measure_of(Signal.PCO2_VENOUS, newest.pco2)
    return _Sign(words, newest.pco2.at, measure, gas.ASTHMA_RAISED.source, is_worst=True)


def _mind(bedside: Bedside) -> _Sign | None:
    """Return lowered alertness or new confusion: who fights for breath and grows drowsy is tired out."""
    mind = bedside.altered_mind
    if mind is None or mind.since is None:
        return None
    return _Sign(mind.words, mind.since, mind.measure, gas.ASTHMA_MIND)


def _is_struggling(bedside: Bedside) -> bool:
    """Tell whether the attack goes on: who breathes quietly may have a normal carbon dioxide."""
    return bedside.perfusion.alert_kept is Kept.NO or _is_fast(bedside, unknown=True)


def _is_fast(bedside: Bedside, *, unknown: bool = False) -> bool:
    """Tell whether breathing or pulse are those of an acute severe attack, or breathing is `unknown`."""
    breathing = _current(bedside, Signal.RESPIRATION_RATE)
    pulse = _current(bedside, Signal.PULSE)
    if gas.ASTHMA_BREATHING.is_met_by(breathing[-1].value) if breathing else unknown:
        return True
    return bool(pulse) and gas.ASTHMA_PULSE.is_met_by(pulse[-1].value)


def _low(bedside: Bedside, signal: Signal) -> _Sign | None:
    return _beyond(bedside, signal, gas.ASTHMA_SATURATION if signal is Signal.SPO2 else gas.ASTHMA_OXYGEN)


def _beyond(bedside: Bedside, signal: Signal, cutoff: Cutoff) -> _Sign | None:
    results = _current(bedside, signal)
    if not results or not cutoff.is_met_by(results[-1].value):
        return None
    words = _SAID[signal].format(plain(results[-1].value))
    since = _began(results, cutoff.is_met_by)
    return _Sign(words, since, measure_of(signal, results[-1]), cutoff.source)


def _current(bedside: Bedside, signal: Signal) -> tuple[Measurement, ...]:
    """Return the exact values of a signal, oldest first; none where the newest is older than a day."""
    results = [
        one for one in bedside.record.series(signal).items if one.is_exact and one.sample is not Sample.VENOUS
    ]
    return counting(results, bedside.as_of, bedside.choices.look_back)


def _began(results: Sequence[Measurement], is_met: Callable[[Decimal], bool]) -> datetime:
    run = last_run([one.at for one in results], [is_met(one.value) for one in results])
    return run.since if run is not None else results[-1].at
