"""The moment that the page reviews at: now, the newest entry of the file, or one that was asked for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from weatherglass.model.record.record import Record
from weatherglass.model.times.known_times import latest

#: Ours: a file whose newest entry is younger is of somebody who lies on a ward now.
_OF_TODAY: Final = timedelta(hours=24)


class AtMoment(StrEnum):
    """Which moment a view is of; empty where nobody can choose another one."""

    NOW = "now"
    NEWEST = "newest"
    GIVEN = "given"
    FIXED = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What moment was asked for.

    Attributes:
        at: The moment itself; before everything else.
        word: NOW or NEWEST; where nothing was asked for a file of today is reviewed at now.
        now: What the clock of the computer that serves the page says; None where nobody looks at a clock.
        in_file: Whether the file names a moment itself, which the operation keeps to.
    """

    at: datetime | None = None
    word: AtMoment | None = None
    now: datetime | None = None
    in_file: bool = False


#: The newest entry of each record, as where nobody looks at a clock.
AT_NEWEST: Final = Wanted()


@dataclass(frozen=True, slots=True)
class Chosen:
    """The moment of a view, None for the newest entry of each record, and which one it is."""

    at: datetime | None
    kind: AtMoment


def chosen_moment(wanted: Wanted, records: Iterable[Record]) -> Chosen:
    """Return the moment to review every record of a file at.

    A record may run ahead of this computer's clock; it is never reviewed at a moment before its
    newest entry unless somebody asked for that very moment.
    """
    if wanted.at is not None:
        return Chosen(wanted.at, AtMoment.GIVEN)
    if wanted.now is None:
        return Chosen(None, AtMoment.FIXED)
    newest = latest(record.newest for record in records)
    if newest is None or newest > wanted.now or wanted.word is AtMoment.NEWEST:
        return Chosen(None, AtMoment.NEWEST)
    if wanted.word is AtMoment.NOW or wanted.now - newest < _OF_TODAY:
        return Chosen(wanted.now, AtMoment.NOW)
    return Chosen(None, AtMoment.NEWEST)
