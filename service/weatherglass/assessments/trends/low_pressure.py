"""Is a low systolic pressure no lower than it has long been for this patient?

Said as such, together with what shows whether it is tolerated: urine output, alertness,
lactate. What is not recorded is not known. It never takes anything off a score.
"""

from collections.abc import Iterator
from datetime import timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.urine import rate_words
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.pressure_course import Kept, Perfusion, scores_points
from weatherglass.facts.series.runs import last_run
from weatherglass.facts.series.usual_range import usual_measures
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.clock_words import lasting


def assess_low_pressure(bedside: Bedside) -> Iterator[Finding]:
    """Say where a low pressure is the patient's own, and what shows that it is tolerated."""
    steps, newest = bedside.pressure, bedside.pressure_now
    if newest is None or not bedside.pressure_is_low_as_usual or bedside.has_unsure_low_pressure:
        return
    value = newest.reading.value
    usual = bedside.usual.get(Signal.SYSTOLIC_PRESSURE)
    blood_flow = bedside.perfusion
    run = last_run([step.reading.at for step in steps], [scores_points(step.reading.value) for step in steps])
    normal = f", usually {plain(usual.median)}" if usual is not None else ""
    yield tell(
        About(Kind.LONG_STANDING_LOW_PRESSURE, Signal.SYSTOLIC_PRESSURE.value, Letter.CIRCULATION),
        Urgency.PROMPT if blood_flow.is_failing else Urgency.ROUTINE,
        rests_on(
            bedside,
            run,
            *_flow_evidence(bedside),
            (Signal.SYSTOLIC_PRESSURE, newest.reading),
            at=newest.reading.at,
        ),
        brief=f"Systolic pressure {plain(value)} mmHg{normal or ', low as usual'}",
        sentence=f"Systolic pressure {plain(value)} mmHg{normal}: low, but no lower than usual for this "
        f"patient; {_tolerated(bedside)}. The score counts it all the same.",
        measures=(
            *_flow_measures(blood_flow),
            *usual_measures(Signal.SYSTOLIC_PRESSURE, usual),
        ),
        sources=(
            ours.LOW_AS_USUAL,
            ours.NEAR_USUAL,
            ours.URINE_KEPT,
            *((ours.FAILING_HEART,) if bedside.pressure_of_a_failing_heart is not None else ()),
            trend_limits.PRESSURE_BASELINE_WINDOW,
        ),
        cautions=("A long-standing low pressure leaves less in reserve: a small fall counts.",),
        decided_by="a sign of blood flow that is not kept" if blood_flow.is_failing else "",
    )


def _tolerated(bedside: Bedside) -> str:
    flow, creatinine = bedside.perfusion, bedside.creatinine_is_kept
    kept: list[str] = []
    not_kept: list[str] = []
    unknown: list[str] = []
    urine = f"urine {rate_words(flow.rate)}" if flow.rate is not None else "urine output"
    alert = flow.alertness_words or "alertness"
    shown = [(flow.urine_kept, urine), (flow.alert_kept, alert)]
    if flow.urine_kept is Kept.UNKNOWN and creatinine is not None:
        shown[0] = (Kept.YES, f"creatinine {plain(creatinine.value)}, no injury")
    for status, words in shown:
        {Kept.YES: kept, Kept.NO: not_kept, Kept.UNKNOWN: unknown}[status].append(words)
    if flow.lactate is not None:
        words = f"lactate {plain(flow.lactate.value)}"
        (not_kept if flow.lactate_is_raised else kept).append(words)
    parts = []
    if kept:
        parts.append(f"tolerated: {', '.join(kept)}" if not (not_kept or unknown) else ", ".join(kept))
    if not_kept:
        parts.append(f"but not kept: {', '.join(not_kept)}")
    if unknown:
        parts.append(f"not recorded: {', '.join(unknown)}")
    return "; ".join(parts)


def _flow_measures(flow: Perfusion) -> Iterator[Measure]:
    if flow.rate is not None and flow.urine is not None:
        yield Measure(
            "urine-rate",
            f"urine output over {lasting(timedelta(seconds=flow.urine.window))}",
            flow.rate,
            Unit.MILLILITRE_PER_KILOGRAM_HOUR,
            flow.urine.ended,
            flow.urine.origins[-1] if flow.urine.origins else None,
        )
    if flow.alertness is not None:
        yield Measure(
            "consciousness",
            "consciousness",
            flow.alertness_words,
            at=flow.alertness_at,
            origin=flow.alertness_origins[0],
        )
    if flow.lactate is not None:
        yield measure_of(Signal.LACTATE, flow.lactate)


def _flow_evidence(bedside: Bedside) -> list[Origin]:
    flow = bedside.perfusion
    origins = list(flow.urine.origins) if flow.urine is not None else []
    origins += flow.alertness_origins
    if flow.lactate is not None:
        origins.append(flow.lactate.origin)
    return origins
