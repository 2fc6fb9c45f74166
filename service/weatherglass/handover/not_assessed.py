"""What could not be assessed for want of vital signs, in the words that stand first.

Silence about a patient whom nobody has measured reads as reassurance. No publication says
how to word it; that missing is never normal, and what counts as too old, are ours.
"""

from weatherglass.facts.bedside import Bedside
from weatherglass.handover.left_out import LeftOut
from weatherglass.model.findings import ScoreFinding
from weatherglass.model.review import Unassessed
from weatherglass.model.signals import Signal
from weatherglass.model.words.brief_words import drivers_of, unknown_of
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value

_NONE = "Not assessed"
_IN_PART = "Not fully assessed"
_NO_SIGNS = Unassessed(_NONE, "no vital signs are recorded")
_SIGNS_UNREAD = Unassessed(_NONE, "vital signs were sent, and none of them could be used", wants_a_set=False)
_UNREAD = "a sign or result was sent and could not be read"
_SINCE_THEN = "what may be danger was written down after the newest vital signs"
_NO_SCORE = "no score could be worked out from the vital signs that are recorded"
#: Ours: so few are named.
_MOST_NAMED = 3


def not_assessed(
    bedside: Bedside, score: ScoreFinding | None, left_out: LeftOut, *, is_narrowed: bool, is_called: bool
) -> Unassessed | None:
    """Say what could not be assessed; None when the patient was.

    Args:
        bedside: The patient.
        score: The score that speaks for the patient now, if there is one.
        left_out: What was sent and nobody looked at.
        is_narrowed: Only some questions were asked: a score may be left out on purpose.
        is_called: Something asks for somebody, and what may be danger is said beside it.
    """
    if not bedside.sets:
        return _SIGNS_UNREAD if left_out.has_signs else _NO_SIGNS
    age = bedside.as_of - bedside.sets[-1].last
    if age > bedside.choices.stale_after:
        return Unassessed("Not assessed now", f"the newest vital signs are {lasting(age)} old")
    if score is None:
        return None if is_narrowed else Unassessed(_NONE, f"{_NO_SCORE}{_named(bedside)}")
    if not score.highest_tier:
        at = left_out.danger_at
        if at is not None and at > bedside.sets[-1].last and not is_called:
            return Unassessed(_IN_PART, _SINCE_THEN)
        return Unassessed(_IN_PART, _UNREAD, wants_a_set=False) if left_out.known else None
    known = sum(part.points is not None for part in score.parts)
    how = _NONE if len(score.unknown) > known else _IN_PART
    verb = "is" if len(score.unknown) == 1 else "are"
    between = f"so {score.name} is between {score.lowest} and {score.highest}{drivers_of(score)}"
    return Unassessed(how, f"{unknown_of(score)} {verb} not known, {between}")


def _named(bedside: Bedside) -> str:
    """Name the few signs of which no score could be made: a temperature alone is not nothing."""
    newest = bedside.sets[-1]
    numbers = {
        s: one for s in newest.observed if isinstance(s, Signal) and (one := newest.number(s)) is not None
    }
    if not 0 < len(numbers) <= _MOST_NAMED:
        return ""
    return f": {listed([named_value(signal, one) for signal, one in numbers.items()])}"
