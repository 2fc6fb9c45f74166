"""Has the patient had anaphylaxis in the last day, and what may have caused it?"""

from collections.abc import Iterator

from weatherglass.facts.anaphylaxis import suspects
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.limits import anaphylaxis as limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Letter, Urgency
from weatherglass.model.words.lists import listed


def assess_anaphylaxis(bedside: Bedside) -> Iterator[Finding]:
    """Say that a reaction was recorded: an emergency in its first hour, then to be watched."""
    reaction = bedside.anaphylaxis
    if reaction is None:
        return
    is_new = bedside.as_of - reaction.at <= limits.EMERGENCY_FOR.length
    before = list(suspects(reaction, bedside.drug_chart.lines))
    said = f"{reaction.text[:1].upper()}{reaction.text[1:]} is recorded ({bedside.clock.full(reaction.at)})"
    asks = (
        "airway, adrenaline by the local protocol, and stop what may have caused it"
        if is_new
        else "a second reaction can follow; keep away what may have caused it"
    )
    named = listed([line.medicine.text for line in before]) if before else ""
    yield Finding(
        kind=Kind.SINGLE_SIGN,
        key="anaphylaxis",
        letter=Letter.AIRWAY,
        urgency=Urgency.EMERGENCY if is_new else Urgency.PROMPT,
        sentence=f"{said}: {asks}{f'; begun or given shortly before: {named}' if named else ''}.",
        brief=f"{said}{f', after {named}' if named else ''}",
        at_once=f"{asks[0].upper()}{asks[1:]}" if is_new else "",
        at=reaction.at,
        state=bedside.state_since(reaction.at),
        since=reaction.at,
        dated=reaction.at,
        evidence=(reaction.origin, *(line.order for line in before)),
        sources=(
            limits.EMERGENCY,
            limits.EMERGENCY_FOR.source,
            limits.SUSPECTED_WITHIN.source,
            limits.TREATED.source,
        ),
        cautions=tuple(_cautions(bedside)),
        decided_by="a recorded anaphylaxis",
    )


def _cautions(bedside: Bedside) -> Iterator[str]:
    yield limits.TREATED.text
    if any(MedicineClass.BETA_BLOCKER.value in line.classes for line in bedside.drug_chart.exposed):
        yield limits.BETA_BLOCKER.text
