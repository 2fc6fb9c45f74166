"""Are the criteria of the hyperosmolar hyperglycaemic state met, as far as they were measured?

A very high glucose and a high osmolality, worked out from sodium, glucose and urea; ketones and
acid that were measured must not say ketoacidosis instead. What was not measured is named.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.osmolality import Osmolality, exact_at, osmolality_at
from weatherglass.facts.results.result_levels import doubt_about_glucose
from weatherglass.facts.rounds.measures import missing_of
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.findings import Finding, Kind, Missing, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clock_words import lasting

#: What must not be met: each with what it would say instead.
_AGAINST: tuple[tuple[Signal, Cutoff], ...] = (
    (Signal.KETONES, criteria.HYPEROSMOLAR_KETONES_ABOVE),
    (Signal.PH_ARTERIAL, criteria.HYPEROSMOLAR_PH),
    (Signal.PH_VENOUS, criteria.HYPEROSMOLAR_PH),
    (Signal.BICARBONATE, criteria.BICARBONATE),
)
_ACID = (Signal.PH_ARTERIAL, Signal.PH_VENOUS, Signal.BICARBONATE)


class _Course(Plain, frozen=True):
    """The run of a hyperosmolar state: when it began, when it was last so, and how it was then."""

    since: datetime
    until: datetime
    first: Osmolality


_UNTIL = criteria.HYPEROSMOLAR_OVER
_OVER = f"over below {_UNTIL.limit.value} mOsm/kg ({_UNTIL.source.mark.value})"


def assess_hyperosmolar_state(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest sodium, glucose and urea of a day with the definition, and follow it, in adults."""
    if bedside.is_child:
        return
    now = bedside.osmolality
    course = _course(bedside)
    if now is None or course is None or _speaks_against(bedside):
        return
    if doubt_about_glucose(bedside.record, now.glucose):
        return  # It is measured again first.
    if now.is_hyperosmolar:
        yield _met(bedside, now, course)
    elif not criteria.HYPEROSMOLAR_OVER.is_met_by(now.value):
        yield from _still_high(bedside, now, course)


def _course(bedside: Bedside) -> _Course | None:
    """Walk through the moments of sodium and glucose; a repeat moves nothing."""
    signals = (Signal.GLUCOSE, Signal.SODIUM, Signal.SODIUM_GAS)
    found: _Course | None = None
    for moment in sorted({at for signal in signals for at in bedside.record.series(signal).times}):
        then = osmolality_at(bedside.record, moment, bedside.choices.gas_counts_for)
        if then is None:
            continue
        if not then.is_hyperosmolar:
            found = found and replace(found, until=min(found.until, moment))
            if criteria.HYPEROSMOLAR_OVER.is_met_by(then.value):
                found = None
        elif found is None:
            found = _Course(then.at, then.at, then)
        else:
            found = replace(found, until=then.at)
    return found


def _met(bedside: Bedside, now: Osmolality, course: _Course) -> Finding:
    beside = _measured_beside(bedside)
    gaps = tuple(_gaps([signal for signal, _ in beside], now))
    names = ", ".join(gap.label for gap in gaps)
    said = f"Criteria of the hyperosmolar hyperglycaemic state are met by JBDS: {_words(now)}"
    clauses = (said, _fall(course.first, now), f"not measured: {names}" if names else "")
    is_treated = _comes_down(bedside, now, course)
    return _finding(
        bedside,
        now,
        urgency=Urgency.URGENT if is_treated else Urgency.EMERGENCY,
        sentence=f"{'; '.join(filter(None, clauses))}.",
        brief=f"Hyperosmolar hyperglycaemic state by JBDS: {_words(now)}",
        course=course,
        beside=beside,
        gaps=gaps,
        sources=(
            criteria.OSMOLALITY.source,
            criteria.HYPEROSMOLAR_GLUCOSE.source,
            *((criteria.HYPEROSMOLAR_TREATED,) if is_treated else ()),
        ),
        decided_by="the definition of the hyperosmolar hyperglycaemic state",
        cautions=tuple(_too_fast_or_slow(course.first, now)),
    )


def _comes_down(bedside: Bedside, now: Osmolality, course: _Course) -> bool:
    """Tell whether fluid or insulin runs, both numbers have come down, and the patient is awake and calm."""
    first = course.first
    is_down = _is_compared(first, now) and first.value > now.value and first.glucose.value > now.glucose.value
    runs = any(one.route is Route.INTRAVENOUS for one in bedside.drug_chart.perhaps_running)
    is_awake = bool(bedside.alertness) and bedside.altered_mind is None and bedside.shock is None
    return is_down and runs and is_awake and bedside.as_of - now.at <= criteria.ANSWERED_BY_INSULIN.length


