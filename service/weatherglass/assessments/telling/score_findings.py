"""From scored rounds to findings: what every aggregate score says in the same way.

Each score has an assessment of its own that decides whether it applies and what has
to be added; how a total, an open total or a score that does not apply is reported is
the same for all of them and stands here.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final, TypedDict

from weatherglass.assessments.telling.basis import Course, course_of, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import has_ceiling
from weatherglass.facts.rounds.scoring import SetResult, highest_tier, parts_of
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import last_run
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.model.findings import (
    URGENCY_OF,
    Kind,
    Missing,
    MissingReason,
    ScoreFinding,
    ScorePart,
    State,
    Urgency,
)
from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Cited, Mark, Source, our_choice, sources_of
from weatherglass.model.tables.scores import ResponseTier, ScoreDefinition
from weatherglass.model.words.brief_words import score_in_brief
from weatherglass.model.words.lists import listed, small

LOWEST_TOTAL: Final = our_choice("a missing row leaves the total open; the lowest possible total is shown")
UNKNOWN_AGE: Final = f"Age is not recorded; the score is for adults, from {ours.ADULT_FROM.years} years."


def urgency_of(tier: ResponseTier | None) -> Urgency:
    """Return how soon a tier asks somebody to act."""
    return URGENCY_OF[tier.urgency] if tier is not None else Urgency.ROUTINE


def score_finding(
    bedside: Bedside,
    definition: ScoreDefinition,
    history: Sequence[SetResult],
    *,
    remark: str = "",
    sentence: str = "",
    urgency: Urgency | None = None,
    cautions: Iterable[str] = (),
    sources: tuple[Cited, ...] = (),
    variant: str = "",
    is_current: bool = True,
    is_secondary: bool = False,
) -> ScoreFinding:
    """Report the last round of a history.

    Args:
        bedside: The patient.
        definition: The score.
        history: Its rounds, oldest first; the last one is reported.
        remark: What follows the total, with its own comma.
        sentence: What a clinician reads first, where that is not the total with what scores in it.
        urgency: Instead of the tier's own, where the context takes it back.
        cautions: What to know of this result.
        sources: Further sources than the score's and the tier's.
        variant: Which variant of the score was used.
        is_current: False for an older round shown beside a newer incomplete one.
        is_secondary: True beside the score that was chosen for this patient.
    """
    result = history[-1]
    parts = spell_out(bedside, result)
    ranked = urgency_of(result.tier) if urgency is None else urgency
    found = ScoreFinding(
        kind=Kind.SCORE,
        key=definition.key,
        letter=Letter.OVERALL,
        urgency=ranked,
        sentence=sentence
        or _in_a_sentence(bedside, definition, result, parts, remark, is_current=is_current),
        brief=definition.name,
        **rests_on(
            bedside,
            tier_course(bedside, definition, history, ranked),
            result,
            measures=tuple(measure for part in parts for measure in part.measured),
        ),
        sources=_sources(definition, result, sources),
        cautions=tuple(cautions),
        decided_by=f"{definition.name} {result.tier.label}" if result.tier is not None else "",
        edition=definition.public_key,
        name=definition.name,
        **_points(result, parts),
        **_asked(bedside, definition, result),
        variant=variant,
        is_current=is_current,
        is_secondary=is_secondary,
        when=bedside.clock.full(result.observed.end) if is_older(bedside, result) else "",
        history=tuple(one.point() for one in history) if is_current else (),
    )
    return replace(found, brief=score_in_brief(found))


class _Points(TypedDict):
    """What a round scores; the fields of `ScoreFinding`."""

    total: int | None
    lowest: int
    highest: int
    parts: tuple[ScorePart, ...]
    missing: tuple[Missing, ...]
    unknown: tuple[str, ...]


def _points(result: SetResult, parts: tuple[ScorePart, ...]) -> _Points:
    return _Points(
        total=result.total,
        lowest=result.lowest,
        highest=result.highest,
        parts=parts,
        missing=tuple(part.missing for part in parts if part.missing is not None),
        unknown=tuple(_open_keys(result)),
    )


class _Asked(TypedDict):
    """What a score asks for; the fields of `ScoreFinding`."""

    tier: str
    highest_tier: str
    could_ask: Urgency
    response: str
    response_by: str
    monitoring: str
    monitoring_interval: timedelta | None


def _asked(bedside: Bedside, definition: ScoreDefinition, result: SetResult) -> _Asked:
    """Say what a total asks for, of an open one both what it asks for at its lowest and at its highest."""
    tier = result.tier
    # Who is not in hospital has nobody to come round.
    watched = tier if bedside.in_hospital is not Presence.ELSEWHERE else None
    is_limited = has_ceiling(bedside)
    response = _response(tier, is_limited=is_limited) if tier is not None else ""
    monitoring = watched.monitoring if watched is not None else ""
    highest = highest_tier(definition, result) if not result.is_complete else None
    if highest is tier:
        highest = None
    if highest is not None:
        # A total of nothing that is known asks for nothing, and is no answer.
        is_said = bool(response) and result.lowest > 0
        at_lowest = f"at the lowest possible total ({result.lowest}): {small(response)}; " if is_said else ""
        complete = "complete the set now"
        response = f"{at_lowest}{complete}: it could reach {result.highest} ({urgency_of(highest).word})"
        if monitoring:
            monitoring = f"{complete}; then {monitoring} if the total is still {result.lowest}"
    return _Asked(
        tier=tier.label if tier is not None else "",
        highest_tier=highest.label if highest is not None else "",
        could_ask=urgency_of(highest),
        response=response,
        response_by="We suggest"
        if tier is not None and tier.response_source is not None
        else "The publication asks for",
        monitoring=monitoring,
        monitoring_interval=_interval(watched) if watched is not None else None,
    )


def _interval(tier: ResponseTier) -> timedelta | None:
    """Return how long at most nobody looks; nothing where the monitoring has no pause."""
    return timedelta(0) if tier.is_continuous else tier.observe_every


def _response(tier: ResponseTier, *, is_limited: bool) -> str:
    """Return what a tier asks for; a recorded ceiling stands beside it and takes nothing away."""
    if is_limited and urgency_of(tier) >= Urgency.URGENT:
        return f"{tier.response}, only within the recorded limits of treatment"
    return tier.response


def _sources(
    definition: ScoreDefinition, result: SetResult, further: tuple[Cited, ...]
) -> tuple[Source, ...]:
    tier = result.tier
    named: list[Cited] = [definition]
    if tier is not None:
        named += [one for one in (tier.source, tier.response_source) if one is not None]
    # A row that is less certain than the rest of its score says so itself.
    named += [row.table for row in result.rows if row.table.source.mark is Mark.FROM_MEMORY]
    named += further
    if not result.is_complete:
        named.append(LOWEST_TOTAL)
    return sources_of(named)


AT_THIS_AGE, IN_PREGNANCY = "at this age", "in or after pregnancy"


class WhyNot(Plain, frozen=True):
    """Why a score does not apply, in a sentence; what to use in its place; for whom, in few words."""

    why: str
    source: Source
    instead: str = ""
    briefly: str = ""

    @property
    def said(self) -> str:
        """All of it, in sentences."""
        return f"{self.why}{f'; {self.instead}' if self.instead else ''}."


def not_applicable(
    definition: ScoreDefinition,
    why: WhyNot,
    *,
    at: datetime | None,
    is_secondary: bool = False,
) -> ScoreFinding:
    """Report that a score does not apply to this person, and why."""
    return ScoreFinding(
        kind=Kind.SCORE_NOT_APPLICABLE,
        key=definition.key,
        letter=Letter.OVERALL,
        urgency=Urgency.ROUTINE,
        sentence=f"{definition.name} was not computed. {why.said}",
        brief=f"{definition.name} not computed{f' {why.briefly}' if why.briefly else f': {why.why}'}",
        at=at,
        sources=(why.source,),
        edition=definition.public_key,
        name=definition.name,
        not_applicable=why.said,
        not_computed=why.briefly,
        is_secondary=is_secondary,
    )


def why_not_adult(bedside: Bedside) -> WhyNot | None:
    """Say why a score published for adults does not apply, None when it does.

    A person whose age is not recorded is taken as an adult; the caller says so.
    """
    if bedside.is_below(ours.ADULT_FROM):
        return WhyNot(
            "It is published for adults",
            ours.ADULT_FROM.source,
            f"from {ours.ADULT_FROM.years} years here. Use a paediatric score",
            AT_THIS_AGE,
        )
    if bedside.is_pregnant_or_recently:
        return WhyNot(
            "It was not made for pregnancy or the weeks after it",
            ours.NOT_IN_PREGNANCY.source,
            "use maternity criteria",
            IN_PREGNANCY,
        )
    return None


def recent_results(
    bedside: Bedside, rounds: Sequence[ObservationSet], score: Callable[[ObservationSet], SetResult]
) -> list[SetResult]:
    """Score rounds for a secondary score: the timeline's 72 hours, and further while a run goes on.

    What lies before that changes neither the total nor the state of the newest round.
    """
    earliest = bedside.as_of - ours.SECONDARY_HISTORY.length
    found: list[SetResult] = []
    for one in reversed(rounds):
        if found and one.end < earliest and urgency_of(found[-1].tier) < Urgency.PROMPT:
            break
        result = score(one)
        if not result.is_empty:
            found.append(result)
    found.reverse()
    return found


def tier_course(
    bedside: Bedside, definition: ScoreDefinition, history: Sequence[SetResult], urgency: Urgency
) -> Course:
    """Say since when a score has been at this urgency or above; routine is no run of its own.

    A score that is routine now and was not within the settling time is settling. An earlier round
    with too little in it to tell, such as a pulse alone, ends no run, nor does one that was a little better
    for a moment.
    """
    threshold = max(urgency, Urgency.PROMPT)
    telling = [one for one in history[:-1] if _tells(definition, one, threshold)] + [history[-1]]
    met = [urgency_of(one.tier) >= threshold for one in telling]
    for place in range(1, len(met) - 1):
        if met[place - 1] and not met[place] and met[place + 1]:
            met[place] = _is_a_lapse(*telling[place - 1 : place + 2])
    run = last_run([one.observed.end for one in telling], met)
    course = course_of(bedside, run)
    if course.state is State.SETTLING and not _tells(definition, history[-1], threshold):
        return Course()  # What is left open may be as bad as it was.
    return Course() if urgency is Urgency.ROUTINE and course.state is not State.SETTLING else course


def _is_a_lapse(before: SetResult, one: SetResult, after: SetResult) -> bool:
    """Tell whether a round was so little better, between two so close, that what it came to went on."""
    is_short = after.observed.end - before.observed.end <= ours.LAPSE.length
    return is_short and ours.LAPSE_POINTS.is_met_by(Decimal(min(before.lowest, after.lowest) - one.lowest))


def _tells(definition: ScoreDefinition, result: SetResult, threshold: Urgency) -> bool:
    """Tell whether a round is known to be at a threshold, or known to be below it."""
    if result.is_complete or urgency_of(result.tier) >= threshold:
        return True
    return urgency_of(highest_tier(definition, result)) < threshold


def is_older(bedside: Bedside, result: SetResult) -> bool:
    """Tell whether something was measured after a round, or it is old, so that its time is said."""
    end = result.observed.end
    return end < bedside.sets[-1].end or bedside.as_of - end > bedside.choices.stale_after


def rounds_told(bedside: Bedside, results: Sequence[SetResult]) -> Iterator[tuple[int, bool]]:
    """Yield the rounds that are told: the newest, and the last whole one where that is open.

    Each as how many of the rounds end with it, and whether it is the newest.
    """
    yield len(results), True
    whole = None if results[-1].is_complete else last_complete(bedside, results)
    if whole is not None:
        yield whole + 1, False


def last_complete(bedside: Bedside, results: Sequence[SetResult]) -> int | None:
    """Return the place of the newest complete round within the look-back, or of the present illness.

    However old it is: a stray value after it says nothing about what it came to. A later round that lacks
    one row alone does, where the whole one is older than the look-back.
    """
    earliest = bedside.as_of - bedside.choices.look_back
    began = min(earliest, bedside.watched_since or earliest)
    for place in range(len(results) - 1, -1, -1):
        one = results[place]
        if one.observed.end < began:
            return None
        if one.is_complete:
            return place
        if began < earliest and len(tuple(_open_keys(one))) == 1:
            began = earliest
    return None


def round_at(results: Sequence[SetResult], moment: datetime, window: timedelta) -> SetResult | None:
    """Return the round that something of this moment belongs to: the nearest within the window."""
    near = [
        result
        for result in results
        if result.observed.start - window <= moment <= result.observed.end + window
    ]
    return min(near, key=lambda r: abs(r.observed.end - moment)) if near else None


def spell_out(bedside: Bedside, result: SetResult) -> tuple[ScorePart, ...]:
    """Spell out the rows of a round for a reader; what was sent with it and not read is said so."""
    observed, window = result.observed, bedside.choices.observation_set_window
    is_newest = observed.end == bedside.sets[-1].end
    unread = {
        key
        for key, at in bedside.signs_unread.items()
        if (is_newest if at is None else observed.start - window <= at <= observed.end + window)
    }
    return parts_of(result, confusion_is_usual=bedside.confusion_is_usual, unread=unread)


def _in_a_sentence(
    bedside: Bedside,
    definition: ScoreDefinition,
    result: SetResult,
    parts: Sequence[ScorePart],
    remark: str,
    *,
    is_current: bool,
) -> str:
    """Say a total, what scores in it, and what is not known; when, where something is newer."""
    scoring = [f"{part.said} ({part.points})" for part in parts if part.points]
    because = f": {'; '.join(scoring)}" if scoring else ""
    then = f" {bedside.clock.at(result.observed.end)}" if is_older(bedside, result) else ""
    if result.total is not None:
        earlier = "" if is_current else " (last complete set)"
        return f"{definition.name} {result.total}{then}{earlier}{remark}{because}."
    return (
        f"{definition.name}{then} at least {result.lowest} (up to {result.highest}): "
        f"{listed(open_rows(result))} not known{because}."
    )


def open_rows(result: SetResult) -> list[str]:
    """Name the rows that leave the total open."""
    keys = set(_open_keys(result))
    # A comma of its own would read as two rows in a list.
    return [
        f"{row.name} on scale {row.scale}" if row.scale else row.label
        for row in result.rows
        if row.key in keys
    ]


def _open_keys(result: SetResult) -> Iterator[str]:
    for row, outcome in result.scored:
        if outcome.points is None and (row.required or outcome.reason is not MissingReason.NOT_RECORDED):
            yield row.key
