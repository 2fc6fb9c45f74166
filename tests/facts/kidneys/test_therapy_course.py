"""Sessions of therapy looked up in their order give what looking through all of them gives.

72 hours after a session and 90 days between courses: see the criteria of the kidneys.
"""

import random
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from weatherglass.facts.kidneys.therapy import Session, Therapy
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Subject

_AFTER = baseline.ON_THERAPY_AFTER_SESSION.length
_DAY = timedelta(days=1)
_START = datetime(2026, 1, 1, tzinfo=UTC)


def _therapy(draw: random.Random) -> Therapy:
    made = []
    for number in range(draw.randint(0, 8)):
        at = _START + draw.randint(0, 400) * _DAY
        made.append(
            Procedure(
                origin=Origin(f"Procedure/{number}"),
                text="Haemodialysis",
                kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
                at=at,
                ended=at + draw.randint(0, 60) * _DAY,
                ongoing=draw.random() < 0.1,
            )
        )
    return Therapy(Record(subject=Subject(origin=Origin("Patient/p")), procedures=tuple(made)))


def _on(sessions: Sequence[Session], moment: datetime) -> bool:
    return any(
        (one.start is None or one.start <= moment) and (one.end is None or moment <= one.end + _AFTER)
        for one in sessions
    )


def _course(sessions: Sequence[Session], moment: datetime) -> tuple[Session, ...]:
    course: list[Session] = []
    for one in sessions:
        if one.start is not None and one.start > moment:
            break
        ends = [each.end for each in course]
        last = max((end for end in ends if end is not None), default=None)
        if (
            course
            and None not in ends
            and one.start
            and last
            and one.start - last > kdigo.DISEASE_LASTS.length
        ):
            course = []
        course.append(one)
    return tuple(course) if course and _on(sessions, moment) else ()


def test_a_moment_belongs_to_the_same_course() -> None:
    draw = random.Random(4)
    for _ in range(300):
        therapy = _therapy(draw)
        for days in range(-10, 520, 7):
            moment = _START + days * _DAY
            assert therapy.on(moment) == _on(therapy.sessions, moment)
            assert tuple(therapy.course_at(moment)) == _course(therapy.sessions, moment)
