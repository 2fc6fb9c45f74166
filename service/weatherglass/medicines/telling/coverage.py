"""What the review of a drug chart looked at, and what it did not: said at every door in these words."""

from collections.abc import Iterable
from typing import Final

from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.model.findings import Finding, InteractionFinding, Kind, MedicineFinding, Review
from weatherglass.model.sources import Origin

#: A medicine that nobody speaks of is not one that was found to be right.
NOT_CHECKED: Final = (
    f"Not checked: interactions and duplicates beyond {len(PAIRS)} named pairs and {len(COMBINATIONS)} "
    "combinations, doses and harm in pregnancy beyond what a rule speaks of, and harm in breast-feeding or "
    "to a child."
)
#: The same where there is room for few words.
NOT_CHECKED_IN_SHORT: Final = "Not checked: most interactions, doses, pregnancy, breast-feeding."


def counted(review: Review) -> str:
    """Say how many medicines were recognised, of how many of them a rule spoke, and how many nobody knows."""
    known, unknown = review.medicines_reviewed, review.medicines_not_recognised
    return f"{known} recognised; a rule spoke of {_spoken_of(review.findings)}; {unknown} not recognised"


def _spoken_of(findings: Iterable[Finding]) -> int:
    orders: set[Origin] = set()
    for finding in findings:
        if isinstance(finding, InteractionFinding):
            orders.update(finding.orders)
        elif isinstance(finding, MedicineFinding) and finding.kind is not Kind.MEDICINE_NOT_REVIEWED:
            orders.add(finding.order)
    return len(orders)
