"""The call and its deadline in words; every door says them through these functions."""

from datetime import datetime, timedelta

from weatherglass.model.findings import Urgency
from weatherglass.model.review import Escalation
from weatherglass.model.words.clock_words import Clock, exactly, lasting
from weatherglass.model.words.lists import listed

_A_MINUTE = timedelta(minutes=1)


def deadline(call: Escalation, clock: Clock) -> str:
    """Say by when: 'within 30 minutes, by 07:40', 'now: it was due by ..., 2 h 5 min ago'."""
    if call.answered and not call.is_now:
        soon = "now, " if call.urgency is Urgency.EMERGENCY else ""
        return f"{soon}for a review: {call.answered}; it was first due by {clock.spoken(call.due)}"
    if call.late is not None:
        return f"now: it was due by {clock.spoken(call.due)}, {exactly(call.late)} ago"
    if call.overdue is not None or (not call.is_now and _left(call, clock) <= _A_MINUTE):
        return f"now: it is due by {clock.spoken(call.due)}"
    return deadline_again(call, clock)


def deadline_again(call: Escalation, clock: Clock) -> str:
    """Say it once more in one text: 'now' says enough of what is due or late."""
    if call.answered and not call.is_now:
        return "now, for a review" if call.urgency is Urgency.EMERGENCY else "for a review"
    if call.is_now or call.overdue is not None or _left(call, clock) <= _A_MINUTE:
        return "now"
    return f"within {lasting(_left(call, clock))}, by {clock.spoken(call.due)}"


def _left(call: Escalation, clock: Clock) -> timedelta:
    return call.within if clock.now is None else max(call.due - clock.now, _A_MINUTE)


def look_again(by: datetime, clock: Clock) -> str:
    """Say by when a suggestion is looked at again: 'look again by ...', 'look again now: it was due ...'."""
    if clock.now is None or by > clock.now:
        return f"look again by {clock.spoken(by)}"
    if clock.now - by < _A_MINUTE:
        return "look again now"
    return f"look again now: it was due by {clock.spoken(by)}, {exactly(clock.now - by)} ago"


def call_line(call: Escalation, clock: Clock) -> str:
    """Say whom to call and by when, in a sentence."""
    if call.is_arrest:
        return f"Check the patient now: call the {call.roles[0]} if there are no signs of life."
    others = [role for role in call.roles if role != call.reader]
    if len(others) == len(call.roles):
        return f"Call {listed(others)} {deadline(call, clock)}."
    also = f" and call {listed(others)}" if others else ""
    return f"See the patient yourself{also} {deadline(call, clock)}."


def due_in_short(call: Escalation, clock: Clock) -> str:
    """Say the deadline alone: 'by 07:40', 'was due by 07:40, 2 h 5 min ago'."""
    if call.is_now:
        return "now"
    due = f"by {clock.spoken(call.due)}"
    if call.answered:
        return f"first due {due}; {call.answered}"
    return due if call.late is None else f"was due {due}, {exactly(call.late)} ago"
