"""Medicines dosed by their level: a level outside the laboratory's range, or one that is overdue.

The range is the one that comes with the result; no range of ours is put in its place.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.chart import Line, Standing
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria.ingredients import BY_NAME
from weatherglass.clinical.criteria.medicine_rules.levels import LEVEL_RULES, LevelRule
from weatherglass.clinical.criteria.medicine_rules.rule import Action, MedicineRule, Trigger
from weatherglass.clinical.drug_chart.hits import Hit, at_words, words_of
from weatherglass.clinical.quantities import plain
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.scoring import measure_of
from weatherglass.clinical.sources import our_choice

_OUT_OF_RANGE = our_choice("a level outside the range that the laboratory gives with it")
_IN_USE = (Standing.IN_USE, Standing.REPORTED, Standing.DRAFT)


def _as_rule(level: LevelRule, trigger: Trigger, name: str) -> MedicineRule:
    return MedicineRule(
        key=f"level-{name}-{level.ingredient}",
        trigger=trigger,
        classes=BY_NAME[level.ingredient].classes,
        action=Action.LEVEL,
        reason=level.reason,
        caution="A level is read against the time of the last dose.",
        monitor=(f"{level.ingredient} level before the next dose",),
        sources=(_OUT_OF_RANGE if trigger is Trigger.LEVEL_OUT_OF_RANGE else level.overdue.source,),
    )


#: Each level rule as two rules of the ordinary shape, by ingredient.
AS_RULES: Final = {
    level.ingredient: (
        level,
        _as_rule(level, Trigger.LEVEL_OUT_OF_RANGE, "out-of-range"),
        _as_rule(level, Trigger.LEVEL_OVERDUE, "overdue"),
    )
    for level in LEVEL_RULES
}
#: Ingredients whose level is measured.
MEASURED: Final = frozenset(AS_RULES)
_KEYS: Final = {
    level.ingredient: frozenset(c.value for c in BY_NAME[level.ingredient].classes) for level in LEVEL_RULES
}


def level_hits(bedside: Bedside, line: Line, *, injured: Hit | None) -> Iterator[tuple[MedicineRule, Hit]]:
    """Return what the levels of one line's ingredients say.

    Args:
        bedside: The patient.
        line: The medicine.
        injured: Acute kidney injury, which makes an old level overdue.
    """
    for ingredient in line.medicine.ingredients:
        found = AS_RULES.get(ingredient)
        # Given so that one of its classes acts only locally, it has no level.
        if found is None or not _KEYS[ingredient] <= line.classes:
            continue
        level, out_of_range, overdue = found
        measured = bedside.record.series(level.signal).latest
        outside = _outside(bedside, level, measured)
        if outside is not None:
            yield out_of_range, outside
        if injured is not None and line.standing in _IN_USE and _is_overdue(bedside, level, line, measured):
            yield overdue, _overdue(bedside, level, injured, measured)


def _outside(bedside: Bedside, level: LevelRule, measured: Measurement | None) -> Hit | None:
    if measured is None or bedside.as_of - measured.at > bedside.choices.laboratory_counts_for:
        return None
    low, high = measured.reference_low, measured.reference_high
    if high is not None and measured.value > high:
        side, limit = "above", high
    elif low is not None and measured.value < low:
        side, limit = "below", low
    else:
        return None
    short = f"{words_of(level.signal, measured)}, {side} the laboratory's {plain(limit)}"
    return Hit(
        trigger=Trigger.LEVEL_OUT_OF_RANGE,
        short=short,
        said=at_words(short, measured.at, bedside.clock),
        measures=(measure_of(level.signal, measured),),
        evidence=(measured.origin,),
        since=measured.at,
        sources=(_OUT_OF_RANGE,),
        provisional=Remark.PROVISIONAL in measured.remarks,
    )


def _is_overdue(bedside: Bedside, level: LevelRule, line: Line, measured: Measurement | None) -> bool:
    length = level.overdue.length
    if line.since is not None and bedside.as_of - line.since < length:
        return False
    return measured is None or bedside.as_of - measured.at > length


def _overdue(bedside: Bedside, level: LevelRule, injured: Hit, measured: Measurement | None) -> Hit:
    length = level.overdue.length
    clock = bedside.clock
    known = f"the last one {clock.full(measured.at)}" if measured is not None else "none is recorded"
    short = f"no {level.ingredient} level in the last {lasting(length)} during acute kidney injury"
    since: datetime | None = injured.since
    if measured is not None and since is not None:
        since = max(since, measured.at + length)
    return Hit(
        trigger=Trigger.LEVEL_OVERDUE,
        short=short,
        said=f"{short} ({known})",
        measures=(measure_of(level.signal, measured),) if measured is not None else (),
        evidence=(measured.origin,) if measured is not None else (),
        since=since,
        sources=(level.overdue.source,),
    )
