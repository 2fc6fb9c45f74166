"""What does the NHS England laboratory algorithm make of the newest creatinine?

A laboratory warning stage, kept apart from the KDIGO stage: it has other references and
other limits, and it knows neither urine nor replacement therapy.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from weatherglass.assessments.telling.basis import Course, course_of, rests_on
from weatherglass.assessments.telling.kidneys.kidney_findings import (
    HIGH_ALONE,
    asks_for_a_repeat,
    flat_and_high_since,
    is_alone,
    response_to,
    result_cautions,
    stage_course,
    urgency_of_stage,
    why_they_differ,
)
from weatherglass.assessments.telling.kidneys.kidney_words import (
    creatinine_measures,
    creatinine_words,
    inputs_of,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.staging import KidneyStage, Rule, exact_stage_by_ratio
from weatherglass.facts.kidneys.windows import ReferenceMethod
from weatherglass.facts.results.high_creatinine import upper_limit_of
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.model.findings import AkiFinding, Finding, Kind, Urgency
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Cited, sources_of

_FLAG_WORDS: Final = {
    "HIGH": "The result is above the laboratory's reference range.",
    "LOW": "The result is below the laboratory's reference range.",
}
_ALONE: Final = {"HIGH": nhs.HIGH_WITHOUT_EARLIER_RESULT, "LOW": nhs.LOW_WITHOUT_EARLIER_RESULT}
_BY: Final = "NHS England algorithm"


def assess_aki_warning(bedside: Bedside) -> Iterator[Finding]:
    """Give the newest creatinine its AKI warning stage."""
    newest = bedside.kidneys.newest
    if newest is not None:
        yield _nhs(bedside, newest)


def _nhs(bedside: Bedside, measured: Measurement) -> AkiFinding:
    stages = bedside.kidneys.nhs
    staged = stages[-1] if stages and stages[-1].result == measured else None
    why_not = _why_no_warning(bedside, measured, staged)
    newest = staged or KidneyStage(measured, None, None, None, None, None, Rule.NOT_STAGED)
    stage, reference = None if why_not else newest.stage, newest.reference
    flag = "" if stage else _flag(bedside, measured)
    history = tuple((one.result.at, one.stage) for one in stages if one.stage is not None)
    urgency, course = _urgency(bedside, newest, stage, history)
    asked = response_to(bedside, stage)
    return AkiFinding(
        kind=Kind.AKI_STAGE,
        key="aki-warning-stage",
        letter=Letter.CIRCULATION,
        urgency=urgency,
        sentence=_sentence(bedside, newest, stage, why_not, flag),
        brief=_brief(bedside, newest, stage, why_not),
        **rests_on(
            bedside, course, *inputs_of(newest), at=measured.at, measures=tuple(creatinine_measures(newest))
        ),
        sources=sources_of((*_sources(bedside, newest, flag), *asked.sources)),
        cautions=tuple(_nhs_cautions(bedside, newest, stage)),
        decided_by=newest.rule if stage else HIGH_ALONE if urgency is not Urgency.ROUTINE else "",
        criterion="aki-warning-stage",
        stage=stage,
        not_assessed=why_not,
        reference=reference.value if reference is not None else None,
        ratio=newest.ratio,
        rise=newest.rise,
        method=reference.method.value if reference is not None else "",
        flag=flag,
        response=asked.text,
        history=history,
    )


def _sources(bedside: Bedside, newest: KidneyStage, flag: str) -> Iterator[Cited]:
    yield from (nhs.STAGE_BY_RATIO, nhs.STAGE_1_RISE)
    if bedside.kidneys.therapy.on(newest.result.at):
        yield nhs.NOT_ON_DIALYSIS
    if is_alone(newest) and flag:
        yield _ALONE[flag]
    yield from _of_the_reference(newest)


def _of_the_reference(newest: KidneyStage) -> Iterator[Cited]:
    """Yield the readings of the algorithm on which its reference, or its stage, depends."""
    used, other, value = newest.reference, newest.other, newest.result.value
    if used is None:
        return
    if used.method is ReferenceMethod.UPPER_LIMIT:
        yield nhs.CHILD_WITHOUT_EARLIER_RESULT
    if used.method is ReferenceMethod.MEDIAN_YEAR and not used.chosen_from % 2:
        yield nhs.MEDIAN_OF_EVEN_COUNT
    by_other = exact_stage_by_ratio(nhs.STAGE_BY_RATIO, value, other.value) if other is not None else None
    if newest.rule is Rule.RATIO and by_other is not None and by_other != newest.stage:
        yield nhs.HIGHER_RATIO
    if newest.rule is Rule.RISE_NHS and nhs.STAGE_3_CREATININE.is_met_by(value):
        yield nhs.RISE_ALONE_IS_STAGE_1


def _urgency(
    bedside: Bedside, newest: KidneyStage, stage: int | None, history: tuple[tuple[datetime, int], ...]
) -> tuple[Urgency, Course]:
    if stage is not None:
        return urgency_of_stage(bedside, stage), stage_course(bedside, history)
    if bedside.kidneys.speaks_for_now(newest.result) and asks_for_a_repeat(bedside, newest):
        return Urgency.PROMPT, course_of(bedside, newest.result.at)
    return Urgency.ROUTINE, Course()


def _why_no_warning(bedside: Bedside, measured: Measurement, staged: KidneyStage | None) -> str:
    if staged is not None and staged.stage is None:
        return staged.rule
    if staged is not None:
        is_old = not bedside.kidneys.speaks_for_now(measured)
        return f"the result is {bedside.clock.apart(measured.at, bedside.as_of)} old" if is_old else ""
    if bedside.kidneys.therapy.on(measured.at):
        return "taken on renal replacement therapy, which the algorithm leaves out"
    if bedside.kidneys.is_newborn_at(measured.at):
        return f"the algorithm is not used below {nhs.MINIMUM_AGE.days} days of age"
    return "known only as a limit"


def _sentence(bedside: Bedside, newest: KidneyStage, stage: int | None, why_not: str, flag: str) -> str:
    """Say the warning in words that read on from KDIGO's, which stand beside it."""
    if why_not:
        if is_alone(newest):  # KDIGO's says why, and what is asked for.
            return f"Cannot be staged by the {_BY} either{'; flag HIGH' if flag == 'HIGH' else ''}."
        also = _FLAG_WORDS.get(flag, "")
        return f"Cannot be staged by the {_BY}: {why_not}. {also}".rstrip()
    differs, injury = why_they_differ(bedside), bedside.kidneys.injury
    if not stage:
        if injury.stage:
            return f"No AKI warning ({_BY}) beside KDIGO stage {injury.stage}, which stands: {differs}."
        if flat_and_high_since(bedside) is not None:
            return f"No rise by the {_BY} either, which is no reassurance here: {creatinine_words(newest)}."
        return f"No AKI warning ({_BY}): {creatinine_words(newest)}. {_FLAG_WORDS.get(flag, '')}".rstrip()
    warning = f"{nhs.STAGE_WORDING[stage]} ({_BY})"
    if differs:
        theirs = f"KDIGO stage {injury.stage}" if injury.stage else "no KDIGO stage"
        return f"{warning} beside {theirs}, as {differs}: {creatinine_words(newest)}."
    one = injury.creatinine
    if one is not None and _rests_on_the_same(one, newest):
        return f"{warning} too, by the same results."
    return f"{warning} too: {creatinine_words(newest)}."


