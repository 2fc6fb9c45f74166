"""Ketoacidosis by its parts: ketones, glucose or known diabetes, and an acid of any vessel.

The parts are read at every moment at which one was measured, so that the criteria keep the time
at which they were met, and a result that is better afterwards is a course and no silence.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from enum import Enum
from functools import partial
from typing import Final

from weatherglass.facts.series.limits_met import surely
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import PH_OF_EITHER, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff

DIABETES: Final = (ConditionKind.DIABETES, ConditionKind.DIABETES_TYPE_1, ConditionKind.DIABETES_TYPE_2)
TREATS_DIABETES: Final = (
    MedicineClass.INSULIN,
    MedicineClass.SULFONYLUREA,
    MedicineClass.SGLT2_INHIBITOR,
    MedicineClass.METFORMIN,
    MedicineClass.GLINIDE,
    MedicineClass.DPP4_INHIBITOR,
    MedicineClass.GLITAZONE,
)
_ACID: Final = (
    (Signal.PH_ARTERIAL, criteria.PH),
    (Signal.PH_VENOUS, criteria.PH),
    (Signal.BICARBONATE, criteria.BICARBONATE),
)
ACID_SIGNALS: Final = tuple(signal for signal, _ in _ACID)
_SIGNALS: Final = (Signal.KETONES, Signal.GLUCOSE, *ACID_SIGNALS)


class Part(Plain, frozen=True):
    """One part of the definition that is met."""

    signal: Signal
    result: Measurement
    source: Source


class Criteria(Plain, frozen=True):
    """How the parts stood at one moment.

    Attributes:
        acid: Acidosis as JBDS asks for it.
        mild: A bicarbonate that only the consensus of 2024 counts.
        is_known: Diabetes or its treatment is on record.
        measured: The signals whose newest result counted at that moment.
    """

    ketones: Part | None
    glucose: Part | None
    acid: tuple[Part, ...]
    mild: Part | None
    is_known: bool
    measured: frozenset[Signal]

    @property
    def is_sugar(self) -> bool:
        """Whether the part of glucose or diabetes is met."""
        return self.glucose is not None or self.is_known

    @property
    def is_acid(self) -> bool:
        """Whether an acidosis is there by either definition."""
        return bool(self.acid) or self.mild is not None

    @property
    def is_met(self) -> bool:
        """Whether all three parts are there."""
        return self.ketones is not None and self.is_sugar and self.is_acid

    @property
    def parts(self) -> tuple[Part, ...]:
        """What is met, in the order in which it is said."""
        found = (self.ketones, self.glucose, *self.acid, self.mild)
        return tuple(part for part in found if part is not None)

    @property
    def has_acid_measured(self) -> bool:
        """Whether a pH or a bicarbonate was measured."""
        return not self.measured.isdisjoint(ACID_SIGNALS)


class Ending(Enum):
    """What is known of the end of a ketoacidosis whose criteria are no longer met."""

    OVER = "over"
    NOT_OVER = "not over"
    NOT_SHOWN = "not shown to be over"


class KetoacidosisCourse(Plain, frozen=True):
    """The parts now, and the last time that all of them were there.

    Attributes:
        now: As they stand.
        met_since: When the present or last run of the whole definition began; None without one.
        met_until: The last moment at which it was met, by a result of that moment.
        ending: What the newest results say of its end; None while it is met or was never met.
        ketones_over_since: Since when the ketones are those of its end; None where that is not known.
    """

    now: Criteria
    met_since: datetime | None
    met_until: datetime | None
    ending: Ending | None
    ketones_over_since: datetime | None

    @property
    def goes_on(self) -> bool:
        """Whether it is there, or was and is not shown to be over."""
        return self.now.is_met or self.ending in (Ending.NOT_OVER, Ending.NOT_SHOWN)


def ketoacidosis_course(
    record: Record, as_of: datetime, counts_for: timedelta, *, is_known: bool
) -> KetoacidosisCourse:
    """Return how the parts stand and stood.

    Args:
        record: The record as it stood at `as_of`.
        as_of: The moment of the review.
        counts_for: How long a result that was not repeated counts.
        is_known: Whether diabetes or its treatment is on record.
    """
    now = criteria_at(record, as_of, counts_for, is_known=is_known)
    moments = sorted({at for signal in _SIGNALS for at in record.series(signal).times})
    since: datetime | None = None
    until: datetime | None = None
    for moment in moments:
        if not criteria_at(record, moment, counts_for, is_known=is_known).is_met:
            continue
        if until is None or moment - until > criteria.TREATED_FOR.length or _ended(record, until, moment):
            since = moment
        until = moment
    if until is None or now.is_met:
        return KetoacidosisCourse(now, since, until, None, None)
    return KetoacidosisCourse(
        now, since, until, _ending(record, until, as_of), _ketones_over_since(record, until, as_of)
    )


def criteria_at(record: Record, moment: datetime, counts_for: timedelta, *, is_known: bool) -> Criteria:
    """Compare the newest results at a moment with the definition."""
    newest = {s: record.series(s).recent(moment, counts_for) for s in _SIGNALS}

    def met(signal: Signal, cutoff: Cutoff) -> Part | None:
        one = newest[signal]
        return Part(signal, one, cutoff.source) if one is not None and surely(cutoff, one) else None

    acid = tuple(part for part in (met(s, cutoff) for s, cutoff in _ACID) if part is not None)
    return Criteria(
        ketones=met(Signal.KETONES, criteria.KETONES),
        glucose=met(Signal.GLUCOSE, criteria.GLUCOSE),
        acid=acid,
        mild=None if acid else met(Signal.BICARBONATE, criteria.CONSENSUS_BICARBONATE),
        is_known=is_known,
        measured=frozenset(signal for signal, one in newest.items() if one is not None),
    )


def _ended(record: Record, after: datetime, before: datetime) -> bool:
    """Tell whether it was shown to be over between two moments."""
    return _ending(record, after, before - timedelta(microseconds=1)) is Ending.OVER


def _ending(record: Record, after: datetime, until: datetime) -> Ending:
    """Read the newest ketones and pH that were taken after the criteria were last met."""
    ketones = _newest(record, (Signal.KETONES,), after, until)
    acid = _newest(record, PH_OF_EITHER, after, until)
    low = ketones is not None and surely(criteria.RESOLVED_KETONES, ketones)
    sweet = acid is not None and surely(criteria.RESOLVED_PH, acid)
    if low and sweet:
        return Ending.OVER
    is_told = (ketones is not None and not low) or (acid is not None and not sweet)
    return Ending.NOT_OVER if is_told else Ending.NOT_SHOWN


def _ketones_over_since(record: Record, after: datetime, until: datetime) -> datetime | None:
    """Return when the first of the last ketones was taken that are all those of its end."""
    taken = [one for one in record.series(Signal.KETONES).within(after, until) if one.at > after]
    first = first_of_run(taken, partial(surely, criteria.RESOLVED_KETONES))
    return first.at if first is not None else None


def _newest(
    record: Record, signals: Iterable[Signal], after: datetime, until: datetime
) -> Measurement | None:
    found = (record.series(signal).last_by(until) for signal in signals)
    return max((one for one in found if one is not None and one.at > after), key=lambda m: m.at, default=None)
