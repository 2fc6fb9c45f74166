"""Since when has the risk been as high as it is, and when did its deadline begin?

Every sign holds from when it was seen until its next value, a day at most. The risk at a
moment is that of the worst sign that holds then. A level that lapses for a day or less
goes on with the moment at which it was first reached, so that neither a repeat nor a new
round begins a deadline again.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import groupby
from operator import itemgetter

from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.plain import Plain
from weatherglass.model.tables.risk_tables import Risk

_LEVELS = tuple(Risk)
_BRIDGE = sepsis.RISK_GOES_ON_FOR.length
_HOLDS = timedelta(hours=24)


class Spell(Plain, frozen=True):
    """A stretch of time in which something makes the risk at least this high.

    Attributes:
        ends: The first moment at which it no longer holds; None where it still holds.
        raises: It makes moderate risk high, and is moderate alone.
    """

    at: datetime
    ends: datetime | None
    risk: Risk
    raises: bool = False


class Deadline(Plain, frozen=True):
    """What is due, counted from when the level that asks for it was reached."""

    asked_since: datetime
    within: timedelta

    @property
    def due(self) -> datetime:
        """When it is due."""
        return self.asked_since + self.within


class RiskCourse(Plain, frozen=True):
    """The risk now, and when each level was reached.

    Attributes:
        reached: By level, when it was first reached in the present run; of a worse level in that
            run, when it was last reached after a lapse of more than a day. None otherwise.
    """

    risk: Risk
    reached: tuple[datetime | None, ...]

    @property
    def since(self) -> datetime | None:
        """When the present level was reached."""
        return self.reached[self.risk]

    def deadline(self, within: Sequence[timedelta | None]) -> Deadline | None:
        """Return the deadline of the present level, or an earlier one that a step up or down must not move.

        That is one of a lower level that was still to come at the step up, or of a higher level.
        """
        since = self.since
        if since is None or within[self.risk] is None:
            return None
        asked = [
            (level, Deadline(at, allowed))
            for level, at, allowed in zip(_LEVELS, self.reached, within, strict=True)
            if at is not None and allowed is not None
        ]
        stands = [one for level, one in asked if level >= self.risk or one.due > since]
        return min(stands, key=lambda one: (one.due, one.within), default=None)


def spells_of(seen: Sequence[tuple[datetime, Risk]], *, raises: bool = False) -> list[Spell]:
    """Let every value hold until the next one, a day at most."""
    spells = []
    for place, (at, risk) in enumerate(seen):
        following = seen[place + 1][0] if place + 1 < len(seen) else None
        ends = at + _HOLDS if following is None else min(following, at + _HOLDS)
        spells.append(Spell(at, ends, risk, raises))
    return spells


def risk_course(spells: Iterable[Spell], as_of: datetime, *, known_from: datetime | None) -> RiskCourse:
    """Follow the risk up to a moment.

    Args:
        spells: In any order.
        as_of: The moment.
        known_from: When infection was first suspected: nothing is counted from earlier.
    """
    edges = sorted(_edges(spells, as_of, known_from), key=itemgetter(0))
    holding = [0] * (len(_LEVELS) + 1)  # The last one counts what raises.
    reached: list[datetime | None] = [None] * len(_LEVELS)
    lapsed: list[datetime | None] = [None] * len(_LEVELS)
    risk = Risk.VERY_LOW
    for at, group in groupby(edges, key=itemgetter(0)):
        for _, change, place in group:
            holding[place] += change
        risk = _level(holding)
        _note(at, risk, reached, lapsed)
    since = reached[risk]
    for level in _LEVELS[risk + 1 :]:
        at_worse = reached[level]
        # A worse level counts as long as the run that it belongs to goes on.
        if at_worse is not None and (since is None or at_worse < since):
            reached[level] = None
    return RiskCourse(risk, tuple(reached))


def _edges(
    spells: Iterable[Spell], as_of: datetime, known_from: datetime | None
) -> Iterable[tuple[datetime, int, int]]:
    for spell in spells:
        at = spell.at if known_from is None else max(spell.at, known_from)
        if at > as_of or (spell.ends is not None and spell.ends <= at):
            continue
        place = len(_LEVELS) if spell.raises else int(spell.risk)
        yield at, 1, place
        if spell.ends is not None and spell.ends <= as_of:
            yield spell.ends, -1, place


def _level(holding: Sequence[int]) -> Risk:
    worst = max((level for level in _LEVELS if holding[level]), default=Risk.VERY_LOW)
    if not holding[-1]:
        return worst
    return Risk.HIGH if worst >= Risk.MODERATE else Risk.MODERATE


def _note(at: datetime, risk: Risk, reached: list[datetime | None], lapsed: list[datetime | None]) -> None:
    for level in _LEVELS:
        gone = lapsed[level]
        if risk >= level:
            if reached[level] is None or (gone is not None and at - gone > _BRIDGE):
                reached[level] = at
            lapsed[level] = None
        elif reached[level] is not None and gone is None:
            lapsed[level] = at
