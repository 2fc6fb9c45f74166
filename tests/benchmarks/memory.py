"""Row 9: how much memory an answer about many patients in one Bundle takes, beside the body.

Each way runs in a process of its own, so that the highest mark is its own.
"""

import json
import multiprocessing
import resource
from collections.abc import Callable

from tests.benchmarks.table import Row
from tests.fuzzing.mutations import records
from weatherglass.fhir.reading.bundle import items_of, read_items
from weatherglass.fhir.writing.bundle import encode, encode_collection, write_collection
from weatherglass.pipeline import review_each
from weatherglass.stamp import stamp


def many(patients: int) -> bytes:
    """Return one Bundle of the demo ward over and over, each time as other people."""
    entries: list[bytes] = []
    ward = records()
    for number in range(patients):
        for entry in json.loads(ward[number % len(ward)])["entry"]:
            text = json.dumps(entry["resource"]).replace('"id": "', f'"id": "n{number}-')
            for kind in ("Patient", "Encounter", "Location", "Medication", "Practitioner"):
                text = text.replace(f'"{kind}/', f'"{kind}/n{number}-')
            entries.append(b'{"resource":%s}' % text.encode())
    return b'{"resourceType":"Bundle","type":"collection","entry":[%s]}' % b",".join(entries)


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def _as_one(body: bytes) -> int:
    reading = read_items(items_of(body))
    issues = list(reading.issues)
    return len(encode_collection(review_each(reading, issues), issues, stamp()))


def _all_at_once(body: bytes) -> int:
    reading = read_items(items_of(body))
    issues = list(reading.issues)
    reviews = tuple(review_each(reading, issues))
    return len(encode(write_collection(reviews, issues, stamp())))


def _reading(body: bytes) -> int:
    return read_items(items_of(body)).counted


_PATIENTS = 1000
_MOST = 5
_WAYS: dict[str, Callable[[bytes], int]] = {
    "read": _reading,
    "patient by patient": _as_one,
    "all at once": _all_at_once,
}


def _measure(way: str) -> tuple[int, int, float]:
    """Return the bytes in and out, and how much higher the mark went."""
    _as_one(many(5))
    body = many(_PATIENTS)
    before = _peak()
    size = _WAYS[way](body)
    return len(body), size, _peak() - before


def rows() -> list[Row]:
    """Measure each way; a server answers patient by patient."""
    context = multiprocessing.get_context("spawn")
    found = []
    for way in _WAYS:
        with context.Pool(1) as alone:
            given, _, more = alone.apply(_measure, (way,))
        is_served = way == "patient by patient"
        found.append(
            Row(
                subject=f"{_PATIENTS:,} patients in one Bundle, {way}",
                ours=f"{more / 1e6:.0f} MB",
                yardstick=f"input {given / 1e6:.0f} MB",
                ratio=more / given,
                goal=f"at most {_MOST} times" if is_served else "",
                met=more / given <= _MOST if is_served else None,
            )
        )
    return found
