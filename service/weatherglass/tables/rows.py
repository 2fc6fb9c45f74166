"""From a review to rows: what stands in the review, column by column; nothing is judged here."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Any

import msgspec

from weatherglass.fhir.issues import Issue
from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    Measure,
    ScoreFinding,
    ScorePart,
    ScorePoint,
    stands_beside,
)
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review
from weatherglass.model.sources import Source
from weatherglass.model.times.dates_alone import is_date_alone, local_date
from weatherglass.model.words.call_words import call_line

Row = dict[str, Any]
Rows = Mapping[str, list[Row]]
_encoder = msgspec.json.Encoder(decimal_format="number")


def line_of(row: Row) -> bytes:
    """Write a row as a line of JSON."""
    return _encoder.encode(row) + b"\n"


def rows_of(review: Review) -> Rows:
    """Return the rows of a review, by table; those of issues stand apart."""
    who = {"patient": str(review.subject.origin), "as_of": _moment(review.as_of)}
    numbered = list(enumerate(review.findings, 1))
    return {
        "patients": [_patient(review, who)],
        "findings": [_finding(review, who, number, each) for number, each in numbered],
        "measures": [row for number, each in numbered for row in _measures(review, who, number, each)],
        "scores": list(_scores(review, who)),
        "sub_scores": list(_sub_scores(review, who)),
        "levels": list(_levels(review, who)),
        "medicines": [row for number, each in numbered for row in _medicines(who, number, each)],
    }


def not_reviewed(patient: str, status: str, why_not: str = "") -> Row:
    """Return the row of a patient who was not reviewed: named, because silence is no all-clear."""
    return {"patient": patient, "status": status, "why_not": why_not or None}


def issue_rows(issues: Iterable[Issue], patient: str = "") -> list[Row]:
    """Return the rows of what was not used.

    Args:
        issues: In order.
        patient: Whose those are that name nobody; empty when they are nobody's.
    """
    return [
        {
            "patient": one.patient or patient or None,
            "severity": one.severity.value,
            "code": one.key.value,
            "place": one.path or None,
            "text": one.text,
        }
        for one in issues
    ]


def _patient(review: Review, who: Row) -> Row:
    subject, lead, call = review.subject, review.lead, review.escalation
    age = subject.age_at(review.as_of) if review.as_of is not None else None
    return {
        **who,
        "status": "reviewed",
        "sex": subject.sex.value,
        "age_years": age,
        "place": review.place or None,
        **_urgency(review),
        "is_assessed": not review.not_assessed,
        "is_stale": review.is_stale,
        "is_limited": review.is_limited,
        "headline": review.headline,
        "call": call_line(call, review.clock) if call is not None else None,
        "call_due": _moment(call.due) if call is not None else None,
        "score": lead.key if lead is not None else None,
        "score_lowest": lead.lowest if lead is not None else None,
        "score_highest": lead.highest if lead is not None else None,
        "findings": len(review.findings),
        "standing": review.standing,
        "not_read": list(review.latest.not_read),
        "until_then": review.at_bedside or None,
        "ceiling": list(review.ceiling),
    }


def _finding(review: Review, who: Row, number: int, finding: Finding) -> Row:
    return {
        **who,
        "finding": number,
        "kind": finding.kind.value,
        "key": finding.key,
        **_urgency(finding),
        "state": finding.state.value if finding.state is not None else None,
        "letter": finding.letter.value,
        "brief": finding.brief,
        "sentence": finding.sentence,
        **_when(finding.at, review.zone),
        "since": _moment(finding.since),
        "since_date": _day(finding.since, review.zone),
        "asked_since": _moment(finding.asked_since or finding.since),
        "within_minutes": finding.within / timedelta(minutes=1) if finding.within is not None else None,
        "stands_beside": stands_beside(finding),
        "is_provisional": finding.provisional,
        "decided_by": finding.decided_by or None,
        "missing": [f"{each.label}: {each.reason.value}" for each in finding.missing],
        "evidence": [str(origin) for origin in finding.evidence],
        "sources": list(dict.fromkeys(map(_cited, finding.sources))),
    }


def _urgency(told: Review | Finding) -> Row:
    return {"urgency": told.urgency.word, "urgency_rank": int(told.urgency)}


def _cited(source: Source) -> str:
    return f"{source.citation}: {source.locator} [{source.mark.value}]"


def _measures(review: Review, who: Row, number: int, finding: Finding) -> Iterator[Row]:
    held = [("", finding.measures), *((step.key, step.measures) for step in finding.steps)]
    for step, measures in held:
        for each in measures:
            yield {**who, "finding": number, "step": step or None, **_measure(each, review.zone)}


def _measure(measure: Measure, zone: tzinfo) -> Row:
    is_number = isinstance(measure.value, Decimal)
    return {
        "measure": measure.key,
        "label": measure.label,
        "value": measure.value if is_number else None,
        "word": None if is_number else measure.value,
        "unit": measure.unit.value if measure.unit is not None else None,
        **_when(measure.at, zone),
        "origin": str(measure.origin) if measure.origin is not None else None,
    }


def _scores(review: Review, who: Row) -> Iterator[Row]:
    """Yield each round of each score once, also where an older set is shown beside the newest."""
    for finding in review.findings:
        if not isinstance(finding, ScoreFinding):
            continue
        about = {**who, "score": finding.key, "edition": finding.edition}
        for point in finding.history:
            yield {**about, **_point(point), "is_newest": point is finding.history[-1]}
        if _stands_alone(finding):
            yield {**about, **_alone(finding), "is_newest": True}


def _stands_alone(finding: ScoreFinding) -> bool:
    """Tell whether a score looks at one moment and keeps no course of rounds, as SOFA does."""
    return finding.is_current and bool(finding.parts) and not finding.history


def _alone(finding: ScoreFinding) -> Row:
    return {
        "at_time": _moment(finding.at),
        "total": finding.total,
        "lowest": finding.lowest,
        "highest": finding.highest,
        "tier": finding.tier or None,
    }


def _sub_scores(review: Review, who: Row) -> Iterator[Row]:
    for finding in review.findings:
        if not isinstance(finding, ScoreFinding):
            continue
        about = {**who, "score": finding.key}
        for point in finding.history[:-1]:
            for row, points in zip(point.rows, point.parts, strict=False):
                known = {"parameter": row.key, "label": row.label, "points": points}
                yield {**about, "at_time": _moment(point.at), **known, "is_newest": False}
        if finding.history or _stands_alone(finding):
            at = finding.history[-1].at if finding.history else finding.at
            for part in finding.parts:
                yield {**about, "at_time": _moment(at), **sub_score(part), "is_newest": True}


def sub_score(part: ScorePart) -> Row:
    """Return what is known of one parameter of a score."""
    return {
        "parameter": part.key,
        "label": part.label,
        "points": part.points,
        "lowest": part.lowest,
        "highest": part.highest,
        "shown": part.shown,
        "missing": part.missing.reason.value if part.missing is not None else None,
    }


def _point(point: ScorePoint) -> Row:
    # A quotient has no points to add up.
    is_sum = point.value is None
    return {
        "at_time": _moment(point.at),
        "total": point.total if is_sum else None,
        "lowest": point.lowest if is_sum else None,
        "highest": point.highest if is_sum else None,
        "value": point.value,
        "tier": point.tier or None,
    }


def _levels(review: Review, who: Row) -> Iterator[Row]:
    now = _when(review.as_of, review.zone)
    yield {**who, "ladder": "review", **now, "level": int(review.urgency), "name": review.urgency.word}
    for finding in review.findings:
        if isinstance(finding, AkiFinding):
            for at, stage in _stages(finding).items():
                when = _when(at, review.zone)
                yield {**who, "ladder": finding.criterion, **when, "level": stage, "name": f"stage {stage}"}


def _stages(finding: AkiFinding) -> dict[datetime, int]:
    """Return the stage by moment: of two at one moment, by creatinine and by urine, the worse."""
    worst: dict[datetime, int] = {}
    for at, stage in finding.history:
        worst[at] = max(stage, worst.get(at, stage))
    return worst


def _medicines(who: Row, number: int, finding: Finding) -> Iterator[Row]:
    about = {**who, "finding": number, "kind": finding.kind.value, "urgency": finding.urgency.word}
    if isinstance(finding, MedicineFinding):
        yield {**about, **_suggestion(finding)}
    elif isinstance(finding, InteractionFinding):
        for order, medicine in zip(finding.orders, finding.medicines, strict=False):
            yield {
                **about,
                "order_line": str(order),
                "medicine": medicine,
                "rules": [finding.key],
                "reasons": [finding.sentence],
            }


def _suggestion(finding: MedicineFinding) -> Row:
    return {
        "order_line": str(finding.order),
        "medicine": finding.medicine,
        "ingredients": list(finding.ingredients),
        "action": finding.action,
        "rules": list(dict.fromkeys(reason.rule for reason in finding.reasons)),
        "reasons": [reason.why for reason in finding.reasons if reason.why],
        "review_by": _moment(finding.review_by),
        "as_needed": finding.as_needed,
        "on_hold": finding.already_on_hold,
        "hold_stands": finding.hold_stands,
        "monitor": list(finding.monitor),
        "risk_if_stopped": finding.risk_if_stopped or None,
        "rank": finding.rank,
    }


def _when(at: datetime | None, zone: tzinfo) -> Row:
    return {"at_time": _moment(at), "on_date": _day(at, zone)}


def _moment(at: datetime | None) -> datetime | None:
    """Return a moment in UTC; the time of day of a date alone is nobody's record and is not said."""
    return None if at is None or is_date_alone(at) else at.astimezone(UTC)


def _day(at: datetime | None, zone: tzinfo) -> date | None:
    return local_date(at, zone) if at is not None else None
