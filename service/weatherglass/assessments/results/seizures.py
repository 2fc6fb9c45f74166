"""Has the patient had a seizure in the last day, and does it repeat or go on?"""

from collections.abc import Iterator

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.limits import single_signs as signs
from weatherglass.model.findings import Finding, Kind, Letter, Urgency


def assess_seizures(bedside: Bedside) -> Iterator[Finding]:
    """Say that a seizure was recorded in the last day; one that repeats or goes on is an emergency."""
    found = sorted(bedside.seizures, key=lambda one: (one.at, one.origin))
    if not found:
        return
    worst = next((one for one in found if one.goes_on), found[-1])
    since = worst.at if worst.goes_on else found[0].at
    if worst.goes_on:
        said = f"Seizures that repeat or do not stop: {worst.text} ({bedside.clock.full(worst.at)})"
        asks = "airway and oxygen, glucose now, and the local protocol for a seizure"
    else:
        said = f"A seizure is recorded: {worst.text} ({bedside.clock.full(worst.at)})"
        asks = "measure glucose, look for the cause, and watch for another"
    yield Finding(
        kind=Kind.SINGLE_SIGN,
        key="seizure",
        letter=Letter.DISABILITY,
        urgency=Urgency.EMERGENCY if worst.goes_on else Urgency.URGENT,
        sentence=f"{said}: {asks}.",
        brief=said,
        at_once=f"{asks[0].upper()}{asks[1:]}" if worst.goes_on else "",
        dated=worst.at,
        at=found[-1].at,
        state=bedside.state_since(since),
        since=since,
        evidence=tuple(dict.fromkeys(one.origin for one in found)),
        sources=(
            signs.SEIZURES_REPEATED if worst.goes_on else signs.SEIZURE_OVER,
            signs.SEIZURE_COUNTS_FOR.source,
        ),
        decided_by="a recorded seizure",
    )
