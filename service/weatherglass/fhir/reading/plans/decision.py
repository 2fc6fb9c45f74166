"""Observations that record a decision: resuscitation, scale, oxygen target, ceiling.

The Observation's status and subject have been checked by the time they arrive here; one without a usable
time is a decision without its date.
"""

from datetime import datetime
from typing import Final

from weatherglass.fhir.datatypes import CodeableConcept, Quantity, Range
from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.observations.sent_values import shown_value, words_of
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.plan_source import (
    PlanSource,
    answers,
    first_text,
    for_cpr,
    number_in,
    who,
)
from weatherglass.fhir.reading.plans.plan_words import Said, not_read_in, read_words
from weatherglass.fhir.reading.problems.concept_words import codes_of, has_code, texts_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import Directive, DirectiveKind, Resuscitation
from weatherglass.model.sources import Origin
from weatherglass.terminology import observations as codes
from weatherglass.terminology import plans as known

_WORDS: Final = word_patterns("plan-patterns.toml")
_ABOUT_CPR: Final = _WORDS["about-cpr"]
#: Characters of a plan that are told beside what was read; ours.
_LONGEST_REST: Final = 400
_NO_ANSWER: Final = frozenset(
    {"none", "nil", "n/a", "unknown", "not known", "not recorded", "not applicable"}
)


def read_decision(
    collector: Collector,
    data: PatientData,
    obs: Observation,
    at: datetime | None,
    origin: Origin,
    entry: SentEntry | None = None,
) -> None:
    """Take in an Observation that records a decision."""
    path = entry.path if entry is not None else str(origin)
    source = PlanSource(collector, data, path, origin, at, recorded_by=who(*obs.performer))
    if obs.status == "preliminary":
        source.say("decision-preliminary", "status")
        return
    reader = _READERS.get(_decision_named(obs.code))
    if reader is not None:
        reader(source, obs)


def scale_2_was_used(data: PatientData, at: datetime, origin: Origin) -> None:
    """Record that somebody scored the saturation on scale 2: a decision that can be traced."""
    directive = Directive(origin=origin, kind=DirectiveKind.SPO2_SCALE, at=at, spo2_scale=2)
    if directive not in data.directives[-2:]:
        data.directives.append(directive)


def _decision_named(concept: CodeableConcept) -> str:
    for coding in concept.coding:
        system = codes.system_meant(coding.system or "") or coding.system or ""
        meaning = codes.MEANINGS.get(system, {}).get(coding.code or "")
        if isinstance(meaning, codes.Decision):
            return meaning.name
    return ""


def _resuscitation(source: PlanSource, obs: Observation) -> None:
    value = obs.valueCodeableConcept
    denied = obs.valueBoolean is False or has_code(value, known.NO_CODES)
    found = answers(value)
    undecided = False
    if not found and not denied:
        # The older codes are the answer themselves; words may stand in for a coded answer.
        found = answers(obs.code)
        readings = [read_words(text) for text in (obs.valueString or "", *texts_of(value))]
        worded = [one.resuscitation for reading in readings for one in reading.said if one.resuscitation]
        undecided = any(reading.undecided for reading in readings)
        found = list(dict.fromkeys([*found, *worded]))
    if len(found) == 1 and not undecided:
        source.keep([for_cpr(found[0])])
    elif found or undecided:
        source.undecided("value")
        source.unread(_as_sent(obs, "Resuscitation"))
    else:
        source.say("resuscitation-unknown", "value")
        source.unread(_as_sent(obs, "Resuscitation"))


def _advance_directive(source: PlanSource, obs: Observation) -> None:
    value = obs.valueCodeableConcept
    texts = [text for text in (obs.valueString or "", *texts_of(value)) if text.strip()]
    said = {text.casefold().strip() for text in texts}
    if obs.valueBoolean is False or has_code(value, known.NO_CODES) or said & known.NO_CODES:
        source.say("no-plan", "value")
        return
    if not texts and not obs.valueBoolean and not has_code(value, known.YES_CODES):
        source.say("no-decision-value", "value")
        return
    stated = source.in_texts(texts, "value", is_target=False)
    shown = first_text(text for text in texts if text.casefold().strip() not in known.YES_CODES)
    source.keep(stated or [Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=shown)])
    if stated:
        _rest(source, obs)


