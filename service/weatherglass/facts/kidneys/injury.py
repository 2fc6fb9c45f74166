"""The KDIGO stage of a person: the higher of creatinine and urine, or replacement therapy.

Each part keeps its own answer, so that a reader sees which of them decided and which
could not be judged. The past is walked once: every creatinine, every charted hour of
urine and every start of therapy is a moment at which the stage may change.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from heapq import merge
from operator import itemgetter
from typing import Final

from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.kidneys.therapy import Session, Therapy
from weatherglass.facts.kidneys.urine import UrineStage
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement, Remark


class TherapyStart(Plain, frozen=True):
    """Therapy that was begun in an acute illness.

    Attributes:
        session: The first session of the course.
        shown_acute: Whether criteria were met around its start; False when a result there could
            not be staged, and none of the others met any.
    """

    session: Session
    shown_acute: bool


class AkiNow(Plain, frozen=True):
    """Acute kidney injury at the moment of the review, by whatever shows it.

    Attributes:
        stage: The highest stage by either criterion, by urine, therapy or acute kidney disease; 0
            when nothing recent shows any.
        since: Since when any stage has been met.
        stage_since: Since when this stage or a higher one has been met.
        is_disease: Whether the stage is that of acute kidney disease, of more than 7 days.
    """

    stage: int
    since: datetime | None = None
    stage_since: datetime | None = None
    is_disease: bool = False


NO_INJURY: Final = AkiNow(0)


class Injury(Plain, frozen=True):
    """The stage by KDIGO at the moment of the review, and how it came about.

    Attributes:
        stage: The highest of its parts, None when none could be judged.
        creatinine: The newest creatinine off therapy with its stage, None when it is too old to
            speak of now.
        old: That one where it is too old.
        urine: The newest judged urine output, None when none is recent.
        therapy: Therapy begun in this illness, which is stage 3.
        history: The stage at every moment at which it could change.
    """

    stage: int | None
    creatinine: KidneyStage | None
    urine: UrineStage | None
    therapy: TherapyStart | None
    history: tuple[tuple[datetime, int], ...]
    old: KidneyStage | None = None

    @property
    def decided_by(self) -> str:
        """The part that gives the stage, in words; empty without a stage."""
        if not self.stage:
            return ""
        if self.therapy is not None:
            return "renal replacement therapy was started"
        if self.creatinine is not None and self.creatinine.stage == self.stage:
            return self.creatinine.rule
        return self.urine.rule if self.urine is not None else ""


def find_injury(
    creatinine: Sequence[KidneyStage],
    urine: Sequence[UrineStage],
    therapy: Therapy,
    as_of: datetime,
    *,
    creatinine_stands: timedelta,
    urine_stands: timedelta,
) -> Injury:
    """Put the parts together.

    Args:
        creatinine: Every result off therapy with its stage, oldest first.
        urine: Every charted entry with its stage, oldest first.
        therapy: Renal replacement therapy.
        as_of: The moment of the review.
        creatinine_stands: How long a creatinine speaks for now, as the site has chosen.
        urine_stands: How long a stage by urine stands after the last charted entry.
    """
    started = _acute_start(creatinine, urine, therapy, as_of)
    newest_urine = urine[-1] if urine and as_of - urine[-1].at <= urine_stands else None
    last = creatinine[-1] if creatinine else None
    # What was measured long ago says nothing about an acute injury now.
    is_recent = last is not None and speaks_for(last.result, as_of, creatinine_stands)
    newest, old = (last, None) if is_recent else (None, last)
    parts = [one.stage for one in (newest, newest_urine) if one is not None]
    if started is not None:
        parts.append(kdigo.STAGE_3)
    known = [part for part in parts if part is not None]
    # No stage by urine alone says nothing about a creatinine that could not be staged.
    unknown = old is not None or (newest is not None and newest.stage is None)
    stage = None if not known or (unknown and max(known) == 0) else max(known)
    if therapy.is_long_term_at(as_of):
        stage = None  # Kidneys that have failed long ago are no acute injury.
    history = _history(creatinine, urine, started, (creatinine_stands, urine_stands))
    return Injury(stage, newest, newest_urine, started, tuple(history), old)


#: A date alone is kept at its noon; its day may have ended this much later.
_REST_OF_DAY = timedelta(hours=12)


def speaks_for(result: Measurement, as_of: datetime, stands: timedelta) -> bool:
    """Tell whether a creatinine still speaks for the moment of the review."""
    later = _REST_OF_DAY if Remark.DAY_ONLY in result.remarks else timedelta(0)
    return as_of - result.at <= stands + later


def _acute_start(
    creatinine: Sequence[KidneyStage], urine: Sequence[UrineStage], therapy: Therapy, as_of: datetime
) -> TherapyStart | None:
    course = therapy.course_at(as_of)
    if not course or therapy.is_long_term_at(as_of) or course[0].start is None:
        return None
    start = course[0].start
    first, last = start - ours.CRITERIA_BEFORE_THERAPY.length, start + ours.CRITERIA_AFTER_THERAPY.length
    results = [s for s in creatinine if first <= s.result.at <= last]
    around = [s.stage for s in results if s.stage is not None]
    around += [s.stage for s in urine if first <= s.at <= last and s.stage is not None]
    # A result that stood alone is no proof of steady kidneys, though a later one is steady against it.
    stood_alone = any(s.stage is None and s.already is None for s in results)
    if around and not any(around) and not stood_alone:
        return None
    return TherapyStart(course[0], any(around))


def _history(
    creatinine: Sequence[KidneyStage],
    urine: Sequence[UrineStage],
    started: TherapyStart | None,
    stands: tuple[timedelta, timedelta],
) -> Iterator[tuple[datetime, int]]:
    events = merge(
        ((one.result.at, 0, one.stage) for one in creatinine),
        ((one.at, 1, one.stage) for one in urine),
        ((started.session.start, 2, kdigo.STAGE_3) for _ in (0,) if started and started.session.start),
        key=itemgetter(0),
    )
    held: list[tuple[datetime, int] | None] = [None, None, None]
    limits = (*stands, None)
    for at, part, stage in events:
        held[part] = (at, stage) if stage is not None else None
        known = [
            value[1]
            for value, limit in zip(held, limits, strict=True)
            if value is not None and (limit is None or at - value[0] <= limit)
        ]
        if known:
            yield at, max(known)
