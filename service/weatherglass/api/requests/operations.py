"""The operations: a body in, reviews made, an answer out; the same steps for both.

What is held in memory: the body, the records read from it, and the answer. For NDJSON
the lines may come in any order, so they are read to the end first; from then on the
answer leaves patient by patient, and only one patient's part of it is held at a time.
"""

import logging
from collections.abc import AsyncIterator, Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from typing import Any

from fastapi import Request, Response
from fastapi.responses import StreamingResponse
from starlette.types import Receive, Scope, Send

from weatherglass.api.access.authentication import check_patients
from weatherglass.api.access.refusals import TooLargeError, UnprocessableError
from weatherglass.api.requests.answers import Packer, headers_for, written
from weatherglass.api.requests.body import read_body
from weatherglass.api.requests.limiter import too_costly
from weatherglass.api.requests.media import Wanted, is_lines, wanted_by
from weatherglass.api.requests.operation_input import (
    OperationInput,
    read_bundle_input,
    read_options,
    unused_options,
)
from weatherglass.api.service import Service
from weatherglass.api.telemetry.request_facts import note_issues, note_reviews, noting, phase
from weatherglass.budget import OverBudgetError
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError, issues_of, named_issue
from weatherglass.fhir.reading.bundle import Reading, items_of, items_of_lines, read_items
from weatherglass.fhir.strict import invalid_parts
from weatherglass.fhir.writing.bundle import encode_collection, entry, lines_of, outcome_entry, write_review
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.fhir.writing.provenance import write_device
from weatherglass.model.review import Review
from weatherglass.pipeline import Answer, review_each, review_reading, vocabulary_of
from weatherglass.terminology.observations import Vocabulary

_LOG = logging.getLogger("weatherglass.api")

#: From what was asked and read to one resource, or to the entries of its lines patient by patient.
WriteOne = Callable[[Service, OperationInput, Reading], Any]
WriteLines = Callable[[Service, OperationInput, Reading], Iterator[list[Json]]]


async def operate(request: Request, write_one: WriteOne, write_lines: WriteLines) -> Response:
    """Run one operation.

    Raises:
        RefusedError: The request is refused; `errors` says how.
        UnreadableError: Nothing in the body can be used.
    """
    service: Service = request.app.state.service
    as_lines = is_lines(request.headers.get("content-type", ""))
    wanted = wanted_by(request, lines=as_lines)
    with ExitStack() as held:
        slot = held.enter_context(service.limiter.slot())
        with phase("receive"):
            body = await read_body(request, slot)
        query = _options(request)
        read = partial(
            _read,
            body,
            query,
            vocabulary_of(service.choices),
            as_lines=as_lines,
            strict=wanted.strict,
            most=service.settings.max_entries,
            allowed=partial(check_patients, request),
        )
        work = partial(service.limiter.work, len(body))
        if not wanted.lines:
            content, headers = await work(lambda: written(write_one(service, *read()), wanted))
            slot.answer(len(content))
            return _Held(content, headers, held.pop_all())
        parts = write_lines(service, *(await work(read)))
        # The slot is held until the last line has gone.
        return StreamingResponse(
            _sent(work, parts, wanted, held.pop_all()), 200, headers_for(wanted, packed=wanted.packs)
        )


class _Held(Response):
    """A whole answer whose slot is held until it has been sent."""

    def __init__(self, content: bytes, headers: Mapping[str, str], held: ExitStack) -> None:
        super().__init__(content, 200, headers)
        self._held = held

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self._held:
            await super().__call__(scope, receive, send)


def _options(request: Request) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in request.query_params.multi_items():
        found.setdefault(name, []).append(value)
    return found


def _read(
    body: bytes,
    query: Mapping[str, list[str]],
    vocabulary: Vocabulary,
    *,
    as_lines: bool,
    strict: bool,
    most: int,
    allowed: Callable[[Iterable[str]], None],
) -> tuple[OperationInput, Reading]:
    given = read_options(body, query) if as_lines else read_bundle_input(body, query)
    if as_lines:
        items, faults = items_of_lines(given.record.splitlines())
    else:
        items, faults = items_of(given.record), []
    if len(items) > most:
        raise TooLargeError.of(
            IssueKey.TOO_LARGE,
            f"There are more than {most} resources; send fewer patients or a shorter time at once.",
        )
    unused = unused_options(query, b"" if as_lines else body)
    if strict and unused:
        raise UnreadableError(*unused)
    faults = [*faults, *(replace(issue, severity=Severity.WARNING) for issue in unused)]
    if strict:
        invalid = [*faults, *invalid_parts(items, b"" if as_lines else given.record)]
        if invalid:
            raise UnreadableError(*invalid)
    reading = read_items(items, faults, vocabulary)
    allowed(key for key, _ in reading.records)
    errors = [issue for issue in reading.issues if issue.severity is Severity.ERROR]
    if strict and errors:
        raise UnprocessableError(*errors)
    return given, reading


