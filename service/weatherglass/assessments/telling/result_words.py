"""How a result beyond its limit is said: its sentence, its few words, its numbers and its cautions."""

from collections.abc import Iterator
from datetime import timedelta

from weatherglass.facts.ceiling import is_end_of_life
from weatherglass.facts.metabolic.calcium import ADJUSTED_HERE, NOT_ADJUSTED
from weatherglass.facts.results.beside_result import BesideResult, is_for_diabetes
from weatherglass.facts.results.result_levels import GradedSeries
from weatherglass.facts.rounds.alertness import state_words
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.metabolic import liver
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Measure, Urgency
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.lists import capital, inside_a_sentence
from weatherglass.model.words.value_words import named_value, value_words

_RECENT = timedelta(hours=12)
#: The same analyte in the other specimen.
OTHER_SPECIMEN = {
    Signal.POTASSIUM: (Signal.POTASSIUM_GAS, "a blood gas"),
    Signal.POTASSIUM_GAS: (Signal.POTASSIUM, "the laboratory"),
    Signal.SODIUM: (Signal.SODIUM_GAS, "a blood gas"),
    Signal.SODIUM_GAS: (Signal.SODIUM, "the laboratory"),
}


def valued(graded: GradedSeries, result: Measurement) -> str:
    """Say a result with its name: 'Potassium 6.4 mmol/L'."""
    is_total = result.method == NOT_ADJUSTED
    return capital(named_value(Signal.CALCIUM_TOTAL if is_total else graded.bands[0].signal, result, as_sent))


def shown(graded: GradedSeries, result: Measurement) -> str:
    """Say a result as it was sent, with its unit; what is known only as a limit as one."""
    return value_words(graded.bands[0].signal, result, as_sent)


def preliminary(result: Measurement) -> str:
    """Say that a result may still change: it never reads as a final one."""
    return ", preliminary" if Remark.PROVISIONAL in result.remarks else ""


def sentence(one: BesideResult, band: CriticalBand) -> str:
    """Return what a clinician reads first."""
    bedside, result = one.bedside, one.result
    value = valued(one.graded, result)
    before = _before(one)
    if one.is_past and not one.doubts and not one.is_mildly_low:
        return f"{_past(one, band)}{treated(one)[0]}."
    if not one.graded.is_current:
        age = bedside.clock.apart(result.at, bedside.as_of)
        return f"{value}, {age} ago and not repeated since: {band.label} then; repeat it."
    if one.is_mildly_low:
        return f"{_mildly_low(one)}."
    if one.doubts:
        return f"{value}{before}: possibly spurious ({', '.join(one.doubts)}); repeat at once."
    if bedside.as_of - result.at > _RECENT and one.antidote_answers is None:
        return f"{value}{before}: {band.label}, not repeated since {bedside.clock.full(result.at)}."
    return f"{value}{before}: {band.label}{_beside_its_name(one, band)}{treated(one)[0]}."


def brief(one: BesideResult, band: CriticalBand) -> str:
    """Return the few words: the number with what it means, and never without its caveat."""
    return f"{_brief(one, band)}{preliminary(one.result)}"


def _brief(one: BesideResult, band: CriticalBand) -> str:
    bedside = one.bedside
    value = valued(one.graded, one.result)
    if not one.graded.is_current:
        return f"{value}, {bedside.clock.apart(one.result.at, bedside.as_of)} ago and not repeated since"
    if one.is_mildly_low:
        return _mildly_low(one)
    if one.is_past and not one.doubts:
        return _past(one, band)
    value = f"{value}{_before(one)}"
    if one.doubts:
        return f"{value}, possibly spurious ({', '.join(one.doubts)}): repeat at once"
    if one.is_low_in_ketoacidosis:
        return f"{value}: hypokalaemia in ketoacidosis"
    other = _other_specimen(one, band)
    caveat = f", not confirmed by {other[0]}" if other is not None else ""
    if one.is_sodium or one.not_acid or one.calcium_sign is not None:
        return f"{value}: {band.label}{_beside_its_name(one, band)}{caveat}"
    called = f"{band.label}, and {_patient(one)}" if one.may_dull else band.label
    return f"{value}: {called}{caveat}{treated(one)[0]}"


