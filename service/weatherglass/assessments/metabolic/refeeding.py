"""Is feeding dangerous for this patient: the risk by NICE CG32, and falling phosphate under feeding.

Asked only of those with malnutrition, little intake or feeding on record; below 16 only what falls counts,
for the limits of weight and loss are those of adults.
"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, Input, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.refeeding import RefeedingRisk, refeeding_risk
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.metabolic import refeeding as criteria
from weatherglass.model.findings import Finding, Kind, Missing, MissingReason, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import listed


def assess_refeeding(bedside: Bedside) -> Iterator[Finding]:
    """Bring intake, weight, feeding and electrolytes together."""
    risk = refeeding_risk(bedside)
    if risk is not None and bedside.is_child:
        risk = replace(risk, enough=(), half=(), low=risk.falling)
    if risk is None or not (risk.is_high or risk.falling):
        return
    urgency, since = _urgency(risk)
    stepped = min((one.grave_since for one in risk.falling if one.grave_since is not None), default=None)
    head = _head(risk)
    why = _why(risk)
    yield tell(
        About(Kind.METABOLIC, "refeeding", Letter.EXPOSURE),
        urgency,
        rests_on(
            bedside,
            since,
            *_inputs(risk),
            at=None if risk.low else bedside.as_of,
            asked_since=stepped,
        ),
        brief=f"{head}: {listed([one.words for one in risk.low])}" if risk.low else f"{head}: {why}",
        sentence=f"{head}: {why}; {criteria.ASKS.text}.",
        measures=(measure_of(one.signal, one.newest) for one in risk.low),
        missing=tuple(_gaps(bedside)),
        sources=(
            criteria.THIN,
            criteria.LEAN,
            criteria.LOW_BEFORE,
            criteria.ALCOHOL_OR_MEDICINES,
            criteria.ASKS,
            criteria.FALL,
            criteria.FALL_ALONE,
            criteria.URGENT,
            *((criteria.GRAVE,) if stepped is not None else ()),
        ),
        decided_by=_rule(urgency),
    )


def _urgency(risk: RefeedingRisk) -> tuple[Urgency, datetime | None]:
    if risk.falling:
        return Urgency.URGENT, min(one.since for one in risk.falling)
    if risk.low:
        return Urgency.PROMPT, min(one.since for one in risk.low)
    return Urgency.ROUTINE, None


def _rule(urgency: Urgency) -> str:
    if urgency is Urgency.URGENT:
        return "phosphate, potassium or magnesium that falls to below its limit under feeding"
    if urgency is Urgency.PROMPT:
        return "a high risk of refeeding problems with a low phosphate, potassium or magnesium"
    return ""


def _head(risk: RefeedingRisk) -> str:
    if risk.falling:
        return "Refeeding problems possible"
    return "High risk of refeeding problems by NICE CG32"


def _why(risk: RefeedingRisk) -> str:
    signs = [one.words for one in risk.low]
    signs += [one.words for one in (*risk.enough, *risk.half, *risk.context)]
    fed = f", fed by {risk.fed.words}" if risk.fed is not None else ""
    return f"{listed(list(dict.fromkeys(signs)))}{fed}"


def _inputs(risk: RefeedingRisk) -> Iterator[Input]:
    for sign in (*risk.enough, *risk.half, *risk.context):
        yield sign.origin
    yield risk.fed.origin if risk.fed is not None else None
    for one in risk.low:
        yield from (one.newest, one.before)


def _gaps(bedside: Bedside) -> Iterator[Missing]:
    for signal in criteria.LOW:
        newest = bedside.record.series(signal).recent(bedside.as_of, criteria.COUNTS_FOR.length)
        if newest is None:
            yield Missing(key=signal.value, label=signal.value, reason=MissingReason.NOT_RECORDED)
    yield Missing(key="intake", label="for how long little was eaten", reason=MissingReason.NOT_RECORDED)
