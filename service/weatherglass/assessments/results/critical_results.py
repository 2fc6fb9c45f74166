"""Which laboratory and blood gas results does somebody have to hear about?

One finding for each analyte and side. A result that may be spurious is worded so and
asks for a repeat. A result that was not repeated in time is shown as old.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.calcium import ADJUSTED_HERE, NOT_ADJUSTED
from weatherglass.facts.results.ketoacidosis import DIABETES
from weatherglass.facts.results.result_levels import GradedSeries, counts_for, doubts_about_potassium
from weatherglass.facts.results.sodium_and_brain import emergency_of_sodium
from weatherglass.facts.rounds.scoring import limit_words, measure_of, show
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.limits import context_choices as context
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits import liver, potassium_shift, trend_limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Letter, Measure, State, Urgency
from weatherglass.model.quantities import as_sent, plain
from weatherglass.model.record import Administration, ConditionKind, Measurement, OrderStatus, Remark, Series
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.words.clock_words import lasting

_URGENCY = {
    "emergency": Urgency.EMERGENCY,
    "urgent": Urgency.URGENT,
    "prompt": Urgency.PROMPT,
    "routine": Urgency.ROUTINE,
}
_LETTERS = {
    Signal.SODIUM: Letter.DISABILITY,
    Signal.SODIUM_GAS: Letter.DISABILITY,
    Signal.GLUCOSE: Letter.DISABILITY,
    Signal.CALCIUM_ADJUSTED: Letter.DISABILITY,
    Signal.CALCIUM_IONISED: Letter.DISABILITY,
    Signal.MAGNESIUM: Letter.DISABILITY,
    Signal.KETONES: Letter.DISABILITY,
    Signal.CRP: Letter.EXPOSURE,
    Signal.NEUTROPHILS: Letter.EXPOSURE,
}
#: The same analyte in the other specimen.
_OTHER_SPECIMEN = {
    Signal.POTASSIUM: (Signal.POTASSIUM_GAS, "a blood gas"),
    Signal.POTASSIUM_GAS: (Signal.POTASSIUM, "the laboratory"),
    Signal.SODIUM: (Signal.SODIUM_GAS, "a blood gas"),
    Signal.SODIUM_GAS: (Signal.SODIUM, "the laboratory"),
}
_ANTICOAGULANTS = frozenset(each.value for each in context.ANTICOAGULANTS)
#: What by itself may make a patient confused or drowsy.
_DULLS = ("glucose-low",)
#: Medicines that tell of diabetes, or that can bring ketoacidosis without it.
_FOR_DIABETES = (MedicineClass.INSULIN, MedicineClass.SULFONYLUREA, MedicineClass.SGLT2_INHIBITOR)
_LOW_POTASSIUM = ("potassium-low", "potassium-gas-low")
_RECENT = timedelta(hours=12)
#: Ours: another result taken this near is shown beside it.
_NEAR = timedelta(hours=4)
_OLD = our_choice("an old result that was not repeated asks for a repeat and nothing else")
_NO_DIABETES = our_choice("the hospital limit for diabetes is 'prompt' where no diabetes is recorded")
_KETONES_ALONE = our_choice(
    "high ketones are 'urgent' where neither diabetes nor a glucose above 11 is recorded: hunger and alcohol "
    "raise them too"
)
_ON_REPLACEMENT = our_choice(
    "on long-term renal replacement a high creatinine is 'routine': it rises from one session to the next"
)
_AS_KNOWN = our_choice("a creatinine no higher than usual in known chronic disease is 'routine'")


def assess_critical_results(bedside: Bedside) -> Iterator[Finding]:
    """Name every result beyond its limit, and every rapid change of sodium."""
    for graded in bedside.graded.values():
        finding = _of_series(bedside, graded)
        if finding is not None:
            yield finding
    for signal in (Signal.SODIUM, Signal.SODIUM_GAS):
        changed = _sodium_change(bedside, signal)
        if changed is not None:
            yield changed


def _of_series(bedside: Bedside, graded: GradedSeries) -> Finding | None:
    choices = bedside.choices
    if bedside.as_of - graded.newest.at > choices.laboratory_counts_for:
        return None
    if graded.bands[0].signal is Signal.BICARBONATE and graded.newest is bedside.bicarbonate_of_gas:
        return None  # Said with the blood gas.
    run = run_at_level(graded.times, graded.levels)
    state = bedside.state_of(run)
    if run is None or state is None:
        return None
    if _is_moved(bedside, graded):
        return _moved(bedside, graded, run)
    if graded.band is None:
        return _settling(bedside, graded, run)
    return _beyond(bedside, graded, graded.band, run, state)


def _is_moved(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether a potassium is lower than before a dose that only moved it, and not urgent by itself."""
    shift = bedside.potassium_shift
    if shift is None or not graded.key.endswith("-high") or graded.bands[0].signal is not shift.signal:
        return False
    is_urgent = graded.band is not None and _URGENCY[graded.band.urgency] >= Urgency.URGENT
    return graded.newest.at > shift.high.at and not is_urgent


