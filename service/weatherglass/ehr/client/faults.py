"""What can go wrong between us and another server, in sentences without patient data.

Messages name the kind of request and the status, never an address with a query, an
id or the words of a foreign OperationOutcome: those may say who the patient is.
"""

from collections.abc import Iterable

from weatherglass.fhir.containers import OperationOutcome
from weatherglass.fhir.decoding import UNREADABLE, decode


class EhrError(Exception):
    """A request to another server did not come to anything.

    Attributes:
        what: What was being done ("search Observation").
        why: What happened, and what to do about it.
        status: HTTP status, when the server answered.
        codes: Issue types of the server's OperationOutcome.
    """

    def __init__(self, what: str, why: str, *, status: int | None = None, codes: Iterable[str] = ()) -> None:
        self.what = what
        self.why = why
        self.status = status
        self.codes = tuple(codes)
        said = f" (HTTP {status})" if status is not None else ""
        named = f"; the server names: {', '.join(self.codes)}" if self.codes else ""
        super().__init__(f"{what}: {why}{said}{named}")


#: Statuses by which a server says "not now"; 500 is what many send when they mean that.
BUSY = frozenset({408, 425, 429, 500, 502, 503, 504})


class UnreachableError(EhrError):
    """The server did not answer, however often it was asked."""


class BrokenOffError(UnreachableError):
    """The answer broke off on the way."""


class RefusedError(EhrError):
    """The server answered and said no."""


class SignInError(EhrError):
    """We could not get an access token."""


class UnexpectedAnswerError(EhrError):
    """The server answered with something that is not what the standard says."""


def may_pass(fault: Exception) -> bool:
    """Tell whether the same request may come to something later, without anybody changing it.

    Examples:
        >>> may_pass(RefusedError("search", "refused", status=503))
        True
        >>> may_pass(RefusedError("search", "refused", status=403))
        False
    """
    if isinstance(fault, RefusedError):
        return fault.status in BUSY
    # Keys are rotated and clocks set right while we wait.
    return isinstance(fault, UnreachableError | SignInError)


def outcome_codes(body: bytes) -> tuple[str, ...]:
    """Return the issue types of an OperationOutcome; nothing when the body is none.

    Examples:
        >>> outcome_codes(b'{"resourceType":"OperationOutcome","issue":[{"code":"throttled"}]}')
        ('throttled',)
        >>> outcome_codes(b"<html>")
        ()
    """
    try:
        outcome = decode(body, OperationOutcome)
    except UNREADABLE:
        return ()
    # An issue type is one short word of a value set; anything else is not repeated.
    codes = (issue.code or "" for issue in outcome.issue)
    return tuple(dict.fromkeys(code for code in codes if code.replace("-", "").isalpha() and len(code) < 24))


def is_serious(body: bytes) -> bool:
    """Tell whether an OperationOutcome reports an error; what is not readable counts as one."""
    try:
        outcome = decode(body, OperationOutcome)
    except UNREADABLE:
        return True
    return any(issue.severity not in ("warning", "information") for issue in outcome.issue)
