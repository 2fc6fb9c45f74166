"""The order in which equally urgent suggestions are read: the same at every door."""

from collections.abc import Iterable, Iterator
from itertools import groupby

from weatherglass.clinical.findings import Finding, MedicineFinding, State


def in_order_of_rank(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Put suggestions of one urgency that stand together in the order of their ranks.

    Nothing else moves, and equal ranks stay as they are.
    """
    for _, together in groupby(findings, key=_neighbours):
        yield from sorted(together, key=_rank)


def _neighbours(finding: Finding) -> tuple[object, ...]:
    return (finding.letter, finding.state is State.SETTLING, finding.urgency, finding.kind)


def _rank(finding: Finding) -> int:
    return finding.rank if isinstance(finding, MedicineFinding) else 0