def _moved(bedside: Bedside, graded: GradedSeries, run: Run) -> Finding | None:
    """Say a potassium that comes back from the cells: the last sample asks for the next."""
    shift = bedside.potassium_shift
    if shift is None:
        return None
    value = f"{_name(graded)} {_shown(graded, graded.newest)} after {shift.medicine}"
    clock = bedside.clock
    before = f"{as_sent(shift.high.value)} {clock.at(shift.high.at)}"
    until = shift.dose.at + potassium_shift.SHIFT_LASTS.length
    return Finding(
        kind=Kind.CRITICAL_RESULT,
        key=graded.key,
        letter=Letter.CIRCULATION,
        urgency=Urgency.URGENT,
        sentence=(
            f"{value} {clock.at(shift.dose.at)}, {before}: it may climb again by {clock.time(until)}, "
            "as that wears off; repeat it."
        ),
        brief=f"{value}, {before}: it may climb again",
        at=graded.newest.at,
        state=bedside.state_of(Run(run.since, graded.newest.at, is_present=True)),
        since=run.since,
        asked_since=graded.newest.at,
        measures=(*_measures(graded), measure_of(shift.signal, shift.high, key="before-the-dose")),
        evidence=tuple(dict.fromkeys((shift.high.origin, shift.dose.origin, graded.newest.origin))),
        sources=(potassium_shift.SHIFT_LASTS.source, potassium_shift.STILL_HIGH),
        cautions=(limits.LIMITS_DIFFER.text,),
        decided_by="a potassium that a dose has moved",
        provisional=Remark.PROVISIONAL in graded.newest.remarks,
    )


def _beyond(bedside: Bedside, graded: GradedSeries, band: CriticalBand, run: Run, state: State) -> Finding:
    result = graded.newest
    doubts = _doubts(bedside, graded)
    raised = None if doubts else _raised(bedside, graded, _URGENCY[band.urgency])
    urgency, extra = raised or _urgency(bedside, graded, band, doubts=bool(doubts))
    return Finding(
        kind=Kind.CRITICAL_RESULT,
        key=graded.key,
        letter=_LETTERS.get(band.signal, Letter.CIRCULATION),
        urgency=urgency,
        sentence=_sentence(bedside, graded, band, doubts),
        brief=f"{_brief(bedside, graded, band, doubts)}{_preliminary(result)}",
        at=result.at,
        state=state,
        since=run.since,
        asked_since=_asked_since(bedside, graded, urgency),
        measures=tuple(_measures(graded)),
        evidence=_evidence(graded),
        sources=(band.source, *extra, *_treated(bedside, graded)[1]),
        cautions=tuple(_cautions(bedside, graded, band, doubts)),
        decided_by=f"{FACTS[band.signal].label} {limit_words(band.cutoff)}",
        provisional=Remark.PROVISIONAL in result.remarks,
    )


