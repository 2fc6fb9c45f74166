"""When something began: runs of a condition over a series, and what that makes it.

Every criterion is replayed over the record's own past by walking its own series
once; these functions turn the walk into new, continuing or settling.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import TypeVar

from weatherglass.knowledge.limits.context_choices import NOT_SEEN_FOR
from weatherglass.model.findings import State
from weatherglass.model.plain import Plain

_Item = TypeVar("_Item")
_NOT_SEEN_FOR = NOT_SEEN_FOR.length


class Run(Plain, frozen=True):
    """The present or last run of a condition.

    Attributes:
        since: Time of the first value of the run.
        until: Time of the last value of the run.
        is_present: Whether the newest value still meets the condition.
    """

    since: datetime
    until: datetime
    is_present: bool


def last_run(times: Sequence[datetime], met: Sequence[bool]) -> Run | None:
    """Return the run the newest value belongs to, else the last one before it.

    What nobody measured for long is not known to have gone on: such a gap begins another run.
    """
    index = len(met) - 1
    while index >= 0 and not met[index]:
        index -= 1
    if index < 0:
        return None
    end = index
    while index > 0 and met[index - 1] and times[index] - times[index - 1] <= _NOT_SEEN_FOR:
        index -= 1
    return Run(times[index], times[end], end == len(met) - 1)


def present_run(times: Sequence[datetime], met: Sequence[bool]) -> Run | None:
    """Return the run the newest value belongs to; None where that value does not meet the condition."""
    run = last_run(times, met)
    return run if run is not None and run.is_present else None


def first_of_run(items: Sequence[_Item], is_met: Callable[[_Item], bool]) -> _Item | None:
    """Return the first of those that lead to the newest without a break; None where the newest is not one.

    Args:
        items: Oldest first.
        is_met: What is asked of each, the newest first, until one does not meet it.
    """
    first = None
    for one in reversed(items):
        if not is_met(one):
            break
        first = one
    return first


def began_without_gap(newest: datetime, before: Iterable[datetime], gap: timedelta) -> datetime:
    """Return when a run began that no longer gap interrupts.

    Args:
        newest: The last time that it was so.
        before: The times that it was so, newest first, that one among them or not.
        gap: How long it may not have been so in between.
    """
    began = newest
    for at in before:
        if began - at > gap:
            break
        began = at
    return began


def run_at_level(
    times: Sequence[datetime], levels: Sequence[int], *, bridge: timedelta = timedelta(0)
) -> Run | None:
    """Return the run at the newest value's level or worse, else the last run of any level.

    A worse level begins a run of its own, so that worsening is new; a better one goes on
    with the run, so that half-way back is not new.

    Args:
        times: Ascending, one for each level.
        levels: 0 where the condition is not met, higher where it is worse.
        bridge: A condition that lapses for no longer than this goes on as one run.
    """
    end = len(levels) - 1
    while end >= 0 and not levels[end]:
        end -= 1
    if end < 0:
        return None
    is_present = end == len(levels) - 1
    least = levels[end] if is_present else 1
    since = end
    lapsed = False
    for index in range(end - 1, -1, -1):
        if times[since] - times[index] > (bridge if lapsed else _NOT_SEEN_FOR):
            break
        if levels[index] >= least:
            since, lapsed = index, False
        elif times[since] - times[index] > bridge:
            break
        else:
            lapsed = True
    return Run(times[since], times[end], is_present)


class Stepped(Plain, frozen=True):
    """A run of a condition that has levels.

    Attributes:
        run: At the newest value's level or worse, else the last one of any level.
        since: When the condition began at any level.
    """

    run: Run
    since: datetime

    @property
    def asked_since(self) -> datetime | None:
        """When the present level began; None where that is when the condition began."""
        return self.run.since if self.run.since != self.since else None


def stepped_run(
    times: Sequence[datetime], levels: Sequence[int], *, bridge: timedelta = timedelta(0)
) -> Stepped | None:
    """Return the present or last run, with the moment at which its present level began.

    A repeat of the same level, or a better one, moves neither. Arguments are those of `run_at_level`.
    """
    run = run_at_level(times, levels, bridge=bridge)
    whole = run_at_level(times, [int(bool(level)) for level in levels], bridge=bridge)
    return Stepped(run, whole.since) if run is not None and whole is not None else None


def state_of(
    run: Run | None, as_of: datetime, *, new_within: timedelta, settled_within: timedelta
) -> State | None:
    """Say what a run makes a finding at a moment; None when it is past and gone."""
    if run is None:
        return None
    if run.is_present:
        return State.NEW if as_of - run.since <= new_within else State.CONTINUING
    return State.SETTLING if as_of - run.until <= settled_within else None
