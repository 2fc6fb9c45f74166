"""What makes a named pair more or less urgent, or silent, and since when.

Each circumstance of a row is a question to the patient and the two medicines.
"""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive, is_worded, single_in
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.medicines.meeting_pairs import MetPair
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.medicines.medicine_classes import PROTECTS_THE_STOMACH, MedicineClass
from weatherglass.knowledge.medicines.pairs import (
    BEGUN_HERE_AFTER,
    BEGUN_LATELY,
    FIRST_EVERY_OTHER_DAY,
    FRESH_CLOT_FOR,
    FRESH_CORONARY_FOR,
    INR_ABOVE_USUAL,
    INR_CLIMBS_BY,
    INR_COMPARED_WITHIN,
    INR_DUE,
    INR_OF_THE_RANGE,
    LEVEL_SETTLES,
    LONG_FOR_A_PAIR,
    LOW_NORMAL_POTASSIUM,
    NEAR_LOW_GLUCOSE,
    ONCE_MEETS_FOR,
    SLOW_FOR_A_PAIR,
    STOMACH_OF_THE_OLD,
    Pair,
    PairCircumstance,
)
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.judging.of_line import is_in_vein
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.triggers.doses import met_doses
from weatherglass.medicines.triggers.measured.levels import MEASURED, met_levels
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.clauses import Window

_WEEK: Final = timedelta(days=7)


_INJECTED: Final = frozenset(
    {MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, MedicineClass.FONDAPARINUX.value}
)


def _newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    return bedside.record.series(signal).recent(bedside.as_of, bedside.choices.laboratory_counts_for)


def _by_result(signal: Signal, limit: Cutoff, *, is_met: bool = True) -> Callable[[Bedside, MetPair], bool]:
    def answer(bedside: Bedside, _: MetPair) -> bool:
        newest = _newest(bedside, signal)
        return newest is not None and limit.is_met_by(newest.value) is is_met

    return answer


def _inr_since(bedside: Bedside, met: MetPair) -> bool:
    began = [line.since for line in met.lines]
    newest = bedside.record.series(Signal.INR).latest
    if newest is None or INR_ABOVE_USUAL.is_met_by(newest.value):
        return False
    return all(each is not None and each < newest.at for each in began)


def _is_inr_climbing(bedside: Bedside, _: MetPair) -> bool:
    newest = _newest(bedside, Signal.INR)
    if newest is None or not INR_ABOVE_USUAL.is_met_by(newest.value):
        return False
    before = bedside.record.series(Signal.INR).within(newest.at - INR_COMPARED_WITHIN.length, newest.at)
    return any(newest.value - one.value >= INR_CLIMBS_BY.value for one in before)


