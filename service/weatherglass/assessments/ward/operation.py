"""How many days ago was the last operation?"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.model.findings import POST_OPERATIVE_DAY, Finding, Kind, Measure, Urgency
from weatherglass.model.record.care import OPERATIONS
from weatherglass.model.signals import Letter


def assess_operation(bedside: Bedside) -> Iterator[Finding]:
    """Say the post-operative day; the day of the operation is day 0."""
    done = bedside.record.done(*OPERATIONS)
    newest = max(done, key=lambda one: (one.until, one.origin), default=None)
    if newest is None:
        return
    ended = newest.until
    if ended > bedside.as_of or bedside.as_of - ended > ours.POST_OPERATIVE_FOR.length:
        return
    day = (bedside.local(bedside.as_of).date() - bedside.local(ended).date()).days
    yield tell(
        About(Kind.CONTEXT, POST_OPERATIVE_DAY, Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(bedside, ended, newest, at=ended),
        brief=f"Post-operative day {day}",
        asks=f"{newest.text}, {bedside.clock.full(ended)}",
        measures=(
            Measure(
                "post-operative-day", "days since the operation", Decimal(day), at=ended, origin=newest.origin
            ),
        ),
        sources=(ours.POST_OPERATIVE_FOR,),
        cautions=("Bleeding, infection, clots and opioids come first to mind after an operation.",),
    )
