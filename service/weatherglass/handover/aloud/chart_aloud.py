"""The drug chart in a call: each medicine once, with what is asked of it and the reasons it shares."""

from collections.abc import Iterator, Sequence
from typing import Final

from weatherglass.handover.told import asks_for_a_look
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, RANK, Action
from weatherglass.medicines.telling.one_decision import decisions
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.plain import Plain

_MOST_NAMED: Final = 8
_MOST_ASKED: Final = 6
_MOST_TOGETHER: Final = 3


class _Asked(Plain, frozen=True):
    """What is asked of several medicines, and the reasons that all of them have."""

    asks: str
    because: tuple[str, ...]
    about: tuple[MedicineFinding, ...]

    @property
    def is_routine(self) -> bool:
        """Whether none of it presses: where something does, its names are enough."""
        return all(one.urgency is Urgency.ROUTINE for one in self.about)


def chart_aloud(findings: Sequence[Finding], called_for: Finding | None) -> Iterator[str]:
    """Ask for each decision once, the most urgent first, and name the combinations that none of it ends.

    Args:
        findings: In the order of the review.
        called_for: Why somebody is called, which the Situation has told.
    """
    asking = [f for f in findings if asks_for_a_look(f) and f.kind is not Kind.MEDICINE_RESTART]
    strongest = {f.order: f for f in sorted(asking, key=lambda f: -RANK[_asks(f)])}
    # Where one line is asked two things, the stronger says the other.
    acting = [f for f in asking if _asks(f) == _asks(strongest[f.order])]
    asked = _together(sorted(acting, key=lambda f: (-f.urgency, RANK[_asks(f)])))
    pressing = [one for one in asked if not one.is_routine] or asked
    for one in pressing[:_MOST_ASKED]:
        because = f", because of {'; '.join(one.because)}" if one.because else ""
        yield f"Drug chart, please decide whether to {one.asks}: {_named(one.about)}{because}."
    later = [finding for one in asked if one not in pressing for finding in one.about]
    if later:
        yield f"Drug chart, less urgent: {_named(later)}."
    left = sum(len(one.about) for one in pressing[_MOST_ASKED:])
    if left:
        yield f"Drug chart: {left} more {'medicine' if left == 1 else 'medicines'} to look at, less urgent."
    withheld = {f.order for f in acting if ACTIONS[Action(_asks(f))].withholds}
    met = [
        f
        for f in findings
        if isinstance(f, InteractionFinding)
        and f is not called_for
        and f.urgency is not Urgency.ROUTINE
        and withheld.isdisjoint(f.orders)
    ]
    yield from (f"Drug chart, together: {f.sentence}" for f in met[:_MOST_TOGETHER])
    if len(met) > _MOST_TOGETHER:
        left = len(met) - _MOST_TOGETHER
        yield f"Drug chart: {left} more combination{'' if left == 1 else 's'} to look at, less urgent."


def _together(asking: Sequence[MedicineFinding]) -> list[_Asked]:
    """Put together what is asked alike where the first reason is shared; those stay that all have."""
    found: list[_Asked] = []
    for group in decisions(asking):
        asks, because = _asks(group[0]), _because(group[0])
        for place, one in enumerate(found):
            shared = tuple(each for each in one.because if each in because)
            if one.asks == asks and shared and shared[0] == one.because[0] and because[0] in shared:
                found[place] = _Asked(asks, shared, (*one.about, *group))
                break
        else:
            found.append(_Asked(asks, because, group))
    return found


def _named(about: Sequence[MedicineFinding]) -> str:
    named = list(dict.fromkeys(map(_conditioned, about)))
    more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
    return f"{', '.join(named[:_MOST_NAMED])}{more}"


def _asks(finding: MedicineFinding) -> str:
    return finding.if_confirmed or finding.action


def _because(finding: MedicineFinding) -> tuple[str, ...]:
    """Say why, where that is one and the same for all that are named."""
    told = tuple(reason.short for reason in finding.reasons) if finding.kind is Kind.ALLERGY else ()
    return finding.decision.because if finding.decision is not None else told


def _conditioned(finding: MedicineFinding) -> str:
    """Name a medicine, with what its suggestion waits for: a value in doubt decides nothing yet."""
    return f"{finding.medicine} ({finding.once})" if finding.once else finding.medicine
