"""What a stage by KDIGO rests on, and what to beware of in it."""

from collections.abc import Iterator

from weatherglass.assessments.telling.kidneys.kidney_findings import is_alone, removed_kidney, result_cautions
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.injury import Injury
from weatherglass.facts.kidneys.staging import Rule
from weatherglass.facts.kidneys.windows import ReferenceMethod
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.record.values import Remark
from weatherglass.model.sources import Cited
from weatherglass.model.words.clauses import Clause


def rests_on_estimate(injury: Injury) -> bool:
    """Tell whether nothing but an estimated baseline gives the stage."""
    one = injury.creatinine
    if one is None or one.reference is None or one.reference.method is not ReferenceMethod.ESTIMATED:
        return False
    by_urine = injury.urine is not None and injury.urine.stage == injury.stage
    return injury.therapy is None and not by_urine


def kdigo_sources(bedside: Bedside, injury: Injury) -> tuple[Cited, ...]:
    """Return what a stage rests on, or why there is none."""
    sources: list[Cited] = [kdigo.STAGE_BY_RATIO, kdigo.STAGE_1_RISE]
    if injury.urine is not None:
        sources += [kdigo.URINE_CRITERIA[0], kdigo.URINE_COVERAGE]
    if injury.therapy is not None:
        sources += [kdigo.STAGE_3_RENAL_REPLACEMENT, baseline.ON_THERAPY_AFTER_SESSION]
    sources += [clause for clause, _ in _of_therapy(bedside, injury)]
    sources += _of_creatinine(injury)
    if rests_on_estimate(injury):
        sources.append(baseline.BACK_CALCULATED)
    return (*sources, *_why_not(bedside, injury))


def _of_creatinine(injury: Injury) -> Iterator[Cited]:
    one = injury.creatinine
    if one is None:
        return
    if one.rule is Rule.HEIGHT_KDIGO:
        yield from (kdigo.STAGE_3_CREATININE, kdigo.STAGE_3_NEEDS_ACUTE_RISE)
    if one.already is not None:
        yield baseline.NOT_OF_THIS_WEEK
    if one.reference is not None and one.reference.method is ReferenceMethod.EPISODE:
        yield ours.EPISODE_REFERENCE
    if one.reference is not None and one.reference.left_out:
        yield baseline.EARLIER_INJURY_LEFT_OUT


def _why_not(bedside: Bedside, injury: Injury) -> Iterator[Cited]:
    """Yield what leaves the stage open."""
    if bedside.kidneys.therapy.is_long_term_at(bedside.as_of):
        yield ours.LONG_TERM_THERAPY
        return
    newest = bedside.kidneys.newest
    if injury.stage is None and newest is not None and bedside.kidneys.therapy.on(newest.at):
        yield baseline.NEVER_ON_DIALYSIS
    if injury.old is not None:
        yield ours.CREATININE_STANDS
    if is_alone(injury.creatinine) and injury.urine is not None and injury.urine.stage == 0:
        yield ours.URINE_CLEARS_NOTHING


def kdigo_cautions(bedside: Bedside, injury: Injury, stage: int | None) -> Iterator[str]:
    """Yield what to beware of in a stage, or in what could not be staged."""
    kidneys = bedside.kidneys
    newest = injury.creatinine
    if stage == 1 and removed_kidney(bedside) is not None:
        yield ours.AFTER_A_KIDNEY_SAYS.text
    if newest is not None:
        yield from result_cautions(newest)
        reference = newest.reference
        if reference is not None and reference.left_out:
            yield f"{reference.left_out} result(s) of an earlier injury were left out of the median."
        if rests_on_estimate(injury):
            yield f"{baseline.ESTIMATE_OVERCALLS.text} At most a possible injury."
        if stage and kidneys.is_chronic and newest.stage == 1 and newest.rule is Rule.RISE_KDIGO:
            yield (
                "Chronic kidney disease is recorded or likely: only the absolute rise is met, and the "
                "ratio says more there."
            )
    if newest is not None and kidneys.is_newborn_at(newest.result.at):
        yield "In the first weeks of life creatinine still reflects the mother's."
    yield from (said for _, said in _of_therapy(bedside, injury))
    yield from _urine_cautions(bedside, injury)


def _of_therapy(bedside: Bedside, injury: Injury) -> Iterator[tuple[Clause, str]]:
    """Yield what is to be known of replacement therapy, each with the rule that says it."""
    therapy, as_of = bedside.kidneys.therapy, bedside.as_of
    if injury.therapy is not None and not injury.therapy.shown_acute:
        yield ours.PLANNED_THERAPY, "Whether the start of replacement therapy was acute could not be judged."
    elif injury.therapy is None and therapy.on(as_of) and not therapy.is_long_term_at(as_of):
        yield (
            ours.PLANNED_THERAPY,
            "Replacement therapy was started without a criterion of acute injury being met.",
        )
    asked = [
        one.at
        for one in therapy.requested
        if one.at is not None and as_of - one.at <= kdigo.RATIO_WINDOW.length
    ]
    if asked and not therapy.on(as_of):
        when = bedside.clock.full(max(asked))
        yield (
            ours.THERAPY_ASKED_FOR,
            f"Renal replacement therapy was asked for ({when}); nothing says that it was given.",
        )


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