def _beside_its_name(one: BesideResult, band: CriticalBand) -> str:
    """Say in whom, and what it may explain, with its own comma; empty for most results."""
    if one.is_low_in_ketoacidosis:
        return " in ketoacidosis, where insulin lowers it further: senior review, more potassium"
    if one.brain is not None:
        return f", {one.brain.sign.words}"
    if one.calcium_sign is not None:
        return f", with {inside_a_sentence(one.calcium_sign.text)}"
    if one.not_acid:
        return f", without acidosis ({one.not_acid})"
    if not one.is_low_glucose:
        return ""
    whose = ""
    if not one.bedside.has_diabetes:
        insulin = one.insulin_before
        given = f"after insulin {one.bedside.clock.at(insulin.at)}" if insulin is not None else ""
        nobody_asks = one.bedside.is_below(limits.A_BABY)
        whose = f", {given or 'no diabetes on record'}" if given or not nobody_asks else ""
    elif is_for_diabetes(band):
        whose = " in a person with diabetes"
    return f"{whose}, which may be why {_patient(one)}" if one.may_dull else whose


def _patient(one: BesideResult) -> str:
    return f"the patient {state_words(one.bedside.perfusion.alertness)}"


def _past(one: BesideResult, band: CriticalBand) -> str:
    clock, at = one.bedside.clock, one.result.at
    when = f"{clock.at(at)}, {clock.apart(at, one.bedside.as_of)} ago"
    return (
        f"Glucose was {shown(one.graded, one.result)} {when}, and was not repeated: {band.label} then"
        f"{_beside_its_name(one, band)}{'' if is_end_of_life(one.bedside) else '; measure it now'}"
    )


def _mildly_low(one: BesideResult) -> str:
    when = one.bedside.clock.at(one.result.at)
    return f"{valued(one.graded, one.result)} {when}: below the limit used in diabetes, none on record"


def _antidote(one: BesideResult) -> tuple[str, tuple[Source, ...]]:
    record = one.bedside.record
    if record.is_without(liver.ACETYLCYSTEINE):
        return "; no acetylcysteine is on the chart: to be considered now", (liver.ANTIDOTE.source,)
    if (answer := one.antidote_answers) is not None:
        given = f"; acetylcysteine given {one.bedside.clock.at(answer.at)}: {liver.ANTIDOTE_ANSWERS.text}"
        return given, (liver.ANTIDOTE_ANSWERS.source,)
    if any(liver.ACETYLCYSTEINE in dose.medicine.ingredients for dose in record.administrations):
        return "", ()
    return "; acetylcysteine is on the chart and no dose of it is recorded: ask now", (liver.ANTIDOTE.source,)


def treated(one: BesideResult) -> tuple[str, tuple[Source, ...]]:
    """Say what is not done yet, an antidote or sugar, and the publication or the choice that asks for it."""
    if one.key == "paracetamol-level-high":
        return _antidote(one)
    if (explained := _explained(one)) is not None:
        return explained
    if _asks_for_strong_salt(one):
        return f"; {limits.SODIUM_ASKS.text}", (limits.SODIUM_ASKS.source,)
    if not one.is_low_glucose or one.bedside.as_of - one.result.at > _RECENT or one.doubts:
        return "", ()
    if is_end_of_life(one.bedside):
        return "", ()  # Comfort decides, and the plan for it says what is measured.
    band = one.graded.band
    if band is not None and band.urgency == "routine" and one.not_alert_since is None:
        return "", ()
    is_expected = one.bedside.has_diabetes or one.insulin_before is not None
    whoever = not is_expected and one.not_alert_since is None
    cutoff = limits.TREAT_WHOEVER if whoever else limits.TREAT_IN_DIABETES
    if not cutoff.is_met_by(one.result.value):
        return "", ()
    return "; consider treating it now by the local protocol", (cutoff.source,)


