"""What resources are sent in: Bundles, Parameters and outcomes, as msgspec structs.

Entries stay raw until their own turn, so that one bad resource becomes an issue and takes nothing else with
it.
"""

from msgspec import Raw, Struct


class Request(Struct, gc=False):
    """The HTTP verb of an entry of a history or transaction Bundle."""

    method: str | None = None
    url: str | None = None


class Response(Struct, gc=False):
    """What a server answered to an entry of a history."""

    lastModified: str | None = None
    etag: str | None = None


class Search(Struct, gc=False):
    """Why an entry is in a search result."""

    mode: str | None = None


class Link(Struct, gc=False):
    """A link of a Bundle."""

    relation: str = ""
    url: object = None


class Entry(Struct, gc=False):
    """One entry of a Bundle, its resource still undecoded."""

    fullUrl: str | None = None
    resource: Raw = Raw()
    request: Request | None = None
    response: Response | None = None
    search: Search | None = None


class Bundle(Struct, gc=False):
    """A container of resources."""

    resourceType: str
    type: str | None = None
    link: tuple[Link, ...] = ()
    entry: tuple[Entry, ...] = ()


class Parameter(Struct, gc=False):
    """One named parameter of an operation."""

    name: str
    resource: Raw = Raw()
    valueDateTime: str | None = None
    valueInstant: str | None = None
    valueCode: str | None = None
    valueString: str | None = None
    valueBoolean: bool | None = None
    valueUri: str | None = None


class Parameters(Struct, gc=False):
    """The input of an operation."""

    resourceType: str
    parameter: tuple[Parameter, ...] = ()


class Named(Struct, gc=False):
    """Any resource, just far enough to know what it is."""

    resourceType: str
    id: str | None = None


class OutcomeIssue(Struct, gc=False):
    """One thing that a server says of its answer."""

    severity: str | None = None
    code: str | None = None


class OperationOutcome(Struct, gc=False):
    """What a server says of its answer."""

    resourceType: str
    issue: tuple[OutcomeIssue, ...] = ()
