"""How low the oxygen of arterial blood is.

A venous pO2 says nothing. One of an unnamed vessel counts unless the saturation beside it says
that it cannot be arterial.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.breathing.saturation import is_narrow
from weatherglass.facts.newborn import is_newborn
from weatherglass.facts.patient.rounds_now import Rounds
from weatherglass.facts.rounds.signs.sign_grades import lowest_of, newest_graded, saturation_grade
from weatherglass.facts.rounds.signs.sign_limits import may_meet
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import Run, first_of_run, run_at_level
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.model.record.care import Directive
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Sample, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import Cutoff


class Hypoxaemia(NamedTuple):
    """A low pO2 in the newest sample that is not venous.

    Attributes:
        level: 3 severe, 2 low, 1 low inside a low range.
        run: Since when it has been as bad.
        limit: What it is below.
    """

    newest: Measurement
    level: int
    run: Run
    limit: Cutoff


def hypoxaemia(
    record: Record, as_of: datetime, target: Directive | None, *, counts_for: timedelta
) -> Hypoxaemia | None:
    """Judge the newest pO2 that is not venous; None where it is not low, or no longer counts.

    Args:
        record: The record.
        as_of: The moment of the review.
        target: The range of saturation recorded for the patient.
        counts_for: How long a gas counts.
    """
    results = [
        one
        for one in record.series(Signal.PO2_ARTERIAL).items
        if one.is_exact and one.sample is not Sample.VENOUS
    ]
    newest = Series(results).recent(as_of, counts_for)
    if newest is None:
        return None
    graded = [_level(record, target, one) for one in results]
    run = run_at_level([one.at for one in results], [level for level, _ in graded])
    level, limit = graded[-1]
    return Hypoxaemia(newest, level, run, limit) if run is not None and level else None


def _level(record: Record, target: Directive | None, result: Measurement) -> tuple[int, Cutoff]:
    """Rank a pO2, with its limit: 3 severe, 2 low, 1 low inside a low range, 0 not low or not arterial."""
    is_new = is_newborn(record, result.at)
    low = gas.NEWBORN_HYPOXAEMIA if is_new else gas.HYPOXAEMIA
    severe = gas.NEWBORN_SEVERE_HYPOXAEMIA if is_new else gas.SEVERE_HYPOXAEMIA
    if not low.is_met_by(result.value):
        return 0, low
    if result.sample is not Sample.ARTERIAL and _looks_venous(record, result.at):
        return 0, low
    if severe.is_met_by(result.value):
        return 3, severe
    is_low_range = not is_new and target is not None and is_narrow(target.target_high)
    if is_low_range and not gas.HYPOXAEMIA_OF_A_LOW_RANGE.is_met_by(result.value):
        return 1, gas.HYPOXAEMIA_OF_A_LOW_RANGE
    return 2, low


def _looks_venous(record: Record, at: datetime) -> bool:
    """Tell whether the saturation taken near says that a low pO2 cannot be arterial."""
    spo2 = record.series(Signal.SPO2).nearest(at, gas.BREATHED_NEAR.length)
    return spo2 is not None and gas.SATURATION_OF_AN_ARTERY.is_met_by(spo2.value)


# Whether there is too little oxygen in the blood now, by the saturation or by a gas, whichever says so.
#
# A saturation that calls by itself is low, in the same grades; in an adult also one that scores 3 in NEWS2
# on its low side, unless the target that is recorded allows it. Of a gas what is inside a low range is not.

_FAILURE = 2


class LowOxygen(NamedTuple):
    """Too little oxygen in the blood: since when, and what says so."""

    since: datetime
    origins: tuple[Origin, ...]


def low_oxygen(patient: Rounds, gas: Hypoxaemia | None, *, keeps: bool) -> LowOxygen | None:
    """Return too little oxygen in the blood now; None where nothing says so."""
    found = [one for one in (_by_saturation(patient, keeps=keeps), _by_gas(gas)) if one is not None]
    if not found:
        return None
    origins = (origin for one in found for origin in one.origins)
    return LowOxygen(min(one.since for one in found), tuple(dict.fromkeys(origins)))


def _by_gas(gas: Hypoxaemia | None) -> LowOxygen | None:
    return (
        LowOxygen(gas.run.since, (gas.newest.origin,)) if gas is not None and gas.level >= _FAILURE else None
    )


def _by_saturation(patient: Rounds, *, keeps: bool) -> LowOxygen | None:
    items = counting(patient.record.series(Signal.SPO2).items, patient.as_of, patient.choices.look_back)
    if not items:
        return None
    grade = saturation_grade(patient, keeps=keeps)

    def is_low(one: Measurement) -> bool:
        return grade(one) is not None or _scores_most(patient, one)

    shown = newest_graded(patient, Signal.SPO2, items, [grade(one) for one in items[-2:]]).shown
    until = items[:-1] if shown is not items[-1] else items
    first = first_of_run(until, is_low)
    return LowOxygen(first.at, (shown.origin,)) if first is not None else None


def _scores_most(patient: Rounds, one: Measurement) -> bool:
    """Tell whether a saturation of an adult scores 3 on the low side, and no recorded target allows it."""
    if patient.is_child:
        return False
    if patient.scale_2_decision is not None:
        return may_meet(timing.HYPOXIA_SCALE_2, one)
    floor = patient.saturation_floor
    return may_meet(timing.HYPOXIA, one) and (floor is None or lowest_of(one) < floor)
