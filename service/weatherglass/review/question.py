"""A question of the review, with what it can find: whoever wants nothing of that need not ask it."""

from collections.abc import Callable, Iterable

from weatherglass.facts.bedside import Bedside
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.plain import Plain

#: The names under which findings of a kind are asked for more narrowly.
KIDNEY_EDITIONS = {"aki-kdigo": "kdigo-aki-2012", "aki-warning-stage": "nhs-aki-2014"}


class Question(Plain, frozen=True):
    """One question.

    Attributes:
        ask: Asks it of a patient at a moment.
        kinds: Every kind of finding that it can yield; a test holds it to that.
        names: Other names its findings are asked for under: scores, kidney criteria, editions.
    """

    ask: Callable[[Bedside], Iterable[Finding]]
    kinds: frozenset[Kind]
    names: frozenset[str] = frozenset()


def question(
    ask: Callable[[Bedside], Iterable[Finding]], *kinds: Kind, names: Iterable[str] = ()
) -> Question:
    """Write down a question and what it can find."""
    return Question(ask, frozenset(kinds), frozenset(names))
