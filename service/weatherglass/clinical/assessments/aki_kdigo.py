"""Is there acute kidney injury by KDIGO: by creatinine, by urine output, by replacement therapy?

The stage is the highest of the three; each keeps its own answer and is shown.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import kdigo_aki_2012 as kdigo
from weatherglass.clinical.criteria import kidney_baseline as baseline
from weatherglass.clinical.criteria import kidney_choices as ours
from weatherglass.clinical.findings import AkiFinding, Finding, Kind, Letter, Missing, MissingReason
from weatherglass.clinical.kidney_findings import result_cautions, state_of_history, urgency_of_stage
from weatherglass.clinical.kidney_words import (
    creatinine_measures,
    creatinine_words,
    evidence_of,
    urine_measures,
    urine_words,
)
from weatherglass.clinical.kidneys.injury import Injury
from weatherglass.clinical.kidneys.windows import ReferenceMethod
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source


def assess_kdigo(bedside: Bedside) -> Iterator[Finding]:
    """Stage the kidneys by KDIGO, where anything can tell."""
    kidneys = bedside.kidneys
    measured = bedside.record.series(Signal.CREATININE).items
    as_of = bedside.as_of
    begun = any(one.start is None or one.start <= as_of for one in kidneys.therapy.sessions)
    if measured or kidneys.urine_stages or begun:
        yield _kdigo(bedside, measured)


def _kdigo(bedside: Bedside, measured: Sequence[Measurement]) -> AkiFinding:
    kidneys = bedside.kidneys
    injury = kidneys.injury
    why_not = _why_no_kdigo(bedside, injury, measured)
    stage = None if why_not else injury.stage
    newest = injury.creatinine
    reference = newest.reference if newest is not None else None
    since, state = state_of_history(bedside, injury.history) if not why_not else (None, None)
    at = _newest_input(injury, measured)
    return AkiFinding(
        kind=Kind.AKI_STAGE,
        key="aki-kdigo",
        letter=Letter.CIRCULATION,
        urgency=urgency_of_stage(bedside, stage, at),
        sentence=_kdigo_sentence(bedside, injury, stage, why_not),
        at=at,
        state=state,
        since=since,
        measures=(
            *(creatinine_measures(newest) if newest is not None else ()),
            *(urine_measures(injury.urine) if injury.urine is not None else ()),
        ),
        evidence=evidence_of(injury, measured),
        missing=_missing(injury),
        sources=_kdigo_sources(injury),
        cautions=tuple(_kdigo_cautions(bedside, injury, stage)),
        decided_by=injury.decided_by if stage else "",
        provisional=newest is not None and Remark.PROVISIONAL in newest.result.remarks,
        criterion="aki-kdigo",
        stage=stage,
        not_assessed=why_not,
        reference=reference.value if reference is not None else None,
        ratio=newest.ratio if newest is not None else None,
        rise=newest.rise if newest is not None else None,
        method=reference.method.value if reference is not None else "",
        history=injury.history,
    )


def _why_no_kdigo(bedside: Bedside, injury: Injury, measured: Sequence[Measurement]) -> str:
    therapy = bedside.kidneys.therapy
    if therapy.is_long_term_at(bedside.as_of):
        return "long-term renal replacement therapy, on which the criteria do not hold"
    if injury.stage is not None:
        return ""
    if injury.creatinine is not None:
        return injury.creatinine.rule
    if measured and therapy.on(measured[-1].at):
        return "creatinine was taken on renal replacement therapy"
    if measured and bedside.as_of - measured[-1].at > kdigo.DISEASE_LASTS.length:
        return "the newest creatinine is older than 90 days"
    if measured:
        return "creatinine is known only as a limit"
    return injury.urine.rule if injury.urine is not None else "nothing recent to judge by"


def _newest_input(injury: Injury, measured: Sequence[Measurement]) -> datetime | None:
    moments = [measured[-1].at] if measured else []
    if injury.urine is not None:
        moments.append(injury.urine.at)
    if injury.therapy is not None and injury.therapy.session.start is not None:
        moments.append(injury.therapy.session.start)
    return max(moments, default=None)


def _kdigo_sentence(bedside: Bedside, injury: Injury, stage: int | None, why_not: str) -> str:
    clock = bedside.clock
    parts = []
    if injury.therapy is not None and injury.therapy.session.start is not None:
        parts.append(f"renal replacement therapy started {clock.at(injury.therapy.session.start)}")
    both = injury.urine is not None and injury.urine.stage is not None
    if injury.creatinine is not None:
        parts.append(creatinine_words(injury.creatinine, with_stage=both))
    if injury.urine is not None:
        parts.append(urine_words(injury.urine))
    said = "; ".join(parts)
    if why_not:
        measured = f"{said[0].upper()}{said[1:]}: " if said else ""
        chronic = "; acute injury cannot be told from chronic" if injury.creatinine is not None else ""
        return f"{measured}no KDIGO stage, {why_not}{chronic}."
    if not stage:
        return f"No acute kidney injury by KDIGO: {said}."
    estimated = injury.creatinine is not None and _rests_on_estimate(injury)
    injured = "Possible acute kidney injury" if estimated else "Acute kidney injury"
    return f"{injured} stage {stage} (KDIGO): {said}."


def _rests_on_estimate(injury: Injury) -> bool:
    """Tell whether nothing but an estimated baseline gives the stage."""
    one = injury.creatinine
    if one is None or one.reference is None or one.reference.method is not ReferenceMethod.ESTIMATED:
        return False
    by_urine = injury.urine is not None and injury.urine.stage == injury.stage
    return injury.therapy is None and not by_urine


def _missing(injury: Injury) -> tuple[Missing, ...]:
    if injury.urine is None:
        reason = MissingReason.NOT_RECORDED
        return (Missing(key="urine-output", label="urine output", reason=reason),)
    if injury.urine.stage is None and injury.urine.weight is None and injury.urine.passed is not None:
        return (Missing(key="weight", label="weight", reason=MissingReason.NOT_RECORDED),)
    return ()


def _kdigo_sources(injury: Injury) -> tuple[Source, ...]:
    sources = [kdigo.STAGE_BY_RATIO.source, kdigo.STAGE_1_RISE.source]
    if injury.urine is not None:
        sources += [kdigo.URINE_CRITERIA[0].source, kdigo.URINE_COVERAGE.source]
    if injury.therapy is not None:
        sources += [kdigo.STAGE_3_RENAL_REPLACEMENT.source, baseline.ON_THERAPY_AFTER_SESSION.source]
    one = injury.creatinine
    if one is not None and one.reference is not None and one.reference.left_out:
        sources.append(baseline.EARLIER_INJURY_LEFT_OUT.source)
    if _rests_on_estimate(injury):
        sources.append(baseline.BACK_CALCULATED.source)
    return tuple(sources)


def _kdigo_cautions(bedside: Bedside, injury: Injury, stage: int | None) -> Iterator[str]:
    kidneys = bedside.kidneys
    newest = injury.creatinine
    if newest is not None:
        yield from result_cautions(bedside, newest.result)
        reference = newest.reference
        if reference is not None and reference.left_out:
            yield f"{reference.left_out} result(s) of an earlier injury were left out of the median."
        if _rests_on_estimate(injury):
            yield f"{baseline.ESTIMATE_OVERCALLS.text} At most a possible injury."
        if stage and kidneys.is_chronic and newest.stage == 1 and newest.rule.startswith("rise"):
            yield (
                "Chronic kidney disease is recorded or likely: only the absolute rise is met, and the "
                "ratio says more there."
            )
    if newest is not None and kidneys.is_newborn_at(newest.result.at):
        yield "In the first weeks of life creatinine still reflects the mother's."
    yield from _therapy_cautions(bedside, injury)
    yield from _urine_cautions(bedside, injury)


def _therapy_cautions(bedside: Bedside, injury: Injury) -> Iterator[str]:
    therapy, as_of = bedside.kidneys.therapy, bedside.as_of
    if injury.therapy is not None and not injury.therapy.shown_acute:
        yield "No criterion could be judged around the start of replacement therapy."
    elif injury.therapy is None and therapy.on(as_of) and not therapy.is_long_term_at(as_of):
        yield "Replacement therapy was started without a criterion of acute injury being met."
    asked = [
        one.at
        for one in therapy.requested
        if one.at is not None and as_of - one.at <= kdigo.RATIO_WINDOW.length
    ]
    if asked and not therapy.on(as_of):
        when = bedside.clock.full(max(asked))
        yield f"Renal replacement therapy was asked for ({when}); nothing says that it was given."


def _urine_cautions(bedside: Bedside, injury: Injury) -> Iterator[str]:
    urine = injury.urine
    if urine is None or urine.passed is None:
        return
    if urine.passed.assumed:
        yield "A urine volume without a period was taken to cover the time since the entry before it."
    if urine.weight is not None:
        if Remark.ESTIMATED in urine.weight.remarks:
            yield "The weight is an estimate."
        if urine.at - urine.weight.at > ours.WEIGHT_IS_OLD.length:
            age = bedside.clock.apart(urine.weight.at, urine.at)
            yield f"The weight was recorded {age} before."
