"""What a finding rests on and since when it stands: the fields that all findings fill in the same way."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple, Protocol, TypedDict

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import Run, Stepped
from weatherglass.model.findings import State
from weatherglass.model.sources import Origin


class _Recorded(Protocol):
    """A value, an answer or a word of the record: when it was and where it stands."""

    @property
    def at(self) -> datetime | None: ...

    @property
    def origin(self) -> Origin | None: ...


class _Gathered(Protocol):
    """The same of what comes from several places."""

    @property
    def at(self) -> datetime | None: ...

    @property
    def origins(self) -> tuple[Origin, ...]: ...


#: What a finding can rest on; None for what is not there. A place alone has no time.
Input = _Recorded | _Gathered | Origin | None


class Course(NamedTuple):
    """Since when a finding stands, since when at its present urgency, and what that makes it now."""

    since: datetime | None = None
    asked_since: datetime | None = None
    state: State | None = None


class Basis(TypedDict):
    """The fields of a finding that follow from its inputs and its course."""

    at: datetime | None
    state: State | None
    since: datetime | None
    asked_since: datetime | None
    evidence: tuple[Origin, ...]
    provisional: bool


def course_of(
    bedside: Bedside, ran: Course | Stepped | Run | datetime | None, asked_since: datetime | None = None
) -> Course:
    """Say how a finding stands that ran like this, or that has been there since a moment.

    A run that is past and gone is none.
    """
    if isinstance(ran, Course):
        return ran
    if ran is None or isinstance(ran, datetime):
        return Course(ran, asked_since, bedside.state_since(ran))
    state = bedside.state_of(ran.run if isinstance(ran, Stepped) else ran)
    if state is None:
        return Course()
    return Course(ran.since, ran.asked_since if isinstance(ran, Stepped) else asked_since, state)


def rests_on(
    bedside: Bedside,
    ran: Course | Stepped | Run | datetime | None,
    *inputs: Input,
    at: datetime | None = None,
    asked_since: datetime | None = None,
) -> Basis:
    """Return what a finding says of its inputs and its course.

    Args:
        bedside: The patient.
        ran: How its condition ran, or since when it is met.
        inputs: What it rests on, in the order in which it is listed.
        at: Its time, where that is not the time of the newest input.
        asked_since: When the reason for its present urgency began; of a run or a moment only.
    """
    course = course_of(bedside, ran, asked_since)
    newest = max((when for one in inputs if (when := getattr(one, "at", None)) is not None), default=None)
    return Basis(
        at=at or newest,
        state=course.state,
        since=course.since,
        asked_since=course.asked_since,
        evidence=origins_of(inputs),
        provisional=any(getattr(one, "is_provisional", False) for one in inputs),
    )


def origins_of(inputs: Iterable[Input]) -> tuple[Origin, ...]:
    """Return where inputs are recorded, each place once."""
    return tuple(dict.fromkeys(origin for one in inputs for origin in _origins(one)))


def _origins(one: Input) -> Iterable[Origin]:
    if one is None or isinstance(one, str):
        return (one,) if one is not None else ()
    several: tuple[Origin, ...] | None = getattr(one, "origins", None)
    if several is not None:
        return several
    alone: Origin | None = getattr(one, "origin", None)
    return (alone,) if alone is not None else ()
