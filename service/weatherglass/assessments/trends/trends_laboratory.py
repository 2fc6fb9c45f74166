"""Which laboratory results have changed by more than chance, and which go one way?

Two results of one method are compared by the reference change value; the results of a
week by rank statistics. Either alone means little: a change by itself is 'routine', and
only a steady trend in the harmful direction that has left the laboratory's own range asks
for somebody. A fall in haemoglobin by the published amount is named here and asked about
as possible bleeding. Blood gas and laboratory results are series of their own.
"""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Literal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.bleeding import fall_of_an_operation
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import last_run, run_at_level
from weatherglass.facts.series.steady import days_before, slope_measures
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.signs.reference_changes import REFERENCE_CHANGES
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit, plain, unit_words
from weatherglass.model.numbers.statistics import (
    MANN_KENDALL_SOURCE,
    MIN_POINTS_FOR_SIGNIFICANCE,
    NO_SIGNIFICANCE_SOURCE,
    REFERENCE_CHANGE_SOURCE,
    THEIL_SEN_SOURCE,
    ReferenceChange,
    mann_kendall,
    theil_sen_slope,
)
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, Source, our_choice
from weatherglass.model.subject import Sex
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital

_WINDOW = ours.LABORATORY_WINDOW.length
_MOST = int(ours.LABORATORY_POINTS.value)
_ALPHA = ours.STEADY_PROBABILITY.value
_TENTH = Decimal("0.1")
#: Ours: the direction that harms; where both do, there is none.
_HARMFUL: Mapping[Signal, Literal["up", "down"]] = {
    Signal.CREATININE: "up",
    Signal.UREA: "up",
    Signal.CRP: "up",
    Signal.HAEMOGLOBIN: "down",
    Signal.PLATELETS: "down",
    Signal.ALBUMIN: "down",
}
_LETTERS = {Signal.SODIUM: Letter.DISABILITY, Signal.CRP: Letter.EXPOSURE, Signal.ALBUMIN: Letter.EXPOSURE}
_OWN_RANGE = our_choice("the laboratory's own lower limit comes before a published one")
#: In younger people the limit changes with age: the lower one of women is taken.
_LEFT_THE_RANGE = our_choice("a steady harmful trend is 'prompt' once outside the laboratory's own range")


class _Steady(Plain, frozen=True):
    """A steady trend of the week: slope a day, probability, and how that was asked."""

    first: Measurement
    results: int
    per_day: Decimal
    probability: Decimal
    sides: Literal["one-sided", "two-sided"]


def assess_laboratory_trends(bedside: Bedside) -> Iterator[Finding]:
    """Compare every series that has a reference change value with its own past."""
    for signal in REFERENCE_CHANGES:
        series = bedside.record.series(signal)
        items = series.items
        newest = series.recent(bedside.as_of, bedside.choices.laboratory_counts_for)
        if newest is None or not newest.is_exact:
            continue
        if signal is Signal.HAEMOGLOBIN and _is_told_as_steady(bedside):
            continue
        same = [one for one in items if one.method == newest.method and _can_be_compared(one)]
        finding = _of_series(bedside, signal, same) if len(same) > 1 and same[-1] is newest else None
        if finding is None and signal is Signal.HAEMOGLOBIN:
            finding = _low_haemoglobin(bedside, items)
        if finding is not None:
            yield finding


def _can_be_compared(result: Measurement) -> bool:
    # Haemolysis moves what is compared here, potassium first of all.
    return result.is_exact and result.remarks.isdisjoint({Remark.DAY_ONLY, Remark.HAEMOLYSED})


