"""What a server says it can do, as far as we need to know it."""

from dataclasses import dataclass, field

import msgspec
from msgspec import Struct

from weatherglass.ehr.client.faults import UnexpectedAnswerError
from weatherglass.ehr.client.transport import Transport
from weatherglass.fhir.decoding import UNREADABLE


class _Named(Struct, gc=False):
    name: str = ""


class _Coded(Struct, gc=False):
    code: str = ""


class _Resource(Struct, gc=False):
    type: str = ""
    searchParam: tuple[_Named, ...] = ()
    operation: tuple[_Named, ...] = ()


class _Rest(Struct, gc=False):
    resource: tuple[_Resource, ...] = ()
    interaction: tuple[_Coded, ...] = ()
    operation: tuple[_Named, ...] = ()


class _Statement(Struct, gc=False):
    resourceType: str
    fhirVersion: str = ""
    rest: tuple[_Rest, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Capabilities:
    """What we ask a CapabilityStatement about.

    Attributes:
        version: FHIR version.
        searches: Search parameters by resource type.
        operations: Operations by resource type; those of the whole server under "".
        transactions: Whether the server takes transaction Bundles.
    """

    version: str
    searches: dict[str, frozenset[str]] = field(default_factory=dict)
    operations: dict[str, frozenset[str]] = field(default_factory=dict)
    transactions: bool = False

    def searches_by(self, kind: str, parameter: str) -> bool:
        """Tell whether a type can be searched by a parameter."""
        return parameter in self.searches.get(kind, frozenset())

    def knows(self, kind: str) -> bool:
        """Tell whether the server names a type at all; a server that names none knows all."""
        return not self.searches or kind in self.searches


async def read_capabilities(transport: Transport) -> Capabilities:
    """Read `/metadata`.

    Raises:
        EhrError: The server is not there.
        UnexpectedAnswerError: It is not a FHIR R4 server.
    """
    answer = await transport.ask("GET", "metadata", "read the CapabilityStatement", authorised=False)
    try:
        statement = msgspec.json.decode(answer.body, type=_Statement)
    except UNREADABLE:
        raise UnexpectedAnswerError(
            "read the CapabilityStatement", "the answer is none; is this the FHIR base address?"
        ) from None
    if statement.resourceType != "CapabilityStatement":
        raise UnexpectedAnswerError("read the CapabilityStatement", "the answer is another resource")
    if statement.fhirVersion and not statement.fhirVersion.startswith("4.0"):
        raise UnexpectedAnswerError(
            "read the CapabilityStatement", f"the server speaks FHIR {statement.fhirVersion[:10]}, not R4"
        )
    resources = [resource for rest in statement.rest for resource in rest.resource]
    operations = {r.type: frozenset(_plain(o.name) for o in r.operation) for r in resources}
    operations[""] = frozenset(_plain(o.name) for rest in statement.rest for o in rest.operation)
    return Capabilities(
        version=statement.fhirVersion,
        searches={r.type: frozenset(p.name for p in r.searchParam) for r in resources},
        operations=operations,
        transactions=any(i.code == "transaction" for rest in statement.rest for i in rest.interaction),
    )


def _plain(operation: str) -> str:
    return operation.lstrip("$")
