"""Rules of FHIR R4 that none of the outside validators checks, as plain functions over parsed JSON.

Each function takes a resource as parsed from JSON and yields `(where, text)`.
What the outside validators do check is left to them.
"""

import json
import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

_TYPE_AND_ID = re.compile(r"^[A-Z][A-Za-z]+/[A-Za-z0-9\-.]{1,64}(/_history/[A-Za-z0-9\-.]{1,64})?$")
_RESTFUL = re.compile(r"^(https?://.+/)[A-Z][A-Za-z]+/[A-Za-z0-9\-.]{1,64}$")
_HOLD = (dict, list)
#: Control characters but tab and line ends, and halves of characters.
_STRAY = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff]")

Json = Any
Found = Iterator[tuple[str, str]]

#: What a document's Composition refers to directly must travel with it
#: (FHIR R4, documents.html, "Content", from memory).
_TRAVELS_WITH_A_DOCUMENT = re.compile(
    r"^(subject|encounter|author\[\d+\]|attester\[\d+\]\.party|custodian|event\[\d+\]\.detail\[\d+\]"
    r"|(section\[\d+\]\.)+(author\[\d+\]|focus|entry\[\d+\]))$"
)


def parse_strictly(text: str) -> tuple[Json, list[str]]:
    """Parse JSON, and say where Python is more lenient than the JSON that FHIR asks for."""
    complaints: list[str] = []

    def without_duplicates(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
        counted = Counter(name for name, _ in pairs)
        complaints.extend(f"the name {name!r} occurs {n} times" for name, n in counted.items() if n > 1)
        return dict(pairs)

    def no_constant(name: str) -> None:
        complaints.append(f"{name} is not JSON")

    parsed = json.loads(text, object_pairs_hook=without_duplicates, parse_constant=no_constant)
    return parsed, complaints


def walk(value: Json, path: str = "") -> Iterator[tuple[str, dict[str, Json]]]:
    """Yield every object with its path, outermost first."""
    waiting = [(path, value)] if isinstance(value, _HOLD) else []
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict):
            yield path, value
            dot = f"{path}." if path else ""
            held = [(f"{dot}{name}", item) for name, item in value.items() if isinstance(item, _HOLD)]
        else:
            held = [(f"{path}[{index}]", item) for index, item in enumerate(value) if isinstance(item, _HOLD)]
        waiting.extend(reversed(held))


def nothing_is_empty(resource: Json) -> Found:
    """FHIR R4 json.html: no null, no empty string, array or object, no stray control characters."""
    for path, value in walk(resource):
        if not value:
            yield path, "an empty object"
        for name, item in value.items():
            twin = name[1:] if name.startswith("_") else f"_{name}"
            padded = isinstance(value.get(twin), list)
            yield from _emptiness(item, f"{path}.{name}" if path else name, nulls_allowed=padded)


def _emptiness(item: Json, path: str, *, nulls_allowed: bool) -> Found:
    if item is None:
        if not nulls_allowed:
            yield path, "a null"
    elif isinstance(item, str):
        if not item.strip():
            yield path, "an empty string"
        if _STRAY.search(item):
            yield path, "a control character or half a character"
    elif isinstance(item, list):
        if not item:
            yield path, "an empty array"
        if nulls_allowed and item and all(entry is None for entry in item):
            yield path, "an array of nothing but nulls"
        for index, entry in enumerate(item):
            if not isinstance(entry, dict):
                yield from _emptiness(entry, f"{path}[{index}]", nulls_allowed=nulls_allowed)


def units_have_a_system(resource: Json) -> Found:
    """FHIR R4 qty-3: a unit code needs the system that it comes from."""
    for path, value in walk(resource):
        looks_like_a_quantity = "value" in value or "comparator" in value
        if looks_like_a_quantity and "code" in value and not value.get("system"):
            yield path, f"qty-3: the unit code {value['code']!r} has no system"


def components_do_not_repeat_the_code(resource: Json) -> Found:
    """FHIR R4 obs-7: no value where a component has the code of the Observation itself."""
    for path, value in walk(resource):
        if value.get("resourceType") != "Observation" or not any(n.startswith("value") for n in value):
            continue
        own = _codings(value.get("code"))
        if any(own & _codings(part.get("code")) for part in value.get("component", ())):
            yield path, "obs-7: a component repeats the code of the Observation, which has a value"


def _codings(concept: Json) -> set[tuple[str, str]]:
    codings = concept.get("coding", ()) if isinstance(concept, dict) else ()
    return {(coding.get("system", ""), coding["code"]) for coding in codings if "code" in coding}


def references_lead_somewhere(resource: Json) -> Found:
    """Every reference has a legal shape, and what it promises to be in the Bundle is there."""
    for path, reference in _references(resource):
        if not _has_a_legal_shape(reference):
            yield path, f"{reference!r} is no legal reference"
    yield from _contained_resources(resource)
    for path, value in walk(resource):
        if value.get("resourceType") == "Bundle":
            yield from _inside_a_bundle(value, path)


def _references(value: Json) -> Found:
    """Yield every reference; the `reference` of a resource itself is the address of a publication."""
    for path, item in walk(value):
        if isinstance(item.get("reference"), str) and "resourceType" not in item:
            yield path, item["reference"]


def _has_a_legal_shape(reference: str) -> bool:
    return reference.startswith(("#", "urn:uuid:", "urn:oid:", "http://", "https://")) or bool(
        _TYPE_AND_ID.match(reference)
    )


def _contained_resources(resource: Json) -> Found:
    """dom-3 and its reverse: what is contained is used, and what is used is contained."""
    for path, value in walk(resource):
        if "resourceType" not in value or ".contained[" in f".{path}":
            continue
        own = {name: item for name, item in value.items() if name not in {"entry", "parameter"}}
        used = {reference for _, reference in _references(own) if reference.startswith("#")}
        ids = {f"#{part.get('id')}" for part in value.get("contained", ())}
        for missing in sorted(used - ids - {"#"}):
            yield path, f"{missing!r} is not contained"
        for unused in sorted(ids - used):
            yield path, f"contained {unused!r} is never referred to"


def _inside_a_bundle(bundle: dict[str, Json], path: str) -> Found:
    entries = [entry for entry in bundle.get("entry", ()) if isinstance(entry, dict)]
    counted = Counter(entry["fullUrl"] for entry in entries if "fullUrl" in entry)
    if bundle.get("type") != "history":
        for address, times in counted.items():
            if times > 1:
                yield path, f"bdl-7: fullUrl {address!r} occurs {times} times"
    for index, entry in enumerate(entries):
        here = f"{path}.entry[{index}]" if path else f"entry[{index}]"
        for where, reference in _references(entry.get("resource")):
            must_be_here = reference.startswith("urn:uuid:") or (
                bundle.get("type") == "document" and index == 0 and _TRAVELS_WITH_A_DOCUMENT.match(where)
            )
            if must_be_here and _absolute(reference, entry.get("fullUrl", "")) not in counted:
                yield f"{here}.resource.{where}", f"{reference!r} is not in the Bundle"


def _absolute(reference: str, full_url: str) -> str:
    """Resolve a relative reference as FHIR R4 bundle.html says: on the base of its own entry."""
    base = _RESTFUL.match(full_url)
    return base.group(1) + reference if base and _TYPE_AND_ID.match(reference) else reference
