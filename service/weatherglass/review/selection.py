"""Which questions a caller wants answered, by the names that they are published under.

A selection narrows what is asked, never how an answer is worked out. What it leaves out
is said in the review, because a reader must not take silence for an all-clear.
"""

from functools import cache

from weatherglass.knowledge.scores import open_scores, shock_index
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding
from weatherglass.model.plain import Plain
from weatherglass.review.question import KIDNEY_EDITIONS, Question


class Selection(Plain, frozen=True):
    """The names that were asked for.

    Attributes:
        names: Kinds of finding, scores, kidney criteria or editions.
    """

    names: frozenset[str]

    def wants(self, question: Question) -> bool:
        """Tell whether a question can find what was asked for."""
        return not self.names.isdisjoint(question.kinds) or not self.names.isdisjoint(question.names)

    def takes(self, finding: Finding) -> bool:
        """Tell whether a finding was asked for."""
        if finding.kind.value in self.names:
            return True
        if isinstance(finding, ScoreFinding):
            return finding.key in self.names or finding.edition in self.names
        if isinstance(finding, AkiFinding):
            edition = KIDNEY_EDITIONS.get(finding.criterion, "")
            return finding.criterion in self.names or edition in self.names
        return False

    @property
    def caution(self) -> str:
        """What a reader has to know of a narrowed review."""
        return f"Only these were asked for: {', '.join(sorted(self.names))}. Nothing else was looked at."


@cache
def selectable() -> frozenset[str]:
    """Return every name that can be asked for."""
    # Who asks for everything needs no catalogue, which loads what is only printed.
    from weatherglass.review.catalogue import score_definitions

    scores = {name for each in score_definitions() for name in (each.key, each.public_key)}
    scores |= {shock_index.KEY, shock_index.AGE_KEY, shock_index.PUBLIC_KEY}  # Quotients, no sums.
    scores |= open_scores.NAMES  # Of a day, of no round.
    return frozenset(
        {kind.value for kind in Kind} | scores | set(KIDNEY_EDITIONS) | set(KIDNEY_EDITIONS.values())
    )
