"""How long and how often we ask, and how long a server asks us to wait."""

import random
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RetryPolicy:
    """How long and how often we ask.

    Attributes:
        attempts: How often one request is sent at most.
        first_pause: Seconds before the second attempt; doubled for each further one.
        longest_pause: Longest pause in seconds; a server that asks for more is given up.
        timeout: Seconds without a byte before a request is given up.
        concurrency: Requests under way at once.
        max_bytes: Largest answer held in memory.
    """

    attempts: int = 5
    first_pause: float = 0.5
    longest_pause: float = 300.0
    timeout: float = 30.0
    concurrency: int = 4
    max_bytes: int = 64 * 1024 * 1024

    def pause_after(self, attempt: int) -> float:
        """Return how long to wait after an attempt: doubled each time, half of it by chance."""
        full = min(self.first_pause * 2.0 ** (attempt - 1), self.longest_pause)
        return full * (0.5 + random.random() / 2)  # noqa: S311 - spreads load, guards nothing.


def seconds_asked(header: str, now: datetime) -> float | None:
    """Read a Retry-After header: seconds, or a date.

    Examples:
        >>> seconds_asked("120", datetime(2026, 3, 1, tzinfo=UTC))
        120.0
        >>> seconds_asked("Sun, 01 Mar 2026 00:00:10 GMT", datetime(2026, 3, 1, tzinfo=UTC))
        10.0
        >>> seconds_asked("soon", datetime(2026, 3, 1, tzinfo=UTC)) is None
        True
    """
    text = header.strip()
    if text.isdecimal() and len(text) < 10:
        return float(text)
    try:
        moment = parsedate_to_datetime(text)
    except ValueError:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return max(0.0, (moment - now).total_seconds())
