"""Could this patient be bleeding? Asked of a fall in haemoglobin; what is on record is said as recorded.

A fall in haemoglobin or recorded bleeding raises the question; pulse against pressure,
INR, platelets, an operation and antithrombotics on the chart say how soon to look.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.blatchford import blatchford
from weatherglass.facts.blood.bleeding import BleedingNow, fall_of_an_operation
from weatherglass.facts.blood.bleeding_over import endoscopy_since, is_known_in_the_skull, is_quiet_for_now
from weatherglass.facts.blood.bleeding_urgency import beyond
from weatherglass.facts.blood.blood_loss import AfterOperation, BloodLoss
from weatherglass.facts.blood.haemoglobin_fall import HaemoglobinFall
from weatherglass.facts.blood.recorded_bleeding import RecordedBleeding
from weatherglass.facts.blood.thinned import anticoagulants, antithrombotics, as_taken, may_still_act
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.scores import shock_index
from weatherglass.knowledge.scores.points import glasgow_blatchford_2000
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.signs.reference_changes import rise_by_chance
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.clock_words import Clock, lasting
from weatherglass.model.words.lists import capital, inside_a_sentence
from weatherglass.model.words.value_words import limit_words

_GUT_SOURCES = (glasgow_blatchford_2000.SOURCE, glasgow_blatchford_2000.ONLY_SHOWN)


def assess_bleeding(bedside: Bedside) -> Iterator[Finding]:
    """Ask about bleeding where haemoglobin has fallen or bleeding is recorded."""
    now = bedside.bleeding
    evidence = bedside.blood_loss
    if now is None:
        settled = _across_an_operation(bedside) or _settled(bedside, evidence.fall)
        if settled is not None:
            yield settled
        return
    if now.after_operation is not None:
        yield _after_operation(bedside, now, now.after_operation)
        return
    fall = now.fall
    gut = blatchford(bedside)
    measures = tuple(_measures(bedside, evidence, fall, gut))
    is_over = bedside.bleeding_has_stopped
    is_quiet = is_quiet_for_now(bedside, now)
    steady = f"; haemoglobin {_steady(bedside)}" if is_over or is_quiet else ""
    seen = endoscopy_since(bedside, now) if is_quiet else None
    if seen is not None:
        steady += f"; {inside_a_sentence(seen.text)} {bedside.clock.at(seen.until)}"
    is_over = is_over or seen is not None or is_known_in_the_skull(bedside, now)
    # What else may be behind a fall; of what is recorded the doubt is that nobody has confirmed it.
    besides = f"; {now.doubt}" if now.doubt and not evidence.recorded else ""
    yield tell(
        About(Kind.POSSIBLE_BLEEDING, "possible-bleeding", Letter.CIRCULATION),
        Urgency.ROUTINE if is_over else now.urgency,
        rests_on(
            bedside,
            now.since,
            fall.newest if fall is not None else None,
            *_origins(bedside, fall, measures, gut),
            at=_newest(evidence, fall),
            asked_since=now.asked_since,
        ),
        brief=f"{_brief(bedside, evidence, fall)}{besides}",
        sentence=f"{_sentence(bedside, evidence, fall, gut)}{besides}{steady}.",
        measures=measures,
        waits=ours.BLEEDING_SEEN_WITHIN.length if is_quiet and not is_over else None,
        dated=now.since if any(one.at == now.since for one in evidence.recorded) else None,
        sources=(
            *now.sources,
            *(_GUT_SOURCES if gut is not None else ()),
            *((ours.BLEEDING_SEEN_WITHIN, ours.STEADY_FOR_NOW) if is_quiet else ()),
            *((ours.KNOWN_IN_THE_SKULL,) if now.is_in_the_skull_alone else ()),
        ),
        cautions=_cautions(bedside, now, evidence),
        decided_by=now.rule,
    )


def _after_operation(bedside: Bedside, now: BleedingNow, one: AfterOperation) -> Finding:
    """Ask by pulse and pressure alone, where no haemoglobin has fallen yet."""
    began = one.operation.until
    changes = (
        f"pulse {plain(one.pulse.value)} from {plain(one.pulse_before.value)} and systolic pressure "
        f"{plain(one.systolic.value)} from {plain(one.systolic_before.value)}, "
        f"{bedside.clock.apart(began, one.pulse.at)} after {one.operation.text}"
    )
    asked = f"Is this patient bleeding? {capital(changes)}{_rhythm(bedside, one.pulse)}"
    return tell(
        About(Kind.POSSIBLE_BLEEDING, "possible-bleeding", Letter.CIRCULATION),
        now.urgency,
        rests_on(
            bedside,
            now.since,
            (Signal.PULSE, one.pulse),
            one.pulse_before,
            one.systolic,
            one.systolic_before,
            one.operation.origin,
            at=max(one.pulse.at, one.systolic.at),
        ),
        brief=asked,
        asks="look, and measure haemoglobin",
        measures=(
            measure_of(Signal.PULSE, one.pulse_before, key="pulse-before", label="slowest pulse since"),
            measure_of(Signal.SYSTOLIC_PRESSURE, one.systolic),
            measure_of(
                Signal.SYSTOLIC_PRESSURE,
                one.systolic_before,
                key="pressure-before",
                label="highest systolic pressure since",
            ),
        ),
        sources=now.sources,
        decided_by=now.rule,
    )


def _across_an_operation(bedside: Bedside) -> Finding | None:
    """Tell of a fall that an operation explains and that has not gone on."""
    fall, operation = bedside.haemoglobin_fall, fall_of_an_operation(bedside)
    if fall is None or operation is None:
        return None
    said = f"Haemoglobin {plain(fall.newest.value)} g/L"
    down = f"down {plain(fall.fall)} from {plain(fall.before.value)} across {operation.text}"
    return tell(
        About(Kind.POSSIBLE_BLEEDING, "blood-lost-at-operation", Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, fall.run, fall.before, (Signal.HAEMOGLOBIN, fall.newest), operation.origin),
        brief=f"{said}, {down}{', steady' if bedside.blood_loss.steady is not None else ''}",
        sentence=f"{said}, {down}, {_steady(bedside)}.",
        measures=(measure_of(Signal.HAEMOGLOBIN, fall.before, key="from", label="haemoglobin before"),),
        sources=(trend_limits.HAEMOGLOBIN_FALL, ours.STEADY_AFTER_OPERATION),
    )


def _steady(bedside: Bedside) -> str:
    steady = bedside.blood_loss.steady
    if steady is None:
        return "pulse and pressure are calm: measured again within a day"
    return f"steady since {bedside.clock.full(steady.first.at)}"


def _settled(bedside: Bedside, fall: HaemoglobinFall | None) -> Finding | None:
    if fall is None or fall.run is None or fall.level:
        return None
    if bedside.state_of(fall.run) is not State.SETTLING:
        return None
    return tell(
        About(Kind.POSSIBLE_BLEEDING, "possible-bleeding", Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, fall.run, (Signal.HAEMOGLOBIN, fall.newest)),
        brief=f"Haemoglobin {plain(fall.newest.value)} g/L, no longer falling",
        sentence=f"Haemoglobin {plain(fall.newest.value)} g/L: the fall of "
        f"{limit_words(trend_limits.HAEMOGLOBIN_FALL)} that was seen until "
        f"{bedside.clock.full(fall.run.until)} has not gone on.",
        sources=(trend_limits.HAEMOGLOBIN_FALL,),
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
            f"{plain(fall.newest.value)}{_by_way_of(bedside, fall)}"
        )
    index = evidence.shock_index
    if index is not None and index.is_raised:
        parts.append(
            f"pulse {plain(index.pulse.value)} over pressure {plain(index.systolic.value)} is a shock "
            f"index of {plain(index.shown)}{_rhythm(bedside, index.pulse)}"
        )
    if evidence.child is not None:
        parts.append(evidence.child.words)
    if gut is not None:
        least = "at least " if gut.unknown else ""
        parts.append(f"Glasgow-Blatchford score {least}{gut.lowest}")
    inr, platelets = _inr(bedside), beyond(bedside, "platelets-low")
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
    chart = antithrombotics(bedside)
    if chart:
        parts.append(f"on the chart: {as_taken(bedside, chart)}")
    ended = may_still_act(bedside)
    if ended:
        parts.append(f"only just ended, and may still act: {', '.join(name for name, _ in ended)}")
    text = "; ".join(parts)
    said = capital(text)
    return said if evidence.recorded else f"Is this patient bleeding? {said}"


def _by_way_of(bedside: Bedside, fall: HaemoglobinFall) -> str:
    """Name a far lower value in between, which blood or fluid has raised since; empty without one."""
    between = bedside.record.series(Signal.HAEMOGLOBIN).within(fall.before.at, fall.newest.at)
    lowest = min(between, key=lambda one: one.value, default=fall.newest)
    if not trend_limits.HAEMOGLOBIN_FALL.is_met_by(fall.newest.value - lowest.value):
        return ""
    return f", {plain(lowest.value)} {bedside.clock.at(lowest.at)}"


def _brief(bedside: Bedside, evidence: BloodLoss, fall: HaemoglobinFall | None) -> str:
    """Return what is recorded, or the question, with the numbers that make it worse, without the rest."""
    recorded = ", ".join(_recorded(one, bedside.clock) for one in evidence.recorded)
    parts = [recorded] if recorded else []
    haemoglobin = fall.newest if fall is not None else _haemoglobin(bedside)
    if haemoglobin is not None:
        down = ""
        if fall is not None:
            down = f", down {plain(fall.fall)} from {plain(fall.before.value)}{_by_way_of(bedside, fall)}"
        parts.append(f"haemoglobin {plain(haemoglobin.value)}{down}")
    index = evidence.shock_index
    if index is not None and index.is_raised:
        parts.append(f"shock index {plain(index.shown)}{_rhythm(bedside, index.pulse)}")
    if evidence.child is not None:
        parts.append(evidence.child.words)
    inr = _inr(bedside)
    if inr is not None:
        parts.append(f"INR {plain(inr.value)}")
    if anticoagulants(bedside):
        parts.append(f"on {as_taken(bedside, anticoagulants(bedside))}")
    said = "; ".join(parts)
    return f"Bleeding on record: {said}" if recorded else f"Is this patient bleeding? {capital(said)}"


def _rhythm(bedside: Bedside, pulse: Measurement) -> str:
    """Say what makes a pulse fast without any blood lost, with its own comma; bleeding brings it on too."""
    told = bedside.record.told_of(ConditionKind.ATRIAL_FIBRILLATION)
    is_fast = ours.FAST_IN_FIBRILLATION.is_met_by(pulse.value)
    return ", atrial fibrillation on record" if told and is_fast else ""


def _haemoglobin(bedside: Bedside) -> Measurement | None:
    counts_for = bedside.choices.laboratory_counts_for
    newest = bedside.record.series(Signal.HAEMOGLOBIN).recent(bedside.as_of, counts_for)
    return newest if newest is not None and newest.is_exact else None


def _inr(bedside: Bedside) -> Measurement | None:
    """Return the newest INR where it is prolonged, or where an anticoagulant makes it matter."""
    inr = bedside.inr_now
    if inr is None:
        return None
    matters = ours.INR_PROLONGED.is_met_by(inr.value) or bool(anticoagulants(bedside))
    return inr if matters else None


def _recorded(one: RecordedBleeding, clock: Clock) -> str:
    said = one.text if one.is_confirmed else f"{one.text}, not confirmed"
    return f"{said} ({clock.full(one.at)})" if one.at is not None else said


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
    if _percent(*pairs[Signal.UREA]) <= rise_by_chance(Signal.UREA) or _percent(
        *pairs[Signal.CREATININE]
    ) > rise_by_chance(Signal.CREATININE):
        return None
    return pairs[Signal.UREA]


def _percent(before: Measurement, after: Measurement) -> Decimal:
    return 100 * (after.value - before.value) / before.value


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
        yield Measure("fall", "fall in haemoglobin", fall.fall, Unit.GRAM_PER_LITRE)
    for one in evidence.recorded:
        yield Measure("recorded-bleeding", "recorded", one.text, at=one.at, origin=one.origin)
    index = evidence.shock_index
    if index is not None:
        yield measure_of(Signal.PULSE, index.pulse)
        yield measure_of(Signal.SYSTOLIC_PRESSURE, index.systolic)
        yield Measure("shock-index", "shock index", index.shown, Unit.RATIO, index.pulse.at)
    if gut is not None:
        yield Measure(
            glasgow_blatchford_2000.KEY,
            f"Glasgow-Blatchford score{' at least' if gut.unknown else ''}",
            Decimal(gut.lowest),
            Unit.SCORE,
        )
    for signal, sign in evidence.child.signs if evidence.child is not None else ():
        yield measure_of(signal, sign)
    haemoglobin = _haemoglobin(bedside) if fall is None else None
    if haemoglobin is not None:
        yield measure_of(Signal.HAEMOGLOBIN, haemoglobin)
    inr, platelets = _inr(bedside), beyond(bedside, "platelets-low")
    if inr is not None:
        yield measure_of(Signal.INR, inr)
    if platelets is not None:
        yield measure_of(Signal.PLATELETS, platelets.newest)
    for order in antithrombotics(bedside):
        yield Measure("antithrombotic", "on the chart", order.medicine.text, origin=order.origin)
    for name, origin in may_still_act(bedside):
        yield Measure("antithrombotic-ended", "only just ended", name, origin=origin)
    for operation in evidence.operations:
        yield Measure("operation", "operation", operation.text, at=operation.at, origin=operation.origin)


def _origins(
    bedside: Bedside, fall: HaemoglobinFall | None, measures: Sequence[Measure], gut: OpenTotal | None
) -> tuple[Origin, ...]:
    urea = _urea_alone(bedside, fall)
    origins = [m.origin for m in measures if m.origin is not None]
    origins.extend(m.origin for m in urea or ())
    origins.extend(o for part in (gut.parts if gut is not None else ()) for o in part.origins)
    return tuple(dict.fromkeys(origins))


def _cautions(bedside: Bedside, now: BleedingNow, evidence: BloodLoss) -> Iterator[str]:
    if now.fall is not None:
        yield trend_limits.FALL_IS_NOT_BLEEDING.text
        low = reaches(trend_limits.OXYGEN_BESIDE_A_FALL)
        if not evidence.recorded and bedside.newest_beyond(Signal.SPO2, low, bedside.choices.look_back):
            yield trend_limits.OXYGEN_IS_NOT_BLOOD.text
    if now.is_in_the_skull_alone:
        return  # Little blood does harm there, and neither haemoglobin nor pulse shows it.
    if evidence.fall is None:
        yield "There are no two haemoglobin results to compare: a fall cannot be seen or ruled out."
    if evidence.shock_index is not None:
        if bedside.pulse_is_held_down:
            yield shock_index.UNRELIABLE_WITH_RATE_CONTROL.text
    elif not bedside.is_below(shock_index.MINIMUM_AGE):
        yield "No recent pulse and pressure: the shock index is not known."
    if evidence.transfusions:
        yield "Blood was given in the last 48 hours, which can hide a fall."
    if beyond(bedside, "inr-high") is not None:
        yield f"INR limit: {limits.BARNSLEY.citation}."
