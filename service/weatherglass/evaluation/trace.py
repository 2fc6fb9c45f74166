"""One patient's past as the evaluation needs it: time on the ward, what was said when, what came.

Values only, small and without identity, so that workers can hand them on.
"""

from datetime import datetime, timedelta

from msgspec import Struct

#: The ladder of the review as a whole; its rungs are the urgencies.
REVIEW = "review"


class Stretch(Struct, frozen=True, array_like=True):
    """Time on a ward, where the service would have watched."""

    starts: datetime
    ends: datetime

    @property
    def length(self) -> timedelta:
        """How long it lasted."""
        return self.ends - self.starts


class Missed(Struct, frozen=True, array_like=True):
    """An input that a score lacked, and why."""

    key: str
    reason: str


class Step(Struct, frozen=True, array_like=True):
    """What one ladder said at one moment.

    Attributes:
        at: The moment.
        level: The rung: the lowest possible total of a score, or the urgency of a review.
        highest: The highest possible total; the same as `level` when nothing was missing.
        missed: What was missing.
    """

    at: datetime
    level: int
    highest: int
    missed: tuple[Missed, ...] = ()

    @property
    def is_complete(self) -> bool:
        """Tell whether nothing was missing."""
        return not self.missed


class Outcome(Struct, frozen=True, array_like=True):
    """Something that should have been foreseen.

    Attributes:
        at: When.
        kind: What, in one word or the list's own.
        day_only: Whether only the day is recorded; `at` is then the end of it.
    """

    at: datetime
    kind: str
    day_only: bool = False


class Trace(Struct, kw_only=True):
    """One patient.

    Attributes:
        patient: How the data name the patient; only to join a list of outcomes with, never written out.
        stretches: Time on wards, in order, apart from each other.
        ladders: What each score, and the review, said, in order of time.
        onsets: How often each kind of finding newly appeared.
        outcomes: What came, in order of time.
        has_stay: Whether the time on wards is recorded; otherwise it is first to last observation.
        is_test_data: Whether the data say of themselves that they are no real record.
    """

    patient: str
    stretches: list[Stretch]
    ladders: dict[str, list[Step]]
    onsets: dict[str, int]
    outcomes: list[Outcome]
    has_stay: bool = True
    is_test_data: bool = False