def _still_high(bedside: Bedside, now: Osmolality, course: _Course) -> Iterator[Finding]:
    """Follow a state that no longer meets the definition until its osmolality is down."""
    if bedside.as_of - course.until > criteria.STILL_HYPEROSMOLAR_FOR.length:
        return
    head = f"Hyperosmolar state of {bedside.clock.full(course.since)} is not over: {_words(now)}"
    clauses = (head, _fall(course.first, now), _OVER)
    yield _finding(
        bedside,
        now,
        urgency=Urgency.PROMPT,
        sentence=f"{'; '.join(filter(None, clauses))}.",
        brief=head,
        course=course,
        beside=(),
        gaps=(),
        sources=(criteria.STILL_HYPEROSMOLAR.source, criteria.HYPEROSMOLAR_OVER.source),
        decided_by=f"an osmolality of {_UNTIL.limit.value} or more after a hyperosmolar state",
        cautions=tuple(_too_fast_or_slow(course.first, now)),
        asked_since=course.until,
        dated=course.since,
    )


def _finding(
    bedside: Bedside,
    now: Osmolality,
    *,
    urgency: Urgency,
    sentence: str,
    brief: str,
    course: _Course,
    beside: Sequence[tuple[Signal, Measurement]],
    gaps: tuple[Missing, ...],
    sources: tuple[Source, ...],
    decided_by: str,
    cautions: tuple[str, ...],
    asked_since: datetime | None = None,
    dated: datetime | None = None,
) -> Finding:
    parts = (*now.parts, *beside)
    return tell(
        About(Kind.METABOLIC, "hyperosmolar-state", Letter.DISABILITY),
        urgency,
        rests_on(bedside, course.since, *parts, at=now.at, asked_since=asked_since),
        brief=brief,
        sentence=sentence,
        dated=dated,
        missing=gaps,
        sources=sources,
        cautions=cautions,
        decided_by=decided_by,
    )


def _words(now: Osmolality) -> str:
    return f"osmolality {now.shown} mOsm/kg, glucose {plain(now.glucose.value)} mmol/L"


def _is_compared(first: Osmolality, now: Osmolality) -> bool:
    """Tell whether two sums have the same terms and are an hour or more apart."""
    return (first.urea is None) is (now.urea is None) and now.at - first.at >= criteria.RATE_OVER.length


def _fall(first: Osmolality, now: Osmolality) -> str:
    """Say from where the osmolality came."""
    if not _is_compared(first, now) or first.value == now.value:
        return ""
    return f"{first.shown} mOsm/kg {lasting(now.at - first.at)} before"


def _too_fast_or_slow(first: Osmolality, now: Osmolality) -> Iterator[str]:
    if not _is_compared(first, now):
        return
    rate = (first.value - now.value) * 3600 / Decimal(int((now.at - first.at).total_seconds()))
    least, most = criteria.FALL_LEAST.value, criteria.FALL_MOST.value
    asked = f"{plain(least)} to {plain(most)} mOsm/kg an hour is asked for."
    if rate <= 0:
        yield f"Osmolality does not fall; {asked}"
    elif not least <= rate <= most:
        shown = plain(round_half_up(rate, Decimal("0.01")))
        yield f"Osmolality falls by {shown} an hour, too {'fast' if rate > most else 'slowly'}: {asked}"


def _measured_beside(bedside: Bedside) -> tuple[tuple[Signal, Measurement], ...]:
    day = bedside.choices.gas_counts_for
    found = ((signal, exact_at(bedside.record, signal, bedside.as_of, day)) for signal, _ in _AGAINST)
    return tuple((signal, one) for signal, one in found if one is not None)


def _speaks_against(bedside: Bedside) -> bool:
    """Tell whether ketones or acid are those of ketoacidosis."""
    beside = dict(_measured_beside(bedside))
    return any(signal in beside and cutoff.is_met_by(beside[signal].value) for signal, cutoff in _AGAINST)


def _gaps(measured: list[Signal], now: Osmolality) -> Iterator[Missing]:
    wanted = [] if now.urea is not None else [Signal.UREA]
    wanted += [] if Signal.KETONES in measured else [Signal.KETONES]
    wanted += [] if any(signal in measured for signal in _ACID) else [Signal.PH_VENOUS]
    for signal in wanted:
        yield missing_of(signal)
