"""The few words of a score, and what a list of patients is sorted by.

Every finding brings its own few words (`Finding.brief`); those of a score are the same for all scores.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, timedelta

from weatherglass.model.findings import Finding, ScoreFinding, ScorePart, ScorePoint, stands_beside
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.review import Review
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import listed

#: Ours: the earlier total that a change is told against lies about a day back.
_A_DAY = timedelta(hours=24)


def words_behind(finding: Finding, before: Iterable[Finding]) -> str:
    """Return the few words of a finding behind others, whose numbers are not said once more."""
    said = {measure.origin for one in before for measure in one.measures if measure.origin is not None}
    decisive = finding.measures[0].origin if finding.measures else None
    return finding.behind if finding.behind and decisive in said else finding.brief


def reason_behind(finding: Finding, before: Iterable[Finding]) -> str:
    """Give the first reason of a suggestion, where no finding before it has just said one of its numbers."""
    if not isinstance(finding, MedicineFinding) or finding.decision is None:
        return ""
    said = {measure.origin for one in before for measure in one.measures if measure.origin is not None}
    rests_on = {measure.origin for reason in finding.reasons for measure in reason.measures}
    return "" if said & rests_on else f": {finding.decision.because[0]}"


def score_in_brief(score: ScoreFinding, *, with_change: bool = True) -> str:
    """Return a score with its change and what drives it: 'NEWS2 9, was 3: new confusion ...'.

    Of an open total it names what is not known: 'NEWS2 at least 5 (alertness not known, so up to 8): ...'.
    """
    total = total_of(score)
    # The chosen score names what is missing; of another it is said how high it could be, where that asks.
    if score.total is None and score.unknown and not score.is_secondary:
        up_to = f", so up to {score.highest}" if score.highest_tier else ""
        total += f" ({unknown_of(score)} not known{up_to})"
    elif score.total is None and score.highest_tier:
        total += f" (up to {score.highest})"
    before = earlier_total(score.history)
    changed = ""
    if with_change and before is not None and score.total is not None and before.total != score.total:
        changed = f", was {before.total}"
    # An old round never reads as now.
    then = f" at {score.when}{'' if score.is_current else ' (last complete set)'}" if score.when else ""
    return f"{score.name} {total}{then}{changed}{drivers_of(score)}"


def total_of(score: ScoreFinding) -> str:
    """Return the total, or the least that it can be."""
    return str(score.total) if score.total is not None else f"at least {score.lowest}"


def total_in_signs(score: ScoreFinding) -> str:
    """Return the same for a narrow place: '9', '\u22655'."""
    return str(score.total) if score.total is not None else f"\u2265{score.lowest}"


def scoring(score: ScoreFinding) -> list[ScorePart]:
    """Return the parts that score, the most first."""
    return sorted((part for part in score.parts if part.points), key=lambda part: -(part.points or 0))


def drivers_of(score: ScoreFinding) -> str:
    """Return the three parts that score most, behind a colon; empty when none scores."""
    drivers = scoring(score)[:3]
    return f": {', '.join(driver_of(part) for part in drivers)}" if drivers else ""


def unknown_of(score: ScoreFinding) -> str:
    """Name in few words what leaves a total open: 'systolic pressure and alertness'."""
    return listed([_OPEN_LABELS.get(p.key, p.label) for p in score.parts if p.key in score.unknown])


def current_score(findings: Sequence[Finding]) -> ScoreFinding | None:
    """Return the score that speaks for the patient now: one that asks for monitoring, if any."""
    scored = [f for f in findings if isinstance(f, ScoreFinding) and f.parts and f.is_current]
    scored.sort(key=stands_beside)
    return next((f for f in scored if f.monitoring), scored[0] if scored else None)


def last_whole(findings: Sequence[Finding], score: ScoreFinding | None) -> ScoreFinding | None:
    """Return the last complete round of a score whose newest one is not complete."""
    if score is None or score.total is not None:
        return None
    rounds = (f for f in findings if isinstance(f, ScoreFinding) and f.key == score.key)
    return next((f for f in rounds if not f.is_current and f.kind is score.kind), None)


def in_a_column(review: Review) -> str:
    """Return the leading score for a list: 'NEWS2 9', 'NEWS2 at least 0 (11 at 06:00 on 12 March)'."""
    if review.lead is None:
        return ""
    whole = review.last_whole
    before = f" ({whole.total} at {whole.when})" if whole is not None else ""
    return f"{review.lead.name} {total_of(review.lead)}{before}"


def rank_on_ward(review: Review) -> tuple[int, str, int, str]:
    """Return what a list of patients is sorted by: urgency, deadline, score, name."""
    totals = [score.lowest for score in (review.lead, review.last_whole) if score is not None]
    score = -max(totals, default=-1)
    return (-review.urgency, due_on_ward(review), score, review.subject.name)


def due_on_ward(review: Review) -> str:
    """Return the deadline as text that sorts; what has none comes last.

    Nobody knows how a patient is who was not assessed: before those who are known to be well. Whoever may
    have no signs of life comes before every deadline that has passed.
    """
    if review.escalation is None:
        return "8" if review.is_unassessed else "9"
    if review.escalation.is_arrest:
        return "0"
    return review.escalation.due.astimezone(UTC).isoformat()


def earlier_total(history: Sequence[ScorePoint]) -> ScorePoint | None:
    """Return the lowest complete total of the day before the newest one, if there is any.

    Of equal totals it is the latest, from which the trend of the score counts too.
    """
    if len(history) < 2:
        return None
    newest = history[-1]
    day = [p for p in history[:-1] if p.total is not None and newest.at - p.at <= _A_DAY]
    return min(reversed(day), key=lambda p: p.total or 0, default=None)


#: What is missing is named for whoever goes and measures it.
_OPEN_LABELS = {
    "respiration": "breathing",
    "spo2-scale-1": "saturation",
    "spo2-scale-2": "saturation",
    "spo2": "saturation",
    "air-or-oxygen": "air or oxygen",
    "oxygen-therapy": "air or oxygen",
    "systolic-pressure": "systolic pressure",
    "consciousness": "alertness",
}
_SHORT_LABELS = {
    "respiration": "breathing",
    "spo2-scale-1": "saturation",
    "spo2-scale-2": "saturation",
    "air-or-oxygen": "",
    "oxygen-therapy": "",
    "systolic-pressure": "systolic",
    "diastolic-pressure": "diastolic",
    "pulse": "pulse",
    "consciousness": "",
    "temperature": "temperature",
}


def driver_of(part: ScorePart) -> str:
    """Return one part as it is said among others: 'pulse 128', 'responds to voice'."""
    return f"{_SHORT_LABELS.get(part.key, part.label)} {part.short}".strip()


def score_change(score: ScoreFinding, clock: Clock) -> str:
    """Say how a score has moved over the last day, as one clause; empty when it has not."""
    before = earlier_total(score.history)
    if before is None or before.total is None or score.total is None:
        return ""
    if score.total > before.total:
        return f"up from {before.total} {clock.at(before.at)}"
    highest = max((p for p in score.history[:-1] if p.total is not None), key=lambda p: p.total or 0)
    if highest.total is not None and score.total < highest.total:
        return f"down from {highest.total} {clock.at(highest.at)}"
    return ""
