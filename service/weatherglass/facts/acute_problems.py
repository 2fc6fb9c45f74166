"""Which problems on record are emergencies by their name: those of the last day, and those without a date."""

from collections.abc import Collection, Iterator
from datetime import datetime

from weatherglass.knowledge.emergencies import acute_problems as criteria
from weatherglass.knowledge.emergencies.acute_problems import AcuteProblem, Newness
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin
from weatherglass.model.times.dates_alone import latest_of
from weatherglass.model.times.known_times import earliest

_WORDS = word_patterns("record-patterns.toml")
_BYGONE = _WORDS["bygone"]
_ABSENT = _WORDS["absent"]
#: Judged by its cells and a fever; its name alone is no calm.
_NEUTROPENIC_SEPSIS = frozenset({ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS})


class Written(Plain, frozen=True):
    """A problem as somebody wrote it down.

    Attributes:
        at: When it began, or was written down.
        latest: The latest that this can have been, where only a date is known.
        newness: How the record says that it is new; None where it may be old.
        is_reason: Whether it is the reason of an open stay.
        confirmed: Whether it is more than suspected.
    """

    text: str
    at: datetime
    latest: datetime
    origin: Origin
    kinds: frozenset[ConditionKind | ProcedureKind]
    newness: Newness | None
    is_reason: bool = False
    confirmed: bool = True


def written_lately(record: Record, as_of: datetime) -> Iterator[Written]:
    """Yield what was written in the last day, suspected or sure: problems, and reasons of open stays."""
    since = as_of - criteria.COUNTS_FOR.length
    stays = [stay for stay in record.stays if stay.in_hospital]
    # What is written down without its onset when a stay begins may be old.
    known_from = earliest(stay.starts for stay in stays) or as_of
    known_from += criteria.KNOWN_AT_FIRST.length
    for one in record.conditions:
        at = one.began
        if at is None or not one.active or at > as_of or _is_bygone(one):
            continue
        latest = min(latest_of(at), as_of)
        if latest >= since:
            late = Newness.WRITTEN if at >= known_from else None
            newness = Newness.BEGUN if one.has_onset else late
            yield Written(one.text, at, latest, one.origin, one.kinds, newness, confirmed=one.confirmed)
    for kind in criteria.PROCEDURES:
        for done in record.done(kind):
            if since <= done.at <= as_of:
                yield Written(done.text, done.at, done.at, done.origin, frozenset({kind}), Newness.BEGUN)
    open_stays = {stay.origin for stay in stays}
    for reason in record.reasons:
        is_open = reason.ends is None and reason.origin in open_stays
        if is_open and reason.at is not None and since <= reason.at <= as_of:
            yield Written(
                reason.text, reason.at, reason.at, reason.origin, reason.kinds, Newness.BEGUN, is_reason=True
            )


def names(row: AcuteProblem, one: Written) -> bool:
    """Tell whether what was written is a problem of this row."""
    if not one.kinds.isdisjoint(row.but_not):
        return False
    if row.problem in one.kinds and (row.only_new is None or one.newness in (row.only_new, Newness.BEGUN)):
        return True
    return one.newness is Newness.BEGUN and not one.kinds.isdisjoint(row.reasons | row.procedures)


#: Of these it is not enough that something is made of them: it has to ask for somebody.
_GRAVE = criteria.EMERGENCIES | {ConditionKind.SEPSIS}


def new_and_untold(
    record: Record, as_of: datetime, told: Collection[Origin], asked: Collection[Origin]
) -> Iterator[Written]:
    """Yield the problems that are new in the last day and that no finding speaks of.

    Args:
        record: The patient.
        as_of: The moment of the review.
        told: What findings rest on.
        asked: What findings rest on that ask for somebody.
    """
    return (
        one
        for one in written_lately(record, as_of)
        if _is_new(one)
        and not one.is_reason
        and ConditionKind.CIRCUMSTANCE_OF_LIFE not in one.kinds
        and one.origin not in (told if one.kinds.isdisjoint(_GRAVE) else asked)
        and (one.kinds or not _ABSENT.search(one.text.casefold()))
    )


def _is_new(one: Written) -> bool:
    """Tell whether a problem is new: by its time, or by a name that is only ever that of a new one."""
    return one.newness is not None or any(
        row.only_new is None and names(row, one) for row in criteria.ACUTE_PROBLEMS
    )


def without_a_date(record: Record) -> tuple[str, ...]:
    """Return the names of active problems that are emergencies if they are new, and that have no date."""
    named = frozenset(row.problem for row in criteria.ACUTE_PROBLEMS if row.only_new is None)
    return tuple(
        dict.fromkeys(
            one.text or next(kind.value for kind in one.kinds if kind in (*named, *_NEUTROPENIC_SEPSIS))
            for one in record.conditions
            if one.active
            and (one.began or one.began_by) is None
            and (not one.kinds.isdisjoint(named) or one.kinds >= _NEUTROPENIC_SEPSIS)
            and not _is_bygone(one)
        )
    )


def _is_bygone(one: Condition) -> bool:
    return _BYGONE.search(one.text.casefold()) is not None
