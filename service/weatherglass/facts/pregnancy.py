"""Is this person pregnant, or was until a short while ago?

The answer decides which scores apply. A problem list often keeps a pregnancy open long
after the birth, and closes it on the day of the birth: both are looked at together with
recorded births.
"""

from datetime import datetime

from weatherglass.knowledge.scores.news2_2017 import RECENTLY_PREGNANT
from weatherglass.knowledge.scores.score_choices import LONGEST_PREGNANCY
from weatherglass.model.record import Condition, ConditionKind, ProcedureKind, Record


def is_pregnant_or_recently(record: Record, moment: datetime) -> bool:
    """Tell whether pregnancy, or its end within 42 days, is recorded."""
    births = [
        one.at
        for one in record.procedures
        if ProcedureKind.BIRTH in one.kinds and not one.requested and one.at is not None and one.at <= moment
    ]
    last_birth = max(births, default=None)
    if last_birth is not None and moment - last_birth <= RECENTLY_PREGNANT.length:
        return True
    return any(
        _tells(condition, last_birth, moment)
        for condition in record.conditions
        if not condition.kinds.isdisjoint((ConditionKind.PREGNANCY, ConditionKind.POSTPARTUM))
    )


def _tells(condition: Condition, last_birth: datetime | None, moment: datetime) -> bool:
    began, window = condition.began, RECENTLY_PREGNANT.length
    if not condition.active:
        return condition.ended is not None and moment - condition.ended <= window
    if ConditionKind.PREGNANCY in condition.kinds:
        if last_birth is not None and (began is None or began <= last_birth):
            return False  # It ended with that birth, which is longer ago than the window.
        return began is None or moment - began <= LONGEST_PREGNANCY.length + window
    return began is None or moment - began <= window
