"""Is the saturation where it was prescribed to be, and was a range prescribed at all?

A range recorded for the patient decides; the published ranges stand in only as advice to
prescribe one. Above the range counts only while oxygen is given.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.oxygen_course import OxygenPoint, is_more_oxygen
from weatherglass.facts.breathing.saturation import Saturation, is_narrow
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.pressure_course import Kept
from weatherglass.facts.series.runs import last_run, state_of
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.breathing import oxygen_targets as targets
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits import plausibility
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.record.care import Directive
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.words.value_words import limit_words

_BELOW = our_choice("below the prescribed range on oxygen is 'urgent', on air or unknown 'prompt'")
_ABOVE = our_choice(
    "above a range of 92 or less 'prompt', 'urgent' in a patient who is not alert; above any other 'routine'"
)
#: Ours: too much oxygen for somebody who keeps carbon dioxide is told for two days.
_REMEMBERED = timedelta(hours=48)
_HELD = our_choice("a saturation that is back in its range with more oxygen than then is not settling")


def assess_oxygen(bedside: Bedside) -> Iterator[Finding]:
    """Compare the saturation with the prescribed range, or ask for a range."""
    target, course = bedside.oxygen_target, bedside.saturation
    if target is None:
        yield from _no_target(bedside)
        return
    if course is None or not course.readings:
        return
    if not (course.below[-1] and _sign_says_it(bedside, target)):
        yield from _outside(bedside, target, course.readings, course.below, key="spo2-below-target")
    # Said in one line with the blood gas; and a saturation that misleads says nothing.
    if not (bedside.has_acidosis_of_oxygen or bedside.saturation_misleads):
        yield from _outside(bedside, target, course.readings, course.above, key="spo2-above-target")


def _sign_says_it(bedside: Bedside, target: Directive) -> bool:
    """Tell whether every saturation below the target is a single sign, which names the target then."""
    lowest = target.target_low
    return lowest is not None and lowest <= bedside.signs["saturation-low"][0].cutoff.limit.value


def _outside(
    bedside: Bedside, target: Directive, readings: Sequence[Saturation], met: Sequence[bool], *, key: str
) -> Iterator[Finding]:
    choices = bedside.choices
    is_above = key == "spo2-above-target"
    run = last_run([one.at for one in readings], met)
    remembered = is_narrow(target.target_high) and is_above
    state = state_of(
        run,
        bedside.as_of,
        new_within=choices.new_within,
        settled_within=max(choices.settled_within, _REMEMBERED) if remembered else choices.settled_within,
    )
    if run is None or state is None:
        return
    if bedside.as_of - readings[-1].at > choices.look_back:
        return
    newest = readings[-1]
    shown = newest if run.is_present else next(one for one in readings if one.at == run.until)
    held = not is_above and not run.is_present and is_more_oxygen(newest.oxygen, shown.oxygen)
    if held:
        state = State.CONTINUING  # The saturation is back, the patient is not.
    urgency, rule = _urgency(bedside, target, shown, is_above=is_above)
    excess = bedside.oxygen_excess
    yield tell(
        About(Kind.OXYGEN_TARGET, key, Letter.BREATHING),
        urgency if run.is_present else Urgency.ROUTINE,
        rests_on(
            bedside,
            Course(run.since, state=state),
            target.origin,
            shown.oxygen,
            shown.spo2,
            *((newest.oxygen, newest.spo2) if held else ()),
            at=shown.spo2.at,
        ),
        brief=_brief(bedside, target, shown, is_above=is_above, is_present=run.is_present),
        sentence=_sentence(
            bedside,
            target,
            shown,
            is_above=is_above,
            settling=not run.is_present,
            held_by=newest if held else None,
        ),
        measures=_measures(target, shown),
        at_once=excess.at_once if is_above and run.is_present and excess is not None else "",
        sources=(
            _published(target),
            targets.PRESCRIBED_RANGE_FIRST,
            rule,
            *((news2_2017.OXYGEN_NEED_IS_DETERIORATION, _HELD) if held else ()),
        ),
        cautions=_cautions(bedside, target, shown, is_above=is_above),
        decided_by=f"saturation {'above' if is_above else 'below'} the prescribed {_range(target)}",
    )


def _urgency(
    bedside: Bedside, target: Directive, shown: Saturation, *, is_above: bool
) -> tuple[Urgency, Source]:
    if is_above:
        return (_of_too_much(bedside) if is_narrow(target.target_high) else Urgency.ROUTINE), _ABOVE
    return (Urgency.URGENT if shown.is_on_oxygen else Urgency.PROMPT), _BELOW


def _of_too_much(bedside: Bedside) -> Urgency:
    """Too much oxygen for somebody who keeps carbon dioxide is worse in one who is not alert."""
    return Urgency.URGENT if bedside.perfusion.alert_kept is Kept.NO else Urgency.PROMPT


def _range(target: Directive) -> str:
    return f"{plain(target.target_low or Decimal(0))}-{plain(target.target_high or Decimal(0))} %"


def _breathed(one: Saturation) -> str:
    if one.oxygen is None:
        return "air or oxygen not recorded"
    return f"on {one.oxygen.words}"


def _sentence(
    bedside: Bedside,
    target: Directive,
    shown: Saturation,
    *,
    is_above: bool,
    settling: bool,
    held_by: Saturation | None,
) -> str:
    value = f"{plain(shown.spo2.value)} % {_breathed(shown)}"
    if held_by is not None:
        return (
            f"Saturation was below the prescribed {_range(target)} {bedside.clock.at(shown.at)} ({value}); "
            f"{plain(held_by.spo2.value)} % now, with more oxygen than then ({_breathed(held_by)})."
        )
    if settling:
        side = "above" if is_above else "below"
        when = bedside.clock.at(shown.at)
        return f"Saturation was {side} the prescribed {_range(target)} {when} ({value}); no longer."
    if is_above:
        return f"More oxygen is given than the target asks for: {value}, above {_range(target)}: reduce."
    return f"Saturation {value}, below the prescribed {_range(target)}."


def _brief(
    bedside: Bedside, target: Directive, shown: Saturation, *, is_above: bool, is_present: bool
) -> str:
    """Say on which side of its range the saturation is, or was."""
    if is_present:
        value = f"{plain(shown.spo2.value)} % {_breathed(shown)}"
        if is_above:
            return f"More oxygen is given than the target asks for: {value}"
        return f"Saturation {value}, below the prescribed {_range(target)}"
    side = "above" if is_above else "below"
    return f"Saturation was {side} the prescribed {_range(target)} {bedside.clock.at(shown.at)}"


def _measures(target: Directive, shown: Saturation) -> Iterator[Measure]:
    yield measure_of(Signal.SPO2, shown.spo2)
    if shown.oxygen is not None:
        yield _breathed_measure(shown.oxygen)
    for key, value in (("target-low", target.target_low), ("target-high", target.target_high)):
        if value is not None:
            yield Measure(
                key,
                f"prescribed saturation, {key.removeprefix('target-')}",
                value,
                Unit.PERCENT,
                target.at,
                target.origin,
            )


def _breathed_measure(point: OxygenPoint) -> Measure:
    return Measure("oxygen-delivery", "air or oxygen", point.words, at=point.at, origin=point.origins[0])


def _published(target: Directive) -> Source:
    for published in targets.TARGET_RANGES:
        if (published.low, published.high) == (target.target_low, target.target_high):
            return published.source
    return targets.PRESCRIBE_TO_A_RANGE.source


def _cautions(bedside: Bedside, target: Directive, shown: Saturation, *, is_above: bool) -> Iterator[str]:
    if plausibility.SPO2_VERIFY.is_met_by(shown.spo2.value):
        low = limit_words(plausibility.SPO2_VERIFY)
        yield f"A saturation {low} may be a poor trace: verify at the bedside."
    if is_above and is_narrow(target.target_high):
        yield "Too much oxygen can raise carbon dioxide; a blood gas shows it."
    elif is_narrow(target.target_high):
        yield "Raise oxygen step by step, to the range and not past it."
    if target.recorded_by:
        yield f"Range recorded by: {target.recorded_by}."
    if bedside.is_child:
        yield "The published ranges are for adults; the range recorded for the child was used."


def _no_target(bedside: Bedside) -> Iterator[Finding]:
    """Ask for a range where oxygen is given and none is recorded."""
    course, newest = bedside.oxygen_course, bedside.oxygen_now
    if newest is None or not newest.is_oxygen:
        return
    run = last_run([point.at for point in course], [point.is_oxygen for point in course])
    # The machine breathes: oxygen takes no drive away.
    sample = bedside.keeps_carbon_dioxide if bedside.ventilation is None else None
    advice, sources = _advice(bedside, sample)
    excess = None if bedside.has_acidosis_of_oxygen else bedside.oxygen_excess
    given = f"On {newest.words}, no target saturation is recorded"
    yield tell(
        About(Kind.OXYGEN_TARGET, "no-oxygen-target", Letter.BREATHING),
        _of_too_much(bedside) if excess is not None and excess.is_narrow else Urgency.ROUTINE,
        rests_on(
            bedside,
            run,
            newest,
            excess.spo2 if excess is not None else None,
            *((sample.ph, sample.pco2) if sample is not None and sample.pco2 is not None else ()),
            at=newest.at,
            asked_since=excess.since if excess is not None and excess.is_narrow else None,
        ),
        brief=excess.words if excess is not None else given,
        sentence=f"{excess.words}: reduce; no target saturation is recorded."
        if excess is not None
        else f"{given}{advice}.",
        measures=(
            _breathed_measure(newest),
            *((measure_of(Signal.SPO2, excess.spo2),) if excess is not None else ()),
        ),
        at_once=excess.at_once if excess is not None else "",
        sources=(*sources, *((_ABOVE,) if excess is not None else ())),
        decided_by="oxygen without a recorded target range",
    )


def _advice(bedside: Bedside, sample: GasSample | None) -> tuple[str, tuple[Source, ...]]:
    general = targets.PRESCRIBE_TO_A_RANGE.source
    if bedside.is_child:
        return "; ask which range applies to this child", (general,)
    if bedside.saturation_misleads:
        return "; the saturation cannot guide it here", (general,)
    at_risk = bedside.is_at_risk_of_keeping
    if bedside.needs_oxygen_first and (at_risk or sample is not None):
        shown = targets.MOST_ADULTS
        illness = "shock" if bedside.shock is not None else "critical illness"
        return f"; in {illness} oxygen is given to {shown.label} first", (gas.OXYGEN_IN_SHOCK.source, general)
    if sample is not None:  # The finding of the blood gas names this range: no other beside it.
        return _advice_of_gas(sample)
    published = targets.RISK_OF_HYPERCAPNIA if at_risk else targets.MOST_ADULTS
    why = "at risk of hypercapnic failure" if at_risk else "for most adults"
    return f"; the published range {why} is {published.label}", (published.source, general)


def _advice_of_gas(sample: GasSample) -> tuple[str, tuple[Source, ...]]:
    published = targets.RISK_OF_HYPERCAPNIA
    shows = "respiratory acidosis" if sample.is_acid else "carbon dioxide is kept"
    return f"; the blood gas ({shows}) points to {published.label} until the team decides", (
        published.source,
        targets.PRESCRIBE_TO_A_RANGE.source,
        *((limits.ACIDAEMIA.source,) if sample.is_acid else ()),
        limits.HYPERCAPNIA.source,
    )
