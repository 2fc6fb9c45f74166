"""What was handed over for home: it is named as long as it lasts, and is not read as taken.

Nobody knows whether it is swallowed: a rule would hold, or miss, what may lie in a drawer.
"""

from datetime import timedelta
from typing import Final

from msgspec import Struct

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Reference
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.problems.concept_words import text_of
from weatherglass.model.record.values import PutUp
from weatherglass.model.sources import Origin

#: Ours: a supply without its days, or of more than a year, is taken to be one of four weeks.
_USUAL: Final = timedelta(days=28)
_LONGEST_DAYS: Final = 366


class _Days(Struct, gc=False):
    """How many days a supply lasts."""

    value: float | None = None


class _Dispense(r4.Resource, gc=False):
    """A MedicationDispense, as far as this needs it."""

    status: str = ""
    category: CodeableConcept | None = None
    subject: Reference | None = None
    medicationCodeableConcept: CodeableConcept | None = None
    medicationReference: Reference | None = None
    whenHandedOver: str | None = None
    daysSupply: _Days | None = None


def keep_supply(collector: Collector, entry: SentEntry, origin: Origin) -> None:
    """Keep what was handed over for home; what a ward was supplied with is ordered there."""
    try:
        said = decode(entry.raw, _Dispense)
    except UNREADABLE:
        return  # Its type is named as not read; nothing of it can be.
    if said.status != "completed" or _is_of_a_ward(said) or has_modifier(said):
        return
    when = collector.dated(said.whenHandedOver)
    data = collector.whose(said.subject, entry)
    name = _name(said)
    if when is None or data is None or not name:
        return
    ends = when.at + _lasts(said)
    data.put_up.append(PutUp(name=name, shown="", origin=origin, at=when.at, ends=ends, is_supply=True))


def _is_of_a_ward(said: _Dispense) -> bool:
    return said.category is not None and any(one.code == "inpatient" for one in said.category.coding)


def _name(said: _Dispense) -> str:
    reference = said.medicationReference
    return (
        text_of(said.medicationCodeableConcept) or (reference.display if reference is not None else "") or ""
    )


def _lasts(said: _Dispense) -> timedelta:
    days = said.daysSupply.value if said.daysSupply is not None else None
    return timedelta(days=days) if days is not None and 0 < days <= _LONGEST_DAYS else _USUAL
