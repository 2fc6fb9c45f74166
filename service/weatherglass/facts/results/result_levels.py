"""Results against their limits: how far beyond, how sure, and since when.

Every result of a series is given its level, oldest first, so that the state of the
newest one can be read off. Blood gas and laboratory results are series of their own.
A result that may be spurious keeps its level and carries its doubts.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.metabolic.calcium import series_of
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.sent_units import in_milligrams
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.numbers.quantities import Quantity, as_sent, round_half_up
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import local_policy
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord

#: Results that change within hours; an old one says little about now.
FAST = frozenset(
    {
        Signal.LACTATE,
        Signal.GLUCOSE,
        Signal.KETONES,
        Signal.POTASSIUM_GAS,
        Signal.SODIUM_GAS,
        Signal.PH_ARTERIAL,
        Signal.PH_VENOUS,
        Signal.PCO2_ARTERIAL,
        Signal.PCO2_VENOUS,
        Signal.PO2_ARTERIAL,
    }
)
_GAS_OF = {Signal.POTASSIUM: Signal.POTASSIUM_GAS, Signal.SODIUM: Signal.SODIUM_GAS}
_URGENCIES: tuple[UrgencyWord, ...] = ("emergency", "urgent", "prompt", "routine")


@dataclass(frozen=True)
class GradedSeries:
    """One series against the bands of one side.

    Attributes:
        key: Analyte and side ("potassium-high").
        results: Oldest first.
        bands: Most severe first.
        levels: For each result, 0 inside the limits, 1 beyond the mildest, and so on.
        counts_for: How long a result that was not repeated counts.
    """

    key: str
    results: tuple[Measurement, ...]
    bands: tuple[CriticalBand, ...]
    levels: tuple[int, ...]
    as_of: datetime
    counts_for: timedelta

    @property
    def newest(self) -> Measurement:
        """The newest result."""
        return self.results[-1]

    @property
    def times(self) -> tuple[datetime, ...]:
        """When each result was taken."""
        return tuple(result.at for result in self.results)

    @property
    def is_current(self) -> bool:
        """Whether the newest result is young enough to speak for now."""
        return self.as_of - self.newest.at <= self.counts_for

    @cached_property
    def band(self) -> CriticalBand | None:
        """The band of the newest result, None inside the limits."""
        return self.band_at(len(self.levels) - 1)

    def band_at(self, place: int) -> CriticalBand | None:
        """Return the band of one result, None inside the limits."""
        level = self.levels[place]
        return self.bands[len(self.bands) - level] if level else None

    @cached_property
    def is_certain(self) -> bool:
        """Whether every value that the newest result allows lies in its band."""
        return _grade(self.bands, self.newest)[1]


def bands_in_use(choices: LocalChoices) -> Mapping[str, tuple[CriticalBand, ...]]:
    """Return the bands of each analyte and side, the site's own in the place of ours."""
    if not choices.critical_limits:
        return PUBLISHED_BANDS
    bands = dict(PUBLISHED_BANDS)
    for key, own in choices.critical_limits.items():
        if key in bands:
            bands[key] = _own_bands(key, own)
    return bands


def _by_key(bands: Iterable[CriticalBand]) -> dict[str, tuple[CriticalBand, ...]]:
    found: dict[str, tuple[CriticalBand, ...]] = {}
    for band in bands:
        found[band.key] = (*found.get(band.key, ()), band)
        gas = _GAS_OF.get(band.signal)
        if gas is not None:
            key = band.key.replace(band.signal.value, gas.value)
            found[key] = (*found.get(key, ()), replace(band, key=key, signal=gas))
    return found


PUBLISHED_BANDS: Mapping[str, tuple[CriticalBand, ...]] = _by_key(limits.CRITICAL_RESULTS)


_NEWBORN: Mapping[str, tuple[CriticalBand, ...]] = _by_key(limits.NEWBORN_RESULTS)
_POTASSIUM_HIGH = ("potassium-high", "potassium-gas-high")
#: Older than this nothing of a newborn is looked for.
_NEWBORN_MOST = 28 + limits.NEWBORN_FOR.length.days


def _own_bands(key: str, own: Mapping[str, Decimal]) -> tuple[CriticalBand, ...]:
    signal = PUBLISHED_BANDS[key][0].signal
    side = "high" if key.endswith("-high") else "low"
    compare = Compare.AT_LEAST if side == "high" else Compare.AT_MOST
    return tuple(
        CriticalBand(
            key=key,
            signal=signal,
            label=f"{side} {signal.label} by local limits",
            cutoff=Cutoff(
                compare=compare,
                limit=Quantity(own[urgency], signal.unit),
                source=local_policy(f"critical_limits.{key}.{urgency}"),
            ),
            urgency=urgency,
        )
        for urgency in _URGENCIES
        if urgency in own
    )


