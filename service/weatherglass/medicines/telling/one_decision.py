"""Suggestions that are one decision: the same is asked of several medicines, for the same reasons, as soon.

Worked out where a suggestion is written and carried by it, so that every door tells the same. Each
medicine keeps its own finding, with its order, reasons and cautions; a reader is told once.
"""

from collections.abc import Iterable, Sequence
from typing import Final, TypeVar

from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.medicines.telling.wording import Wording, also_said
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.medicine_findings import Decision, MedicineFinding
from weatherglass.model.words.lists import listed

#: The key where nothing else is known of a medicine.
NOT_RECOGNISED: Final = "not-recognised"
_Told = TypeVar("_Told", bound=Finding)


def decision_of(wording: Wording, lead: Action, urgency: Urgency) -> Decision | None:
    """Return what a suggestion may have in common with others; None where it stands by itself."""
    if wording.doubt is not None or not ACTIONS[lead].shared:
        return None
    return Decision(wording.asks, wording.because, wording.besides, urgency)


def decisions(findings: Iterable[_Told]) -> list[tuple[_Told, ...]]:
    """Put together what is one decision, each in the place of its first; what is none stands alone."""
    groups: dict[object, list[_Told]] = {}
    for number, finding in enumerate(findings):
        shared = finding.decision if isinstance(finding, MedicineFinding) else None
        groups.setdefault(shared or number, []).append(finding)
    return [tuple(group) for group in groups.values()]


def decision_sentence(group: Sequence[MedicineFinding]) -> str:
    """Say one decision: of one medicine in its own sentence, of several in one for all.

    Returns:
        "Consider reviewing the need for and dose of A, B and C: acute kidney injury stage 1 (...)."
    """
    first = group[0]
    if len(group) == 1 or first.decision is None:
        return first.sentence
    asks, because, besides, _ = first.decision
    names = listed(list(dict.fromkeys(one.named for one in group)))
    return also_said(f"{asks.format(names)}: {'; '.join(because)}.", besides)


def not_recognised(findings: Iterable[Finding]) -> tuple[MedicineFinding, ...]:
    """Return the medicines of which nothing is said but that nobody recognised them."""
    return tuple(one for one in findings if isinstance(one, MedicineFinding) and one.key == NOT_RECOGNISED)


def not_recognised_sentence(found: Sequence[MedicineFinding]) -> str:
    """Say it of one in its own sentence, of several in one for all."""
    names = listed(list(dict.fromkeys(one.medicine for one in found)))
    if len(found) == 1:
        return found[0].sentence
    return f"{names} were not recognised, so they were not reviewed: find out what they are."


def cautions_for_all(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Return the cautions that every one of several suggestions has, to be said once for all."""
    carried = [one.cautions for one in findings if isinstance(one, MedicineFinding) and one.reasons]
    if len(carried) < _SEVERAL:
        return ()
    return tuple(each for each in carried[0] if all(each in cautions for cautions in carried[1:]))


_SEVERAL: Final = 2
