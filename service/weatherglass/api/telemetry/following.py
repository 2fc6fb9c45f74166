"""The follower that settings ask for: a server, how we sign in to it, and its secret."""

from functools import partial

from weatherglass.api.service import Service
from weatherglass.api.settings import Settings
from weatherglass.ehr.client.transport import Tokens, Transport
from weatherglass.ehr.events.follow import Follower
from weatherglass.ehr.signing_in.backend_services import (
    READ_SCOPES,
    WRITE_SCOPES,
    BackendServices,
    FixedToken,
)
from weatherglass.ehr.signing_in.credentials import secret_from, signing_key

_TOKEN_VARIABLE = "WEATHERGLASS_NOTIFY_TOKEN"  # noqa: S105 - the name of a variable.


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


def secret_for(settings: Settings) -> str | None:
    """Return what every notification must bring; None when nothing was set.

    Raises:
        SignInError: The file cannot be used.
    """
    if settings.notify_secret is not None:
        return settings.notify_secret.get_secret_value()
    if settings.notify_secret_file is None:
        return None
    return secret_from(str(settings.notify_secret_file), "")


def _tokens(settings: Settings) -> Tokens | None:
    file = settings.notify_token_file
    ready = secret_from(str(file) if file is not None else None, _TOKEN_VARIABLE)
    if ready is not None:
        return FixedToken(ready)
    base = settings.notify_fhir_server
    if settings.notify_client_id is None or base is None:
        return None
    key = partial(signing_key, str(settings.notify_key_file))
    key()  # What cannot be used is said at the start.
    return BackendServices(
        lambda: Transport(base=base),
        client_id=settings.notify_client_id,
        key=key,
        scopes=(*READ_SCOPES, *WRITE_SCOPES),
    )
