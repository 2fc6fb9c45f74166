"""What does the blood gas say: carbon dioxide kept, acid from elsewhere, alkali, or too little oxygen?

Samples of an artery or a capillary are judged by the published limits. One whose vessel is
not stated is judged by what holds for a venous sample too, and asks for another only where
that leaves it open. What a venous sample says is asked elsewhere.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, Course, course_of, rests_on, tell
from weatherglass.assessments.telling.ventilation_words import (
    consider,
    critical_care_now,
    mask_words,
    numbers_that_disagree,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import Acid, GasSample, Kept, recent_sample
from weatherglass.facts.breathing.gas_steps import Second, gas_steps, respiratory_band, second_disorder
from weatherglass.facts.metabolic.anion_gap import acidosis_words
from weatherglass.facts.newborn import is_early_newborn
from weatherglass.facts.rounds.measures import missing_of
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.series.runs import Run, first_of_run, run_at_level
from weatherglass.facts.treatment_limits import Treatment
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.breathing import oxygen_targets
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Missing, State, Step, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Sample, Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital
from weatherglass.model.words.value_words import limit_words

_CARBON_DIOXIDE = our_choice(
    "respiratory acidosis is 'urgent', below pH 7.25 an emergency; beside more oxygen than the target from "
    "the carbon dioxide at which ventilation by a mask is considered"
)
_OPEN_VESSEL = our_choice(
    "acidosis that may be venous is 'prompt', 'urgent' on oxygen, at risk of hypercapnia, not alert or "
    "beside a medicine that sedates"
)
_OTHER_ACID = our_choice("metabolic acidosis is 'prompt', 'urgent' below 18, an emergency from pH 7.20 down")
_LOOK_FOR_ACID = "Look for lactate, ketones, kidneys and medicines."
_RESPIRATORY: Mapping[Kept, Urgency] = {
    Kept.NOT: Urgency.ROUTINE,
    Kept.WITHOUT_ACIDOSIS: Urgency.ROUTINE,
    Kept.IF_ARTERIAL: Urgency.PROMPT,
    Kept.ACIDOSIS: Urgency.URGENT,
    Kept.TO_VENTILATE: Urgency.URGENT,
    Kept.LOW_PH: Urgency.EMERGENCY,
    Kept.SEVERE: Urgency.EMERGENCY,
}
_METABOLIC: Mapping[Acid, Urgency] = {
    Acid.NOT: Urgency.ROUTINE,
    Acid.LOW: Urgency.PROMPT,
    Acid.VERY_LOW: Urgency.URGENT,
    Acid.SEVERE: Urgency.EMERGENCY,
}


#: Rows of NEWS2 that have to be normal for a patient to be well on air.
_OF_BREATHING = frozenset({"respiration", "spo2-scale-1", "air-or-oxygen"})
_URGENT = int(news2_2017.URGENT_RESPONSE.limit.value)


class _Said(Plain, frozen=True, kw_only=True):
    """What one rule says of the newest sample."""

    key: str
    urgency: Urgency
    sentence: str
    brief: str
    course: Course
    sources: tuple[Source, ...]
    cautions: tuple[str, ...] = ()
    decided_by: str = ""
    missing: tuple[Missing, ...] = ()
    at_once: str = ""


def assess_blood_gas(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest sample against the published limits."""
    samples = bedside.arterial_gases
    newest = recent_sample(samples, bedside.as_of, bedside.choices.gas_counts_for)
    if newest is None:
        return
    rules = (_carbon_dioxide, _other_acid, _unexplained, _hidden_acid, _second_of_alkalosis, _alkaline)
    said = [one for rule in rules for one in rule(bedside, samples)]
    if all(one.course.state is State.SETTLING for one in said):
        said.append(_plainly(newest))
    # The working stands once, with what is most urgent.
    leads = max(said, key=lambda one: one.urgency)
    well = _well_since(bedside, newest) if leads.urgency > Urgency.ROUTINE else None
    if well is not None:
        said = [leads := _outlived(bedside, newest, leads, well)]
    for one in said:
        yield _finding(bedside, newest, one, gas_steps(bedside, newest) if one is leads else ())


def _numbers(sample: GasSample) -> str:
    """Return the numbers; that the vessel is not stated is said here and nowhere else."""
    is_open = sample.vessel is Sample.NOT_STATED
    return f"{sample.numbers}{' (vessel not stated)' if is_open else ''}"


