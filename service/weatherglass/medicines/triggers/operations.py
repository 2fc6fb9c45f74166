"""Triggers of an operation that is planned, of nothing by mouth, and of bleeding that is seen and small.

A new fracture that is operated on as a rule is an operation ahead although nobody has asked for it yet.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.limits.needle_times import NEEDLE_TIMES
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES_BY_TRIGGER
from weatherglass.medicines.triggers.met import MetRule, MetTrigger, at_words, met_by_words, of_late
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import BESIDE_THE_CORD, DirectiveKind, Procedure, ProcedureKind
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.clauses import Window
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.terminology.procedures import is_small_operation, plans_operation


def operation_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return what an operation ahead, nothing by mouth, or a small bleeding sets off."""
    operation = _operation(bedside)
    fasting = _fasting(bedside)
    if operation is not None:
        yield _of_operation(bedside, Trigger.OPERATION_PLANNED, operation)
    if fasting is not None:
        yield _of_procedure(bedside, Trigger.NOTHING_BY_MOUTH, fasting, timing.NOTHING_BY_MOUTH_FOR)
        yield _of_procedure(bedside, Trigger.FASTING, fasting, timing.OPERATION_ASKED_FOR)
    elif operation is not None and operation.fasts and _is_near(bedside, operation.found):
        yield _of_operation(bedside, Trigger.FASTING, operation)
    small = _of_problem(bedside, ConditionKind.MINOR_BLEEDING, timing.MINOR_BLEEDING_FOR)
    if small is not None:
        yield _of_procedure(bedside, Trigger.MINOR_BLEEDING, small, timing.MINOR_BLEEDING_FOR)


_DAYS_AHEAD: Final = timedelta(days=2)
#: What is cut, and a needle beside the spinal cord, where a bleed takes the legs, or deep in the body.
_PAUSES: Final = frozenset({ProcedureKind.SURGERY, ProcedureKind.NEURAXIAL, ProcedureKind.DEEP_PUNCTURE})


class _Operation(Plain, frozen=True):
    """An operation ahead.

    Attributes:
        found: Its words, and when it is due, or else when it was written down.
        known: Since when it is one that these rules look at.
        near: Since when it is so near that the next dose may decide; None where it is not.
        at_once: Since when a prompt look would come too late; None where it does not.
        said: What it is, before its words.
        fasts: Whether nothing is eaten before it.
    """

    found: Recorded
    known: datetime | None
    near: datetime | None = None
    at_once: datetime | None = None
    said: str = "operation planned"
    fasts: bool = True


def _operation(bedside: Bedside) -> _Operation | None:
    """Return the operation that was asked for and not done, that a stay or a fracture is here for."""
    asked = [one for one in bedside.record.procedures if _is_ahead(bedside, one)]
    if asked:
        return _asked_for(
            bedside, min(asked, key=lambda p: (p.due is None, p.due or bedside.as_of, p.origin))
        )
    began = bedside.as_of - timing.OPERATION_ASKED_FOR.length
    stays = [one for one in bedside.record.stays if one.in_hospital and one.starts and began <= one.starts]
    for stay in stays:
        is_open = stay.ends is None or stay.ends > bedside.as_of
        is_one = plans_operation(stay.reason) and not is_small_operation(stay.reason)
        if is_open and is_one and not _done_since(bedside, stay.starts):
            return _Operation(Recorded(stay.reason, stay.starts, stay.origin), stay.starts)
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return None
    fracture = _of_problem(bedside, ConditionKind.OPERABLE_FRACTURE, timing.FRACTURE_AWAITS_OPERATION)
    # Without a date it may have been mended years ago.
    if fracture is None or fracture.at is None or _done_since(bedside, fracture.at):
        return None
    return _Operation(fracture, fracture.at, near=fracture.at, said="an operation is likely")


def _asked_for(bedside: Bedside, one: Procedure) -> _Operation:
    found = Recorded(one.text, one.due or one.at, one.origin)
    is_operation = ProcedureKind.SURGERY in one.kinds
    said = "operation planned" if is_operation else "planned"
    if one.due is None:
        return _Operation(found, one.at, said=said, fasts=is_operation)
    due, asked = one.due, one.at

    def since(before: Window) -> datetime | None:
        """Return since when it is so near: from when it was asked for, where that was later."""
        begins = due - before.length if asked is None else max(due - before.length, asked)
        return begins if begins <= bedside.as_of else None

    known = since(timing.OPERATION_ASKED_FOR)
    near, at_once = since(timing.OPERATION_WITHIN_A_DAY), since(timing.OPERATION_WITHIN_HOURS)
    return _Operation(found, known, near, at_once, said, is_operation)


