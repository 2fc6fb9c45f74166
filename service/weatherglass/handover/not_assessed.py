"""What could not be assessed for want of vital signs, in the words that stand first.

Silence about a patient whom nobody has measured reads as reassurance. No publication says
how to word it; that missing is never normal, and what counts as too old, are ours.
"""

from weatherglass.facts.bedside import Bedside
from weatherglass.handover.left_out import LeftOut
from weatherglass.model.findings import ScoreFinding
from weatherglass.model.words.brief_words import drivers_of, unknown_of
from weatherglass.model.words.clock_words import lasting

_NO_SIGNS = "Not assessed: no vital signs are recorded."
_SIGNS_UNREAD = "Not assessed: vital signs were sent, and none of them could be used."
_UNREAD = "a sign or result was sent and could not be read"
_NO_SCORE = "Not assessed: no score could be worked out from the vital signs that are recorded."


def not_assessed(
    bedside: Bedside, score: ScoreFinding | None, left_out: LeftOut, *, is_narrowed: bool
) -> str:
    """Say what could not be assessed; empty when the patient was.

    Args:
        bedside: The patient.
        score: The score that speaks for the patient now, if there is one.
        left_out: What was sent and nobody looked at.
        is_narrowed: Only some questions were asked: a score may be left out on purpose.
    """
    if not bedside.sets:
        return _SIGNS_UNREAD if left_out.has_signs else _NO_SIGNS
    age = bedside.as_of - bedside.sets[-1].end
    if age > bedside.choices.stale_after:
        return f"Not assessed now: the newest vital signs are {lasting(age)} old."
    if score is None:
        return "" if is_narrowed else _NO_SCORE
    if not score.highest_tier:
        return f"Not fully assessed: {_UNREAD}." if left_out.known else ""
    known = sum(part.points is not None for part in score.parts)
    how = "Not assessed" if len(score.unknown) > known else "Not fully assessed"
    verb = "is" if len(score.unknown) == 1 else "are"
    return (
        f"{how}: {unknown_of(score)} {verb} not known, so {score.name} is between {score.lowest} and "
        f"{score.highest}{drivers_of(score)}."
    )
