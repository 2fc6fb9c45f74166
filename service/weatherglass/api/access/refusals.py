"""Why a request is refused; `errors` says with which status."""

from collections.abc import Mapping
from typing import Self

from weatherglass.fhir.issues import Issue, IssueKey, Severity


class RefusedError(Exception):
    """A request that is refused, with the reasons that the caller is told."""

    def __init__(self, *issues: Issue, headers: Mapping[str, str] | None = None) -> None:
        """Keep the issues, and what the answer's head says; the message is the first one's text."""
        self.issues = issues
        self.headers = dict(headers or {})
        super().__init__(issues[0].text)

    @classmethod
    def of(
        cls, key: IssueKey, text: str, *, path: str = "", headers: Mapping[str, str] | None = None
    ) -> Self:
        """Return the refusal for one reason."""
        return cls(Issue(Severity.ERROR, key, path, text), headers=headers)


class NotAcceptableError(RefusedError):
    """The caller wants an answer in a format that we do not write."""


class UnsupportedMediaError(RefusedError):
    """The body is in a format that we do not read."""


class TooLargeError(RefusedError):
    """The body is larger than this service takes."""


class OverdueError(RefusedError):
    """The request waited too long to be worked on."""


class CostlyError(RefusedError):
    """The answer takes more work than one answer may."""


class SlowError(RefusedError):
    """The body does not arrive."""


class UnprocessableError(RefusedError):
    """The request is well formed but breaks a rule of the operation."""


class BusyError(RefusedError):
    """The service holds as many requests as it may."""


class PreconditionError(RefusedError):
    """Data that are needed were not sent and cannot be had."""


class UnauthorisedError(RefusedError):
    """The caller has not signed in, or the token is not believed."""


class ForbiddenError(RefusedError):
    """The caller has signed in and may not do this."""


class UnreachableKeysError(RefusedError):
    """Nobody can say at the moment whether a token is good."""


class WithheldError(RefusedError):
    """The answer has to be audited, and the audit cannot be written."""
