"""What does the blood gas say: carbon dioxide kept, acid from elsewhere, or neither?

Arterial samples are judged by the published limits. Whether a venous sample says
anything is asked elsewhere.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria import context_choices as ours
from weatherglass.clinical.criteria import critical_results as limits
from weatherglass.clinical.criteria import oxygen_targets
from weatherglass.clinical.findings import (
    Finding,
    Kind,
    Letter,
    Measure,
    Missing,
    MissingReason,
    State,
    Urgency,
)
from weatherglass.clinical.gas_samples import ARTERIAL, GasSample, gas_samples
from weatherglass.clinical.record import ConditionKind, Remark
from weatherglass.clinical.references import Origin
from weatherglass.clinical.runs import run_at_level
from weatherglass.clinical.scoring import measure_of
from weatherglass.clinical.signals import FACTS, Signal
from weatherglass.clinical.sources import Source, our_choice

_CARBON_DIOXIDE = our_choice("respiratory acidosis is 'urgent', below pH 7.25 an emergency")
_OTHER_ACID = our_choice("metabolic acidosis is 'prompt', 'urgent' below 18, below pH 7.25 an emergency")


def assess_blood_gas(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest arterial sample against the published limits."""
    samples = gas_samples(bedside.record, ARTERIAL)
    if samples and bedside.as_of - samples[-1].ph.at <= bedside.choices.gas_counts_for:
        yield from _carbon_dioxide(bedside, samples)
        yield from _other_acid(bedside, samples)
        yield from _unexplained(bedside, samples)


# Carbon dioxide


