"""The drug chart as a page shows it: each line with its suggestion, or with none.

A line nobody's rule speaks about is shown too and says so: silence is not approval.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from weatherglass.facts.medicines.drug_chart import DrugChart
from weatherglass.handover.told import Told, asks_for_a_look, chart_place
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.medicines.telling.coverage import Silence, silence_about
from weatherglass.medicines.telling.one_decision import cautions_for_all, decision_sentence, decisions
from weatherglass.medicines.telling.wording import as_charted, each_once
from weatherglass.model.findings import Finding, is_pressing
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.medicines import Administration, MedicineOrder, OrderStatus
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import listed, small
from weatherglass.web.finding_view import (
    InputView,
    MeasureView,
    SourceView,
    input_views,
    measure_views,
    source_views,
)

_NEVER_ORDERS = "Suggestions for a prescriber, never orders."
#: Ours: so many medicines of one suggestion are named at the head of the page.
_MOST_NAMED = 6
_ON_CHART = (OrderStatus.ACTIVE, OrderStatus.ON_HOLD, OrderStatus.DRAFT)


@dataclass(frozen=True, slots=True, kw_only=True)
class MedicineView:
    """One line of the drug chart; `told` is None where it has no suggestion of its own.

    Attributes:
        told: The same, with its lines.
        action: What is suggested; with a doubt, what is suggested if that is confirmed.
        last_given: When the last dose was, where something pressing is asked of it and a dose is recorded.
        silence: Why nothing is suggested; None where something is.
        asks: How a list begins with it before the names; empty where no look at the chart is asked for.
        decision: The one sentence for all, on the first of several that are one decision.
        is_one_of_several: Whether what is asked, why and by when stands in that sentence.
        says_when: Whether what is asked is to look again, which is said with its time at once.
    """

    medicine: str
    dose: str
    status: str
    finding: MedicineFinding | None = None
    told: Told | None = None
    last_given: str = ""
    action: str = ""
    silence: Silence | None = None
    asks: str = ""
    level: int = 0
    decision: str = ""
    is_one_of_several: bool = False
    says_when: bool = False
    numbers: tuple[MeasureView, ...] = ()
    cautions: tuple[str, ...] = ()
    inputs: tuple[InputView, ...] = ()
    sources: tuple[SourceView, ...] = ()


def medicine_views(
    findings: Sequence[Finding],
    record: Record,
    inputs: Mapping[Origin, str],
    clock: Clock,
    chart: DrugChart,
) -> tuple[MedicineView, ...]:
    """Return every line of the drug chart: most urgent suggestion first, silent lines last."""
    suggested = [f for f in findings if isinstance(f, MedicineFinding)]
    suggested.sort(key=chart_place)
    orders = {order.origin: order for order in record.orders}
    given = {line.order: line.last_dose for line in chart.lines if line.last_dose is not None}
    once = frozenset(cautions_for_all(suggested))
    silences = {
        order.origin: silence_about(order, findings)
        for order in record.orders
        if order.status in _ON_CHART and not order.medicine.is_unnamed
    }
    return (
        *(
            view
            for group in decisions(suggested)
            for view in _one_decision(
                group,
                [_suggestion(f, orders.get(f.order), inputs, clock, once, given.get(f.order)) for f in group],
            )
        ),
        *(_silent(orders[origin], why) for origin, why in silences.items() if why is not None),
    )


def _silent(order: MedicineOrder, why: Silence) -> MedicineView:
    return MedicineView(
        medicine=order.medicine.text,
        dose=_dose(order.dose_text, order.as_needed),
        status=_status(order),
        silence=why,
    )


def silent_words(views: Sequence[MedicineView]) -> tuple[str, ...]:
    """Say once why lines have no suggestion of their own; one that is known from above with its dose."""
    said = []
    for why in Silence:
        lines = [view for view in views if view.silence is why]
        dosed = why in (Silence.SAME, Silence.AT_HOME)
        names = dict.fromkeys(_in_silence(view, dosed=dosed) for view in lines)
        if names:
            said.append(why.value.format("; ".join(names)))
    return tuple(said)


def _in_silence(view: MedicineView, *, dosed: bool) -> str:
    if dosed and view.dose:
        return f"{as_charted(view.medicine)}, {view.dose}"
    return " ".join(filter(None, (as_charted(view.medicine), view.status)))


def _one_decision(group: Sequence[MedicineFinding], views: Sequence[MedicineView]) -> Iterator[MedicineView]:
    """Say what is one decision on the first of its medicines, and of each only what is its own."""
    if len(group) == 1:
        yield from views
        return
    said = decision_sentence(group)
    for place, view in enumerate(views):
        yield replace(view, decision="" if place else said, is_one_of_several=True)


def chart_caution(findings: Sequence[Finding]) -> str:
    """Return what holds for the suggestions as a whole; empty where there is none."""
    suggested = [finding for finding in findings if isinstance(finding, MedicineFinding)]
    if not suggested:
        return ""
    limited = dict.fromkeys(one.limited_evidence for one in suggested if one.limited_evidence)
    return " ".join((_NEVER_ORDERS, *limited, *cautions_for_all(suggested)))


def asked(views: Sequence[MedicineView]) -> tuple[str, ...]:
    """Return what the head of the page says of the chart: each suggestion once, with its medicines."""
    by_action: dict[tuple[str, str], list[tuple[MedicineView, MedicineFinding]]] = {}
    for view in views:
        if view.asks and view.finding is not None:
            by_action.setdefault((view.asks, view.finding.once), []).append((view, view.finding))
    lines = Counter(as_charted(view.medicine) for view in views)
    # Without its strength only where no other line of the chart could be meant.
    short = {
        view.medicine: as_charted(view.medicine) if lines[as_charted(view.medicine)] == 1 else view.medicine
        for view in views
    }
    said = {
        asked_for: each_once(
            (finding.ingredients, short[view.medicine], short[view.medicine]) for view, finding in found
        )
        for asked_for, found in by_action.items()
    }
    return tuple(
        f"{small(asks)} {_listed(names)}{f' ({once})' if once else ''}"
        for (asks, once), names in said.items()
    )


def _listed(names: Sequence[str]) -> str:
    more = len(names) - _MOST_NAMED
    return listed([*names[:_MOST_NAMED], *([f"{more} more"] if more > 0 else [])])


def _suggestion(
    finding: MedicineFinding,
    order: MedicineOrder | None,
    inputs: Mapping[Origin, str],
    clock: Clock,
    once: AbstractSet[str],
    dose: Administration | None,
) -> MedicineView:
    told = Told(finding, clock)
    action = finding.if_confirmed or finding.action
    return MedicineView(
        finding=finding,
        told=told,
        medicine=finding.medicine,
        dose=_dose(finding.dose_text, finding.as_needed),
        status=_status(order) if order is not None else "",
        last_given=_last_given(dose, clock) if asks_for_a_look(finding) and is_pressing(finding) else "",
        action=ACTIONS[action].label,
        asks=ACTIONS[action].asks if asks_for_a_look(finding) else "",
        level=int(finding.urgency),
        says_when=action == Action.REVIEW and finding.review_by is not None,
        numbers=measure_views(dict.fromkeys(m for r in finding.reasons for m in r.measures), clock),
        cautions=tuple(caution for caution in finding.cautions if caution not in once),
        inputs=input_views(finding.evidence, inputs),
        sources=source_views(told.sources),
    )


def _dose(text: str, as_needed: bool) -> str:
    if not as_needed or "needed" in text:
        return text
    return f"{text}, when needed" if text else "when needed"


def _last_given(dose: Administration | None, clock: Clock) -> str:
    if dose is None:
        return ""
    return "running" if dose.running else f"last given {clock.short(dose.at)}"


def _status(order: MedicineOrder) -> str:
    return "" if order.status is OrderStatus.ACTIVE else order.status.value
