"""Has the patient had anaphylaxis in the last day, does it come back, and what may have caused it?"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.anaphylaxis import Anaphylaxis, is_adrenaline, suspects, treatment_given
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.pressure_course import Shock
from weatherglass.facts.series.runs import run_at_level
from weatherglass.knowledge.emergencies import anaphylaxis as limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Administration
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital, inside_a_sentence, listed
from weatherglass.model.words.value_words import value_words


def assess_anaphylaxis(bedside: Bedside) -> Iterator[Finding]:
    """Say that a reaction was recorded: an emergency in its first hour and when it is back, else watched."""
    reaction = bedside.anaphylaxis
    if reaction is None:
        return
    again, shock = _back_since(bedside, reaction.at), _shock(bedside, reaction)
    is_new = bedside.as_of - reaction.at <= limits.EMERGENCY_FOR.length or again is not None
    is_new = is_new or shock is not None
    since = again or reaction.at
    before = list(suspects(reaction, bedside.drug_chart.lines))
    name = capital(reaction.text)
    recorded = f"({bedside.clock.full(reaction.at)})"
    said = (
        f"A second reaction? {name} {recorded}, and ill again" if again else f"{name} is recorded {recorded}"
    )
    if shock is not None and not again:
        pressure = value_words(Signal.SYSTOLIC_PRESSURE, shock.reading)
        said += f", and systolic pressure {pressure} now"
    doses = treatment_given(bedside.record, reaction)
    is_treated = not is_new and any(map(is_adrenaline, doses)) and _is_calm(bedside, doses[-1].at)
    at_once = "airway, adrenaline by the local protocol, and stop what may have caused it"
    asks = f"{at_once}; {_given(bedside, doses)}" if is_new else limits.WATCHED.text
    if is_treated:
        said = f"{name} {recorded}, {_given(bedside, doses)}"
    named = listed([line.medicine.text for line in before]) if before else ""
    yield tell(
        About(Kind.SINGLE_SIGN, "anaphylaxis", Letter.AIRWAY),
        Urgency.EMERGENCY if is_new else Urgency.ROUTINE if is_treated else Urgency.PROMPT,
        rests_on(
            bedside,
            since,
            reaction.origin,
            shock.reading if shock is not None else None,
            *(line.order for line in before),
            *(one.origin for one in doses),
            at=reaction.at,
            asked_since=max(since, shock.since) if shock is not None and not again else None,
        ),
        brief=f"{said}{f', after {named}' if named else ''}",
        sentence=f"{said}: {asks}{f'; begun or given shortly before: {named}' if named else ''}.",
        measures=(measure_of(Signal.SYSTOLIC_PRESSURE, shock.reading),) if shock is not None else (),
        at_once=capital(at_once) if is_new else "",
        dated=since,
        sources=(
            limits.EMERGENCY,
            limits.EMERGENCY_FOR,
            *((limits.GOES_ON,) if shock is not None else ()),
            limits.SUSPECTED_WITHIN,
            limits.TREATED if is_new else limits.WATCHED,
            *((limits.AGAIN_FROM,) if again else ()),
        ),
        cautions=_cautions(bedside) if is_new else (),
        decided_by="a recorded anaphylaxis",
    )


def _given(bedside: Bedside, doses: Sequence[Administration]) -> str:
    """Say when adrenaline was given last, or that none was, whatever else was."""
    last = next((one for one in reversed(doses) if is_adrenaline(one)), None)
    if last is not None:
        return f"{inside_a_sentence(last.medicine.name)} given {bedside.clock.at(last.at)}"
    others = list(dict.fromkeys(inside_a_sentence(one.medicine.name) for one in doses))
    return f"no dose of adrenaline is recorded{f' (given: {listed(others)})' if others else ''}"


def _is_calm(bedside: Bedside, treated: datetime) -> bool:
    """Tell whether an adult was measured since, and does not score high now."""
    since = [one for one in bedside.news2_now if one.observed.end > treated]
    return bool(since) and not limits.AGAIN_FROM.is_met_by(Decimal(since[-1].lowest))


def _back_since(bedside: Bedside, reaction: datetime) -> datetime | None:
    """Return since when the score is high again after a round in which it was not; None where it is not."""
    results = [one for one in bedside.news2 if one.observed.end >= reaction] if bedside.may_use_news2 else []
    levels = [int(limits.AGAIN_FROM.is_met_by(Decimal(one.lowest))) for one in results]
    if not results or not levels[-1] or all(levels):
        return None
    run = run_at_level([one.observed.end for one in results], levels)
    return run.since if run is not None else None


def _shock(bedside: Bedside, reaction: Anaphylaxis) -> Shock | None:
    """Return the low pressure of now, where it did not begin long before the reaction."""
    shock = bedside.shock
    began = reaction.at - limits.SUSPECTED_WITHIN.length
    return shock if shock is not None and shock.since >= began else None


def _cautions(bedside: Bedside) -> Iterator[str]:
    yield limits.TREATED.text
    if any(MedicineClass.BETA_BLOCKER in line.classes for line in bedside.drug_chart.exposed):
        yield limits.BETA_BLOCKER.text
