"""Is the next round of observations overdue?

The interval is the one that the last score asks for; where the score does not apply, the
least that is asked for any adult in hospital. A stray value is no round: it neither puts
off what a round has asked for nor gives an interval of its own.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import observations_are_stopped
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.whereabouts import Presence, Whereabouts, in_hospital_since
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.words.clock_words import lasting

_HOURLY = timedelta(hours=1)
_MENTAL_HEALTH = our_choice(
    "on a mental health ward a round that is not asked for every hour calls nobody: days pass between them"
)
_GRACE = our_choice("a round is overdue 15 minutes after it was due, unless the site says otherwise")


class _Asked(Plain, frozen=True):
    """The round that the next one is counted from, and what asks for how often.

    Attributes:
        has_none: Whether there is no round yet, and it is counted from the beginning of the stay.
    """

    at: datetime
    every: timedelta
    because: str
    sources: tuple[Source, ...]
    evidence: tuple[Origin, ...]
    has_none: bool = False


def assess_overdue(bedside: Bedside) -> Iterator[Finding]:
    """Compare the time since the last round with the interval that was asked for."""
    is_watched = _is_here(bedside) and not observations_are_stopped(bedside)
    asked = _asked(bedside) if is_watched else None
    if asked is None:
        return
    due = asked.at + asked.every
    if bedside.as_of <= due + bedside.choices.observation_grace:
        return
    dying = bool(bedside.directives(DirectiveKind.END_OF_LIFE))
    urgency = Urgency.URGENT if asked.every <= _HOURLY else Urgency.PROMPT
    is_elsewhere = asked.every > _HOURLY and bedside.where is Whereabouts.MENTAL_HEALTH
    if is_elsewhere:
        urgency = Urgency.ROUTINE
    late = lasting(bedside.as_of - due)
    yield tell(
        About(Kind.OBSERVATIONS_OVERDUE, "observations-overdue", Letter.OVERALL),
        Urgency.ROUTINE if dying else urgency,
        rests_on(bedside, due, *asked.evidence, at=asked.at),
        brief=f"Observations overdue by {late}",
        sentence=_sentence(bedside, asked, due, late),
        measures=(
            *(() if asked.has_none else (_last_round(asked),)),
            Measure(key="due", label="next round due", value=f"every {_every(asked.every)}", at=due),
        ),
        sources=(
            *asked.sources,
            _GRACE,
            ours.STRAY_VALUES.source,
            *((_MENTAL_HEALTH,) if is_elsewhere else ()),
        ),
        cautions=("End-of-life care is recorded: observations may have been stopped on purpose.",)
        if dying
        else (),
        decided_by=f"no round within {_every(asked.every)} of the last",
    )


def _last_round(asked: _Asked) -> Measure:
    return Measure(key="last-round", label="last round of observations", value=asked.because, at=asked.at)


def _sentence(bedside: Bedside, asked: _Asked, due: datetime, late: str) -> str:
    clock, newest = bedside.clock, bedside.sets[-1].end
    if asked.has_none:
        return (
            f"Observations are overdue by {late}: none since the stay began {clock.at(asked.at)}; "
            f"{asked.because} asks for one every {_every(asked.every)}, due {clock.full(due)}."
        )
    since = f"; since then single values only, the newest {clock.at(newest)}" if newest > asked.at else ""
    return (
        f"Observations are overdue by {late}: the last round was {clock.at(asked.at)}, {asked.because} asks "
        f"for one every {_every(asked.every)}, due {clock.full(due)}{since}."
    )


def _every(interval: timedelta) -> str:
    return "hour" if interval == _HOURLY else lasting(interval)


def _is_here(bedside: Bedside) -> bool:
    """Tell whether the patient is in hospital, as far as the record tells.

    Without any recorded stay two days without observations are taken for having left.
    """
    if bedside.has_died or bedside.in_hospital is Presence.ELSEWHERE:
        return False
    if bedside.in_hospital is Presence.HERE:
        return True
    return bool(bedside.sets) and bedside.as_of - bedside.sets[-1].end <= ours.GONE_AFTER.length


def _asked(bedside: Bedside) -> _Asked | None:
    """Return what the next round is counted from, None where nothing asks for one."""
    if bedside.where is Whereabouts.THEATRE:
        return None  # Watched all the time, on a chart of its own.
    if bedside.signs_are_bygone:
        return _since_the_stay_began(bedside)
    may_use = bedside.may_use_news2 and not bedside.where.has_own_team
    asked = _by_score(bedside) if may_use else None
    if asked is not None:
        return asked
    if bedside.is_child or not bedside.sets:
        return None
    whole = [one for one in bedside.sets if len(one.observed) >= ours.SIGNS_OF_A_ROUND_AT_ALL]
    newest = whole[-1] if whole else bedside.sets[-1]
    origins = tuple(dict.fromkeys(one.origin for one in newest.observed.values()))
    least = ours.LEAST_OBSERVATIONS
    return _Asked(newest.end, least.length, "the guideline for adults in hospital", (least.source,), origins)


def _since_the_stay_began(bedside: Bedside) -> _Asked | None:
    """Return what is asked for from the arrival on: what an earlier stay asked for ended with it."""
    came = in_hospital_since(bedside.record, bedside.as_of)
    if came is None or bedside.is_child:
        return None
    least = ours.LEAST_OBSERVATIONS
    adults = "the guideline for adults in hospital"
    return _Asked(came, least.length, adults, (least.source,), (), has_none=True)


def _by_score(bedside: Bedside) -> _Asked | None:
    """Return the last round that counts as one, with the interval that its total asks for."""
    counts: SetResult | None = None
    for result in bedside.news2:
        if bedside.watched_since is None or result.observed.end < bedside.watched_since:
            continue
        if _interval(result) is not None and (counts is None or _is_a_round(result, counts)):
            counts = result
    every = _interval(counts) if counts is not None else None
    if counts is None or counts.tier is None or every is None:
        return None
    recorded = (news2_2017.CONTINUOUS_MONITORING.source,) if counts.tier.is_continuous else ()
    return _Asked(
        counts.observed.end,
        every,
        f"NEWS2 {counts.total_words}",
        (counts.tier.source, *recorded),
        counts.origins,
    )


def _interval(result: SetResult) -> timedelta | None:
    return result.tier.observe_every if result.tier is not None else None


def _known(result: SetResult) -> int:
    return sum(one.points is not None for one in result.results)


def _is_a_round(result: SetResult, before: SetResult) -> bool:
    """Tell whether a result takes the place of an earlier round as the last one.

    A complete one does; an incomplete one where what is known of it asks for observations more
    often, or as often and it is more than a few stray values.
    """
    every, earlier = _interval(result), _interval(before)
    if result.is_complete or every is None or earlier is None:
        return result.is_complete
    enough = ours.SIGNS_OF_A_ROUND if before.is_complete else min(ours.SIGNS_OF_A_ROUND, _known(before))
    return every < earlier or (every == earlier and _known(result) >= enough)
