"""One engine for every aggregate score: rounds of observations in, totals out.

A missing row never scores as normal: it leaves the total open, and the engine says
the lowest and the highest total that the known rows allow. A value known only as a
limit ("> 99") counts where every value beyond the limit would score the same.
"""

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from datetime import datetime
from enum import Enum

from weatherglass.facts.rounds.consciousness import (
    answered_of,
    coma_scale_of,
    consciousness_of,
    number_of,
    unnamed_confusion,
)
from weatherglass.facts.rounds.measures import answer_words, measures_of, oxygen_word, show
from weatherglass.facts.rounds.timeline import ObservationSet, Resolved, oxygen_of
from weatherglass.model.findings import Measure, Missing, MissingReason, ScorePart, ScorePoint
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement, Spread
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import ChoiceTable
from weatherglass.model.tables.scores import ResponseTier, ScoreDefinition, ScoreParameter


class RowResult(Plain, frozen=True):
    """Points of one row in one round; `points` is None when the row is open.

    `measured` is what the row rests on where that is not a reading of the round itself.
    """

    points: int | None
    lowest: int
    highest: int
    origins: tuple[Origin, ...] = ()
    reason: MissingReason | None = None
    measured: tuple[Measure, ...] = ()


class SetResult(Plain, frozen=True):
    """One round scored by one score."""

    observed: ObservationSet
    rows: tuple[ScoreParameter, ...]
    results: tuple[RowResult, ...]
    total: int | None
    lowest: int
    highest: int
    tier: ResponseTier | None
    is_empty: bool  #: No row at all could be scored.
    is_filled: bool = False  #: Rows that the round left open hold what was last known.

    @property
    def is_complete(self) -> bool:
        """Tell whether every row has points."""
        return self.total is not None

    @property
    def total_words(self) -> str:
        """The total as it is said: '9', or 'at least 5' while a row is open."""
        total = f"{self.total}" if self.is_complete else f"at least {self.lowest}"
        return f"{total} (last known values)" if self.is_filled else total

    @property
    def scored(self) -> Iterator[tuple[ScoreParameter, RowResult]]:
        """Each row with its result."""
        return zip(self.rows, self.results, strict=True)

    @property
    def highest_single(self) -> int:
        """The most points any known row has."""
        return max((r.points for r in self.results if r.points is not None), default=0)

    @property
    def at(self) -> datetime:
        """When the round ended."""
        return self.observed.end

    @property
    def origins(self) -> tuple[Origin, ...]:
        """What its rows rest on."""
        return tuple(dict.fromkeys([o for r in self.results for o in r.origins]))

    @property
    def is_provisional(self) -> bool:
        """Whether anything in the round may still change."""
        observed = self.observed
        return any(one.is_provisional for one in (*observed.observed.values(), *observed.carried.values()))

    def point(self) -> ScorePoint:
        """Return this round as one point of the score timeline."""
        return ScorePoint(
            at=self.observed.end,
            total=self.total,
            lowest=self.lowest,
            highest=self.highest,
            parts=tuple([r.points for r in self.results]),
            tier=self.tier.label if self.tier else "",
            evidence=self.origins,
            rows=self.rows,
        )


#: Row results that a score decides for itself, by parameter key.
SpecialRows = Mapping[str, Callable[[ObservationSet], RowResult]]


def score_set(
    definition: ScoreDefinition,
    observed: ObservationSet,
    rows: Sequence[ScoreParameter],
    *,
    special: SpecialRows | None = None,
    confusion_is_usual: bool = False,
) -> SetResult:
    """Score one round.

    Args:
        definition: The score.
        observed: The round.
        rows: The rows that apply, one for each parameter of the score.
        special: Rows decided by more than their own signal.
        confusion_is_usual: Long-standing confusion is recorded.
    """
    results: list[RowResult] = []
    for row in rows:
        signal = row.signal
        decide = special.get(row.key) if special else None
        if decide is not None:
            result = decide(observed)
        elif isinstance(signal, Signal):
            result = number_row(row, number_of(observed, signal))
        else:
            result = _coded_row(row, signal, observed, confusion_is_usual)
        results.append(result)
    return put_together(definition, observed, rows, results)


