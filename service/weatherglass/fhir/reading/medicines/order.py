"""Orders other than medicines: decisions, oxygen targets, contrast imaging and dialysis."""

from weatherglass.fhir.datatypes import CodeableConcept, Period
from weatherglass.fhir.r4 import ServiceRequest
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.observations.sent_values import name_of
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.plan_source import (
    PlanSource,
    answers,
    for_cpr,
    is_oxygen,
    names_cpr,
    open_source,
    speaks,
    touches,
    who,
)
from weatherglass.fhir.reading.plans.plan_words import Said, read_words
from weatherglass.fhir.reading.problems.concept_words import text_of, texts_of
from weatherglass.fhir.reading.problems.problem_words import said_of
from weatherglass.fhir.reading.problems.procedure import procedure_kinds
from weatherglass.fhir.reading.problems.statements import AT_ONCE
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.record.care import DirectiveKind, Procedure, ProcedureKind, Resuscitation
from weatherglass.model.record.problems import INFECTED, ConditionKind, Reason
from weatherglass.model.record.values import SentValue
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import small
from weatherglass.terminology.observations import LOINC, system_meant
from weatherglass.terminology.procedures import is_because_of_one

_READ_KINDS = frozenset(
    {ProcedureKind.CONTRAST_IMAGING, ProcedureKind.RENAL_REPLACEMENT, ProcedureKind.FASTING}
)
#: Read where it is asked for itself, and not because of another.
_WHEN_ASKED_FOR = frozenset(
    {
        ProcedureKind.SURGERY,
        ProcedureKind.NEURAXIAL,
        ProcedureKind.NEURAXIAL_REMOVAL,
        ProcedureKind.DEEP_PUNCTURE,
    }
)
_ORDERS = ("plan", "directive", "order", "original-order", "reflex-order", "filler-order", "instance-order")
_NO_ORDERS = ("proposal", "option")


def read_service_request(
    collector: Collector, request: ServiceRequest, entry: SentEntry, origin: Origin
) -> None:
    """Take in one ServiceRequest, or write down why not."""
    data = collector.data_for(request.subject, entry, "subject")
    if data is None:
        return
    _keep_if_at_once(collector, data, request, origin)
    kinds = _kinds(request)
    forbids = bool(request.doNotPerform)
    decides = limits_when_forbidden(request.code) if forbids else _decides(request)
    reason = _reason(collector, request, origin)
    if reason is not None:
        data.reasons.append(reason)
    if not kinds and not decides:
        if reason is not None:
            return
        collector.unused_types.setdefault("ServiceRequest", []).append(entry)
        return
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=request.authoredOn,
        period=request.occurrencePeriod,
        recorded_by=who(request.requester),
    )
    if source.is_modified(request):
        return
    if kinds and not forbids:
        _keep_order(source, request, kinds)
    elif kinds and not decides:
        source.say("order-not-to", "doNotPerform")
    if decides and _is_in_force(source, request):
        source.keep(forbidden(source, request.code, "", "code") if forbids else _decided(source, request))


def _keep_if_at_once(
    collector: Collector, data: PatientData, request: ServiceRequest, origin: Origin
) -> None:
    """Keep that something is to be done at once and is still open; a laboratory test speaks by its result."""
    is_open = request.status == "active" and request.intent in _ORDERS and not request.doNotPerform
    if request.priority not in AT_ONCE or not is_open or has_modifier(request) or request.code is None:
        return
    when = collector.dated(request.authoredOn)
    if when is None:
        return
    if any(system_meant(coding.system or "") == LOINC for coding in request.code.coding):
        return
    shown = "order to be done at once"
    data.keep_sent(SentValue(name=name_of(request.code), shown=shown, at=when.at, origin=origin))


def _kinds(request: ServiceRequest) -> frozenset[ProcedureKind]:
    """Return what is asked for, as far as a rule reads it; an operation only where it is asked for itself."""
    found = procedure_kinds(request.code)
    is_asked_for = request.status == "active" and not is_because_of_one(text_of(request.code))
    return found & (_READ_KINDS | _WHEN_ASKED_FOR if is_asked_for else _READ_KINDS)


#: What says of which cause it is, and whether bacteria are there.
_OF_INFECTION = INFECTED | {
    ConditionKind.BACTERIAL_INFECTION,
    ConditionKind.BACTERIAL_MENINGITIS,
    ConditionKind.ENCEPHALITIS,
    ConditionKind.FUNGAL_INFECTION,
    ConditionKind.MALARIA,
    ConditionKind.TUBERCULOSIS,
    ConditionKind.VIRAL_INFECTION,
}


