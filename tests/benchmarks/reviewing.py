"""Row 2: the whole review in process (bytes in, FHIR bytes out) against orjson.loads alone."""

from functools import partial

import orjson

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, ratio_row, side_by_side
from weatherglass.cds_hooks.answer import OF_DRAFTS
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.pipeline import review
from weatherglass.review.selection import Selection
from weatherglass.stamp import stamp

#: Observations of one patient -> the most our whole review may take, in orjson.loads.
GOALS = {60: 22.0, 1_000: 3.8, 10_000: 2.0}
#: The same for what is asked at the speed of typing, without writing resources.
OF_A_DRAFT = 16.0
#: The most that one question may take of the full review.
OF_ONE_QUESTION = 0.25
#: The most bytes that the answer about 60 Observations may have.
BYTES = {Detail.FULL: 70_000, Detail.BRIEF: 25_000}
_NEWS2 = Selection(frozenset({"news2"}))


def _whole(body: bytes, detail: Detail = Detail.FULL, only: Selection | None = None) -> int:
    return len(review(body, only=only).collection(stamp(), detail=detail))


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
    found += _of_less(record(60))
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


def _of_less(body: bytes) -> list[Row]:
    """Measure what less is asked or written for, and how long the answers are."""
    whole, one, brief, draft, bare = side_by_side(
        partial(_whole, body),
        partial(_whole, body, only=_NEWS2),
        partial(_whole, body, Detail.BRIEF),
        partial(_of_drafts, body),
        partial(orjson.loads, body),
        rounds=60,
    )
    return [
        ratio_row("one question asked, 60 Observations", one, "whole review", whole, OF_ONE_QUESTION),
        ratio_row("brief, 60 Observations", brief, "whole review", whole, None),
        ratio_row("what a draft can raise, 60 Observations", draft, "orjson.loads", bare, OF_A_DRAFT),
        *(_bytes(body, detail, most) for detail, most in BYTES.items()),
    ]


def _bytes(body: bytes, detail: Detail, most: int) -> Row:
    size = _whole(body, detail)
    return Row(
        subject=f"answer about 60 Observations, {detail}",
        ours=f"{size / 1000:.1f} kB",
        yardstick=f"input {len(body) / 1000:.1f} kB",
        ratio=size / len(body),
        goal=f"at most {most / 1000:g} kB",
        met=size <= most,
    )
