"""What a summary sends where it has nothing: "no known medications", "no information about problems".

HL7 International Patient Summary, code system absent-unknown-uv-ips: a section must have an entry, so that
an entry says that none is known, or that nobody knows. Neither is a medicine, a problem or an operation.
That no allergy is known is an answer, and read as one.
"""

from collections.abc import Iterable

from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry

_SYSTEM = "absent-unknown-uv-ips"
_NONE, _NOTHING = "no-known-", "no-"


def says_nothing(collector: Collector, entry: SentEntry, concepts: Iterable[CodeableConcept | None]) -> bool:
    """Tell whether a resource stands for having nothing, and write down what it says.

    Args:
        collector: Where issues go.
        entry: The resource.
        concepts: What it is about.
    """
    if _SYSTEM.encode() not in bytes(entry.raw):
        return False
    codings = (coding for one in concepts if one is not None for coding in one.coding)
    codes = [coding.code or "" for coding in codings if (coding.system or "").rstrip("/").endswith(_SYSTEM)]
    said = next((code for code in codes if code.startswith(_NOTHING)), "")
    is_none = said.startswith(_NONE)
    if not said or (is_none and entry.kind == "AllergyIntolerance"):
        return False
    collector.note(
        Severity.INFORMATION,
        IssueKey.RESOURCE_NOT_USED,
        entry.path,
        "Says that none is known; it stands for no entry."
        if is_none
        else "Says that nothing is known about this; it stands for no entry.",
    )
    return True
