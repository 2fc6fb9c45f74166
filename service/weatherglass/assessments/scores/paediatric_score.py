"""How ill is this child, by Bedside PEWS, and how has a reported national total moved?

Each round is scored with the rows of the child's age at that round. The total of the
national paediatric system is read where somebody reported it, and followed; its table
is not computed here.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from weatherglass.assessments.telling.not_recorded_since import not_recorded_since
from weatherglass.assessments.telling.reported_scores import follow_reported
from weatherglass.assessments.telling.score_findings import WhyNot, not_applicable, rounds_told, score_finding
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.calm_child import is_whole_enough
from weatherglass.facts.newborn import is_early_newborn
from weatherglass.facts.rounds.scoring import RowResult, SetResult, number_row, score_set
from weatherglass.facts.rounds.timeline import ObservationSet, oxygen_of
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.model.findings import Finding, MissingReason, ScoreFinding, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.signals import OxygenDelivery, Signal
from weatherglass.model.tables.scores import AgedScore, ScoreDefinition, ScoreParameter
from weatherglass.model.words.brief_words import score_in_brief

_KEY: Final = pews.BEDSIDE_PEWS[0].definition.key

_REPORTED: Final = (
    (ours.REPORTED_PAEDIATRIC_URGENT, Urgency.URGENT),
    (ours.REPORTED_PAEDIATRIC_PROMPT, Urgency.PROMPT),
)


def assess_paediatric_score(bedside: Bedside) -> Iterator[Finding]:
    """Score a child's newest round by Bedside PEWS, and follow a reported national total."""
    yield from follow_reported(
        bedside,
        Signal.REPORTED_PAEDIATRIC_SCORE,
        note="It is not worked out here.",
        levels=_REPORTED,
    )
    asked_for = _KEY in bedside.choices.scores
    why = _why_not(bedside, asked_for=asked_for)
    if why:
        if asked_for and bedside.sets:
            definition = pews.BEDSIDE_PEWS[-1].definition
            yield not_applicable(definition, why, at=bedside.sets[-1].end)
        return
    results = _results(bedside)
    if not results:
        return
    for count, is_current in rounds_told(bedside, [result for _, result in results]):
        yield _finding(bedside, results[:count], is_current=is_current)
    yield from not_recorded_since(bedside, results[-1][0].definition, [result for _, result in results])


def _why_not(bedside: Bedside, *, asked_for: bool) -> WhyNot | None:
    age, source = bedside.age, ours.CHILD_UNTIL.source
    if age is None:
        return WhyNot("Age is not recorded, and every row depends on it", source)
    if age >= (ours.CHILD_UNTIL if asked_for else ours.ADULT_FROM).years:
        return WhyNot("It is published for children", source)
    if bedside.is_pregnant_or_recently:
        return WhyNot("Normal values of children do not hold in pregnancy", source, "use maternity criteria")
    if is_early_newborn(bedside.record, bedside.as_of):
        return WhyNot(ours.OF_TERM_BABIES.text, ours.OF_TERM_BABIES.source, "use the chart of the unit")
    return None


def _results(bedside: Bedside) -> list[tuple[AgedScore, SetResult]]:
    subject = bedside.record.subject
    found: list[tuple[AgedScore, SetResult]] = []
    for one in bedside.sets:
        months = subject.age_in_months_at(bedside.local(one.end))
        band = next((b for b in pews.BEDSIDE_PEWS if months is not None and b.covers(months)), None)
        if band is None:
            continue
        rows = [row for row in band.definition.parameters if row.key not in _AMOUNTS]
        result = score_set(band.definition, one, rows, special={"oxygen-therapy": oxygen_therapy})
        if not result.is_empty:
            found.append((band, result))
    return found


#: Rows that decide, with the kind of oxygen, the one row "oxygen therapy".
_AMOUNTS: Final = frozenset(("oxygen-flow", "oxygen-fraction"))
_ROWS: Final[dict[str, ScoreParameter]] = {row.key: row for row in pews.BEDSIDE_PEWS[0].definition.parameters}


def oxygen_therapy(observed: ObservationSet) -> RowResult:
    """Score oxygen by how much is given; when that is not recorded the row stays open.

    Source:
        Parshuram 2009, Table 1, oxygen therapy: any below 4 L/min or 50% scores 2, from
        there 4. A device without a flow or a fraction could be either.
    """
    therapy = _ROWS["oxygen-therapy"]
    resolved = oxygen_of(observed)
    if resolved is None:
        return RowResult(None, 0, 4, (), MissingReason.UNKNOWN_OXYGEN)
    if resolved.value is OxygenDelivery.AIR:
        return RowResult(0, 0, 0, resolved.origins)
    least = therapy.table.highest
    amounts = [
        number_row(_ROWS["oxygen-flow"], observed.number(Signal.OXYGEN_FLOW)),
        number_row(_ROWS["oxygen-fraction"], observed.number(Signal.FIO2)),
    ]
    known = [amount for amount in amounts if amount.reason is not MissingReason.NOT_RECORDED]
    if not known:
        return RowResult(None, least, 4, resolved.origins, MissingReason.UNKNOWN_AMOUNT)
    low = max(least, *(amount.lowest for amount in known))
    high = max(least, *(amount.highest for amount in known))
    if low == high:
        return RowResult(low, low, low, resolved.origins)
    reason = next(amount.reason for amount in known if amount.points is None)
    return RowResult(None, low, high, resolved.origins, reason)


def _finding(
    bedside: Bedside, results: Sequence[tuple[AgedScore, SetResult]], *, is_current: bool
) -> Finding:
    band, result = results[-1]
    reached = result.tier if result.tier in (pews.VERY_HIGH, pews.HIGH) else None
    is_whole = is_current and not result.is_complete and is_whole_enough(bedside, result)
    found = score_finding(
        bedside,
        band.definition,
        [each for _, each in results],
        remark=f", at or above {reached.at_least}" if reached is not None else "",
        cautions=_cautions(bedside, band.definition, result),
        sources=(ours.CHILD_UNTIL, *((ours.CALM_CHILD,) if is_whole else ())),
        variant=f"rows for {band.label}",
        is_current=is_current,
    )
    return _of_a_calm_child(found) if is_whole else found


def _of_a_calm_child(found: Finding) -> Finding:
    """Return a total of which nothing that is left out asks for a full set now."""
    if not isinstance(found, ScoreFinding):
        return found
    calm = replace(
        found,
        response="",
        monitoring=ours.CALM_CHILD.text,
        monitoring_interval=None,
        highest_tier="",
    )
    return replace(calm, brief=score_in_brief(calm))


#: The rows of which single cells are from memory.
_REMEMBERED: Final = frozenset(("spo2", "respiratory-effort"))


def _cautions(bedside: Bedside, definition: ScoreDefinition, result: SetResult) -> Iterator[str]:
    if any(row.key in _REMEMBERED and one.points for row, one in result.scored):
        yield from definition.notes
    if not bedside.record.subject.born_exactly:
        yield "Only the year or month of birth is recorded: the rows may be those of a child too old."
