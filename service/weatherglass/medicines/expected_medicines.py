"""Is a medicine missing that a recorded problem lets one expect, and whose absence harms?

Asked only where the record holds a drug chart at all: without one nobody knows. A medicine that
ended of late, or that is taken at home and was ended here, is asked about by name.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.doses import is_preventive
from weatherglass.facts.drug_chart import Line, Standing, systemic_classes
from weatherglass.knowledge.medicines.expected_medicines import (
    EXPECTED,
    RECENTLY_ENDED,
    URGENCY_SOURCE,
    ExpectedMedicine,
)
from weatherglass.knowledge.medicines.groups import Members
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import RuleCondition, Trigger
from weatherglass.medicines.clot_prevention import clot_prevention
from weatherglass.medicines.judging.situation import Situation, situation_of
from weatherglass.medicines.telling.wording import name_of
from weatherglass.medicines.triggers.hits import Hit, Met, since_beyond, words_of
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Letter, Urgency
from weatherglass.model.record import Allergy, MedicineOrder, OrderStatus
from weatherglass.model.sources import Origin


class _Absent(NamedTuple):
    """What is missing; the last order for it, a line on hold and a low dose, where there are any."""

    row: ExpectedMedicine
    problem: tuple[Origin, ...]
    ended: MedicineOrder | None
    held: Line | None
    low: Line | None = None


class _Reason(NamedTuple):
    """What makes it more urgent than the question alone."""

    urgency: Urgency
    said: str = ""
    since: datetime | None = None
    evidence: tuple[Origin, ...] = ()


def assess_expected_medicines(bedside: Bedside) -> Iterator[Finding]:
    """Ask about each expected medicine that nobody takes as far as the record says."""
    if not _has_a_chart(bedside):
        return
    absent = [one for row in EXPECTED for one in _absent(bedside, row)]
    if not any(one.row.key == "recent-clot" for one in absent):
        yield from clot_prevention(bedside)
    if not absent:
        return
    situation = situation_of(bedside)
    in_last_days = RuleCondition.LAST_DAYS in situation.holds
    for one in absent:
        reason = _reason(bedside, one.row, situation)
        if in_last_days and not one.row.for_comfort:
            continue
        if one.low is not None and _against(one.row, situation) is not None:
            continue  # Where somebody may bleed, a preventive dose may be all that is meant.
        if one.held is not None and reason.urgency is Urgency.PROMPT:
            continue  # On hold with nothing the matter: asked about where holds are.
        yield _finding(bedside, one, reason, situation, in_last_days=in_last_days)


def _has_a_chart(bedside: Bedside) -> bool:
    record = bedside.record
    return bool(record.administrations) or any(o.status is not OrderStatus.DRAFT for o in record.orders)


def _absent(bedside: Bedside, row: ExpectedMedicine) -> Iterator[_Absent]:
    """Return a row whose problem is recorded while its medicine is not in use."""
    problem = _problem(bedside, row)
    if not problem:
        return
    lines = bedside.drug_chart.lines
    in_use = [line for line in lines if _is_in_use(line)]
    preventive = [n for n in in_use if _holds(n.classes, row.classes) and is_preventive(bedside.named(n))]
    if row.treats:
        in_use = [line for line in in_use if line not in preventive]
    ended = _ended(bedside, row)
    if row.only_these is not None:
        if not _is_only(bedside, in_use, row, row.only_these):
            return
    elif _any_of(in_use, row.classes) and (ended is None or _any_of(in_use, row.core)):
        return
    held = next((n for n in lines if n.standing is Standing.ON_HOLD and _holds(n.classes, row.classes)), None)
    low = preventive[0] if row.treats and preventive else None
    yield _Absent(row, problem, ended if held is None else None, held, low)


def _problem(bedside: Bedside, row: ExpectedMedicine) -> tuple[Origin, ...]:
    record = bedside.record
    found = [
        c.origin
        for c in record.conditions
        if c.confirmed and (c.active or row.lasts) and not row.kinds.isdisjoint(c.kinds)
        if row.within is None or (c.began is not None and bedside.as_of - c.began <= row.within)
    ]
    found += [
        p.origin for p in record.procedures if not p.requested and not row.procedures.isdisjoint(p.kinds)
    ]
    return tuple(dict.fromkeys(found))


def _is_in_use(line: Line) -> bool:
    """Tell whether somebody takes it; a home medicine whose order was ended here is not known to be."""
    if line.standing is Standing.REPORTED:
        return not line.stopped_here
    # A chart of doses alone has no orders that could be in force.
    return line.standing is Standing.IN_USE or (line.standing is Standing.ENDED and line.charted is None)


def _is_only(bedside: Bedside, in_use: list[Line], row: ExpectedMedicine, these: Members) -> bool:
    """Tell whether something of the row's classes is ordered, and nothing of them but these."""
    found = [line for line in in_use if _holds(line.classes, row.classes)]
    # Of doses alone the next kind may not have been due yet.
    return bool(found) and all(n.charted is not None and bedside.named(n).is_one_of(these) for n in found)


def _any_of(lines: list[Line], classes: frozenset[MedicineClass]) -> bool:
    return any(_holds(line.classes, classes) for line in lines)


def _holds(has: frozenset[str], wanted: frozenset[MedicineClass]) -> bool:
    return any(key.value in has for key in wanted)


def _ended(bedside: Bedside, row: ExpectedMedicine) -> MedicineOrder | None:
    """Return the order of such a medicine that ended last, if that was of late or nobody knows when."""
    found = [
        order
        for order in bedside.drug_chart.ended
        if _holds(systemic_classes(order.medicine.classes, order.route), row.core)
        and (order.ends is None or bedside.as_of - order.ends <= RECENTLY_ENDED.length)
    ]
    return max(
        found, key=lambda o: (o.ends or o.written or o.starts or bedside.as_of, o.origin), default=None
    )


