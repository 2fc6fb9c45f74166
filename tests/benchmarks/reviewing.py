"""Row 2: the whole review in process (bytes in, FHIR bytes out) against orjson.loads alone."""

from functools import partial

import orjson

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, ratio_row, side_by_side
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

#: Observations of one patient -> the most our whole review may take, in orjson.loads.
GOALS = {60: 22.0, 1_000: 3.8, 10_000: 2.0}


def _whole(body: bytes) -> int:
    return len(review(body).collection(stamp()))


def rows() -> list[Row]:
    """Measure the rows, and how the time grows."""
    found: list[Row] = []
    taken: dict[int, float] = {}
    for size, goal in GOALS.items():
        body = record(size)
        ours, bare = side_by_side(
            partial(_whole, body), partial(orjson.loads, body), rounds=60 if size < 5_000 else 9
        )
        taken[size] = ours
        found.append(ratio_row(f"whole review, {size:,} Observations", ours, "orjson.loads", bare, goal))
    growth = taken[10_000] / taken[1_000]
    found.append(
        Row(
            subject="growth of the review from 1,000 to 10,000",
            ours=f"{growth:.2f}",
            yardstick="input grows 10 times",
            ratio=growth,
            goal="at most 10.5 times",
            met=growth <= 10.5,
        )
    )
    return found
