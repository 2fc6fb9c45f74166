"""One suggestion a line: all its reasons, the strongest action first, and the way back."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.chart import Line, Standing
from weatherglass.clinical.criteria.medicine_rules.rule import (
    PRECEDENCE_SOURCE,
    RESTART_SOURCE,
    Action,
    RestartPlan,
)
from weatherglass.clinical.criteria.medicine_rules.urgencies import (
    GRADES,
    OTHERWISE,
    OTHERWISE_WHEN_BAD,
    URGENCY_SOURCE,
)
from weatherglass.clinical.drug_chart.hits import Hit
from weatherglass.clinical.drug_chart.judgement import Judged, do_not_stop_notes
from weatherglass.clinical.drug_chart.notes import cautions_for, note_sources
from weatherglass.clinical.drug_chart.situation import Situation
from weatherglass.clinical.drug_chart.wording import also_actions, suggestion, would_change
from weatherglass.clinical.findings import (
    Kind,
    Letter,
    Measure,
    MedicineFinding,
    MedicineReason,
    Restart,
    State,
    Urgency,
)
from weatherglass.clinical.references import Origin
from weatherglass.clinical.scores import UrgencyWord
from weatherglass.clinical.sources import Source

URGENCY: Final[dict[UrgencyWord, Urgency]] = {
    "emergency": Urgency.EMERGENCY,
    "urgent": Urgency.URGENT,
    "prompt": Urgency.PROMPT,
    "routine": Urgency.ROUTINE,
}
#: Where a rule that asks for a review names no way back, and the review ends in a hold.
_USUAL_RESTART: Final = RestartPlan(
    condition="if it is held: what spoke for it has passed; check the indication"
)
_CAN_BE_HELD: Final = (Action.HOLD, Action.REDUCE, Action.REVIEW, Action.AVOID)


def suggest(bedside: Bedside, line: Line, judged: Sequence[Judged], situation: Situation) -> MedicineFinding:
    """Return the suggestion about one line; `judged` begins with the strongest."""
    lead = judged[0].action
    leading = [one for one in judged if one.action is lead]
    also = also_actions(judged)
    since = min((one.since for one in leading if one.since is not None), default=None)
    return MedicineFinding(
        kind=Kind.MEDICINE,
        key=judged[0].rule.key,
        letter=Letter.EXPOSURE,
        urgency=urgency_of(lead, leading),
        sentence=suggestion(line, judged, also),
        at=newest_at(judged),
        state=state_since(bedside, since),
        since=since,
        measures=measures_of(one.hit for one in judged),
        evidence=evidence_of(line, judged),
        sources=tuple(dict.fromkeys((*_sources(judged), *note_sources(line, judged, situation)))),
        cautions=tuple(dict.fromkeys(cautions_for(bedside, line, judged, situation))),
        decided_by=f"{judged[0].rule.trigger.value}: {lead.value}",
        provisional=any(one.hit.provisional for one in judged),
        order=line.order,
        medicine=line.medicine.text,
        ingredients=line.medicine.ingredients,
        action=lead.value,
        matched_by=line.medicine.method.value,
        dose_text=dose_of(line),
        as_needed=line.charted is not None and line.charted.as_needed,
        reasons=tuple(reason_of(one) for one in judged),
        also=tuple(each.value for each in also),
        monitor=tuple(dict.fromkeys(each for one in judged for each in one.rule.monitor)),
        restart=_restart(bedside, line, judged) if lead in _CAN_BE_HELD else None,
        would_change=would_change(judged),
        do_not_stop=note_text(line, situation),
        review_by=bedside.as_of + bedside.choices.medicine_review_within,
        given_for=line.charted.reason if line.charted is not None else "",
    )


def reason_of(one: Judged) -> MedicineReason:
    """Return one rule's reason as a finding carries it."""
    return MedicineReason(
        rule=one.rule.key,
        action=one.action.value,
        why=one.rule.reason,
        trigger=one.hit.said,
        source=one.rule.sources[0],
        measures=one.hit.measures,
    )


