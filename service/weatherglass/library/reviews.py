"""What `weatherglass.review` returns: reviews that a program reads, a notebook shows and a table takes."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Any, overload

from weatherglass.fhir.issues import Issue, Severity, grouped, issues_of
from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.model.findings import Finding, is_pressing, stands_beside
from weatherglass.model.review import Review
from weatherglass.model.words.call_words import call_line
from weatherglass.pipeline import Answer
from weatherglass.stamp import stamp
from weatherglass.tables.arrow import ArrowTable
from weatherglass.tables.rows import Row, issue_rows, rows_of
from weatherglass.tables.schema import BY_NAME, ISSUES


@dataclass(frozen=True, slots=True, repr=False)
class PatientReview:
    """The review of one patient.

    Attributes:
        review: The whole of it, as every door has it.
        issues: What of the record was not used, or used with a reservation.
    """

    review: Review
    issues: tuple[Issue, ...]

    @property
    def patient(self) -> str:
        """How the record refers to the patient."""
        return str(self.review.subject.origin)

    @property
    def as_of(self) -> datetime | None:
        """Moment of the review."""
        return self.review.as_of

    @property
    def urgency(self) -> str:
        """The word at the head: "emergency", "urgent", "prompt", "routine", or "not assessed" and why."""
        return self.review.standing

    @property
    def headline(self) -> str:
        """What comes first, in sentences."""
        return self.review.headline

    @property
    def call(self) -> str:
        """Whom to call and by when, in a sentence; empty where nobody is called."""
        call = self.review.escalation
        return call_line(call, self.review.clock) if call is not None else ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings in the order of the review: A to E, the most urgent first."""
        return self.review.findings

    def __repr__(self) -> str:
        """Say how urgent, and how much there is; nothing of the person."""
        counts = f"{_said(self.findings, 'finding')}, {_said(self.issues, 'issue')}"
        return f"<PatientReview: {self.urgency}, {counts}>"

    def _repr_html_(self) -> str:
        return reviews_html([self.review], self.issues)


class Reviews(Sequence[PatientReview]):
    """The reviews of a record, one a patient, in the order of the record.

    Attributes:
        issues: What was not used, of any patient or of none.
    """

    def __init__(self, answer: Answer) -> None:
        """Keep the answer of the pipeline."""
        self._answer = answer
        self.issues = answer.issues
        self._reviews = tuple(_of_patient(one, answer.issues) for one in answer.reviews)

    def __len__(self) -> int:
        """How many patients were reviewed."""
        return len(self._reviews)

    @overload
    def __getitem__(self, place: int) -> PatientReview: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[PatientReview, ...]: ...
    def __getitem__(self, place: int | slice) -> PatientReview | tuple[PatientReview, ...]:
        """Return the review of one patient, or of some."""
        return self._reviews[place]

    def __iter__(self) -> Iterator[PatientReview]:
        """Yield the reviews."""
        return iter(self._reviews)

    def fhir_json(self, *, detail: str = "full") -> bytes:
        """Return the reviews as a FHIR R4 Bundle, the bytes that the service answers with.

        Args:
            detail: "brief", "full" or "history".
        """
        return self._answer.collection(stamp(), detail=Detail(detail))

    def fhir(self, *, detail: str = "full") -> dict[str, Any]:
        """Return the same as a dict."""
        bundle: dict[str, Any] = json.loads(self.fhir_json(detail=detail))
        return bundle

    def findings_table(self) -> ArrowTable:
        """Return one row a finding; whatever takes an Arrow stream takes it (pyarrow, Polars, DuckDB)."""
        return self.table("findings")

    def table(self, name: str) -> ArrowTable:
        """Return one of the tables: patients, findings, measures, scores, levels, medicines, issues.

        Raises:
            KeyError: There is no table of that name.
        """
        table = BY_NAME[name]
        if table is ISSUES:
            return ArrowTable(table, issue_rows(self.issues))
        rows: list[Row] = [row for one in self._answer.reviews for row in rows_of(one)[table.name]]
        return ArrowTable(table, rows)

    def __repr__(self) -> str:
        """Say how many patients of what urgency; nothing of the persons."""
        if not self._reviews:
            return f"<Reviews: nothing could be reviewed, {_said(self.issues, 'issue')}>"
        words = [one.urgency for one in self]
        counts = ", ".join(f"{words.count(word)} {word}" for word in dict.fromkeys(words))
        return f"<Reviews: {_said(self, 'patient')} ({counts}), {_said(self.issues, 'issue')}>"

    def _repr_html_(self) -> str:
        return reviews_html(self._answer.reviews, self.issues)


def _said(several: Sequence[object], name: str) -> str:
    return f"{len(several)} {name}{'' if len(several) == 1 else 's'}"


def _of_patient(review: Review, issues: Sequence[Issue]) -> PatientReview:
    return PatientReview(review, tuple(issues_of(review.subject.origin, issues)))


# Reviews as a few lines of HTML for a notebook, without names: notebooks are saved and sent on.


def reviews_html(reviews: Sequence[Review], issues: Sequence[Issue]) -> str:
    """Return reviews as HTML: the head, what asks for something, the rest folded, what was not used."""
    if not reviews:
        return f"<p><strong>Nothing could be reviewed.</strong></p>{''.join(_issues(issues))}"
    return "".join([*(piece for one in reviews for piece in _review(one)), *_issues(issues)])


def _review(review: Review) -> Iterator[str]:
    pressing = [one for one in review.findings if is_pressing(one) and not stands_beside(one)]
    rest = [one for one in review.findings if stands_beside(one) or not is_pressing(one)]
    when = f", as of {review.clock.dated(review.as_of)}" if review.as_of is not None else ""
    yield f"<h4>{_text(f'{review.standing.upper()}: {review.subject.origin}{when}')}</h4>"
    yield f"<p>{_text(review.headline)}</p>"
    if review.escalation is not None:
        yield f"<p><strong>{_text(call_line(review.escalation, review.clock))}</strong></p>"
    yield from _list(pressing)
    if rest:
        yield f"<details><summary>{len(rest)} further findings</summary>"
        yield from _list(rest)
        yield "</details>"
    yield f"<p><small>{_text(' '.join(review.cautions))}</small></p>"


def _list(findings: Sequence[Finding]) -> Iterator[str]:
    if findings:
        yield "<ul>"
        for finding in findings:
            yield f"<li>{_text(finding.urgency.word)}: {_text(finding.sentence)}</li>"
        yield "</ul>"


def _issues(issues: Sequence[Issue]) -> Iterator[str]:
    told = grouped(one for one in issues if one.severity is not Severity.INFORMATION)
    if told:
        yield f"<details><summary>{len(told)} kinds of input not used, or with a reservation</summary><ul>"
        for same in told:
            yield f"<li>{_text(same.line)}</li>"
        yield "</ul></details>"


def _text(text: str) -> str:
    return escape(clean(text))
