"""Elements that R4 does not have and that other releases of FHIR write the same thing in.

HL7 FHIR, R3 and R5: the differences from R4 that each resource's page lists. What says "this did not
happen" keeps the resource from being used; of the rest it is said that it was not read.
"""

from msgspec import Struct

from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry

_STU3, _R5 = "FHIR STU3", "FHIR R5"
#: By type and element: of which release it is, and what R4 has in its place.
_ELSEWHERE: dict[str, dict[str, tuple[str, str]]] = {
    "Observation": {
        "comment": (_STU3, "note"),
        "related": (_STU3, "hasMember or derivedFrom"),
    },
    "MedicationAdministration": {
        "notGiven": (_STU3, "status not-done"),
        "occurenceDateTime": (_R5, "effectiveDateTime"),
        "occurencePeriod": (_R5, "effectivePeriod"),
        "occurenceTiming": (_R5, "effectivePeriod"),
    },
    "MedicationStatement": {
        "taken": (_STU3, "status"),
        "adherence": (_R5, "status"),
    },
    "Procedure": {
        "notDone": (_STU3, "status not-done"),
        "occurrenceDateTime": (_R5, "performedDateTime"),
        "occurrencePeriod": (_R5, "performedPeriod"),
    },
    "Condition": {"assertedDate": (_STU3, "recordedDate"), "abatementBoolean": (_STU3, "clinicalStatus")},
    "AllergyIntolerance": {"assertedDate": (_STU3, "recordedDate")},
    "Encounter": {
        "actualPeriod": (_R5, "period"),
        "subjectStatus": (_R5, "status"),
        "admission": (_R5, "hospitalization"),
    },
}
#: What each of these says when it says that nothing happened.
_NEGATED: dict[str, frozenset[bytes]] = {
    "notGiven": frozenset({b"true"}),
    "notDone": frozenset({b"true"}),
    "taken": frozenset({b'"n"', b'"unk"', b'"na"'}),
}


def is_denied(collector: Collector, entry: SentEntry, resource: Struct) -> bool:
    """Say which elements of another release a resource has; tell whether one of them denies it."""
    denied = False
    for element, (release, instead) in _ELSEWHERE.get(entry.kind, {}).items():
        written = getattr(resource, element)
        if not written:
            continue
        denies = bytes(written) in _NEGATED.get(element, ())
        denied = denied or denies
        issue = "other-release-denies" if denies else "other-release"
        collector.say(issue, f"{entry.path}.{element}", release=release, instead=instead)
    return denied
