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
from weatherglass.facts.rounds.scoring import SetResult, highest_tier
from weatherglass.facts.whereabouts import Presence, Whereabouts, in_hospital_since
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.tables.scores import ResponseTier
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
            Measure("due", "next round due", f"every {_every(asked.every)}", at=due),
        ),
        sources=(*asked.sources, _GRACE, ours.STRAY_VALUES, *((_MENTAL_HEALTH,) if is_elsewhere else ())),
        cautions=("End-of-life care is recorded: observations may have been stopped on purpose.",)
        if dying
        else (),
        decided_by=f"no round within {_every(asked.every)} of the last",
    )


def _last_round(asked: _Asked) -> Measure:
    return Measure("last-round", "last round of observations", asked.because, at=asked.at)


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
    counted: _Counted | None = None
    for result in bedside.news2:
        if bedside.watched_since is not None and result.observed.end >= bedside.watched_since:
            counted = _next(result, counted) or counted
    if counted is None:
        return None
    recorded = (news2_2017.CONTINUOUS_MONITORING.source,) if counted.tier.is_continuous else ()
    return _Asked(
        counted.last.observed.end,
        counted.every,
        f"NEWS2 {counted.total}",
        (counted.tier.source, *recorded),
        tuple(dict.fromkeys((*counted.asks.origins, *counted.last.origins))),
    )


class _Counted(Plain, frozen=True):
    """The last round, and the one whose total says when the next is due: mostly the same.

    Attributes:
        tier: Of that total, or of the highest that an incomplete round could come to.
    """

    last: SetResult
    asks: SetResult
    tier: ResponseTier
    every: timedelta

    @property
    def total(self) -> str:
        """The total that asks, as it is said."""
        return self.asks.total_words if self.tier is self.asks.tier else f"of at most {self.asks.highest}"

    @property
    def least(self) -> int:
        """How many signs make another incomplete round of this size."""
        return (
            ours.SIGNS_OF_A_ROUND if self.last.is_complete else min(ours.SIGNS_OF_A_ROUND, _known(self.last))
        )


def _next(result: SetResult, before: _Counted | None) -> _Counted | None:
    """Return the round that is counted from after this one, None for a few stray values.

    A complete round counts, and so does one of which what is known asks for observations more often, or
    as often. An incomplete one that would ask less often has been taken all the same: the next is due as
    often as before, or as the highest total allows that it could come to.
    """
    own = _asking(result, result.tier)
    if own is None or before is None or result.is_complete or own.every < before.every:
        return own
    known = _known(result)
    if own.every == before.every and known >= before.least:
        return own
    if known < ours.SIGNS_OF_A_ROUND:
        return None
    highest = _asking(result, highest_tier(news2_2017.NEWS2, result))
    return highest if highest is not None and highest.every > before.every else replace(before, last=result)


def _asking(result: SetResult, tier: ResponseTier | None) -> _Counted | None:
    every = tier.observe_every if tier is not None else None
    return None if tier is None or every is None else _Counted(result, result, tier, every)


def _known(result: SetResult) -> int:
    return sum(one.points is not None for one in result.results)