def _reason(collector: Collector, request: ServiceRequest, origin: Origin) -> Reason | None:
    """Return the infection that something was asked for because of; None when there is none."""
    if request.status not in ("active", "on-hold", "completed") or request.doNotPerform:
        return None
    if request.intent not in _ORDERS or has_modifier(request):
        return None
    written = collector.begins(request.authoredOn)
    words = said_of(request.reasonCode, request.reasonReference, written)
    if not words.kinds & INFECTED:
        return None
    texts = [text_of(one) for one in request.reasonCode] + [r.display or "" for r in request.reasonReference]
    text = one_line(next(filter(None, texts), ""))
    kinds = words.kinds & _OF_INFECTION
    return Reason(origin=origin, text=text, kinds=kinds, at=written, confirmed=not words.asked)


def limits_when_forbidden(concept: CodeableConcept | None, words: str = "") -> bool:
    """Tell whether forbidding this act decides about resuscitation or a ceiling."""
    if names_cpr(concept, words) or answers(concept) or _is_dialysis(concept):
        return True
    texts = [text.strip() for text in (*texts_of(concept), words) if text.strip()]
    return any(touches(text, is_target=False) or read_words(f"not for {text}").said for text in texts)


def forbidden(source: PlanSource, concept: CodeableConcept | None, words: str, element: str) -> list[Said]:
    """Read "do not perform" of an act; of a decision it would be a double negative."""
    texts = [*texts_of(concept), words]
    if answers(concept) or any(touches(text, is_target=False) for text in texts):
        source.undecided(element)
        return []
    if names_cpr(concept, words):
        return [for_cpr(Resuscitation.NOT_FOR)]
    text = words or text_of(concept) or ("renal replacement therapy" if _is_dialysis(concept) else "")
    return [Said(kind=DirectiveKind.CEILING, text=f"not for {small(text)}")] if text else []


def _is_dialysis(concept: CodeableConcept | None) -> bool:
    return ProcedureKind.RENAL_REPLACEMENT in procedure_kinds(concept)


def _concepts(request: ServiceRequest) -> list[CodeableConcept]:
    return [*request.category, *([request.code] if request.code is not None else [])]


def _decides(request: ServiceRequest) -> bool:
    about_oxygen = is_oxygen(request.code)
    if request.quantityRange is not None and about_oxygen:
        return True
    if any(speaks(concept, is_target=about_oxygen) for concept in _concepts(request)):
        return True
    return any(touches(note.text, is_target=about_oxygen) for note in request.note)


def _is_in_force(source: PlanSource, request: ServiceRequest) -> bool:
    others = ("draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown")
    return source.in_force("status", request.status, used=("active",), others=others) and source.in_force(
        "intent", request.intent, used=_ORDERS, others=_NO_ORDERS
    )


def _decided(source: PlanSource, request: ServiceRequest) -> list[Said]:
    about_oxygen = is_oxygen(request.code)
    found: list[Said] = []
    if request.quantityRange is not None and about_oxygen:
        found.extend(source.target(request.quantityRange, "quantityRange"))
    for concept in _concepts(request):
        found.extend(source.in_concept(concept, "code", is_target=about_oxygen))
    notes = [note.text for note in request.note]
    found.extend(source.in_texts(notes, "note", is_target=about_oxygen))
    return found


def _keep_order(source: PlanSource, request: ServiceRequest, kinds: frozenset[ProcedureKind]) -> None:
    """Keep an order for contrast, dialysis, an operation or nothing by mouth.

    A draft for contrast counts, because that is the moment it can still be changed.
    """
    used = ["active", "completed"]
    if ProcedureKind.CONTRAST_IMAGING in kinds:
        used.append("draft")
    others = ("draft", "on-hold", "revoked", "entered-in-error", "unknown")
    if not source.in_force("status", request.status, used=used, others=others):
        return
    intents = (*_ORDERS, "proposal") if ProcedureKind.CONTRAST_IMAGING in kinds else _ORDERS
    if not source.in_force("intent", request.intent, used=intents, others=_NO_ORDERS):
        return
    occurrence = request.occurrencePeriod or Period(start=request.occurrenceDateTime)
    due, ended = source.collector.period(occurrence)
    written = source.collector.begins(request.authoredOn)
    is_done = request.status == "completed"
    source.data.procedures.append(
        Procedure(
            origin=source.origin,
            text=text_of(request.code),
            kinds=kinds,
            # A request counts from when it was written: a date that lies ahead must not hide it.
            at=(due or written) if is_done else (written or due),
            ended=ended if is_done else None,
            requested=not is_done,
            due=due,
        )
    )
