"""What the review of a drug chart looked at, and what it did not: said at every door in these words."""

from collections.abc import Iterable
from enum import StrEnum
from typing import Final

from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.record.medicines import MedicineOrder
from weatherglass.model.review import Review
from weatherglass.model.sources import Origin

#: A medicine that nobody speaks of is not one that was found to be right.
NOT_CHECKED: Final = (
    f"Not checked: interactions and duplicates beyond {len(PAIRS)} named pairs and {len(COMBINATIONS)} "
    "combinations, doses and harm in pregnancy or breast-feeding beyond what a rule speaks of, and harm to a "
    "child."
)
#: The same where there is room for few words.
NOT_CHECKED_IN_SHORT: Final = (
    "Not checked: most interactions, doses, harm in pregnancy, breast-feeding or to a child."
)


def counted(review: Review) -> str:
    """Say how many medicines were recognised, of how many of them a rule spoke, and how many nobody knows."""
    known, unknown = review.medicines_reviewed, review.medicines_not_recognised
    said = f"{known} recognised; rules apply to {review.medicines_spoken_of}"
    return f"{said}; {unknown} not recognised" if unknown else said


class Silence(StrEnum):
    """Why a line of the chart has no suggestion of its own, said with the lines of which it is so."""

    NO_RULE = "No rule in use speaks about {0}. That is no approval."
    TOGETHER = "Under Findings, with another medicine: {0}."
    SAME = "The same medicine as a line above, without a suggestion of its own: {0}."
    AT_HOME = "Reported as taken; the order above is what was looked at: {0}."


def silence_about(order: MedicineOrder, findings: Iterable[Finding]) -> Silence | None:
    """Return why a line has no suggestion of its own; None where it has one.

    A line never reads as unknown to the rules while the same medicine is spoken of beside it.
    """
    told = tuple(findings)
    own = [one for one in told if isinstance(one, MedicineFinding)]
    if any(one.order == order.origin for one in own):
        return None
    if order.origin in spoken_of(told):
        return Silence.TOGETHER
    if any(not set(one.ingredients).isdisjoint(order.medicine.ingredients) for one in own):
        return Silence.AT_HOME if order.is_statement else Silence.SAME
    return Silence.NO_RULE


def spoken_of(findings: Iterable[Finding]) -> set[Origin]:
    """Return the orders about which anything is suggested, or that a pair names."""
    orders: set[Origin] = set()
    for finding in findings:
        if isinstance(finding, InteractionFinding):
            orders.update(finding.orders)
        elif isinstance(finding, MedicineFinding) and finding.kind is not Kind.MEDICINE_NOT_REVIEWED:
            orders.add(finding.order)
    return orders
