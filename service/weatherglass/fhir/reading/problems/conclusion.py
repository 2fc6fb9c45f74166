"""What a report concludes: that it is there is said, and an emergency among its codes is a problem of then.

A conclusion in words is read by nobody here: half of a sentence about a scan can say its contrary. It stands
between a quiet review and "nothing urgent found".
"""

from msgspec import Raw, Struct

from weatherglass.fhir import r4
from weatherglass.fhir.r4 import UNREADABLE, CodeableConcept, Meta, Period, Reference
from weatherglass.fhir.reading.collector import Collector, SentEntry
from weatherglass.fhir.reading.gate import has_modifier
from weatherglass.fhir.reading.observations.sent_values import name_of
from weatherglass.fhir.reading.problems.concept_words import text_of
from weatherglass.fhir.reading.problems.problem_words import said_of
from weatherglass.fhir.times import Precision
from weatherglass.knowledge.limits.acute_problems import EMERGENCIES
from weatherglass.model.record import Condition, SentValue
from weatherglass.model.sources import Origin

#: FHIR R4 value set diagnostic-report-status: a report that was taken back concludes nothing.
_SURE = frozenset({"final", "amended", "corrected", "appended"})
_COUNTS = _SURE | {"partial", "preliminary"}


class _Report(Struct, gc=False):
    """A report, as far as its conclusion needs it."""

    status: str = ""
    meta: Meta | None = None
    implicitRules: str | None = None
    modifierExtension: Raw = Raw()
    code: CodeableConcept | None = None
    subject: Reference | None = None
    effectiveDateTime: str | None = None
    effectivePeriod: Period | None = None
    issued: str | None = None
    conclusion: str = ""
    conclusionCode: tuple[CodeableConcept, ...] = ()


def read_conclusion(collector: Collector, entry: SentEntry, origin: Origin) -> None:
    """Keep that a report concludes something, and take the emergencies that its codes name."""
    if b'"conclusion' not in bytes(entry.raw):
        return
    try:
        report = r4.decode(entry.raw, _Report)
    except UNREADABLE:
        return  # Its type is named as not read; nothing of it can be.
    if (
        report.status not in _COUNTS
        or has_modifier(report)
        or not (report.conclusion or report.conclusionCode)
    ):
        return
    period = report.effectivePeriod
    at = report.effectiveDateTime or report.issued or (period and (period.end or period.start))
    when = collector.when(at) if at else None
    data = collector.whose(report.subject, entry)
    if data is None or when is None or when.precision < Precision.DAY:
        return
    data.saw(when)
    name = name_of(report.code or CodeableConcept())
    data.keep_sent(SentValue(name=name, shown="report", at=when.at, origin=origin))
    for concept in report.conclusionCode:
        words = said_of((concept,))
        kinds = words.kinds & EMERGENCIES
        if kinds and not words.past:
            data.conditions.append(
                Condition(
                    origin=origin,
                    text=text_of(concept),
                    kinds=kinds,
                    began=when.at,
                    has_onset=True,  # Somebody has just seen it.
                    confirmed=report.status in _SURE and not words.asked,
                )
            )
