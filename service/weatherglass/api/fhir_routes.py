"""The FHIR operations: read the body, review, write; nothing else happens here."""

from datetime import datetime

from fastapi import APIRouter, Request, Response

from weatherglass.api.answers import fhir_response, outcome_response
from weatherglass.api.operation_input import OperationInput, read_input
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.writing.bundle import Detail, encode
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.pipeline import Answer, review, review_lines
from weatherglass.stamp import stamp

router = APIRouter(prefix="/fhir")


@router.post("/$review-deterioration")
async def review_deterioration(request: Request) -> Response:
    """Review a Bundle, Parameters or NDJSON."""
    base = request.app.state.settings.code_base
    try:
        given = read_input(await request.body(), request.headers.get("content-type", ""))
        answer = _review(given, request)
    except UnreadableError as unreadable:
        return outcome_response(unreadable.issues, 400, base)
    return fhir_response(answer.collection(stamp(base), detail=Detail(given.detail)))


@router.post("/$handover-document")
async def handover_document(request: Request) -> Response:
    """Write the handover of one patient as a document."""
    base = request.app.state.settings.code_base
    try:
        given = read_input(await request.body(), request.headers.get("content-type", ""))
        answer = _review(given, request)
    except UnreadableError as unreadable:
        return outcome_response(unreadable.issues, 400, base)
    if len(answer.reviews) != 1:
        issue = Issue(
            Severity.ERROR,
            IssueKey.NO_PATIENT if not answer.reviews else IssueKey.BAD_PARAMETER,
            "Bundle",
            "A handover document is about exactly one patient with something to review.",
        )
        return outcome_response((issue, *answer.issues), 422, base)
    return fhir_response(encode(write_handover(answer.reviews[0], answer.issues, stamp(base))))


def _review(given: OperationInput, request: Request) -> Answer:
    choices = request.app.state.choices
    moment: datetime | None = given.as_of
    if given.lines is not None:
        return review_lines(given.lines, as_of=moment, choices=choices)
    return review(given.record, as_of=moment, choices=choices)
