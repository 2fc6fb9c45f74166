"""Totals that somebody else worked out: read, followed over time, never recomputed.

For scores whose tables are not computed here there is nothing to check a total
against; its own course still tells something.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import stepped_run
from weatherglass.knowledge.scores.score_choices import REPORTED_RISE
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital

#: How many past totals are shown beside the newest.
_SHOWN = 12


def follow_reported(
    bedside: Bedside,
    signal: Signal,
    *,
    note: str,
    levels: Sequence[tuple[Cutoff, Urgency]],
    source: Source | None = None,
) -> Iterator[Finding]:
    """Report the newest total of a signal, the ones before it and how it has changed.

    A rise is one by the same limits as a rise of NEWS2, which are ours.

    Args:
        bedside: The patient.
        signal: The reported total.
        note: What to know of a total that is not recomputed.
        levels: From which total somebody is asked, the most urgent first.
        source: What is published about it, where something is.
    """
    totals = [one for one in bedside.record.series(signal).items if one.is_exact]
    if not totals:
        return
    rises = [_rise(totals, place) for place in range(len(totals))]
    risen = [rise is not None and _counts(rise, totals[place].value) for place, rise in enumerate(rises)]
    newest = totals[-1]
    is_fresh = bedside.as_of - newest.at <= bedside.choices.look_back
    graded = [_urgency(one.value, levels, has_risen=rose) for one, rose in zip(totals, risen, strict=True)]
    stepped = stepped_run([one.at for one in totals], [int(each) for each in graded]) if is_fresh else None
    met = next((cut for cut, _ in levels if cut.is_met_by(newest.value)), None)
    window = trend_limits.SCORE_RISE_WINDOW.length
    shown = [one for one in totals if newest.at - one.at <= window][-_SHOWN:]
    said = _said(bedside, signal, newest, rises[-1])
    yield tell(
        About(Kind.REPORTED_SCORE, signal.value, Letter.OVERALL),
        graded[-1] if is_fresh else Urgency.ROUTINE,
        rests_on(bedside, stepped, *shown),
        brief=said,
        sentence=f"{said}{_before(bedside, totals, rises[-1])}. {note}",
        measures=_measures(signal, shown, rises[-1]),
        dated=newest.at,
        sources=(
            *((source,) if source is not None else ()),
            *((met,) if met is not None else ()),
            trend_limits.SCORE_RISE,
            REPORTED_RISE,
        ),
        decided_by=_rule(met, has_risen=risen[-1]) if is_fresh else "",
    )


def _urgency(value: Decimal, levels: Sequence[tuple[Cutoff, Urgency]], *, has_risen: bool) -> Urgency:
    own = next((urgency for cut, urgency in levels if cut.is_met_by(value)), Urgency.ROUTINE)
    return max(own, Urgency.PROMPT) if has_risen else own


def _rule(met: Cutoff | None, *, has_risen: bool) -> str:
    if met is not None:
        return f"a reported total of {plain(met.limit.value)} or more"
    return "a reported total has risen" if has_risen else ""


def _rise(totals: Sequence[Measurement], place: int) -> Decimal | None:
    """Return a total minus the lowest of the window before it."""
    newest = totals[place]
    earliest = newest.at - trend_limits.SCORE_RISE_WINDOW.length
    lowest: Decimal | None = None
    for one in reversed(totals[:place]):
        if one.at < earliest:
            break
        lowest = one.value if lowest is None or one.value < lowest else lowest
    return newest.value - lowest if lowest is not None else None


def _counts(rise: Decimal, value: Decimal) -> bool:
    return trend_limits.SCORE_RISE.is_met_by(rise) and trend_limits.SCORE_RISE_FLOOR.is_met_by(value)


def _said(bedside: Bedside, signal: Signal, newest: Measurement, rise: Decimal | None) -> str:
    label = signal.label
    said = f"{capital(label)} {plain(newest.value)} {bedside.clock.at(newest.at)}"
    has_risen = rise is not None and rise > 0
    return f"{said}, up {plain(rise)} from the lowest of 24 hours" if rise is not None and has_risen else said


def _before(bedside: Bedside, totals: Sequence[Measurement], rise: Decimal | None) -> str:
    if len(totals) < 2 or (rise is not None and rise > 0):
        return ""
    return f"; before it {plain(totals[-2].value)} {bedside.clock.at(totals[-2].at)}"


def _measures(signal: Signal, shown: Sequence[Measurement], rise: Decimal | None) -> Iterator[Measure]:
    for one in shown:
        yield measure_of(signal, one)
    if rise is not None:
        unit = signal.unit
        yield Measure("rise", "rise from the lowest of 24 hours", rise, unit)
