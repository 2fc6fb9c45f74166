"""The endpoint that a FHIR server notifies: answered at once, worked on afterwards."""

import secrets
from collections.abc import Callable
from functools import partial
from pathlib import Path

from fastapi import APIRouter, FastAPI, Request, Response

from weatherglass.api.access.refusals import BusyError, UnauthorisedError
from weatherglass.api.requests.body import read_body
from weatherglass.api.service import Service
from weatherglass.api.settings import Settings
from weatherglass.ehr.client.transport import Tokens, Transport
from weatherglass.ehr.events.follow import Follower, FullError
from weatherglass.ehr.events.notifications import (
    Notification,
    UnreadableNotificationError,
    read_post,
    read_resource,
)
from weatherglass.ehr.signing_in.backend_services import READ_SCOPES, WRITE_SCOPES, tokens_from
from weatherglass.fhir.issues import IssueKey, UnreadableError

router = APIRouter(prefix="/notifications", include_in_schema=False)

_TOKEN_VARIABLE = "WEATHERGLASS_NOTIFY_TOKEN"  # noqa: S105 - the name of a variable.


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
        with service.limiter.slot() as slot:
            body = await read_body(request, slot)
            notification = await service.limiter.work(len(body), partial(read, body))
        follower.take(notification)
    except UnreadableNotificationError as fault:
        raise UnreadableError.of(IssueKey.WRONG_RESOURCE, str(fault)) from None
    except FullError:
        raise BusyError.of(IssueKey.BUSY, "Too many reviews are waiting; notify again soon.") from None
    return Response(status_code=200)


def _check_secret(request: Request) -> None:
    secret: str | None = request.app.state.notification_secret
    if secret is None:
        return
    given = request.headers.get("authorization", "").encode()
    if not secrets.compare_digest(given, f"Bearer {secret}".encode()):
        raise UnauthorisedError.of(
            IssueKey.NOT_SIGNED_IN,
            "Send the secret of the subscription.",
            headers={"WWW-Authenticate": "Bearer"},
        )


# The follower that settings ask for


def follower_for(service: Service) -> Follower | None:
    """Return who follows the server of the settings; None when there is none.

    Raises:
        SignInError: A file of a key or a secret cannot be used.
    """
    settings = service.settings
    if settings.notify_fhir_server is None:
        return None
    return Follower(
        Transport(base=settings.notify_fhir_server, tokens=_tokens(settings)),
        choices=service.choices,
        code_base=settings.code_base,
        settle=settings.notify_settle_seconds,
    )


def _tokens(settings: Settings) -> Tokens | None:
    base = settings.notify_fhir_server or ""
    return tokens_from(
        lambda: Transport(base=base),
        token_file=_path(settings.notify_token_file),
        token_variable=_TOKEN_VARIABLE,
        client_id=settings.notify_client_id,
        key_file=_path(settings.notify_key_file),
        scopes=(*READ_SCOPES, *WRITE_SCOPES),
    )


def _path(file: Path | None) -> str | None:
    return str(file) if file is not None else None
