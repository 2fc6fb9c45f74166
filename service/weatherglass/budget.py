"""How much work one answer may cost: seconds of the processor, looked at now and then on the way.

Time that others take from the processor does not count, so that a busy machine refuses
nobody. Nothing is looked at unless whoever starts the work has set a limit.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import islice
from time import thread_time
from typing import TypeVar

_Item = TypeVar("_Item")
#: How many items of a long list are worked on between two looks at the clock.
_BETWEEN_LOOKS = 64
_ENDS_AT: ContextVar[float | None] = ContextVar("when the work of this thread has to end", default=None)


class OverBudgetError(Exception):
    """The work has cost more than it may."""


@contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Limit the work inside; the innermost limit counts."""
    before = _ENDS_AT.set(thread_time() + seconds)
    try:
        yield
    finally:
        _ENDS_AT.reset(before)


def check() -> None:
    """Go on, or end the work.

    Raises:
        OverBudgetError: It has cost more than it may.
    """
    ends_at = _ENDS_AT.get()
    if ends_at is not None and thread_time() > ends_at:
        raise OverBudgetError


def watched(items: Iterable[_Item]) -> Iterator[_Item]:
    """Pass items on, with a look at the clock now and then."""
    passing = iter(items)
    while some := list(islice(passing, _BETWEEN_LOOKS)):
        check()
        yield from some