def _is_ahead(bedside: Bedside, one: Procedure) -> bool:
    if not one.requested or _PAUSES.isdisjoint(one.kinds) or is_small_operation(one.text):
        return False
    if _done_since(bedside, one.at):
        return False
    ahead = timing.OPERATION_ASKED_FOR.length
    if one.due is not None:
        return -timing.OPERATION_LATE.length <= one.due - bedside.as_of <= ahead
    return one.at is None or timedelta(0) <= bedside.as_of - one.at <= ahead


def _is_near(bedside: Bedside, operation: Recorded) -> bool:
    """Tell whether somebody soon fasts for it, or nobody knows when it is."""
    return operation.at is None or operation.at - bedside.as_of <= timing.OPERATION_NEAR.length


def _done_since(bedside: Bedside, at: datetime | None) -> bool:
    """Tell whether an operation was done, or begun, since then."""
    return any(at is None or one.at >= at for one in bedside.record.done(ProcedureKind.SURGERY))


def _fasting(bedside: Bedside) -> Recorded | None:
    within = timing.NOTHING_BY_MOUTH_FOR.length
    for one in bedside.record.procedures:
        if ProcedureKind.FASTING in one.kinds and one.requested:
            at = one.due or one.at
            if at is None or timedelta(0) <= bedside.as_of - at <= within:
                return Recorded(one.text, at, one.origin)
    return _of_problem(bedside, ConditionKind.NOTHING_BY_MOUTH, timing.NOTHING_BY_MOUTH_FOR)


def _of_problem(bedside: Bedside, kind: ConditionKind, window: Window) -> Recorded | None:
    return next(iter(of_late(bedside, (kind,), window)), None)


def _of_operation(bedside: Bedside, trigger: Trigger, operation: _Operation) -> MetTrigger:
    """Return what an operation sets off, worse the nearer it is."""
    met = _of_procedure(bedside, trigger, operation.found, timing.OPERATION_ASKED_FOR, operation.said)
    near = [at for at in (operation.near, operation.at_once) if at is not None]
    due = operation.found.at
    return replace(
        met,
        since=operation.known,
        asked_since=max(near, default=None),
        grade=len(near),
        before=due if due is not None and due > bedside.as_of else None,
    )


def _of_procedure(
    bedside: Bedside, trigger: Trigger, found: Recorded, window: Window, said: str = ""
) -> MetTrigger:
    text = inside_a_sentence(found.text) or "an operation"
    short = f"{said}: {text}" if said else f"{text} on record"
    at = found.at
    return met_by_words(
        trigger,
        short,
        (replace(found, text=short),),
        key=trigger.name.lower().replace("_", "-"),
        said=at_words(short, at, bedside.clock),
        since=min(at, bedside.as_of) if at is not None else None,
        source=window.source,
    )


# A needle beside the spinal cord soon after a dose

_TAKEN_OUT: Final = frozenset({ProcedureKind.NEURAXIAL_REMOVAL})


def met_needle(bedside: Bedside, of_line: NamedLine) -> Iterator[MetRule]:
    """Return the rule about one line whose last dose comes too soon before a needle that is asked for."""
    dose = of_line.line.last_dose
    row = next((row for row in NEEDLE_TIMES if of_line.is_one_of(row.members)), None) if dose else None
    if dose is None or row is None:
        return
    prevents = is_preventive(of_line)
    # Of one that treats the rules of the operation speak before a needle.
    asked = BESIDE_THE_CORD if prevents else _TAKEN_OUT
    ahead = [
        one
        for one in bedside.record.procedures
        if one.requested and not asked.isdisjoint(one.kinds) and _is_needle_ahead(bedside, one)
    ]
    if not ahead:
        return
    one = min(ahead, key=lambda p: (p.due or bedside.as_of, p.origin))
    until = dose.until + (row.prevents if prevents else row.treats)
    if one.due is None or one.due >= until:
        return
    (rule,) = RULES_BY_TRIGGER[Trigger.NEEDLE_AFTER_DOSE]
    clock = bedside.clock
    said = (
        f"given {clock.full(dose.at)}, {clock.apart(dose.until, one.due)} before "
        f"{inside_a_sentence(one.text)}, and the table asks for {lasting(until - dose.until)}"
    )
    found = Recorded(one.text, one.at, one.origin)
    met = met_by_words(
        Trigger.NEEDLE_AFTER_DOSE,
        said,
        (found,),
        key="needle",
        source=row.sources[0],
        since=latest((dose.at, one.at)),
    )
    is_near = one.due - bedside.as_of <= timing.OPERATION_WITHIN_HOURS.length
    yield (
        rule,
        replace(met, grade=int(is_near), before=one.due, origins=(*met.origins, dose.origin)),
    )


def _is_needle_ahead(bedside: Bedside, one: Procedure) -> bool:
    """Tell whether it is due in these days, and nothing of its kind was done since it was asked for."""
    done = bedside.record.done(*(one.kinds & BESIDE_THE_CORD))
    if one.at is not None and any(each.at >= one.at for each in done):
        return False
    return one.due is not None and timedelta(0) <= one.due - bedside.as_of <= _DAYS_AHEAD
