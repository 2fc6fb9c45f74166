"""What was sent ahead, what was found to be empty, and what is missing.

`null` says that the client looked and found nothing. An absent key, an OperationOutcome
or anything else that is no resource says that it did not look, or could not.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from weatherglass.cds_hooks.request import Call
from weatherglass.fhir.containers import Named
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import IssueKey, UnreadableError

_TOKEN = "{{context.patientId}}"  # noqa: S105 - a token of a template.


@dataclass(frozen=True, slots=True)
class Prefetched:
    """What is known of each key.

    Attributes:
        found: Resources and Bundles, undecoded, by key.
        missing: Keys that nobody looked up.
    """

    found: Mapping[str, bytes]
    missing: tuple[str, ...]

    def lacks(self, needed: frozenset[str]) -> tuple[str, ...]:
        """Return the needed keys that nobody looked up."""
        return tuple(key for key in self.missing if key in needed)


def prefetched(call: Call, fetched: Mapping[str, bytes | None] | None = None) -> Prefetched:
    """Sort out what was sent, together with what was fetched since.

    Raises:
        UnreadableError: The patient that was sent is another one.
    """
    found: dict[str, bytes] = {}
    missing: list[str] = []
    sent: dict[str, bytes | None] = {**call.prefetch, **(fetched or {})}
    for key in call.service.prefetch:
        value = sent.get(key)
        if value == b"null" and key != "patient":
            continue
        kind = _kind_of(value)
        if value is None or kind in ("", "OperationOutcome"):
            missing.append(key)
        else:
            found[key] = value
    if "patient" in found:
        _check_patient(found["patient"], call)
    return Prefetched(found, tuple(missing))


def queries(call: Call, keys: tuple[str, ...]) -> dict[str, str]:
    """Return what to ask a FHIR server for, by key."""
    identity = quote(call.patient_id, safe="-.")
    return {key: call.service.prefetch[key].replace(_TOKEN, identity) for key in keys}


def _kind_of(value: bytes | None) -> str:
    if value is None:
        return ""
    try:
        return decode(value, Named).resourceType
    except UNREADABLE:
        return ""


def _check_patient(value: bytes, call: Call) -> None:
    named = decode(value, Named)
    if named.resourceType == "Patient" and named.id == call.patient_id:
        return
    raise UnreadableError.of(
        IssueKey.NOT_THE_PATIENT,
        "The patient that was sent is not the patient of the context.",
        path="prefetch.patient",
    )
