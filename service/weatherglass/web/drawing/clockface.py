"""How moments are written on one patient's page, in the zone of the record."""

from dataclasses import dataclass
from datetime import UTC, datetime

from weatherglass.model.times.dates_alone import is_date_alone
from weatherglass.model.words.clock_words import Clock


@dataclass(frozen=True, slots=True)
class Clockface(Clock):
    """The record's zone and the moment of the review.

    Examples:
        >>> face = Clockface(UTC, datetime(2026, 3, 12, 7, 10, tzinfo=UTC))
        >>> face.short(face.now), face.short(datetime(2026, 3, 9, 23, 5, tzinfo=UTC))
        ('07:10', '23:05, 9 Mar')
    """

    now: datetime

    def short(self, moment: datetime) -> str:
        """Write a moment for a narrow place: the day only when it is not that of the review."""
        if is_date_alone(moment):
            return self.day_in_short(moment)
        time = self.time(moment)
        return time if self.is_today(moment) else f"{time}, {self.day_in_short(moment)}"

    def seconds(self, moment: datetime) -> int:
        """Return a moment as seconds of the record's own wall clock, so that a browser needs no zone."""
        return int(self.local(moment).replace(tzinfo=UTC).timestamp())
