"""Is there acute kidney injury by KDIGO: by creatinine, by urine output, by replacement therapy?

The stage is the highest of the three; each keeps its own answer and is shown.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import Course, course_of, rests_on
from weatherglass.assessments.telling.kidneys.kdigo_grounds import (
    kdigo_cautions,
    kdigo_sources,
    rests_on_estimate,
)
from weatherglass.assessments.telling.kidneys.kidney_findings import (
    FLAT_AND_HIGH,
    HIGH_ALONE,
    NOTHING_ASKED,
    TOO_OLD,
    asks_for_a_repeat,
    flat_and_high_since,
    is_alone,
    is_falling,
    removed_kidney,
    response_to,
    stage_course,
    urgency_of_old,
    urgency_of_stage,
    why_they_differ,
)
from weatherglass.assessments.telling.kidneys.kidney_words import (
    against_the_year,
    creatinine_measures,
    creatinine_words,
    cut,
    inputs_of,
    stage_word,
    tenths,
    urine_measures,
    urine_words,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.injury import Injury
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.results.high_creatinine import upper_limit_of
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.findings import AkiFinding, Finding, Kind, Measure, Missing, MissingReason, Urgency
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, sources_of
from weatherglass.model.words.lists import inside_a_sentence

_NOT_TOLD_APART = "so acute injury cannot be told from chronic"
_NONE_FROM_BEFORE = f"none is from before this week, {_NOT_TOLD_APART}: look for earlier results"


def assess_kdigo(bedside: Bedside) -> Iterator[Finding]:
    """Stage the kidneys by KDIGO, where anything can tell."""
    kidneys = bedside.kidneys
    measured = bedside.record.series(Signal.CREATININE).items
    as_of = bedside.as_of
    begun = any(one.start is None or one.start <= as_of for one in kidneys.therapy.sessions)
    if measured or kidneys.urine_stages or begun:
        yield _kdigo(bedside, measured)


def _kdigo(bedside: Bedside, measured: Sequence[Measurement]) -> AkiFinding:
    injury = bedside.kidneys.injury
    why_not = _why_no_kdigo(bedside, injury, measured)
    stage = None if why_not else injury.stage
    shown = injury.creatinine or injury.old
    reference = shown.reference if shown is not None else None
    urgency, course = _urgency(bedside, injury, stage)
    warned = bedside.kidneys.warning.stage if bedside.kidneys.warning is not None else None
    # The warning beside it says what is asked for, unless it is the lower of the two.
    asked = response_to(bedside, stage) if (stage or 0) > (warned or 0) else NOTHING_ASKED
    return AkiFinding(
        kind=Kind.AKI_STAGE,
        key="aki-kdigo",
        letter=Letter.CIRCULATION,
        urgency=urgency,
        sentence=_kdigo_sentence(bedside, injury, stage, why_not, is_measured=bool(measured)),
        brief=_brief(bedside, injury, stage),
        **rests_on(
            bedside,
            course,
            *inputs_of(injury, measured),
            at=_newest_input(injury, measured),
            measures=tuple(_measures(injury)),
        ),
        missing=_missing(injury),
        sources=sources_of((*kdigo_sources(bedside, injury), *_of_flat(bedside, stage), *asked.sources)),
        cautions=tuple(kdigo_cautions(bedside, injury, stage)),
        decided_by=_decided_by(bedside, injury, stage, urgency),
        criterion="aki-kdigo",
        stage=stage,
        not_assessed=why_not,
        reference=reference.value if reference is not None else None,
        ratio=shown.ratio if shown is not None else None,
        rise=shown.rise if shown is not None else None,
        method=reference.method.value if reference is not None else "",
        response=asked.text,
        history=injury.history,
    )


def _measures(injury: Injury) -> Iterator[Measure]:
    """Return the numbers; the stage by each of both only where there are two."""
    one, urine, shown = injury.creatinine, injury.urine, injury.creatinine or injury.old
    yield from creatinine_measures(shown) if shown is not None else ()
    if urine is not None:
        if one is not None and one.stage is not None:
            yield Measure("creatinine-stage", "stage by creatinine", Decimal(one.stage))
        yield from urine_measures(urine)


def _urgency(bedside: Bedside, injury: Injury, stage: int | None) -> tuple[Urgency, Course]:
    """Return how urgent it is and since when; a high result that nothing can stage is never calm."""
    flat = _flat_since(bedside, stage)
    if flat is not None:
        return Urgency.PROMPT, course_of(bedside, flat)
    if stage is not None:
        return urgency_of_stage(bedside, stage), stage_course(bedside, injury.history)
    one = injury.creatinine
    if one is not None and asks_for_a_repeat(bedside, one):
        return Urgency.PROMPT, course_of(bedside, one.result.at)
    old = injury.old if not bedside.kidneys.therapy.is_long_term_at(bedside.as_of) else None
    urgency = urgency_of_old(bedside, old)
    if old is None or urgency is Urgency.ROUTINE:
        return Urgency.ROUTINE, Course()
    return urgency, course_of(bedside, old.result.at)


def _flat_since(bedside: Bedside, stage: int | None) -> datetime | None:
    """Return since when creatinine is high without a rise, where no rise reassures nobody."""
    return flat_and_high_since(bedside) if stage == 0 else None


def _of_flat(bedside: Bedside, stage: int | None) -> Iterator[Cited]:
    if _flat_since(bedside, stage) is not None:
        yield from (ours.FLAT_AND_HIGH, ours.HIGH_WITHOUT_A_RANGE)


def _decided_by(bedside: Bedside, injury: Injury, stage: int | None, urgency: Urgency) -> str:
    if stage:
        return injury.decided_by
    if _flat_since(bedside, stage) is not None:
        return FLAT_AND_HIGH
    one = injury.creatinine
    if one is not None and asks_for_a_repeat(bedside, one):
        return HIGH_ALONE
    return TOO_OLD if urgency is not Urgency.ROUTINE else ""


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
    if injury.old is not None:
        return f"the newest creatinine is {bedside.clock.apart(injury.old.result.at, bedside.as_of)} old"
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


def _kdigo_sentence(
    bedside: Bedside, injury: Injury, stage: int | None, why_not: str, *, is_measured: bool
) -> str:
    if why_not:
        return _not_staged(bedside, injury, why_not, is_measured=is_measured)
    said = _parts(bedside, injury)
    year = against_the_year(injury.creatinine) if injury.creatinine is not None else ""
    if stage:
        estimated = injury.creatinine is not None and rests_on_estimate(injury)
        injured = "Possible acute kidney injury" if estimated else "Acute kidney injury"
        expected = _as_expected(bedside, stage)
        return f"{injured} stage {stage} (KDIGO): {said}{expected}. {year}".rstrip()
    warning, late = bedside.kidneys.warning, bedside.kidneys.late_recognition
    if warning is not None and warning.stage:
        beside = f"No stage by KDIGO beside AKI warning stage {warning.stage}"
        return f"{beside}, as {why_they_differ(bedside)}."
    if late is not None or bedside.kidneys.episode is not None:
        return f"No stage by KDIGO now, after an injury: {said}."
    if _flat_since(bedside, stage) is not None:
        return f"No rise by KDIGO: {said}; {_NONE_FROM_BEFORE}."
    return f"No acute kidney injury by KDIGO: {said}."


def _parts(bedside: Bedside, injury: Injury) -> str:
    """Say each part that was judged."""
    parts = []
    if injury.therapy is not None and injury.therapy.session.start is not None:
        parts.append(f"renal replacement therapy started {bedside.clock.at(injury.therapy.session.start)}")
    both = injury.urine is not None and injury.urine.stage is not None
    one = injury.creatinine
    if one is not None:
        parts.append(creatinine_words(one, with_stage=both))
    if injury.urine is not None:
        parts.append(urine_words(injury.urine))
    return "; ".join(parts)


def _not_staged(bedside: Bedside, injury: Injury, why_not: str, *, is_measured: bool) -> str:
    one, old = injury.creatinine, injury.old
    if bedside.kidneys.therapy.is_long_term_at(bedside.as_of):
        return f"Not staged by KDIGO: {why_not}."
    if one is not None and one.already is not None:
        return _old_rise(bedside, injury, one, one.already)
    said = _parts(bedside, injury)
    if one is not None:
        return _alone(bedside, injury, one)
    if old is not None:
        was = f", {stage_word(old.stage)} by KDIGO then" if old.stage is not None else ""
        asks = " Repeat it." if old.stage else ""
        before = f"; {said}" if said else ""
        return f"Kidney injury cannot be staged now: {why_not} ({creatinine_words(old)}{was}){before}.{asks}"
    # Without a creatinine the urine has just said why.
    beside = f"; {said}" if said and is_measured else ""
    return f"Kidney injury cannot be staged: {why_not}{beside}."


def _alone(bedside: Bedside, injury: Injury, one: KidneyStage) -> str:
    """Say a creatinine that has nothing to be compared with; a high one is no reassurance."""
    limit = upper_limit_of(bedside, one.result)
    above = f", above the laboratory's upper limit of {tenths(limit)}," if limit is not None else ""
    asks = ""
    if asks_for_a_repeat(bedside, one):
        asks = f", {_NOT_TOLD_APART}. Repeat it, and look for earlier results"
    elif limit is not None:
        above = f", within the laboratory's limit of {tenths(limit)},"
    beside = f" ({tenths(one.unordered.value)})" if one.unordered is not None else ""
    urine = f"; {urine_words(injury.urine)}" if injury.urine is not None else ""
    said = f"Creatinine {tenths(one.result.value)} \u00b5mol/L{above} cannot be staged by KDIGO"
    return f"{said}: {one.rule}{beside}{urine}{asks}."


def _old_rise(bedside: Bedside, injury: Injury, one: KidneyStage, already: Measurement) -> str:
    """Say that a rise is not of this week, and what it is instead."""
    disease = bedside.kidneys.disease_stage
    when = bedside.clock.at(already.at)
    if disease:  # The course beside it says the rest.
        return (
            f"No KDIGO stage but acute kidney disease {stage_word(disease)}: "
            f"creatinine was {tenths(already.value)} \u00b5mol/L already {when}."
        )
    times = ""
    if one.other is not None:
        ratio = one.result.value / one.other.value
        times = f", {cut(ratio)} times {tenths(one.other.value)} ({one.other.method.value})"
    urine = f"; {urine_words(injury.urine)}" if injury.urine is not None else ""
    return (
        "No KDIGO stage but a lasting change: creatinine "
        f"{tenths(one.result.value)} \u00b5mol/L{times}, and {tenths(already.value)} already {when}{urine}."
    )


def _as_expected(bedside: Bedside, stage: int) -> str:
    """Name the operation that took a kidney out, where one that is left explains the stage."""
    removed = removed_kidney(bedside) if stage == 1 else None
    return f", as after {inside_a_sentence(removed.text)}" if removed is not None else ""


def _brief(bedside: Bedside, injury: Injury, stage: int | None) -> str:
    if stage:
        estimated = injury.creatinine is not None and rests_on_estimate(injury)
        named = f"{'Possible acute' if estimated else 'Acute'} kidney injury stage {stage} (KDIGO)"
        return f"{named}{_risen(bedside, injury.creatinine, stage)}{_as_expected(bedside, stage)}"
    one, warning = injury.creatinine, bedside.kidneys.warning
    if stage is None:
        if one is not None and is_alone(one):
            why = "none earlier" if one.unordered is None else "order unknown"
            return f"Creatinine {tenths(one.result.value)} cannot be staged: {why}"
        if one is not None and one.already is not None:
            lasting = "acute kidney disease" if bedside.kidneys.disease_stage else "a lasting change"
            return f"Creatinine {tenths(one.result.value)}: no KDIGO stage but {lasting}"
        if injury.old is not None and injury.old.stage:
            return f"Creatinine too old to stage, and of stage {injury.old.stage} then: repeat it"
        return "Kidney injury not staged by KDIGO"
    if warning is not None and warning.stage:
        return f"No stage by KDIGO beside AKI warning stage {warning.stage}"
    return _brief_without_a_rise(bedside, injury)


def _brief_without_a_rise(bedside: Bedside, injury: Injury) -> str:
    if bedside.kidneys.late_recognition is not None or bedside.kidneys.episode is not None:
        return "No stage by KDIGO now, after an injury"
    one = injury.creatinine
    if one is not None and flat_and_high_since(bedside) is not None:
        return f"Creatinine {tenths(one.result.value)} without a rise, and none from before this week"
    return "No acute kidney injury by KDIGO"


def _risen(bedside: Bedside, one: KidneyStage | None, stage: int) -> str:
    """Say the creatinine that gives the stage, and the reference; empty where another thing gives it."""
    if one is None or one.stage != stage or one.reference is None:
        return ""
    episode = bedside.kidneys.episode
    down = f", down from {tenths(episode.peak.value)}" if episode is not None and is_falling(bedside) else ""
    return f": creatinine {tenths(one.result.value)}{down}, reference {tenths(one.reference.value)}"


def _missing(injury: Injury) -> tuple[Missing, ...]:
    if injury.urine is None:
        reason = MissingReason.NOT_RECORDED
        return (Missing(key="urine-output", label="urine output", reason=reason),)
    if injury.urine.stage is None and injury.urine.weight is None and injury.urine.passed is not None:
        return (Missing(key="weight", label="weight", reason=MissingReason.NOT_RECORDED),)
    return ()
