"""Is a child tired out by breathing: severe effort, and a mind that is no longer clear?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import child_signs as criteria
from weatherglass.knowledge.limits.context_choices import VITAL_SIGNS_COUNT_FOR
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.signals import CodedSignal, Letter, RespiratoryEffort


def assess_exhaustion(bedside: Bedside) -> Iterator[Finding]:
    """Join the newest effort of breathing with alertness, in children who breathe for themselves."""
    efforts = bedside.record.coded(CodedSignal.RESPIRATORY_EFFORT)
    effort = efforts.recent(bedside.as_of, VITAL_SIGNS_COUNT_FOR.length)
    mind = bedside.altered_mind
    if not bedside.is_child or bedside.ventilation is not None or mind is None or effort is None:
        return
    first = first_of_run(efforts.items, lambda one: one.value is RespiratoryEffort.SEVERE)
    if first is None:
        return
    since = max(first.at, mind.since) if mind.since is not None else first.at
    head = f"A child tired out by breathing? Severe effort with {mind.words}"
    yield Finding(
        kind=Kind.SINGLE_SIGN,
        key="exhaustion",
        letter=Letter.BREATHING,
        urgency=Urgency.EMERGENCY,
        sentence=f"{head}: {criteria.TIRED.text}.",
        brief=head,
        **rests_on(bedside, since, effort, *mind.origins),
        measures=(
            Measure(
                key="respiratory-effort",
                label="effort of breathing",
                value=str(effort.value.value),
                at=effort.at,
                origin=effort.origin,
            ),
        ),
        sources=(criteria.TIRED.source, criteria.TIRED_CALLS),
        decided_by="severe effort of breathing with an altered mind",
    )
