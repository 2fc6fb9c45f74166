"""What a concept means: all of its codings are looked at, and their order says nothing.

One Observation is one measurement, however many codings name it. Where codings of one
signal say different amounts about the sample or about what was breathed, all of it is
kept; where they mean different signals, the same one is chosen in any order, and said.
Both ways of reading ask here, so that neither can know more than the other.
"""

from weatherglass.fhir.datatypes import CodeableConcept, Coding
from weatherglass.fhir.r4 import Observation
from weatherglass.model.plain import replace
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Sample, Signal
from weatherglass.terminology import observations as codes
from weatherglass.terminology.observations import Coded, Contested, Meaning, Numeric, Vocabulary

_ORDER_OF_SIGNALS: dict[Signal | CodedSignal, int] = {
    signal: place for place, signal in enumerate((*Signal, *CodedSignal))
}
#: A value beats a decision or a part of somebody's score, and all of them beat a mere heading.
_ORDER_OF_KINDS: dict[type, int] = {
    kind: place for place, kind in enumerate((codes.Decision, codes.ReportedPart, codes.Panel))
}


def meaning_of(vocabulary: Vocabulary, concept: CodeableConcept) -> Meaning | Contested | None:
    """Return what a concept means by all of its codings; None when none is read."""
    codings = concept.coding
    if len(codings) == 1:
        return _meaning_of(vocabulary, codings[0])
    if any(coding.code in codes.ON_EXERTION for coding in codings):
        return None
    found = [meaning for each in codings if (meaning := _meaning_of(vocabulary, each)) is not None]
    if not found or found.count(found[0]) == len(found):
        return found[0] if found else None
    return _together(found)


def _meaning_of(vocabulary: Vocabulary, coding: Coding) -> Meaning | None:
    table = vocabulary.get(coding.system or "")
    if table is None:
        system = codes.system_meant(coding.system or "")
        if not system:
            return None
        table = vocabulary[system]
    return table.get(coding.code or "")


def _together(found: list[Meaning]) -> Meaning | Contested:
    """Return the one meaning of several that differ."""
    numbers = [each for each in found if isinstance(each, Numeric)]
    answers = [each for each in found if isinstance(each, Coded)]
    if numbers:
        return _number(numbers, answers)
    if answers:
        return _answer(answers)
    return min(found, key=lambda each: (_ORDER_OF_KINDS[type(each)], str(each)))


def _number(numbers: list[Numeric], answers: list[Coded]) -> Meaning | Contested:
    fixed = [each for each in answers if isinstance(each.fixed, OxygenDelivery)]
    if fixed and any(each.signal is Signal.OXYGEN_FLOW for each in numbers):
        # A flow is a part of being on oxygen, and read with it.
        return _answer(fixed)
    first = min(numbers, key=_place_of)
    same = [each for each in numbers if each.signal is first.signal]
    stated = {each.sample for each in same} - {Sample.NOT_STATED}
    breathed = {kind for each in numbers for kind in each.breathed}
    breathed |= {each.fixed for each in fixed if isinstance(each.fixed, OxygenDelivery)}
    meaning = replace(
        first,
        sample=next(iter(stated)) if len(stated) == 1 else Sample.NOT_STATED,
        breathed=tuple(sorted(breathed)),
    )
    agreed = (
        len(same) == len(numbers)
        and len(fixed) == len(answers)
        and len(stated) <= 1
        and all(each.units is first.units for each in same)
    )
    return meaning if agreed else Contested(meaning)


def _place_of(meaning: Numeric) -> tuple[int, bool, str]:
    # What says more of the sample is the better name for its method.
    return _ORDER_OF_SIGNALS[meaning.signal], meaning.sample is Sample.NOT_STATED, meaning.method


def _answer(answers: list[Coded]) -> Meaning | Contested:
    """Return one of several questions; of air and oxygen, oxygen."""
    chosen = min(
        answers,
        key=lambda each: (_ORDER_OF_SIGNALS[each.signal], str(each.fixed or ""), str(each.answers)),
    )
    if any(each.fixed is OxygenDelivery.OXYGEN for each in answers):
        chosen = next(each for each in answers if each.fixed is OxygenDelivery.OXYGEN)
    return chosen if all(each == chosen for each in answers) else Contested(chosen)


def has_meaningful_component(vocabulary: Vocabulary, obs: Observation) -> bool:
    """Tell whether any part of a panel means anything."""
    return any(meaning_of(vocabulary, component.code) is not None for component in obs.component)
