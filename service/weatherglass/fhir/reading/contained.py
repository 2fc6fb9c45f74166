"""Data that stands inside a resource which no rule needs, such as a medicine in a report.

Contained resources are not read, but for the results in a report or in another result: nothing outside
can refer to them, and who they are about is left to the resource around them. Where data are lost by it,
that is said.
"""

from collections.abc import Set as AbstractSet

import msgspec
from msgspec import Struct

from weatherglass.fhir.containers import Named
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry

#: Types whose loss is a loss of data.
DATA = frozenset(
    """Observation Condition MedicationRequest MedicationStatement MedicationAdministration
    Procedure AllergyIntolerance""".split()
)


class _Container(Struct, gc=False):
    contained: tuple[Named, ...] = ()


_container = msgspec.json.Decoder(_Container).decode


def say_contained(collector: Collector, entry: SentEntry, *, but: AbstractSet[str] = frozenset()) -> None:
    """Write down that a resource which is not used has data inside it; `but` names types that are read."""
    if b'"contained"' not in entry.raw:
        return
    try:
        inside = _container(entry.raw).contained
    except UNREADABLE:
        return  # What is not readable is said where it matters.
    lost = sum(one.resourceType in DATA - but for one in inside)
    if lost:
        collector.say("contained-not-read", f"{entry.path}.contained", number=lost)
