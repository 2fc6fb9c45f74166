"""Cards of `medicine-safety`: a draft order beside everything that is known.

The cards are the drug-chart review's findings about the draft, or about an order on the
chart because of the draft. A draft that could not be judged is named: no card would read
as "checked, and fine".
"""

from collections.abc import Iterable, Mapping, Sequence

from weatherglass.cds_hooks.cards import MOST_CARDS, Frame, card_of, group_card, remark_card
from weatherglass.cds_hooks.deterioration import ASKS
from weatherglass.cds_hooks.orders import DraftOrders
from weatherglass.cds_hooks.suggestions import Order, suggestions_for
from weatherglass.clinical.findings import Finding, MedicineFinding, Review, Urgency
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.writing.terms import Json

#: Further actions that a prescriber is told of, without being asked for anything.
_TELLS = frozenset({"monitor", "not reviewed"})


def medicine_cards(
    frame: Frame,
    review: Review,
    drafts: DraftOrders,
    orders: Mapping[str, Order],
    *,
    read: frozenset[str],
    issues: Sequence[Issue],
) -> list[Json]:
    """Return the cards about the draft orders, most urgent first.

    Args:
        frame: What every card shares.
        review: The review of the record with the drafts in it.
        drafts: The draft orders.
        orders: Every order as received, by name.
        read: Names of the orders that the record holds.
        issues: What was not used, with its place.
    """
    names = frozenset(name for draft in drafts.drafts for name in draft.names)
    about = [f for f in review.findings if isinstance(f, MedicineFinding) and _concerns(f, names)]
    about.sort(key=lambda f: (-f.urgency, f.action not in ASKS, f.medicine))
    cards = list(_unread(frame, drafts, read, issues))
    room = MOST_CARDS - len(cards)
    alone = about if len(about) <= room else about[: room - 1]
    cards += [
        card_of(frame, finding, suggestions=suggestions_for(finding, orders, frame.sheet, frame.instance))
        for finding in alone
    ]
    rest: list[Finding] = list(about[len(alone) :])
    if rest:
        cards.append(group_card(frame, f"{len(rest)} further findings about these orders.", rest))
    return cards


def _concerns(finding: MedicineFinding, drafts: frozenset[str]) -> bool:
    if finding.action not in ASKS | _TELLS:
        return False
    return finding.order in drafts or not drafts.isdisjoint(finding.evidence)


def _unread(
    frame: Frame, drafts: DraftOrders, read: frozenset[str], issues: Sequence[Issue]
) -> Iterable[Json]:
    """Name the drafts that the record does not hold, in one card."""
    lost = [draft for draft in drafts.drafts if draft.names.isdisjoint(read)]
    if not lost:
        return
    why = [i.text for draft in lost for i in issues if i.path.startswith(draft.place)]
    count = "A draft order" if len(lost) == 1 else f"{len(lost)} draft orders"
    yield remark_card(
        frame, f"{count} could not be checked.", why or ("The order is not readable.",), Urgency.PROMPT
    )
