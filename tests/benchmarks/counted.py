"""Do things so many times between marks: what `instructions` counts under valgrind, in one process.

A mark is a call of `getloadavg`, which nothing else here makes and valgrind can be told to look for.
"""

import os
from collections.abc import Callable, Iterator, Mapping
from functools import partial

import orjson

from tests.benchmarks.records import record
from weatherglass.cds_hooks.answer import OF_DRAFTS
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.writing.bundle import encode_collection
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.memory import settle
from weatherglass.model.findings import Finding
from weatherglass.pipeline import DEFAULT_CHOICES, review
from weatherglass.review.assess import bedside_at
from weatherglass.review.questions import QUESTIONS
from weatherglass.review.selection import Selection
from weatherglass.review.synthesis import synthesise
from weatherglass.stamp import stamp

TIMES = 4
_WARM = 2


def _whole(observations: int, detail: Detail = Detail.FULL, *asked: str) -> int:
    only = Selection(frozenset(asked)) if asked else None
    return len(review(record(observations), only=only).collection(stamp(), detail=detail))


def _parsed(observations: int) -> object:
    return orjson.loads(record(observations))


def _of_drafts(observations: int) -> int:
    return len(review(record(observations), only=OF_DRAFTS).reviews)


_SIZES = (60, 1_000)
#: What is counted, by name.
SUBJECTS: Mapping[str, Callable[[], object]] = {
    **{f"orjson.loads, {size:,} Observations": partial(_parsed, size) for size in _SIZES},
    **{f"whole review, {size:,} Observations": partial(_whole, size) for size in _SIZES},
    "brief, 60 Observations": partial(_whole, 60, Detail.BRIEF),
    "one question asked, 60 Observations": partial(_whole, 60, Detail.FULL, "news2"),
    "what a draft can raise, 60 Observations": partial(_of_drafts, 60),
}


def stages() -> Iterator[str]:
    """Go through one review and yield the name of each stage once it is done."""
    reading = read_bytes(record(60))
    yield "read"
    _, patient = next(iter(reading.records))
    assert patient.newest is not None
    bedside = bedside_at(patient, patient.newest, DEFAULT_CHOICES)
    found: list[Finding] = []
    for each in QUESTIONS:
        found += each.ask(bedside)
        yield f"ask {each.ask.__name__.removeprefix('assess_').replace('_', ' ')}"
    reviewed = synthesise(bedside, tuple(found))
    yield "synthesise"
    encode_collection((reviewed,), reading.issues, stamp())
    yield "write and encode"


def main() -> None:
    """Do everything, a mark before and after each."""
    settle()  # As the server and the batch workers do; it holds for the yardsticks of the same process too.
    for subject in SUBJECTS.values():
        for _ in range(_WARM):
            subject()
        os.getloadavg()
        for _ in range(TIMES):
            subject()
        os.getloadavg()
    list(stages())
    os.getloadavg()
    for _ in stages():
        os.getloadavg()


if __name__ == "__main__":
    main()
