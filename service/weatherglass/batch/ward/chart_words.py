"""What on the drug chart to look at, in few lines: medicines with the same suggestion together."""

from collections.abc import Iterable, Sequence

from weatherglass.handover.told import asks_for_a_look
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, RANK
from weatherglass.model.findings import Finding, InteractionFinding, MedicineFinding, State, Urgency
from weatherglass.model.words.lists import listed


def chart_lines(findings: Sequence[Finding]) -> list[str]:
    """Return what to look at on the drug chart, what is new first.

    Args:
        findings: Of one review, in its order.
    """
    grouped: dict[tuple[bool, bool, int, object], tuple[str, str, list[str]]] = {}
    for finding in findings:
        if asks_for_a_look(finding):
            why = _why(finding)
            shared = finding.decision or why
            row = ACTIONS[finding.action]
            # What not to give comes before what to look at.
            place = (finding.state is not State.NEW, not row.withholds, RANK[finding.action], shared)
            _, _, medicines = grouped.setdefault(place, (row.asks, why, []))
            if finding.medicine not in medicines:
                medicines.append(finding.medicine)
    lines = []
    for (is_old, *_), (asks, why, medicines) in sorted(grouped.items(), key=lambda group: group[0][:3]):
        said = f"{asks} {listed(medicines)}{f': {why}' if why else ''}."
        lines.append(said if is_old else f"New. {said}")
    return lines + list(_together(findings))


def _why(finding: MedicineFinding) -> str:
    return "; ".join(dict.fromkeys(reason.short for reason in finding.reasons if reason.short))


def _together(findings: Iterable[Finding]) -> Iterable[str]:
    for finding in findings:
        if isinstance(finding, InteractionFinding) and finding.urgency is not Urgency.ROUTINE:
            yield f"{'New. ' if finding.state is State.NEW else ''}{finding.sentence}"
