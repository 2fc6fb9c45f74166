"""Are the criteria of the hyperosmolar hyperglycaemic state met, as far as they were measured?

A very high glucose and a high osmolality, worked out from sodium, glucose and urea; ketones and
acid that were measured must not say ketoacidosis instead. What was not measured is named.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.runs import Run
from weatherglass.knowledge.limits import metabolic as criteria
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Letter, Missing, MissingReason, Urgency
from weatherglass.model.quantities import plain
from weatherglass.model.record import Measurement
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.tables.bands import Cutoff

#: What must not be met: each with what it would say instead.
_AGAINST: tuple[tuple[Signal, Cutoff], ...] = (
    (Signal.KETONES, criteria.HYPEROSMOLAR_KETONES_ABOVE),
    (Signal.PH_ARTERIAL, criteria.HYPEROSMOLAR_PH),
    (Signal.PH_VENOUS, criteria.HYPEROSMOLAR_PH),
    (Signal.BICARBONATE, criteria.BICARBONATE),
)
_ACID = (Signal.PH_ARTERIAL, Signal.PH_VENOUS, Signal.BICARBONATE)


class _Osmolality(NamedTuple):
    """Twice the sodium, glucose and urea; without a urea it is at least this much."""

    sodium: Measurement
    sodium_as: Signal
    glucose: Measurement
    urea: Measurement | None

    @property
    def value(self) -> Decimal:
        urea = self.urea.value if self.urea is not None else Decimal(0)
        return 2 * self.sodium.value + self.glucose.value + urea

    @property
    def is_met(self) -> bool:
        return criteria.OSMOLALITY.is_met_by(self.value) and criteria.HYPEROSMOLAR_GLUCOSE.is_met_by(
            self.glucose.value
        )

    @property
    def at(self) -> datetime:
        return max(self.sodium.at, self.glucose.at)

    @property
    def words(self) -> str:
        shown = plain(self.value.quantize(Decimal(1), rounding=ROUND_HALF_UP))
        least = "" if self.urea is not None else "at least "
        return f"osmolality {least}{shown} mOsm/kg, glucose {plain(self.glucose.value)} mmol/L"


def assess_hyperosmolar_state(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest sodium, glucose and urea of a day with the definition, in adults."""
    if bedside.age is not None and bedside.age < news2_2017.MINIMUM_AGE.years:
        return
    now = _osmolality(bedside, bedside.as_of)
    if now is None or not now.is_met or _speaks_against(bedside):
        return
    beside = [
        (signal, one)
        for signal, _ in _AGAINST
        if (one := _newest(bedside, signal, bedside.as_of)) is not None and one.spread is None
    ]
    gaps = tuple(_gaps([signal for signal, _ in beside], now))
    brief = f"Hyperosmolar hyperglycaemic state by JBDS: {now.words}"
    parts = [(now.sodium_as, now.sodium), (Signal.GLUCOSE, now.glucose)]
    parts += [(Signal.UREA, now.urea)] if now.urea is not None else []
    since = _since(bedside, now)
    yield Finding(
        kind=Kind.METABOLIC,
        key="hyperosmolar-state",
        letter=Letter.DISABILITY,
        urgency=Urgency.EMERGENCY,
        sentence=f"{_sentence(now, gaps)}.",
        brief=brief,
        at=now.at,
        state=bedside.state_of(Run(since, bedside.as_of, is_present=True)),
        since=since,
        measures=tuple(measure_of(signal, one) for signal, one in (*parts, *beside)),
        evidence=tuple(dict.fromkeys(one.origin for _, one in (*parts, *beside))),
        missing=gaps,
        sources=(criteria.OSMOLALITY.source, criteria.HYPEROSMOLAR_GLUCOSE.source),
        decided_by="the definition of the hyperosmolar hyperglycaemic state",
    )


def _newest(bedside: Bedside, signal: Signal, moment: datetime) -> Measurement | None:
    return bedside.record.series(signal).recent(moment, bedside.choices.gas_counts_for)


def _osmolality(bedside: Bedside, moment: datetime) -> _Osmolality | None:
    sodiums = [
        (one.at, signal, one)
        for signal in (Signal.SODIUM_GAS, Signal.SODIUM)
        if (one := _newest(bedside, signal, moment)) is not None and one.spread is None
    ]
    glucose = _newest(bedside, Signal.GLUCOSE, moment)
    if not sodiums or glucose is None or glucose.spread is not None:
        return None
    _, signal, sodium = max(sodiums, key=lambda one: (one[0], one[1] is Signal.SODIUM))
    urea = _newest(bedside, Signal.UREA, moment)
    return _Osmolality(sodium, signal, glucose, urea if urea is not None and urea.spread is None else None)


def _speaks_against(bedside: Bedside) -> bool:
    """Tell whether ketones or acid are those of ketoacidosis."""
    for signal, cutoff in _AGAINST:
        one = _newest(bedside, signal, bedside.as_of)
        if one is not None and one.spread is None and cutoff.is_met_by(one.value):
            return True
    return False


def _gaps(measured: list[Signal], now: _Osmolality) -> Iterator[Missing]:
    wanted = [] if now.urea is not None else [Signal.UREA]
    wanted += [] if Signal.KETONES in measured else [Signal.KETONES]
    wanted += [] if any(signal in measured for signal in _ACID) else [Signal.PH_VENOUS]
    for signal in wanted:
        yield Missing(key=signal.value, label=FACTS[signal].label, reason=MissingReason.NOT_RECORDED)


def _sentence(now: _Osmolality, gaps: tuple[Missing, ...]) -> str:
    said = f"Criteria of the hyperosmolar hyperglycaemic state are met by JBDS: {now.words}"
    names = ", ".join(gap.label for gap in gaps)
    return f"{said}; not measured: {names}" if names else said


def _since(bedside: Bedside, now: _Osmolality) -> datetime:
    """Return since when glucose and osmolality have been so high without a break."""
    began = now.at
    signals = (Signal.GLUCOSE, Signal.SODIUM, Signal.SODIUM_GAS)
    moments = {at for signal in signals for at in bedside.record.series(signal).times}
    for moment in sorted(moments, reverse=True):
        then = _osmolality(bedside, moment)
        if then is None or not then.is_met:
            break
        began = min(began, then.at)
    return began
