"""The first and the last of moments of which some are not known."""

from collections.abc import Iterable
from datetime import datetime


def earliest(times: Iterable[datetime | None]) -> datetime | None:
    """Return the earliest that is known; None where none is."""
    return min(filter(None, times), default=None)


def latest(times: Iterable[datetime | None]) -> datetime | None:
    """Return the latest that is known; None where none is."""
    return max(filter(None, times), default=None)