def _rests_on_the_same(one: KidneyStage, other: KidneyStage) -> bool:
    if one.reference is None or other.reference is None:
        return False
    return (one.result, one.reference.value) == (other.result, other.reference.value)


def _brief(bedside: Bedside, newest: KidneyStage, stage: int | None, why_not: str) -> str:
    if stage:
        return nhs.STAGE_WORDING[stage]
    if is_alone(newest):
        return "AKI warning stage cannot be given either"
    if not why_not and flat_and_high_since(bedside) is not None:
        return "No rise by the AKI warning algorithm either"
    return f"AKI warning stage cannot be given: {why_not}" if why_not else "No AKI warning"


def _nhs_cautions(bedside: Bedside, newest: KidneyStage, stage: int | None) -> Iterator[str]:
    yield from result_cautions(newest)
    if stage and bedside.kidneys.is_chronic:
        yield nhs.CHRONIC_DISEASE_CAUTION.text
    if bedside.choices.nhs_calendar_days:
        yield "Days are counted as calendar days, as this site has chosen."


def _flag(bedside: Bedside, index: Measurement) -> str:
    low = index.reference_low or bedside.choices.lower_creatinine_limit
    limit = upper_limit_of(bedside, index)
    if limit is not None and index.value > limit:
        return "HIGH"
    if low is not None and index.value < low:
        return "LOW"
    return ""
