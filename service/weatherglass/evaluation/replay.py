"""A record reviewed again at every moment of its own past, as the service would have done then.

Nothing later than a moment is visible to its review: the very function that answers
requests is called with the record as it stood. What is evaluated is therefore what is
delivered, and not a second implementation of it.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from weatherglass.evaluation.beside.said import Looking
from weatherglass.evaluation.counting.ward_time import ward_time
from weatherglass.evaluation.outcomes import Ending
from weatherglass.evaluation.trace import REVIEW, Missed, Onset, Points, Spell, Step, Stretch, Trace
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.timeline import BEDSIDE_SIGNALS
from weatherglass.handover.kinds import KINDS
from weatherglass.model.findings import Kind, ScoreFinding, ScorePart, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Stay
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.signals import Signal
from weatherglass.review.assess import assess


@dataclass(frozen=True, slots=True)
class Keep:
    """What is kept of each moment beside the ladders.

    Attributes:
        looks: Where to put down what was said; None to keep nothing of it.
        parts: Whether the points of each parameter are kept.
    """

    looks: Looking | None = None
    parts: bool = False


def trace_of(
    patient: str, record: Record, ending: Ending, choices: LocalChoices, keep: Keep | None = None
) -> Trace | None:
    """Replay one patient.

    Args:
        patient: How the data name the patient.
        record: The whole record.
        ending: What its lines say of a death and of arrests.
        choices: What the site has chosen.
        keep: What else to keep of each moment; nothing when None.

    Returns:
        The trace; None when the patient never was on a ward.
    """
    died = ending.death.at if ending.death is not None else None
    stretches, outcomes, has_stay = ward_time(record, died)
    if not stretches or record.newest is None:
        return None
    outcomes += ending.arrests
    if ending.death is not None:
        outcomes.append(ending.death)
    trace = Trace(
        patient=patient,
        stretches=stretches,
        spells=spells_of(Bedside(record, record.newest, choices), stretches),
        ladders={},
        onsets=[],
        outcomes=sorted(outcomes, key=lambda each: each.at),
        sex=record.subject.sex.value,
        zone_minutes=_zone_minutes(record.zone, record.newest),
        has_stay=has_stay,
        is_test_data=ending.is_test_data,
    )
    _fill(trace, record, choices, keep or Keep())
    return trace


def _fill(trace: Trace, record: Record, choices: LocalChoices, keep: Keep) -> None:
    ladders: dict[str, list[Step]] = {REVIEW: []}
    onsets: list[Onset] = []
    before: dict[tuple[str, str], int] = {}
    for moment in moments_of(record, trace.stretches, choices):
        review = assess(record, moment, choices)
        if keep.looks is not None:
            keep.looks.add(review, moment)
        ladders[REVIEW].append(Step(moment, int(review.urgency), int(review.urgency)))
        for step in score_steps(review, moment, with_parts=keep.parts):
            ladders.setdefault(step[0], []).append(step[1])
        now = _asked(review)
        for (kind, key), urgency in sorted(now.items()):
            earlier = before.get((kind, key))
            if earlier is None or urgency > earlier:
                limit = key if KINDS[Kind(kind)].own_limits else ""
                onsets.append(Onset(moment, kind, urgency, earlier is None, limit))
        before = now
    trace.ladders = ladders
    trace.onsets = onsets


def _asked(review: Review) -> dict[tuple[str, str], int]:
    """Return the findings that ask for something, by kind and key, with their urgency."""
    found: dict[tuple[str, str], int] = {}
    for finding in review.findings:
        if finding.urgency > Urgency.ROUTINE and finding.state is not State.SETTLING:
            about = (finding.kind.value, finding.key)
            found[about] = max(int(finding.urgency), found.get(about, 0))
    return found


def _zone_minutes(zone: tzinfo, moment: datetime) -> int:
    offset = moment.astimezone(zone).utcoffset()
    return 0 if offset is None else int(offset.total_seconds() // 60)


def moments_of(record: Record, stretches: Sequence[Stretch], choices: LocalChoices) -> list[datetime]:
    """Return when something new was known: the end of each round, and each laboratory result.

    Only moments on a ward count.
    """
    if record.newest is None:
        return []
    rounds = (one.end for one in Bedside(record, record.newest, choices).sets)
    results = (
        moment
        for signal, series in record.numbers.items()
        if signal not in BEDSIDE_SIGNALS and signal not in _NO_NEWS
        for moment in series.times
    )
    starts = [each.starts for each in stretches]
    found = []
    for moment in sorted({*rounds, *results}):
        at = bisect_left(starts, moment)
        if at < len(starts) and starts[at] == moment:
            at += 1
        if at and moment <= stretches[at - 1].ends:
            found.append(moment)
    return found


#: Measured with nobody waiting for it.
_NO_NEWS = frozenset({Signal.WEIGHT, Signal.HEIGHT, Signal.GESTATION})


def score_steps(review: Review, moment: datetime, *, with_parts: bool = False) -> Iterable[tuple[str, Step]]:
    """Yield what each score says of a round that ends at the moment of the review."""
    for finding in review.findings:
        if (
            isinstance(finding, ScoreFinding)
            and finding.kind is Kind.SCORE
            and finding.is_current
            and finding.at == moment
            and finding.parts  # A ratio has no rungs.
        ):
            missed = tuple(Missed(each.key, each.reason.value) for each in finding.missing)
            if not missed and finding.total is None:
                missed = (Missed("", "not computed"),)
            highest = finding.highest if missed else finding.lowest
            parts = tuple(map(_points, finding.parts)) if with_parts else ()
            yield finding.key, Step(moment, finding.lowest, highest, missed, parts)


def _points(part: ScorePart) -> Points:
    missing = part.missing.reason.value if part.missing is not None else ""
    return Points(part.key, part.label, part.points, part.lowest, part.highest, part.shown, missing)


def spells_of(bedside: Bedside, stretches: Sequence[Stretch]) -> list[Spell]:
    """Tile the stretches with spells of one ward and one age.

    Args:
        bedside: The whole record.
        stretches: Time on wards, in order.
    """
    wards = sorted(
        (
            stay
            for stay in bedside.record.stays
            if stay.in_hospital and not stay.critical_care and stay.starts
        ),
        key=lambda stay: stay.starts or stretches[0].starts,
    )
    edges = sorted({at for stay in wards for at in (stay.starts, stay.ends) if at is not None})
    found: list[Spell] = []
    for stretch in stretches:
        inside = [at for at in edges if stretch.starts < at < stretch.ends]
        starts = [stretch.starts, *inside]
        for start, end in zip(starts, [*inside, stretch.ends], strict=True):
            age = bedside.record.subject.age_at(bedside.local(start))
            found.append(Spell(start, end, _ward(wards, start), age))
    return found


def _ward(wards: Sequence[Stay], moment: datetime) -> str:
    """Name the ward of a moment: of stays that overlap, the one begun last that has a name."""
    there = [
        stay.place
        for stay in wards
        if stay.starts is not None and stay.starts <= moment and (stay.ends is None or moment < stay.ends)
    ]
    return next((place for place in reversed(there) if place), "")
