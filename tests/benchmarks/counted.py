"""Do one thing so many times: what `instructions` counts under valgrind, in a process of its own.

python -m tests.benchmarks.counted "whole review, 60 Observations" 3
"""

import sys
from collections.abc import Callable, Mapping
from functools import partial

import orjson

from tests.benchmarks.records import record
from weatherglass.fhir.writing.bundle import Detail
from weatherglass.pipeline import review
from weatherglass.review.selection import Selection
from weatherglass.stamp import stamp


def _whole(observations: int, detail: Detail = Detail.FULL, *asked: str) -> int:
    only = Selection(frozenset(asked)) if asked else None
    return len(review(record(observations), only=only).collection(stamp(), detail=detail))


def _parsed(observations: int) -> object:
    return orjson.loads(record(observations))


#: What is counted, by name.
SUBJECTS: Mapping[str, Callable[[], object]] = {
    **{f"orjson.loads, {size:,} Observations": partial(_parsed, size) for size in (60, 1_000)},
    **{f"whole review, {size:,} Observations": partial(_whole, size) for size in (60, 1_000)},
    "brief, 60 Observations": partial(_whole, 60, Detail.BRIEF),
    "one question asked, 60 Observations": partial(_whole, 60, Detail.FULL, "news2"),
}


def main(name: str, times: str) -> None:
    """Do it."""
    subject = SUBJECTS[name]
    for _ in range(int(times)):
        subject()


if __name__ == "__main__":
    main(*sys.argv[1:])
