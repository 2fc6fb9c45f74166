"""Triggers of the whole illness: possible bleeding, sepsis or serious illness, planned contrast."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.bleeding import BleedingNow
from weatherglass.facts.infection.infection import RiskFeatures
from weatherglass.facts.infection.stratum import speaking
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.limits.context_choices import BLEEDING_LISTED_FOR
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetTrigger, at_words, met_by_words
from weatherglass.model.findings import Measure, Urgency, newest_at
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Done, Procedure, ProcedureKind
from weatherglass.model.record.problems import Recorded
from weatherglass.model.signals import Signal
from weatherglass.model.words.lists import inside_a_sentence

_CONTRAST = MedicineClass.IODINATED_CONTRAST.value


def illness_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return the triggers that the illness as a whole meets."""
    yield from _bleeding(bedside)
    for found in (_sepsis(bedside), _contrast(bedside)):
        if found is not None:
            yield found


# Bleeding


def _bleeding(bedside: Bedside) -> Iterator[MetTrigger]:
    now = bedside.bleeding
    if now is None:
        return
    said = list(_bleeding_words(now))
    is_over = bedside.bleeding_has_stopped
    what = "bleeding that is over" if is_over else "possible bleeding"
    short = f"{what} ({'; '.join(dict.fromkeys(said))})"
    measures = tuple(_bleeding_measures(now))
    yield MetTrigger(
        trigger=Trigger.BLEEDING,
        short=short,
        said=at_words(short, newest_at(measures), bedside.clock),
        measures=measures,
        origins=now.origins,
        since=now.since,
        asked_since=now.asked_since,
        grade=0 if is_over else _DEGREE[now.urgency],
        sources=now.sources,
        doubt=now.doubt,
        settles=now.settles,
        is_provisional=now.is_provisional,
    )
    if now.critical:
        yield _critical(now)


#: The degrees of the trigger are the urgencies of the finding.
_DEGREE: Final = {Urgency.PROMPT: 0, Urgency.URGENT: 1, Urgency.EMERGENCY: 2}


def _critical(now: BleedingNow) -> MetTrigger:
    found = now.critical
    names = dict.fromkeys(inside_a_sentence(one.text) for one in found)
    short = f"{', '.join(names)} on record"
    told = [Recorded(one.text, one.at, one.origin) for one in found]
    met = met_by_words(
        Trigger.CRITICAL_BLEEDING, short, told, key="critical-bleeding", source=BLEEDING_LISTED_FOR.source
    )
    if any(one.is_confirmed for one in found):
        return met
    return replace(met, doubt="nobody has confirmed it", settles="look for it now")


def _bleeding_words(now: BleedingNow) -> Iterator[str]:
    fall, one = now.fall, now.after_operation
    if fall is not None:
        yield f"haemoglobin {plain(fall.before.value)} to {plain(fall.newest.value)} g/L"
    for each in now.recorded:
        yield inside_a_sentence(each.text)
    if now.index is not None:
        yield f"shock index {plain(now.index.shown)}"
    if now.child is not None:
        yield now.child.words
    if one is not None:
        yield f"pulse {plain(one.pulse_before.value)} to {plain(one.pulse.value)}"
        yield f"systolic {plain(one.systolic_before.value)} to {plain(one.systolic.value)}"


def _bleeding_measures(now: BleedingNow) -> Iterator[Measure]:
    fall, index, one = now.fall, now.index, now.after_operation
    if fall is not None:
        yield from (measure_of(Signal.HAEMOGLOBIN, each) for each in (fall.newest, fall.before))
    for each in now.recorded:
        yield Measure("bleeding", "recorded bleeding", each.text, at=each.at, origin=each.origin)
    newest = index or one
    if newest is not None:
        yield measure_of(Signal.PULSE, newest.pulse)
        yield measure_of(Signal.SYSTOLIC_PRESSURE, newest.systolic)


# Sepsis and serious illness


def _sepsis(bedside: Bedside) -> MetTrigger | None:
    septic = bedside.sepsis
    score = _score_now(bedside)
    is_serious = score is not None and timing.SERIOUS_ILLNESS_SCORE.is_met_by(Decimal(score.lowest))
    if septic is None:
        return _serious_illness(bedside, score) if score is not None and is_serious else None
    said = list(septic.words)
    by_score = septic.by_score
    if by_score is None and score is not None and is_serious and bedside.infection is None:
        said.append(f"acute serious illness, NEWS2 {score.total_words}")
    short = "; ".join(said)
    return MetTrigger(
        trigger=Trigger.SEPSIS,
        short=short,
        said=at_words(short, septic.at, bedside.clock),
        measures=_sepsis_measures(by_score.result, bedside.risk_features) if by_score is not None else (),
        origins=septic.origins,
        since=septic.since,
        asked_since=septic.asked_since if septic.is_emergency else None,
        grade=int(septic.is_emergency or is_serious),
        sources=septic.sources,
    )


