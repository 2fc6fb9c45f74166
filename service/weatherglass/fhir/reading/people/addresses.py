"""Addresses of resources, taken apart: which server, and which resource on it."""

from urllib.parse import unquote

from weatherglass.fhir.datatypes import Identifier

_BY_IDENTIFIER = "Patient?identifier="


def unversioned(name: str) -> str:
    """Return a reference without the version it may name."""
    return name.split("/_history/", 1)[0]


def short_name(reference: str) -> str:
    """Return kind and id that a reference ends in, whatever server or version it names.

    Examples:
        >>> short_name("https://ward.example/fhir/Location/ward-1/_history/2"), short_name("urn:oid:1.2.3")
        ('Location/ward-1', 'urn:oid:1.2.3')
    """
    return "/".join(unversioned(reference).split("/")[-2:])


def patient_name(name: str) -> str:
    """Return the name of a patient without the server; a `urn:` whole; empty when it is no patient's."""
    if name.startswith(("urn:uuid:", "urn:oid:")):
        return name
    kind, _, tail = name.rpartition("/")
    kind = kind.rpartition("/")[2] or kind
    if name.startswith("#") or "?" in name or not tail or (kind and kind != "Patient"):
        return ""
    return f"Patient/{tail}"


def split_address(name: str) -> tuple[str, str]:
    """Return the server that an address names, and the short name of the resource on it.

    The server is empty when none is named. `http` and `https` are one server.

    Examples:
        >>> split_address("https://ward.example/fhir/Patient/p1/_history/3")
        ('ward.example/fhir', 'Patient/p1')
        >>> split_address("Patient/p1"), split_address("urn:oid:1.2.3")
        (('', 'Patient/p1'), ('', 'urn:oid:1.2.3'))
    """
    name = unversioned(name)
    scheme, separator, rest = name.partition("://")
    parts = rest.rsplit("/", 2)
    if not separator or len(parts) < 3:
        return "", name
    server = parts[0] if scheme in ("http", "https") else f"{scheme}://{parts[0]}"
    return server, f"{parts[1]}/{parts[2]}"


def server_of(full_url: str | None) -> str:
    """Return the server that the address of an entry names; empty when it names none."""
    return split_address(full_url)[0] if full_url else ""


def identifier_asked(reference: str) -> Identifier | None:
    """Return the identifier by which a conditional reference looks a patient up (FHIR R4, http.html#trules).

    Examples:
        >>> identifier_asked("Patient?identifier=urn:x%7C7").value, identifier_asked("Patient?name=Quill")
        ('7', None)
    """
    if not reference.startswith(_BY_IDENTIFIER) or "&" in reference:
        return None
    system, bar, value = unquote(reference.removeprefix(_BY_IDENTIFIER)).partition("|")
    return Identifier(system=system, value=value) if bar else Identifier(value=system)
