"""Names that do not change when the same input is reviewed again.

Every result is named by a version 5 UUID over what it rests on: the patient, the
rule and its edition, the time, and the inputs. The same input gives the same name
on any machine, so that writing results back twice changes nothing.
"""

from collections.abc import Iterable
from hashlib import sha1
from typing import Final
from uuid import NAMESPACE_URL

_NAMESPACE: Final = NAMESPACE_URL.bytes


def uuid_of(*parts: str) -> str:
    """Return the version 5 UUID of a list of parts; as `uuid.uuid5` writes it, in a third of its steps.

    Examples:
        >>> from uuid import uuid5
        >>> uuid_of("a") == str(uuid5(NAMESPACE_URL, "a"))
        True
        >>> uuid_of("Patient/p1", "news2") == uuid_of("Patient/p1", "news2")
        True
        >>> uuid_of("a", "bc") == uuid_of("ab", "c")
        False
    """
    name = sha1(_NAMESPACE + "\x1f".join(parts).encode(), usedforsecurity=False).hexdigest()
    variant = "89ab"[int(name[16], 16) & 3]
    return f"{name[:8]}-{name[8:12]}-5{name[13:16]}-{variant}{name[17:20]}-{name[20:32]}"


def finding_uuid(patient: str, kind: str, key: str, edition: str, at: str, inputs: Iterable[str]) -> str:
    """Return the UUID of one finding; the order of its inputs does not matter."""
    return uuid_of(patient, kind, key, edition, at, *sorted(inputs))
