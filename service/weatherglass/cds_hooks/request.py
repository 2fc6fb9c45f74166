"""The request of a CDS client, read strictly: the hook, whose it is, and what was sent.

Unknown fields are left alone, as the specification wants; what is wrong is named with
its place and never with its value.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

import msgspec
from msgspec import Raw, Struct

from weatherglass.cds_hooks.services import CdsService, Hook
from weatherglass.fhir.issues import IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import place_of_fault
from weatherglass.fhir.shells import require_single_keys_in

#: The id becomes part of an address; one or two dots alone would be a way out of it.
_FHIR_ID = re.compile(r"(?!\.{1,2}$)[A-Za-z0-9\-.]{1,64}")
_Part = TypeVar("_Part")


class _Authorization(Struct, gc=False):
    access_token: str
    token_type: str
    expires_in: float
    scope: str
    subject: str
    patient: str | None = None


class _Context(Struct, gc=False):
    userId: str
    patientId: str
    encounterId: str | None = None
    selections: tuple[str, ...] | None = None
    draftOrders: Raw = Raw()


class _Request(Struct, gc=False):
    hook: str
    hookInstance: str
    context: Raw
    fhirServer: str | None = None
    fhirAuthorization: _Authorization | None = None
    prefetch: Raw = Raw()


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One call of a service.

    Attributes:
        instance: Id of this trigger; cards are named after it.
        patient_id: Bare id of the patient.
        selections: Draft orders that were just selected; all of them when empty.
        drafts: The Bundle of draft orders, undecoded; empty when the hook has none.
        prefetch: What was sent, by key, undecoded.
        fhir_server: Where more could be had.
        token: Bearer token for that server.
    """

    service: CdsService
    hook: Hook
    instance: str
    patient_id: str
    selections: frozenset[str] = frozenset()
    drafts: bytes = b""
    prefetch: Mapping[str, bytes]
    fhir_server: str | None = None
    token: str | None = None

    @property
    def patient(self) -> str:
        """The patient as a record refers to it."""
        return f"Patient/{self.patient_id}"


_DECODER = msgspec.json.Decoder(_Request)
_CONTEXT = msgspec.json.Decoder(_Context)
_PREFETCH = msgspec.json.Decoder(dict[str, Raw] | None)


def read_call(body: bytes, service: CdsService) -> Call:
    """Read the body of a call.

    Raises:
        UnreadableError: It is not JSON, an element is missing or wrong, or the hook is
            not one of the service's.
    """
    try:
        request = _DECODER.decode(body)
        context = _part(_CONTEXT, request.context, "context")
        prefetch = _part(_PREFETCH, request.prefetch or Raw(b"null"), "prefetch") or {}
    except msgspec.ValidationError as fault:
        raise _bad("", str(fault).replace("`", "'")) from None
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
        where, what = place_of_fault(body)
        raise UnreadableError.of(
            IssueKey.NOT_JSON, f"Not valid JSON: {what}.", path=where, severity=Severity.FATAL
        ) from None
    hook = next((hook for hook in service.hooks if hook.value == request.hook), None)
    if hook is None:
        answers = " and ".join(hook.value for hook in service.hooks)
        raise _bad("hook", f"This service answers to {answers}.")
    authorization = request.fhirAuthorization
    require_single_keys_in(bytes(request.context), {"draftOrders": context.draftOrders}, "context")
    ours = {key: raw for key, raw in prefetch.items() if key in service.prefetch}
    require_single_keys_in(bytes(request.prefetch) or b"{}", ours, "prefetch")
    require_single_keys_in(body, {"prefetch": request.prefetch, "context": request.context}, "")
    _check(request, context)
    drafts = bytes(context.draftOrders)
    return Call(
        service=service,
        hook=hook,
        instance=request.hookInstance,
        patient_id=context.patientId,
        selections=frozenset(context.selections or ()),
        drafts=drafts if hook is not Hook.PATIENT_VIEW else b"",
        prefetch={key: bytes(raw) for key, raw in prefetch.items()},
        fhir_server=request.fhirServer,
        token=authorization.access_token if authorization is not None else None,
    )


def _part(decoder: msgspec.json.Decoder[_Part], raw: Raw, name: str) -> _Part:
    """Decode a part of the call; what is wrong with it is named from the whole."""
    try:
        return decoder.decode(raw)
    except msgspec.ValidationError as fault:
        what, at, path = str(fault).partition(" - at `$")
        raise msgspec.ValidationError(f"{what} - at `$.{name}{path if at else '`'}") from None


def _check(request: _Request, context: _Context) -> None:
    authorization = request.fhirAuthorization
    try:
        UUID(request.hookInstance)
    except ValueError:
        raise _bad("hookInstance", "Expected a UUID.") from None
    if not _FHIR_ID.fullmatch(context.patientId):
        raise _bad("context.patientId", "Expected the bare id of the patient.")
    if not context.userId:
        raise _bad("context.userId", "Who looks at the record is missing.")
    if request.hook != Hook.PATIENT_VIEW and not context.draftOrders:
        raise _bad("context.draftOrders", "The Bundle of draft orders is missing.")
    if request.hook == Hook.ORDER_SELECT and context.selections is None:
        raise _bad("context.selections", "The selected draft orders are missing.")
    if authorization is None:
        return
    if request.fhirServer is None:
        raise _bad("fhirServer", "A token was sent without the server that it is for.")
    if authorization.token_type != "Bearer":  # noqa: S105 - the one kind of token there is.
        raise _bad("fhirAuthorization.token_type", "Expected 'Bearer'.")
    if authorization.patient is not None and authorization.patient != context.patientId:
        raise _bad("fhirAuthorization.patient", "The token is for another patient than the context.")


def _bad(path: str, text: str) -> UnreadableError:
    return UnreadableError.of(IssueKey.BAD_PARAMETER, text, path=path)