def _level_since(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether a level of one of the two was in order, so long after the last of both began."""
    began = [line.since for line in met.lines if line.since is not None]
    if len(began) < len(met.lines):
        return False
    settled = max(began) + LEVEL_SETTLES.length
    return any(
        _is_in_order(bedside, line, settled)
        for line in met.lines
        if not MEASURED.isdisjoint(line.medicine.ingredients)
    )


def _is_in_order(bedside: Bedside, line: Line, settled: datetime) -> bool:
    signals = [each.signal for each in LEVEL_RULES if each.key in line.medicine.ingredients]
    newest = [found for signal in signals if (found := bedside.record.series(signal).latest) is not None]
    if not newest or max(each.at for each in newest) < settled:
        return False
    return not any(met.trigger is Trigger.LEVEL_HIGH for _, met in met_levels(bedside, line, injured=None))


def _inr_is_not_due(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the INR was in order before, and both have not been there for so long that it is due."""
    newest, due = _newest(bedside, Signal.INR), _inr_due(met)
    return (
        newest is not None
        and not INR_ABOVE_USUAL.is_met_by(newest.value)
        and due is not None
        and bedside.as_of < due
    )


def _inr_due(met: MetPair) -> datetime | None:
    """Return when an INR is due: so long after the last of both began; None where that is not recorded."""
    began = [line.since for line in met.lines if line.since is not None]
    return max(began) + INR_DUE.length if len(began) == len(met.lines) else None


def _no_potassium(bedside: Bedside, _: MetPair) -> bool:
    return bedside.record.series(Signal.POTASSIUM).recent(bedside.as_of, _WEEK) is None


def _glucose_near_low(bedside: Bedside) -> list[Measurement]:
    lately = bedside.record.series(Signal.GLUCOSE).within(bedside.as_of - timedelta(days=1), bedside.as_of)
    return [one for one in lately if NEAR_LOW_GLUCOSE.is_met_by(one.value)]


def _is_glucose_near_low(bedside: Bedside, _: MetPair) -> bool:
    return bool(_glucose_near_low(bedside))


def _has_liver_disease(bedside: Bedside, _: MetPair) -> bool:
    return any(one.confirmed for one in bedside.record.conditions_of(ConditionKind.LIVER_DISEASE))


def _prevents(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant of the pair only prevents clots."""
    return all(is_preventive(bedside.named(line)) for line in met.other)


def _prevents_safely(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant only prevents clots, beside an acid blocker or below an age."""
    is_young = bedside.age is not None and bedside.age < STOMACH_OF_THE_OLD.value
    is_protected = any(
        not PROTECTS_THE_STOMACH.isdisjoint(line.classes) for line in bedside.drug_chart.exposed
    )
    return (is_young or is_protected) and _prevents(bedside, met)


def _is_of_a_fresh_syndrome(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant of the pair is injected, in the first days of a coronary syndrome."""
    is_fresh = _began_within(bedside, ConditionKind.ACUTE_CORONARY_SYNDROME, FRESH_CORONARY_FOR)
    return is_fresh and all(not _INJECTED.isdisjoint(line.classes) for line in met.other)


def _has_fresh_clot(bedside: Bedside, _: MetPair) -> bool:
    return _began_within(bedside, ConditionKind.VENOUS_THROMBOEMBOLISM, FRESH_CLOT_FOR)


def _began_within(bedside: Bedside, kind: ConditionKind, window: Window) -> bool:
    began = (one.began for one in bedside.record.conditions_of(kind))
    return any(at is not None and bedside.as_of - at <= window.length for at in began)


def _is_child(bedside: Bedside, _: MetPair) -> bool:
    return bedside.is_child


def _was_given_once(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether one was a single dose, so long ago that its next one would have been due."""
    until = bedside.as_of - ONCE_MEETS_FOR.length
    given = [line.last_dose for line in met.lines if line.was_given_once]
    return any(dose is not None and dose.until <= until for dose in given)


def _is_by_vein(_: Bedside, met: MetPair) -> bool:
    return any(is_in_vein(line) for line in met.other)


def _is_added_up(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the limits of the dose judge the sum of a day: all is known, or enough is to be much."""
    if bedside.paracetamol.is_whole:
        return True
    return any(True for line in met.one for _ in met_doses(bedside, bedside.named(line)))


def _first_is_new(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the first was begun lately: not carried on from home or from an earlier order.

    What was ordered within a day of coming in may have been taken before.
    """
    before = {name for one in bedside.drug_chart.ended for name in one.medicine.ingredients}
    came = bedside.admitted_at
    return all(
        line.standing is not Standing.REPORTED
        and line.since is not None
        and bedside.as_of - line.since <= BEGUN_LATELY.length
        and (came is None or abs(line.since - came) > BEGUN_HERE_AFTER.length)
        and before.isdisjoint(line.medicine.ingredients)
        and not _is_every_other_day(line)
        for line in met.one
    )


#: Half of what is written for a day.
_EVERY_OTHER_DAY: Final = ("every other day", "alternate day", "every 48 hours", "every 2 days")


def _is_every_other_day(line: Line) -> bool:
    """Tell whether its words say so, and its dose is not known to be more than such a beginning."""
    if line.charted is None or not is_worded(line.charted, _EVERY_OTHER_DAY):
        return False
    single = single_in("mg", line.charted)
    return single is None or single <= FIRST_EVERY_OTHER_DAY.value


ANSWERS: Final[Mapping[str, Callable[[Bedside, MetPair], bool]]] = {
    PairCircumstance.INR_BELOW_RANGE: _by_result(Signal.INR, INR_OF_THE_RANGE, is_met=False),
    PairCircumstance.INR_IN_RANGE: _by_result(Signal.INR, INR_OF_THE_RANGE),
    PairCircumstance.INR_SINCE: _inr_since,
    PairCircumstance.INR_NOT_DUE: _inr_is_not_due,
    PairCircumstance.POTASSIUM_UNKNOWN: _no_potassium,
    PairCircumstance.POTASSIUM_LOW_NORMAL: _by_result(Signal.POTASSIUM, LOW_NORMAL_POTASSIUM),
    PairCircumstance.LIVER_DISEASE: _has_liver_disease,
    PairCircumstance.PREVENTIVE: _prevents,
    PairCircumstance.PREVENTIVE_AND_SAFE: _prevents_safely,
    PairCircumstance.FRESH_CORONARY: _is_of_a_fresh_syndrome,
    PairCircumstance.BY_VEIN: _is_by_vein,
    PairCircumstance.PARACETAMOL_ADDED: _is_added_up,
    PairCircumstance.QTC_480: _by_result(Signal.CORRECTED_QT, LONG_FOR_A_PAIR),
    PairCircumstance.SLOW_BREATHING: _by_result(Signal.RESPIRATION_RATE, SLOW_FOR_A_PAIR),
    PairCircumstance.LEVEL_SINCE: _level_since,
    PairCircumstance.FIRST_BEGUN: _first_is_new,
    PairCircumstance.INR_CLIMBING: _is_inr_climbing,
    PairCircumstance.FRESH_CLOT: _has_fresh_clot,
    PairCircumstance.CHILD: _is_child,
    PairCircumstance.GIVEN_ONCE: _was_given_once,
    PairCircumstance.GLUCOSE_BELOW_6: _is_glucose_near_low,
}


_WORSE_BY_RESULT: Final = (
    (PairCircumstance.QTC_480, Signal.CORRECTED_QT, LONG_FOR_A_PAIR),
    (PairCircumstance.INR_CLIMBING, Signal.INR, INR_ABOVE_USUAL),
    (PairCircumstance.SLOW_BREATHING, Signal.RESPIRATION_RATE, SLOW_FOR_A_PAIR),
)


def worse_since(bedside: Bedside, pair: Pair, situation: Situation) -> datetime | None:
    """Return since when a trigger or a result makes a pair more urgent; None where none does."""
    worse = [
        met.since for trigger, met in situation.met.items() if trigger in pair.worse_when and not met.doubt
    ]
    worse += [
        _since(bedside, signal, limit.is_met_by)
        for each, signal, limit in _WORSE_BY_RESULT
        if each in pair.worse_when
    ]
    if PairCircumstance.GLUCOSE_BELOW_6 in pair.only_when:
        worse.extend(one.at for one in _glucose_near_low(bedside))
    return earliest(worse)


def no_longer_calm(bedside: Bedside, met: MetPair) -> datetime | None:
    """Return since when a result is no longer one beside which both may be meant, or one is due."""
    pair = met.pair
    if PairCircumstance.POTASSIUM_LOW_NORMAL in pair.calm_when:
        return _since(bedside, Signal.POTASSIUM, lambda value: not LOW_NORMAL_POTASSIUM.is_met_by(value))
    if PairCircumstance.INR_SINCE in pair.calm_when:
        above = _since(bedside, Signal.INR, INR_ABOVE_USUAL.is_met_by)
        due = _inr_due(met) if PairCircumstance.INR_NOT_DUE in pair.calm_when else None
        is_due = due is not None and due <= bedside.as_of and _newest(bedside, Signal.INR) is not None
        return due if is_due and above is None else above
    return None


def _since(bedside: Bedside, signal: Signal, is_met: Callable[[Decimal], bool]) -> datetime | None:
    """Return since when the newest results of a signal have been so, without a break."""
    items = bedside.record.series(signal).items
    run = present_run([one.at for one in items], [is_met(one.value) for one in items])
    return run.since if run is not None else None
