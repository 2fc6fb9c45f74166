"""What keeps a resource from being used whatever it says: a modifier, or a status that does not count.

FHIR R4, `extensibility.html#modifierExtension` and `resource.html#implicitRules`: whoever does not
know a modifier may not use what it stands in. None is known here, so every reader asks this gate.
"""

from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import Resource
from weatherglass.fhir.reading.collector import Collector
from weatherglass.model.words.lists import capital

MODIFIED = "A modifier extension or implicit rules may change the meaning"


def has_modifier(resource: Resource) -> bool:
    """Tell whether something may change what the resource means."""
    return bool(resource.modifierExtension or resource.implicitRules)


def is_modified(collector: Collector, resource: Resource, path: str, patient: str = "") -> bool:
    """Tell whether a modifier keeps a resource from being used, and write it down."""
    if not has_modifier(resource):
        return False
    collector.note(Severity.WARNING, IssueKey.MODIFIER, path, f"{MODIFIED}; not used.", patient)
    return True


def say_status(collector: Collector, path: str, what: str, *, is_known: bool, patient: str = "") -> None:
    """Write down that a resource is not used because of its status.

    Args:
        collector: Where issues go.
        path: The element that holds the status.
        what: What the resource is, as it stands inside a sentence: "a Procedure".
        is_known: Whether FHIR has such a status.
        patient: Whose it is, where that is known.
    """
    text = f"{capital(what)} with this status" if is_known else f"Not a status of {what}"
    severity = Severity.INFORMATION if is_known else Severity.ERROR
    key = IssueKey.NOT_FINAL if is_known else IssueKey.WRONG_TYPE
    collector.note(severity, key, path, f"{text}{' is not used.' if is_known else '; not used.'}", patient)
