"""One table from error class to HTTP status; nobody else chooses the status of a failure.

On `/fhir` and `/cds-services` every failure is an OperationOutcome with our issue code.
Elsewhere it is `application/problem+json` (RFC 9457). Neither repeats anything of the request.
"""

import logging
from collections.abc import Mapping
from http import HTTPStatus

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from weatherglass.api.access.refusals import (
    BusyError,
    CostlyError,
    ForbiddenError,
    NotAcceptableError,
    OverdueError,
    PreconditionError,
    RefusedError,
    SlowError,
    TooLargeError,
    UnauthorisedError,
    UnprocessableError,
    UnreachableKeysError,
    UnsupportedMediaError,
    WithheldError,
)
from weatherglass.api.requests.answers import outcome_response
from weatherglass.api.telemetry.logs import place_of
from weatherglass.api.telemetry.request_facts import note_issues
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError

_LOG = logging.getLogger("weatherglass.api")


#: Read from the most special class to the most general.
STATUS: Mapping[type[Exception], HTTPStatus] = {
    UnauthorisedError: HTTPStatus.UNAUTHORIZED,
    ForbiddenError: HTTPStatus.FORBIDDEN,
    NotAcceptableError: HTTPStatus.NOT_ACCEPTABLE,
    UnsupportedMediaError: HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
    TooLargeError: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    SlowError: HTTPStatus.REQUEST_TIMEOUT,
    UnprocessableError: HTTPStatus.UNPROCESSABLE_ENTITY,
    PreconditionError: HTTPStatus.PRECONDITION_FAILED,
    BusyError: HTTPStatus.TOO_MANY_REQUESTS,
    OverdueError: HTTPStatus.SERVICE_UNAVAILABLE,
    CostlyError: HTTPStatus.SERVICE_UNAVAILABLE,  # Without Retry-After: the same body costs the same again.
    UnreachableKeysError: HTTPStatus.SERVICE_UNAVAILABLE,
    WithheldError: HTTPStatus.SERVICE_UNAVAILABLE,
    UnreadableError: HTTPStatus.BAD_REQUEST,
    RequestValidationError: HTTPStatus.BAD_REQUEST,
    ClientDisconnect: HTTPStatus.BAD_REQUEST,  # Nobody reads it; the log is not told of a fault of ours.
    Exception: HTTPStatus.INTERNAL_SERVER_ERROR,
}
_HEADERS: Mapping[type[Exception], dict[str, str]] = {
    BusyError: {"Retry-After": "1"},
    OverdueError: {"Retry-After": "5"},
    UnreachableKeysError: {"Retry-After": "30"},
    WithheldError: {"Retry-After": "30"},
    SlowError: {"Connection": "close"},
    TooLargeError: {"Connection": "close"},
}
#: What we say of the failures that the framework finds.
_SAID: Mapping[int, tuple[IssueKey, str]] = {
    404: (IssueKey.WRONG_ADDRESS, "Nothing is at this address; /fhir/metadata lists what there is."),
    405: (
        IssueKey.WRONG_METHOD,
        "This address does not take this method; the header Allow says which it takes.",
    ),
}
#: A batch or a transaction goes to the base of a server that stores; a record to review looks the same.
_NOTHING_STORED = (
    "Nothing is at this address: this service stores nothing and takes no batch or transaction. "
    "Send the Bundle to /fhir/$review-deterioration to have it reviewed."
)
_FAULT = "Something went wrong in the service; quote the X-Request-Id when you report it."


def install(app: FastAPI) -> None:
    """Make the application answer every failure by this table."""
    app.add_exception_handler(HTTPException, answer_for)
    for error in STATUS:
        if error is not Exception:  # The envelope asks for that one itself.
            app.add_exception_handler(error, answer_for)


async def answer_for(request: Request, error: Exception) -> Response:
    """Answer a failure."""
    if isinstance(error, HTTPException):
        key, text = _said_of(request, error.status_code)
        issues: tuple[Issue, ...] = (Issue(Severity.ERROR, key, "", text),)
        return _written(request, issues, error.status_code, dict(error.headers or {}))
    found = next(known for known in STATUS if isinstance(error, known))
    if isinstance(error, RefusedError | UnreadableError):
        issues = error.issues
    elif isinstance(error, ClientDisconnect):
        issues = (Issue(Severity.ERROR, IssueKey.NOT_JSON, "", "The body broke off on the way."),)
    elif isinstance(error, RequestValidationError):
        issues = (Issue(Severity.ERROR, IssueKey.BAD_PARAMETER, "", "A part of the address is not valid."),)
    else:
        # The class and the place only: the message of an exception may hold data of the request.
        _LOG.error("unexpected %s in %s", type(error).__name__, place_of(error))
        issues = (Issue(Severity.FATAL, IssueKey.FAULT, "", _FAULT),)
    note_issues(issues)
    own = error.headers if isinstance(error, RefusedError) else {}
    return _written(request, issues, STATUS[found], {**_HEADERS.get(found, {}), **own})


def _said_of(request: Request, status: int) -> tuple[IssueKey, str]:
    if (request.method, request.scope["path"]) == ("POST", "/fhir"):
        return IssueKey.WRONG_ADDRESS, _NOTHING_STORED
    return _SAID.get(status, (IssueKey.BAD_PARAMETER, HTTPStatus(status).phrase))


def _written(
    request: Request, issues: tuple[Issue, ...], status: int, headers: Mapping[str, str]
) -> Response:
    path = request.scope["path"]
    if path == "/fhir" or path.startswith(("/fhir/", "/cds-services")):
        return outcome_response(issues, status, request.app.state.service.terms, headers)
    problem = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": int(status),
        "detail": issues[0].text,
    }
    return JSONResponse(problem, status, dict(headers), media_type="application/problem+json")