def _scale(source: PlanSource, obs: Observation) -> None:
    numbers = [number_in(obs.valueInteger)]
    if obs.valueQuantity is not None:
        numbers.append(number_in(obs.valueQuantity.value))
    found = {int(number) for number in numbers if number in (1, 2)}
    value = obs.valueCodeableConcept
    for text in (obs.valueString or "", *texts_of(value), *codes_of(value)):
        rest = text.casefold().replace("spo2", "").replace("news2", "").replace("scale", "").strip(" -_")
        if rest in ("1", "2"):
            found.add(int(rest))
    if len(found) == 1:
        source.keep([Said(kind=DirectiveKind.SPO2_SCALE, spo2_scale=found.pop())])
        return
    source.say("not-a-scale", "value")


def _oxygen_target(source: PlanSource, obs: Observation) -> None:
    if obs.valueRange is not None:
        source.keep(source.target(obs.valueRange, "valueRange"))
        return
    ends: dict[str, Quantity] = {}
    for component in obs.component:
        named = {text.casefold() for text in (*texts_of(component.code), *codes_of(component.code))}
        for end in ("low", "high"):
            if end in named and component.valueQuantity is not None:
                ends[end] = component.valueQuantity
    if ends:
        source.keep(source.target(Range(low=ends.get("low"), high=ends.get("high")), "component"))
        return
    texts = _texts(source, obs)
    if not texts:
        return
    found = source.in_texts(texts, "value", is_target=True, about_oxygen=True)
    targets = [one for one in found if one.kind is DirectiveKind.OXYGEN_TARGET]
    source.keep(targets)
    if not targets:
        source.say("not-a-target-range", "value")


def _ceiling(source: PlanSource, obs: Observation) -> None:
    texts = _texts(source, obs)
    if not texts:
        return
    found = source.in_concept(obs.valueCodeableConcept, "value", is_target=False)
    found += source.in_texts([obs.valueString or ""], "value", is_target=False)
    limits = (DirectiveKind.CEILING, DirectiveKind.FULL_TREATMENT)
    undecided = any(read_words(text).undecided for text in texts)
    if not undecided and not any(one.kind in limits for one in found):
        # The code says that it is a ceiling, so the team's own words are one.
        found.append(Said(kind=DirectiveKind.CEILING, text=first_text(texts)))
    elif found:
        _rest(source, obs)
    source.keep(found)


def _plan(source: PlanSource, obs: Observation) -> None:
    """Read a plan that is known by its name: what its answer says, or the name where that is affirmed."""
    name, shown = words_of(obs.code), shown_value(obs)
    value = obs.valueCodeableConcept
    found = source.in_concept(value, "value", is_target=False)
    found += source.in_texts([obs.valueString or ""], "value", is_target=False)
    if found:
        _rest(source, obs)
    by_name = list(read_words(name).said)
    if shown.casefold() in known.NO_CODES or has_code(value, known.NO_CODES):
        refuses = any(one.resuscitation is Resuscitation.NOT_FOR for one in by_name)
        if refuses or not _ABOUT_CPR.search(name.casefold()):
            source.say("no-plan", "value")
            return
    elif not shown or shown.casefold() in known.YES_CODES or has_code(value, known.YES_CODES):
        found = found or by_name
    elif shown.casefold() not in _NO_ANSWER:
        # "Ceiling of care: HDU": the answer is one by its question.
        found = found or list(read_words(f"{name}: {shown}").said)
    source.keep(found)
    if not found:
        source.say("decision-not-read", "value")
        source.unread(_as_sent(obs, name))


def _rest(source: PlanSource, obs: Observation) -> None:
    """Name what a plan says beside the decisions that were read out of it: it was decided with them."""
    text = obs.valueString or ""
    if not read_words(text).undecided and (rest := not_read_in(text)):
        source.keep([Said(kind=DirectiveKind.UNREAD, text=one_line(rest[:_LONGEST_REST]))])


def _as_sent(obs: Observation, otherwise: str) -> str:
    """Return the name and the answer as they were sent; what it is where it has no words for a name."""
    return ": ".join(filter(None, (words_of(obs.code) or otherwise, shown_value(obs))))


def _texts(source: PlanSource, obs: Observation) -> list[str]:
    """Return the words of a value; none is written down."""
    texts = [text for text in (obs.valueString or "", *texts_of(obs.valueCodeableConcept)) if text.strip()]
    if not texts:
        source.say("no-decision-value", "value")
    return texts


#: By the name a decision has in the table of observation codes.
_READERS = {
    "resuscitation": _resuscitation,
    "advance directive": _advance_directive,
    "SpO2 scale": _scale,
    "oxygen target": _oxygen_target,
    "treatment ceiling": _ceiling,
    "treatment plan": _plan,
}
