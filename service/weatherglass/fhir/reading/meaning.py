"""What a concept means: the first of its codings that means anything."""

from weatherglass.fhir import codes
from weatherglass.fhir.codes import Meaning, Vocabulary
from weatherglass.fhir.r4 import CodeableConcept, Observation


def meaning_of(vocabulary: Vocabulary, concept: CodeableConcept) -> Meaning | None:
    """Return what a concept means: the first coding that means anything.

    One Observation is one measurement, however many codings name it.
    """
    for coding in concept.coding:
        table = vocabulary.get(coding.system or "")
        if table is None:
            system = codes.SYSTEM_SPELLINGS.get(coding.system or "")
            if system is None:
                continue
            table = vocabulary[system]
        meaning = table.get(coding.code or "")
        if meaning is not None:
            return meaning
    return None


def has_meaningful_component(vocabulary: Vocabulary, obs: Observation) -> bool:
    """Tell whether any part of a panel means anything."""
    return any(meaning_of(vocabulary, component.code) is not None for component in obs.component)