def _reason(bedside: Bedside, row: ExpectedMedicine, situation: Situation) -> _Reason:
    """Return how soon it is to be asked, and why."""
    against = _against(row, situation)
    if against is not None:
        return _Reason(Urgency.PROMPT, against.short, against.since, against.evidence)
    found = _most(bedside, row, situation)
    return found._replace(urgency=min(found.urgency, URGENCY_OF[row.highest]))


def _against(row: ExpectedMedicine, situation: Situation) -> Hit | None:
    """Return what may be why it is not given, None where nothing is."""
    return next((situation.hits[each] for each in sorted(row.speaks_against) if each in situation.hits), None)


def _most(bedside: Bedside, row: ExpectedMedicine, situation: Situation) -> _Reason:
    """Return the most urgent reason; of equals the one that began first: no later one moves the hour."""
    return min(
        _reasons(bedside, row, situation),
        key=lambda one: (-one.urgency, one.since or bedside.as_of),
        default=_Reason(Urgency.PROMPT),
    )


def _reasons(bedside: Bedside, row: ExpectedMedicine, situation: Situation) -> Iterator[_Reason]:
    for trigger in (Trigger.SEPSIS, Trigger.RAISED_KETONES):
        hit = situation.hits.get(trigger)
        if hit is not None and not hit.doubt:
            yield _by(Urgency.EMERGENCY, hit)
    shock = situation.holds.get(RuleCondition.SHOCK)
    if shock is not None:
        yield _Reason(Urgency.EMERGENCY, "low blood pressure", shock.since, shock.origins)
    acute = situation.hits.get(Trigger.ANY)
    if acute is not None and not acute.doubt:
        yield _by(Urgency.URGENT, acute)
    for signal, cutoff in row.worse:
        series = bedside.record.series(signal)
        newest = series.recent(bedside.as_of, bedside.choices.laboratory_counts_for)
        since = since_beyond(series.items, cutoff, least=Met.YES) if newest is not None else None
        if newest is not None and since is not None:
            yield _Reason(Urgency.URGENT, words_of(signal, newest), since, (newest.origin,))


def _by(urgency: Urgency, hit: Hit) -> _Reason:
    return _Reason(urgency, hit.short, hit.since, hit.evidence)


def _finding(
    bedside: Bedside, one: _Absent, reason: _Reason, situation: Situation, *, in_last_days: bool
) -> Finding:
    unknown = sum(not n.is_recognised and n.standing is not Standing.DRAFT for n in bedside.drug_chart.lines)
    urgency = Urgency(max(Urgency.PROMPT, reason.urgency - bool(unknown)))
    urgency = min(urgency, Urgency.PROMPT) if in_last_days else urgency
    since = one.ended.ends if one.ended is not None and one.ended.ends else bedside.admitted_at
    stepped = reason.since if urgency > Urgency.PROMPT else None
    known = [at for at in (since, stepped) if at is not None]
    order = one.ended.origin if one.ended is not None else one.held.order if one.held is not None else None
    has = "only a preventive dose" if one.low is not None else f"no {one.row.medicine}"
    return Finding(
        kind=Kind.MEDICINE_MISSING,
        key=one.row.key,
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=_sentence(bedside, one, reason, unknown, situation),
        brief=f"{one.row.problem}, and {has} in use",
        at=None,
        state=bedside.state_since(since),
        since=since if since is not None else stepped,
        asked_since=max(known) if stepped is not None and known else None,
        evidence=(*one.problem, *((order,) if order is not None else ()), *reason.evidence),
        sources=(one.row.source, URGENCY_SOURCE),
        decided_by=f"expected medicine missing: {one.row.key}",
    )


def _meets(allergy: Allergy, row: ExpectedMedicine) -> bool:
    """Tell whether an allergy is to a medicine of the class that is expected."""
    named = [BY_NAME[name] for name in allergy.ingredients if name in BY_NAME]
    return not allergy.denies and any(not row.classes.isdisjoint(one.classes) for one in named)


def _sentence(bedside: Bedside, one: _Absent, reason: _Reason, unknown: int, situation: Situation) -> str:
    row = one.row
    against = _against(row, situation)
    if against is not None:
        asked = (
            f"and no {row.medicine} is in use; {against.short} may be why: ask the senior or haematology how "
            "the risk is covered"
        )
    elif one.held is not None:
        asked = f"and {name_of(one.held)} is on hold: ask now whether it goes back on"
    elif one.low is not None:
        asked = f"and {name_of(one.low)} is a dose that only prevents clots: ask which dose is meant"
    elif one.ended is not None:
        ended = one.ended
        when = f" ({bedside.clock.full(ended.ends)})" if ended.ends is not None else ""
        asked = (
            f"and {ended.medicine.text} has ended{when}: was this meant to end? No {row.medicine} is in use"
        )
    else:
        asked = f"and no {row.medicine} is in use on the drug chart: ask whether it is taken, and replace it"
    because = f" Present now: {reason.said}." if reason.said and against is None else ""
    allergy = next((a for a in bedside.record.allergies if _meets(a, row)), None)
    because += f" Recorded allergy: {allergy.said}." if allergy is not None else ""
    count = "1 medicine" if unknown == 1 else f"{unknown} medicines"
    look = f" {count} on the chart could not be recognised: look whether it is there." if unknown else ""
    return f"{row.problem} is recorded, {asked}.{because} {row.harm}{look}"
