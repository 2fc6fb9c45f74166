"""Values as a finding spells them out: with their label, unit, time and place in the record."""

from datetime import datetime

from weatherglass.facts.rounds.consciousness import consciousness_of, number_of
from weatherglass.facts.rounds.timeline import ObservationSet, oxygen_of
from weatherglass.model.findings import Measure, Missing, MissingReason
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.value_words import plain_answer

#: Words for a coded answer where its key does not read well.
_ANSWERS = {
    "new-confusion": "new confusion",
    "voice": "responds to voice",
    "pain": "responds to pain",
}


def answer_words(value: object) -> str:
    """Write an answer about consciousness the way it is said: 'responds to voice'."""
    return _ANSWERS.get(str(value), str(value))


def show(measure: Measure) -> str:
    """Write a measure the way it is said: '92 %', '110 mm[Hg]', 'responds to voice'."""
    if isinstance(measure.value, str):
        return measure.value
    text = plain(measure.value)
    unit = unit_words(measure.unit) if measure.unit is not None else ""
    return f"{text} {unit}" if unit else text


def measures_of(
    signal: Signal | CodedSignal, observed: ObservationSet, *, confusion_is_usual: bool = False
) -> tuple[Measure, ...]:
    """Return the measurements behind a row, carried ones included."""
    if isinstance(signal, Signal):
        number = number_of(observed, signal)
        return (measure_of(signal, number),) if number is not None else ()
    if signal is CodedSignal.OXYGEN_DELIVERY:
        return _oxygen_measures(observed)
    if signal is CodedSignal.CONSCIOUSNESS:
        resolved = consciousness_of(observed, confusion_is_usual=confusion_is_usual)
        if resolved is None:
            return ()
        said = answer_words(resolved.value)
        if resolved.note:
            said = f"{said} ({resolved.note})"
        return (_coded_measure(signal, said, resolved.at, resolved.origins[0]),)
    answer = observed.answer(signal)
    if answer is None:
        return ()
    return (_coded_measure(signal, plain_answer(answer.value), answer.at, answer.origin),)


def measure_of(signal: Signal, measured: Measurement, *, key: str = "", label: str = "") -> Measure:
    """Return one number as a measure, by the key and label of its signal unless it has others."""
    return Measure(
        key or signal.value, label or signal.label, measured.value, signal.unit, measured.at, measured.origin
    )


def _oxygen_measures(observed: ObservationSet) -> tuple[Measure, ...]:
    resolved = oxygen_of(observed)
    if resolved is None:
        return ()
    word = oxygen_word(resolved.value)
    if resolved.note:
        word = f"{word} ({resolved.note})"
    measures = [_coded_measure(CodedSignal.OXYGEN_DELIVERY, word, resolved.at, resolved.origins[0])]
    for signal in (Signal.OXYGEN_FLOW, Signal.FIO2):
        number = observed.number(signal)
        if number is not None:
            measures.append(measure_of(signal, number))
    return tuple(measures)


def oxygen_word(delivery: object) -> str:
    """Write how oxygen is given: 'oxygen by nasal cannula', 'air'."""
    if isinstance(delivery, OxygenDelivery) and delivery > OxygenDelivery.OXYGEN:
        return f"oxygen by {delivery.name.lower().replace('_', ' ')}"
    return "air" if delivery is OxygenDelivery.AIR else "oxygen"


def _coded_measure(signal: CodedSignal, word: str, at: datetime, origin: Origin) -> Measure:
    return Measure(signal.value, signal.value.replace("-", " "), word, at=at, origin=origin)


def missing_of(signal: Signal) -> Missing:
    """Return a value that would have told, and that nobody recorded."""
    return Missing(key=signal.value, label=signal.label, reason=MissingReason.NOT_RECORDED)
