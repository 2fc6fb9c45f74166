"""The newest results beside the summary of a review: number, time, the one before, its sender's range.

Each is a component of the summary, with the moment of its own sample and the input it came from
as extensions, because a component shares the moment of its Observation.
"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.context import WritingContext, extension, quantity
from weatherglass.fhir.writing.frame.narrative import bullets, paragraph, table
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.model.latest import LatestResult, ResultThen
from weatherglass.model.numbers.quantities import Unit, unit_words
from weatherglass.model.review import Review
from weatherglass.model.words.result_words import against_words, before_words

_COLUMNS = ("Latest results", "Value", "When", "Before", "Range")


def add_latest_results(context: WritingContext, review: Review, summary: Json) -> None:
    """Add the newest results of a review to its summary; nothing where there are none."""
    latest = review.latest
    if latest.rows:
        summary["component"] = [_component(context, row) for row in latest.rows]


def latest_blocks(review: Review) -> Iterator[str]:
    """Yield what the narrative of the summary says of them, and of what was sent and not read."""
    latest = review.latest
    yield from (
        table(_COLUMNS, (_cells(review, row) for row in latest.rows)) if latest.rows else "",
        paragraph("Results that were sent and not read:") if latest.not_read else "",
        bullets(latest.not_read),
    )


def _component(context: WritingContext, row: LatestResult) -> Json:
    component: Json = {
        "extension": [
            extension("measured-at", valueDateTime=context.time(row.newest.at)),
            extension("measured-in", valueReference=context.reference(row.newest.origin)),
            *(_before(context, row.previous, row.unit) if row.previous is not None else ()),
        ],
        "code": {"coding": [context.terms.coding("measure", row.key)], "text": clean(row.name)},
        **_value(row.newest, row.unit.value),
    }
    if row.mark:
        component["interpretation"] = [{"text": row.mark}]
    ranges = list(_ranges(row))
    if ranges:
        component["referenceRange"] = ranges
    return component


def _value(then: ResultThen, unit: str) -> Json:
    if then.value is not None:
        return {"valueQuantity": quantity(then.value, unit)}
    return {"valueString": then.shown}


def _before(context: WritingContext, then: ResultThen, unit: Unit) -> list[Json]:
    return [
        extension("previous-value", valueString=f"{then.shown} {unit_words(unit)}".rstrip()),
        extension("previous-at", valueDateTime=context.time(then.at)),
    ]


def _ranges(row: LatestResult) -> list[Json]:
    unit = row.unit.value
    found = (
        ("As sent with the result", row.low, row.high),
        ("Own results of the year before this week", row.own_low, row.own_high),
    )
    return [
        {**_end("low", low, unit), **_end("high", high, unit), "text": text}
        for text, low, high in found
        if low is not None or high is not None
    ]


def _end(name: str, value: Decimal | None, unit: str) -> Json:
    return {name: quantity(value, unit)} if value is not None else {}


def _cells(review: Review, row: LatestResult) -> tuple[str, ...]:
    marked = f"{row.said} {row.mark}".rstrip()
    clock = review.clock
    return (row.name, marked, clock.full(row.newest.at), before_words(row, clock), against_words(row))
