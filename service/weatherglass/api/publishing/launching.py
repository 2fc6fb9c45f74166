"""What the page must know to open a record with the reader's own sign-in (SMART App Launch 2.2).

The page is a public client: it signs in, reads the record and holds the token, all in the
reader's browser. The service only says at which servers, and takes what was read.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from weatherglass.api.settings import Settings
from weatherglass.ehr.client.addresses import origin_of, without_slash
from weatherglass.ehr.fetching.needed import NEEDED_TYPES, SEARCHED_TYPES, search_for

#: Where a record system starts the page, and where it comes back to.
LAUNCH, BACK = "/launch", "/launch/back"
#: Stands in the searches where the patient's id goes.
_PATIENT = "{patient}"
#: Without these there is no review: silence about them would look like an all-clear.
_REQUIRED = ("Patient", "Observation")


@dataclass(frozen=True, slots=True, kw_only=True)
class Launching:
    """What the page is told.

    Attributes:
        servers: Base address and client id of each FHIR server.
        origins: Where else they may let people sign in.
        scopes: What to ask for, instead of reading each type.
        types: The types to ask for.
        required: Types without which nothing is reviewed.
        searches: What to ask for, by type.
        back: Path that the sign-in comes back to.
        most_bytes: How much the service takes.
        shows_token: Whether the service wants to see the token with what was read.
    """

    servers: tuple[tuple[str, str], ...]
    origins: tuple[str, ...]
    scopes: tuple[str, ...]
    types: tuple[str, ...]
    required: tuple[str, ...]
    searches: dict[str, str]
    back: str
    most_bytes: int
    shows_token: bool

    def as_json(self) -> dict[str, Any]:
        """Return it as it stands in the page."""
        return asdict(self)


def launching(settings: Settings) -> Launching | None:
    """Return what the page is told; None when no server is set up."""
    if not settings.launch_servers:
        return None
    searches = {"Patient": f"Patient/{_PATIENT}"}
    searches |= {kind: search_for(kind, _PATIENT) for kind in SEARCHED_TYPES}
    return Launching(
        servers=tuple((without_slash(base), client) for base, client in settings.launch_servers.items()),
        origins=settings.launch_sign_in_origins,
        scopes=settings.launch_scopes,
        types=NEEDED_TYPES,
        required=_REQUIRED,
        searches=searches,
        back=BACK,
        most_bytes=settings.max_body_bytes,
        shows_token=settings.checks_tokens,
    )


def launch_address(settings: Settings, fhir_server: str | None) -> str | None:
    """Return where a record system starts the page; None when that server is not set up.

    Args:
        settings: The settings.
        fhir_server: Base address of the server that asks; any when None.
    """
    known = {without_slash(base) for base in settings.launch_servers}
    if not known or (fhir_server is not None and without_slash(fhir_server) not in known):
        return None
    return f"{without_slash(settings.base_url)}{LAUNCH}"


def asked_origins(settings: Settings) -> Iterable[str]:
    """Return every origin that the page may ask, each once."""
    servers = (origin_of(base) for base in settings.launch_servers)
    return dict.fromkeys((*servers, *settings.launch_sign_in_origins))
