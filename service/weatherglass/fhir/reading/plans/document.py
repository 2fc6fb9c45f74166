"""Documents that are called a plan: nobody reads them here, and that there is one is said.

"ReSPECT form", "DNACPR form": with one on record resuscitation is not "not recorded".
"""

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Reference
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.plans.plan_source import first_text, open_source
from weatherglass.fhir.reading.plans.plan_words import names_a_plan
from weatherglass.fhir.reading.problems.concept_words import codes_of, texts_of
from weatherglass.model.sources import Origin
from weatherglass.terminology.plans import ADVANCE_DIRECTIVE_CODES


class _Document(r4.Resource, gc=False):
    """A DocumentReference, as far as this needs it."""

    status: str = ""
    type: CodeableConcept | None = None
    category: tuple[CodeableConcept, ...] = ()
    description: str = ""
    subject: Reference | None = None
    date: str | None = None


def keep_document(collector: Collector, entry: SentEntry, origin: Origin) -> None:
    """Keep that a document in force is called a plan or an advance directive."""
    try:
        document = decode(entry.raw, _Document)
    except UNREADABLE:
        return  # Its type is named as not read; nothing of it can be.
    concepts = (document.type, *document.category)
    texts = [text for concept in concepts for text in texts_of(concept)] + [document.description]
    named = [text for text in texts if text and names_a_plan(text)]
    if not named and not codes_of(*concepts) & ADVANCE_DIRECTIVE_CODES:
        return
    data = collector.whose(document.subject, entry) if document.status == "current" else None
    if data is None or has_modifier(document):
        return
    source = open_source(collector, data, entry, origin, recorded=document.date, period=None, recorded_by="")
    source.unread(first_text([*named, *texts]) or "Advance directive")
