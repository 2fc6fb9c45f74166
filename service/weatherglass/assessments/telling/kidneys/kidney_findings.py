"""What both kidney criteria say in the same way: urgency, state, what differs, what to beware of."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Final

from weatherglass.assessments.telling.basis import Course
from weatherglass.assessments.telling.kidneys.kidney_words import tenths
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.staging import KidneyStage, Rule, exact_stage_by_ratio
from weatherglass.facts.kidneys.windows import ReferenceMethod
from weatherglass.facts.results.high_creatinine import is_high_without_a_range, upper_limit_of
from weatherglass.facts.series.runs import last_run
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.model.findings import State, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Flag, Measurement, Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.words.clock_words import lasting

_WORST: Final = 3
#: The highest and two after it.
_FALLING: Final = 3
#: The stage that the quality standard asks to be reviewed.
_REVIEWED: Final = 2
#: Ours: stage 2 and 3 ask for review within hours, stage 1 within the day.
_URGENCY_BY_STAGE: Final = {
    0: Urgency.ROUTINE,
    1: Urgency.PROMPT,
    2: Urgency.URGENT,
    3: Urgency.URGENT,
}
TOO_OLD: Final = "a stage whose creatinine was not repeated"
FLAT_AND_HIGH: Final = "a high creatinine that does not rise, and none from before this week"
HIGH_ALONE: Final = "a high creatinine with nothing to compare it with"
#: Ours: an injury that is recovering, or that is not of this week, asks for less.
_LESS: Final = {
    Urgency.ROUTINE: Urgency.ROUTINE,
    Urgency.PROMPT: Urgency.ROUTINE,
    Urgency.URGENT: Urgency.PROMPT,
}


def urgency_of_stage(bedside: Bedside, stage: int | None) -> Urgency:
    """Rank a stage; less where creatinine is well on its way back from it, or has long been as high."""
    urgency = _URGENCY_BY_STAGE[stage or 0]
    if stage == 1 and removed_kidney(bedside) is not None:
        return Urgency.ROUTINE
    if is_recovering(bedside):
        return _LESS[urgency]
    if is_falling(bedside):
        return Urgency.PROMPT if stage == _WORST else Urgency.ROUTINE
    return min(urgency, Urgency.PROMPT) if _is_old_rise(bedside) else urgency


def removed_kidney(bedside: Bedside) -> Done | None:
    """Return the operation of the last week that took a kidney out, where creatinine alone stages."""
    injury = bedside.kidneys.injury
    one = injury.creatinine
    if one is None or injury.therapy is not None or (injury.urine is not None and injury.urine.stage):
        return None
    since = bedside.as_of - ours.AFTER_A_KIDNEY.length
    done = [each for each in bedside.record.done(ProcedureKind.KIDNEY_REMOVED) if each.until >= since]
    return done[-1] if done and done[-1].until <= one.result.at else None


def is_recovering(bedside: Bedside) -> bool:
    """Tell whether the newest creatinine shows recovery, and urine or therapy give no stage of their own."""
    episode, injury = bedside.kidneys.episode, bedside.kidneys.injury
    if episode is None or episode.recovering_since is None or injury.therapy is not None:
        return False
    return injury.urine is None or not injury.urine.stage


def is_falling(bedside: Bedside) -> bool:
    """Tell whether creatinine has only come down since the highest of its injury, and well below that.

    Two results of some hours apart say so: a repeat of one says nothing more.
    """
    episode, injury = bedside.kidneys.episode, bedside.kidneys.injury
    if episode is None or injury.therapy is not None or (injury.urine is not None and injury.urine.stage):
        return False
    since = [one for one in bedside.kidneys.results if one.at >= episode.peak.at]
    if len(since) < _FALLING or since[-1].at - since[1].at < ours.FALLS_APART.length:
        return False
    goes_down = all(later.value <= earlier.value for earlier, later in pairwise(since))
    return goes_down and ours.FALLS_BY.is_met_by(since[-1].value / episode.peak.value)


def _is_old_rise(bedside: Bedside) -> bool:
    injury = bedside.kidneys.injury
    return not injury.stage and injury.creatinine is not None and injury.creatinine.already is not None


def urgency_of_old(bedside: Bedside, old: KidneyStage | None) -> Urgency:
    """Rank a result that is too old to be staged now: one that had a stage asks for a new result."""
    if old is None or not old.stage:
        return Urgency.ROUTINE
    recent = bedside.as_of - old.result.at <= kdigo.DISEASE_LASTS.length
    return Urgency.PROMPT if recent else Urgency.ROUTINE


def stage_course(bedside: Bedside, history: Sequence[tuple[datetime, int]]) -> Course:
    """Say since when a stage has been met and what that makes it now."""
    times = [at for at, _ in history]
    run = last_run(times, [bool(stage) for _, stage in history])
    state = bedside.state_of(run)
    if run is None or state is None:
        return Course()
    if not run.is_present:
        return Course(run.since, None, state)
    # The deadline begins anew only where the urgency has stepped up.
    urgency = _URGENCY_BY_STAGE[history[-1][1]]
    stepped = last_run(times, [_URGENCY_BY_STAGE[stage] >= urgency for _, stage in history])
    asked = stepped.since if stepped is not None and stepped.since > run.since else None
    return Course(run.since, asked, State.SETTLING if is_recovering(bedside) else state)


def is_high(bedside: Bedside, measured: Measurement) -> bool:
    """Tell whether a creatinine is above its range, called critical, or of stage 3 without any range."""
    if any(one.origin == measured.origin and one.flag is Flag.CRITICAL for one in bedside.record.sent):
        return True
    value = measured.value if Remark.CONFLICT in measured.remarks else measured.lowest
    if value is None:
        return False
    limit = upper_limit_of(bedside, measured)
    return value > limit if limit is not None else kdigo.STAGE_3_CREATININE.is_met_by(value)


def asks_for_a_repeat(bedside: Bedside, one: KidneyStage) -> bool:
    """Tell whether a result that nothing can stage is yet no reassurance: high, or far from its neighbour."""
    if not is_alone(one):
        return False
    if is_high(bedside, one.result) or is_high_without_a_range(bedside, one.result):
        return True
    if one.unordered is None:
        return False
    low, high = sorted((one.result.value, one.unordered.value))
    return bool(exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, high, low))


def flat_and_high_since(bedside: Bedside) -> datetime | None:
    """Return since when creatinine is flat and high, where nothing older than this week tells what is usual.

    No rise is no reassurance then: what a person came in with may be the injury. None elsewhere.
    """
    one = bedside.kidneys.injury.creatinine
    if one is None or one.stage or one.other is not None or bedside.kidney_disease_is_known:
        return None
    if bedside.kidneys.late_recognition is not None:
        return None  # It falls: what is past is told with its course.
    lowest = one.reference
    if lowest is None or lowest.method is not ReferenceMethod.LOWEST_7_DAYS or not lowest.results:
        return None
    limit = upper_limit_of(bedside, one.result)
    is_so = (
        is_high_without_a_range(bedside, lowest.results[0])
        if limit is None
        else bool(exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, lowest.value, limit))
    )
    week = one.result.at - kdigo.RATIO_WINDOW.length
    first = bedside.record.series(Signal.CREATININE).within(week, one.result.at)[0].at
    return first if is_so and bedside.as_of - first <= ours.FLAT_AND_HIGH.length else None


def is_alone(one: KidneyStage | None) -> bool:
    """Tell whether a result has no stage because there is nothing to compare it with."""
    return one is not None and one.stage is None and one.rule in (Rule.NO_EARLIER, Rule.NO_ORDER)


def why_they_differ(bedside: Bedside) -> str:
    """Say why the stage by KDIGO and the AKI warning stage differ; empty where they agree.

    Two stages of one creatinine that contradict each other are worse than none.
    """
    injury, warning = bedside.kidneys.injury, bedside.kidneys.warning
    if warning is None or warning.stage is None or warning.stage == injury.stage:
        return ""
    one = injury.creatinine
    if one is None or (injury.stage or 0) > (one.stage or 0):
        return "the algorithm knows neither urine nor replacement therapy"
    if one.already is not None:
        return (
            f"KDIGO asks for a rise within 7 days, and creatinine was {tenths(one.already.value)} already "
            f"{bedside.clock.at(one.already.at)}"
        )
    if warning.reference is not None and warning.reference.method is ReferenceMethod.UPPER_LIMIT:
        return "the algorithm compares a child's first result with the upper limit for age, KDIGO does not"
    return _limits_differ(one, warning)


def _limits_differ(one: KidneyStage, warning: KidneyStage) -> str:
    theirs, its = one.reference, warning.reference
    if theirs is not None and its is not None and theirs.left_out:
        return (
            f"KDIGO compares with {tenths(theirs.value)}, the median without an earlier injury, "
            f"the algorithm with {tenths(its.value)}"
        )
    if theirs is not None and its is not None and theirs.value != its.value:
        return (
            f"KDIGO compares with {tenths(theirs.value)} ({theirs.method.value}), "
            f"the algorithm with {tenths(its.value)} ({its.method.value})"
        )
    if one.rule is Rule.HEIGHT_KDIGO:
        height = kdigo.STAGE_3_CREATININE.limit.value
        return f"KDIGO makes any acute rise to {height} \u00b5mol/L or more stage 3"
    is_slower = one.rise_from is not None and one.result.at - one.rise_from.at > nhs.RISE_WINDOW.length
    if one.rule is Rule.RISE_KDIGO and is_slower:
        return "the algorithm counts no rise from more than 48 hours before"
    if warning.rule is Rule.RISE_NHS or one.rule is Rule.RISE_KDIGO:
        return (
            f"KDIGO counts a rise of {kdigo.STAGE_1_RISE.limit.value} \u00b5mol/L or more in 48 hours, "
            f"the algorithm one of more than {nhs.STAGE_1_RISE.limit.value}"
        )
    return "their limits differ"


class Asked(Plain, frozen=True):
    """What is published about responding to a stage, and how soon."""

    text: str = ""
    sources: tuple[Source, ...] = ()


NOTHING_ASKED: Final = Asked()


def response_to(bedside: Bedside, stage: int | None) -> Asked:
    """Say what is published about responding to a stage, and how soon."""
    kidney = nhs.STAGE_3_NEPHROLOGY
    if stage == kdigo.STAGE_3 or (stage and has_kidney_transplant(bedside)):
        text = f"discussion with a nephrologist within {lasting(kidney.length)}"
        return Asked(text, (kidney.source,))
    if stage != _REVIEWED:
        return NOTHING_ASKED
    ill, stable = nhs.STAGE_2_REVIEW_IF_ACUTELY_ILL, nhs.STAGE_2_REVIEW_IF_STABLE
    if bedside.in_hospital is Presence.HERE:
        return Asked(f"clinical review within {lasting(ill.length)}", (ill.source,))
    text = (
        f"clinical review within {lasting(ill.length)} if acutely ill or in hospital, "
        f"within {lasting(stable.length)} if clinically stable"
    )
    return Asked(text, (ill.source, stable.source))


def has_kidney_transplant(bedside: Bedside) -> bool:
    """Tell whether a transplanted kidney is on record."""
    record = bedside.record
    texts = [one.text for one in record.conditions_of(ConditionKind.TRANSPLANT)]
    texts += [
        one.text for one in record.procedures if ProcedureKind.TRANSPLANT in one.kinds and not one.requested
    ]
    return any(word in text.casefold() for text in texts for word in ("kidney", "renal"))


def result_cautions(one: KidneyStage) -> Iterator[str]:
    """Say what to beware of in the newest creatinine itself."""
    if Remark.CONFLICT in one.result.remarks:
        yield "Two different creatinine values are recorded at this time; check with the laboratory."
    if one.unordered is not None and one.reference is not None:
        yield (
            f"Another creatinine of the same date is {tenths(one.unordered.value)}, and nothing says which "
            "came first: the higher is read as the newer."
        )
    if one.rise_left_out:
        yield (
            "A creatinine has a date without a time: compared by the calendar, and the rule of 48 hours "
            "was left out."
        )