def _carbon_dioxide(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[Finding]:
    newest = samples[-1]
    run = run_at_level([s.ph.at for s in samples], [s.respiratory for s in samples])
    state = bedside.state_of(run)
    if run is None or state is None:
        return
    level = newest.respiratory
    if not level:
        last = next(s for s in reversed(samples) if s.respiratory)
        if last.respiratory > 1:
            yield _finding(
                bedside,
                newest,
                key="respiratory-acidosis",
                urgency=Urgency.ROUTINE,
                sentence=f"No respiratory acidosis any more: {newest.numbers}.",
                state=state,
                since=run.since,
                sources=(limits.ACIDAEMIA.source, limits.HYPERCAPNIA.source),
            )
        return
    if level == 1:
        yield _finding(
            bedside,
            newest,
            key="hypercapnia",
            urgency=Urgency.ROUTINE,
            sentence=f"Keeps carbon dioxide, without acidosis: {newest.numbers}.",
            state=state,
            since=run.since,
            sources=(limits.HYPERCAPNIA.source,),
            cautions=_keeps(bedside),
        )
        return
    persists = _persists(samples)
    yield _finding(
        bedside,
        newest,
        key="respiratory-acidosis",
        urgency=Urgency.EMERGENCY if level > 3 else Urgency.URGENT,
        sentence=f"Respiratory acidosis: {newest.numbers}{_ventilation(bedside, newest, persists)}.",
        state=state,
        since=run.since,
        sources=(
            limits.ACIDAEMIA.source,
            limits.HYPERCAPNIA.source,
            *((limits.VENTILATION_HYPERCAPNIA.source,) if level > 2 else ()),
            *((ours.SEVERE_ACIDAEMIA.source,) if level > 3 else ()),
            _CARBON_DIOXIDE,
        ),
        cautions=_keeps(bedside),
        decided_by="pH below 7.25 with raised carbon dioxide" if level > 3 else "respiratory acidosis",
    )


def _persists(samples: Sequence[GasSample]) -> GasSample | None:
    """Return the earlier sample an hour or more before that shows the range of ventilation too."""
    newest = samples[-1]
    if newest.respiratory < 3:
        return None
    for earlier in reversed(samples[:-1]):
        if earlier.respiratory < 3:
            return None
        if newest.ph.at - earlier.ph.at >= ours.PERSISTING.length:
            return earlier
    return None


def _ventilation(bedside: Bedside, newest: GasSample, persists: GasSample | None) -> str:
    pco2 = newest.pco2
    if pco2 is None or not limits.VENTILATION_HYPERCAPNIA.is_met_by(pco2.value):
        return ": controlled oxygen and treatment of the cause, then another gas"
    if persists is None:
        return ": if it persists after an hour of treatment, consider non-invasive ventilation"
    return f", and so {bedside.clock.at(persists.ph.at)}: assess for non-invasive ventilation"


def _keeps(bedside: Bedside) -> tuple[str, ...]:
    cautions = [
        f"Oxygen to {oxygen_targets.RISK_OF_HYPERCAPNIA.label} unless the team has set another range."
    ]
    if not bedside.record.has(ConditionKind.HYPERCAPNIA):
        cautions.append("If hypercapnic failure is now documented, ask which SpO2 scale is to be used.")
    return tuple(cautions)


# Other acid


def _other_acid(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[Finding]:
    newest = samples[-1]
    run = run_at_level([s.ph.at for s in samples], [s.metabolic for s in samples])
    state = bedside.state_of(run)
    if run is None or state is None:
        return
    level = newest.metabolic
    if not level:
        yield _finding(
            bedside,
            newest,
            key="metabolic-acidosis",
            urgency=Urgency.ROUTINE,
            sentence=f"No metabolic acidosis any more: {newest.numbers}.",
            state=state,
            since=run.since,
            sources=(limits.BICARBONATE_LOW.source,),
        )
        return
    mixed = " with carbon dioxide kept as well" if newest.respiratory else ""
    yield _finding(
        bedside,
        newest,
        key="metabolic-acidosis",
        urgency=(Urgency.PROMPT, Urgency.URGENT, Urgency.EMERGENCY)[level - 1],
        sentence=f"Metabolic acidosis{mixed}: {newest.numbers}.",
        state=state,
        since=run.since,
        sources=(
            limits.ACIDAEMIA.source,
            (limits.BICARBONATE_LOW if level < 2 else limits.BICARBONATE_VERY_LOW).source,
            *((ours.SEVERE_ACIDAEMIA.source,) if level > 2 else ()),
            _OTHER_ACID,
        ),
        cautions=(
            "The bicarbonate limits are from memory. Look for lactate, ketones, kidneys and medicines.",
        ),
        decided_by=("bicarbonate below 22", "bicarbonate below 18", "pH below 7.25")[level - 1]
        + ", pH below 7.35",
    )


def _unexplained(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[Finding]:
    """Name an acid sample that neither carbon dioxide nor bicarbonate explains."""
    newest = samples[-1]
    if not newest.is_acid or newest.respiratory > 1 or newest.metabolic:
        return
    open_parts = [
        Missing(key=signal.value, label=FACTS[signal].label, reason=MissingReason.NOT_RECORDED)
        for signal, one in (
            (Signal.PCO2_ARTERIAL, newest.pco2),
            (Signal.BICARBONATE, newest.bicarbonate),
        )
        if one is None
    ]
    why = f"{' and '.join(m.label for m in open_parts)} not recorded" if open_parts else "cause not shown"
    run = run_at_level([s.ph.at for s in samples], [int(s.is_acid) for s in samples])
    yield _finding(
        bedside,
        newest,
        key="acidaemia",
        urgency=Urgency.URGENT if newest.is_severe else Urgency.PROMPT,
        sentence=f"Acid blood, {why}: {newest.numbers}.",
        state=bedside.state_of(run) or State.NEW,
        since=run.since if run is not None else newest.ph.at,
        sources=(limits.ACIDAEMIA.source,),
        decided_by="pH below 7.35 without a cause on the gas",
        missing=tuple(open_parts),
    )


def _finding(
    bedside: Bedside,
    sample: GasSample,
    *,
    key: str,
    urgency: Urgency,
    sentence: str,
    state: State,
    since: datetime,
    sources: tuple[Source, ...],
    cautions: tuple[str, ...] = (),
    decided_by: str = "",
    missing: tuple[Missing, ...] = (),
) -> Finding:
    measures: tuple[Measure, ...] = tuple(measure_of(signal, one) for signal, one in sample.parts)
    origins: tuple[Origin, ...] = tuple(dict.fromkeys(one.origin for _, one in sample.parts))
    age = bedside.as_of - sample.ph.at
    old = (f"The sample is {lasting(age)} old.",) if age > ours.RESPONSE_BEFORE.length else ()
    is_child = bedside.age is not None and bedside.age < 16
    adult = (limits.ADULT_LIMITS.text,) if is_child else ()
    return Finding(
        kind=Kind.BLOOD_GAS,
        key=key,
        letter=Letter.BREATHING if key != "metabolic-acidosis" else Letter.CIRCULATION,
        urgency=urgency,
        sentence=sentence,
        at=sample.ph.at,
        state=state,
        since=since,
        measures=measures,
        evidence=origins,
        missing=missing,
        sources=sources,
        cautions=(
            *cautions,
            *old,
            *adult,
            "A sample whose vessel is not stated is read as arterial.",
        ),
        decided_by=decided_by,
        provisional=Remark.PROVISIONAL in sample.ph.remarks,
    )