async def _sent(
    work: Any, parts: Iterator[list[Json]], wanted: Wanted, held: ExitStack
) -> AsyncIterator[bytes]:
    """Send the lines of each part as soon as it is made; a fault on the way becomes the last line."""
    packer = Packer(packs=wanted.packs)
    with held:
        while True:
            part: bytes | None = await work(partial(_next_part, parts, packer))
            if part is None:
                break
            yield part
        yield packer.rest()


def _next_part(parts: Iterator[list[Json]], packer: Packer) -> bytes | None:
    entries = next(parts, None)
    return None if entries is None else packer.pack(b"".join(lines_of(entries)))


# Reviewing deterioration


def write_collection(service: Service, given: OperationInput, reading: Reading) -> bytes:
    """Write everything as one Bundle, patient by patient.

    Raises:
        TooLargeError: There are more patients than one Bundle may be about.
    """
    most = service.settings.max_patients
    if len(reading.records) > most:
        raise TooLargeError.of(
            IssueKey.TOO_LARGE,
            f"There are more than {most} patients, too many for one Bundle; send fewer at once, or send "
            "NDJSON (Content-Type: application/fhir+ndjson), which is answered line by line.",
        )
    issues = list(reading.issues)
    reviews = review_each(reading, issues, as_of=given.as_of, choices=service.choices, only=given.only)
    return encode_collection(
        noting(reviews, issues), issues, service.stamp, detail=given.detail, members=given.members
    )


def write_patients(service: Service, given: OperationInput, reading: Reading) -> Iterator[list[Json]]:
    """Write the software, then each patient, then what was not used.

    The OperationOutcome comes last, so that an answer which was cut off can be told.
    """
    device_uuid, device = write_device(service.stamp.software, service.stamp.rules)
    names = [f"urn:uuid:{device_uuid}"]
    yield [entry(device_uuid, device)]
    issues = list(reading.issues)
    try:
        for review in _each(service, given, reading, issues):
            entries = write_review(
                review, names[0], service.terms, detail=given.detail, members=given.members
            )
            names.append(entries[0]["fullUrl"])
            yield entries
    except Exception as error:  # noqa: BLE001 - the status has gone out; the last line has to say it.
        _LOG.error("unexpected %s while answering line by line", type(error).__name__)
        issues.append(
            Issue(Severity.FATAL, IssueKey.FAULT, "", "The service failed here; patients are missing.")
        )
    yield [outcome_entry(issues, service.terms, names)]


# Handing over


def write_document(service: Service, given: OperationInput, reading: Reading) -> Any:
    """Write the handover of the one patient.

    Raises:
        UnprocessableError: There is none, or more than one.
    """
    answer = _answer(service, given, reading)
    if len(answer.reviews) != 1:
        none = not answer.reviews
        raise UnprocessableError(
            named_issue("document-of-nobody" if none else "document-of-several", "Bundle"),
            *answer.issues,
        )
    return write_handover(answer.reviews[0], answer.issues, service.stamp)


def write_documents(service: Service, given: OperationInput, reading: Reading) -> Iterator[list[Json]]:
    """Write the handover of each patient as a line, then what belongs to none of them."""
    issues = list(reading.issues)
    names = []
    for review in _each(service, given, reading, issues):
        own = issues_of(review.subject.origin, issues)
        document = write_handover(review, own, service.stamp)
        names.append(f"urn:uuid:{document['identifier']['value']}")
        yield [entry(document["identifier"]["value"], document)]
    yield [outcome_entry(issues, service.terms, names)]


def _answer(service: Service, given: OperationInput, reading: Reading) -> Answer:
    answer = review_reading(reading, as_of=given.as_of, choices=service.choices, only=given.only)
    note_reviews(answer.reviews)
    note_issues(answer.issues)
    return answer


def _each(service: Service, given: OperationInput, reading: Reading, issues: list[Issue]) -> Iterator[Review]:
    """Review each patient within a limit of its own: one that costs too much does not take the rest along."""
    return noting(_each_within(service, given, reading, issues), issues)


def _each_within(
    service: Service, given: OperationInput, reading: Reading, issues: list[Issue]
) -> Iterator[Review]:
    seconds = service.settings.work_seconds
    for key, record in reading.records:
        one = replace(reading, records=((key, record),))
        try:
            with service.limiter.budget():
                reviews = [
                    *review_each(one, issues, as_of=given.as_of, choices=service.choices, only=given.only)
                ]
        except OverBudgetError:
            issues.append(too_costly(seconds, key))
            continue
        yield from reviews
