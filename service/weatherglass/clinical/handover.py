"""The structured handover: Situation, Background, Assessment, Recommendation.

Sentences that can be read over the telephone to somebody who has not met the patient.
It is a draft filled from the record; what the record does not hold is said to be not
recorded, so that the caller can fill it in.
"""

from collections.abc import Iterator, Sequence

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.brief_words import current_score, score_change
from weatherglass.clinical.ceiling import NOT_RECORDED as CEILING_NOT_RECORDED
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.findings import (
    Escalation,
    Finding,
    Handover,
    Kind,
    Letter,
    MedicineFinding,
    ScoreFinding,
    State,
    Urgency,
)
from weatherglass.clinical.person_words import birth, numbered
from weatherglass.clinical.record import OrderStatus
from weatherglass.clinical.scoring import measures_of, show
from weatherglass.clinical.signals import label_of
from weatherglass.clinical.subject import Sex
from weatherglass.clinical.timeline import ObservationSet

_NOT_RECORDED = "not recorded"
_LETTERS = {
    Letter.AIRWAY: "Airway",
    Letter.BREATHING: "Breathing",
    Letter.CIRCULATION: "Circulation",
    Letter.DISABILITY: "Disability",
    Letter.EXPOSURE: "Exposure",
    Letter.OVERALL: "Overall",
}
_ACTING = ("hold", "reduce", "review", "avoid", "measure level")
_MOST_NAMED = 6


def compose(
    bedside: Bedside,
    findings: Sequence[Finding],
    *,
    place: str,
    escalation: Escalation | None,
    ceiling: Sequence[str],
    investigations: Sequence[str],
) -> Handover:
    """Write the handover of one review."""
    score = current_score(findings)
    return Handover(
        situation=tuple(_situation(bedside, score, place, escalation)),
        background=tuple(_background(bedside)),
        assessment=tuple(_assessment(bedside, score, findings)),
        recommendation=tuple(_recommendation(bedside, score, findings, escalation, ceiling, investigations)),
    )


def _situation(
    bedside: Bedside, score: ScoreFinding | None, place: str, escalation: Escalation | None
) -> Iterator[str]:
    subject = bedside.record.subject
    who = subject.name or "a patient whose name is not recorded"
    age = f"{bedside.age} years old" if bedside.age is not None else "age not recorded"
    sex = subject.sex.value if subject.sex in (Sex.FEMALE, Sex.MALE) else "sex not recorded"
    place = place or "a ward that is not recorded"
    yield (f"I am calling about {who}, {birth(subject)}, {numbered(subject)}, {age}, {sex}, on {place}.")
    if score is not None:
        total = str(score.total)
        if score.total is None:
            total = f"at least {score.lowest}, with values missing"
        moved = score_change(score, bedside.clock)
        since = ""
        if score.since is not None and score.urgency is not Urgency.ROUTINE:
            since = f"; at this level since {bedside.clock.full(score.since)}"
        at = f" {bedside.clock.at(score.at)}" if score.at is not None else ""
        yield f"{score.name} is {total}{at}{f', {moved}' if moved else ''}{since}."
    if escalation is not None and escalation.because is not score:
        yield f"What worries me most: {_plain(escalation.because.sentence)}."


def _background(bedside: Bedside) -> Iterator[str]:
    record = bedside.record
    reasons = [stay.reason for stay in record.stays if stay.reason]
    admitted = bedside.admitted_at
    when = f" on {bedside.clock.day(admitted)}" if admitted is not None else ""
    yield f"Admitted{when} with: {reasons[-1] if reasons else _NOT_RECORDED}."
    known = dict.fromkeys(c.text for c in record.conditions if c.active and c.confirmed and c.text)
    yield f"Known: {', '.join(known) or _NOT_RECORDED}."
    active = [o for o in record.orders if o.status is OrderStatus.ACTIVE and o.in_force_at(bedside.as_of)]
    chart = dict.fromkeys(order.medicine.text for order in active)
    yield f"On the chart: {', '.join(chart) or _NOT_RECORDED}."
    yield f"Allergies: {', '.join(a.text for a in record.allergies if a.text) or _NOT_RECORDED}."


def _assessment(bedside: Bedside, score: ScoreFinding | None, findings: Sequence[Finding]) -> Iterator[str]:
    if bedside.sets:
        newest = bedside.sets[-1]
        signs = [part.said for part in score.parts] if score is not None else _signs(newest)
        at = score.at if score is not None and score.at is not None else newest.end
        yield f"Observations {bedside.clock.at(at)}: {'; '.join(signs)}."
    else:
        yield f"Observations: {_NOT_RECORDED}."
    for letter, title in _LETTERS.items():
        said = [_plain(f.sentence) for f in findings if f.letter is letter and _is_told(f)]
        if said:
            yield f"{title}: {'. '.join(said)}."


def _signs(newest: ObservationSet) -> list[str]:
    """Read out a round of observations that no score was computed from."""
    said: list[str] = []
    for name in newest.observed:
        measures = measures_of(name, newest)
        said.extend(f"{label_of(name)} {show(measure)}" for measure in measures[:1])
    return said


def _is_told(finding: Finding) -> bool:
    """Tell whether a finding belongs into a call: pressing, and not told elsewhere."""
    if isinstance(finding, MedicineFinding) or finding.kind in (Kind.SCORE, Kind.SCORE_NOT_APPLICABLE):
        return False
    if finding.kind in (Kind.LONG_STANDING_LOW_PRESSURE, Kind.TREATMENT_RESPONSE):
        return True
    return finding.urgency is not Urgency.ROUTINE and finding.state is not State.SETTLING


def _recommendation(
    bedside: Bedside,
    score: ScoreFinding | None,
    findings: Sequence[Finding],
    escalation: Escalation | None,
    ceiling: Sequence[str],
    investigations: Sequence[str],
) -> Iterator[str]:
    if escalation is not None:
        due = f", by {bedside.clock.time(escalation.due)}" if escalation.due else ""
        yield f"Please come and see the patient within {lasting(escalation.within)}{due}."
    yield from ceiling or (CEILING_NOT_RECORDED,)
    acting = [f for f in findings if isinstance(f, MedicineFinding) and f.action in _ACTING]
    for action in _ACTING:
        named = list(dict.fromkeys(f.medicine for f in acting if f.action == action))
        if named:
            more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
            yield f"Drug chart, please decide whether to {action}: {', '.join(named[:_MOST_NAMED])}{more}."
    if investigations:
        yield f"Worth having now: {', '.join(investigations)}."
    if score is not None and score.monitoring:
        yield f"Until then: {score.monitoring}; then look again."
    yield "Read back what was agreed: not recorded."


def _plain(sentence: str) -> str:
    return sentence.rstrip().rstrip(".")