def _explained(one: BesideResult) -> tuple[str, tuple[Source, ...]] | None:
    """Say what explains a result or answers it: an operation, red cells, a seizure; None for most."""
    if (dose := one.vitamin_k) is not None:
        given = f"{dose.medicine.text} was given {one.bedside.clock.at(dose.at)}"
        return f"; {given}: {limits.VITAMIN_K_ANSWERS.text}", (limits.VITAMIN_K_ANSWERS.source,)
    if one.is_as_for_long:
        return ", as for long", (limits.AS_FOR_LONG.source,)
    if one.is_of_known_immunity:
        return ", in known immune thrombocytopenia", (limits.IMMUNE_FROM.source,)
    if one.slow_pulse is not None:
        return f", with a pulse of {as_sent(one.slow_pulse.value)}", (limits.POTASSIUM_SLOW_PULSE.source,)
    if one.red_cells is not None:
        given = f"{inside_a_sentence(one.red_cells.text)} {one.bedside.clock.at(one.red_cells.began)}"
        return f"; {given}: {limits.RED_CELLS_ANSWER.text}", (limits.RED_CELLS_ANSWER.source,)
    if one.of_an_operation is not None:
        after = f", as after {inside_a_sentence(one.of_an_operation.text)}"
        return f"{after}; repeat it to see that it falls", (limits.LACTATE_AFTER_SURGERY.source,)
    if one.is_after_a_fit:
        return f"; {limits.LACTATE_AFTER_A_FIT.text}", (limits.LACTATE_AFTER_A_FIT.source,)
    return None


def _asks_for_strong_salt(one: BesideResult) -> bool:
    """Tell whether a low sodium has the brain suffer now: a seizure, coma, a child's dull mind."""
    if (
        one.key not in ("sodium-low", "sodium-gas-low")
        or one.brain is None
        or one.doubts
        or one.is_past
        or not one.graded.is_current
    ):
        return False
    dulls_a_child = one.bedside.is_child and one.brain.urgency is Urgency.EMERGENCY
    return (one.brain.sign.is_severe or dulls_a_child) and not is_end_of_life(one.bedside)


def at_once(one: BesideResult, urgency: Urgency) -> str:
    """Return what is done before anybody comes: empty for most results."""
    if one.is_low_glucose and treated(one)[0]:
        return "Consider treating the low glucose now"
    if _asks_for_strong_salt(one):
        return "Hypertonic saline for the low sodium, to be considered by the local protocol"
    if one.key in _OF_HEART and urgency is Urgency.EMERGENCY and not one.doubts:
        return "12-lead ECG and heart monitor now"
    return ""


#: Of which an ECG change is an emergency whatever the number.
_OF_HEART = ("potassium-high", "potassium-gas-high", "calcium-low", "calcium-ionised-low")


def _before(one: BesideResult) -> str:
    """Compare with the result before, where that is recent enough to mean anything."""
    graded, newest = one.graded, one.result
    if len(graded.results) < 2:
        return ""
    earlier = graded.results[-2]
    if not earlier.is_exact or not newest.is_exact:
        return ""
    if newest.at - earlier.at > graded.counts_for or earlier.value == newest.value:
        return ""
    way = "up" if newest.value > earlier.value else "down"
    since = one.bedside.clock.apart(earlier.at, newest.at)
    return f", {way} from {as_sent(earlier.value)} ({since} before)"


def measures(graded: GradedSeries) -> Iterator[Measure]:
    """Spell out the result, the one before, and the laboratory's own limits."""
    signal = graded.bands[0].signal
    result = graded.newest
    unit, label = signal.unit, signal.label
    yield measure_of(signal, result)
    if len(graded.results) > 1:
        yield measure_of(signal, graded.results[-2], key="previous", label=f"{label} before")
    for key, limit in (("reference-low", result.reference_low), ("reference-high", result.reference_high)):
        if limit is not None:
            own = f"laboratory's own limit, {key.removeprefix('reference-')}"
            yield Measure(key, own, limit, unit, origin=result.origin)