def note_text(line: Line, situation: Situation) -> str:
    """Return what sudden omission brings, for every group that a line belongs to."""
    return " ".join(dict.fromkeys(note.harm for note in do_not_stop_notes(line, situation)))


def dose_of(line: Line) -> str:
    """Return the dose as written, of the order or else of the last dose given."""
    if line.charted is not None:
        return line.charted.dose_text
    return line.last_dose.dose_text if line.last_dose is not None else ""


# When, how soon, since when


def urgency_of(lead: Action, leading: Iterable[Judged]) -> Urgency:
    """Return how soon somebody should look."""
    holds = [URGENCY[GRADES[one.hit.trigger][_grade(one.hit)].hold] for one in leading]
    worst = max(holds, default=Urgency.ROUTINE)
    if lead is Action.HOLD:
        return worst
    table = OTHERWISE_WHEN_BAD if worst >= Urgency.URGENT else OTHERWISE
    doubtful = any(one.hit.doubt for one in leading)
    return max(URGENCY[table[lead]], Urgency.PROMPT if doubtful else Urgency.ROUTINE)


def _grade(hit: Hit) -> int:
    return min(hit.grade, len(GRADES[hit.trigger]) - 1)


def state_since(bedside: Bedside, since: datetime | None) -> State | None:
    """Say whether a suggestion is new or goes on; None when its beginning is not known."""
    if since is None:
        return None
    return State.NEW if bedside.as_of - since <= bedside.choices.new_within else State.CONTINUING


def newest_at(judged: Iterable[Judged]) -> datetime | None:
    """Return the time of the newest value used."""
    times = [measure.at for one in judged for measure in one.hit.measures if measure.at is not None]
    return max(times, default=None)


# What it rests on


def measures_of(hits: Iterable[Hit]) -> tuple[Measure, ...]:
    """Return every number once."""
    return tuple(dict.fromkeys(measure for hit in hits for measure in hit.measures))


def evidence_of(line: Line, judged: Iterable[Judged]) -> tuple[Origin, ...]:
    """Return every input once: the values, what made the circumstances, the order, its last dose."""
    origins: dict[Origin, None] = {}
    ordered = tuple(judged)
    for one in ordered:
        origins.update(dict.fromkeys(one.hit.evidence))
    for one in ordered:
        origins.update(dict.fromkeys(one.origins))
    origins[line.order] = None
    if line.last_dose is not None:
        origins[line.last_dose.origin] = None
    return tuple(origins)


def _sources(judged: Sequence[Judged]) -> Iterable[Source]:
    for one in judged:
        yield from one.rule.sources
    for one in judged:
        yield from one.hit.sources
    if len(judged) > 1:
        yield PRECEDENCE_SOURCE
    yield URGENCY_SOURCE
    yield RESTART_SOURCE


# The way back


def _restart(bedside: Bedside, line: Line, judged: Sequence[Judged]) -> Restart | None:
    if line.standing in (Standing.DRAFT, Standing.ENDED):
        return None
    return restart_plan(bedside, [one.rule.restart for one in judged if one.action in _CAN_BE_HELD])


def restart_plan(bedside: Bedside, plans: Iterable[RestartPlan | None]) -> Restart:
    """Put several ways back together: every condition, the most special roles, the earliest time."""
    known = [plan for plan in plans if plan is not None] or [_USUAL_RESTART]
    usual = RestartPlan(condition="").who
    special = [plan.who for plan in known if plan.who != usual]
    within: timedelta = min((*(plan.within for plan in known), bedside.choices.medicine_review_within))
    return Restart(
        condition="; and ".join(dict.fromkeys(plan.condition for plan in known)),
        who=" and ".join(dict.fromkeys(special)) or usual,
        by=bedside.as_of + within,
    )
