"""What was last known of each part of a score, since the last round that was whole.

A later round that holds a temperature alone says nothing of the pulse of the round before it: what was
abnormal there is not over because nobody has looked.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from weatherglass.facts.rounds.scoring import SetResult, put_together
from weatherglass.model.plain import Plain, replace
from weatherglass.model.tables.scores import ScoreDefinition


class LastKnown(Plain, frozen=True):
    """A round, with what it left open filled with what was known before it.

    Attributes:
        filled: Its total and tier by all that is known.
        before: The rows that it left open and that scored points when they were last known: their place,
            and the round that knew them.
    """

    filled: SetResult
    before: tuple[tuple[int, SetResult], ...]

    @property
    def at(self) -> datetime:
        """When the round ended."""
        return self.filled.observed.end


def last_known(
    definition: ScoreDefinition, results: Sequence[SetResult], *, counts_for: timedelta
) -> list[LastKnown]:
    """Return the open rounds behind the last whole one, oldest first; none where the newest is whole.

    Args:
        definition: The score.
        results: Its rounds, oldest first.
        counts_for: How long what was known counts.
    """
    whole = next((n for n in range(len(results) - 1, -1, -1) if results[n].is_complete), -1)
    knew: dict[int, SetResult] = {}
    found: list[LastKnown] = []
    for result in results[whole + 1 :]:
        earliest = result.observed.end - counts_for
        knew = {place: one for place, one in knew.items() if one.observed.end >= earliest}
        is_open = [place for place, row in enumerate(result.results) if row.points is None]
        before = tuple((place, knew[place]) for place in is_open if place in knew)
        rows = list(result.results)
        for place, one in before:
            rows[place] = one.results[place]
        filled = replace(put_together(definition, result.observed, result.rows, rows), is_filled=bool(before))
        found.append(LastKnown(filled, tuple((n, one) for n, one in before if one.results[n].points)))
        knew |= {n: result for n, row in enumerate(result.results) if row.points is not None}
    return found