def _serious_illness(bedside: Bedside, score: SetResult) -> MetTrigger:
    short = f"acute serious illness, NEWS2 {score.total_words}"
    return MetTrigger(
        trigger=Trigger.SEPSIS,
        short=short,
        said=at_words(short, score.observed.end, bedside.clock),
        measures=(_score_measure(score),),
        origins=score.origins,
        since=_serious_since(bedside),
        grade=1,
        sources=(timing.SERIOUS_ILLNESS_SCORE.source,),
    )


def infection_in_hospital(bedside: Bedside, all_met: Mapping[Trigger, MetTrigger]) -> MetTrigger | None:
    """Return a suspected infection for which somebody is in hospital, where nothing says sepsis."""
    infection = bedside.infection
    if infection is None or Trigger.SEPSIS in all_met or bedside.in_hospital is not Presence.HERE:
        return None
    return MetTrigger(
        trigger=Trigger.INFECTION_IN_HOSPITAL,
        short="suspected infection in hospital",
        said="suspected infection in hospital",
        origins=infection.origins,
        since=infection.since,
        sources=(timing.INFECTION_IN_HOSPITAL_SOURCE,),
    )


def _sepsis_measures(score: SetResult, features: RiskFeatures) -> tuple[Measure, ...]:
    found = [_score_measure(score)]
    if features.lactate is not None:
        found.append(measure_of(Signal.LACTATE, features.lactate))
    return tuple(found)


def _score_now(bedside: Bedside) -> SetResult | None:
    """Return the round that speaks for now, where NEWS2 is for this person."""
    results = bedside.news2_known
    return speaking(bedside, results) if results else None


def _score_measure(score: SetResult) -> Measure:
    label = "NEWS2" if score.is_complete else "NEWS2, lowest possible"
    return Measure("news2", label, Decimal(score.lowest), Unit.SCORE, score.observed.end)


def _serious_since(bedside: Bedside) -> datetime | None:
    found: datetime | None = None
    for one in reversed(bedside.news2):
        if timing.SERIOUS_ILLNESS_SCORE.is_met_by(Decimal(one.lowest)):
            found = one.observed.end
        elif one.is_complete:
            break
    return found


# Contrast


def _contrast(bedside: Bedside) -> MetTrigger | None:
    done = next(reversed(bedside.record.done(ProcedureKind.CONTRAST_IMAGING)), None)
    asked = _asked(bedside, done)
    lines = [line for line in bedside.drug_chart.exposed if _CONTRAST in line.classes]
    if not (asked or lines or (done is not None and _is_fresh(bedside, done))):
        return None
    before: datetime | None = None
    if asked:
        ahead = [one.due for one in asked if one.due is not None and one.due > bedside.as_of]
        before = min(ahead, default=None)
        newest = max(asked, key=lambda p: (p.at is not None, p.at or bedside.as_of, p.origin))
        found = Recorded(f"contrast imaging asked for: {newest.text}", newest.at, newest.origin)
    elif done is not None and _is_fresh(bedside, done):
        found = Recorded(f"contrast was given: {done.text}", done.at, done.origin)
    else:
        found = _line_words(lines[0])
    met = met_by_words(
        Trigger.CONTRAST_PLANNED,
        found.text,
        (found,),
        key="contrast",
        label="contrast",
        said=at_words(found.text, found.at, bedside.clock),
        source=timing.CONTRAST_ASKED_FOR.source,
    )
    return replace(met, before=before)


def _line_words(line: Line) -> Recorded:
    if line.last_dose is not None:
        given = line.last_dose
        return Recorded(f"contrast was given: {line.medicine.text}", given.at, given.origin)
    return Recorded(f"contrast is ordered: {line.medicine.text}", line.since, line.order)


def _is_fresh(bedside: Bedside, done: Done) -> bool:
    return bedside.as_of - done.until <= timing.CONTRAST_GIVEN.length


def _asked(bedside: Bedside, done: Done | None) -> list[Procedure]:
    """Return requests that are recent and that nothing done since has answered."""
    return [
        p
        for p in bedside.record.procedures
        if ProcedureKind.CONTRAST_IMAGING in p.kinds
        and p.requested
        and (p.at is None or bedside.as_of - p.at <= timing.CONTRAST_ASKED_FOR.length)
        and not (done is not None and p.at is not None and done.at >= p.at)
    ]
