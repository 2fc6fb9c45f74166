"""Is a child in shock of which nothing on record speaks: a fast pulse, a slow refill, a low pressure?

Beside recorded bleeding, infection or anaphylaxis other questions ask; a newborn has one of its own.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.blood_loss import ChildInShock
from weatherglass.knowledge.signs import child_signs as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.lists import capital, listed
from weatherglass.model.words.value_words import named_value


def _may_be_a_rhythm(bedside: Bedside, shown: ChildInShock) -> bool:
    """Tell whether the pulse is faster than a sinus rhythm of the age is as a rule."""
    limit = (
        criteria.RHYTHM_OF_AN_INFANT if bedside.is_below(criteria.AN_INFANT) else criteria.RHYTHM_OF_A_CHILD
    )
    return any(signal is Signal.PULSE and limit.is_met_by(one.value) for signal, one in shown.signs)


def assess_child_in_shock(bedside: Bedside) -> Iterator[Finding]:
    """Ask within the hour at two of the signs; at once where they are late, or with an altered mind."""
    shown = bedside.blood_loss.child
    if shown is None or len(shown.signs) < 2 or not bedside.age_in_months:
        return
    infection = bedside.infection
    is_told = infection is not None and (infection.cause is None or infection.cause.due)
    if bedside.bleeding or is_told or bedside.anaphylaxis or bedside.is_peri_arrest:
        return
    mind = bedside.altered_mind
    dull = latest((shown.since, mind.since)) if mind is not None else None
    at_once = earliest((shown.late_since, dull))
    is_fast = _may_be_a_rhythm(bedside, shown)
    signs = [named_value(*sign) for sign in shown.signs]
    words = listed([*signs, mind.words] if mind is not None else signs)
    head = f"Shock? {capital(words)} in a child"
    yield tell(
        About(Kind.SINGLE_SIGN, "child-in-shock", Letter.CIRCULATION),
        Urgency.EMERGENCY if at_once is not None else Urgency.URGENT,
        rests_on(
            bedside,
            shown.since,
            *shown.signs,
            *(mind.origins if mind is not None else ()),
            asked_since=at_once,
        ),
        brief=head,
        asks=(criteria.OF_A_RHYTHM if is_fast else criteria.SHOCK).text,
        at_once="12-lead ECG, a vein, glucose now" if is_fast else "Oxygen, a vein or a bone, glucose now",
        sources=(criteria.SHOCK, criteria.SHOCK_CALLS, *((criteria.OF_A_RHYTHM,) if is_fast else ())),
        decided_by="signs of shock in a child",
    )
