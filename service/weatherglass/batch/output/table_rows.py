"""A patient's rows of the tables, on their way from the review to the whole files.

Rows travel as lines of JSON in sections of their own, in the order of patients like every
other section, so that engine and number of workers change nothing.
"""

from collections.abc import Iterable, Iterator, Sequence

from weatherglass.batch.output.line_outcomes import Reason
from weatherglass.fhir.issues import Severity
from weatherglass.pipeline import Answer
from weatherglass.tables.rows import Row, issue_rows, line_of, not_reviewed, rows_of
from weatherglass.tables.schema import ISSUES, PATIENTS

#: What the names of their sections begin with.
TABLE = "table-"
Sections = Iterator[tuple[str, list[bytes]]]


def table_lines(patient: str, people: Sequence[tuple[str, str]], answer: Answer | None) -> Sections:
    """Yield the lines of a patient by section.

    Args:
        patient: The name under which the lines came together.
        people: How the input refers to each person, with why there is no review; empty when there is one.
        answer: What the review came to; None when it failed.
    """
    refused = [not_reviewed(person, "refused", why) for person, why in people if why]
    if refused:
        yield _section(PATIENTS.name, refused)
    for review in answer.reviews if answer is not None else ():
        for name, rows in rows_of(review).items():
            yield _section(name, rows)
    if answer is not None:
        yield _section(ISSUES.name, issue_rows(answer.issues, patient))


def unchanged_lines(people: Iterable[str]) -> Sections:
    """Yield the lines of people without new lines: the tables of the earlier run hold the rest."""
    yield _section(PATIENTS.name, [not_reviewed(person, "unchanged") for person in people])


def nobodys_lines(reasons: Sequence[tuple[str, Reason]]) -> Sections:
    """Yield the lines about resources that are nobody's, each reason behind the resource's name."""
    rows: list[Row] = [
        {
            "severity": Severity.ERROR.value,
            "code": reason.issue,
            "place": f"{name}.{reason.at}" if reason.at else name,
            "text": reason.text,
        }
        for name, reason in reasons
    ]
    yield _section(ISSUES.name, rows)


def _section(name: str, rows: Sequence[Row]) -> tuple[str, list[bytes]]:
    return TABLE + name, [line_of(row) for row in rows]
