"""Is a child in shock of which nothing on record speaks: a fast pulse, a slow refill, a low pressure?

Beside recorded bleeding, infection or anaphylaxis other questions ask; a newborn has one of its own.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.signs import child_signs as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.known_times import earliest, latest
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import capital


def assess_child_in_shock(bedside: Bedside) -> Iterator[Finding]:
    """Ask within the hour at two of the signs; at once at all three, or at two with an altered mind."""
    shown = bedside.blood_loss.child
    if shown is None or len(shown.signs) < 2 or not bedside.age_in_months:
        return
    if bedside.bleeding or bedside.infection or bedside.anaphylaxis or bedside.is_peri_arrest:
        return
    mind = bedside.altered_mind
    dull = latest((shown.since, mind.since)) if mind is not None else None
    at_once = earliest((shown.all_since, dull))
    besides = f" and {mind.words}" if mind is not None else ""
    head = f"Shock? {capital(shown.words)}{besides} in a child"
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
        asks=criteria.SHOCK.text,
        at_once="Oxygen, a vein or a bone, glucose now",
        sources=(criteria.SHOCK.source, criteria.SHOCK_CALLS),
        decided_by="signs of shock in a child",
    )
