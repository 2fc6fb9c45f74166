"""Could this patient be bleeding? Asked of a fall in haemoglobin; what is on record is said as recorded.

A fall in haemoglobin or recorded bleeding raises the question; pulse against pressure,
INR, platelets, an operation and antithrombotics on the chart say how soon to look.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.drug_chart import Line, Standing, is_in_use, systemic_classes
from weatherglass.facts.results.blatchford import blatchford
from weatherglass.facts.results.blood_loss import (
    AfterOperation,
    BloodLoss,
    HaemoglobinFall,
    RecordedBleeding,
    bleeding_since,
)
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.results.result_levels import GradedSeries
from weatherglass.facts.rounds.scoring import limit_words, measure_of
from weatherglass.facts.series.runs import Run
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits import trend_limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import glasgow_blatchford_2000, shock_index
from weatherglass.model.findings import Finding, Kind, Letter, Measure, State, Urgency
from weatherglass.model.quantities import Unit, plain
from weatherglass.model.record import ConditionKind, Measurement, MedicineOrder, Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.statistics import reference_change
from weatherglass.model.words.clock_words import Clock, lasting

_ANTICOAGULANTS = frozenset(each.value for each in ours.ANTICOAGULANTS)
_THIN = _ANTICOAGULANTS | {MedicineClass.THROMBOLYTIC.value}
_HUNDREDTH = Decimal("0.01")
_FALL_SOURCES = (
    trend_limits.HAEMOGLOBIN_FALL.source,
    trend_limits.HAEMOGLOBIN_FALL_MAJOR.source,
    trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING.source,
)
_IN_SHOCK = "a shock index of 1.0 or more"
_GUT_SOURCES = (glasgow_blatchford_2000.SOURCE, glasgow_blatchford_2000.ONLY_SHOWN)
_RECORDED_ALONE = our_choice("recorded bleeding without another sign is 'prompt'")


def assess_bleeding(bedside: Bedside) -> Iterator[Finding]:
    """Ask about bleeding where haemoglobin has fallen or bleeding is recorded."""
    evidence = bedside.blood_loss
    fall = bedside.haemoglobin_fall
    if fall is None and not evidence.recorded and evidence.after_operation is not None:
        yield _after_operation(bedside, evidence.after_operation)
        return
    if fall is None and not evidence.recorded:
        settled = _settled(bedside, evidence.fall)
        if settled is not None:
            yield settled
        return
    ground = _urgency(bedside, evidence, fall)
    since, state = _since(bedside, evidence, fall)
    gut = blatchford(bedside)
    measures = tuple(_measures(bedside, evidence, fall, gut))
    yield Finding(
        kind=Kind.POSSIBLE_BLEEDING,
        key="possible-bleeding",
        letter=Letter.CIRCULATION,
        urgency=ground.urgency,
        sentence=f"{_sentence(bedside, evidence, fall, gut)}.",
        brief=_brief(bedside, evidence, fall),
        at=_newest(evidence, fall),
        state=state,
        since=since,
        asked_since=_asked_since(bedside, since) if ground.in_shock else None,
        measures=measures,
        evidence=_origins(bedside, fall, measures, gut),
        sources=tuple(dict.fromkeys((*ground.sources, *(_GUT_SOURCES if gut is not None else ())))),
        cautions=tuple(_cautions(bedside, evidence, fall)),
        decided_by=ground.rule,
        provisional=fall is not None and Remark.PROVISIONAL in fall.newest.remarks,
    )


def _after_operation(bedside: Bedside, one: AfterOperation) -> Finding:
    """Ask by pulse and pressure alone, where no haemoglobin has fallen yet."""
    began = one.operation.ended or one.operation.at or one.since
    changes = (
        f"pulse {plain(one.pulse.value)} from {plain(one.pulse_before.value)} and systolic pressure "
        f"{plain(one.systolic.value)} from {plain(one.systolic_before.value)}, "
        f"{bedside.clock.apart(began, one.pulse.at)} after {one.operation.text}"
    )
    asked = f"Is this patient bleeding? {changes[0].upper()}{changes[1:]}"
    readings = (one.pulse, one.pulse_before, one.systolic, one.systolic_before)
    return Finding(
        kind=Kind.POSSIBLE_BLEEDING,
        key="possible-bleeding",
        letter=Letter.CIRCULATION,
        urgency=Urgency.URGENT,
        sentence=f"{asked}: look, and measure haemoglobin.",
        brief=asked,
        at=max(one.pulse.at, one.systolic.at),
        state=bedside.state_of(Run(one.since, bedside.as_of, is_present=True)),
        since=one.since,
        measures=(
            measure_of(Signal.PULSE, one.pulse),
            measure_of(Signal.PULSE, one.pulse_before, key="pulse-before", label="slowest pulse since"),
            measure_of(Signal.SYSTOLIC_PRESSURE, one.systolic),
            measure_of(
                Signal.SYSTOLIC_PRESSURE,
                one.systolic_before,
                key="pressure-before",
                label="highest systolic pressure since",
            ),
        ),
        evidence=tuple(dict.fromkeys((*(m.origin for m in readings), one.operation.origin))),
        sources=(ours.PULSE_UP_AFTER_OPERATION.source, shock_index.HIGH.source),
        cautions=(shock_index.NEVER_ALONE.text,),
        decided_by="a faster pulse and a lower pressure within 24 hours of an operation",
        provisional=any(Remark.PROVISIONAL in m.remarks for m in readings),
    )


def _anticoagulants(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    return bedside.on_chart(ours.ANTICOAGULANTS)


def _just_ended(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    """Return anticoagulants that have ended and may still act, and that no other line goes on with."""
    found = []
    for order in bedside.drug_chart.ended:
        classes = systemic_classes(order.medicine.classes, order.route)
        if order.ends is None or classes.isdisjoint(_ANTICOAGULANTS):
            continue
        slow = MedicineClass.VITAMIN_K_ANTAGONIST.value in classes
        acts_for = ours.VITAMIN_K_ANTAGONIST_ACTS_FOR if slow else ours.ANTICOAGULANT_ACTS_FOR
        is_fresh = order.ends <= bedside.as_of <= order.ends + acts_for.length
        if is_fresh and not is_in_use(order.medicine, bedside.drug_chart.lines):
            found.append(order)
    return tuple(found)


def _given_lately(bedside: Bedside) -> tuple[Line, ...]:
    """Return anticoagulants of which doses are recorded and no order is in force."""
    return tuple(
        line
        for line in bedside.drug_chart.lines
        if line.standing is Standing.ENDED and not line.classes.isdisjoint(_ANTICOAGULANTS)
    )


def _may_still_act(bedside: Bedside) -> tuple[tuple[str, Origin], ...]:
    """Return what has ended and may still act, each with what says so."""
    ended = [(order.medicine.text, order.origin) for order in _just_ended(bedside)]
    given = [
        (line.medicine.text, line.last_dose.origin if line.last_dose is not None else line.order)
        for line in _given_lately(bedside)
    ]
    return tuple(dict([*given, *ended]).items())


def _beyond(bedside: Bedside, key: str) -> GradedSeries | None:
    graded = bedside.graded.get(key)
    return graded if graded is not None and graded.band is not None and graded.is_current else None


# How urgent


class _Ground(NamedTuple):
    """Why bleeding is as urgent as it is; `in_shock` where the shock index makes it so."""

    urgency: Urgency
    rule: str
    sources: tuple[Source, ...]
    in_shock: bool = False


def _urgency(bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None) -> _Ground:
    index = evidence.shock_index
    is_high = index is not None and index.is_high
    sources: tuple[Source, ...] = (_FALL_SOURCES[fall.level - 1],) if fall is not None else ()
    if index is not None and index.is_raised:
        sources += ((shock_index.HIGH if is_high else shock_index.RAISED).source,)
    if fall is not None and fall.level == len(_FALL_SOURCES):
        rule = f"a haemoglobin fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING)}"
        return _Ground(Urgency.EMERGENCY, rule, (*sources, ours.BLEEDING_EMERGENCY.source))
    if fall is not None and evidence.recorded and is_high:
        rule = f"recorded bleeding, a haemoglobin fall and {_IN_SHOCK}"
        return _Ground(Urgency.EMERGENCY, rule, (*sources, ours.BLEEDING_EMERGENCY.source), in_shock=True)
    if is_high and any(one.is_visible_gut for one in evidence.recorded):
        rule = f"vomited blood or black stool with {_IN_SHOCK}"
        return _Ground(Urgency.EMERGENCY, rule, (*sources, ours.BLEEDING_EMERGENCY.source), in_shock=True)
    if is_high and evidence.recorded and bedside.is_pregnant_or_recently:
        rule = f"recorded bleeding in pregnancy or soon after with {_IN_SHOCK}"
        return _Ground(Urgency.EMERGENCY, rule, (*sources, ours.BLEEDING_EMERGENCY.source), in_shock=True)
    if any(one.is_in_the_skull for one in evidence.recorded) and _is_thinned(bedside):
        rule = "bleeding inside the skull with an anticoagulant or a prolonged INR"
        return _Ground(Urgency.EMERGENCY, rule, (*sources, ours.BLEEDING_IN_THE_SKULL.source))
    support = _support(bedside, evidence, fall)
    if support:
        rule = f"{_asks(fall)} with {support}"
        return _Ground(Urgency.URGENT, rule, (*sources, ours.BLEEDING_UPGRADE.source))
    rule = _asks(fall) if fall is not None else "recorded bleeding"
    return _Ground(Urgency.PROMPT, rule, sources or (_RECORDED_ALONE,))


def _is_thinned(bedside: Bedside) -> bool:
    """Tell whether blood clots badly: an anticoagulant or thrombolysis that acts, or a prolonged INR."""
    inr = bedside.inr_now
    is_prolonged = inr is not None and ours.INR_PROLONGED.is_met_by(inr.value)
    acts = any(
        line.standing in (Standing.IN_USE, Standing.ENDED) and not line.classes.isdisjoint(_THIN)
        for line in bedside.drug_chart.lines
    )
    return is_prolonged or acts or bool(_anticoagulants(bedside)) or bool(_may_still_act(bedside))


def _asks(fall: HaemoglobinFall | None) -> str:
    if fall is None:
        return "recorded bleeding"
    return f"a haemoglobin fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL)}"


def _support(bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None) -> str:
    """Name the first thing that makes the question more urgent."""
    if fall is not None and fall.level > 1:
        return f"a fall of {limit_words(trend_limits.HAEMOGLOBIN_FALL_MAJOR)}"
    if fall is not None and evidence.recorded:
        return "recorded bleeding"
    if evidence.shock_index is not None and evidence.shock_index.is_raised:
        return "a raised shock index"
    if _beyond(bedside, "inr-high") is not None:
        return "a high INR"
    if _beyond(bedside, "platelets-low") is not None:
        return "low platelets"
    if _anticoagulants(bedside):
        return "an anticoagulant on the chart"
    if _may_still_act(bedside):
        return "an anticoagulant that has only just ended"
    return ""


# Since when


def _since(
    bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None
) -> tuple[datetime | None, State | None]:
    since = bleeding_since(fall, evidence.recorded)
    if since is None:
        return None, None
    run = Run(since, bedside.as_of, is_present=True)
    state = bedside.state_of(run)
    return since, state


def _asked_since(bedside: Bedside, since: datetime | None) -> datetime | None:
    """Return since when a shock index that made it an emergency has been so high."""
    if since is None:
        return None
    began: datetime | None = None
    for one in reversed(bedside.sets):
        pulse, systolic = one.number(Signal.PULSE), one.number(Signal.SYSTOLIC_PRESSURE)
        if pulse is None or systolic is None or systolic.value <= 0:
            continue
        if not shock_index.HIGH.is_met_by(pulse.value / systolic.value):
            break
        began = one.end
    return None if began is None else max(began, since)


def _settled(bedside: Bedside, fall: HaemoglobinFall | None) -> Finding | None:
    if fall is None or fall.run is None or fall.level:
        return None
    state = bedside.state_of(fall.run)
    if state is not State.SETTLING:
        return None
    return Finding(
        kind=Kind.POSSIBLE_BLEEDING,
        key="possible-bleeding",
        letter=Letter.CIRCULATION,
        urgency=Urgency.ROUTINE,
        sentence=(
            f"Haemoglobin {plain(fall.newest.value)} g/L: the fall of 20 g/L or more that was seen until "
            f"{bedside.clock.full(fall.run.until)} has not gone on."
        ),
        brief=f"Haemoglobin {plain(fall.newest.value)} g/L, no longer falling",
        at=fall.newest.at,
        state=state,
        since=fall.run.since,
        measures=(measure_of(Signal.HAEMOGLOBIN, fall.newest),),
        evidence=(fall.newest.origin,),
        sources=(trend_limits.HAEMOGLOBIN_FALL.source,),
    )


# In words


def _sentence(
    bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None, gut: OpenTotal | None
) -> str:
    clock = bedside.clock
    parts = []
    if evidence.recorded:
        parts.append(f"bleeding on record: {', '.join(_recorded(one, clock) for one in evidence.recorded)}")
    haemoglobin = _haemoglobin(bedside) if fall is None else None
    if haemoglobin is not None:
        parts.append(f"haemoglobin {plain(haemoglobin.value)} g/L")
    if fall is not None:
        parts.append(
            f"haemoglobin has fallen by {plain(fall.fall)} g/L in "
            f"{lasting(fall.newest.at - fall.before.at)}, from {plain(fall.before.value)} to "
            f"{plain(fall.newest.value)}"
        )
    index = evidence.shock_index
    if index is not None and index.is_raised:
        parts.append(
            f"pulse {plain(index.pulse.value)} over pressure {plain(index.systolic.value)} is a shock "
            f"index of {plain(index.value.quantize(_HUNDREDTH, rounding=ROUND_HALF_UP))}"
        )
    if gut is not None:
        least = "at least " if gut.unknown else ""
        parts.append(f"Glasgow-Blatchford score {least}{gut.lowest}")
    inr, platelets = _inr(bedside), _beyond(bedside, "platelets-low")
    if inr is not None:
        parts.append(f"INR {plain(inr.value)}")
    if platelets is not None:
        parts.append(f"platelets {plain(platelets.newest.value)}")
    urea = _urea_alone(bedside, fall)
    if urea is not None:
        parts.append(
            f"urea up from {plain(urea[0].value)} to {plain(urea[1].value)} mmol/L with a steady creatinine"
        )
    parts.extend(f"after {operation.text}" for operation in evidence.operations)
    chart = _antithrombotics(bedside)
    if chart:
        parts.append(f"on the chart: {', '.join(dict.fromkeys(o.medicine.text for o in chart))}")
    ended = _may_still_act(bedside)
    if ended:
        parts.append(f"only just ended, and may still act: {', '.join(name for name, _ in ended)}")
    text = "; ".join(parts)
    said = text[0].upper() + text[1:]
    return said if evidence.recorded else f"Is this patient bleeding? {said}"


def _brief(bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None) -> str:
    """Return what is recorded, or the question, with the numbers that make it worse, without the rest."""
    recorded = ", ".join(_recorded(one, bedside.clock) for one in evidence.recorded)
    parts = [recorded] if recorded else []
    haemoglobin = fall.newest if fall is not None else _haemoglobin(bedside)
    if haemoglobin is not None:
        down = f", down {plain(fall.fall)} from {plain(fall.before.value)}" if fall is not None else ""
        parts.append(f"haemoglobin {plain(haemoglobin.value)}{down}")
    index = evidence.shock_index
    if index is not None and index.is_raised:
        parts.append(f"shock index {plain(index.value.quantize(_HUNDREDTH, rounding=ROUND_HALF_UP))}")
    inr = _inr(bedside)
    if inr is not None:
        parts.append(f"INR {plain(inr.value)}")
    if _anticoagulants(bedside):
        parts.append(f"on {', '.join(dict.fromkeys(o.medicine.text for o in _anticoagulants(bedside)))}")
    said = "; ".join(parts)
    return (
        f"Bleeding on record: {said}"
        if recorded
        else f"Is this patient bleeding? {said[0].upper()}{said[1:]}"
    )


def _haemoglobin(bedside: Bedside) -> Measurement | None:
    counts_for = bedside.choices.laboratory_counts_for
    newest = bedside.record.series(Signal.HAEMOGLOBIN).recent(bedside.as_of, counts_for)
    return newest if newest is not None and newest.spread is None else None


def _inr(bedside: Bedside) -> Measurement | None:
    """Return the newest INR where it is prolonged, or where an anticoagulant makes it matter."""
    inr = bedside.inr_now
    if inr is None:
        return None
    matters = ours.INR_PROLONGED.is_met_by(inr.value) or bool(_anticoagulants(bedside))
    return inr if matters else None


def _recorded(one: RecordedBleeding, clock: Clock) -> str:
    return f"{one.text} ({clock.full(one.at)})" if one.at is not None else one.text


def _antithrombotics(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    return bedside.on_chart(ours.ANTICOAGULANTS | ours.ANTIPLATELETS)


def _urea_alone(bedside: Bedside, fall: HaemoglobinFall | None) -> tuple[Measurement, Measurement] | None:
    """Return urea before and after a fall where it rose by more than chance and creatinine did not."""
    if fall is None:
        return None
    pairs = {}
    for signal in (Signal.UREA, Signal.CREATININE):
        series = bedside.record.series(signal)
        before, after = series.last_by(fall.before.at), series.latest
        if before is None or after is None or after.at <= before.at or before.value <= 0:
            return None
        if fall.before.at - before.at > trend_limits.HAEMOGLOBIN_WINDOW.length:
            return None
        pairs[signal] = (before, after)
    if (
        _percent(*pairs[Signal.UREA]) <= _UREA_CHANCE
        or _percent(*pairs[Signal.CREATININE]) > _CREATININE_CHANCE
    ):
        return None
    return pairs[Signal.UREA]


def _percent(before: Measurement, after: Measurement) -> Decimal:
    return 100 * (after.value - before.value) / before.value


_UREA_CHANCE = next(p.percent for p in trend_limits.PUBLISHED_REFERENCE_CHANGES if p.signal is Signal.UREA)
_CREATININE_CHANCE = next(
    reference_change(analytical_cv=v.analytical_cv, within_subject_cv=v.within_subject_cv).rise
    for v in trend_limits.BIOLOGICAL_VARIATION
    if v.signal is Signal.CREATININE
)


# The inputs


def _newest(evidence: BloodLoss, fall: HaemoglobinFall | None) -> datetime | None:
    times = [one.at for one in evidence.recorded if one.at is not None]
    if fall is not None:
        times.append(fall.newest.at)
    if evidence.shock_index is not None:
        times.append(evidence.shock_index.pulse.at)
    return max(times, default=None)


def _measures(
    bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None, gut: OpenTotal | None
) -> Iterator[Measure]:
    if fall is not None:
        yield measure_of(Signal.HAEMOGLOBIN, fall.newest)
        yield measure_of(Signal.HAEMOGLOBIN, fall.before, key="from", label="haemoglobin before")
        yield Measure(key="fall", label="fall in haemoglobin", value=fall.fall, unit=Unit.GRAM_PER_LITRE)
    for one in evidence.recorded:
        yield Measure(key="recorded-bleeding", label="recorded", value=one.text, at=one.at, origin=one.origin)
    index = evidence.shock_index
    if index is not None:
        yield measure_of(Signal.PULSE, index.pulse)
        yield measure_of(Signal.SYSTOLIC_PRESSURE, index.systolic)
        yield Measure(
            key="shock-index",
            label="shock index",
            value=index.value.quantize(_HUNDREDTH, rounding=ROUND_HALF_UP),
            unit=Unit.RATIO,
            at=index.pulse.at,
        )
    if gut is not None:
        yield Measure(
            key=glasgow_blatchford_2000.KEY,
            label=f"Glasgow-Blatchford score{' at least' if gut.unknown else ''}",
            value=Decimal(gut.lowest),
            unit=Unit.SCORE,
        )
    haemoglobin = _haemoglobin(bedside) if fall is None else None
    if haemoglobin is not None:
        yield measure_of(Signal.HAEMOGLOBIN, haemoglobin)
    inr, platelets = _inr(bedside), _beyond(bedside, "platelets-low")
    if inr is not None:
        yield measure_of(Signal.INR, inr)
    if platelets is not None:
        yield measure_of(Signal.PLATELETS, platelets.newest)
    for order in _antithrombotics(bedside):
        yield Measure(
            key="antithrombotic", label="on the chart", value=order.medicine.text, origin=order.origin
        )
    for name, origin in _may_still_act(bedside):
        yield Measure(key="antithrombotic-ended", label="only just ended", value=name, origin=origin)
    for operation in evidence.operations:
        yield Measure(
            key="operation", label="operation", value=operation.text, at=operation.at, origin=operation.origin
        )


def _origins(
    bedside: Bedside, fall: HaemoglobinFall | None, measures: Sequence[Measure], gut: OpenTotal | None
) -> tuple[Origin, ...]:
    urea = _urea_alone(bedside, fall)
    origins = [m.origin for m in measures if m.origin is not None]
    origins.extend(m.origin for m in urea or ())
    origins.extend(o for part in (gut.parts if gut is not None else ()) for o in part.origins)
    return tuple(dict.fromkeys(origins))


def _cautions(bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None) -> Iterator[str]:
    if fall is not None:
        yield trend_limits.FALL_IS_NOT_BLEEDING.text
    if evidence.fall is None:
        yield "There are no two haemoglobin results to compare: a fall cannot be seen or ruled out."
    if evidence.shock_index is not None:
        yield shock_index.NEVER_ALONE.text
        if bedside.on_chart({MedicineClass.BETA_BLOCKER}) or bedside.record.has(ConditionKind.PACEMAKER):
            yield shock_index.UNRELIABLE_WITH_RATE_CONTROL.text
    elif not bedside.is_below(shock_index.MINIMUM_AGE):
        yield "No recent pulse and pressure: the shock index is not known."
    if evidence.transfusions:
        yield "Blood was given in the last 48 hours, which can hide a fall."
    if _beyond(bedside, "inr-high") is not None:
        yield f"INR limit: {limits.BARNSLEY.citation}."
