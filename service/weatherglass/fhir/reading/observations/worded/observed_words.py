"""What an Observation says in words: coded answers, devices, notes and remarks."""

from collections.abc import Iterable
from enum import Enum

from weatherglass.fhir.r4 import Component, Observation
from weatherglass.fhir.reading.problems.concept_words import texts_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import seriousness_of
from weatherglass.terminology import observations as codes
from weatherglass.terminology.observations import Coded

NO_REMARKS: frozenset[Remark] = frozenset()
_LONGEST_NOTE = 200


def answer_of(meaning: Coded, holder: Observation | Component) -> Enum | None:
    """Return the answer a value gives to a coded question; None when it is not one of the known."""
    concept = holder.valueCodeableConcept
    if concept is not None:
        codes_sent = [coding.code or "" for coding in concept.coding]
        return (
            _worst(meaning.answers.get(code) or meaning.answers.get(_words(code)) for code in codes_sent)
            or meaning.answers.get(_words(concept.text or ""))
            or _worst(meaning.answers.get(_words(coding.display or "")) for coding in concept.coding)
        )
    if holder.valueString is not None:
        return meaning.answers.get(_words(holder.valueString))
    if isinstance(holder, Observation) and holder.valueBoolean is not None:
        return meaning.answers.get("true" if holder.valueBoolean else "false")
    return None


def _worst(answers: Iterable[Enum | None]) -> Enum | None:
    """Return the most serious of what the codings of one answer say, whatever their order."""
    return max((one for one in answers if one is not None), key=seriousness_of, default=None)


def note_of(obs: Observation) -> str:
    """Return what somebody wrote beside an answer, in one line of bearable length."""
    if not obs.note:
        return ""
    said = one_line(obs.note[0].text)
    return said if len(said) <= _LONGEST_NOTE else f"{said[:_LONGEST_NOTE]}..."


def _words(text: str) -> str:
    return " ".join(text.replace("_", " ").replace("-", " ").casefold().split())


def has_a_number(holder: Observation | Component) -> bool:
    """Tell whether a value is a number at all."""
    # A scale that was not used is often sent all the same, with a reason for its absence.
    return bool(holder.valueInteger) or (
        holder.valueQuantity is not None and bool(holder.valueQuantity.value)
    )


def device_of(component: Component) -> Enum | None:
    """Return the oxygen device that a component names."""
    texts = [component.valueString or ""]
    if component.valueCodeableConcept is not None:
        concept = component.valueCodeableConcept
        texts += [*texts_of(concept), *(coding.code or "" for coding in concept.coding)]
    for text in texts:
        device = codes.OXYGEN_DEVICE_WORDS.get(_words(text)) if text else None
        if device is not None:
            return device
    return None


def remarks_in(obs: Observation) -> frozenset[Remark]:
    """Return what notes and interpretations say about the sample."""
    if not obs.note and not obs.interpretation:
        return NO_REMARKS
    said = " ".join([*(note.text for note in obs.note), *texts_of(*obs.interpretation)]).casefold()
    if "haemolys" in said or "hemolys" in said or "hemolyz" in said:
        return frozenset({Remark.HAEMOLYSED})
    return NO_REMARKS