def _asked_since(bedside: Bedside, graded: GradedSeries, urgency: Urgency) -> datetime | None:
    """Return since when results are as urgent as now: a worse number of one urgency restarts nothing."""
    bands = [graded.band_at(place) for place in range(len(graded.results))]
    ranks = [min(_URGENCY[band.urgency], urgency) + 1 if band is not None else 0 for band in bands]
    run = run_at_level(graded.times, ranks)
    since = run.since if run is not None else None
    joined = _not_alert_beside(bedside, graded)
    plainly = graded.band is not None and _URGENCY[graded.band.urgency] >= urgency
    if since is None or joined is None or (plainly and not _is_lowered(bedside, graded)):
        return since
    return max(since, joined)


def _is_lowered(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether the band alone would be less urgent for want of diabetes on record."""
    return graded.band is not None and _is_for_diabetes(graded.band) and not bedside.has_diabetes


def _settling(bedside: Bedside, graded: GradedSeries, run: Run) -> Finding:
    result = graded.newest
    last = next(r for r in reversed(graded.results) if r.at == run.until)
    said = f"{_name(graded)} {_shown(graded, result)}, {_shown(graded, last)} {bedside.clock.at(last.at)}"
    return Finding(
        kind=Kind.CRITICAL_RESULT,
        key=graded.key,
        letter=_LETTERS.get(graded.bands[0].signal, Letter.CIRCULATION),
        urgency=Urgency.ROUTINE,
        sentence=f"{said}: back inside the limit.",
        brief=f"{said}{_preliminary(result)}",
        at=result.at,
        state=State.SETTLING,
        since=run.since,
        measures=tuple(_measures(graded)),
        evidence=_evidence(graded),
        sources=(graded.bands[-1].source,),
        provisional=Remark.PROVISIONAL in result.remarks,
    )


# How urgent


def _urgency(
    bedside: Bedside, graded: GradedSeries, band: CriticalBand, *, doubts: bool
) -> tuple[Urgency, tuple[Source, ...]]:
    """Return our ranking of a result, and the choices that lowered it."""
    urgency = _URGENCY[band.urgency]
    if not graded.is_current:
        return Urgency.ROUTINE, (_OLD,)
    if doubts:
        return min(urgency, Urgency.URGENT), (limits.DOUBT_IS_REPEATED_FIRST.source,)
    if _is_for_diabetes(band) and not bedside.has_diabetes:
        return _without_diabetes(bedside, graded, urgency)
    if band.signal is Signal.KETONES and not _may_be_diabetic(bedside):
        return min(urgency, Urgency.URGENT), (_KETONES_ALONE,)
    if band.signal is Signal.CREATININE and bedside.kidneys.therapy.is_long_term_at(graded.newest.at):
        return Urgency.ROUTINE, (_ON_REPLACEMENT,)
    if band.signal is Signal.CREATININE and _is_as_known(bedside, graded.newest):
        return Urgency.ROUTINE, (_AS_KNOWN, limits.CREATININE_UP.source)
    return urgency, ()


def _without_diabetes(
    bedside: Bedside, graded: GradedSeries, urgency: Urgency
) -> tuple[Urgency, tuple[Source, ...]]:
    """Lower the limit for diabetes where none is recorded, unless something makes the value count."""
    if _not_alert_beside(bedside, graded) is not None:
        return urgency, (limits.NOT_ALERT.source,)
    if _insulin_before(bedside, graded.newest) is not None:
        return urgency, (limits.INSULIN_GIVEN.source,)
    return min(urgency, Urgency.PROMPT), (_NO_DIABETES,)


def _raised(
    bedside: Bedside, graded: GradedSeries, urgency: Urgency
) -> tuple[Urgency, tuple[Source, ...]] | None:
    """Return what a result is where something beside it makes it worse than its band; None elsewhere."""
    if not graded.is_current:
        return None
    if _is_sodium(graded):
        found = emergency_of_sodium(bedside, graded.newest)
        return (Urgency.EMERGENCY, (found[1],)) if found is not None else None
    if graded.key in _LOW_POTASSIUM and urgency < Urgency.URGENT and bedside.ketoacidosis.goes_on:
        return Urgency.URGENT, (limits.POTASSIUM_IN_KETOACIDOSIS.source,)
    if graded.key in _LOW_POTASSIUM and urgency < Urgency.PROMPT and _heart_needs_potassium(bedside):
        return Urgency.PROMPT, (limits.POTASSIUM_AND_HEART,)
    if graded.key == "inr-high" and urgency is Urgency.PROMPT and _liver_fails(bedside):
        return Urgency.URGENT, (limits.LIVER_INJURY.source,)
    return None


def _heart_needs_potassium(bedside: Bedside) -> bool:
    if bedside.record.told_of(*limits.HEART_NEEDS_POTASSIUM):
        return True
    pulse = bedside.record.series(Signal.PULSE).recent(bedside.as_of, bedside.choices.look_back)
    is_fast = pulse is not None and limits.FAST_PULSE.is_met_by(pulse.value)
    return is_fast and bool(bedside.record.told_of(ConditionKind.ATRIAL_FIBRILLATION))


def _is_for_diabetes(band: CriticalBand) -> bool:
    return band.source.key == cited.HYPOGLYCAEMIA.key


def _insulin_before(bedside: Bedside, glucose: Measurement) -> Administration | None:
    """Return the last quick insulin of the hours before a glucose, which explains a low one."""
    earliest = glucose.at - limits.INSULIN_EXPLAINS_FOR.length
    given = bedside.record.administrations
    near = (one for one in reversed(given) if earliest <= one.at <= glucose.at)
    return next((one for one in near if potassium_shift.is_insulin(one.medicine)), None)


def _is_anticoagulated(bedside: Bedside) -> bool:
    """Tell whether an anticoagulant is or was on record, which explains a long INR."""
    orders = [order.medicine.classes for order in bedside.record.orders]
    doses = [dose.medicine.classes for dose in bedside.record.administrations]
    return any(not _ANTICOAGULANTS.isdisjoint(classes) for classes in (*orders, *doses))


def _liver_fails(bedside: Bedside) -> bool:
    """Tell whether liver tests of the last day explain a long INR that no anticoagulant does."""
    series = [bedside.record.series(signal) for signal in (Signal.ALT, Signal.AST)]
    tests = [one.recent(bedside.as_of, bedside.choices.gas_counts_for) for one in series]
    is_injured = any(one is not None and limits.LIVER_INJURY.is_met_by(one.value) for one in tests)
    return is_injured and not _is_anticoagulated(bedside)


def _not_alert_beside(bedside: Bedside, graded: GradedSeries) -> datetime | None:
    """Return since when the patient has not been alert, where a result of that time may be why."""
    flow = bedside.perfusion
    if _is_sodium(graded):
        sodium = emergency_of_sodium(bedside, graded.newest) if graded.is_current else None
        return sodium[0].at if sodium is not None else None
    if graded.key not in _DULLS or not graded.is_current or flow.alertness_at is None:
        return None
    if flow.alertness == "alert" or flow.alertness_at < graded.newest.at - _NEAR:
        return None
    return bedside.not_alert_since or flow.alertness_at


def _may_be_diabetic(bedside: Bedside) -> bool:
    """Tell whether ketones are read as in diabetes: known, treated, or a high glucose now."""
    if bedside.record.has(*DIABETES) or bedside.on_chart(_FOR_DIABETES):
        return True
    glucose = bedside.graded.get("glucose-high")
    return glucose is not None and glucose.band is not None and glucose.is_current


def _is_as_known(bedside: Bedside, result: Measurement) -> bool:
    """Tell whether a high creatinine is what it was in known chronic disease."""
    if not bedside.record.has(ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS):
        return False
    newest = bedside.kdigo[-1] if bedside.kdigo else None
    if newest is None or newest.reference is None:
        return False
    return not limits.CREATININE_UP.is_met_by(result.value - newest.reference.value)


def _doubts(bedside: Bedside, graded: GradedSeries) -> tuple[str, ...]:
    """Say why the newest result may not be what it seems."""
    result = graded.newest
    doubts: list[str] = []
    if graded.key == "potassium-high":
        doubts.extend(doubts_about_potassium(bedside.record, result))
    if result.method == NOT_ADJUSTED:
        doubts.append("a total with no albumin to adjust it by")
    if not graded.is_certain:
        conflict = Remark.CONFLICT in result.remarks
        doubts.append("two values are recorded at one time" if conflict else "only a limit is reported")
    return tuple(doubts)


# In words


def _name(graded: GradedSeries) -> str:
    label = FACTS[graded.bands[0].signal].label
    return label[0].upper() + label[1:]


def _shown(graded: GradedSeries, result: Measurement) -> str:
    spread = result.spread
    text = show(measure_of(graded.bands[0].signal, result))
    if spread is None:
        return f"{as_sent(result.value)}{text.removeprefix(plain(result.value))}"
    if spread.low is not None and spread.high is not None:
        return f"{plain(spread.low)} to {plain(spread.high)}{text.removeprefix(plain(result.value))}"
    return f"above {text}" if spread.high is None else f"below {text}"


def _sentence(bedside: Bedside, graded: GradedSeries, band: CriticalBand, doubts: tuple[str, ...]) -> str:
    result = graded.newest
    value = f"{_name(graded)} {_shown(graded, result)}"
    before = _before(bedside, graded)
    if _is_past(bedside, graded) and not doubts:
        return f"{_past(bedside, graded, band)}{_treated(bedside, graded)[0]}."
    if not graded.is_current:
        age = bedside.clock.apart(result.at, bedside.as_of)
        return f"{value}, {age} ago and not repeated since: {band.label} then; repeat it."
    if doubts:
        return f"{value}{before}: possibly spurious ({', '.join(doubts)}); repeat at once."
    if bedside.as_of - result.at > _RECENT:
        return f"{value}{before}: {band.label}, not repeated since {bedside.clock.full(result.at)}."
    return f"{value}{before}: {_label(bedside, graded, band)}{_treated(bedside, graded)[0]}."


def _label(bedside: Bedside, graded: GradedSeries, band: CriticalBand) -> str:
    """Return what a result is called; a low glucose with what it may explain."""
    return f"{band.label}{_beside_its_name(bedside, graded, band)}"


def _beside_its_name(bedside: Bedside, graded: GradedSeries, band: CriticalBand) -> str:
    """Say in whom, and what it may explain, with its own comma; empty for most results."""
    if graded.key in _LOW_POTASSIUM and bedside.ketoacidosis.goes_on:
        return " in ketoacidosis, where insulin lowers it further: senior review, more potassium"
    if _is_sodium(graded):
        found = emergency_of_sodium(bedside, graded.newest)
        return f", {found[0].words}" if found is not None else ""
    if graded.key not in _DULLS:
        return ""
    whose = ""
    if not bedside.has_diabetes:
        insulin = _insulin_before(bedside, graded.newest)
        given = f"after insulin {bedside.clock.at(insulin.at)}" if insulin is not None else ""
        whose = f", {given or 'no diabetes on record'}"
    elif _is_for_diabetes(band):
        whose = " in a person with diabetes"
    dulled = _dulled(bedside, graded)
    return f"{whose}, which may be why the patient {_state_words(bedside)}" if dulled else whose


def _is_sodium(graded: GradedSeries) -> bool:
    return graded.bands[0].signal in (Signal.SODIUM, Signal.SODIUM_GAS)


def _dulled(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether a low glucose may be why the patient is not alert."""
    return graded.key in _DULLS and _not_alert_beside(bedside, graded) is not None


def _state_words(bedside: Bedside) -> str:
    words = bedside.perfusion.alertness
    said = {
        "voice": "responds only to voice",
        "pain": "responds only to pain",
        "unresponsive": "is unresponsive",
    }
    return said.get(words, f"has {words}")


def _is_past(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether a low glucose is too old to be said as if it were now."""
    age = bedside.as_of - graded.newest.at
    return graded.key == "glucose-low" and graded.is_current and age > limits.GLUCOSE_IS_PAST.length


def _past(bedside: Bedside, graded: GradedSeries, band: CriticalBand) -> str:
    when = f"{bedside.clock.at(graded.newest.at)}, {bedside.clock.apart(graded.newest.at, bedside.as_of)} ago"
    return (
        f"Glucose was {_shown(graded, graded.newest)} {when}, and was not repeated: {band.label} then"
        f"{_beside_its_name(bedside, graded, band)}; measure it now"
    )


def _preliminary(result: Measurement) -> str:
    """Say that a result may still change: it never reads as a final one."""
    return ", preliminary" if Remark.PROVISIONAL in result.remarks else ""


def _brief(bedside: Bedside, graded: GradedSeries, band: CriticalBand, doubts: tuple[str, ...]) -> str:
    """Return the few words: the number with what it means, and never without its caveat."""
    value = f"{_name(graded)} {_shown(graded, graded.newest)}"
    if not graded.is_current:
        return f"{value}, {bedside.clock.apart(graded.newest.at, bedside.as_of)} ago and not repeated since"
    if _is_past(bedside, graded) and not doubts:
        return _past(bedside, graded, band)
    if doubts:
        return f"{value}{_before(bedside, graded)}, possibly spurious ({', '.join(doubts)}): repeat at once"
    other = _other_specimen(bedside, graded, band)
    caveat = f", not confirmed by {other[0]}" if other is not None else ""
    dulled = _dulled(bedside, graded)
    if graded.key in _LOW_POTASSIUM and bedside.ketoacidosis.goes_on:
        return f"{value}{_before(bedside, graded)}: hypokalaemia in ketoacidosis"
    if _is_sodium(graded):
        return f"{value}{_before(bedside, graded)}: {_label(bedside, graded, band)}{caveat}"
    called = f"{band.label}, and the patient {_state_words(bedside)}" if dulled else band.label
    return f"{value}{_before(bedside, graded)}: {called}{caveat}{_treated(bedside, graded)[0]}"


def _is_without(bedside: Bedside, ingredient: str) -> bool:
    """Tell whether neither an order nor a dose of an ingredient is on record."""
    orders = (one.medicine for one in bedside.record.orders if one.status is OrderStatus.ACTIVE)
    doses = (one.medicine for one in bedside.record.administrations)
    return not any(ingredient in one.ingredients for one in (*orders, *doses))


def _treated(bedside: Bedside, graded: GradedSeries) -> tuple[str, tuple[Source, ...]]:
    """Say what is not done yet, an antidote or sugar, and the publication or the choice that asks for it."""
    result = graded.newest
    if graded.key == "paracetamol-level-high" and _is_without(bedside, liver.ACETYLCYSTEINE):
        return "; no acetylcysteine is on the chart: to be considered now", (liver.ANTIDOTE.source,)
    if graded.key != "glucose-low" or bedside.as_of - result.at > _RECENT or _doubts(bedside, graded):
        return "", ()
    is_expected = bedside.has_diabetes or _insulin_before(bedside, result) is not None
    whoever = not is_expected and _not_alert_beside(bedside, graded) is None
    cutoff = limits.TREAT_WHOEVER if whoever else limits.TREAT_IN_DIABETES
    if not cutoff.is_met_by(result.value):
        return "", ()
    return "; consider treating it now by the local protocol", (cutoff.source,)


def _before(bedside: Bedside, graded: GradedSeries) -> str:
    """Compare with the result before, where that is recent enough to mean anything."""
    if len(graded.results) < 2:
        return ""
    earlier = graded.results[-2]
    if earlier.spread is not None or graded.newest.spread is not None:
        return ""
    if graded.newest.at - earlier.at > graded.counts_for or earlier.value == graded.newest.value:
        return ""
    way = "up" if graded.newest.value > earlier.value else "down"
    since = bedside.clock.apart(earlier.at, graded.newest.at)
    return f", {way} from {as_sent(earlier.value)} ({since} before)"


def _measures(graded: GradedSeries) -> Iterator[Measure]:
    signal = graded.bands[0].signal
    result = graded.newest
    unit, label = FACTS[signal].unit, FACTS[signal].label
    yield measure_of(signal, result)
    if len(graded.results) > 1:
        yield measure_of(signal, graded.results[-2], key="previous", label=f"{label} before")
    for key, limit in (("reference-low", result.reference_low), ("reference-high", result.reference_high)):
        if limit is not None:
            own = f"laboratory's own limit, {key.removeprefix('reference-')}"
            yield Measure(key=key, label=own, value=limit, unit=unit, origin=result.origin)


def _evidence(graded: GradedSeries) -> tuple[Origin, ...]:
    return tuple(dict.fromkeys(result.origin for result in graded.results[-2:]))


def _cautions(
    bedside: Bedside, graded: GradedSeries, band: CriticalBand, doubts: tuple[str, ...]
) -> Iterator[str]:
    yield from _note(bedside, graded, band)
    if doubts and graded.key == "potassium-high":
        yield limits.SPURIOUS_POTASSIUM.text
    elif Remark.HAEMOLYSED in graded.newest.remarks:
        yield "The sample is haemolysed: ask the laboratory what that does to this result."
    if band.signal in (Signal.POTASSIUM_GAS, Signal.SODIUM_GAS):
        yield trend_limits.SEPARATE_SPECIMENS.text
    if graded.newest.method == ADJUSTED_HERE:
        yield limits.ADJUSTED_HERE.text
    if graded.key == "calcium-low":
        yield limits.LOW_CALCIUM_WITH_SIGNS.text
    other = _other_specimen(bedside, graded, band)
    if other is not None:
        then = "; treat what is confirmed, or what the ECG shows" if "potassium" in band.key else ""
        yield f"Not confirmed by {other[0]}: {other[1]}, inside the limit. Repeat at once{then}."
    if bedside.is_child:
        yield limits.ADULT_LIMITS.text
    yield limits.LIMITS_DIFFER.text


def _note(bedside: Bedside, graded: GradedSeries, band: CriticalBand) -> Iterator[str]:
    """Give the note of a band, unless it is for others or what it asks for is recorded."""
    if _insulin_before(bedside, graded.newest) is not None and graded.key == "glucose-low":
        yield limits.INSULIN_GIVEN.text
        return
    if graded.key == "glucose-low" and not bedside.has_diabetes:
        is_child = bedside.is_child
        yield (limits.LOOK_FOR_A_CAUSE_IN_A_CHILD if is_child else limits.LOOK_FOR_A_CAUSE).text
    if not band.note or (_is_for_diabetes(band) and (bedside.has_diabetes or _dulled(bedside, graded))):
        return
    if band.key == "glucose-high":
        ketones = _beside(bedside, graded.newest, Signal.KETONES)
        if ketones is not None:
            yield f"Ketones {_with_time(bedside, Signal.KETONES, ketones)}."
            return
    yield f"{band.note[0].upper()}{band.note[1:]}."


def _other_specimen(bedside: Bedside, graded: GradedSeries, band: CriticalBand) -> tuple[str, str] | None:
    """Return the other specimen and its result of the same analyte, where that is inside the limit."""
    if band.signal not in _OTHER_SPECIMEN:
        return None
    signal, named = _OTHER_SPECIMEN[band.signal]
    other = _beside(bedside, graded.newest, signal)
    if other is None or other.spread is not None or graded.bands[-1].cutoff.is_met_by(other.value):
        return None
    return named, _with_time(bedside, signal, other)


def _beside(bedside: Bedside, result: Measurement, signal: Signal) -> Measurement | None:
    """Return the newest value of another signal, where it was taken near this result."""
    found = bedside.record.series(signal).within(result.at - _NEAR, result.at + _NEAR)
    return found[-1] if found else None


def _with_time(bedside: Bedside, signal: Signal, measured: Measurement) -> str:
    return f"{show(measure_of(signal, measured))} {bedside.clock.at(measured.at)}"


# Sodium that changes fast


def _sodium_change(bedside: Bedside, signal: Signal) -> Finding | None:
    """Compare each sodium with the lowest and the highest of the 24 hours before it."""
    results = tuple(
        r
        for r in bedside.record.series(signal).items
        if r.spread is None and Remark.DAY_ONLY not in r.remarks  # A day is not placed in 24 hours.
    )
    if Series(results).recent(bedside.as_of, counts_for(signal, bedside.choices)) is None:
        return None
    window = trend_limits.SODIUM_WINDOW.length
    lowest, highest = SlidingExtreme(window), SlidingExtreme(window, highest=True)
    levels: list[int] = []
    froms: list[Measurement | None] = []
    furthest: Measurement | None = None
    for place, result in enumerate(results):
        low, high = lowest.before(result.at), highest.before(result.at)
        around = [results[index] for index in (low, high) if index is not None]
        furthest = max(around, key=lambda r: abs(result.value - r.value), default=None)
        change = Decimal(0) if furthest is None else abs(result.value - furthest.value)
        levels.append(int(trend_limits.SODIUM_CHANGE.is_met_by(change)))
        lowest.add(result.at, result.value, place)
        highest.add(result.at, result.value, place)
        froms.append(furthest)
    run = run_at_level([r.at for r in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    state = bedside.state_of(run)
    newest = results[-1]
    if run is None:
        return None
    if levels[-1]:
        if state is None or furthest is None:
            return None
        return _changed(signal, newest, furthest, run, state)
    return _not_taken_back(bedside, signal, results, froms, run)


def _not_taken_back(
    bedside: Bedside,
    signal: Signal,
    results: Sequence[Measurement],
    froms: Sequence[Measurement | None],
    run: Run,
) -> Finding | None:
    """Return a rapid change of the last day that still stands: a slower hour after it undoes no harm."""
    newest = results[-1]
    place = next(index for index, one in enumerate(results) if one.at == run.until)
    before = froms[place]
    if before is None or newest.at - results[place].at > trend_limits.SODIUM_WINDOW.length:
        return None
    went_up = results[place].value > before.value
    change = newest.value - before.value if went_up else before.value - newest.value
    if not trend_limits.SODIUM_CHANGE.is_met_by(change):
        return None
    state = bedside.state_of(Run(run.since, newest.at, is_present=True))
    return None if state is None else _changed(signal, newest, before, run, state)


def _changed(signal: Signal, newest: Measurement, before: Measurement, run: Run, state: State) -> Finding:
    change = newest.value - before.value
    way = "risen" if change > 0 else "fallen"
    label = FACTS[signal].label
    is_corrected = change > 0 and trend_limits.SODIUM_LOW_BEFORE.is_met_by(before.value)
    after = ", which may harm the brain: senior review of what raises it" if is_corrected else ""
    said = (
        f"{label[0].upper()}{label[1:]} has {way} by {plain(abs(change))} mmol/L in "
        f"{lasting(newest.at - before.at)}, from {plain(before.value)} to {plain(newest.value)}"
    )
    return Finding(
        kind=Kind.CRITICAL_RESULT,
        key=f"{signal.value}-change",
        letter=Letter.DISABILITY,
        urgency=Urgency.URGENT if is_corrected else Urgency.PROMPT,
        sentence=f"{said}: a rapid change{after}.",
        brief=f"{said}{_preliminary(newest)}",
        at=newest.at,
        state=state,
        since=run.since,
        measures=(
            measure_of(signal, newest),
            measure_of(signal, before, key="from", label=f"{label} before"),
            Measure(key="change", label=f"change of {label}", value=change, unit=FACTS[signal].unit),
        ),
        evidence=(before.origin, newest.origin),
        sources=(
            trend_limits.SODIUM_CHANGE.source,
            *((trend_limits.SODIUM_LOW_BEFORE.source,) if is_corrected else ()),
        ),
        cautions=("The limit is from memory; check it against local policy.",),
        decided_by=f"{label} changed by {limit_words(trend_limits.SODIUM_CHANGE)} in 24 hours",
        provisional=Remark.PROVISIONAL in newest.remarks,
    )
