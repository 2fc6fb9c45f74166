"""A value that is worked out when it is first asked for and kept with what it belongs to.

As `functools.cached_property`, which up to Python 3.11 takes a lock each time, as if two threads asked one
patient at once. Should two ask a row of a table, both work out the same.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from functools import cached_property
else:

    class cached_property:  # noqa: N801
        """A property that is kept in the place of itself."""

        def __init__(self, work_out: Callable[[Any], Any]) -> None:
            self._work_out = work_out
            self.__doc__ = work_out.__doc__

        def __set_name__(self, owner: type, name: str) -> None:
            self._name = name

        def __get__(self, instance: Any, owner: type | None = None) -> Any:
            if instance is None:
                return self
            value = instance.__dict__[self._name] = self._work_out(instance)
            return value


__all__ = ["cached_property"]
