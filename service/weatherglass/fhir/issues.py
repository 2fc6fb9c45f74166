"""What could not be used, where it stood, why, and what to send instead.

Every problem of an input becomes an `Issue` with a path into the request. Texts
are ours and carry no value of the input: no names, dates of birth or free text.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.plain import Plain


class Severity(StrEnum):
    """Severity as FHIR names it."""

    FATAL = "fatal"
    ERROR = "error"
    WARNING = "warning"
    INFORMATION = "information"


class IssueKey(StrEnum):
    """Our stable issue codes, each with the FHIR issue type it is sent as (R4 value set issue-type)."""

    fhir_type: str

    def __new__(cls, key: str, fhir_type: str = "") -> Self:
        """Return a member that is its key."""
        member = str.__new__(cls, key)
        member._value_ = key
        member.fhir_type = fhir_type
        return member

    NOT_JSON = "not-json", "structure"
    DUPLICATE_KEY = "duplicate-key", "structure"
    TOO_DEEP = "too-deep", "structure"
    NUMBER_TOO_LONG = "number-too-long", "value"
    WRONG_TYPE = "wrong-type", "structure"
    WRONG_RESOURCE = "wrong-resource", "structure"
    EMPTY = "empty", "required"
    NO_PATIENT = "no-patient", "required"
    MISSING_ELEMENT = "missing-element", "required"
    BAD_TIME = "bad-time", "value"
    PARTIAL_TIME = "partial-time", "value"
    NO_TIME = "no-time", "required"
    LATER_THAN_AS_OF = "later-than-as-of", "informational"
    NOT_FINAL = "not-final", "informational"
    PRELIMINARY = "preliminary", "informational"
    UNIT_MISSING = "unit-missing", "value"
    UNIT_UNKNOWN = "unit-unknown", "value"
    UNIT_BY_NAME = "unit-by-name", "code-invalid"
    VALUE_MISSING = "value-missing", "value"
    VALUE_NOT_USABLE = "value-not-usable", "not-supported"
    VALUE_UNKNOWN = "value-unknown", "code-invalid"
    IMPLAUSIBLE = "implausible", "value"
    COMPARATOR = "comparator", "value"
    CONFLICT = "conflict", "conflict"
    DUPLICATE = "duplicate", "duplicate"
    CODE_NOT_USED = "code-not-used", "informational"
    RESOURCE_NOT_USED = "resource-not-used", "informational"
    REFERENCE_NOT_FOUND = "reference-not-found", "not-found"
    MODIFIER = "modifier-not-supported", "not-supported"
    INCOMPLETE_BUNDLE = "incomplete-bundle", "incomplete"
    MEDICINE_NOT_RECOGNISED = "medicine-not-recognised", "code-invalid"
    DELETED = "deleted", "informational"
    NOT_THE_PATIENT = "not-about-the-patient", "not-supported"
    BAD_PARAMETER = "bad-parameter", "value"
    TOO_LARGE = "too-large", "too-long"
    ALL_USED = "all-used", "informational"
    INVALID = "invalid-resource", "structure"
    SEVERAL_PATIENTS = "several-patients", "business-rule"
    WRONG_ADDRESS = "wrong-address", "not-found"
    WRONG_METHOD = "wrong-method", "not-supported"
    WRONG_FORMAT = "wrong-format", "not-supported"
    BUSY = "busy", "throttled"
    TOO_COSTLY = "too-costly", "too-costly"
    NOT_SIGNED_IN = "not-signed-in", "login"
    TOKEN_EXPIRED = "token-expired", "expired"
    NOT_ALLOWED = "not-allowed", "forbidden"
    FAULT = "fault", "exception"
    MORE = "more-of-these", "informational"


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


class _Row(Columns, frozen=True):
    name: str
    severity: Severity
    key: IssueKey
    text: str


_ROWS = {row.name: row for row in csv_rows("issues.csv", _Row)}


def named_issue(name: str, path: str, patient: str = "", **said: object) -> Issue:
    """Return an issue of `knowledge/issues.csv`, with what its text leaves open filled in."""
    row = _ROWS[name]
    return Issue(row.severity, row.key, path, row.text.format(**said) if said else row.text, patient)


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
