"""How ill is this adult by the National Early Warning Score 2, and is the score whole?

The newest round of observations is shown first, complete or not. When it is not
complete, the last complete one within the look-back is shown beside it, because the
newest values and the newest total are two different things to know.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import news2_2017
from weatherglass.clinical.findings import (
    Finding,
    Kind,
    Letter,
    Measure,
    ScoreFinding,
    ScorePart,
    State,
    Urgency,
)
from weatherglass.clinical.record import ConditionKind, Remark
from weatherglass.clinical.runs import last_run, state_of
from weatherglass.clinical.scores import ResponseTier
from weatherglass.clinical.scoring import SetResult, parts_of
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source, our_choice

_SCORE = news2_2017.NEWS2
_URGENCY = {
    "emergency": Urgency.EMERGENCY,
    "urgent": Urgency.URGENT,
    "prompt": Urgency.PROMPT,
    "routine": Urgency.ROUTINE,
}
_LOWEST_TOTAL = our_choice("a missing row leaves the total open; the lowest possible total is shown")
_DISAGREES = our_choice("a reported total is shown beside the recomputed one, never in its place")


def assess_early_warning(bedside: Bedside) -> Iterator[Finding]:
    """Score the newest round by NEWS2, or say why the score does not apply."""
    excluded = _exclusion(bedside)
    if excluded is not None:
        if bedside.news2:
            yield _not_applicable(bedside, *excluded)
        return
    results = bedside.news2
    if not results:
        return
    newest = results[-1]
    yield _finding(bedside, newest, results, is_current=True)
    if not newest.is_complete:
        whole = _last_complete(bedside, results)
        if whole is not None:
            yield _finding(bedside, whole, results[: results.index(whole) + 1], is_current=False)
    yield from _reported(bedside, results)


def _exclusion(bedside: Bedside) -> tuple[str, Source] | None:
    age = bedside.age
    if age is not None and age < news2_2017.MINIMUM_AGE.years:
        return (
            "NEWS2 is for people of 16 years and over; use a paediatric score.",
            news2_2017.MINIMUM_AGE.source,
        )
    if bedside.is_pregnant_or_recently:
        return (
            "NEWS2 is not designed for pregnancy or the weeks after it; use maternity criteria.",
            news2_2017.NOT_IN_PREGNANCY.source,
        )
    return None


def _not_applicable(bedside: Bedside, why: str, source: Source) -> ScoreFinding:
    newest = bedside.news2[-1]
    return ScoreFinding(
        kind=Kind.SCORE_NOT_APPLICABLE,
        key=_SCORE.key,
        letter=Letter.OVERALL,
        urgency=Urgency.ROUTINE,
        sentence=f"NEWS2 was not computed. {why}",
        at=newest.observed.end,
        evidence=newest.point().evidence,
        sources=(source,),
        score=_SCORE.key,
        edition=_SCORE.public_key,
        name=_SCORE.name,
        not_applicable=why,
    )


def _last_complete(bedside: Bedside, results: Sequence[SetResult]) -> SetResult | None:
    earliest = bedside.as_of - bedside.choices.look_back
    for result in reversed(results):
        if result.observed.end < earliest:
            return None
        if result.is_complete:
            return result
    return None


def _finding(
    bedside: Bedside, result: SetResult, history: Sequence[SetResult], *, is_current: bool
) -> ScoreFinding:
    tier = result.tier or news2_2017.ZERO
    parts = parts_of(result, confusion_is_usual=bedside.confusion_is_usual)
    point = result.point()
    since, state = _state(bedside, history, tier)
    return ScoreFinding(
        kind=Kind.SCORE,
        key=_SCORE.key,
        letter=Letter.OVERALL,
        urgency=_URGENCY[tier.urgency],
        sentence=_sentence(result, parts, tier, is_current=is_current),
        at=result.observed.end,
        state=state,
        since=since,
        measures=tuple(measure for part in parts for measure in part.measured),
        evidence=point.evidence,
        missing=tuple(part.missing for part in parts if part.missing is not None),
        sources=(_SCORE.source, tier.source, *((_LOWEST_TOTAL,) if not result.is_complete else ())),
        cautions=tuple(_cautions(bedside, result)),
        decided_by=f"NEWS2 {tier.label}",
        provisional=_is_provisional(result),
        score=_SCORE.key,
        edition=_SCORE.public_key,
        name=_SCORE.name,
        total=result.total,
        lowest=result.lowest,
        highest=result.highest,
        parts=parts,
        tier=tier.label,
        response=tier.response,
        monitoring=tier.monitoring,
        monitoring_interval=tier.observe_every,
        variant=_variant(result),
        is_current=is_current,
        history=tuple(one.point() for one in history) if is_current else (),
    )


def _variant(result: SetResult) -> str:
    scale_2 = any(row.key == "spo2-scale-2" for row in result.rows)
    return "SpO2 scale 2" if scale_2 else "SpO2 scale 1"


def _state(
    bedside: Bedside, history: Sequence[SetResult], tier: ResponseTier
) -> tuple[datetime | None, State | None]:
    """Say since when the score has been at this tier or above."""
    urgency = _URGENCY[tier.urgency]
    if urgency is Urgency.ROUTINE:
        return None, None
    run = last_run(
        [one.observed.end for one in history],
        [one.tier is not None and _URGENCY[one.tier.urgency] >= urgency for one in history],
    )
    choices = bedside.choices
    state = state_of(run, bedside.as_of, new_within=choices.new_within, settled_within=choices.settled_within)
    return (run.since if run is not None else None), state


def _sentence(result: SetResult, parts: Sequence[ScorePart], tier: ResponseTier, *, is_current: bool) -> str:
    scoring = [f"{part.label} {part.shown} ({part.points})" for part in parts if part.points]
    because = f": {'; '.join(scoring)}" if scoring else ""
    if result.total is not None:
        red = ", one parameter scores 3" if tier is not news2_2017.ZERO and result.highest_single == 3 else ""
        earlier = "" if is_current else " (last complete set)"
        return f"NEWS2 {result.total}{earlier}{red}{because}."
    open_rows = [part.label for part in parts if part.points is None]
    return (
        f"NEWS2 at least {result.lowest} (between {result.lowest} and {result.highest}): "
        f"{_listed(open_rows)} not known{because}."
    )


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _cautions(bedside: Bedside, result: SetResult) -> Iterator[str]:
    if bedside.age is None:
        yield "Age is not recorded; NEWS2 is for people of 16 years and over."
    if any(result.observed.was_carried(row.signal) for row in result.rows):
        yield "Alertness or air-or-oxygen is carried forward from just before this set."
    record = bedside.record
    scale_2 = bedside.scale_2_decision
    if scale_2 is not None:
        on_scale_1 = next((r for r in bedside.news2_scale_1 if r.observed.end == result.observed.end), None)
        if on_scale_1 is not None:
            total = f"{on_scale_1.total}" if on_scale_1.is_complete else f"at least {on_scale_1.lowest}"
            yield f"SpO2 scale 2 by a recorded decision; on scale 1 the score would be {total}."
    elif record.has(ConditionKind.COPD, ConditionKind.HYPERCAPNIA):
        yield (
            "Scored on SpO2 scale 1: no decision to use scale 2 is recorded. Confirm whether "
            "hypercapnic respiratory failure has been documented."
        )
    if record.has(ConditionKind.SPINAL_CORD_INJURY):
        yield news2_2017.SPINAL_CORD_INJURY.text


def _is_provisional(result: SetResult) -> bool:
    return any(
        Remark.PROVISIONAL in item.remarks
        for item in (*result.observed.observed.values(), *result.observed.carried.values())
    )


def _reported(bedside: Bedside, results: Sequence[SetResult]) -> Iterator[Finding]:
    """Compare totals that somebody reported with the same round recomputed."""
    window = bedside.choices.observation_set_window
    for reported in bedside.record.series(Signal.REPORTED_NEWS2):
        match = _round_at(results, reported.at, window)
        if match is None or match.total is None or reported.value == match.total:
            continue
        difference = match.total - int(reported.value)
        yield Finding(
            kind=Kind.REPORTED_SCORE_DISAGREES,
            key=_SCORE.key,
            letter=Letter.OVERALL,
            urgency=Urgency.PROMPT if difference > 0 else Urgency.ROUTINE,
            sentence=(
                f"The reported NEWS2 of {reported.value} does not agree with its observations, which "
                f"give {match.total}; check the chart."
            ),
            at=reported.at,
            measures=(
                Measure(
                    key="reported-total",
                    label="reported NEWS2",
                    value=reported.value,
                    at=reported.at,
                    origin=reported.origin,
                ),
                Measure(
                    key="recomputed-total",
                    label="recomputed NEWS2",
                    value=Decimal(match.total),
                    at=match.observed.end,
                ),
            ),
            evidence=tuple(dict.fromkeys((*match.point().evidence, reported.origin))),
            sources=(_SCORE.source, _DISAGREES),
            decided_by="reported and recomputed totals differ",
        )


def _round_at(results: Sequence[SetResult], moment: datetime, window: timedelta) -> SetResult | None:
    """Return the round a reported total belongs to: the nearest one within the window."""
    near = [
        result
        for result in results
        if result.observed.start - window <= moment <= result.observed.end + window
    ]
    return min(near, key=lambda r: abs(r.observed.end - moment)) if near else None
