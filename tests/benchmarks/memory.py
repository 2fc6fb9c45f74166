"""How much memory an answer about many patients takes, beside the body: `python -m tests.benchmarks.memory`.

Runs each way in a process of its own, so that the highest mark is its own.
"""

import argparse
import json
import multiprocessing
import resource
from collections.abc import Callable

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


def _measure(way: str, patients: int) -> None:
    ways: dict[str, Callable[[bytes], int]] = {
        "read": _reading,
        "patient by patient": _as_one,
        "all at once": _all_at_once,
    }
    _as_one(many(5))
    body = many(patients)
    before = _peak()
    size = ways[way](body)
    more = _peak() - before
    print(
        f"{patients} patients, {len(body) / 1e6:.1f} MB in, {way}: {size} out or read, "
        f"{more / 1e6:.0f} MB more, {more / len(body):.1f} times the body"
    )


def main() -> None:
    """Measure each way."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--patients", type=int, default=1000)
    chosen = parser.parse_args()
    context = multiprocessing.get_context("spawn")
    for way in ("read", "patient by patient", "all at once"):
        process = context.Process(target=_measure, args=(way, chosen.patients))
        process.start()
        process.join()


if __name__ == "__main__":
    main()
