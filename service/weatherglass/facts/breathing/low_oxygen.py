"""Whether there is too little oxygen in the blood now, by the saturation or by a gas, whichever says so.

A saturation that calls by itself is low, in the same grades; in an adult also one that scores 3 in NEWS2
on its low side, unless the target that is recorded allows it. Of a gas what is inside a low range is not.
"""

from datetime import datetime
from typing import NamedTuple

from weatherglass.facts.breathing.hypoxaemia import Hypoxaemia
from weatherglass.facts.patient.rounds_now import Rounds
from weatherglass.facts.rounds.sign_grades import lowest_of, newest_graded, saturation_grade
from weatherglass.facts.rounds.sign_limits import may_meet
from weatherglass.facts.series.beyond import counting
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

_FAILURE = 2


class LowOxygen(NamedTuple):
    """Too little oxygen in the blood: since when, and what says so."""

    since: datetime
    origins: tuple[Origin, ...]


def low_oxygen(patient: Rounds, gas: Hypoxaemia | None) -> LowOxygen | None:
    """Return too little oxygen in the blood now; None where nothing says so."""
    found = [one for one in (_by_saturation(patient), _by_gas(gas)) if one is not None]
    if not found:
        return None
    origins = (origin for one in found for origin in one.origins)
    return LowOxygen(min(one.since for one in found), tuple(dict.fromkeys(origins)))


def _by_gas(gas: Hypoxaemia | None) -> LowOxygen | None:
    return (
        LowOxygen(gas.run.since, (gas.newest.origin,)) if gas is not None and gas.level >= _FAILURE else None
    )


def _by_saturation(patient: Rounds) -> LowOxygen | None:
    items = counting(patient.record.series(Signal.SPO2).items, patient.as_of, patient.choices.look_back)
    if not items:
        return None
    grade = saturation_grade(patient)

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
