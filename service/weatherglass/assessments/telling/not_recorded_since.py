"""What was abnormal when it was last recorded, and was left out of every round since.

One finding for all such parts of a score: the values, when they were, and that they are measured again. What
a later round does not hold is not over.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.score_findings import spell_out, urgency_of
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import observations_are_stopped
from weatherglass.facts.rounds.last_known import LastKnown, last_known
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.series.runs import last_run
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.model.findings import NOT_RECORDED_SINCE, Finding, Kind, ScorePart, Urgency
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.signals import CodedSignal, Letter
from weatherglass.model.tables.scores import ScoreDefinition
from weatherglass.model.words.brief_words import driver_of
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, listed


def not_recorded_since(
    bedside: Bedside, definition: ScoreDefinition, results: Sequence[SetResult]
) -> Iterator[Finding]:
    """Name what was abnormal in an earlier round and is not in the newest; a whole round since ends it."""
    rounds = last_known(definition, results, counts_for=bedside.choices.look_back)
    newest = rounds[-1] if rounds else None
    if newest is None or not newest.before or bedside.as_of - newest.at > bedside.choices.look_back:
        return
    parts = [spell_out(bedside, one)[place] for place, one in newest.before]
    oldest = min(one.observed.end for _, one in newest.before)
    urgency = _urgency(bedside, newest, oldest, alone=urgency_of(results[-1].tier))
    # What only waits to be measured again waits from when it was; what asks by its level, since that began.
    at_level = last_run([one.at for one in rounds], [_level(one) >= urgency for one in rounds])
    began = at_level if urgency >= Urgency.URGENT else oldest
    if urgency is Urgency.ROUTINE:  # The mind is told as a sign of its own, with when it was.
        parts = [one for one in parts if one.key != CodedSignal.CONSCIOUSNESS.value] or parts
    said = f"{capital(_values(bedside, parts))}, not recorded since"
    if results[-1].lowest and urgency >= Urgency.URGENT:
        total = "" if newest.filled.is_complete else "at least "
        said = f"{said}: {definition.name} {total}{newest.filled.lowest} with it"
    again = ", measure again now" if _is_watched(bedside) else ""
    tier = newest.filled.tier
    yield tell(
        About(Kind.SINGLE_SIGN, NOT_RECORDED_SINCE, Letter.OVERALL),
        urgency,
        rests_on(
            bedside,
            began if urgency is not Urgency.ROUTINE else None,
            *(origin for place, one in newest.before for origin in one.results[place].origins),
            at=oldest,
        ),
        brief=said,
        sentence=f"{said}; {lasting(bedside.as_of - oldest)} ago{again}.",
        dated=oldest,
        within=ours.MEASURED_AGAIN_WITHIN.length if urgency is Urgency.PROMPT else None,
        measures=(measure for part in parts for measure in part.measured),
        sources=(
            definition,
            ours.LAST_KNOWN,
            *((ours.MEASURED_AGAIN_WITHIN,) if urgency is Urgency.PROMPT else ()),
        ),
        decided_by=f"{definition.name} {tier.label} by what was last recorded" if tier is not None else "",
    )


def without_what_is_told(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Leave out what was not recorded since where each of its values is a sign of its own, as urgent."""
    signs = [one for one in findings if one.kind is Kind.SINGLE_SIGN and one.key != NOT_RECORDED_SINCE]

    def is_told(finding: Finding) -> bool:
        told = {origin for one in signs if one.urgency >= finding.urgency for origin in one.evidence}
        return told.issuperset(finding.evidence)

    return tuple(one for one in findings if one.key != NOT_RECORDED_SINCE or not is_told(one))


def is_to_be_completed(bedside: Bedside, result: SetResult) -> bool:
    """Tell whether an open round has so many points that somebody looks again, and nobody has for an hour."""
    return (
        not result.is_complete
        and result.lowest >= ours.OPEN_TOTAL.value
        and bedside.as_of - result.observed.end > ours.MEASURED_AGAIN_WITHIN.length
        and _is_watched(bedside)
    )


def _urgency(bedside: Bedside, newest: LastKnown, oldest: datetime, *, alone: Urgency) -> Urgency:
    """Return how soon somebody looks: as all that is known asks for, or because an open total waits.

    What the newest round asks for alone is its own to say.
    """
    level = _level(newest)
    if not _is_watched(bedside) or level <= alone:
        return Urgency.ROUTINE
    is_waiting = bedside.as_of - oldest > ours.MEASURED_AGAIN_WITHIN.length
    return level if level is not Urgency.PROMPT or is_waiting else Urgency.ROUTINE


def _level(one: LastKnown) -> Urgency:
    asked = urgency_of(one.filled.tier)
    return max(asked, Urgency.PROMPT) if one.filled.lowest >= ours.OPEN_TOTAL.value else asked


def _is_watched(bedside: Bedside) -> bool:
    """Tell whether somebody on a ward is to measure again."""
    return (
        bedside.in_hospital is not Presence.ELSEWHERE
        and not bedside.where.has_own_team
        and not bedside.directives(DirectiveKind.END_OF_LIFE)
        and not observations_are_stopped(bedside)
    )


def _when(part: ScorePart) -> datetime:
    """Return when a part was measured; one that scores always rests on something."""
    return next(measure.at for measure in part.measured if measure.at is not None)


def _values(bedside: Bedside, parts: Iterable[ScorePart]) -> str:
    """Name values with when each was: 'pulse 128 and systolic 94 at 07:30 on 20 November'."""
    dated = sorted(((_when(part), part) for part in parts), key=lambda one: (one[0], -(one[1].points or 0)))
    return ", ".join(
        f"{listed([driver_of(part) for _, part in together])} {bedside.clock.at(at)}"
        for at, together in groupby(dated, key=lambda one: one[0])
    )
