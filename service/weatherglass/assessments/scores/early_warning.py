"""How ill is this adult by the National Early Warning Score 2, and is the score whole?

The newest round of observations is shown first, complete or not. When it is not
complete, the last complete one within the look-back is shown beside it, because the
newest values and the newest total are two different things to know.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, begun_with, rests_on, tell
from weatherglass.assessments.telling.not_recorded_since import is_to_be_completed, not_recorded_since
from weatherglass.assessments.telling.score_findings import (
    AT_THIS_AGE,
    IN_PREGNANCY,
    WhyNot,
    not_applicable,
    round_at,
    rounds_told,
    score_finding,
    urgency_of,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import SetResult, highest_tier
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs.single_signs import OXYGEN_NOW
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, our_choice

_SCORE = news2_2017.NEWS2
_DISAGREES = our_choice("a reported total is shown beside the recomputed one, never in its place")
#: How many disagreeing rounds are named in the sentence; the evidence names all of them.
_SHOWN = 3


def assess_early_warning(bedside: Bedside) -> Iterator[Finding]:
    """Score the newest round by NEWS2, or say why the score does not apply."""
    excluded = _exclusion(bedside)
    if excluded is not None:
        if bedside.news2:
            yield not_applicable(_SCORE, excluded, at=bedside.news2[-1].observed.end)
        return
    results = bedside.news2
    if not results:
        return
    for count, is_current in rounds_told(bedside, results):
        yield _finding(bedside, results[:count], is_current=is_current)
    yield from not_recorded_since(bedside, _SCORE, results)
    yield from _reported(bedside, results)


def _exclusion(bedside: Bedside) -> WhyNot | None:
    if bedside.is_below(news2_2017.MINIMUM_AGE):
        return WhyNot(
            "NEWS2 is for people of 16 years and over",
            news2_2017.MINIMUM_AGE.source,
            "use a paediatric score",
            AT_THIS_AGE,
        )
    if bedside.is_pregnant_or_recently:
        return WhyNot(
            "NEWS2 is not designed for pregnancy or the weeks after it",
            news2_2017.NOT_IN_PREGNANCY.source,
            "use maternity criteria",
            IN_PREGNANCY,
        )
    return None


def _finding(bedside: Bedside, history: Sequence[SetResult], *, is_current: bool) -> Finding:
    result = history[-1]
    urgency = None if is_current else _at_most(bedside, result)
    if is_current and is_to_be_completed(bedside, result):
        urgency = max(urgency_of(result.tier), Urgency.PROMPT)
    found = score_finding(
        bedside,
        _SCORE,
        history,
        remark=", one parameter scores 3" if result.tier and result.tier.single_parameter else "",
        urgency=urgency,
        cautions=_cautions(bedside, result),
        sources=_of_the_scale(bedside),
        variant=_variant(result),
        is_current=is_current,
    )
    return begun_with(found, OXYGEN_NOW) if is_current and _wants_oxygen(bedside, result) else found


def _wants_oxygen(bedside: Bedside, result: SetResult) -> bool:
    """Tell whether the saturation of this round scores 3 below its range, is of now and can be believed."""
    if bedside.saturation_misleads or bedside.as_of - result.at > bedside.choices.stale_after:
        return False
    scores_3 = any(row.signal is Signal.SPO2 and one.points == 3 for row, one in result.scored)
    course = bedside.saturation
    return scores_3 and course is not None and bool(course.below) and course.below[-1]


def _at_most(bedside: Bedside, whole: SetResult) -> Urgency:
    """Rank an older complete round: no higher than the newest one could still come to."""
    newest = bedside.news2[-1]
    return min(urgency_of(whole.tier), urgency_of(highest_tier(_SCORE, newest)))


def _variant(result: SetResult) -> str:
    scale_2 = any(row.key == "spo2-scale-2" for row in result.rows)
    return "SpO2 scale 2" if scale_2 else "SpO2 scale 1"


def _cautions(bedside: Bedside, result: SetResult) -> Iterator[str]:
    if bedside.age is None:
        yield "Age is not recorded; NEWS2 is for people of 16 years and over."
    elif bedside.may_be_a_child:
        yield "Only part of the birth date is recorded: perhaps not yet 16; NEWS2 is for 16 years and over."
    if any(result.observed.was_carried(row.signal) for row in result.rows):
        yield "Alertness or air-or-oxygen is carried forward from just before this set."
    record = bedside.record
    scale_2 = bedside.scale_2_decision
    if scale_2 is not None:
        on_scale_1 = next((r for r in bedside.news2_scale_1 if r.observed.end == result.observed.end), None)
        if on_scale_1 is not None:
            yield (
                "SpO2 scale 2 by a recorded decision; on scale 1 the score would be "
                f"{on_scale_1.total_words}."
            )
    elif bedside.is_at_risk_of_keeping:
        on_scale_2 = bedside.on_scale_2(result.observed)
        if on_scale_2.total_words != result.total_words:
            yield f"On SpO2 scale 2 the score would be {on_scale_2.total_words}."
            yield "Confirm whether hypercapnic respiratory failure has been documented."
    if record.has(ConditionKind.SPINAL_CORD_INJURY):
        yield news2_2017.SPINAL_CORD_INJURY.text


def _of_the_scale(bedside: Bedside) -> tuple[Cited, ...]:
    """Return why this scale of saturation was used, where anybody could expect the other."""
    by_decision = news2_2017.SCALE_2_NEEDS_A_DECISION.source
    if bedside.scale_2_decision is not None:
        return (by_decision,)
    return (news2_2017.SCALE_2_ELIGIBILITY, by_decision) if bedside.is_at_risk_of_keeping else ()


class _Disagreement(Plain, frozen=True):
    """A total that somebody reported, and its round recomputed."""

    reported: Measurement
    recomputed: SetResult

    @property
    def total(self) -> int:
        """What the observations give."""
        return self.recomputed.lowest


def _reported(bedside: Bedside, results: Sequence[SetResult]) -> Iterator[Finding]:
    """Compare totals that somebody reported with the same rounds recomputed: one finding for all."""
    window = bedside.choices.observation_set_window
    wrong: list[_Disagreement] = []
    for reported in bedside.record.series(Signal.REPORTED_NEWS2):
        match = round_at(results, reported.at, window)
        if match is not None and match.total is not None and reported.value != match.total:
            wrong.append(_Disagreement(reported, match))
    if not wrong:
        return
    newest = wrong[: -_SHOWN - 1 : -1]
    too_low = any(one.total > one.reported.value for one in wrong)
    said = _disagreeing(bedside, newest, len(wrong))
    yield tell(
        About(Kind.REPORTED_SCORE_DISAGREES, _SCORE.key, Letter.OVERALL),
        Urgency.PROMPT if too_low else Urgency.ROUTINE,
        rests_on(
            bedside,
            None,
            *(one for each in wrong for one in (each.recomputed, each.reported)),
            at=newest[0].reported.at,
        ),
        brief=said,
        sentence=f"{said}{_the_newest(bedside, newest) if len(wrong) > 1 else ''}; check the chart.",
        measures=(measure for one in newest for measure in _both(one)),
        sources=(_SCORE, _DISAGREES),
        decided_by="reported and recomputed totals differ",
    )


def _disagreeing(bedside: Bedside, newest: Sequence[_Disagreement], count: int) -> str:
    if count == 1:
        (one,) = newest
        return (
            f"The reported NEWS2 of {plain(one.reported.value)} {bedside.clock.at(one.reported.at)} does not "
            f"agree with its observations, which give {one.total}"
        )
    return f"{count} reported NEWS2 totals do not agree with their observations"


def _the_newest(bedside: Bedside, newest: Sequence[_Disagreement]) -> str:
    told = [
        f"{plain(one.reported.value)} where these give {one.total} ({bedside.clock.full(one.reported.at)})"
        for one in newest
    ]
    return f"; the newest: {', '.join(told)}"


def _both(one: _Disagreement) -> Iterator[Measure]:
    yield Measure(
        "reported-total", "reported NEWS2", one.reported.value, at=one.reported.at, origin=one.reported.origin
    )
    yield Measure("recomputed-total", "recomputed NEWS2", Decimal(one.total), at=one.recomputed.observed.end)
