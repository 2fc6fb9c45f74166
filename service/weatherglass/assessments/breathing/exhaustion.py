"""Does a child breathe hard, or is it tired out: hard or slowing breaths, and a mind no longer clear?"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.alertness import AlteredMind
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits.context_choices import VITAL_SIGNS_COUNT_FOR
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import child_signs as criteria
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, Letter, RespiratoryEffort, Signal
from weatherglass.model.sources import Origin, Source


class _Tired(Plain, frozen=True):
    """What shows it beside the mind: in words, since when, where, spelt out, and whose choice it is."""

    words: str
    since: datetime
    origins: tuple[Origin, ...]
    measures: tuple[Measure, ...]
    source: Source


def assess_exhaustion(bedside: Bedside) -> Iterator[Finding]:
    """Join the effort or the slowing of breathing with alertness, in children who breathe for themselves."""
    if not bedside.is_child or bedside.ventilation is not None:
        return
    mind, hard = bedside.altered_mind, _by_effort(bedside)
    if mind is None:
        if hard is not None:
            yield _hard(bedside, hard)
        return
    tired = hard or _by_slowing(bedside)
    if tired is not None:
        yield _finding(bedside, tired, mind)


def _hard(bedside: Bedside, hard: _Tired) -> Finding:
    return tell(
        About(Kind.SINGLE_SIGN, CodedSignal.RESPIRATORY_EFFORT.value, Letter.BREATHING),
        Urgency.URGENT,
        rests_on(bedside, hard.since, *hard.origins, at=hard.measures[0].at),
        brief=f"{hard.words} of breathing",
        asks=criteria.HARD.text,
        measures=hard.measures,
        sources=(criteria.HARD,),
        decided_by="severe effort of breathing",
    )


def _finding(bedside: Bedside, tired: _Tired, mind: AlteredMind) -> Finding:
    since = max(tired.since, mind.since) if mind.since is not None else tired.since
    head = f"A child tired out by breathing? {tired.words} with {mind.words}"
    return tell(
        About(Kind.SINGLE_SIGN, "exhaustion", Letter.BREATHING),
        Urgency.EMERGENCY,
        rests_on(bedside, since, *tired.origins, *mind.origins, at=tired.measures[0].at),
        brief=head,
        asks=criteria.TIRED.text,
        measures=tired.measures,
        sources=(criteria.TIRED, tired),
        decided_by="hard or slowing breaths with an altered mind",
    )


def _by_effort(bedside: Bedside) -> _Tired | None:
    efforts = bedside.record.coded(CodedSignal.RESPIRATORY_EFFORT)
    effort = efforts.recent(bedside.as_of, VITAL_SIGNS_COUNT_FOR.length)
    first = first_of_run(efforts.items, lambda one: one.value is RespiratoryEffort.SEVERE)
    if effort is None or first is None:
        return None
    shown = Measure(
        "respiratory-effort",
        "effort of breathing",
        str(effort.value.value),
        at=effort.at,
        origin=effort.origin,
    )
    return _Tired("Severe effort", first.at, (effort.origin,), (shown,), criteria.TIRED_CALLS)


def _by_slowing(bedside: Bedside) -> _Tired | None:
    """Return breathing that has slowed by a third while the saturation is low: no recovery."""
    rates = bedside.exact(Signal.RESPIRATION_RATE, criteria.SLOWED_WITHIN.length)
    spo2 = next(reversed(bedside.exact(Signal.SPO2, VITAL_SIGNS_COUNT_FOR.length)), None)
    if len(rates) < 2 or spo2 is None or not criteria.SLOWED_AT.is_met_by(spo2.value):
        return None
    newest: Measurement = rates[-1]
    fastest = max(rates[:-1], key=lambda one: one.value)
    if newest.value > fastest.value * criteria.SLOWED_TO.value:
        return None
    if criteria.SLOWED_BY_OPIOID.is_met_by(newest.value) and _took_opioid(bedside):
        return None  # Of which too much is asked by itself.
    first = first_of_run(rates, lambda one: one.value <= fastest.value * criteria.SLOWED_TO.value)
    slowed = f"Breathing {plain(newest.value)} /min from {plain(fastest.value)}"
    words = f"{slowed} at a saturation of {plain(spo2.value)} %"
    shown = (measure_of(Signal.RESPIRATION_RATE, newest), measure_of(Signal.SPO2, spo2))
    origins = (newest.origin, fastest.origin, spo2.origin)
    return _Tired(words, (first or newest).at, origins, shown, criteria.SLOWED)


def _took_opioid(bedside: Bedside) -> bool:
    since = bedside.as_of - criteria.SLOWED_WITHIN.length
    given = (one for one in bedside.record.administrations if one.until >= since)
    is_given = any(MedicineClass.OPIOID in one.medicine.classes for one in given)
    return is_given or bool(bedside.on_chart((MedicineClass.OPIOID,)))
