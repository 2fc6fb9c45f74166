"""Triggers of the kidneys: acute injury, a low filtration rate, and levels that it makes urgent.

An injury counts by either criterion, by urine or by replacement therapy, while what shows
it is recent. The filtration rate counts only without an injury: during one it is not
reliable, and in stages 2 and 3 it is taken to be below 30.
"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import origins_of
from weatherglass.assessments.telling.kidneys.kidney_words import (
    creatinine_measures,
    cut,
    inputs_of,
    tenths,
    urine_measures,
    urine_words,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.estimates import Estimate
from weatherglass.facts.kidneys.injury import AkiNow
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.kidneys.windows import ReferenceMethod
from weatherglass.facts.series.limits_met import Met, meets, surely
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.knowledge.kidneys.kidney_baseline import ESTIMATE_OVERCALLS
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetTrigger, age_caution, at_words, met_by, since_beyond
from weatherglass.model.findings import Measure
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.bands import Cutoff

_SHOWN = frozenset({"creatinine", "reference-value", "ratio", "urine-rate", "urine-hours"})
_DIALYSIS = "long-term dialysis"


def kidney_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return acute kidney injury, or else a low filtration rate."""
    injury = _injury(bedside)
    if injury is not None:
        yield injury
        return
    for found in (_low_rate(bedside), _after_injury(bedside)):
        if found is not None:
            yield found


def _after_injury(bedside: Bedside) -> MetTrigger | None:
    """Return an injury of the last weeks that is over or recovers."""
    episode = bedside.kidneys.episode
    if episode is None or episode.is_present or episode.disease_stage:
        return None
    if bedside.as_of - episode.last_met > timing.AFTER_KIDNEY_INJURY.length:
        return None
    peak, now = episode.peak, episode.newest
    short = (
        f"acute kidney injury stage {episode.highest_stage} until lately (creatinine {tenths(peak.value)} "
        f"\u00b5mol/L {bedside.clock.at(peak.at)}, now {tenths(now.value)})"
    )
    return MetTrigger(
        trigger=Trigger.AFTER_KIDNEY_INJURY,
        short=short,
        said=short,
        origins=(peak.origin, now.origin),
        sources=(timing.AFTER_KIDNEY_INJURY.source,),
    )


# Acute injury


def _injury(bedside: Bedside) -> MetTrigger | None:
    kidneys, now = bedside.kidneys, bedside.aki_now
    if not now.stage:
        return None
    for newest, source in (
        (kidneys.injury.creatinine, kdigo.STAGE_BY_RATIO.source),
        (kidneys.warning, nhs.STAGE_BY_RATIO.source),
    ):
        if newest is not None and newest.stage == now.stage:
            return _by_creatinine(bedside, newest, now, source)
    newest = kidneys.injury.creatinine
    if newest is not None and kidneys.disease_stage == now.stage:
        # What lasts is measured against the reference of its episode.
        times = newest.result.value / newest.other.value if newest.other is not None else None
        lasting = replace(newest, reference=newest.other, ratio=times)
        return _by_creatinine(bedside, lasting, now, kdigo.INJURY_LASTS.source)
    return _by_urine_or_therapy(bedside, now)


def _by_creatinine(bedside: Bedside, newest: KidneyStage, now: AkiNow, source: Source) -> MetTrigger:
    said = f"creatinine {tenths(newest.result.value)} \u00b5mol/L"
    if newest.reference is not None and newest.ratio is not None:
        said += f", {cut(newest.ratio)} times {tenths(newest.reference.value)}"
    name = "acute kidney disease" if now.is_disease else "acute kidney injury"
    short = f"{name} stage {now.stage}"
    cautions = list(age_caution(newest.result, bedside))
    if newest.reference is not None and newest.reference.method is ReferenceMethod.ESTIMATED:
        cautions.append(ESTIMATE_OVERCALLS.text)
    return MetTrigger(
        trigger=Trigger.AKI,
        short=short,
        said=at_words(f"{short} ({said})", newest.result.at, bedside.clock),
        measures=tuple(m for m in creatinine_measures(newest) if m.key in _SHOWN),
        origins=origins_of(inputs_of(newest)),
        since=now.since,
        asked_since=now.stage_since,
        grade=now.stage - 1,
        sources=(source,),
        cautions=tuple(cautions),
        is_provisional=Remark.PROVISIONAL in newest.result.remarks,
    )