def _run(samples: Sequence[GasSample], level: Callable[[GasSample], int]) -> Run | None:
    """Return the run of samples at the newest one's level or worse, else the last of any level."""
    return run_at_level([one.ph.at for one in samples], [int(level(one)) for one in samples])


def _present_run(samples: Sequence[GasSample], is_so: Callable[[GasSample], bool]) -> Run | None:
    run = _run(samples, is_so)
    return run if run is not None and run.is_present else None


# Carbon dioxide


def _carbon_dioxide(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    newest = samples[-1]
    if _is_told_as_asthma(bedside, newest):
        return
    course = course_of(bedside, _run(samples, lambda one: one.respiratory))
    if course.state is None:
        return
    level = newest.respiratory
    if not level:
        last = next(s for s in reversed(samples) if s.respiratory)
        if last.respiratory > Kept.WITHOUT_ACIDOSIS:
            yield _Said(
                key="respiratory-acidosis",
                urgency=Urgency.ROUTINE,
                sentence=f"No respiratory acidosis any more: {_numbers(newest)}.",
                brief="No respiratory acidosis any more",
                course=course,
                sources=(limits.ACIDAEMIA.source, limits.HYPERCAPNIA.source),
            )
    elif level is Kept.WITHOUT_ACIDOSIS:
        yield _Said(
            key="hypercapnia",
            urgency=Urgency.ROUTINE,
            sentence=f"Carbon dioxide retained, without acidosis: {_numbers(newest)}.",
            brief="Carbon dioxide retained, without acidosis",
            course=course,
            sources=(limits.HYPERCAPNIA.source,),
            cautions=_keeps(bedside),
        )
    elif level is Kept.IF_ARTERIAL:
        yield _open_vessel(bedside, newest, course)
    else:
        yield _respiratory_acidosis(bedside, samples, course)


def _is_told_as_asthma(bedside: Bedside, newest: GasSample) -> bool:
    return newest.is_high and (bedside.asthma_is_acute or bedside.asthma_may_be_acute)


def _is_mixed(newest: GasSample) -> bool:
    """Tell whether a respiratory acidosis is told with a metabolic one, which has no sentence of its own."""
    return newest.respiratory >= Kept.ACIDOSIS and second_disorder(newest) is Second.ACIDOSIS


def _open_vessel(bedside: Bedside, newest: GasSample, course: Course) -> _Said:
    """Acid blood with a carbon dioxide that only an arterial sample would call high."""
    return _Said(
        key="respiratory-acidosis",
        urgency=Urgency.URGENT if bedside.is_likely_to_keep else Urgency.PROMPT,
        sentence=(
            f"Respiratory acidosis if this is arterial blood: {_numbers(newest)}: "
            "venous blood can look the same, an arterial or capillary sample decides."
        ),
        brief="Respiratory acidosis if this is arterial blood",
        course=course,
        sources=(limits.ACIDAEMIA.source, gas.VENOUS_SURELY_HIGH.source, _OPEN_VESSEL),
        decided_by="acid blood with raised carbon dioxide, vessel not stated",
    )


def _respiratory_acidosis(bedside: Bedside, samples: Sequence[GasSample], course: Course) -> _Said:
    newest = samples[-1]
    level = newest.respiratory
    unroused = bedside.unroused_since
    urgency = Urgency.EMERGENCY if unroused is not None else _RESPIRATORY[level]
    excess = bedside.oxygen_excess
    too_much = bedside.has_acidosis_of_oxygen
    if too_much and level >= Kept.TO_VENTILATE:
        urgency = Urgency.EMERGENCY
    if level < Kept.LOW_PH and is_early_newborn(bedside.record, bedside.as_of):
        urgency = min(urgency, Urgency.PROMPT)
    return _Said(
        key="respiratory-acidosis",
        urgency=urgency,
        sentence=f"{_head(bedside, newest)}: {_answer(bedside, samples)}.",
        brief=_brief(bedside, newest),
        course=replace(course, asked_since=_asked_since(bedside, samples, urgency)),
        sources=(
            limits.ACIDAEMIA.source,
            limits.HYPERCAPNIA.source,
            *((limits.VENTILATION_HYPERCAPNIA.source,) if level >= Kept.TO_VENTILATE else ()),
            *((ours.LOW_PH.source,) if level >= Kept.LOW_PH else ()),
            *((gas.SEVERE_ACIDAEMIA.source,) if level is Kept.SEVERE else ()),
            *((gas.UNCONSCIOUS.source,) if unroused is not None else ()),
            *((gas.REPEAT_GAS.source,) if too_much else ()),
            _CARBON_DIOXIDE,
        ),
        cautions=(
            *((_LOOK_FOR_ACID,) if _is_mixed(newest) else ()),
            *_keeps(bedside, range_is_said=too_much),
        ),
        at_once=excess.at_once if too_much and excess is not None else "",
        decided_by=_why(level, unrousable=unroused is not None, too_much=too_much),
    )


def _head(bedside: Bedside, newest: GasSample) -> str:
    excess = bedside.oxygen_excess
    if excess is not None and bedside.has_acidosis_of_oxygen:
        return f"{excess.words}, with respiratory acidosis ({_numbers(newest)})"
    second = second_disorder(newest)
    also = f" with {second.value}" if second is not None else ""
    return f"Respiratory acidosis{also}: {_numbers(newest)}"


def _brief(bedside: Bedside, newest: GasSample) -> str:
    """Return the few words: the numbers, and that too much oxygen is given where it is."""
    also = f" with {Second.ACIDOSIS.value}" if _is_mixed(newest) else ""
    said = f"respiratory acidosis{also}, {newest.carbon_dioxide_words}"
    excess = bedside.oxygen_excess
    if excess is None or not bedside.has_acidosis_of_oxygen:
        return f"R{said[1:]}"
    value = f"{plain(excess.spo2.value)} % on {excess.point.words}"
    return f"Too much oxygen, {value} above {excess.range_words}, with {said}: reduce it"


def _why(level: Kept, *, unrousable: bool, too_much: bool) -> str:
    if level is Kept.SEVERE:
        return f"pH {limit_words(gas.SEVERE_ACIDAEMIA)} with raised carbon dioxide"
    if level is Kept.LOW_PH:
        return f"pH {limit_words(ours.LOW_PH)} with raised carbon dioxide"
    if unrousable:
        return "respiratory acidosis in a patient who is not roused by voice"
    return "respiratory acidosis with more oxygen than the target" if too_much else "respiratory acidosis"


def _asked_since(bedside: Bedside, samples: Sequence[GasSample], urgency: Urgency) -> datetime | None:
    """Return when the first reason for the present urgency began: a better or worse number moves nothing."""
    began = []
    run = _run(samples, lambda one: _RESPIRATORY[one.respiratory])
    if run is not None and run.is_present:
        began.append(run.since)
    if urgency <= _RESPIRATORY[samples[-1].respiratory]:
        return min(began, default=None)
    excess = bedside.oxygen_excess if bedside.has_acidosis_of_oxygen else None
    others = (bedside.unroused_since, excess.since if excess is not None else None)
    # The sign and the acidosis together are the reason.
    return min((max(other, _first_acid(samples)) for other in others if other is not None), default=None)


def _first_acid(samples: Sequence[GasSample]) -> datetime:
    run = _run(samples, lambda one: one.respiratory >= Kept.ACIDOSIS)
    return run.since if run is not None else samples[-1].ph.at


def _answer(bedside: Bedside, samples: Sequence[GasSample]) -> str:
    """Say what is asked for: critical care before anything that waits for another gas."""
    newest = samples[-1]
    excess = bedside.oxygen_excess
    parts = []
    if excess is not None and bedside.has_acidosis_of_oxygen:
        parts.append(f"reduce oxygen to {excess.range_words} and repeat the gas in 30 to 60 minutes")
    if gas.CRITICAL_ACIDAEMIA.is_met_by(newest.ph.value) or bedside.unroused_since is not None:
        parts.insert(0, critical_care_now(bedside))
        return "; ".join(parts)
    if newest.respiratory < Kept.TO_VENTILATE and bedside.ventilation is not None:
        return consider(bedside, Treatment.NON_INVASIVE_VENTILATION, "")
    if newest.respiratory < Kept.TO_VENTILATE:
        return "; ".join(parts) or "controlled oxygen and treatment of the cause, then another gas"
    persists = _persists(samples)
    said = (
        f"and so {bedside.clock.at(persists.ph.at)}: assess for non-invasive ventilation"
        if persists is not None
        else mask_words(bedside)
    )
    parts.append(consider(bedside, Treatment.NON_INVASIVE_VENTILATION, said))
    return "; ".join(parts)


def _persists(samples: Sequence[GasSample]) -> GasSample | None:
    """Return the earlier sample an hour or more before that shows the range of ventilation too."""
    newest = samples[-1]
    for earlier in reversed(samples[:-1]):
        if earlier.respiratory < Kept.TO_VENTILATE:
            return None
        if newest.ph.at - earlier.ph.at >= ours.PERSISTING.length:
            return earlier
    return None


def _keeps(bedside: Bedside, *, range_is_said: bool = False) -> tuple[str, ...]:
    """Say which range of saturation holds, where the sentence does not; in shock oxygen comes first."""
    if bedside.is_child:
        return ()  # Ranges and scales are published for adults.
    if bedside.needs_oxygen_first:
        return (gas.OXYGEN_IN_SHOCK.text,)
    if bedside.ventilation is not None:
        return ()  # The machine breathes: oxygen takes no drive away.
    cautions = []
    if not range_is_said:
        target = oxygen_targets.RISK_OF_HYPERCAPNIA.label
        cautions.append(f"Oxygen to {target} unless the team has set another range.")
    if not bedside.record.has(ConditionKind.HYPERCAPNIA):
        cautions.append("If hypercapnic failure is now documented, ask which SpO2 scale is to be used.")
    return tuple(cautions)


# Other acid


def _other_acid(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    newest = samples[-1]
    if _is_mixed(newest) and not _is_told_as_asthma(bedside, newest):
        return
    course = course_of(bedside, _run(samples, lambda one: one.metabolic))
    if course.state is None:
        return
    level = newest.metabolic
    if not level:
        yield _Said(
            key="metabolic-acidosis",
            urgency=Urgency.ROUTINE,
            sentence=f"No metabolic acidosis any more: {_numbers(newest)}.",
            brief="No metabolic acidosis any more",
            course=course,
            sources=(limits.BICARBONATE_LOW.source,),
        )
        return
    urgency = _metabolic_urgency(newest)
    asked = _run(samples, _metabolic_urgency)
    said = f"{capital(acidosis_words(bedside.record, newest))}{_second(newest)}"
    asked_since = asked.since if asked is not None else None
    if bedside.chloride_after_ketones is not None:
        urgency = min(urgency, Urgency.PROMPT)
        asked_since = bedside.ketoacidosis.ketones_over_since
    yield _Said(
        key="metabolic-acidosis",
        urgency=urgency,
        sentence=f"{said}: {_numbers(newest)}{_metabolic_answer(bedside, newest)}.",
        brief=f"{said}, {newest.acid_words}",
        course=replace(course, asked_since=asked_since),
        sources=(
            limits.ACIDAEMIA.source,
            _low_bicarbonate(level).source,
            *((gas.SEVERE_ACIDAEMIA.source,) if level is Acid.SEVERE else ()),
            *((gas.ACIDOSIS_SLOPE.source, gas.MIXED_IS_URGENT.source) if newest.is_above_expected else ()),
            _OTHER_ACID,
        ),
        cautions=(f"The bicarbonate limits are from memory. {_LOOK_FOR_ACID}",),
        decided_by=_metabolic_rule(level),
    )


def _low_bicarbonate(level: Acid) -> Cutoff:
    return limits.BICARBONATE_LOW if level is Acid.LOW else limits.BICARBONATE_VERY_LOW


def _metabolic_rule(level: Acid) -> str:
    if level is Acid.SEVERE:
        return f"pH {limit_words(gas.SEVERE_ACIDAEMIA)}"
    low = limit_words(_low_bicarbonate(level), with_unit=False)
    return f"bicarbonate {low}, pH {limit_words(limits.ACIDAEMIA)}"


def _metabolic_urgency(sample: GasSample) -> Urgency:
    urgency = _METABOLIC[sample.metabolic]
    return max(urgency, Urgency.URGENT) if sample.metabolic and sample.is_above_expected else urgency


def _second(sample: GasSample) -> str:
    """Name a second disorder beside a metabolic acidosis."""
    if sample.is_above_expected or (sample.is_high and sample.is_named):
        return " with more carbon dioxide than it explains"
    return " with a respiratory alkalosis" if sample.is_below_expected else ""


def _metabolic_answer(bedside: Bedside, newest: GasSample) -> str:
    critical = gas.CRITICAL_ACIDAEMIA.is_met_by(newest.ph.value) or (
        newest.is_severe and bedside.unroused_since is not None
    )
    return f": {critical_care_now(bedside)}" if critical else ""


def _unexplained(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    """Name an acid sample that neither carbon dioxide nor bicarbonate explains."""
    newest = samples[-1]
    if not newest.is_acid or newest.is_high or newest.metabolic:
        return
    open_parts = [
        missing_of(signal)
        for signal, one in (
            (Signal.PCO2_ARTERIAL, newest.pco2),
            (Signal.BICARBONATE, newest.bicarbonate),
        )
        if one is None
    ]
    why = f"{' and '.join(m.label for m in open_parts)} not recorded" if open_parts else "cause not shown"
    run = _run(samples, lambda one: one.is_acid)
    asked = _run(samples, lambda one: one.is_acid + one.is_severe)
    critical = gas.CRITICAL_ACIDAEMIA.is_met_by(newest.ph.value)
    fits = newest.fitting_pco2
    if fits is not None:
        why = "and its numbers do not fit each other"
    kept = fits is not None and limits.HYPERCAPNIA.is_met_by(fits)
    said = f"{'Severe acidaemia' if newest.is_severe else 'Acid blood'}, {why}"
    yield _Said(
        key="acidaemia",
        urgency=Urgency.EMERGENCY if newest.is_severe else Urgency.URGENT if kept else Urgency.PROMPT,
        sentence=f"{said}: {_numbers(newest)}{f': {critical_care_now(bedside)}' if critical else ''}.",
        brief=f"{said}, {newest.acid_words}",
        course=course_of(bedside, run, asked.since if asked is not None else None),
        sources=(
            limits.ACIDAEMIA.source,
            *((gas.SEVERE_ACIDAEMIA.source,) if newest.is_severe else ()),
        ),
        decided_by=f"pH {limit_words(gas.SEVERE_ACIDAEMIA)}"
        if newest.is_severe
        else f"pH {limit_words(limits.ACIDAEMIA)} without a cause on the gas",
        missing=tuple(open_parts),
    )


def _hidden_acid(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    """Name an acidosis that a second disorder hides: the pH is not low, the parts are far off."""
    run = _present_run(samples, lambda one: not one.is_acid and one.is_below_expected)
    newest = samples[-1]
    expected = newest.expected_pco2
    if run is None or expected is None:
        return
    low = limit_words(limits.BICARBONATE_VERY_LOW, with_unit=False)
    yield _Said(
        key="mixed-disorder",
        urgency=Urgency.URGENT,
        sentence=(
            f"Metabolic acidosis hidden by a respiratory alkalosis: {_numbers(newest)}, where a pCO2 of "
            f"{expected[0]} to {expected[1]} kPa is expected: ask about salicylates, sepsis and liver."
        ),
        brief="Metabolic acidosis hidden by a respiratory alkalosis",
        course=course_of(bedside, run),
        sources=(gas.ACIDOSIS_SLOPE.source, limits.BICARBONATE_VERY_LOW.source, gas.MIXED_IS_URGENT.source),
        decided_by=f"bicarbonate {low} with less carbon dioxide than it explains",
    )


def _second_of_alkalosis(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    """Name what the bicarbonate shows beside a respiratory alkalosis that is not severe."""
    run = _present_run(samples, _is_a_second_of_alkalosis)
    newest = samples[-1]
    second, band = second_disorder(newest), respiratory_band(newest)
    if run is None or second is None or band is None:
        return
    said = f"Respiratory alkalosis with {second.value}"
    yield _Said(
        key="mixed-disorder",
        urgency=Urgency.URGENT,
        sentence=f"{said}: {_numbers(newest)}.",
        brief=said,
        course=course_of(bedside, run),
        sources=(*band.sources, gas.MIXED_IS_URGENT.source),
        decided_by="a bicarbonate outside what the carbon dioxide explains",
    )


def _is_a_second_of_alkalosis(one: GasSample) -> bool:
    is_mild = one.is_alkaline and not one.is_severely_alkaline
    return is_mild and not one.is_below_expected and second_disorder(one) is not None


# Alkaline blood


def _alkaline(bedside: Bedside, samples: Sequence[GasSample]) -> Iterator[_Said]:
    run = _present_run(samples, lambda one: one.is_severely_alkaline)
    newest = samples[-1]
    if run is None:
        return
    said = f"Severe alkalaemia, {_process(newest)}"
    yield _Said(
        key="alkalaemia",
        urgency=Urgency.URGENT,
        sentence=f"{said}: {_numbers(newest)}.",
        brief=f"{said}, {newest.acid_words}",
        course=course_of(bedside, run),
        sources=(gas.SEVERE_ALKALAEMIA.source, gas.ALKALOSIS_SLOPE.source),
        cautions=("Look at potassium, calcium and magnesium, and for vomiting, diuretics and pain.",),
        decided_by=f"pH {limit_words(gas.SEVERE_ALKALAEMIA)}",
    )


def _process(sample: GasSample) -> str:
    """Name what makes blood alkaline."""
    base = sample.known_bicarbonate
    is_metabolic = base is not None and gas.BICARBONATE_RAISED.is_met_by(base)
    if is_metabolic and sample.is_explained:
        return "metabolic"
    if is_metabolic:
        return "metabolic, with more carbon dioxide than it explains"
    return "respiratory" if base is not None else "cause not shown"


def _plainly(newest: GasSample) -> _Said:
    """Print a sample that asks for nothing, and say what it is."""
    if newest.is_acid:
        what = "acid blood"
    elif newest.is_alkaline:
        what = f"alkaline blood, {_process(newest)}"
    elif newest.is_high and newest.is_explained:
        what = "carbon dioxide as a metabolic alkalosis brings it"
    elif newest.is_high:
        what = f"not acid; carbon dioxide {limit_words(limits.HYPERCAPNIA)}, as in venous blood"
    else:
        what = "neither acid nor alkaline"
    return _Said(
        key="blood-gas",
        urgency=Urgency.ROUTINE,
        sentence=f"Newest blood gas, {newest.vessel_words}: {newest.numbers}: {what}.",
        brief=f"Newest blood gas, {newest.vessel_words}, {newest.acid_words}",
        course=Course(newest.ph.at),
        sources=(limits.ACIDAEMIA.source, gas.ALKALAEMIA.source),
    )


def _well_since(bedside: Bedside, sample: GasSample) -> datetime | None:
    """Return since when every whole round after an old sample has been well on air; None elsewhere.

    Nobody is well by that who keeps carbon dioxide, and an acid of pH 7.20 is outlived only with a lactate
    that is back.
    """
    is_old = bedside.as_of - sample.ph.at > gas.SAMPLE_IS_OLD.length
    if not is_old or bedside.is_at_risk_of_keeping:
        return None
    if gas.SEVERE_ACIDAEMIA.is_met_by(sample.ph.value) and not _lactate_is_back(bedside, sample):
        return None
    rounds = [one for one in bedside.news2_now if one.is_complete and one.at > sample.ph.at]
    first = first_of_run(rounds, _is_well_on_air)
    return first.at if first is not None else None


def _lactate_is_back(bedside: Bedside, sample: GasSample) -> bool:
    newest = bedside.record.series(Signal.LACTATE).latest
    if newest is None or not newest.is_exact or newest.at <= sample.ph.at:
        return False
    return not limits.LACTATE[-1].cutoff.is_met_by(newest.value)


def _is_well_on_air(one: SetResult) -> bool:
    breathing = [each.points for row, each in one.scored if row.key in _OF_BREATHING]
    return one.lowest < _URGENT and one.highest_single < 3 and not any(breathing)


def _outlived(bedside: Bedside, sample: GasSample, said: _Said, since: datetime) -> _Said:
    """Ask for another sample where the patient has been well since an old one."""
    age = lasting(bedside.as_of - sample.ph.at)
    return replace(
        said,
        urgency=Urgency.PROMPT,
        brief=f"{said.brief}, {age} ago, well since",
        sentence=f"{said.brief}, {age} ago and not repeated; well on air since {bedside.clock.full(since)}: "
        "repeat the gas.",
        course=replace(said.course, asked_since=since),
        sources=(*said.sources, gas.WELL_SINCE),
        cautions=(),
        at_once="",
    )


def _finding(bedside: Bedside, sample: GasSample, said: _Said, steps: tuple[Step, ...]) -> Finding:
    age = bedside.as_of - sample.ph.at
    is_said = gas.WELL_SINCE in said.sources
    old = (f"The sample is {lasting(age)} old.",) if age > gas.SAMPLE_IS_OLD.length and not is_said else ()
    adult = (limits.ADULT_LIMITS.text,) if bedside.is_child else ()
    return tell(
        About(
            Kind.BLOOD_GAS,
            said.key,
            Letter.BREATHING if said.key != "metabolic-acidosis" else Letter.CIRCULATION,
        ),
        said.urgency,
        rests_on(bedside, said.course, *sample.parts, at=sample.ph.at),
        brief=said.brief,
        sentence=said.sentence,
        missing=said.missing,
        sources=said.sources,
        cautions=(*said.cautions, *numbers_that_disagree(sample), *old, *adult),
        steps=steps,
        at_once=said.at_once,
        decided_by=said.decided_by,
    )
