"""The newest results that a ward doctor reads first: each with the one before it and its ranges.

Shown, and no finding: what a result asks for is asked elsewhere. A result that its sender's own
range puts outside stands here too, whatever it is, and one that nothing here and no range judges.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from itertools import chain

from weatherglass.facts.metabolic.calcium import ADJUSTED_HERE, NOT_ADJUSTED, series_of, signals_of
from weatherglass.facts.results.unjudged import UNJUDGED, is_inside, is_outside, words_unread
from weatherglass.facts.rounds.timeline import BEDSIDE_SIGNALS
from weatherglass.knowledge import latest_results as shown
from weatherglass.model.latest import LatestResult, LatestResults, ResultThen
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.numbers.quantities import as_sent, plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Flag, Measurement, SentValue, Series
from weatherglass.model.signals import Sample, Signal
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.value_words import number_words

_OF_A_GAS = {
    Signal.POTASSIUM_GAS: "gas",
    Signal.SODIUM_GAS: "gas",
    Signal.PH_VENOUS: "venous",
    Signal.PCO2_VENOUS: "venous",
}
_ONE_VESSEL = (Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.PO2_ARTERIAL)
_VESSELS = {Sample.ARTERIAL: "arterial", Sample.CAPILLARY: "capillary", Sample.VENOUS: "venous"}
_CALCIUM = {ADJUSTED_HERE: "adjusted here", NOT_ADJUSTED: "not adjusted"}
#: Ours: words are many, and few of them are results.
_MOST_IN_WORDS = 6
_IN_THE_STRIP = frozenset(chain.from_iterable(place.signals for place in shown.READ_FIRST))
_NO_RESULTS = frozenset(
    (*BEDSIDE_SIGNALS, Signal.MEAN_PRESSURE, Signal.WEIGHT, Signal.HEIGHT, Signal.GESTATION)
)


def latest_results(
    record: Record, as_of: datetime, choices: LocalChoices, unread: Sequence[SentValue]
) -> LatestResults:
    """Return the newest of each result of the last week, and what was sent and not read.

    Args:
        record: The record as it stood at `as_of`.
        as_of: The moment of the review.
        choices: How long a result that was not repeated counts.
        unread: What of the last day could not be used.
    """
    # A panel has many values under one address: the flag is of one of them.
    flags = {(one.origin, one.signal): one.flag for one in record.sent if one.flag is not Flag.NONE}
    rows = []
    measured = signals_of(record)
    for name, signals in _PLACES:
        found = None if measured.isdisjoint(signals) else _newest_of(record, signals, as_of, choices)
        if found is None:
            continue
        signal, series, newest = found
        row = _row(name, signal, series, newest, flags.get((newest.origin, signal.value), Flag.NONE))
        if name or row.side or (signal in UNJUDGED and not is_inside(newest)):
            rows.append(row)
    clock = Clock(record.zone, as_of)
    return LatestResults(tuple(rows), tuple(_not_read(record, as_of, clock, unread)))


def _places() -> Iterator[tuple[str, Sequence[Signal]]]:
    """Go through the strip, and then through every other result, without a name of its own."""
    yield from ((place.name, place.signals) for place in shown.READ_FIRST)
    for signal in Signal:
        is_other = signal in _IN_THE_STRIP or signal in _NO_RESULTS or signal is Signal.CALCIUM_TOTAL
        if not is_other and not signal.value.startswith(("urine-", "fluid-", "reported-")):
            yield "", (signal,)


_PLACES = tuple(_places())


def _newest_of(
    record: Record, signals: Iterable[Signal], as_of: datetime, choices: LocalChoices
) -> tuple[Signal, Series[Measurement], Measurement] | None:
    """Return the newest of several signals; of two as new the one that stands first."""
    best: tuple[Signal, Series[Measurement], Measurement] | None = None
    for signal in signals:
        series = series_of(record, signal)
        newest = series.recent(as_of, choices.laboratory_counts_for)
        if newest is not None and (best is None or newest.at > best[2].at):
            best = signal, series, newest
    return best


def _row(
    name: str, signal: Signal, series: Series[Measurement], newest: Measurement, flag: Flag
) -> LatestResult:
    earlier = series.before(newest.at)
    own_low, own_high = _own_range(earlier, newest.at)
    return LatestResult(
        key=signal.value,
        name=_named(name or signal.short, signal, newest),
        unit=signal.unit,
        newest=_then(newest),
        previous=_then(earlier[-1]) if earlier else None,
        low=newest.reference_low,
        high=newest.reference_high,
        own_low=own_low,
        own_high=own_high,
        side=_side(newest),
        flag=flag.value,
    )


def _named(name: str, signal: Signal, newest: Measurement) -> str:
    """Return the name with what must be known to read the number."""
    said = _OF_A_GAS.get(signal) or _CALCIUM.get(newest.method, "")
    if signal in _ONE_VESSEL:
        said = _VESSELS.get(newest.sample, "vessel not stated")
    if signal is Signal.CALCIUM_IONISED:
        said = "ionised"
    return f"{name} ({said})" if said else name


def _then(result: Measurement) -> ResultThen:
    exact = result.value if result.is_exact else None
    return ResultThen(exact, as_told(result, trimmed=False), result.at, result.origin)


def _side(result: Measurement) -> str:
    if not is_outside(result):
        return ""
    high = result.reference_high
    least = result.lowest
    return "high" if high is not None and least is not None and least > high else "low"


def _own_range(earlier: Sequence[Measurement], at: datetime) -> tuple[Decimal | None, Decimal | None]:
    """Return the lowest and the highest of the results of the year before this week."""
    values = [
        one.value
        for one in earlier
        if one.is_exact and shown.OWN_UNTIL.length <= at - one.at <= shown.OWN_FROM.length
    ]
    return (min(values), max(values)) if len(values) >= shown.OWN_LEAST else (None, None)


def _not_read(record: Record, as_of: datetime, clock: Clock, unread: Sequence[SentValue]) -> Iterator[str]:
    for one in unread:
        if not one.vital:
            flag = f", flagged {one.flag.value}" if one.flag is not Flag.NONE else ""
            own = f", its range {one.reference}" if one.outside else ""
            said = (one.heading, f"{one.shown}{flag}{own}", f"({clock.full(one.at)})")
            yield " ".join(filter(None, said))
    words = words_unread(record, as_of)
    yield from (f"{one.name}: {one.shown}" for one in words[:_MOST_IN_WORDS])
    if len(words) > _MOST_IN_WORDS:
        yield f"and {len(words) - _MOST_IN_WORDS} more in words"


def as_told(result: Measurement, *, trimmed: bool = True) -> str:
    """Return a result in words: '4.1', '< 4', '> 6.0', '90 or 120'.

    Args:
        result: The result.
        trimmed: Without zeros at the end, as in a sentence; a list keeps the places that were sent.
    """
    return number_words(result, plain if trimmed else as_sent, below="<", above=">")