def _by_urine_or_therapy(bedside: Bedside, now: AkiNow) -> MetTrigger:
    injury = bedside.kidneys.injury
    urine = injury.urine
    evidence: tuple[Origin, ...]
    if injury.therapy is not None:
        session = injury.therapy.session
        said, at, evidence = "renal replacement therapy was started", session.start, (session.origin,)
        measures: tuple[Measure, ...] = ()
        source = kdigo.STAGE_3_RENAL_REPLACEMENT.source
    else:
        said = urine_words(urine) if urine is not None else ""
        at = urine.at if urine is not None else None
        evidence = urine.passed.origins if urine is not None and urine.passed is not None else ()
        measures = tuple(m for m in urine_measures(urine) if m.key in _SHOWN) if urine is not None else ()
        source = kdigo.URINE_CRITERIA[0].source
    short = f"acute kidney injury stage {now.stage}"
    return MetTrigger(
        trigger=Trigger.AKI,
        short=short,
        said=at_words(f"{short} ({said})", at, bedside.clock),
        measures=measures,
        origins=evidence,
        since=now.since,
        asked_since=now.stage_since,
        grade=now.stage - 1,
        sources=(source,),
    )


# Filtration rate


def rate_now(bedside: Bedside) -> tuple[Measurement, str] | None:
    """Return the newest filtration rate of three months, reported or worked out, and how."""
    now = bedside.kidney_function
    return (now.rate, now.method) if now.rate is not None else None


def _low_rate(bedside: Bedside) -> MetTrigger | None:
    therapy = bedside.kidneys.therapy
    if therapy.is_long_term_at(bedside.as_of):
        return on_dialysis(bedside)
    found = rate_now(bedside)
    if found is None or bedside.is_pregnant_or_recently:
        return None
    measured, method = found
    certainty = meets(triggers.EGFR_45, measured)
    if certainty is Met.NO:
        return None
    below_30 = surely(triggers.EGFR_30, measured)
    unsteady = bedside.kidneys.unsteady_because
    cautions = [rate_known(method)]
    if unsteady:
        cautions.append(f"It may not be steady: {unsteady[0]}.")
    met = met_by(
        bedside,
        Trigger.LOW_EGFR,
        Signal.EGFR,
        measured,
        (triggers.EGFR_30 if below_30 else triggers.EGFR_45).source,
        rate_below_since(bedside, triggers.EGFR_45, found),
        certainty=certainty,
        cautions=tuple(cautions),
        label=rate_label(method),
    )
    return as_rate(met, method)


def rate_label(method: str) -> str:
    """Name a filtration rate: as reported only where the laboratory did."""
    return "eGFR" if method else Signal.EGFR.label


def rate_known(method: str) -> str:
    """Say how a filtration rate is known, in a sentence."""
    return f"By the {method}." if method else "The filtration rate was reported by the laboratory."


def as_rate(met: MetTrigger, method: str) -> MetTrigger:
    """Return the trigger of a filtration rate with the measure that it is, reported or worked out."""
    return replace(met, measures=(replace(met.measures[0], key="egfr", label=rate_label(method)),))


def rate_below_since(bedside: Bedside, cutoff: Cutoff, found: tuple[Measurement, str]) -> datetime:
    """Return when the run of low rates began, by the same way of knowing them."""
    measured, method = found
    if not method:
        return since_beyond(bedside.record.series(Signal.EGFR).items, cutoff) or measured.at

    def is_low(result: Measurement) -> bool:
        estimate = bedside.kidneys.rate_of(result)
        return isinstance(estimate, Estimate) and cutoff.is_met_by(estimate.value)

    return (first_of_run(bedside.kidneys.results, is_low) or measured).at


def on_dialysis(bedside: Bedside) -> MetTrigger:
    """Return long-term dialysis as a function that is low for good."""
    course = bedside.kidneys.therapy.course_at(bedside.as_of)
    return MetTrigger(
        trigger=Trigger.LOW_EGFR,
        short=_DIALYSIS,
        said=_DIALYSIS,
        origins=tuple(dict.fromkeys(one.origin for one in course)),
        since=course[0].start if course else None,
        sources=(triggers.EGFR_30.source,),
        cautions=("Doses on dialysis are for the renal team.",),
    )
