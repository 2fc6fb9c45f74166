"""The doses given of one medicine in the order of their beginning: what a level is read against."""

from bisect import bisect_right
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import accumulate

from weatherglass.knowledge.medicines.rules.levels import LevelRule
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration


class GivenInTurn(Plain, frozen=True):
    """The doses that are over, oldest first, each with the latest end so far; and one that runs on.

    Attributes:
        runs_since: Since when a dose has run that has no end, the first of them; None where none does.
    """

    began: tuple[datetime, ...]
    ended: tuple[datetime, ...]
    runs_since: datetime | None = None

    def last_before(self, moment: datetime) -> datetime | None:
        """Return when the last dose before a moment ended."""
        place = bisect_right(self.began, moment)
        return min(self.ended[place - 1], moment) if place else None

    def runs_at(self, moment: datetime) -> bool:
        """Tell whether a dose without an end ran at a moment."""
        return self.runs_since is not None and self.runs_since <= moment

    def spreads_at(self, moment: datetime, within: timedelta) -> bool:
        """Tell whether a dose still spread at a moment: it ran, or had ended less than so long before."""
        last = self.last_before(moment)
        return self.runs_at(moment) or (last is not None and moment - last < within)


def given_in_turn(doses: Iterable[Administration], ingredient: str) -> GivenInTurn:
    """Return the doses given of one medicine."""
    of_it = [dose for dose in doses if ingredient in dose.medicine.ingredients]
    over = sorted((dose.at, dose.until) for dose in of_it if not dose.running)
    return GivenInTurn(
        began=tuple(began for began, _ in over),
        ended=tuple(accumulate((end for _, end in over), max)),
        runs_since=min((dose.at for dose in of_it if dose.running), default=None),
    )


def is_too_early(level: LevelRule, taken: datetime, doses: GivenInTurn) -> bool:
    """Tell whether a level was taken while a dose still spread, so that a high one is in doubt."""
    return level.too_early is not None and doses.spreads_at(taken, level.too_early.length)
