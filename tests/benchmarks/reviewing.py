"""Row 2: the whole review in process (bytes in, FHIR bytes out) against orjson.loads alone."""

from functools import partial

import orjson

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, ratio_row, side_by_side
from weatherglass.cds_hooks.answer import OF_DRAFTS
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

#: Observations of one patient -> the most our whole review may take, in orjson.loads.
GOALS = {60: 22.0, 1_000: 3.8, 10_000: 2.0}
#: The same for what is asked at the speed of typing, without writing resources.
OF_A_DRAFT = 16.0


def _whole(body: bytes) -> int:
    return len(review(body).collection(stamp()))


def _of_drafts(body: bytes) -> int:
    return len(review(body, only=OF_DRAFTS).reviews)


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
    body = record(60)
    ours, bare = side_by_side(partial(_of_drafts, body), partial(orjson.loads, body), rounds=60)
    found.append(ratio_row("what a draft can raise, 60 Observations", ours, "orjson.loads", bare, OF_A_DRAFT))
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
