"""One answer as NDJSON: one resource a line, patient by patient.

A line has no fullUrl, so each resource gets the UUID of its name as its id: a reference
"urn:uuid:X" inside the answer leads to the line whose id is X.
"""

from collections.abc import Iterable, Iterator

from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.frame.terms import Json


def lines_of(entries: Iterable[Json]) -> Iterator[bytes]:
    """Write entries as lines, each ending in a newline."""
    for each in entries:
        resource = each["resource"]
        named = {"resourceType": resource["resourceType"], "id": each["fullUrl"].removeprefix("urn:uuid:")}
        yield encode({**named, **resource}) + b"\n"
