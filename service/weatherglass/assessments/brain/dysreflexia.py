"""Is a high pressure the answer of an injured spinal cord to something that hurts below it?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.limits import neurogenic_pressure as limits
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.quantities import plain
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital, inside_a_sentence


def assess_dysreflexia(bedside: Bedside) -> Iterator[Finding]:
    """Say a high pressure after an injury of the spinal cord, against the own normal."""
    found = bedside.dysreflexia
    if found is None:
        return
    reading, usual = found.step.reading, found.step.usual
    against = f", usually {plain(usual)}" if usual is not None else ""
    injury = inside_a_sentence(found.injury.text)
    head = f"Autonomic dysreflexia? Systolic pressure {plain(reading.value)} mmHg{against}, with {injury}"
    yield Finding(
        kind=Kind.HIGH_PRESSURE,
        key="autonomic-dysreflexia",
        letter=Letter.CIRCULATION,
        urgency=Urgency.EMERGENCY,
        sentence=f"{head}: {limits.ASKS.text}.",
        brief=f"{head}: bladder and bowel now",
        at_once=capital(limits.ASKS.text),
        **rests_on(bedside, found.run, reading, found.injury.origin),
        measures=(measure_of(Signal.SYSTOLIC_PRESSURE, reading),),
        sources=(limits.HIGH.source, limits.RISE.source, limits.ASKS.source),
        decided_by="a systolic of 150 or more after an injury of the spinal cord",
    )
