"""Names that do not change when the same input is reviewed again.

Every result is named by a version 5 UUID over what it rests on: the patient, the
rule and its edition, the time, and the inputs. The same input gives the same name
on any machine, so that writing results back twice changes nothing.
"""

from collections.abc import Iterable
from hashlib import sha1

#: Version 5 UUID of the URL namespace over "urn:weatherglass:finding" (RFC 9562, 5.5).
_NAMESPACE = bytes.fromhex("6ba7b8119dad11d180b400c04fd430c8")


def uuid_of(*parts: str) -> str:
    """Return the UUID of a list of parts.

    Examples:
        >>> uuid_of("Patient/p1", "news2") == uuid_of("Patient/p1", "news2")
        True
        >>> uuid_of("a", "bc") == uuid_of("ab", "c")
        False
    """
    name = "\x1f".join(parts).encode()
    digest = bytearray(sha1(_NAMESPACE + name, usedforsecurity=False).digest()[:16])
    digest[6] = (digest[6] & 0x0F) | 0x50
    digest[8] = (digest[8] & 0x3F) | 0x80
    text = digest.hex()
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


def finding_uuid(patient: str, kind: str, key: str, edition: str, at: str, inputs: Iterable[str]) -> str:
    """Return the UUID of one finding; the order of its inputs does not matter."""
    return uuid_of(patient, kind, key, edition, at, *sorted(inputs))
