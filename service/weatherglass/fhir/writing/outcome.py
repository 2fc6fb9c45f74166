"""What was not used and why, as one OperationOutcome; always present."""

from collections.abc import Sequence

from weatherglass.fhir.issues import FHIR_TYPE, Issue, IssueKey, Severity
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph
from weatherglass.fhir.writing.frame.terms import Json, Terms, words_of

_ALL_USED = Issue(
    Severity.INFORMATION, IssueKey.ALL_USED, "", "Everything that was sent and is needed was used."
)


def write_outcome(
    issues: Sequence[Issue],
    terms: Terms,
    heading: str = "What was not used, or used with a reservation:",
) -> Json:
    """Write issues as an OperationOutcome; one information issue when there are none."""
    shown = issues or (_ALL_USED,)
    return {
        "resourceType": "OperationOutcome",
        "text": narrative(
            paragraph(heading if issues else _ALL_USED.text),
            bullets(f"{i.path}: {i.text}" if i.path else i.text for i in issues),
        ),
        "issue": [_issue(issue, terms) for issue in shown],
    }


def _issue(issue: Issue, terms: Terms) -> Json:
    written: Json = {
        "severity": issue.severity.value,
        "code": FHIR_TYPE[issue.key],
        "details": terms.concept("issue", issue.key.value, words_of(issue.key.value)),
        "diagnostics": issue.text,
    }
    if issue.path:
        written["expression"] = [one_line(issue.path)]
    return written
