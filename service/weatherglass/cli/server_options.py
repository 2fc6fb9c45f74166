"""How a command names another FHIR server and signs in to it.

Secrets come from files or the environment. A command line never carries one: every
process of the machine can read it.
"""

import asyncio
import sys
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any, TypeVar

import click

from weatherglass.cli.errors import RunError, UsageError
from weatherglass.ehr.client.addresses import is_web_address
from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Tokens, Transport
from weatherglass.ehr.signing_in.backend_services import tokens_from
from weatherglass.ehr.signing_in.credentials import derived_secret, signing_key

_Command = TypeVar("_Command", bound=Callable[..., Any])
_Result = TypeVar("_Result")

_OPTIONS = (
    click.option(
        "--client-id",
        default=None,
        envvar="WEATHERGLASS_EHR_CLIENT_ID",
        help="What the server calls us (SMART Backend Services); or WEATHERGLASS_EHR_CLIENT_ID.",
    ),
    click.option(
        "--key",
        "key_file",
        default=None,
        envvar="WEATHERGLASS_EHR_KEY_FILE",
        help="File with our private key, PEM or JWK (RSA or P-384); or WEATHERGLASS_EHR_KEY_FILE.",
    ),
    click.option(
        "--scope",
        "scopes",
        multiple=True,
        help="What to ask for, instead of what the command needs; may be repeated.",
    ),
    click.option("--token-url", default=None, help="Token endpoint, when the server does not name it."),
    click.option(
        "--token-file",
        default=None,
        help="File with a ready access token; or the token itself in WEATHERGLASS_EHR_TOKEN.",
    ),
    click.option(
        "--concurrency",
        default=4,
        show_default=True,
        type=click.IntRange(1, 32),
        help="Requests under way at once.",
    ),
    click.option(
        "--timeout",
        default=30.0,
        show_default=True,
        type=click.FloatRange(1, 600),
        help="Seconds without an answer before a request is sent again.",
    ),
)


def server_options(command: _Command) -> _Command:
    """Give a command the options of signing in."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """Another FHIR server as a command line names it."""

    base: str
    client_id: str | None = None
    key_file: str | None = None
    scopes: tuple[str, ...] = ()
    token_url: str | None = None
    token_file: str | None = None
    concurrency: int = 4
    timeout: float = 30.0

    def __post_init__(self) -> None:
        """Refuse what cannot be an address."""
        if not is_web_address(self.base):
            raise UsageError(f"'{self.base}' is not a FHIR base address (http or https)")

    def transport(self, needed: tuple[str, ...]) -> Transport:
        """Return the way to the server, signed in as far as there is something to sign in with.

        Args:
            needed: Scopes that the command needs.

        Raises:
            SignInError: A file of a key or a token cannot be used.
        """
        retry = RetryPolicy(concurrency=self.concurrency, timeout=self.timeout)
        return Transport(base=self.base, retry=retry, tokens=self._tokens(retry, needed))

    def lasting_secret(self, purpose: str) -> str | None:
        """Return a secret that is the same at every start and tells nothing of the key it comes from.

        Args:
            purpose: What it is for; another purpose has another secret.

        Returns:
            None where nothing lasting is there to derive it from.

        Raises:
            SignInError: The file of the key cannot be used.
        """
        return derived_secret(signing_key(self.key_file), purpose) if self.key_file else None

    def _tokens(self, retry: RetryPolicy, needed: tuple[str, ...]) -> Tokens | None:
        found = tokens_from(
            lambda: Transport(base=self.base, retry=retry),
            token_file=self.token_file,
            token_variable="WEATHERGLASS_EHR_TOKEN",  # noqa: S106 - the name of a variable.
            client_id=self.client_id or None,
            key_file=self.key_file or None,
            scopes=self.scopes or needed,
            token_url=self.token_url,
        )
        if found is None and (self.client_id or self.key_file):
            raise UsageError("signing in needs both --client-id and --key")
        return found


def run(work: Coroutine[Any, Any, _Result]) -> _Result:
    """Run what a command does, and turn what went wrong between servers into a message.

    Raises:
        RunError: The other server could not be reached or refused.
    """
    try:
        return asyncio.run(work)
    except EhrError as fault:
        raise RunError(str(fault)) from None


def say(text: str) -> None:
    """Tell how far the work is, when somebody looks on."""
    if text and sys.stderr.isatty():
        click.echo(text, err=True)
