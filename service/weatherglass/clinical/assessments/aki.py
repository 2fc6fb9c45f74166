"""Is there acute kidney injury, by KDIGO and by the NHS England algorithm?

Both answers are given side by side and never merged: they use different references
and different limits. The urgency follows the higher stage.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import kdigo_aki_2012 as kdigo
from weatherglass.clinical.criteria import nhs_aki_2014 as nhs
from weatherglass.clinical.findings import (
    AkiFinding,
    Finding,
    Kind,
    Letter,
    Measure,
    State,
    Urgency,
)
from weatherglass.clinical.quantities import Unit, plain
from weatherglass.clinical.record import ConditionKind, Measurement, Remark
from weatherglass.clinical.references import Origin
from weatherglass.clinical.runs import last_run, state_of
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source
from weatherglass.clinical.staging import KidneyStage, Reference

_MICRO = Unit.MICROMOLE_PER_LITRE
#: Ours: stage 2 and 3 ask for review within hours, stage 1 within the day.
_URGENCY_BY_STAGE = {0: Urgency.ROUTINE, 1: Urgency.PROMPT, 2: Urgency.URGENT, 3: Urgency.URGENT}


def assess_aki(bedside: Bedside) -> Iterator[Finding]:
    """Stage the newest creatinine by each criterion."""
    creatinine = bedside.record.series(Signal.CREATININE)
    if not creatinine.items:
        return
    if bedside.kdigo:
        yield _kdigo(bedside, bedside.kdigo)
    if bedside.nhs:
        yield _nhs(bedside, bedside.nhs)


def _kdigo(bedside: Bedside, stages: Sequence[KidneyStage]) -> AkiFinding:
    newest = stages[-1]
    sources = (kdigo.STAGE_BY_RATIO.source, kdigo.STAGE_1_RISE.source)
    return _finding(
        bedside,
        stages,
        key="aki-kdigo",
        wording=f"KDIGO stage {newest.stage}",
        sources=sources,
        cautions=_cautions(bedside, newest),
    )


def _nhs(bedside: Bedside, stages: Sequence[KidneyStage]) -> AkiFinding:
    newest = stages[-1]
    flag = "" if newest.stage else _flag(bedside, newest.index)
    cautions = list(_cautions(bedside, newest))
    if newest.stage and bedside.record.has(ConditionKind.CHRONIC_KIDNEY_DISEASE):
        cautions.append(nhs.CHRONIC_DISEASE_CAUTION.text)
    return _finding(
        bedside,
        stages,
        key="aki-warning-stage",
        wording=nhs.STAGE_WORDING.get(newest.stage or 0, "no AKI warning"),
        sources=(nhs.STAGE_BY_RATIO.source, nhs.STAGE_1_RISE.source),
        cautions=tuple(cautions),
        flag=flag,
    )


def _finding(
    bedside: Bedside,
    stages: Sequence[KidneyStage],
    *,
    key: str,
    wording: str,
    sources: tuple[Source, ...],
    cautions: tuple[str, ...],
    flag: str = "",
) -> AkiFinding:
    newest = stages[-1]
    since, state = _state(bedside, stages)
    stage = newest.stage
    reference = newest.reference
    return AkiFinding(
        kind=Kind.AKI_STAGE,
        key=key,
        letter=Letter.CIRCULATION,
        urgency=_URGENCY_BY_STAGE[stage or 0],
        sentence=_sentence(newest, wording, flag),
        at=newest.index.at,
        state=state,
        since=since,
        measures=tuple(_measures(newest)),
        evidence=_evidence(newest),
        sources=sources,
        cautions=cautions,
        decided_by=newest.rule if stage else "",
        provisional=Remark.PROVISIONAL in newest.index.remarks,
        criterion=key,
        stage=stage,
        not_assessed="" if stage is not None else newest.rule,
        reference=reference.value if reference is not None else None,
        ratio=newest.ratio,
        rise=newest.rise,
        method=reference.method.value if reference is not None else "",
        flag=flag,
        history=tuple((one.index.at, one.stage) for one in stages if one.stage is not None),
    )


def _state(bedside: Bedside, stages: Sequence[KidneyStage]) -> tuple[datetime | None, State | None]:
    run = last_run([s.index.at for s in stages], [bool(s.stage) for s in stages])
    choices = bedside.choices
    state = state_of(run, bedside.as_of, new_within=choices.new_within, settled_within=choices.settled_within)
    return (run.since if run is not None and state is not None else None), state


def _sentence(newest: KidneyStage, wording: str, flag: str) -> str:
    value = f"creatinine {_show(newest.index.value)} \u00b5mol/L"
    if newest.stage is None:
        text = f"{value[0].upper()}{value[1:]}: {newest.rule}; acute injury cannot be told from chronic."
        return f"{text} {_FLAG_WORDS[flag]}" if flag else text
    reference = newest.reference
    against = ""
    if reference is not None and newest.ratio is not None:
        against = f", {_show_ratio(newest.ratio)} times {_show(reference.value)} ({reference.method.value})"
    rise = f", up {_show(newest.rise)} in 48 hours" if newest.rise is not None and newest.rise > 0 else ""
    if newest.stage == 0:
        text = f"No acute kidney injury by this criterion: {value}{against}{rise}."
        return f"{text} {_FLAG_WORDS[flag]}" if flag else text
    return f"{wording}: {value}{against}{rise}."


_FLAG_WORDS = {
    "HIGH": "Above the laboratory's reference range: repeat, and look for earlier results.",
    "LOW": "Below the laboratory's reference range.",
}


def _flag(bedside: Bedside, index: Measurement) -> str:
    high = index.reference_high or bedside.choices.upper_creatinine_limit
    low = index.reference_low or bedside.choices.lower_creatinine_limit
    if high is not None and index.value > high:
        return "HIGH"
    if low is not None and index.value < low:
        return "LOW"
    return ""


def _measures(newest: KidneyStage) -> Iterator[Measure]:
    index = newest.index
    yield Measure(
        key="creatinine", label="creatinine", value=index.value, unit=_MICRO, at=index.at, origin=index.origin
    )
    if newest.reference is not None:
        yield _reference_measure("reference-value", newest.reference)
        yield Measure(key="reference-method", label="reference method", value=newest.reference.method.value)
    if newest.other is not None:
        yield _reference_measure("other-reference-value", newest.other)
    if newest.ratio is not None:
        yield Measure(
            key="ratio",
            label="ratio to the reference value",
            value=_two_places(newest.ratio),
            unit=Unit.RATIO,
        )
    if newest.rise is not None and newest.rise_from is not None:
        yield Measure(
            key="absolute-rise",
            label="rise from the lowest of 48 hours",
            value=newest.rise,
            unit=_MICRO,
            at=newest.rise_from.at,
            origin=newest.rise_from.origin,
        )


def _reference_measure(key: str, reference: Reference) -> Measure:
    source = reference.results[-1] if reference.results else None
    return Measure(
        key=key,
        label=f"reference creatinine ({reference.method.value})",
        value=reference.value,
        unit=_MICRO,
        at=source.at if source is not None else None,
        origin=source.origin if source is not None else None,
    )


def _evidence(newest: KidneyStage) -> tuple[Origin, ...]:
    results = [newest.index]
    for reference in (newest.reference, newest.other):
        results.extend(reference.results if reference is not None else ())
    if newest.rise_from is not None:
        results.append(newest.rise_from)
    results.sort(key=lambda m: m.at)
    return tuple(dict.fromkeys(m.origin for m in results))


def _cautions(bedside: Bedside, newest: KidneyStage) -> tuple[str, ...]:
    cautions = []
    if Remark.CONFLICT in newest.index.remarks:
        cautions.append(
            "Two different creatinine values are recorded at this time; check with the laboratory."
        )
    if bedside.record.has(ConditionKind.DIALYSIS):
        cautions.append("Dialysis is recorded: creatinine criteria do not hold while it is given.")
    return tuple(cautions)


def _two_places(ratio: Decimal) -> Decimal:
    # Cut, not rounded: 1.499 must not be shown as the 1.5 that it has not reached.
    return ratio.quantize(Decimal("0.01"), rounding=ROUND_DOWN)


def _show(value: Decimal | None) -> str:
    if value is None:
        return ""
    return plain(value.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP))


def _show_ratio(value: Decimal) -> str:
    return plain(_two_places(value))
