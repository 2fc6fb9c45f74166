"""The endpoint that a FHIR server notifies: answered at once, worked on afterwards."""

import secrets
from collections.abc import Callable
from functools import partial

from fastapi import APIRouter, FastAPI, Request, Response

from weatherglass.api.access.refusals import BusyError, UnauthorisedError
from weatherglass.api.requests.body import read_body
from weatherglass.api.service import Service
from weatherglass.ehr.events.follow import Follower, FullError
from weatherglass.ehr.events.notifications import (
    Notification,
    UnreadableNotificationError,
    read_post,
    read_resource,
)
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError

router = APIRouter(prefix="/notifications", include_in_schema=False)


def install(app: FastAPI, follower: Follower, secret: str | None) -> None:
    """Add the endpoint to an application.

    Args:
        app: The application.
        follower: Who works on what arrives.
        secret: What every notification must bring; None on this machine only.
    """
    app.state.follower = follower
    app.state.notification_secret = secret
    app.include_router(router)


@router.post("")
async def notified(request: Request) -> Response:
    """Take an empty notification, a resource, or a history Bundle."""
    return await _take(request, read_post)


@router.put("/{kind}/{identity}")
async def changed(request: Request, kind: str, identity: str) -> Response:
    """Take the resource of an R4 rest-hook."""
    del kind, identity
    return await _take(request, read_resource)


async def _take(request: Request, read: Callable[[bytes], Notification]) -> Response:
    _check_secret(request)
    service: Service = request.app.state.service
    follower: Follower = request.app.state.follower
    try:
        with service.desk.seat() as seat:
            body = await read_body(request, seat)
            notification = await service.desk.work(len(body), partial(read, body))
        follower.take(notification)
    except UnreadableNotificationError as fault:
        raise UnreadableError(Issue(Severity.ERROR, IssueKey.WRONG_RESOURCE, "", str(fault))) from None
    except FullError:
        raise BusyError(
            Issue(Severity.ERROR, IssueKey.BUSY, "", "Too many reviews are waiting; notify again soon.")
        ) from None
    return Response(status_code=200)


def _check_secret(request: Request) -> None:
    secret: str | None = request.app.state.notification_secret
    if secret is None:
        return
    given = request.headers.get("authorization", "").encode()
    if not secrets.compare_digest(given, f"Bearer {secret}".encode()):
        raise UnauthorisedError(
            Issue(Severity.ERROR, IssueKey.NOT_SIGNED_IN, "", "Send the secret of the subscription."),
            headers={"WWW-Authenticate": "Bearer"},
        )