def _of_series(bedside: Bedside, signal: Signal, results: Sequence[Measurement]) -> Finding | None:
    newest = results[-1]
    change, source = REFERENCE_CHANGES[signal]
    levels = [0]
    for before, after in pairwise(results):
        levels.append(int(_is_beyond(change, before, after)))
    is_beyond = bool(levels[-1])
    steady = _steady(signal, results)
    if steady is not None and not _is_beyond(change, steady.first, newest):
        steady = None  # One way, but no further than chance may take it.
    falls = _haemoglobin_has_fallen(bedside, signal)
    if not (is_beyond or steady or falls):
        return None
    levels[-1] = 1
    run = run_at_level([one.at for one in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    urgency, rule = _urgency(bedside, signal, newest, steady)
    return tell(
        About(Kind.LABORATORY_TREND, signal.value, _LETTERS.get(signal, Letter.CIRCULATION)),
        urgency,
        rests_on(bedside, run, steady.first if steady else None, results[-2], newest),
        brief=f"{_named(signal, newest)}{f', {_way(steady)} steadily' if steady is not None else ''}",
        sentence=_sentence(bedside, signal, results, steady, is_beyond=is_beyond, falls=falls),
        measures=_measures(signal, results, change, steady),
        sources=_sources(source, steady, urgency, falls=falls),
        cautions=_cautions(signal, len(results)),
        decided_by=rule,
    )


def _low_haemoglobin(bedside: Bedside, items: Sequence[Measurement]) -> Finding | None:
    """Name a haemoglobin below its range, where nothing else does."""
    newest = items[-1]
    graded = bedside.graded.get("haemoglobin-low")
    if _is_asked_as_bleeding(bedside) or (graded is not None and graded.band is not None):
        return None
    cutoff = _least_haemoglobin(bedside)
    low = [_is_low(one, cutoff) for one in items]
    run = last_run([one.at for one in items], low)
    if run is None or not low[-1]:
        return None
    own = newest.reference_low
    unit = unit_words(Signal.HAEMOGLOBIN.unit)
    limit = f"the laboratory's own limit of {plain(own)}" if own is not None else f"{cutoff.limit.value}"
    said = f"Haemoglobin {plain(newest.value)} {unit}"
    return tell(
        About(Kind.LABORATORY_TREND, Signal.HAEMOGLOBIN.value, Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, run, (Signal.HAEMOGLOBIN, newest)),
        brief=said,
        asks=f"below {limit} {unit}{_earlier(bedside, items)}",
        sources=(cutoff.source,) if own is None else (_OWN_RANGE,),
    )


def _least_haemoglobin(bedside: Bedside) -> Cutoff:
    """Return the published limit, that of women where the sex is not known."""
    if bedside.is_pregnant_or_recently:
        return trend_limits.HAEMOGLOBIN_LOW_PREGNANT
    is_man = bedside.record.subject.sex is Sex.MALE and not bedside.is_child
    return trend_limits.HAEMOGLOBIN_LOW_MEN if is_man else trend_limits.HAEMOGLOBIN_LOW_WOMEN


def _is_low(result: Measurement, cutoff: Cutoff) -> bool:
    own = result.reference_low
    return result.value < own if own is not None else cutoff.is_met_by(result.value)


def _earlier(bedside: Bedside, items: Sequence[Measurement]) -> str:
    if len(items) < 2 or items[-1].at - items[-2].at > _WINDOW:
        return ""
    return f"; {plain(items[-2].value)} {bedside.clock.apart(items[-2].at, items[-1].at)} before"


# Chance


def _percent(before: Measurement, after: Measurement) -> Decimal | None:
    return 100 * (after.value - before.value) / before.value if before.value > 0 else None


def _is_beyond(change: ReferenceChange, before: Measurement, after: Measurement) -> bool:
    """Tell whether two results within a week differ by more than chance."""
    if after.at - before.at > _WINDOW:
        return False
    percent = _percent(before, after)
    return percent is not None and (percent > change.rise or percent < change.fall)


def _steady(signal: Signal, results: Sequence[Measurement]) -> _Steady | None:
    """Return the steady trend of the newest week, None without one.

    Asked one-sided where the harmful direction is known before looking and the results go
    that way; two-sided otherwise.
    """
    newest = results[-1]
    held = [one for one in results[-_MOST:] if newest.at - one.at <= _WINDOW]
    if len(held) < MIN_POINTS_FOR_SIGNIFICANCE:
        return None
    values = [one.value for one in held]
    found = mann_kendall(values)
    slope = theil_sen_slope([days_before(newest.at, one.at) for one in held], values)
    if not slope or found.p_rising is None or found.p_falling is None:
        return None
    goes = "up" if slope > 0 else "down"
    if _HARMFUL.get(signal) == goes:
        probability = found.p_rising if goes == "up" else found.p_falling
        return _Steady(held[0], len(held), slope, probability, "one-sided") if probability <= _ALPHA else None
    both = found.p_two_sided
    if both is None or both > _ALPHA:
        return None
    return _Steady(held[0], len(held), slope, both, "two-sided")


def _is_asked_as_bleeding(bedside: Bedside) -> bool:
    """Tell whether the question of bleeding names haemoglobin, which that of a fresh operation does not."""
    return bedside.bleeding is not None and bedside.bleeding.after_operation is None


def _is_told_as_steady(bedside: Bedside) -> bool:
    """Tell whether the question of bleeding says that haemoglobin falls no more."""
    if fall_of_an_operation(bedside) is not None:
        return True
    fall = bedside.blood_loss.fall
    if fall is None or fall.run is None or fall.level or bedside.blood_loss.steady is None:
        return False
    return bedside.state_of(fall.run) is State.SETTLING


def _haemoglobin_has_fallen(bedside: Bedside, signal: Signal) -> bool:
    return signal is Signal.HAEMOGLOBIN and bedside.blood_loss.has_fallen


# How urgent


def _urgency(
    bedside: Bedside, signal: Signal, newest: Measurement, steady: _Steady | None
) -> tuple[Urgency, str]:
    """Return how urgent a trend is; less where another finding says the same by its own rule."""
    if steady is None or steady.sides == "two-sided":
        return Urgency.ROUTINE, ""
    if bedside.aki_now.stage and signal in (Signal.CREATININE, Signal.UREA):
        return Urgency.ROUTINE, "the stage of kidney injury decides"
    if signal is Signal.HAEMOGLOBIN and _is_asked_as_bleeding(bedside):
        return Urgency.ROUTINE, "the question of bleeding decides"
    outside = (
        newest.reference_high is not None and newest.value > newest.reference_high
        if _HARMFUL[signal] == "up"
        else newest.reference_low is not None and newest.value < newest.reference_low
    )
    if not outside:
        return Urgency.ROUTINE, ""
    return bedside.steady_urgency, "a steady harmful trend, outside the laboratory's own range"


# In words


def _sentence(
    bedside: Bedside,
    signal: Signal,
    results: Sequence[Measurement],
    steady: _Steady | None,
    *,
    is_beyond: bool,
    falls: bool,
) -> str:
    newest, before = results[-1], results[-2]
    parts = []
    if falls and bedside.blood_loss.fall is not None:
        fall = bedside.blood_loss.fall
        parts.append(
            f"down {plain(fall.fall)} from {plain(fall.before.value)} in "
            f"{lasting(fall.newest.at - fall.before.at)}"
        )
    elif is_beyond:
        parts.append(
            f"from {_short(before.value)} ({lasting(newest.at - before.at)} before), "
            "more than chance explains"
        )
    if steady is not None:
        per_day = f"{plain(abs(steady.per_day).quantize(_TENTH))} {unit_words(signal.unit)}"
        over = f"{steady.results} results in {lasting(newest.at - steady.first.at)}"
        parts.append(f"{_way(steady)} steadily over {over}, by {per_day} a day")
    return f"{_named(signal, newest)}: {'; '.join(parts)}."


def _way(steady: _Steady) -> str:
    return "rising" if steady.per_day > 0 else "falling"


def _named(signal: Signal, newest: Measurement) -> str:
    name = capital(signal.label)
    return f"{name} {_short(newest.value)} {unit_words(signal.unit)}".rstrip()


def _short(value: Decimal) -> str:
    return plain(value.quantize(_TENTH))


def _measures(
    signal: Signal, results: Sequence[Measurement], change: ReferenceChange, steady: _Steady | None
) -> Iterator[Measure]:
    newest, before = results[-1], results[-2]
    yield measure_of(signal, newest)
    yield measure_of(signal, before, key="previous", label=f"{signal.label} before")
    percent = _percent(before, newest)
    if percent is not None:
        limit = change.rise if percent >= 0 else change.fall
        yield Measure("change", "change from the result before", percent.quantize(_TENTH), Unit.PERCENT)
        yield Measure("reference-change", "reference change value", limit.quantize(_TENTH), Unit.PERCENT)
    if steady is not None:
        yield from slope_measures(
            signal,
            steady.first,
            over=f"{steady.results} results",
            per_day=steady.per_day,
            probability=steady.probability,
            sides=steady.sides,
        )


def _sources(source: Source, steady: _Steady | None, urgency: Urgency, *, falls: bool) -> Iterator[Cited]:
    if falls:
        yield trend_limits.HAEMOGLOBIN_FALL
    yield source
    yield REFERENCE_CHANGE_SOURCE
    if steady is not None:
        yield THEIL_SEN_SOURCE
        yield MANN_KENDALL_SOURCE
        yield ours.LABORATORY_POINTS
    if urgency is Urgency.PROMPT:
        yield _LEFT_THE_RANGE


def _cautions(signal: Signal, results: int) -> Iterator[str]:
    yield trend_limits.CHANGE_IS_A_MINIMUM.text
    if signal in (Signal.POTASSIUM, Signal.SODIUM):
        yield trend_limits.SEPARATE_SPECIMENS.text
    if results < MIN_POINTS_FOR_SIGNIFICANCE:
        yield f"{capital(NO_SIGNIFICANCE_SOURCE.locator)}."
