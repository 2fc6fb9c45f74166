"""What could not be used, where it stood, why, and what to send instead.

Every problem of an input becomes an `Issue` with a path into the request. Texts
are ours and carry no value of the input: no names, dates of birth or free text.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from weatherglass.model.plain import Plain


class Severity(StrEnum):
    """Severity as FHIR names it."""

    FATAL = "fatal"
    ERROR = "error"
    WARNING = "warning"
    INFORMATION = "information"


class IssueKey(StrEnum):
    """Our stable issue codes, each with the FHIR issue type it is sent as."""

    NOT_JSON = "not-json"
    DUPLICATE_KEY = "duplicate-key"
    TOO_DEEP = "too-deep"
    NUMBER_TOO_LONG = "number-too-long"
    WRONG_TYPE = "wrong-type"
    WRONG_RESOURCE = "wrong-resource"
    EMPTY = "empty"
    NO_PATIENT = "no-patient"
    MISSING_ELEMENT = "missing-element"
    BAD_TIME = "bad-time"
    PARTIAL_TIME = "partial-time"
    NO_TIME = "no-time"
    LATER_THAN_AS_OF = "later-than-as-of"
    NOT_FINAL = "not-final"
    PRELIMINARY = "preliminary"
    UNIT_MISSING = "unit-missing"
    UNIT_UNKNOWN = "unit-unknown"
    UNIT_BY_NAME = "unit-by-name"
    VALUE_MISSING = "value-missing"
    VALUE_NOT_USABLE = "value-not-usable"
    VALUE_UNKNOWN = "value-unknown"
    IMPLAUSIBLE = "implausible"
    COMPARATOR = "comparator"
    CONFLICT = "conflict"
    DUPLICATE = "duplicate"
    CODE_NOT_USED = "code-not-used"
    RESOURCE_NOT_USED = "resource-not-used"
    REFERENCE_NOT_FOUND = "reference-not-found"
    MODIFIER = "modifier-not-supported"
    INCOMPLETE_BUNDLE = "incomplete-bundle"
    MEDICINE_NOT_RECOGNISED = "medicine-not-recognised"
    DELETED = "deleted"
    NOT_THE_PATIENT = "not-about-the-patient"
    BAD_PARAMETER = "bad-parameter"
    TOO_LARGE = "too-large"
    ALL_USED = "all-used"
    INVALID = "invalid-resource"
    SEVERAL_PATIENTS = "several-patients"
    WRONG_ADDRESS = "wrong-address"
    WRONG_METHOD = "wrong-method"
    WRONG_FORMAT = "wrong-format"
    BUSY = "busy"
    TOO_COSTLY = "too-costly"
    NOT_SIGNED_IN = "not-signed-in"
    TOKEN_EXPIRED = "token-expired"  # noqa: S105 - a code, not a token.
    NOT_ALLOWED = "not-allowed"
    FAULT = "fault"
    MORE = "more-of-these"


#: The FHIR issue type each of our codes is sent as (R4 value set issue-type).
FHIR_TYPE: dict[IssueKey, str] = {
    IssueKey.NOT_JSON: "structure",
    IssueKey.DUPLICATE_KEY: "structure",
    IssueKey.TOO_DEEP: "structure",
    IssueKey.NUMBER_TOO_LONG: "value",
    IssueKey.WRONG_TYPE: "structure",
    IssueKey.WRONG_RESOURCE: "structure",
    IssueKey.EMPTY: "required",
    IssueKey.NO_PATIENT: "required",
    IssueKey.MISSING_ELEMENT: "required",
    IssueKey.BAD_TIME: "value",
    IssueKey.PARTIAL_TIME: "value",
    IssueKey.NO_TIME: "required",
    IssueKey.LATER_THAN_AS_OF: "informational",
    IssueKey.NOT_FINAL: "informational",
    IssueKey.PRELIMINARY: "informational",
    IssueKey.UNIT_MISSING: "value",
    IssueKey.UNIT_UNKNOWN: "value",
    IssueKey.UNIT_BY_NAME: "code-invalid",
    IssueKey.VALUE_MISSING: "value",
    IssueKey.VALUE_NOT_USABLE: "not-supported",
    IssueKey.VALUE_UNKNOWN: "code-invalid",
    IssueKey.IMPLAUSIBLE: "value",
    IssueKey.COMPARATOR: "value",
    IssueKey.CONFLICT: "conflict",
    IssueKey.DUPLICATE: "duplicate",
    IssueKey.CODE_NOT_USED: "informational",
    IssueKey.RESOURCE_NOT_USED: "informational",
    IssueKey.REFERENCE_NOT_FOUND: "not-found",
    IssueKey.MODIFIER: "not-supported",
    IssueKey.INCOMPLETE_BUNDLE: "incomplete",
    IssueKey.MEDICINE_NOT_RECOGNISED: "code-invalid",
    IssueKey.DELETED: "informational",
    IssueKey.NOT_THE_PATIENT: "not-supported",
    IssueKey.BAD_PARAMETER: "value",
    IssueKey.TOO_LARGE: "too-long",
    IssueKey.ALL_USED: "informational",
    IssueKey.INVALID: "structure",
    IssueKey.SEVERAL_PATIENTS: "business-rule",
    IssueKey.WRONG_ADDRESS: "not-found",
    IssueKey.WRONG_METHOD: "not-supported",
    IssueKey.WRONG_FORMAT: "not-supported",
    IssueKey.BUSY: "throttled",
    IssueKey.TOO_COSTLY: "too-costly",
    IssueKey.NOT_SIGNED_IN: "login",
    IssueKey.TOKEN_EXPIRED: "expired",
    IssueKey.NOT_ALLOWED: "forbidden",
    IssueKey.FAULT: "exception",
    IssueKey.MORE: "informational",
}


@dataclass(frozen=True, slots=True)
class Issue:
    """One thing that was not used, or used with a reservation.

    Attributes:
        path: Where it stands in the request ("Bundle.entry[7].resource.valueQuantity").
        text: What is wrong and what to send instead, without any value of the input.
        patient: Key of the patient it belongs to, empty when it belongs to none.
    """

    severity: Severity
    key: IssueKey
    path: str
    text: str
    patient: str = ""


class Same(Plain, frozen=True):
    """Issues that say the same, with every place that they say it of.

    Attributes:
        issue: The first of them.
        paths: Where each stands; empty where none has a place.
    """

    issue: Issue
    paths: tuple[str, ...]
    times: int

    @property
    def text(self) -> str:
        """What they say, and how often."""
        return self.issue.text if self.times == 1 else f"{self.issue.text} ({self.times} times)"

    @property
    def place(self) -> str:
        """The first place, and how many more there are; empty where there is none."""
        if len(self.paths) < 2:
            return self.issue.path
        more = len(self.paths) - 1
        return f"{self.paths[0]} and {more} more place{'s' if more > 1 else ''}"

    @property
    def line(self) -> str:
        """Place and text in one line."""
        return f"{self.place}: {self.text}" if self.place else self.text


def issues_of(patient: str, issues: Iterable[Issue]) -> list[Issue]:
    """Return the issues of one patient, by the origin, and those that are nobody's."""
    return [issue for issue in issues if issue.patient in ("", patient)]


def grouped(issues: Iterable[Issue]) -> tuple[Same, ...]:
    """Put issues together that differ in their place alone; each group stands where its first one did."""
    found: dict[tuple[Severity, IssueKey, str, str], list[Issue]] = {}
    for issue in issues:
        found.setdefault((issue.severity, issue.key, issue.text, issue.patient), []).append(issue)
    return tuple(
        Same(each[0], tuple(issue.path for issue in each if issue.path), len(each)) for each in found.values()
    )


class UnreadableError(ValueError):
    """The request as a whole cannot be read.

    Attributes:
        issues: Why, one or more.
    """

    def __init__(self, *issues: Issue) -> None:
        """Keep the issues; the message is the first one's text."""
        self.issues = issues
        super().__init__(issues[0].text)

    @classmethod
    def of(cls, key: IssueKey, text: str, *, path: str = "", severity: Severity = Severity.ERROR) -> Self:
        """Return the error of one issue."""
        return cls(Issue(severity, key, path, text))
