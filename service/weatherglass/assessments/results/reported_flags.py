"""What the sender itself called critical, and what lies outside its own range with no rule of ours.

A critical flag is a finding by itself, whatever the code. Where a rule of ours speaks of the
same value as urgently it is not said twice.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import COAGULATION, is_dic_asked
from weatherglass.facts.results.unjudged import is_outside, newest_unjudged
from weatherglass.facts.rounds.child_cells import is_of_the_age
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.values import Flag, Measurement, SentValue
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.words.value_words import value_words

_CRITICAL = our_choice("a result that its sender flagged as critical is at least 'urgent'")
_ANOTHER_AGE = our_choice(
    "a sender whose critical flag meets a sign that scores 0 at the child's age flags by ranges of "
    "another age: its flags on vital signs call nobody"
)
_READ = {signal.value: signal for signal in Signal}
_OUTSIDE = our_choice("a result outside its own range that no rule judges is named")
#: Ours: a flag that nothing newer has replaced counts this long.
_VITAL_FOR = timedelta(hours=24)
_RESULT_FOR = timedelta(hours=72)
_MOST_NAMED = 8


def assess_reported_flags(bedside: Bedside) -> Iterator[Finding]:
    """Name every value that its sender flagged as critical and that nothing newer has replaced."""
    by_name: dict[str, list[SentValue]] = {}
    for one in sorted(bedside.record.sent, key=lambda sent: (sent.at, sent.origin)):
        by_name.setdefault(one.signal or one.name.casefold(), []).append(one)
    flagged = [values for values in by_name.values() if _is_critical_now(bedside, values)]
    of_the_age = [values[-1] for values in flagged if _is_of_the_age(bedside, values[-1])]
    if of_the_age:
        yield _of_another_age(bedside, of_the_age)
    kept = [values for values in flagged if values[-1] not in of_the_age]
    for place, values in enumerate(kept, 1):
        yield _critical(bedside, values, place, doubted=bool(of_the_age) and values[-1].vital)


def _is_critical_now(bedside: Bedside, values: Sequence[SentValue]) -> bool:
    newest = values[-1]
    if newest.flag is not Flag.CRITICAL:
        return False
    if bedside.as_of - newest.at > (_VITAL_FOR if newest.vital else _RESULT_FOR):
        return False
    return not newest.signal or not _is_replaced(bedside, newest)


def _is_replaced(bedside: Bedside, sent: SentValue) -> bool:
    """Tell whether a newer value of the same signal was sent without that flag."""
    signal = _READ.get(sent.signal)
    latest = bedside.record.series(signal).latest if signal is not None else None
    return latest is not None and latest.at > sent.at


def _is_of_the_age(bedside: Bedside, sent: SentValue) -> bool:
    """Tell whether a child's flagged sign is one that scores nothing at this age, as it is now."""
    months, signal = bedside.age_in_months, _READ.get(sent.signal)
    if not bedside.is_child or months is None or signal is None:
        return False
    latest = bedside.record.series(signal).latest
    return latest is not None and latest.at == sent.at and is_of_the_age(signal, latest.value, months)


def _of_another_age(bedside: Bedside, values: Sequence[SentValue]) -> Finding:
    said = "; ".join(f"{one.name} {one.shown}{_range(one.reference)}" for one in values)
    return tell(
        About(Kind.REPORTED_CRITICAL, "flags-of-another-age", Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, Course(min(one.at for one in values)), *values),
        brief="Flagged as critical by the sender, with no points at this age in Bedside PEWS",
        asks=said,
        measures=(Measure("reported", one.name, one.shown, at=one.at, origin=one.origin) for one in values),
        sources=(pews.BEDSIDE_PEWS[0].definition, _ANOTHER_AGE),
        decided_by="a critical flag of its sender's on a sign that scores 0 at this age",
    )


def _critical(bedside: Bedside, values: Sequence[SentValue], place: int, *, doubted: bool) -> Finding:
    newest = values[-1]
    since = (first_of_run(values, lambda one: one.flag is Flag.CRITICAL) or newest).at
    by = "its sender" if newest.vital or newest.signal.startswith("reported-") else "the laboratory"
    said = f"Reported as critical by {by}: {newest.name} {newest.shown}"
    own = f" (its own range {newest.reference})" if newest.reference else ""
    return tell(
        About(Kind.REPORTED_CRITICAL, newest.signal or f"value-{place}", Letter.CIRCULATION),
        Urgency.ROUTINE if doubted else Urgency.URGENT,
        rests_on(bedside, since, *(one for one in values if one.at >= since)),
        brief=said,
        sentence=f"{said} {bedside.clock.at(newest.at)}{own}.",
        measures=(Measure("reported", newest.name, newest.shown, at=newest.at, origin=newest.origin),),
        sources=(_CRITICAL, *((_ANOTHER_AGE,) if doubted else ())),
        decided_by="a critical flag of its sender's",
    )


def assess_not_judged(bedside: Bedside) -> Iterator[Finding]:
    """Name the newest results outside their own range that no rule judges, in one finding."""
    judged = COAGULATION if is_dic_asked(bedside) else ()
    read = [
        (signal, one)
        for signal, one in newest_unjudged(bedside.record, bedside.as_of, bedside.gases)
        if is_outside(one) and signal not in judged
    ]
    if not read:
        return
    said = [_read_words(signal, one) for signal, one in read]
    more = f"; and {len(said) - _MOST_NAMED} more" if len(said) > _MOST_NAMED else ""
    outside = "Newest results outside their own range, with no limit here"
    yield tell(
        About(Kind.NOT_JUDGED, "outside-own-range", Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(bedside, Course(min(one.at for _, one in read)), *read),
        brief=outside,
        asks=f"{'; '.join(said[:_MOST_NAMED])}{more}",
        sources=(_OUTSIDE,),
    )


def _read_words(signal: Signal, one: Measurement) -> str:
    low, high = one.reference_low, one.reference_high
    own = f"{low:f}-{high:f}" if low is not None and high is not None else ""
    if not own:
        own = f"up to {high:f}" if high is not None else f"from {low:f}"
    return f"{signal.short} {value_words(signal, one)}{_range(own)}"


def _range(own: str) -> str:
    return f" ({own})" if own else ""


def without_repeats(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Leave out a critical flag where a rule of ours speaks of the same value as urgently."""
    found = tuple(findings)
    speaking = [
        one
        for one in found
        if one.urgency >= Urgency.URGENT
        and one.state is not State.SETTLING
        and one.kind is not Kind.REPORTED_CRITICAL
        and not isinstance(one, MedicineFinding)
    ]
    return tuple(
        one
        for one in found
        if one.kind is not Kind.REPORTED_CRITICAL or not any(_speaks_of(each, one) for each in speaking)
    )


def _speaks_of(finding: Finding, flagged: Finding) -> bool:
    """Tell whether a finding rests on the flagged value, and not on another one of its panel."""
    origin = flagged.evidence[-1]
    measured = {measure.key for measure in finding.measures if measure.origin == origin}
    return flagged.key in measured if measured else origin in finding.evidence
