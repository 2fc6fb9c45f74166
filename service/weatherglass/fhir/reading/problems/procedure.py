"""Procedures: done things that rules read."""

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Period
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import is_modified, say_status
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.problems.concept_words import text_of, texts_of, united
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.sources import Origin
from weatherglass.terminology import procedures as procedure_codes
from weatherglass.terminology.observations import SNOMED, system_meant

#: A stopped procedure had begun: contrast was given, dialysis was run.
_USED = frozenset({"completed", "in-progress", "stopped"})
_KNOWN = _USED | {"preparation", "not-done", "on-hold", "entered-in-error", "unknown"}


def read_procedure(collector: Collector, procedure: r4.Procedure, entry: SentEntry, origin: Origin) -> None:
    """Take in one Procedure, or write down why not."""
    data = collector.data_for(procedure.subject, entry, "subject")
    if data is None:
        return
    if is_modified(collector, procedure, entry.path, data.key):
        return
    kinds = procedure_kinds(procedure.code)
    planned = procedure.status == "preparation" and ProcedureKind.CONTRAST_IMAGING in kinds
    if procedure.status not in _USED and not planned:
        known = procedure.status in _KNOWN
        say_status(collector, f"{entry.path}.status", "a Procedure", is_known=known, patient=data.key)
        return
    text = text_of(procedure.code)
    if not text and not kinds:
        collector.say("procedure-unnamed", f"{entry.path}.code", data.key)
        return
    period = procedure.performedPeriod or Period(start=procedure.performedDateTime)
    at, ended = collector.period(period)
    if at is None and kinds and not planned:
        collector.say("procedure-without-time", f"{entry.path}.performedDateTime", data.key)
    data.procedures.append(
        Procedure(
            origin=origin,
            text=text,
            kinds=kinds,
            at=at,
            ended=ended,
            requested=planned,
            ongoing=procedure.status == "in-progress" and ended is None,
        )
    )


def procedure_kinds(concept: CodeableConcept | None) -> frozenset[ProcedureKind]:
    """Return what a procedure or order is: by its codes, else by its words."""
    if concept is None:
        return frozenset()
    found = united(
        procedure_codes.kinds_of_code(system, coding.code or "", snomed=system_meant(system) == SNOMED)
        for coding in concept.coding
        for system in (coding.system or "",)
    )
    if found is not None:
        return found
    return frozenset[ProcedureKind]().union(*map(procedure_codes.kinds_in_words, texts_of(concept)))
