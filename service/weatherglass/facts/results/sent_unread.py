"""What of the last day was sent and is not among the values that were read and used."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.model.record import Record, SentValue
from weatherglass.model.sources import Origin

#: Ours: what was sent within this time before the review has to be read or said.
COUNTS_FOR: Final = timedelta(hours=24)


def sent_and_unread(record: Record, as_of: datetime) -> Sequence[SentValue]:
    """Return the newest of each name that was sent in the last day and could not be used."""
    if not record.sent:
        return ()
    used = _used(record)
    newest = {one.name: one for one in sorted(record.sent, key=lambda one: one.at)}
    return [one for one in newest.values() if one.origin not in used and as_of - one.at <= COUNTS_FOR]


def _used(record: Record) -> frozenset[Origin]:
    """Return the origins of the values that were read and could be used."""
    read = (item.origin for series in record.numbers.values() for item in series.items)
    answered = (item.origin for answers in record.codes.values() for item in answers.items)
    return frozenset((*read, *answered))
