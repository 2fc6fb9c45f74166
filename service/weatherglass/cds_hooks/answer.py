"""From a call and what was sent with it to cards: the same reading and the same review.

The present is the moment of the review, so that old data are seen to be old. Only the
patient of the context is reviewed, whoever else is in what was sent.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from weatherglass.cds_hooks.cards import Frame, remark_card
from weatherglass.cds_hooks.deterioration import deterioration_cards
from weatherglass.cds_hooks.medicine_safety import medicine_cards
from weatherglass.cds_hooks.orders import (
    DraftOrders,
    orders_by_name,
    read_drafts,
    with_dates,
    without_redrafted,
)
from weatherglass.cds_hooks.prefetch import Prefetched
from weatherglass.cds_hooks.request import Call
from weatherglass.cds_hooks.services import DETERIORATION
from weatherglass.fhir.issues import Issue, IssueKey, UnreadableError
from weatherglass.fhir.reading.bundle import items_of, read_items
from weatherglass.fhir.reading.pages import are_missing, is_page
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.versions.newest import newest_of
from weatherglass.fhir.writing.bundle import context_of
from weatherglass.fhir.writing.frame.terms import Json, Terms
from weatherglass.handover.kinds import KINDS
from weatherglass.model.findings import Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.pipeline import review_reading, vocabulary_of
from weatherglass.review.selection import Selection

#: Ours: so far apart are the clocks of a ward at most.
_CLOCKS_DIFFER: Final = timedelta(minutes=15)
#: Keys of which further pages may hold what matters now; the others come newest first.
_WHOLE_OR_SAID = frozenset(
    {
        "medications",
        "statements",
        "allergies",
        "conditions",
        "requests",
        "flags",
        "plans",
        "consents",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """What the edge knows and the cards need.

    Attributes:
        as_of: The present.
        choices: What the site has chosen.
        terms: The local code systems.
        base_url: Address of this service.
        launch: Where the client's record system starts the page; None when it is not set up for that.
    """

    as_of: datetime
    choices: LocalChoices
    terms: Terms
    base_url: str
    launch: str | None = None


class Answered(NamedTuple):
    """What a call came to.

    Attributes:
        response: What the client gets.
        reviews: The review that the cards come from.
        issues: What was not used, with its place.
    """

    response: Json
    reviews: tuple[Review, ...]
    issues: tuple[Issue, ...]


#: What an order that is not signed yet can raise: the chart, read with all that the record holds.
OF_DRAFTS: Final = Selection(frozenset(kind.value for kind, row in KINDS.items() if row.of_chart))


def answer(call: Call, given: Prefetched, edge: Edge) -> Answered:
    """Return what a call comes to.

    Raises:
        UnreadableError: What was sent cannot be read.
    """
    drafts = read_drafts(call)
    sent, drafted, paged, left_out = _items(given, drafts)
    reading = read_items([*sent, *drafted], left_out, vocabulary_of(edge.choices))
    records = tuple((key, record) for key, record in reading.records if key == call.patient)
    if not records:
        raise UnreadableError.of(
            IssueKey.NO_PATIENT, "Nothing that was sent is about the patient.", path="prefetch"
        )
    only = None if call.service is DETERIORATION else OF_DRAFTS
    as_of = _moment(edge.as_of, records[0][1])
    reviewed = review_reading(replace(reading, records=records), as_of=as_of, choices=edge.choices, only=only)
    review = reviewed.reviews[0]
    frame = Frame(
        context=context_of(review, "", edge.terms),
        instance=call.instance,
        base_url=edge.base_url,
        launch=edge.launch,
        remarks=tuple(_remarks(review, given, paged)),
    )
    orders = orders_by_name(sent, drafts)
    if call.service is DETERIORATION:
        cards = deterioration_cards(frame, review, orders) or list(_unseen(frame, given, paged))
    else:
        read = frozenset(str(order.origin) for order in records[0][1].orders if not order.medicine.is_unnamed)
        cards = medicine_cards(frame, review, drafts, orders, read=read, issues=reviewed.issues)
    return Answered({"cards": cards}, reviewed.reviews, reviewed.issues)


def _moment(present: datetime, record: Record) -> datetime:
    """Return the present, or the newest entry where the clock of a monitor or a sampler runs a little ahead.

    What is further ahead is a plan or a slip, and is not looked at.
    """
    newest = record.newest
    is_ahead = newest is not None and present < newest <= present + _CLOCKS_DIFFER
    return newest.astimezone(present.tzinfo) if newest is not None and is_ahead else present


def _items(
    given: Prefetched, drafts: DraftOrders
) -> tuple[list[SentEntry], list[SentEntry], list[str], list[Issue]]:
    """Split what was sent into resources, the newest of each.

    Returns:
        The resources, the drafts as they are read, the keys of which there are further pages, and what
        was left out.
    """
    sent: list[SentEntry] = []
    paged: list[str] = []
    for key, value in given.found.items():
        items = items_of(value, f"prefetch.{key}")
        sent.extend(item for item in items if not is_page(item))
        if are_missing(filter(is_page, items)):
            paged.append(key)
    once = list(_once(sent))
    newest, left_out = newest_of(without_redrafted(once, drafts))
    return newest, with_dates(once, drafts), paged, left_out


def _once(items: Iterable[SentEntry]) -> Iterable[SentEntry]:
    """Leave out what two keys bring twice, such as a creatinine that is a laboratory result too."""
    seen: set[bytes] = set()
    for item in items:
        if item.raw not in seen:
            seen.add(item.raw)
            yield item


def _unseen(frame: Frame, given: Prefetched, paged: Iterable[str]) -> Iterable[Json]:
    """Say what nobody looked at where there is no other card: silence would read as an all-clear."""
    unseen = tuple(_not_looked_at(given, paged))
    if unseen:
        yield remark_card(replace(frame, remarks=()), unseen[0], unseen[1:], Urgency.ROUTINE)


def _remarks(review: Review, given: Prefetched, paged: Iterable[str]) -> Iterable[str]:
    if review.as_of is not None and review.is_stale:
        yield f"Reviewed as of {review.clock.dated(review.as_of)}. {review.data_age}"
    yield from _not_looked_at(given, paged)


def _not_looked_at(given: Prefetched, paged: Iterable[str]) -> Iterable[str]:
    if given.missing:
        yield f"Not sent, so not looked at: {', '.join(given.missing)}."
    partly = sorted(_WHOLE_OR_SAID.intersection(paged))
    if partly:
        yield f"Only a first page was sent of: {', '.join(partly)}."
