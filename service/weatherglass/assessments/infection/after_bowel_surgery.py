"""Is the C-reactive protein higher than it should be on this day after an operation on the bowel?"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.signs import slow_decline as limits
from weatherglass.knowledge.signs.slow_decline import DayLimit
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import value_words


def assess_after_bowel_surgery(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest C-reactive protein with the limit of its day, where it is not falling."""
    crp = bedside.exact(Signal.CRP, bedside.choices.laboratory_counts_for)
    operation = _operation(bedside)
    if not crp or operation is None:
        return
    newest = crp[-1]
    is_falling = len(crp) > 1 and newest.value < crp[-2].value
    first = first_of_run(crp, lambda one: _limit_met(bedside, one, operation.until) is not None)
    limit = _limit_met(bedside, newest, operation.until)
    if first is None or limit is None or is_falling:
        return
    yield _finding(bedside, newest, operation, limit, crp[-2] if len(crp) > 1 else None, first.at)


def _operation(bedside: Bedside) -> Done | None:
    over = [one for one in bedside.record.done(ProcedureKind.BOWEL_SURGERY) if not one.ongoing]
    return max(over, key=lambda one: (one.until, one.origin), default=None)


def _limit_met(bedside: Bedside, crp: Measurement, ended: datetime) -> DayLimit | None:
    """Return the limit of its day that a sample is above; the day of the operation is day 0."""
    day = (bedside.local(crp.at).date() - bedside.local(ended).date()).days
    limits_of_day = (one for one in limits.CRP_AFTER_OPERATION if one.day == day)
    return next((one for one in limits_of_day if one.cutoff.is_met_by(crp.value)), None)


def _finding(
    bedside: Bedside,
    newest: Measurement,
    operation: Done,
    limit: DayLimit,
    before: Measurement | None,
    since: datetime,
) -> Finding:
    value = f"C-reactive protein {value_words(Signal.CRP, newest)}"
    was = f", {plain(before.value)} before" if before is not None and before.value != newest.value else ""
    day = f"on day {limit.day} after {inside_a_sentence(operation.text)}"
    return tell(
        About(Kind.CRITICAL_RESULT, "crp-after-operation", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(bedside, since, (Signal.CRP, newest), operation.origin),
        brief=f"{value}{was} {day}: a leak to be excluded",
        sentence=f"{value}{was} {day}, above {plain(limit.cutoff.limit.value)}: a leak or another infection "
        "to be excluded.",
        sources=(limit.cutoff, limits.CRP_IS_PROMPT),
        decided_by="C-reactive protein above the limit of its day after bowel surgery",
    )
