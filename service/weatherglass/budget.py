"""How much work one answer may cost: seconds of the processor, looked at now and then on the way.

Time that others take from the processor does not count, so that a busy machine refuses
nobody. Nothing is looked at unless whoever starts the work has set a limit.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import islice
from time import thread_time
from typing import NamedTuple, TypeVar

_Item = TypeVar("_Item")
#: How many items of a long list are worked on between two looks at the clock.
_BETWEEN_LOOKS = 64


class _Limit(NamedTuple):
    ends_at: float
    stops: Callable[[], bool]


_LIMIT: ContextVar[_Limit | None] = ContextVar("when the work of this thread has to end", default=None)


class OverBudgetError(Exception):
    """The work has cost more than it may."""


def _never() -> bool:
    return False


@contextmanager
def limited(seconds: float, stops: Callable[[], bool] = _never) -> Iterator[None]:
    """Limit the work inside; the innermost limit counts.

    Args:
        seconds: How much of the processor it may cost.
        stops: Tells whether nobody waits for it any more.
    """
    before = _LIMIT.set(_Limit(thread_time() + seconds, stops))
    try:
        yield
    finally:
        _LIMIT.reset(before)


def check() -> None:
    """Go on, or end the work.

    Raises:
        OverBudgetError: It has cost more than it may.
    """
    limit = _LIMIT.get()
    if limit is not None and (limit.stops() or thread_time() > limit.ends_at):
        raise OverBudgetError


def watched(items: Iterable[_Item]) -> Iterator[_Item]:
    """Pass items on, with a look at the clock now and then."""
    passing = iter(items)
    while some := list(islice(passing, _BETWEEN_LOOKS)):
        check()
        yield from some
