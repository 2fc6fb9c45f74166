"""Is this neutropenic sepsis, and has an antibiotic been given?

An emergency of its own, at any age: no stratum by NEWS2 or by single signs is given beside it.
"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.antimicrobial import NOT_TO_BE_PUSHED, last_dose
from weatherglass.facts.infection.neutropenia import NeutropenicSepsis, is_cytotoxic
from weatherglass.facts.infection.tense import told_value
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.sepsis import neutropenic_sepsis as criteria
from weatherglass.model.findings import Finding, Kind, Measure, Urgency, newest_at
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited

#: From the second dose on nobody is told to give the first.
_GOES_ON = 2


def assess_neutropenic_sepsis(bedside: Bedside) -> Iterator[Finding]:
    """Say that it is, and what is recorded of its treatment."""
    found = bedside.neutropenic_sepsis
    if found is None:
        return
    treatment = bedside.first_antimicrobial
    is_settled = treatment is not None and treatment.deadline is None and bedside.neutropenia_is_old
    because = "; ".join(_reasons(bedside, found))
    said = treatment.words if treatment is not None else _undated(bedside)
    is_treated = treatment is not None and treatment.deadline is None and bool(bedside.antibacterial_doses)
    briefly = treatment.brief if treatment is not None else "antibiotic immediately"
    goes_on = is_treated and _doses_since(bedside, found) >= _GOES_ON
    worse = ""
    if is_treated and found.unwell is not None and (bedside.neutropenia_is_old or goes_on):
        after = "after a day of it" if bedside.neutropenia_is_old else "on it"
        worse = f", and {found.unwell.words} {after}"
        said += f"{worse}: ask now whether it is the right treatment"
    soon = _how_soon(bedside, is_settled=is_settled)
    measures = tuple(_measures(found))
    at_once = "" if treatment is NOT_TO_BE_PUSHED or is_settled or goes_on else "antibiotic immediately; "
    yield tell(
        About(Kind.SEPSIS_RISK, "neutropenic-sepsis", Letter.OVERALL),
        soon,
        rests_on(
            bedside,
            found.since,
            *measures,
            at=newest_at(measures) or found.since,
            asked_since=_asked_since(found) if is_settled else found.since,
        ),
        brief=f"Neutropenic sepsis: {briefly}{worse}",
        sentence=f"Neutropenic sepsis until shown otherwise ({because}): {at_once}{said}.",
        measures=measures,
        within=treatment.within(found.since) if treatment is not None else None,
        sources=_sources(found, is_settled=is_settled),
        decided_by="neutropenic sepsis is an emergency by itself",
    )


def _doses_since(bedside: Bedside, found: NeutropenicSepsis) -> int:
    return sum(found.since is None or one.at >= found.since for one in bedside.antibacterial_doses)


def _asked_since(found: NeutropenicSepsis) -> datetime | None:
    """Return since when it asks, once treated for a day: since the patient became ill again after one."""
    if found.since is None or found.ill_since is None:
        return found.since
    return max(found.since, found.ill_since)


def _how_soon(bedside: Bedside, *, is_settled: bool) -> Urgency:
    if not is_settled:
        return Urgency.EMERGENCY
    return Urgency.ROUTINE if bedside.neutropenia_is_treated else Urgency.URGENT


def _undated(bedside: Bedside) -> str:
    last = last_dose(bedside.antibacterial_doses, bedside.as_of)
    if last is None:
        return "no dose is recorded"
    return f"being treated: {last.medicine.text}, last dose {bedside.clock.full(last.at)}"


def _reasons(bedside: Bedside, found: NeutropenicSepsis) -> Iterator[str]:
    for signal, one in ((Signal.NEUTROPHILS, found.neutrophils), (Signal.TEMPERATURE, found.fever)):
        if one is not None:
            yield told_value(bedside, signal, one)
    if found.unwell is not None and found.fever is None:
        yield found.unwell.words
    names = list(dict.fromkeys(one.text for one in found.told))[:2]
    if names:
        yield f"recorded: {', '.join(names)}"


def _measures(found: NeutropenicSepsis) -> Iterator[Measure]:
    for signal, one in ((Signal.NEUTROPHILS, found.neutrophils), (Signal.TEMPERATURE, found.fever)):
        if one is not None:
            yield measure_of(signal, one)
    for told in found.told:
        yield Measure("neutropenia", "recorded as", told.text, at=told.at, origin=told.origin)


def _sources(found: NeutropenicSepsis, *, is_settled: bool) -> Iterator[Cited]:
    yield criteria.EMERGENCY
    if found.neutrophils is not None:
        is_very_low = criteria.NEUTROPHILS.is_met_by(found.neutrophils.value)
        yield (criteria.NEUTROPHILS if is_very_low else criteria.LOW_NEUTROPHILS)
    if found.fever is not None:
        yield criteria.TEMPERATURE
    if found.unwell is not None and found.fever is None:
        yield criteria.UNWELL
    if found.fever is not None and found.told:
        yield criteria.FEVER_ON_CHEMOTHERAPY
    if any(is_cytotoxic(one.text) for one in found.told):
        yield criteria.CYTOTOXIC
    if any(criteria.STOPPERS.intersection(one.text.casefold().split()) for one in found.told):
        yield criteria.STOPS_NEUTROPHILS
    yield criteria.AT_THE_LATEST
    if is_settled:
        yield criteria.TREATED_FOR
