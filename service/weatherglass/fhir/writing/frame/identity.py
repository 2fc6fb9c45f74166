"""Names that do not change when the same input is reviewed again.

Every result is named by a version 5 UUID over what it rests on: the patient, the
rule and its edition, the time, and the inputs. The same input gives the same name
on any machine, so that writing results back twice changes nothing.
"""

from collections.abc import Iterable
from uuid import NAMESPACE_URL, uuid5


def uuid_of(*parts: str) -> str:
    """Return the UUID of a list of parts.

    Examples:
        >>> uuid_of("Patient/p1", "news2") == uuid_of("Patient/p1", "news2")
        True
        >>> uuid_of("a", "bc") == uuid_of("ab", "c")
        False
    """
    return str(uuid5(NAMESPACE_URL, "\x1f".join(parts)))


def finding_uuid(patient: str, kind: str, key: str, edition: str, at: str, inputs: Iterable[str]) -> str:
    """Return the UUID of one finding; the order of its inputs does not matter."""
    return uuid_of(patient, kind, key, edition, at, *sorted(inputs))
