"""How a finding is told: what it is about, what it rests on and since when, and who says so.

`tell` builds every finding of its own kind but those of `model` that carry more (scores, stages, medicines);
these take the same `rests_on`. Neither time nor source can be left out.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Protocol, TypedDict, Unpack

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.allergy_check import against_named
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import Run, Stepped
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.model.findings import Finding, Kind, Measure, Missing, State, Step, Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, Origin, sources_of
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.lists import capital


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


#: What a finding can rest on; None for what is not there. A place alone has no time. A value with its signal
#: is also one of the numbers that the finding shows.
Input = _Recorded | _Gathered | Origin | tuple[Signal, Measurement] | None


class About(Plain, frozen=True):
    """Which finding it is: its kind, its key inside the kind, its place in A-E order."""

    kind: Kind
    key: str
    letter: Letter


class Course(Plain, frozen=True):
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
    measures: tuple[Measure, ...]
    evidence: tuple[Origin, ...]
    provisional: bool


class More(TypedDict, total=False):
    """What only some findings say; the fields of `Finding`."""

    behind: str
    at_once: str
    dated: datetime | None
    course: str
    within: timedelta | None
    waits: timedelta | None
    missing: tuple[Missing, ...]
    steps: tuple[Step, ...]
    decided_by: str


def tell(
    about: About,
    urgency: Urgency,
    basis: Basis,
    *,
    brief: str,
    sources: Iterable[Cited],
    sentence: str = "",
    asks: str = "",
    measures: Iterable[Measure] = (),
    cautions: Iterable[str] = (),
    **more: Unpack[More],
) -> Finding:
    """Return a finding.

    Args:
        about: Which one.
        urgency: How soon somebody should act.
        basis: What it rests on.
        brief: Its few words.
        sources: Who says so, or what is stated there, the first one first; each place is named once.
        sentence: What a clinician reads first, where that does not begin with the few words.
        asks: Otherwise, what follows them behind a colon; the few words alone where nothing does.
        measures: Numbers that it shows beside those that it rests on.
        cautions: What to keep in mind.
        more: What else it says.
    """
    return Finding(
        kind=about.kind,
        key=about.key,
        letter=about.letter,
        urgency=urgency,
        sentence=sentence or (f"{brief}: {asks}." if asks else f"{brief}."),
        brief=brief,
        asks=f"{capital(asks)}." if asks and not sentence else "",
        at=basis["at"],
        state=basis["state"],
        since=basis["since"],
        asked_since=basis["asked_since"],
        measures=(*basis["measures"], *measures),
        evidence=basis["evidence"],
        provisional=basis["provisional"],
        sources=sources_of(sources),
        cautions=tuple(cautions),
        **more,
    )


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
    measures: tuple[Measure, ...] = (),
) -> Basis:
    """Return what a finding says of its inputs and its course.

    Args:
        bedside: The patient.
        ran: How its condition ran, or since when it is met.
        inputs: What it rests on, in the order in which it is listed.
        at: Its time, where that is not the time of the newest input.
        asked_since: When the reason for its present urgency began; of a run or a moment only.
        measures: Further numbers that it shows, of what `tell` does not build.
    """
    course = course_of(bedside, ran, asked_since)
    shown: list[Measure] = []
    evidence: dict[Origin, None] = {}
    newest: datetime | None = None
    provisional = False
    for given in inputs:
        one: Input = given
        if type(given) is tuple:
            shown.append(measure_of(*given))
            one = given[1]
        when = getattr(one, "at", None)
        if when is not None and (newest is None or when > newest):
            newest = when
        for origin in _origins(one):
            evidence[origin] = None
        provisional = provisional or getattr(one, "is_provisional", False)
    return Basis(
        at=at or newest,
        state=course.state,
        since=course.since,
        asked_since=course.asked_since,
        measures=(*shown, *measures),
        evidence=tuple(evidence),
        provisional=provisional,
    )


def origins_of(inputs: Iterable[Input]) -> tuple[Origin, ...]:
    """Return where inputs are recorded, each place once."""
    return tuple(dict.fromkeys(origin for one in inputs for origin in _origins(one)))


def _origins(one: Input) -> Iterable[Origin]:
    if one is None:
        return ()
    if isinstance(one, str):
        return (one,)
    several: tuple[Origin, ...] | None = getattr(one, "origins", None)
    if several is not None:
        return several
    alone: Origin | None = getattr(one, "origin", None)
    return (alone,) if alone is not None else ()


# What a finding asks for: of a row behind its question, and at the bedside before anybody comes.


def asked_by(
    row: AskingRow,
    head: str,
    basis: Basis,
    *,
    key: str,
    urgency: Urgency,
    decided_by: str,
    kind: Kind = Kind.METABOLIC,
    asks: str = "",
    is_full: bool = True,
    dated: datetime | None = None,
    brief: str = "",
    sources: tuple[Cited, ...] = (),
) -> Finding:
    """Return what a row asks.

    Args:
        row: The row.
        head: What leads to its question.
        basis: What that rests on.
        key: Of the finding.
        urgency: How soon.
        decided_by: What makes it so.
        kind: Of the finding.
        asks: What is asked, where that is not what the row says.
        is_full: Whether what the row does at once is done.
        dated: The time that the head says.
        brief: Its few words, where they are fewer than the head.
        sources: Of what else counts than the row.
    """
    return tell(
        About(kind, key, row.letter),
        urgency,
        basis,
        brief=brief or head,
        sentence=f"{head}: {asks or row.asks}." if brief not in ("", head) else "",
        asks=asks or row.asks,
        at_once=row.at_once if is_full else "",
        dated=dated,
        sources=(*row.sources, *sources),
        decided_by=decided_by,
    )


def allergies_beside(bedside: Bedside, asks: str) -> str:
    """Return what is said of recorded allergies behind what is asked for; empty where it names none."""
    met = against_named(asks, bedside.record.allergies)
    return f"; recorded allergy: {'; '.join(one.said for one in met)}" if met else ""


def begun_with(finding: Finding, first: Clause | None) -> Finding:
    """Return a finding with what is done at the bedside before anybody comes, and the source of that."""
    if first is None:
        return finding
    return replace(finding, at_once=first.text, sources=(*finding.sources, first.source))
