"""What may be told about a request once it is done: counts and codes, nothing of a patient.

Whoever reviews adds to the facts of the request at hand. Metrics, the log, traces and
the audit read them when the answer has gone. Only our own words travel: kinds,
urgencies, issue codes. There is no field that could hold a name, a reference or a value.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from time import perf_counter
from typing import NamedTuple

from weatherglass.fhir.issues import Issue, IssueKey
from weatherglass.model.review import Review


class Phase(NamedTuple):
    """A part of the work on one request, in seconds since the request began."""

    name: str
    begin: float
    end: float


@dataclass(slots=True)
class RequestFacts:
    """What is known about one request.

    Attributes:
        began: When it began, on a clock that nobody sets.
        patients: How many reviews were made for a program that asked.
        shown: How many patients were looked at on the page.
        findings: How many findings, by kind and urgency.
        unusable: How many inputs were not used or used with a reservation, by our code and severity.
        client: Who asked, as the token says; empty when nobody signed in.
        phases: What the time went into.
    """

    began: float = field(default_factory=perf_counter)
    patients: int = 0
    shown: int = 0
    findings: Counter[tuple[str, str]] = field(default_factory=Counter)
    unusable: Counter[tuple[str, str]] = field(default_factory=Counter)
    client: str = ""
    phases: list[Phase] = field(default_factory=list)

    @property
    def records(self) -> int:
        """How many patients' records were read, whoever asked."""
        return self.patients + self.shown

    @property
    def seconds(self) -> float:
        """How long ago the request began."""
        return perf_counter() - self.began


_AT_HAND: ContextVar[RequestFacts | None] = ContextVar("facts of the request at hand", default=None)


def begin() -> RequestFacts:
    """Start the facts of a request; worker threads that it starts share them."""
    facts = RequestFacts()
    _AT_HAND.set(facts)
    return facts


def note_client(client: str) -> None:
    """Note who asked."""
    facts = _AT_HAND.get()
    if facts is not None:
        facts.client = client


def note_reviews(reviews: Iterable[Review]) -> None:
    """Count what reviews found."""
    facts = _AT_HAND.get()
    if facts is None:
        return
    for review in reviews:
        facts.patients += 1
        for finding in review.findings:
            facts.findings[finding.kind.value, finding.urgency.word] += 1


def note_shown(patients: int) -> None:
    """Count patients who were looked at on the page.

    Their findings are not counted: somebody who looks twice has not been alerted twice,
    and the counts of findings are what a site measures its alerts by.
    """
    facts = _AT_HAND.get()
    if facts is not None:
        facts.shown += patients


def note_issues(issues: Iterable[Issue]) -> None:
    """Count what could not be used, and why."""
    facts = _AT_HAND.get()
    if facts is None:
        return
    for issue in issues:
        if issue.key is not IssueKey.ALL_USED:
            facts.unusable[issue.key.value, issue.severity.value] += 1


def noting(reviews: Iterator[Review], issues: list[Issue]) -> Iterator[Review]:
    """Pass reviews on one by one, counting each; the issues are counted after the last.

    Args:
        reviews: The reviews as they are made.
        issues: What was found on the way; grows while the reviews are made.
    """
    for review in reviews:
        note_reviews((review,))
        yield review
    note_issues(issues)


@contextmanager
def phase(name: str) -> Iterator[None]:
    """Note how long a part of the work takes."""
    facts = _AT_HAND.get()
    if facts is None:
        yield
        return
    begun = facts.seconds
    try:
        yield
    finally:
        facts.phases.append(Phase(name, begun, facts.seconds))
