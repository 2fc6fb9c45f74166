"""What was not used and why, as one OperationOutcome; always present."""

from collections.abc import Sequence

from weatherglass.fhir.issues import Issue, IssueKey, Same, Severity, grouped
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.writing.frame.terms import Json, Terms

_ALL_USED = Issue(
    Severity.INFORMATION, IssueKey.ALL_USED, "", "Everything that was sent and is needed was used."
)

#: How many places of one and the same issue are written; the text counts them all.
_PLACES = 50


def write_outcome(issues: Sequence[Issue], terms: Terms) -> Json:
    """Write issues as an OperationOutcome; one information issue when there are none.

    Issues that differ in their place alone are one issue with several expressions.
    """
    return {
        "resourceType": "OperationOutcome",
        "issue": [_issue(each, terms) for each in grouped(issues) or grouped((_ALL_USED,))],
    }


def _issue(same: Same, terms: Terms) -> Json:
    issue = same.issue
    written: Json = {
        "severity": issue.severity.value,
        "code": issue.key.fhir_type,
        "details": {"coding": [terms.coding("issue", issue.key.value)]},
        "diagnostics": same.text,
    }
    if same.paths:
        written["expression"] = [one_line(path) for path in same.paths[:_PLACES]]
    return written