def cautions(one: BesideResult, band: CriticalBand) -> Iterator[str]:
    """Yield what to know before trusting or treating it."""
    if _binds_calcium(one, band) is None:
        yield from _note(one, band)
    if one.is_of_known_immunity:
        yield limits.IMMUNE.text
    if one.doubts and one.key == "potassium-high":
        yield limits.SPURIOUS_POTASSIUM.text
    elif Remark.HAEMOLYSED in one.result.remarks:
        yield "The sample is haemolysed: ask the laboratory what that does to this result."
    if band.signal in (Signal.POTASSIUM_GAS, Signal.SODIUM_GAS):
        yield trend_limits.SEPARATE_SPECIMENS.text
    if one.result.method == ADJUSTED_HERE:
        yield limits.ADJUSTED_HERE.text
    if one.key == "calcium-low" and one.calcium_sign is None:
        yield limits.LOW_CALCIUM_WITH_SIGNS.text
    if (bound := _binds_calcium(one, band)) is not None:
        yield bound.text
    other = _other_specimen(one, band)
    if other is not None:
        then = "; treat what is confirmed, or what the ECG shows" if "potassium" in band.key else ""
        yield f"Not confirmed by {other[0]}: {other[1]}, inside the limit. Repeat at once{then}."
    if one.bedside.is_child and band not in limits.NEWBORN_RESULTS:
        yield limits.ADULT_LIMITS.text


def _binds_calcium(one: BesideResult, band: CriticalBand) -> Clause | None:
    """Return what is said where muscle or a cancer that breaks down binds calcium: it is not simply given."""
    if band.key not in ("calcium-low", "calcium-ionised-low"):
        return None
    phosphate = one.near(Signal.PHOSPHATE)
    if phosphate is not None and limits.PHOSPHATE_BINDS.is_met_by(phosphate.value):
        return limits.CALCIUM_BOUND
    return limits.CALCIUM_IN_MUSCLE if one.muscle_breaks_down else None


def _note(one: BesideResult, band: CriticalBand) -> Iterator[str]:
    """Give the note of a band, unless it is for others or what it asks for is recorded."""
    has_diabetes = one.bedside.has_diabetes
    if one.is_low_glucose and one.insulin_before is not None:
        yield limits.INSULIN_GIVEN.text
        return
    if one.is_mildly_low:
        return
    if one.is_low_glucose and not has_diabetes:
        is_child = one.bedside.is_child
        baby = limits.LOOK_FOR_A_CAUSE_IN_A_BABY if one.bedside.is_below(limits.A_BABY) else None
        child = baby or limits.LOOK_FOR_A_CAUSE_IN_A_CHILD
        yield (child if is_child else limits.LOOK_FOR_A_CAUSE).text
    if one.is_low_glucose and one.bedside.record.told_of(*limits.LACKS_THIAMINE):
        yield limits.THIAMINE_WITH_GLUCOSE.text
    is_other = has_diabetes or one.may_dull or one.bedside.is_below(limits.A_BABY)
    if not band.note or (is_for_diabetes(band) and is_other):
        return
    if band.key == "glucose-high":
        ketones = one.near(Signal.KETONES)
        if ketones is not None:
            yield f"Ketones {_with_time(one, Signal.KETONES, ketones)}."
            return
    yield f"{capital(band.note)}."


def _other_specimen(one: BesideResult, band: CriticalBand) -> tuple[str, str] | None:
    """Return the other specimen and its result of the same analyte, where that is inside the limit."""
    if band.signal not in OTHER_SPECIMEN:
        return None
    signal, named = OTHER_SPECIMEN[band.signal]
    other = one.near(signal)
    if other is None or not other.is_exact or one.graded.bands[-1].cutoff.is_met_by(other.value):
        return None
    return named, _with_time(one, signal, other)


def _with_time(one: BesideResult, signal: Signal, measured: Measurement) -> str:
    return f"{value_words(signal, measured)} {one.bedside.clock.at(measured.at)}"
