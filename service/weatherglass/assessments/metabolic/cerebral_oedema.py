"""Has a child with ketoacidosis grown drowsy since it began: cerebral oedema?

Who was drowsy from the first is ill with the acidosis as a rule, and has a caution there; who was awake
and no longer is, is treated before anything is scanned.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import capital


def assess_cerebral_oedema(bedside: Bedside) -> Iterator[Finding]:
    """Ask for it in a child whose mind altered after the criteria of ketoacidosis were met."""
    began = bedside.ketoacidosis.met_since if bedside.is_child else None
    mind = bedside.altered_mind
    if began is None or mind is None or mind.since is None or mind.since <= began:
        return
    if bedside.as_of - began > criteria.TREATED_FOR.length:
        return
    head = f"Cerebral oedema? {capital(mind.words)} in a child with ketoacidosis"
    yield tell(
        About(Kind.METABOLIC, "cerebral-oedema", Letter.DISABILITY),
        Urgency.EMERGENCY,
        rests_on(bedside, mind.since, *mind.origins, at=mind.since),
        brief=head,
        sentence=f"{head} of {bedside.clock.full(began)}: {criteria.OEDEMA_ASKS.text}.",
        measures=(mind.measure,),
        at_once="Hypertonic saline or mannitol to the bedside, head up, glucose now",
        sources=(criteria.OEDEMA_ASKS.source, criteria.CHILD_NOT_AWAKE.source),
        decided_by="alertness that is lost during ketoacidosis in a child",
    )
