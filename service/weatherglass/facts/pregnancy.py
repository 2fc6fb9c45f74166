"""Is this person pregnant, or was until a short while ago?

The answer decides which scores apply. A problem list often keeps a pregnancy open long
after the birth, and closes it on the day of the birth: both are looked at together with
recorded births, the reason of the stay, and what a midwife charts: a status, a gestation.
A positive test is a pregnancy too, of a gestation that nobody knows; in the weeks after a birth
or a miscarriage it says nothing, and a negative one takes nothing back.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from weatherglass.knowledge.scores.news2_2017 import RECENTLY_PREGNANT
from weatherglass.knowledge.scores.score_choices import (
    EARLY_IN_PREGNANCY,
    EARLY_WHERE_UNKNOWN,
    LONGEST_PREGNANCY,
    NOT_PREGNANT_FOR,
    OLDEST_BY_TEST,
    YOUNGEST_PREGNANT,
)
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind, Reason, Recorded
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, PregnancyStatus, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex
from weatherglass.model.times.known_times import earliest

_KINDS = frozenset({ConditionKind.PREGNANCY, ConditionKind.POSTPARTUM})
_BY_TEST = frozenset({ConditionKind.POSITIVE_PREGNANCY_TEST})
_WINDOW = RECENTLY_PREGNANT.length
#: What ends the question: a womb that is gone, and the years after it.
_WORDS = word_patterns("record-patterns.toml")
_CANNOT = _WORDS["no-pregnancy-any-more"]
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
    if any(_tests(record, moment)):
        return True
    return any(
        began <= moment <= until and not _is_over(began, last_birth)
        for began, until in _charted(record, moment)
    )


def may_be_pregnant(record: Record, moment: datetime) -> bool:
    """Tell whether a woman is of an age to be pregnant, with none recorded and nothing that rules one out."""
    subject = record.subject
    months = subject.age_in_months_at(moment)
    if subject.sex is not Sex.FEMALE or months is None:
        return False
    if not YOUNGEST_PREGNANT.years * 12 <= months < OLDEST_BY_TEST.years * 12:
        return False
    last = record.coded(CodedSignal.PREGNANCY).latest
    is_ruled_out = last is not None and moment - last.at <= NOT_PREGNANT_FOR.length
    cannot = any(_CANNOT.search(one.text.casefold()) for one in record.conditions)
    return not (is_ruled_out or cannot or is_pregnant_or_recently(record, moment))


class PregnantNow(Plain, frozen=True):
    """What says that a pregnancy goes on.

    Attributes:
        said: In the words of the record.
        since: When it was first recorded, as far as that is known.
        by_test: Whether nothing but a test says so.
    """

    said: str
    since: datetime | None
    origins: tuple[Origin, ...]
    by_test: bool = False


def pregnant_now(record: Record, moment: datetime) -> PregnantNow | None:
    """Return what says that this person is pregnant now; None after a birth and where nothing says so."""
    months = record.subject.age_in_months_at(moment)
    if months is not None and months < YOUNGEST_PREGNANT.years * 12:
        return None
    last_birth = _last_birth(record, moment)
    statuses = [one for one in record.coded(CodedSignal.PREGNANCY).items if one.at <= moment]
    is_over = bool(statuses) and statuses[-1].value is not PregnancyStatus.PREGNANT
    tests = [
        found
        for found in _tests(record, moment)
        if not is_over or (found.at is not None and found.at > statuses[-1].at)
    ]
    by_tests = _put_together([(one.text, one.at, one.origin) for one in tests])
    by_test = by_tests and replace(by_tests, by_test=True)
    if is_over:
        return by_test
    listed = [one for one in record.conditions if one.active and _tells(one, last_birth, moment)]
    came = [one for one in record.came_for(*_KINDS) if _gives_reason(one, last_birth, moment)]
    kinds = frozenset[ConditionKind]().union(*(one.kinds for one in listed), *(one.kinds for one in came))
    if ConditionKind.POSTPARTUM in kinds:
        return by_test
    problems = [
        (one.text, one.began, one.origin)
        for one in listed
        if one.confirmed and ConditionKind.PREGNANCY in one.kinds
    ]
    problems += [(one.text, one.at, one.origin) for one in came if one.confirmed]
    charted = [
        ("pregnancy", began, origin)
        for began, until, origin in _charted_now(record, moment)
        if began <= moment <= until and not _is_over(began, last_birth)
    ]
    return _put_together((*problems, *charted)) or by_test


def early_pregnancy(record: Record, moment: datetime) -> PregnantNow | None:
    """Return what says that a pregnancy is in its first weeks, or of no known gestation and found lately.

    None once it was seen in the womb.
    """
    found = pregnant_now(record, moment)
    if found is None or record.told_of(ConditionKind.PREGNANCY_IN_THE_WOMB):
        return None
    weeks = [one for one in record.series(Signal.GESTATION).items if one.at <= moment]
    if weeks and weeks[-1].is_exact:
        now = timedelta(weeks=float(weeks[-1].value)) + (moment - weeks[-1].at)
        return found if now < EARLY_IN_PREGNANCY.length else None
    early = record.told_of(ConditionKind.EARLY_PREGNANCY)
    is_lately = found.since is None or moment - found.since <= EARLY_WHERE_UNKNOWN.length
    if not is_lately or not (early or any(_tests(record, moment))):
        return None
    return found


def _tests(record: Record, moment: datetime) -> Iterator[Recorded]:
    """Yield the positive tests that tell of a pregnancy: a woman's, and not soon after the last one ended."""
    subject = record.subject
    months = subject.age_in_months_at(moment)
    if subject.sex is Sex.MALE or (months is not None and months >= OLDEST_BY_TEST.years * 12):
        return
    last_end = _last_end(record, moment)
    for one in record.told_of(*_BY_TEST):
        is_old = one.at is not None and moment - one.at > _LONGEST
        if not is_old and (last_end is None or (one.at is not None and one.at - last_end > _WINDOW)):
            yield one


def _last_end(record: Record, moment: datetime) -> datetime | None:
    """Return when a pregnancy last ended: a birth, or what follows an end; now where it has no date."""
    over = [one for one in record.conditions if ConditionKind.POSTPARTUM in one.kinds]
    ends = [one.began or one.ended or moment for one in over if one.active or one.began or one.ended]
    ends += [one.at or moment for one in record.reasons if ConditionKind.POSTPARTUM in one.kinds]
    ends += [one.at for one in record.done(ProcedureKind.BIRTH)]
    return max((at for at in ends if at <= moment), default=None)


def _put_together(found: Iterable[tuple[str, datetime | None, Origin]]) -> PregnantNow | None:
    said = list(found)
    if not said:
        return None
    return PregnantNow(
        said[0][0], earliest(at for _, at, _ in said), tuple(dict.fromkeys(one for *_, one in said))
    )


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
