"""Bleeding that somebody saw, wrote down or measured."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from itertools import accumulate, pairwise

from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Bleeding, CodedSignal, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.patterns import when_asked

#: Bleeding as a problem list has it.
BLEEDING_KINDS = (
    ConditionKind.BLEEDING,
    ConditionKind.MELAENA,
    ConditionKind.INTRACRANIAL_BLEEDING,
    ConditionKind.CRITICAL_SITE_BLEEDING,
)


class RecordedBleeding(Plain, frozen=True, kw_only=True):
    """Bleeding that somebody wrote down.

    Attributes:
        is_visible_gut: Vomited blood or black stool, whatever the haemoglobin shows yet.
        is_black: Black stool, by its words.
        is_in_the_skull: Bleeding inside the skull.
        is_critical: Inside the skull or another closed place, where little blood does great harm.
        is_minor: From the nose, the gums or into the urine, and nowhere else that is said.
        is_confirmed: Whether it is more than somebody's suspicion.
        measured: The millilitres of a measured loss.
    """

    text: str
    at: datetime | None
    origin: Origin
    is_visible_gut: bool = False
    is_black: bool = False
    is_in_the_skull: bool = False
    is_critical: bool = False
    is_minor: bool = False
    is_confirmed: bool = True
    measured: Decimal | None = None

    @property
    def volume(self) -> Decimal | None:
        """How many millilitres were measured, or the words say, were lost; None where neither says any."""
        return self.measured if self.measured is not None else _volume_in(self.text.casefold())


_VOLUME = when_asked(r"(?<![\d.,])(\d{1,5}(?:[.,]\d{1,2})?)\s*(mls?|millilit(?:re|er)s?|l|lit(?:re|er)s?)\b")


def _volume_in(words: str) -> Decimal | None:
    found = [
        Decimal(number.replace(",", ".")) * (1 if unit.startswith("m") else 1000)
        for number, unit in _VOLUME.findall(words)
    ]
    return max(found, default=None)


def measured_loss(record: Record, as_of: datetime, *, is_mother: bool) -> RecordedBleeding | None:
    """Return the measured loss of the last day where it is large, or more than a birth usually takes.

    A total never becomes less: numbers that do are parts of one, and are added up. Its time is when it
    reached the last of the limits that it has passed, so that a repeat moves no deadline.
    """
    listed_for = ours.BIRTH_LOSS_LISTED_FOR.length
    found = [one for one in record.series(Signal.BLOOD_LOSS).items if as_of - one.at <= listed_for]
    if not found:
        return None
    values = [one.value for one in found]
    are_parts = any(after < before for before, after in pairwise(values))
    totals = list(accumulate(values) if are_parts else accumulate(values, max))
    after_surgery = any(as_of - one.until <= listed_for for one in record.done(ProcedureKind.SURGERY))
    of_a_birth = ours.BIRTH_LOSS_MAJOR if after_surgery else ours.BIRTH_LOSS_MINOR
    steps = [of_a_birth, ours.BIRTH_LOSS_MAJOR] if is_mother else [ours.LARGE_LOSS]
    passed = [limit for limit in (*steps, ours.VERY_LARGE_LOSS) if limit.is_met_by(totals[-1])]
    if not passed:
        return None
    reached = next(one for one, total in zip(found, totals, strict=True) if passed[-1].is_met_by(total))
    parts = f" in {len(found)} parts" if are_parts else ""
    return RecordedBleeding(
        text=f"blood loss {plain(totals[-1])} mL{parts}",
        at=reached.at,
        origin=reached.origin,
        measured=totals[-1],
    )


def recorded_bleeding(
    record: Record, as_of: datetime, kinds: Sequence[ConditionKind]
) -> list[RecordedBleeding]:
    """Return bleeding seen at the bedside, on the problem list or as the reason of a stay, of late."""
    found = []
    seen = record.coded(CodedSignal.BLEEDING).latest
    if (
        seen is not None
        and seen.value is Bleeding.PRESENT
        and as_of - seen.at <= ours.BLEEDING_SEEN_FOR.length
    ):
        text = seen.text.strip().rstrip(".") or "bleeding seen at the bedside"
        found.append(_written(text, seen.at, seen.origin, frozenset()))
    found.extend(
        _written(
            condition.text,
            condition.began,
            condition.origin,
            condition.kinds,
            is_confirmed=condition.confirmed,
        )
        for condition in record.conditions_of(*kinds)
        if _is_recent(condition, as_of)
    )
    listed = {one.text.casefold() for one in found}
    found.extend(
        _written(reason.text, reason.at, reason.origin, reason.kinds)
        for reason in record.reasons
        if not reason.kinds.isdisjoint(kinds)
        and _is_of_now(reason, as_of)
        and reason.text.casefold() not in listed
    )
    return found


def last_written(recorded: Sequence[RecordedBleeding]) -> datetime | None:
    """Return when bleeding was last written down; None where it was not, or one of it has no time."""
    dated = [one.at for one in recorded if one.at is not None]
    return max(dated) if dated and len(dated) == len(recorded) else None


_WORDS = word_patterns("record-patterns.toml")
_GUT = _WORDS["bleeds-from-the-gut"]
_BLACK = _WORDS["black-stools"]
_SKULL = _WORDS["inside-the-skull"]


def _written(
    text: str,
    at: datetime | None,
    origin: Origin,
    kinds: frozenset[ConditionKind],
    *,
    is_confirmed: bool = True,
) -> RecordedBleeding:
    words = text.casefold()
    is_in_the_skull = ConditionKind.INTRACRANIAL_BLEEDING in kinds or bool(_SKULL.search(words))
    return RecordedBleeding(
        text=text or _said_by(kinds),  # A code may have come alone.
        at=at,
        origin=origin,
        is_visible_gut=ConditionKind.MELAENA in kinds or bool(_GUT.search(words)),
        is_black=bool(_BLACK.search(words)),
        is_in_the_skull=is_in_the_skull,
        is_critical=is_in_the_skull or ConditionKind.CRITICAL_SITE_BLEEDING in kinds,
        is_minor=ConditionKind.MINOR_BLEEDING in kinds and not (is_in_the_skull or kinds & _ELSEWHERE),
        is_confirmed=is_confirmed,
    )


#: Where blood is lost that is more than small.
_ELSEWHERE = frozenset(BLEEDING_KINDS) - {ConditionKind.BLEEDING}


def _said_by(kinds: frozenset[ConditionKind]) -> str:
    """Return what a kind of bleeding is called, the most particular one."""
    return next((kind.value for kind in reversed(BLEEDING_KINDS) if kind in kinds), BLEEDING_KINDS[0].value)


def _is_recent(condition: Condition, as_of: datetime) -> bool:
    # Without a date an active problem counts: what is not known is not harmless.
    return condition.may_have_begun_within(ours.BLEEDING_LISTED_FOR.length, as_of)


def _is_of_now(reason: Reason, as_of: datetime) -> bool:
    """Tell whether a stay that goes on was begun for it lately, or something was asked for because of it."""
    is_over = reason.ends is not None and reason.ends < as_of
    return not is_over and (reason.at is None or as_of - reason.at <= ours.BLEEDING_LISTED_FOR.length)
