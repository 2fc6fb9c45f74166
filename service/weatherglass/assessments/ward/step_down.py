"""Did this patient leave critical care lately?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.whereabouts import open_stays
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.signals import Letter


def assess_step_down(bedside: Bedside) -> Iterator[Finding]:
    """Say that critical care ended within the last days, and when."""
    stays = [stay for stay in bedside.record.stays if stay.critical_care]
    if open_stays(stays, bedside.as_of):
        return  # Still there.
    left = max(
        (stay for stay in stays if stay.ends is not None), key=lambda s: s.ends or bedside.as_of, default=None
    )
    if left is None or left.ends is None:
        return
    ago = bedside.as_of - left.ends
    if ago > ours.STEP_DOWN_COUNTS_FOR.length:
        return
    since = bedside.clock.apart(left.ends, bedside.as_of)
    said = f"Out of critical care since {bedside.clock.full(left.ends)} ({since})"
    yield tell(
        About(Kind.CONTEXT, "step-down", Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(bedside, left.ends, left.origin, at=left.ends),
        brief=said,
        asks="watch more closely than the score asks",
        measures=(
            Measure(
                "left-critical-care",
                "left critical care",
                left.place or "critical care",
                at=left.ends,
                origin=left.origin,
            ),
        ),
        sources=(ours.STEP_DOWN_COUNTS_FOR, ours.RISING_AFTER_CRITICAL_CARE),
        cautions=(ours.RISING_AFTER_CRITICAL_CARE.text,),
    )