def put_together(
    definition: ScoreDefinition,
    observed: ObservationSet,
    rows: Sequence[ScoreParameter],
    results: Sequence[RowResult],
) -> SetResult:
    """Return the total and the tier that scored rows come to."""
    single = lowest = highest = 0
    is_empty = True
    for result in results:
        lowest += result.lowest
        highest += result.highest
        if result.points is not None:
            is_empty = False
            single = max(single, result.points)
    if not definition.is_plain_sum:
        lowest, highest = _sum(definition, rows, results)
    # A total is one only when nothing that is open could change it.
    total = lowest if lowest == highest else None
    tier = _tier(definition, lowest, single)
    return SetResult(observed, tuple(rows), tuple(results), total, lowest, highest, tier, is_empty)


def highest_tier(definition: ScoreDefinition, result: SetResult) -> ResponseTier | None:
    """Return the tier of the highest total that a round could still come to."""
    single = max((one.highest for one in result.results), default=0)
    return _tier(definition, result.highest, single)


#: Tiers already looked up, by edition, total and highest single sub-score.
_TIERS: dict[tuple[str, int, int], ResponseTier | None] = {}


def _tier(definition: ScoreDefinition, total: int, highest_single: int) -> ResponseTier | None:
    key = (definition.public_key, total, highest_single)
    if key not in _TIERS:
        _TIERS[key] = definition.tier_for(total=total, highest_single=highest_single)
    return _TIERS[key]


def _sum(
    definition: ScoreDefinition, rows: Sequence[ScoreParameter], results: Sequence[RowResult]
) -> tuple[int, int]:
    """Add up the rows; a row that is not required adds nothing when it is not recorded."""
    lowest = highest = 0
    grouped: dict[str, RowResult] = {}
    in_groups = {key for group in definition.either for key in group} if definition.either else ()
    for row, result in zip(rows, results, strict=True):
        if result.points is None and not row.required and result.reason is MissingReason.NOT_RECORDED:
            continue
        if row.key in in_groups:
            grouped[row.key] = result
            continue
        lowest += result.lowest
        highest += result.highest
    for group in definition.either:
        members = [grouped[key] for key in group if key in grouped]
        lowest += max((member.lowest for member in members), default=0)
        highest += max((member.highest for member in members), default=0)
    return lowest, highest


def _coded_row(
    row: ScoreParameter, signal: CodedSignal, observed: ObservationSet, confusion_is_usual: bool
) -> RowResult:
    if signal is CodedSignal.OXYGEN_DELIVERY:
        return _resolved_row(row, oxygen_of(observed))
    if signal is CodedSignal.CONSCIOUSNESS:
        return _resolved_row(row, consciousness_of(observed, confusion_is_usual=confusion_is_usual))
    answer = observed.answer(signal)
    if answer is None:
        return missing_row(row)
    return _chosen(row, answer.value, (answer.origin,))


def number_row(row: ScoreParameter, measured: Measurement | None) -> RowResult:
    """Score a numeric row; an open value counts where its whole interval scores the same."""
    if measured is None:
        return missing_row(row)
    table = row.table
    if isinstance(table, ChoiceTable):
        raise TypeError(f"{row.key} is a numeric row and needs a table of numbers.")
    if measured.spread is None:
        points = table.points_of(measured.value)
        return RowResult(points, points, points, (measured.origin,))
    low, high = table.points_between(measured.spread.low, measured.spread.high)
    if low == high:
        return RowResult(low, low, low, (measured.origin,))
    return RowResult(None, low, high, (measured.origin,), reason_of(measured.spread))


def reason_of(spread: Spread) -> MissingReason:
    """Say why a value is known as an interval alone."""
    both = spread.low is not None and spread.high is not None
    return MissingReason.CONFLICTING if both else MissingReason.ONE_SIDED


