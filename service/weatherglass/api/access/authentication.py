"""Authentication in front of the application: who may call, and at which endpoint.

What is published about the service is open to all. Once anybody has to sign in,
everything else is closed unless it has a way to sign in: records by an access token, CDS
Hooks by a client's signed token. Without any of that the service is for this machine
only; `refuse_open_elsewhere` sees to it.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from weatherglass.api.access.principals import AccessTokens, CdsClients, Principal, ScopeError
from weatherglass.api.access.refusals import (
    ForbiddenError,
    RefusedError,
    UnauthorisedError,
    UnreachableKeysError,
)
from weatherglass.api.access.tokens import TokenRefusedError
from weatherglass.api.requests.errors import answer_for
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry.request_facts import note_client
from weatherglass.ehr.client.addresses import is_loopback, without_slash
from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.signing_in.introspection import Introspector
from weatherglass.ehr.signing_in.keys import KeyStore
from weatherglass.fhir.issues import IssueKey

_CDS = "/cds-services"
#: Endpoints that check a secret of their own.
_OWN_SECRET = ("/notifications",)


class OpenElsewhereError(ValueError):
    """The service would be open to others without anybody signing in."""


def refuse_open_elsewhere(settings: Settings, host: str) -> None:
    """Refuse to serve other machines without authentication, unless that was said in so many words.

    Raises:
        OpenElsewhereError: The host is not this machine, and nobody has to sign in.
    """
    if settings.open_without_authentication or is_loopback(host):
        return
    if settings.notify_fhir_server is not None and not (
        settings.notify_secret or settings.notify_secret_file
    ):
        raise OpenElsewhereError(
            f"binding to {host} would let anybody start reviews at /notifications. Set "
            "WEATHERGLASS_NOTIFY_SECRET_FILE, or say --open-without-authentication when a gateway in "
            "front signs callers in"
        )
    if settings.checks_callers:
        return
    raise OpenElsewhereError(
        f"binding to {host} would serve patient data to anybody who can reach it. Set up who may call "
        "(WEATHERGLASS_SMART_JWKS_URL or WEATHERGLASS_SMART_INTROSPECTION_URL, and "
        "WEATHERGLASS_CDS_CLIENTS), or say --open-without-authentication when a gateway in front "
        "signs callers in"
    )


class Authentication:
    """Lets requests through, or answers them itself."""

    def __init__(
        self, app: ASGIApp, *, settings: Settings, clock: Callable[[], datetime] = lambda: datetime.now(UTC)
    ) -> None:
        """Take from the settings who has to sign in, and how."""
        self._app = app
        self._settings = settings
        base = without_slash(settings.base_url)
        self._base = base
        self._tokens = _access_tokens(settings, clock) if settings.checks_tokens else None
        stores = {issuer: KeyStore(url, clock=clock) for issuer, url in settings.cds_clients.items()}
        self._clients = CdsClients(settings, clock=clock, stores=stores) if stores else None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request through, or refuse it."""
        if scope["type"] != "http" or not self._settings.checks_callers or _is_open(scope):
            await self._app(scope, receive, send)
            return
        try:
            principal = await self._principal(scope)
        except RefusedError as refused:
            answer = await answer_for(Request(scope), refused)
            await answer(scope, receive, send)
            return
        note_client(principal.client)
        scope.setdefault("state", {})["principal"] = principal
        await self._app(scope, receive, send)

    async def _principal(self, scope: Scope) -> Principal:
        at_cds = _is_cds(scope["path"])
        checker = self._clients if at_cds else self._tokens
        if checker is None:
            raise _forbidden("Nobody is set up to come in here.")
        token = _bearer(Headers(scope=scope))
        try:
            if isinstance(checker, CdsClients):
                return await checker.principal(token, self._base + scope["path"])
            return await checker.principal(token)
        except TokenRefusedError as refused:
            raise _unauthorised(refused.why, expired=refused.has_expired) from None
        except ScopeError as refused:
            raise _forbidden(refused.why, needed=refused.needed) from None
        except EhrError:
            raise UnreachableKeysError.of(
                IssueKey.BUSY, "Tokens cannot be checked at the moment; send the request again soon."
            ) from None


def check_patients(request: Request, keys: Iterable[str]) -> None:
    """Refuse records of other patients than the token is for.

    Args:
        request: The request, with its principal.
        keys: References of the patients whose records were sent.

    Raises:
        ForbiddenError: A record is about somebody else, or nobody can tell about whom.
    """
    principal: Principal | None = getattr(request.state, "principal", None)
    if principal is None or principal.patient is None:
        return
    if any(key != f"Patient/{principal.patient}" for key in keys):
        raise _forbidden("The token is for one patient, and the record is not only about that patient.")


def _access_tokens(settings: Settings, clock: Callable[[], datetime]) -> AccessTokens:
    introspector = None
    if settings.smart_introspection_url is not None:
        introspector = Introspector(
            settings.smart_introspection_url,
            client_id=settings.smart_introspection_client_id,
            secret=settings.introspection_secret,
            clock=clock,
        )
    keys = KeyStore(settings.smart_jwks_url, clock=clock) if settings.smart_jwks_url is not None else None
    audiences = settings.smart_audience or (f"{without_slash(settings.base_url)}/fhir",)
    return AccessTokens(settings, audiences, clock=clock, keys=keys, introspector=introspector)


def _is_open(scope: Scope) -> bool:
    path: str = scope["path"]
    if path.startswith(_OWN_SECRET):
        return True
    # What is read is about the service; records only ever arrive in a body.
    return scope["method"] in ("GET", "HEAD", "OPTIONS") and not _is_cds(path)


def _is_cds(path: str) -> bool:
    return path == _CDS or path.startswith(f"{_CDS}/")


def _bearer(headers: Headers) -> str:
    given = headers.getlist("authorization")
    scheme, _, token = given[0].partition(" ") if len(given) == 1 else ("", "", "")
    if scheme.lower() != "bearer" or not token.strip():
        raise _unauthorised("", expired=False)
    return token.strip()


def _unauthorised(why: str, *, expired: bool) -> UnauthorisedError:
    # RFC 6750: without credentials, no error code; with bad ones, invalid_token.
    challenge = f'Bearer error="invalid_token", error_description="{why}"' if why else "Bearer"
    key = IssueKey.TOKEN_EXPIRED if expired else IssueKey.NOT_SIGNED_IN
    text = why or "Sign in: send a bearer token in the header Authorization."
    return UnauthorisedError.of(key, text, headers={"WWW-Authenticate": challenge})


def _forbidden(why: str, *, needed: tuple[str, ...] = ()) -> ForbiddenError:
    challenge = 'Bearer error="insufficient_scope"'
    if needed:
        challenge += f', scope="{" ".join(needed)}"'
    headers: Mapping[str, str] = {"WWW-Authenticate": challenge}
    return ForbiddenError.of(IssueKey.NOT_ALLOWED, why, headers=headers)
