"""Takes one resource in, as a request would, and shows what came of it."""

import json
from collections.abc import Callable
from typing import Any, NamedTuple

from weatherglass.fhir.decoding import decode
from weatherglass.fhir.issues import Issue, IssueKey
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.model.record.care import Directive
from weatherglass.model.sources import Origin

PATIENT = "Patient/tarn"
SNOMED = "http://snomed.info/sct"
LOINC = "http://loinc.org"


class Taken(NamedTuple):
    """What one resource, or several, became."""

    data: PatientData
    issues: list[Issue]
    unused: list[str]

    @property
    def keys(self) -> list[IssueKey]:
        """The keys of the issues, in order."""
        return [issue.key for issue in self.issues]

    @property
    def directive(self) -> Directive:
        """The only directive."""
        (only,) = self.data.directives
        return only


def take(
    reader: Callable[..., None],
    into: type[Any],
    *resources: dict[str, Any],
    settle: Callable[[Collector], None] | None = None,
) -> Taken:
    """Take in resources of one type; a subject is added where none is given."""
    collector = Collector()
    for index, resource in enumerate(resources):
        whole = {"subject": {"reference": PATIENT}, "patient": {"reference": PATIENT}, **resource}
        struct = decode(json.dumps(whole).encode(), into)
        name = Origin(f"{into.__name__}/{index}")
        reader(collector, struct, SentEntry("Bundle", index), name)
    if settle is not None:
        settle(collector)
    data = collector.patients.get(PATIENT, PatientData(key=PATIENT))
    return Taken(data, collector.issues, sorted(collector.unused_types))


def coded(code: str, system: str = SNOMED, text: str = "") -> dict[str, Any]:
    """A concept with one code."""
    concept: dict[str, Any] = {"coding": [{"system": system, "code": code}]}
    return {**concept, "text": text} if text else concept


def percent(low: str, high: str) -> dict[str, Any]:
    """A range in percent."""
    ends = {}
    for end, number in (("low", low), ("high", high)):
        ends[end] = {"value": float(number), "code": "%", "system": "http://unitsofmeasure.org"}
    return ends
