"""Is a high pressure the answer of an injured spinal cord to something that hurts below it?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.brain import neurogenic_pressure as limits
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital, inside_a_sentence
from weatherglass.model.words.value_words import limit_words


def assess_dysreflexia(bedside: Bedside) -> Iterator[Finding]:
    """Say a high pressure after an injury of the spinal cord, against the own normal."""
    found = bedside.dysreflexia
    if found is None:
        return
    reading, usual = found.step.reading, found.step.usual
    against = f", usually {plain(usual)}" if usual is not None else ""
    injury = inside_a_sentence(found.injury.text)
    head = f"Autonomic dysreflexia? Systolic pressure {plain(reading.value)} mmHg{against}, with {injury}"
    high, far = (limit_words(each, with_unit=False) for each in (limits.HIGH, limits.FAR_ABOVE))
    yield tell(
        About(Kind.HIGH_PRESSURE, "autonomic-dysreflexia", Letter.CIRCULATION),
        Urgency.EMERGENCY,
        rests_on(bedside, found.run, (Signal.SYSTOLIC_PRESSURE, reading), found.injury.origin),
        brief=f"{head}: bladder and bowel now",
        sentence=f"{head}: {limits.ASKS.text}.",
        at_once=capital(limits.ASKS.text),
        sources=(limits.HIGH, limits.RISE, limits.FAR_ABOVE, limits.ASKS),
        decided_by=f"a systolic of {high}, or {far} above the own normal, after an injury of the spinal cord",
    )
