"""Suggestions that are one decision: the same look, for the same reason, that can wait for the round.

Each medicine keeps its own finding, with its order, reasons and cautions; a reader is told once.
"""

from collections.abc import Iterable, Sequence

from weatherglass.knowledge.medicines.rules.rule import Action
from weatherglass.model.findings import Kind, MedicineFinding, Urgency

_Key = tuple[str, ...]


def decisions(findings: Iterable[MedicineFinding]) -> list[tuple[MedicineFinding, ...]]:
    """Put together what is one decision, in the place of its first; what is none stands alone."""
    groups: dict[_Key, list[MedicineFinding]] = {}
    for number, finding in enumerate(findings):
        groups.setdefault(_key(finding) or (str(number),), []).append(finding)
    return [tuple(group) for group in groups.values()]


def decision_sentence(group: Sequence[MedicineFinding]) -> str:
    """Say one decision about several medicines.

    Returns:
        "Look again at need and dose of A, B and C: acute kidney injury stage 1 (...)."
    """
    *others, last = dict.fromkeys(one.medicine for one in group)
    names = f"{', '.join(others)} and {last}" if others else last
    return f"Look again at need and dose of {names}: {'; '.join(_because(group[0]))}."


def _key(finding: MedicineFinding) -> _Key | None:
    """Return what makes a finding one decision with others; None where it is one of its own."""
    plain = finding.kind is Kind.MEDICINE and finding.action == Action.REVIEW.value
    if not plain or finding.urgency is not Urgency.ROUTINE or finding.doubt or finding.besides:
        return None
    if not finding.sentence.startswith("Consider reviewing need and dose of "):
        return None
    return ("review", *_because(finding))


def _because(finding: MedicineFinding) -> tuple[str, ...]:
    return tuple(dict.fromkeys(reason.trigger for reason in finding.reasons))
