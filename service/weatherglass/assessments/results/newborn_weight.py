"""Has a newborn lost more of the birth weight than feeding explains, while signs are still calm?"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import newborn_weight as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.quantities import plain, round_half_up
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal

_WHOLE = Decimal(1)


def assess_newborn_weight(bedside: Bedside) -> Iterator[Finding]:
    """Hold the newest weight against the first one of the first days."""
    days = bedside.age_in_days
    if days is None or days > criteria.EARLY.length.days:
        return
    weights = [one for one in bedside.record.series(Signal.WEIGHT).items if one.is_exact and one.value > 0]
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
        sources=(
            (criteria.MUCH if much is not None else criteria.LOST).source,
            criteria.BIRTH_WEIGHT_BY.source,
        ),
        decided_by="more than a tenth of the birth weight lost",
    )


def _is_of_birth(bedside: Bedside, first: Measurement) -> bool:
    days = bedside.record.subject.age_in_days_at(bedside.local(first.at))
    return days is not None and days < criteria.BIRTH_WEIGHT_BY.length.days


def _lost(first: Measurement, one: Measurement) -> Decimal:
    return (first.value - one.value) / first.value
