"""Cards of `medicine-safety`: a draft order beside everything that is known.

The cards are the drug-chart review's findings about the draft, about an order on the chart
because of the draft, or about both together. A draft that could not be judged is named: no card would read
as "checked, and fine".
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import NamedTuple

from weatherglass.cds_hooks.cards import MOST_CARDS, Frame, card_of, group_card, remark_card, without_a_name
from weatherglass.cds_hooks.orders import DraftOrders
from weatherglass.cds_hooks.suggestions import Order, left_out_for, suggestions_for
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.handover.told import asks_for_a_look
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review


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
    groups: dict[_About, list[Finding]] = {}
    for finding in sorted((f for f in review.findings if _concerns(f, names)), key=_rank):
        groups.setdefault(_about(finding, names), []).append(finding)
    told = [found for _, found in sorted(groups.items(), key=partial(_rank_of_group, groups))]
    cards = [*_unread(frame, drafts, read, issues), *without_a_name(frame, review)]
    room = MOST_CARDS - len(cards)
    alone = told if len(told) <= room else told[: room - 1]
    # What was not sent is said once, on the first card.
    after = replace(frame, remarks=())
    cards += [
        _told(after if cards or number else frame, findings, orders) for number, findings in enumerate(alone)
    ]
    rest = [finding for findings in told[len(alone) :] for finding in findings]
    if rest:
        cards.append(group_card(after, rest, f"{len(rest)} further findings about these orders."))
    return cards


class _About(NamedTuple):
    """What is told together: a draft, or that draft beside what else is on the chart."""

    order: str
    is_beside: bool = False


def _about(finding: Finding, drafts: frozenset[str]) -> _About:
    if isinstance(finding, InteractionFinding):
        return _About(next(str(order) for order in finding.orders if order in drafts), is_beside=True)
    return _About(str(finding.order) if isinstance(finding, MedicineFinding) else "")


def _told(frame: Frame, findings: Sequence[Finding], orders: Mapping[str, Order]) -> Json:
    suggested = [
        suggestion
        for finding in findings
        if isinstance(finding, MedicineFinding)
        for suggestion in suggestions_for(finding, orders, frame.context, frame.instance)
    ]
    # Several pairs of one draft ask for one click.
    suggested = suggested or list(
        {
            suggestion["label"]: suggestion
            for finding in reversed(findings)
            if isinstance(finding, InteractionFinding)
            for suggestion in left_out_for(finding, orders, frame.context, frame.instance)
        }.values()
    )
    if len(findings) == 1:
        return card_of(frame, findings[0], suggestions=suggested)
    return group_card(frame, findings, suggestions=suggested)


def _concerns(finding: Finding, drafts: frozenset[str]) -> bool:
    if isinstance(finding, InteractionFinding):
        return not drafts.isdisjoint(finding.orders)
    if not isinstance(finding, MedicineFinding):
        return False
    if finding.action == Action.CONTINUE:  # Of what simply goes on nothing is said at a signing.
        return False
    return finding.order in drafts or not drafts.isdisjoint(finding.evidence)


def _rank_of_group(
    groups: Mapping[_About, Sequence[Finding]], one: tuple[_About, Sequence[Finding]]
) -> tuple[bool, bool, int]:
    """Put first what meets a recorded allergy; a draft before its pairs; then what is more urgent."""
    about, findings = one
    after = about.is_beside and _About(about.order) in groups
    return (not any(_is_refused(f) for f in findings), after, -max(f.urgency for f in findings))


def _is_refused(finding: Finding) -> bool:
    return finding.kind is Kind.ALLERGY and finding.urgency is not Urgency.ROUTINE


def _rank(finding: Finding) -> tuple[object, ...]:
    """Order what is told of one order: first what is asked, then what it does together with others."""
    if isinstance(finding, MedicineFinding):
        place = -1 if _is_refused(finding) else 0 if asks_for_a_look(finding) else 2
        is_asked = not ACTIONS[Action(finding.action)].withholds if finding.action in ACTIONS else True
        return (place, -finding.urgency, is_asked, finding.rank, finding.medicine)
    return (1, -finding.urgency, finding.key)


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
