"""Is the next round of observations overdue?

The interval is the one that the last score asks for; where the score does not apply, the
least that is asked for any adult in hospital.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria import context_choices as ours
from weatherglass.clinical.criteria import news2_2017
from weatherglass.clinical.findings import Finding, Kind, Letter, Measure, Urgency
from weatherglass.clinical.record import DirectiveKind
from weatherglass.clinical.references import Origin
from weatherglass.clinical.runs import Run
from weatherglass.clinical.sources import Source, our_choice

_HOURLY = timedelta(hours=1)
_GRACE = our_choice("a round is overdue 15 minutes after it was due, unless the site says otherwise")


def assess_overdue(bedside: Bedside) -> Iterator[Finding]:
    """Compare the time since the last round with the interval that was asked for."""
    if not _is_here(bedside):
        return
    asked = _asked(bedside)
    if asked is None:
        return
    newest, interval, because, source, origins = asked
    due = newest + interval
    if bedside.as_of <= due + bedside.choices.observation_grace:
        return
    dying = bool(bedside.directives(DirectiveKind.END_OF_LIFE))
    urgency = Urgency.URGENT if interval <= _HOURLY else Urgency.PROMPT
    late = bedside.as_of - due
    clock = bedside.clock
    yield Finding(
        kind=Kind.OBSERVATIONS_OVERDUE,
        key="observations-overdue",
        letter=Letter.OVERALL,
        urgency=Urgency.ROUTINE if dying else urgency,
        sentence=(
            f"Observations are overdue by {lasting(late)}: the last round was {clock.at(newest)}, "
            f"{because} asks for one every {_every(interval)}, due {clock.full(due)}."
        ),
        at=newest,
        state=bedside.state_of(Run(due, bedside.as_of, is_present=True)),
        since=due,
        measures=(
            Measure(key="last-round", label="last round of observations", value=because, at=newest),
            Measure(key="due", label="next round due", value=f"every {_every(interval)}", at=due),
        ),
        evidence=origins,
        sources=(source, _GRACE),
        cautions=("End-of-life care is recorded: observations may have been stopped on purpose.",)
        if dying
        else (),
        decided_by=f"no round within {_every(interval)} of the last",
    )


def _every(interval: timedelta) -> str:
    return "hour" if interval == _HOURLY else lasting(interval)


def _is_here(bedside: Bedside) -> bool:
    """Tell whether the patient is in hospital, as far as the record tells.

    Without any recorded stay two days without observations are taken for having left.
    """
    if bedside.record.subject.deceased:
        return False
    stays = bedside.record.stays
    if stays:
        return any(stay.ends is None or stay.ends > bedside.as_of for stay in stays)
    return bool(bedside.sets) and bedside.as_of - bedside.sets[-1].end <= ours.GONE_AFTER.length


def _asked(bedside: Bedside) -> tuple[datetime, timedelta, str, Source, tuple[Origin, ...]] | None:
    """Return the last round, the interval, what asks for it, and the inputs."""
    if bedside.may_use_news2 and bedside.news2:
        result = bedside.news2[-1]
        tier = result.tier
        if tier is not None and tier.observe_every is not None:
            total = f"{result.total}" if result.is_complete else f"at least {result.lowest}"
            return (
                result.observed.end,
                tier.observe_every,
                f"NEWS2 {total}",
                tier.source,
                result.point().evidence,
            )
    is_child = bedside.age is not None and bedside.age < news2_2017.MINIMUM_AGE.years
    if is_child or not bedside.sets:
        return None
    newest = bedside.sets[-1]
    origins = tuple(dict.fromkeys(one.origin for one in newest.observed.values()))
    least = ours.LEAST_OBSERVATIONS
    return newest.end, least.length, "the guideline for adults in hospital", least.source, origins
