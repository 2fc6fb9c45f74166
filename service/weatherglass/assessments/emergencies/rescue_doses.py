"""Was something given of late that is given only in an emergency, while all that is measured is calm?

The dose may be why the numbers are calm, and it wears off. What it was given for is asked; what answers it is
a problem on record, or a value measured after it.
"""

import re
from collections.abc import Iterator

from weatherglass.assessments.telling.basis import asked_by, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.signs.sign_limits import slow_breathing_of_child
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.emergencies import rescue_doses as criteria
from weatherglass.knowledge.emergencies.rescue_doses import RescueDose
from weatherglass.model.findings import URGENCY_OF, Finding, Urgency
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.record.medicines import Administration, Route
from weatherglass.model.signals import Signal
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value


def assess_rescue_doses(bedside: Bedside) -> Iterator[Finding]:
    """Ask what every rescue dose was given for, and for what follows it."""
    if bedside.is_peri_arrest or not bedside.record.administrations:
        return
    for row in criteria.RESCUE_DOSES:
        back = _back(bedside, row)
        if back is not None:
            yield back
            continue
        doses = _doses(bedside, row)
        if doses and not (row.unless and bedside.record.known_of(*row.unless)):
            yield _finding(bedside, row, doses)


def _back(bedside: Bedside, row: RescueDose) -> Finding | None:
    """Say that what a dose was given for is back, by a sign that was measured after the last one."""
    if row.sign is None:
        return None
    last = next((one for one in reversed(bedside.record.administrations) if _counts(row, one)), None)
    signal, limit = row.sign
    if signal is Signal.RESPIRATION_RATE and bedside.is_child and bedside.age_in_months is not None:
        by_itself, in_the_drowsy = slow_breathing_of_child(bedside.age_in_months)
        limit = by_itself if bedside.altered_mind is None else in_the_drowsy
    shown = bedside.newest_beyond(signal, reaches(limit), row.back_hours)
    if last is None or shown is None or bedside.as_of - last.until > row.back_hours:
        return None
    value = shown[0]
    if value.at <= last.until:
        return None
    given = f"{last.medicine.text} given {bedside.clock.at(last.at)}"
    head = f"{row.asked} {given}, and {named_value(signal, value, as_sent)} again"
    return asked_by(
        row,
        head,
        rests_on(bedside, max(shown[1], last.until), last, (signal, value), at=value.at),
        key=f"{row.key}-given",
        urgency=Urgency.EMERGENCY,
        decided_by="what a rescue dose was given for is back",
    )


def _doses(bedside: Bedside, row: RescueDose) -> list[Administration]:
    """Return the doses that still ask and that nothing measured since has answered, in order of time."""
    answered = max((one.at for signal in row.measured for one in bedside.record.series(signal)), default=None)
    found: list[Administration] = []
    later = bedside.as_of
    for dose in reversed(bedside.record.administrations):
        if not _counts(row, dose):
            continue
        if later - dose.until > row.hours or (answered is not None and dose.at < answered):
            break
        found.append(dose)
        later = dose.at
    return found[::-1]


def _counts(row: RescueDose, dose: Administration) -> bool:
    medicine = dose.medicine
    is_one = dose.route in row.routes and not row.names.isdisjoint(medicine.ingredients)
    # Naloxone in a tablet with an opioid keeps the bowels moving.
    is_routed = dose.route is not Route.UNKNOWN
    is_one &= is_routed or row.names.issuperset(medicine.ingredients)
    strength = row.strength if is_routed else row.strength_without_route or row.strength
    return is_one and re.search(strength, medicine.text.casefold()) is not None


def _finding(bedside: Bedside, row: RescueDose, doses: list[Administration]) -> Finding:
    first, last = doses[0], doses[-1]
    again = f", last {bedside.clock.at(last.at)}" if last.at > first.at else ""
    names = listed(list(dict.fromkeys(dose.medicine.text for dose in doses)))
    head = f"{row.asked} {names} given {bedside.clock.at(first.at)}{again}"
    return asked_by(
        row,
        head,
        rests_on(bedside, first.at, *doses, at=last.at),
        key=f"{row.key}-given",
        urgency=URGENCY_OF[row.soon],
        dated=first.at,
        decided_by="a dose that is given only in an emergency",
    )
