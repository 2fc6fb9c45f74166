"""What does the NHS England laboratory algorithm make of the newest creatinine?

A laboratory warning stage, kept apart from the KDIGO stage: it has other references and
other limits, and it knows neither urine nor replacement therapy.
"""

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria import nhs_aki_2014 as nhs
from weatherglass.clinical.findings import AkiFinding, Finding, Kind, Letter
from weatherglass.clinical.kidney_findings import result_cautions, state_of_history, urgency_of_stage
from weatherglass.clinical.kidney_words import creatinine_measures, creatinine_words, evidence_of
from weatherglass.clinical.kidneys.staging import KidneyStage
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source

_REPEAT: Final = "Above the laboratory's reference range: repeat, and look for earlier results."
_FLAG_WORDS: Final = {"HIGH": _REPEAT, "LOW": "Below the laboratory's reference range."}


def assess_aki_warning(bedside: Bedside) -> Iterator[Finding]:
    """Give the newest creatinine its AKI warning stage."""
    newest = bedside.record.series(Signal.CREATININE).latest
    if newest is not None:
        yield _nhs(bedside, newest)


def _nhs(bedside: Bedside, measured: Measurement) -> AkiFinding:
    stages = bedside.nhs
    newest = stages[-1] if stages and stages[-1].result.at == measured.at else None
    if newest is None:
        newest = KidneyStage(measured, None, None, None, None, None, _why_no_warning(bedside, measured))
        stages = (*stages, newest)
    stage, reference = newest.stage, newest.reference
    flag = "" if stage else _flag(bedside, measured)
    since, state = state_of_history(bedside, [(s.result.at, s.stage) for s in stages if s.stage is not None])
    response, within, published = _response(bedside, stage)
    return AkiFinding(
        kind=Kind.AKI_STAGE,
        key="aki-warning-stage",
        letter=Letter.CIRCULATION,
        urgency=urgency_of_stage(bedside, stage, measured.at),
        sentence=_nhs_sentence(newest, flag),
        at=measured.at,
        state=state if stage is not None else None,
        since=since if stage is not None else None,
        measures=tuple(creatinine_measures(newest)),
        evidence=evidence_of(newest),
        sources=(nhs.STAGE_BY_RATIO.source, nhs.STAGE_1_RISE.source, *published),
        cautions=tuple(_nhs_cautions(bedside, newest)),
        decided_by=newest.rule if stage else "",
        provisional=Remark.PROVISIONAL in measured.remarks,
        criterion="aki-warning-stage",
        stage=stage,
        not_assessed="" if stage is not None else newest.rule,
        reference=reference.value if reference is not None else None,
        ratio=newest.ratio,
        rise=newest.rise,
        method=reference.method.value if reference is not None else "",
        flag=flag,
        response=response,
        respond_within=within,
        history=tuple((one.result.at, one.stage) for one in stages if one.stage is not None),
    )


def _why_no_warning(bedside: Bedside, measured: Measurement) -> str:
    if bedside.kidneys.therapy.on(measured.at):
        return "taken on renal replacement therapy, which the algorithm leaves out"
    if bedside.kidneys.is_newborn_at(measured.at):
        return f"the algorithm is not used below {nhs.MINIMUM_AGE.days} days of age"
    return "known only as a limit"


def _nhs_sentence(newest: KidneyStage, flag: str) -> str:
    said = creatinine_words(newest)
    if newest.stage is None:
        text = f"No AKI warning stage: {said}; {newest.rule}."
    elif newest.stage:
        return f"{nhs.STAGE_WORDING[newest.stage]}: {said}."
    else:
        text = f"No AKI warning: {said}."
    return f"{text} {_FLAG_WORDS[flag]}" if flag else text


def _nhs_cautions(bedside: Bedside, newest: KidneyStage) -> Iterator[str]:
    yield from result_cautions(bedside, newest.result)
    if newest.stage and bedside.kidneys.is_chronic:
        yield nhs.CHRONIC_DISEASE_CAUTION.text
    if bedside.choices.nhs_calendar_days:
        yield "Days are counted as calendar days, as this site has chosen."


def _response(bedside: Bedside, stage: int | None) -> tuple[str, timedelta | None, tuple[Source, ...]]:
    """Say what is published about responding to a warning stage, and how soon."""
    if stage == 3:
        text = (
            "discussion with the renal team as soon as possible, within 24 hours where the cause is unclear"
        )
        return text, nhs.STAGE_3_NEPHROLOGY.length, (nhs.STAGE_3_NEPHROLOGY.source,)
    if stage != 2:
        return "", None, ()
    ill, stable = nhs.STAGE_2_REVIEW_IF_ACUTELY_ILL, nhs.STAGE_2_REVIEW_IF_STABLE
    admitted = any(
        stay.inpatient and (stay.ends is None or stay.ends > bedside.as_of) for stay in bedside.record.stays
    )
    if admitted:
        return f"clinical review within {lasting(ill.length)}", ill.length, (ill.source,)
    text = (
        f"clinical review within {lasting(ill.length)} if acutely ill or in hospital, "
        f"within {lasting(stable.length)} if clinically stable"
    )
    return text, ill.length, (ill.source, stable.source)


def _flag(bedside: Bedside, index: Measurement) -> str:
    high = index.reference_high or bedside.choices.upper_creatinine_limit
    low = index.reference_low or bedside.choices.lower_creatinine_limit
    if high is not None and index.value > high:
        return "HIGH"
    if low is not None and index.value < low:
        return "LOW"
    return ""