def graded_results(record: Record, as_of: datetime, choices: LocalChoices) -> dict[str, GradedSeries]:
    """Grade every series that has limits, by key; series without results are left out."""
    graded = {}
    for key, bands in bands_in_use(choices).items():
        signal = bands[0].signal
        results = series_of(record, signal).items
        if not results or not bands:
            continue
        held, results = (
            (bands, results) if key in choices.critical_limits else _of_age(record, bands, results)
        )
        graded[key] = GradedSeries(
            key,
            results,
            held,
            tuple(_levels(held, results)),
            as_of,
            counts_for(bands[0].signal, choices),
        )
    return graded


def _of_age(
    record: Record, bands: tuple[CriticalBand, ...], results: tuple[Measurement, ...]
) -> tuple[tuple[CriticalBand, ...], tuple[Measurement, ...]]:
    """Return the bands that hold at the age of the newest result, and the results that they hold for."""
    key, newest = bands[0].key, results[-1]
    days = record.subject.age_in_days_at(newest.at)
    if days is None or days > _NEWBORN_MOST:
        return bands, results
    if key in _NEWBORN:
        is_new = _is_newborn(record, newest)
        same = tuple(one for one in results if _is_newborn(record, one) is is_new)
        return (_NEWBORN[key] if is_new else bands), same
    if key in _POTASSIUM_HIGH and days < limits.POTASSIUM_OF_NEWBORN_FOR.length.days:
        return tuple(band for band in bands if band.urgency != "prompt"), results
    return bands, results


def _is_newborn(record: Record, one: Measurement) -> bool:
    days = record.subject.age_in_days_at(one.at)
    return days is not None and days < limits.NEWBORN_FOR.length.days


def counts_for(signal: Signal, choices: LocalChoices) -> timedelta:
    """Return how long a result that was not repeated counts."""
    return choices.gas_counts_for if signal in FAST else choices.laboratory_counts_for


def _levels(bands: Sequence[CriticalBand], results: Sequence[Measurement]) -> Iterable[int]:
    mildest = bands[-1].cutoff
    for result in results:
        if result.is_exact and not mildest.is_met_by(result.value):
            yield 0
        else:
            yield _grade(bands, result)[0]


def _grade(bands: Sequence[CriticalBand], result: Measurement) -> tuple[int, bool]:
    """Return the level a result may have, and whether it surely has it.

    Where only an interval is known, the worst value that it allows decides.
    """
    if result.is_exact:
        return _level(bands, result.value), True
    low, high = result.lowest, result.highest
    worst, best = (high, low) if bands[0].cutoff.compare.is_upward else (low, high)
    possible = len(bands) if worst is None else _level(bands, worst)
    sure = 0 if best is None else _level(bands, best)
    return possible, possible == sure


def _level(bands: Sequence[CriticalBand], value: Decimal) -> int:
    for place, band in enumerate(bands):
        if band.cutoff.is_met_by(value):
            return len(bands) - place
    return 0


def doubts_about_potassium(record: Record, result: Measurement) -> tuple[str, ...]:
    """Say what may make a high laboratory potassium spurious.

    Cell counts count when they were taken within a day of the potassium.
    """
    doubts = []
    if Remark.HAEMOLYSED in result.remarks:
        doubts.append("the sample is haemolysed")
    for cutoff, signal in (
        (limits.PLATELETS_RAISE_POTASSIUM, Signal.PLATELETS),
        (limits.WHITE_CELLS_RAISE_POTASSIUM, Signal.WHITE_CELLS),
    ):
        day = timedelta(hours=24)
        near = record.series(signal).within(result.at - day, result.at + day)
        if any(cutoff.is_met_by(count.value) for count in near):
            doubts.append(f"very high {signal.label}")
    return tuple(doubts)


_MILLIGRAMS_OF_GLUCOSE = in_milligrams(Signal.GLUCOSE).divide
_TENTH = Decimal("0.1")


def doubt_about_glucose(record: Record, result: Measurement) -> str:
    """Say that a glucose may be milligrams sent as millimoles; empty where none before it was lower."""
    if not result.is_exact or not limits.GLUCOSE_IN_MILLIGRAMS.is_met_by(result.value):
        return ""
    day = record.series(Signal.GLUCOSE).within(result.at - timedelta(hours=24), result.at)
    before = [one for one in day if one.at < result.at]
    if not before or not limits.GLUCOSE_BEFORE.is_met_by(before[-1].value):
        return ""
    said = round_half_up(result.value / _MILLIGRAMS_OF_GLUCOSE, _TENTH)
    return f"{as_sent(result.value)} mg/dL would be {said} mmol/L"
