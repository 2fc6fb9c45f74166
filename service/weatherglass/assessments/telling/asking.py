"""What a finding asks for: of a row behind its question, and at the bedside before anybody comes."""

from datetime import datetime

from weatherglass.assessments.telling.basis import About, Basis, tell
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.model.clauses import Clause
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.sources import Source


def asked_by(
    row: AskingRow,
    head: str,
    basis: Basis,
    *,
    key: str,
    urgency: Urgency,
    decided_by: str,
    kind: Kind = Kind.METABOLIC,
    asks: str = "",
    is_full: bool = True,
    dated: datetime | None = None,
    sources: tuple[Source, ...] = (),
) -> Finding:
    """Return what a row asks.

    Args:
        row: The row.
        head: What leads to its question.
        basis: What that rests on.
        key: Of the finding.
        urgency: How soon.
        decided_by: What makes it so.
        kind: Of the finding.
        asks: What is asked, where that is not what the row says.
        is_full: Whether what the row does at once is done.
        dated: The time that the head says.
        sources: Of what else counts than the row.
    """
    return tell(
        About(kind, key, row.letter),
        urgency,
        basis,
        brief=head,
        asks=asks or row.asks,
        at_once=row.at_once if is_full else "",
        dated=dated,
        sources=(*row.sources, *sources),
        decided_by=decided_by,
    )


def begun_with(finding: Finding, first: Clause | None) -> Finding:
    """Return a finding with what is done at the bedside before anybody comes, and the source of that."""
    if first is None:
        return finding
    return replace(finding, at_once=first.text, sources=(*finding.sources, first.source))
