"""What each input of a record says in a few words, so that evidence can be read and not only named."""

from collections import defaultdict
from collections.abc import Iterator

from weatherglass.model.record.record import Record
from weatherglass.model.signals import Consciousness, OxygenDelivery, label_of
from weatherglass.model.sources import Origin
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.value_words import named_value, plain_answer

#: Coded answers as a ward says them.
OXYGEN_WORDS = {
    OxygenDelivery.AIR: "air",
    OxygenDelivery.OXYGEN: "oxygen, device not named",
    OxygenDelivery.NASAL_CANNULA: "nasal cannula",
    OxygenDelivery.SIMPLE_MASK: "simple mask",
    OxygenDelivery.VENTURI_MASK: "Venturi mask",
    OxygenDelivery.RESERVOIR_MASK: "reservoir mask",
    OxygenDelivery.HIGH_FLOW: "high flow",
    OxygenDelivery.PRESSURE_SUPPORT: "CPAP or NIV",
    OxygenDelivery.VENTILATOR: "ventilator",
}
CONSCIOUSNESS_WORDS = {
    Consciousness.ALERT: "alert",
    Consciousness.CONFUSION: "confusion",
    Consciousness.NEW_CONFUSION: "new confusion",
    Consciousness.VOICE: "responds to voice",
    Consciousness.PAIN: "responds to pain",
    Consciousness.UNRESPONSIVE: "unresponsive",
}


def input_words(record: Record, clock: Clock) -> dict[Origin, str]:
    """Return what every input says, by the input's name."""
    said: defaultdict[Origin, list[str]] = defaultdict(list)
    for origin, words in _everything(record, clock):
        said[origin].append(words)
    return {origin: "; ".join(words) for origin, words in said.items()}


def _everything(record: Record, clock: Clock) -> Iterator[tuple[Origin, str]]:
    for signal, series in record.numbers.items():
        for item in series:
            yield item.origin, f"{named_value(signal, item)}, {clock.full(item.at)}"
    for coded, answers in record.codes.items():
        for answer in answers:
            word = coded_word(answer.value)
            yield answer.origin, f"{label_of(coded)} {word}, {clock.full(answer.at)}"
    for condition in record.conditions:
        yield condition.origin, condition.text
    for order in record.orders:
        yield order.origin, f"{order.medicine.text} ({order.status.value})"
    for given in record.administrations:
        yield given.origin, f"{given.medicine.text}, given {clock.full(given.at)}"
    for procedure in record.procedures:
        yield procedure.origin, procedure.text
    for directive in record.directives:
        yield directive.origin, f"recorded decision: {directive.kind.value}"
    for artefact in record.artefacts:
        item = artefact.measurement
        yield item.origin, f"{named_value(artefact.signal, item)}, {clock.full(item.at)}, not used"


def coded_word(value: object) -> str:
    """Write one coded answer."""
    if isinstance(value, OxygenDelivery):
        return OXYGEN_WORDS[value]
    if isinstance(value, Consciousness):
        return CONSCIOUSNESS_WORDS[value]
    return plain_answer(value)