def _resolved_row(row: ScoreParameter, resolved: Resolved | None) -> RowResult:
    if resolved is None:
        return missing_row(row)
    return _chosen(row, resolved.value, resolved.origins)


def _chosen(row: ScoreParameter, value: Enum, origins: tuple[Origin, ...]) -> RowResult:
    table = row.table
    if not isinstance(table, ChoiceTable):
        raise TypeError(f"{row.key} is a coded row and needs a table of choices.")
    points = table.points_of(value)
    return RowResult(points, points, points, origins)


def missing_row(row: ScoreParameter) -> RowResult:
    """Return an open row: it could still score anything its table allows."""
    return RowResult(None, row.table.lowest, row.table.highest, (), MissingReason.NOT_RECORDED)


# Showing a round


def parts_of(
    result: SetResult, *, confusion_is_usual: bool = False, unread: Container[str] = ()
) -> tuple[ScorePart, ...]:
    """Spell out the rows of a scored round for a reader.

    Args:
        result: The round.
        confusion_is_usual: Whether confusion is recorded as usual.
        unread: The keys of signs that were sent with it and could not be read.
    """
    return tuple(
        _part(row, outcome, result.observed, confusion_is_usual, unread) for row, outcome in result.scored
    )


def _part(
    row: ScoreParameter,
    outcome: RowResult,
    observed: ObservationSet,
    confusion_is_usual: bool,
    unread: Container[str],
) -> ScorePart:
    measures = outcome.measured or measures_of(row.signal, observed, confusion_is_usual=confusion_is_usual)
    absent = MissingReason.NOT_READ if row.signal.value in unread else MissingReason.NOT_RECORDED
    shown = ", ".join(show(measure) for measure in measures) or absent.value
    if row.signal is Signal.GCS_TOTAL and measures:
        shown = f"coma scale {shown}"
    missing = None
    if outcome.points is None:
        missing = Missing(
            key=row.key,
            label=row.label,
            reason=absent if outcome.reason in (None, MissingReason.NOT_RECORDED) else outcome.reason,
            could_add=(outcome.lowest, outcome.highest),
        )
    return ScorePart(
        key=row.key,
        label=row.label,
        points=outcome.points,
        lowest=outcome.lowest,
        highest=outcome.highest,
        shown=shown,
        said=_read_out(row, shown, observed, is_missing=missing is not None),
        short=_in_short(row, measures, observed, confusion_is_usual) or shown,
        measured=measures,
        missing=missing,
    )


def _read_out(row: ScoreParameter, shown: str, observed: ObservationSet, *, is_missing: bool) -> str:
    if row.signal is CodedSignal.OXYGEN_DELIVERY and not is_missing:
        given = oxygen_of(observed)
        return f"on {shown}" if given is not None and given.value is OxygenDelivery.AIR else shown
    scale = f" (scale {row.scale})" if row.scale else ""
    return f"{row.name}{':' if row.is_list else ''} {shown}{scale}"


#: A reader knows what a pulse and a pressure are counted in.
_UNSAID = frozenset({Unit.PER_MINUTE, Unit.MILLIMETRE_OF_MERCURY})


def _in_short(
    row: ScoreParameter, measures: Sequence[Measure], observed: ObservationSet, confusion_is_usual: bool
) -> str:
    """Write the value of a row for a place with little room; empty without one."""
    if row.signal is CodedSignal.OXYGEN_DELIVERY:
        given = oxygen_of(observed)
        return oxygen_word(given.value) if given is not None else ""
    if row.signal is CodedSignal.CONSCIOUSNESS:
        resolved = consciousness_of(observed, confusion_is_usual=confusion_is_usual)
        if resolved is None:
            return ""
        answered = answered_of(observed, confusion_is_usual=confusion_is_usual)
        named = answer_words(resolved.value)
        return unnamed_confusion(resolved.value, answered, coma_scale_of(observed)) or named
    for first in measures[:1]:
        said = show(replace(first, unit=None) if first.unit in _UNSAID else first)
        return f"coma scale {said}" if row.signal is Signal.GCS_TOTAL else said
    return ""
