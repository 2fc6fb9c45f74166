"""Is this person pregnant, or was until a short while ago?

The answer decides which scores apply. A problem list often keeps a pregnancy open long
after the birth, and closes it on the day of the birth: both are looked at together with
recorded births, the reason of the stay, and what a midwife charts: a status, a gestation.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.knowledge.scores.news2_2017 import RECENTLY_PREGNANT
from weatherglass.knowledge.scores.score_choices import LONGEST_PREGNANCY, YOUNGEST_PREGNANT
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, PregnancyStatus, Signal
from weatherglass.model.sources import Origin

_KINDS = frozenset({ConditionKind.PREGNANCY, ConditionKind.POSTPARTUM})
_WINDOW = RECENTLY_PREGNANT.length
_LONGEST = LONGEST_PREGNANCY.length + _WINDOW


def is_pregnant_or_recently(record: Record, moment: datetime) -> bool:
    """Tell whether pregnancy, or its end within 42 days, is recorded."""
    months = record.subject.age_in_months_at(moment)
    if months is not None and months < YOUNGEST_PREGNANT.years * 12:
        return False
    last_birth = _last_birth(record, moment)
    if last_birth is not None and moment - last_birth <= _WINDOW:
        return True
    if any(_tells(one, last_birth, moment) for one in record.conditions if one.kinds & _KINDS):
        return True
    if any(_gives_reason(one, last_birth, moment) for one in record.reasons if one.kinds & _KINDS):
        return True
    return any(
        began <= moment <= until and not _is_over(began, last_birth)
        for began, until in _charted(record, moment)
    )


class PregnantNow(NamedTuple):
    """What says that a pregnancy goes on.

    Attributes:
        said: In the words of the record.
        since: When it was first recorded, as far as that is known.
        origins: Where.
    """

    said: str
    since: datetime | None
    origins: tuple[Origin, ...]


def pregnant_now(record: Record, moment: datetime) -> PregnantNow | None:
    """Return what says that this person is pregnant now; None after a birth and where nothing says so."""
    months = record.subject.age_in_months_at(moment)
    if months is not None and months < YOUNGEST_PREGNANT.years * 12:
        return None
    last_birth = _last_birth(record, moment)
    statuses = [one for one in record.coded(CodedSignal.PREGNANCY).items if one.at <= moment]
    if statuses and statuses[-1].value is not PregnancyStatus.PREGNANT:
        return None
    if any(one.active and ConditionKind.POSTPARTUM in one.kinds for one in record.conditions):
        return None
    problems = [
        (one.text, one.began, one.origin)
        for one in record.conditions
        if one.active
        and one.confirmed
        and ConditionKind.PREGNANCY in one.kinds
        and _tells(one, last_birth, moment)
    ]
    charted = [
        ("pregnancy", began, origin)
        for began, until, origin in _charted_now(record, moment)
        if began <= moment <= until and not _is_over(began, last_birth)
    ]
    return _put_together((*problems, *charted))


def _put_together(found: Iterable[tuple[str, datetime | None, Origin]]) -> PregnantNow | None:
    said = list(found)
    if not said:
        return None
    dated = [at for _, at, _ in said if at is not None]
    return PregnantNow(said[0][0], min(dated, default=None), tuple(dict.fromkeys(one for *_, one in said)))


def _charted_now(record: Record, moment: datetime) -> Iterator[tuple[datetime, datetime, Origin]]:
    """Yield from when until when, and where: the newest charted status and gestation."""
    statuses = [one for one in record.coded(CodedSignal.PREGNANCY).items if one.at <= moment]
    if statuses:
        yield statuses[-1].at, statuses[-1].at + LONGEST_PREGNANCY.length, statuses[-1].origin
    weeks = [one for one in record.series(Signal.GESTATION).items if one.at <= moment]
    if weeks and weeks[-1].is_exact:
        left = LONGEST_PREGNANCY.length - timedelta(weeks=float(weeks[-1].value))
        yield weeks[-1].at, weeks[-1].at + max(left, timedelta(0)), weeks[-1].origin


def _last_birth(record: Record, moment: datetime) -> datetime | None:
    births = [one.at for one in record.done(ProcedureKind.BIRTH) if one.at <= moment]
    return max(births, default=None)


def _is_over(began: datetime | None, last_birth: datetime | None) -> bool:
    """Tell whether a birth ended what began before it; that birth is longer ago than the window."""
    return last_birth is not None and (began is None or began <= last_birth)


def _tells(condition: Condition, last_birth: datetime | None, moment: datetime) -> bool:
    began = condition.began
    if not condition.active:
        return condition.ended is not None and moment - condition.ended <= _WINDOW
    if ConditionKind.PREGNANCY in condition.kinds:
        if _is_over(began, last_birth):
            return False
        return began is None or moment - began <= _LONGEST
    return began is None or moment - began <= _WINDOW


def _gives_reason(reason: Reason, last_birth: datetime | None, moment: datetime) -> bool:
    """Tell whether a stay was begun for a pregnancy or its end, and is not longer ago than that lasts."""
    if reason.ends is not None:
        return moment - reason.ends <= _WINDOW
    if _is_over(reason.at, last_birth):
        return False
    longest = _LONGEST if ConditionKind.PREGNANCY in reason.kinds else _WINDOW
    return reason.at is None or moment - reason.at <= longest


def _charted(record: Record, moment: datetime) -> Iterator[tuple[datetime, datetime]]:
    """Yield from when until when what was charted says so: the newest status, the newest gestation."""
    statuses = [one for one in record.coded(CodedSignal.PREGNANCY).items if one.at <= moment]
    if statuses and statuses[-1].value is PregnancyStatus.PREGNANT:
        yield statuses[-1].at, statuses[-1].at + _LONGEST
    elif statuses and statuses[-1].value is PregnancyStatus.POSTPARTUM:
        yield statuses[-1].at, statuses[-1].at + _WINDOW
    weeks = [one for one in record.series(Signal.GESTATION).items if one.at <= moment]
    if weeks and weeks[-1].is_exact:
        left = LONGEST_PREGNANCY.length - timedelta(weeks=float(weeks[-1].value))
        yield weeks[-1].at, weeks[-1].at + max(left, timedelta(0)) + _WINDOW
