"""Settings of who may call, and whom we may call; secrets from files or the environment."""

import re
from pathlib import Path
from typing import Annotated, Self

from pydantic import AfterValidator, Field, SecretStr, model_validator
from pydantic_settings import BaseSettings

from weatherglass.ehr.client.addresses import is_private_enough, is_web_address, origin_of, without_slash
from weatherglass.ehr.signing_in.credentials import secret_from


def _private(url: str) -> str:
    if not is_private_enough(url):
        raise ValueError("must be https, or on this machine")
    return url


def _base(url: str) -> str:
    if not is_web_address(url):
        raise ValueError("must be an http or https address")
    return without_slash(url)


#: What may stand in the page's policy: a scheme, a host, a port, and no more.
_ORIGIN = re.compile(r"https?://(?:[A-Za-z0-9.\-]+|\[[0-9A-Fa-f:.]+\])(?::[0-9]{1,5})?")


def _origin(url: str) -> str:
    if not _ORIGIN.fullmatch(url):
        raise ValueError("must be a web origin such as https://login.example, without a path")
    return _private(url)


def _launch_server(url: str) -> str:
    if not (is_web_address(url) and _ORIGIN.fullmatch(origin_of(url))):
        raise ValueError("must be the base address of a FHIR server")
    return _private(url)


LaunchServer = Annotated[str, AfterValidator(_launch_server)]
PrivateOrigin = Annotated[str, AfterValidator(_origin)]
PrivateUrl = Annotated[str, AfterValidator(_private)]
BaseUrl = Annotated[str, AfterValidator(_base)]


class AccessSettings(BaseSettings):
    """Who may call, and whom we may call.

    Attributes:
        open_without_authentication: Whether callers from elsewhere are served without
            signing in; for a gateway that signs them in itself.
        smart_issuer: Issuer of access tokens, exactly as they name it.
        smart_jwks_url: Where the keys of that issuer are.
        smart_audience: What a token must be for; the FHIR base address when empty.
        smart_token_types: Values of the header `typ` of an access token (RFC 9068).
        smart_introspection_url: Where an opaque token is looked up (RFC 7662).
        smart_introspection_client_id: What the authorization server calls us.
        smart_introspection_secret: Our secret there; or `..._secret_file`.
        smart_scopes: Scopes of which a token needs one.
        smart_token_endpoint: Where clients get tokens; published when set.
        smart_authorization_endpoint: Where apps sign in; published when set.
        cds_clients: Issuers of CDS clients with the address of their keys.
        cds_fhir_servers: FHIR servers that may be asked for what a CDS client did not send.
        cds_fetch_seconds: How long that may take.
        launch_servers: FHIR servers whose records the page opens with the reader's own sign-in
            (SMART App Launch), each with the client id that we have there.
        launch_frame_origins: Web origins that may show the page inside a window of their own.
        launch_sign_in_origins: Web origins beside those servers at which they let people sign in.
        launch_scopes: What the page asks to read, in the place of one scope a type.
        cors_origins: Web origins that may call from a browser.
        clock_skew_seconds: How far clocks may differ.
        notify_fhir_server: FHIR server whose notifications are followed at `/notifications`:
            the record is fetched there, reviewed, and the results written back.
        notify_secret: What every notification must bring; or `..._secret_file`.
        notify_client_id: What that server calls us (SMART Backend Services).
        notify_key_file: File with our private key for it.
        notify_token_file: File with a ready access token for it.
        notify_settle_seconds: How long to wait for more about the same patient.
    """

    open_without_authentication: bool = False
    smart_issuer: str | None = None
    smart_jwks_url: PrivateUrl | None = None
    smart_audience: tuple[str, ...] = ()
    smart_token_types: tuple[str, ...] = ("at+jwt", "application/at+jwt")
    smart_introspection_url: PrivateUrl | None = None
    smart_introspection_client_id: str = ""
    smart_introspection_secret: SecretStr | None = None
    smart_introspection_secret_file: Path | None = None
    smart_scopes: tuple[str, ...] = ("system/Observation.r", "user/Observation.r", "patient/Observation.r")
    smart_token_endpoint: PrivateUrl | None = None
    smart_authorization_endpoint: PrivateUrl | None = None
    cds_clients: dict[str, PrivateUrl] = Field(default_factory=dict)
    cds_fhir_servers: tuple[BaseUrl, ...] = ()
    cds_fetch_seconds: float = Field(default=5.0, gt=0, le=60)
    launch_servers: dict[LaunchServer, str] = Field(default_factory=dict)
    launch_sign_in_origins: tuple[PrivateOrigin, ...] = ()
    launch_frame_origins: tuple[PrivateOrigin, ...] = ()
    launch_scopes: tuple[str, ...] = ()
    cors_origins: tuple[str, ...] = ()
    clock_skew_seconds: int = Field(default=30, ge=0, le=300)
    notify_fhir_server: BaseUrl | None = None
    notify_secret: SecretStr | None = None
    notify_secret_file: Path | None = None
    notify_client_id: str | None = None
    notify_key_file: Path | None = None
    notify_token_file: Path | None = None
    notify_settle_seconds: float = Field(default=1.0, ge=0, le=60)

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        if self.smart_jwks_url is not None and not self.smart_issuer:
            raise ValueError("smart_jwks_url needs smart_issuer: whose tokens are taken")
        if self.smart_introspection_url is not None and not (
            self.smart_introspection_client_id
            and (self.smart_introspection_secret or self.smart_introspection_secret_file)
        ):
            raise ValueError(
                "smart_introspection_url needs smart_introspection_client_id and a secret "
                "(smart_introspection_secret or smart_introspection_secret_file)"
            )
        if (self.notify_client_id is None) != (self.notify_key_file is None):
            raise ValueError("notify_client_id and notify_key_file belong together")
        if self.launch_servers and self.checks_callers and not self.checks_tokens:
            raise ValueError(
                "launch_servers beside cds_clients needs smart_jwks_url or smart_introspection_url: "
                "otherwise nobody may send what the page has read"
            )
        if self.checks_tokens and not self.smart_scopes:
            raise ValueError("smart_scopes is empty: no token would do")
        return self

    @property
    def checks_tokens(self) -> bool:
        """Whether the FHIR endpoints ask for an access token."""
        return self.smart_jwks_url is not None or self.smart_introspection_url is not None

    @property
    def checks_callers(self) -> bool:
        """Whether anybody has to sign in; then whatever has no way to sign in is closed."""
        return self.checks_tokens or bool(self.cds_clients)

    @property
    def introspection_secret(self) -> str:
        """Our secret at the server that looks tokens up.

        Raises:
            SignInError: Its file cannot be used.
        """
        return _secret(self.smart_introspection_secret, self.smart_introspection_secret_file) or ""

    @property
    def notification_secret(self) -> str | None:
        """What every notification must bring; None when nothing was set.

        Raises:
            SignInError: Its file cannot be used.
        """
        return _secret(self.notify_secret, self.notify_secret_file)


def _secret(given: SecretStr | None, file: Path | None) -> str | None:
    if given is not None and (given.get_secret_value() or file is None):
        return given.get_secret_value()
    return secret_from(str(file), "") if file is not None else None
