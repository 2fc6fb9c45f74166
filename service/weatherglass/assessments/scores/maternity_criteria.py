"""Is any Maternal Early Warning Criterion met, in pregnancy and the 42 days after it?

Any single criterion asks for somebody at the bedside; nothing is added up. The total of
a maternity score is read where somebody reported it, and followed.
"""

from collections.abc import Iterator, Sequence
from decimal import ROUND_DOWN, Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.not_recorded_since import not_recorded_since
from weatherglass.assessments.telling.reported_scores import follow_reported
from weatherglass.assessments.telling.score_findings import (
    WhyNot,
    is_older,
    not_applicable,
    open_rows,
    rounds_told,
    score_finding,
    spell_out,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.oxygen_course import is_more_oxygen, is_much, oxygen_course
from weatherglass.facts.kidneys.urine import Passed, UrineChart
from weatherglass.facts.pregnancy import pregnant_now
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.scoring import RowResult, SetResult, missing_row, number_row, score_set
from weatherglass.facts.rounds.timeline import ObservationSet, is_on_oxygen, oxygen_of
from weatherglass.knowledge.scores import maternal_criteria_2014 as criteria
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.knowledge.sepsis import maternal_sepsis
from weatherglass.model.findings import Finding, Kind, Measure, MissingReason, ScorePart, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, OxygenDelivery, Signal
from weatherglass.model.sources import Publication
from weatherglass.model.tables.bands import Compare
from weatherglass.model.tables.scores import CutoffTable, ScoreParameter
from weatherglass.model.words.lists import listed

_SCORE: Final = criteria.MATERNAL_CRITERIA
#: What is published about the national score, whose table is not computed here.
_NATIONAL: Final = Publication(
    key="gerry-2024",
    citation=(
        "Gerry S, Bedford J, Redfern OC, et al. Development of a national maternity early warning "
        "score: centile based score development and Delphi informed escalation pathways. "
        "BMJ Med 2024;3:e000748"
    ),
    address="https://pmc.ncbi.nlm.nih.gov/articles/PMC11097818",
).at("Abstract, escalation from a total of 2")


def assess_maternity_criteria(bedside: Bedside) -> Iterator[Finding]:
    """Look for single criteria in the newest round, and follow a reported maternity total."""
    yield from follow_reported(
        bedside,
        Signal.REPORTED_MATERNITY_SCORE,
        note="It is not worked out here; the national score escalates from a total of 2.",
        levels=((ours.REPORTED_MATERNITY_PROMPT, Urgency.PROMPT),),
        source=_NATIONAL,
    )
    if not bedside.is_pregnant_or_recently:
        if _SCORE.key in bedside.choices.scores and bedside.sets:
            why = "It is for pregnancy and the 42 days after it, and neither is recorded"
            yield not_applicable(_SCORE, WhyNot(why, ours.MATERNITY.source), at=bedside.sets[-1].end)
        return
    yield from _oxygen_from_the_first(bedside)
    results = _results(bedside)
    if not results:
        return
    for count, is_current in rounds_told(bedside, results):
        yield _finding(bedside, results[:count], is_current=is_current)
    yield from not_recorded_since(bedside, _SCORE, results)


def _oxygen_from_the_first(bedside: Bedside) -> Iterator[Finding]:
    """Say that oxygen is needed where nothing earlier is recorded to compare it with."""
    course = bedside.oxygen_course
    newest = course[-1] if course else None
    if newest is None or not all(point.is_oxygen for point in course):
        return
    if bedside.as_of - course[0].at > criteria.NEW_OXYGEN.length or not newest.is_fresh:
        return
    if any(is_more_oxygen(newest, point) for point in course[:-1]):
        return  # The growing need is said by its own rule.
    spo2 = bedside.sets[newest.place].number(Signal.SPO2)
    reached = f"; saturation {plain(spo2.value)} %" if spo2 is not None else ""
    yield tell(
        About(Kind.OXYGEN_REQUIREMENT, "oxygen-in-pregnancy", Letter.BREATHING),
        Urgency.URGENT if is_much(newest) else Urgency.PROMPT,
        rests_on(bedside, course[0].at, newest, spo2, at=newest.at),
        brief=f"Oxygen is needed: {newest.words}{reached}",
        sentence=f"Oxygen is needed in pregnancy or soon after: {newest.words}{reached}.",
        measures=(measure_of(Signal.SPO2, spo2),) if spo2 is not None else (),
        sources=(criteria.NEW_OXYGEN, maternal_sepsis.OXYGEN),
        decided_by="oxygen is needed in pregnancy, and no earlier air is recorded",
    )


def _results(bedside: Bedside) -> list[SetResult]:
    chart = bedside.kidneys.urine
    scored = [
        score_set(
            _SCORE,
            one,
            _SCORE.parameters,
            special={"spo2": on_air, "urine-output": lambda o: oliguria(o, chart)},
            confusion_is_usual=bedside.confusion_is_usual,
        )
        for one in bedside.sets
    ]
    return [result for result in scored if not result.is_empty]


_ROWS: Final[dict[str, ScoreParameter]] = {row.key: row for row in _SCORE.parameters}


def on_air(observed: ObservationSet) -> RowResult:
    """Judge saturation, which is printed for room air.

    Below the limit it is met whatever is breathed. At or above it a need of 40 % oxygen or
    more meets it (ours); with less oxygen it is not met, and the oxygen is said.
    """
    result = number_row(_ROWS["spo2"], observed.number(Signal.SPO2))
    if result.points != 0:
        return result
    oxygen = oxygen_of(observed)
    if oxygen is None:
        return RowResult(None, 0, 1, result.origins, MissingReason.UNKNOWN_OXYGEN)
    if oxygen.value is OxygenDelivery.AIR:
        return result
    points = int(_is_much_oxygen(observed))
    return RowResult(points, points, points, (*result.origins, *oxygen.origins))


def _is_much_oxygen(observed: ObservationSet) -> bool:
    points = oxygen_course((observed,))
    return bool(points) and is_much(points[-1])


def oliguria(observed: ObservationSet, chart: UrineChart) -> RowResult:
    """Judge urine output over the shortest charted time of at least two hours before a round."""
    row = _ROWS["urine-output"]
    passed = chart.shortest(observed.end, at_least=criteria.URINE_WINDOW.length)
    if passed is None or not isinstance(row.table, CutoffTable):
        return missing_row(row)
    points = row.table.points_of(passed.per_hour)
    return RowResult(points, points, points, passed.origins, measured=(_passed(passed),))


def _passed(passed: Passed) -> Measure:
    """Return the hourly rate, cut so that no limit is reached by rounding."""
    rate = passed.per_hour.quantize(Decimal(1), rounding=ROUND_DOWN)
    rate_of = Signal.URINE_RATE
    return Measure(rate_of.value, rate_of.label, rate, rate_of.unit, passed.ended, passed.origins[-1])


def _finding(bedside: Bedside, history: Sequence[SetResult], *, is_current: bool) -> Finding:
    result = history[-1]
    return score_finding(
        bedside,
        _SCORE,
        history,
        sentence=_sentence(bedside, result, is_current=is_current),
        cautions=_cautions(bedside, result),
        sources=(ours.MATERNITY, *((ours.SATURATION_ON_OXYGEN,) if is_on_oxygen(result.observed) else ())),
        is_current=is_current,
    )


def _sentence(bedside: Bedside, result: SetResult, *, is_current: bool) -> str:
    parts = spell_out(bedside, result)
    then = f" {bedside.clock.at(result.observed.end)}" if is_older(bedside, result) else ""
    criteria_then = f"Maternal Early Warning Criteria{then}"
    met = [_met(result, row, part) for row, part in zip(result.rows, parts, strict=True) if part.points]
    unknown = open_rows(result)
    rest = f" Not known: {listed(unknown)}." if unknown else ""
    rest += _beside(result)
    earlier = "" if is_current else " (last complete set)"
    if met:
        count = "one is" if len(met) == 1 else f"{len(met)} are"
        return f"{criteria_then}: {count} met{earlier}: {'; '.join(met)}.{rest}"
    if unknown:
        return f"{criteria_then}: none met by what is recorded.{rest}"
    return f"{criteria_then}: none met{earlier}.{_beside(result)}"


def _met(result: SetResult, row: ScoreParameter, part: ScorePart) -> str:
    """Say a criterion that is met: with its limit, or with the oxygen that is needed."""
    limit = _limit(row, part)
    if row.key == "spo2" and not limit:
        return f"oxygen saturation {part.shown} by {_breathed(result)}"
    if row.key == "spo2" and is_on_oxygen(result.observed):
        return f"oxygen saturation {part.shown} by {_breathed(result)}{limit}"
    return f"{part.said}{limit}"


def _breathed(result: SetResult) -> str:
    points = oxygen_course((result.observed,))
    return points[-1].words if points else "oxygen"


def _beside(result: SetResult) -> str:
    """Say that a saturation which meets nothing was measured on oxygen."""
    spo2 = result.observed.number(Signal.SPO2)
    row = next((one for each, one in result.scored if each.key == "spo2"), None)
    if spo2 is None or row is None or row.points != 0 or not is_on_oxygen(result.observed):
        return ""
    return f" Saturation {plain(spo2.value)} % is on oxygen ({_breathed(result)}); the criterion is for air."


_WORDS: Final = {Compare.BELOW: "below", Compare.ABOVE: "above"}


def _limit(row: ScoreParameter, part: ScorePart) -> str:
    if not isinstance(row.table, CutoffTable) or not part.measured:
        return ""
    value = part.measured[0].value
    if isinstance(value, str):
        return ""
    crossed = [c for c in row.table.cutoffs if c.is_met_by(value)]
    return f" ({_WORDS[crossed[0].compare]} {crossed[0].limit.value})" if crossed else ""


def _cautions(bedside: Bedside, result: SetResult) -> Iterator[str]:
    if bedside.record.has(ConditionKind.PREECLAMPSIA):
        yield criteria.PREECLAMPSIA_SYMPTOMS.text
    known = pregnant_now(bedside.record, bedside.as_of)
    if known is not None and known.by_test:
        yield ours.KNOWN_BY_TEST.text
    if result.lowest:
        yield criteria.VERIFY_SINGLE_VALUES.text
