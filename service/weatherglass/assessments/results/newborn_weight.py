"""Has a newborn lost more of the birth weight than feeding explains, or a child more than it may?"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import newborn_weight as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.clauses import Clause

_WHOLE = Decimal(1)


def assess_newborn_weight(bedside: Bedside) -> Iterator[Finding]:
    """Hold the newest weight against the first one of the first days."""
    if not bedside.is_child:
        return
    weights = [one for one in bedside.record.series(Signal.WEIGHT).items if one.is_exact and one.value > 0]
    days = bedside.age_in_days
    if days is None or days > criteria.EARLY.length.days:
        yield from _of_a_child(bedside, days, weights)
        return
    newest = weights[-1] if weights else None
    if (
        newest is None
        or bedside.as_of - newest.at > criteria.COUNTS_FOR.length
        or not _is_of_birth(bedside, weights[0])
    ):
        return
    first = weights[0]
    run = first_of_run(weights, lambda one: _lost(first, one) > criteria.LOST.value)
    if run is None:
        return
    share = plain(round_half_up(100 * _lost(first, newest), _WHOLE))
    head = f"Weight {plain(newest.value)} kg, {share} % less than {plain(first.value)} kg after birth"
    much = first_of_run(weights, lambda one: _lost(first, one) > criteria.MUCH.value)
    yield tell(
        About(Kind.METABOLIC, "newborn-weight", Letter.EXPOSURE),
        Urgency.URGENT if much is not None else Urgency.PROMPT,
        rests_on(
            bedside, run.at, first, (Signal.WEIGHT, newest), asked_since=much.at if much is not None else None
        ),
        brief=head,
        asks=criteria.ASKS.text,
        sources=((criteria.MUCH if much is not None else criteria.LOST), criteria.BIRTH_WEIGHT_BY),
        decided_by="more than a tenth of the birth weight lost",
    )


def _is_of_birth(bedside: Bedside, first: Measurement) -> bool:
    days = bedside.record.subject.age_in_days_at(bedside.local(first.at))
    return days is not None and days < criteria.BIRTH_WEIGHT_BY.length.days


def _lost(first: Measurement, one: Measurement) -> Decimal:
    return (first.value - one.value) / first.value


def _of_a_child(bedside: Bedside, days: int | None, weights: Sequence[Measurement]) -> Iterator[Finding]:
    """Hold the newest weight against the highest of two weeks in an illness that dries out."""
    if len(weights) < 2 or bedside.as_of - weights[-1].at > criteria.COUNTS_FOR.length:
        return
    newest, before = weights[-1], weights[:-1]
    oldest = newest.at - criteria.DRIED_WITHIN.length
    told = bedside.record.told_of(ConditionKind.VOMITING_OR_DIARRHOEA, ConditionKind.DEHYDRATION)
    is_told = any(one.at is not None and one.at >= newest.at - criteria.DRIED_BY.length for one in told)
    highest = max((one for one in before if one.at >= oldest), key=lambda one: one.value, default=None)
    if is_told and highest is not None and _lost(highest, newest) >= criteria.DRIED.value:
        is_much = _lost(highest, newest) >= criteria.DRIED_MUCH.value
        least, urgency = (
            (criteria.DRIED_MUCH, Urgency.URGENT) if is_much else (criteria.DRIED, Urgency.PROMPT)
        )
        began = _since(weights, highest, least.value)
        yield _less(bedside, highest, newest, began, "weight-lost", urgency, criteria.DRIED_ASKS)
        return
    is_infant = days is not None and days < criteria.NOT_GAINED_BELOW.length.days
    a_week_ago = [one for one in before if newest.at - one.at >= criteria.NOT_GAINED_AFTER.length]
    if is_infant and a_week_ago and newest.value < a_week_ago[-1].value:
        began = _since(weights, a_week_ago[-1], Decimal(0))
        yield _less(
            bedside,
            a_week_ago[-1],
            newest,
            began,
            "weight-not-gained",
            Urgency.PROMPT,
            criteria.NOT_GAINED,
        )


def _since(weights: Sequence[Measurement], first: Measurement, least: Decimal) -> datetime:
    """Return since when every weight after one has been lower by this share: a repeat moves nothing."""
    after = [one for one in weights if one.at > first.at]
    run = first_of_run(after, lambda one: one.value < first.value and _lost(first, one) >= least)
    return run.at if run is not None else after[-1].at


def _less(
    bedside: Bedside,
    first: Measurement,
    newest: Measurement,
    began: datetime,
    key: str,
    urgency: Urgency,
    asks: Clause,
) -> Finding:
    share = plain(round_half_up(100 * _lost(first, newest), _WHOLE))
    then = bedside.clock.day(first.at)
    return tell(
        About(Kind.METABOLIC, key, Letter.EXPOSURE),
        urgency,
        rests_on(bedside, began, first, (Signal.WEIGHT, newest)),
        brief=f"Weight {plain(newest.value)} kg, {share} % less than {plain(first.value)} kg on {then}",
        asks=asks.text,
        sources=(asks,),
        decided_by="a weight that has fallen in childhood",
    )
