"""The few words of a finding: for a ward list, a headline, the first breath of a call."""

from collections.abc import Sequence
from datetime import timedelta

from weatherglass.clinical.clock_words import Clock
from weatherglass.clinical.findings import Finding, ScoreFinding, ScorePart, ScorePoint, stands_beside
from weatherglass.clinical.score_findings import listed

_LONGEST = 110
#: Ours: the earlier total that a change is told against lies about a day back.
_A_DAY = timedelta(hours=24)


def in_brief(finding: Finding) -> str:
    """Return a finding in a few words, without its working.

    Where a finding brings no few words of its own they are the part of its sentence before the
    first colon.
    """
    if isinstance(finding, ScoreFinding) and finding.parts:
        return score_in_brief(finding)
    if finding.brief:
        return finding.brief
    head = finding.sentence.partition(": ")[0].partition("; ")[0].rstrip(".")
    if len(head) < 12 or len(head) > _LONGEST:
        head = finding.sentence.rstrip(".")
    if len(head) > _LONGEST:
        head = head.partition(". ")[0]
    if len(head) <= _LONGEST:
        return head
    # Never in the middle of a word: a dose or a name cut short reads as another one.
    return f"{head[: _LONGEST - 3].rpartition(' ')[0].rstrip(',;')} \u2026"


def score_in_brief(score: ScoreFinding) -> str:
    """Return a score with its change and what drives it: 'NEWS2 9, was 3: new confusion ...'.

    Of an open total it names what is not known: 'NEWS2 at least 5 (alertness not known, so up to 8): ...'.
    """
    total = str(score.total) if score.total is not None else f"at least {score.lowest}"
    # Beside the chosen score what is missing is named only where it could change what that one asks for.
    if score.total is None and score.unknown and (score.highest_tier or not score.is_secondary):
        up_to = f", so up to {score.highest}" if score.highest_tier else ""
        total += f" ({unknown_of(score)} not known{up_to})"
    before = earlier_total(score.history)
    changed = ""
    if before is not None and score.total is not None and before.total != score.total:
        changed = f", was {before.total}"
    return f"{score.name} {total}{changed}{drivers_of(score)}"


def drivers_of(score: ScoreFinding) -> str:
    """Return the three parts that score most, behind a colon; empty when none scores."""
    drivers = sorted((p for p in score.parts if p.points), key=lambda p: -(p.points or 0))[:3]
    return f": {', '.join(_driver(part) for part in drivers)}" if drivers else ""


def unknown_of(score: ScoreFinding) -> str:
    """Name in few words what leaves a total open: 'systolic pressure and alertness'."""
    return listed([_OPEN_LABELS.get(p.key, p.label) for p in score.parts if p.key in score.unknown])


def current_score(findings: Sequence[Finding]) -> ScoreFinding | None:
    """Return the score that speaks for the patient now: one that asks for monitoring, if any."""
    scored = [f for f in findings if isinstance(f, ScoreFinding) and f.parts and f.is_current]
    scored.sort(key=stands_beside)
    return next((f for f in scored if f.monitoring), scored[0] if scored else None)


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
    "systolic-pressure": "systolic",
    "pulse": "pulse",
    "consciousness": "",
    "temperature": "temperature",
}


def _driver(part: ScorePart) -> str:
    shown = part.shown.partition(" (")[0].partition(",")[0]
    for unit in (" /min", " mmHg"):
        shown = shown.removesuffix(unit)
    label = _SHORT_LABELS.get(part.key, part.label)
    return f"{label} {shown}".strip()


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
