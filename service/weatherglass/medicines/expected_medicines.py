"""Is a medicine missing that a recorded problem lets one expect, and whose absence harms?

Asked only where the record holds a drug chart at all: without one nobody knows. A medicine that
ended of late, or that is taken at home and was ended here, is asked about by name.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.acute_problems import names, written_lately
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.drug_chart import Line, Standing, systemic_classes
from weatherglass.facts.series.limits_met import Met
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.knowledge.medicines.expected_medicines import (
    EXPECTED,
    PRESSES_FOR,
    RECENTLY_ENDED,
    URGENCY_SOURCE,
    ExpectedMedicine,
)
from weatherglass.knowledge.medicines.groups import Members
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.medicines.clot_prevention import clot_prevention
from weatherglass.medicines.judging.situation import Situation, situation_of
from weatherglass.medicines.telling.wording import name_of
from weatherglass.medicines.triggers.met import MetTrigger, since_beyond, words_of
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import Allergy
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.record.problems import Condition
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import earliest


class _Problem(Plain, frozen=True):
    """What lets one expect it: its words, where they stand, since when, since when it presses by itself."""

    said: str
    origins: tuple[Origin, ...]
    since: datetime | None
    presses: datetime | None


class _Absent(Plain, frozen=True):
    """What is missing; the last order for it, a line on hold and a low dose, where there are any."""

    row: ExpectedMedicine
    problem: _Problem
    ended: MedicineOrder | None
    held: Line | None
    low: Line | None = None


class _Reason(Plain, frozen=True):
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
    in_last_days = Circumstance.LAST_DAYS in situation.applies
    for one in absent:
        reason = _reason(bedside, one, situation)
        if in_last_days and not one.row.for_comfort:
            continue
        if one.low is not None and _against(one.row, situation) is not None:
            continue  # Where somebody may bleed, a preventive dose may be all that is meant.
        if one.low is None and _asks_by_its_name(bedside, one):
            continue
        if one.held is not None and reason.urgency is Urgency.PROMPT:
            continue  # On hold with nothing the matter: asked about where holds are.
        yield _finding(bedside, one, reason, situation, in_last_days=in_last_days)


def _asks_by_its_name(bedside: Bedside, one: _Absent) -> bool:
    """Tell whether the problem is new, and its name asks for the same medicine already."""
    return any(
        written.origin in one.problem.origins and row.treated and names(row, written)
        for written in written_lately(bedside.record, bedside.as_of)
        for row in ACUTE_PROBLEMS
        if bedside.as_of - written.latest < row.full_for
    )


def _has_a_chart(bedside: Bedside) -> bool:
    record = bedside.record
    return bool(record.administrations) or any(o.status is not OrderStatus.DRAFT for o in record.orders)


def _absent(bedside: Bedside, row: ExpectedMedicine) -> Iterator[_Absent]:
    """Return a row whose problem is recorded while its medicine is not in use."""
    problem = _problem(bedside, row)
    if problem is None or not _is_beside(bedside, row) or (row.once and _was_given(bedside, row)):
        return
    lines = bedside.drug_chart.lines
    in_use = [line for line in lines if _is_in_use(line)]
    preventive = [n for n in in_use if _holds(n, row.classes) and is_preventive(bedside.named(n))]
    if row.treats:
        in_use = [line for line in in_use if line not in preventive]
    ended = _ended(bedside, row)
    if row.only_these is not None:
        if not _is_only(bedside, in_use, row, row.only_these):
            return
    elif _is_enough(bedside, in_use, row, ended):
        return
    on_hold = (line for line in lines if line.standing is Standing.ON_HOLD)
    held = next((n for n in on_hold if _holds(n, row.classes) or _is_named(bedside, n, row)), None)
    low = preventive[0] if row.treats and preventive else None
    yield _Absent(row, problem, ended if held is None else None, held, low)


def _is_beside(bedside: Bedside, row: ExpectedMedicine) -> bool:
    """Tell whether what has to be there too is recorded."""
    recorded = (*bedside.record.conditions, *bedside.record.admitted_with())
    return not row.beside or any(
        c.confirmed and c.active and not row.beside.isdisjoint(c.kinds) for c in recorded
    )


def _was_given(bedside: Bedside, row: ExpectedMedicine) -> bool:
    """Tell whether what is given once was given or ordered in its time."""
    earliest = bedside.as_of - row.within if row.within is not None else None
    doses = ((one.medicine.classes, one.at) for one in bedside.record.administrations)
    orders = (
        (one.medicine.classes, one.began)
        for one in bedside.record.orders
        if one.status is not OrderStatus.DRAFT and not one.is_statement
    )
    return any(
        not classes.isdisjoint(row.classes) and (at is None or earliest is None or at >= earliest)
        for classes, at in (*doses, *orders)
    )


def _problem(bedside: Bedside, row: ExpectedMedicine) -> _Problem | None:
    record = bedside.record
    found = _of(bedside, row, record.conditions) or _of(bedside, row, record.admitted_with())
    done = [
        p.origin
        for p in record.procedures
        if not p.requested and not row.procedures.isdisjoint(p.kinds)
        if row.within is None or (p.at is not None and timedelta(0) <= bedside.as_of - p.at <= row.within)
    ]
    if not (found or done):
        return None
    pressing = [
        c.began
        for c in found
        if c.began is not None and not row.pressing.isdisjoint(c.kinds)
        if bedside.as_of - c.began <= PRESSES_FOR.length
    ]
    dates = [c.began for c in found]
    since = None if done else earliest(dates)
    is_sure = bool(done) or any(c.confirmed for c in found)
    return _Problem(
        row.problem if is_sure else f"{row.problem}, suspected,",
        tuple(dict.fromkeys((*(c.origin for c in found), *done))),
        None if None in dates else since,
        min(pressing, default=None),
    )


def _of(bedside: Bedside, row: ExpectedMedicine, recorded: Sequence[Condition]) -> list[Condition]:
    return [
        c
        for c in recorded
        if (c.confirmed or row.suspected) and (c.active or row.lasts) and not row.kinds.isdisjoint(c.kinds)
        if row.within is None or (c.began is not None and bedside.as_of - c.began <= row.within)
    ]


def _is_in_use(line: Line) -> bool:
    """Tell whether somebody takes it; a home medicine whose order was ended here is not known to be."""
    if line.standing is Standing.REPORTED:
        return not line.stopped_here
    if line.standing is Standing.IN_USE or line.was_given_once:
        return True
    # A chart of doses alone has no orders that could be in force.
    return line.standing is Standing.ENDED and line.charted is None


def _is_only(bedside: Bedside, in_use: list[Line], row: ExpectedMedicine, these: Members) -> bool:
    """Tell whether something of the row's classes is ordered, and nothing of them but these."""
    found = [line for line in in_use if _holds(line, row.classes)]
    # Of doses alone the next kind may not have been due yet.
    return bool(found) and all(n.charted is not None and bedside.named(n).is_one_of(these) for n in found)


def _is_enough(
    bedside: Bedside, in_use: list[Line], row: ExpectedMedicine, ended: MedicineOrder | None
) -> bool:
    # What treats is enough, whatever ended: heparin bridges, and one anticoagulant follows another.
    is_there = _any_of(in_use, row.classes) and (row.treats or ended is None or _any_of(in_use, row.core))
    return is_there or any(_is_named(bedside, line, row) for line in in_use)


def _is_named(bedside: Bedside, line: Line, row: ExpectedMedicine) -> bool:
    return row.named is not None and bedside.named(line).is_one_of(row.named)


def _any_of(lines: list[Line], classes: frozenset[MedicineClass]) -> bool:
    return any(_holds(line, classes) for line in lines)


def _holds(line: Line, classes: frozenset[MedicineClass]) -> bool:
    return not line.classes.isdisjoint(classes)


def _ended(bedside: Bedside, row: ExpectedMedicine) -> MedicineOrder | None:
    """Return the order of such a medicine that ended last, if that was of late or nobody knows when."""
    found = [
        order
        for order in bedside.drug_chart.ended
        if not order.for_once
        and not systemic_classes(order.medicine.classes, order.route).isdisjoint(row.core)
        and (order.ends is None or bedside.as_of - order.ends <= RECENTLY_ENDED.length)
    ]
    return max(
        found, key=lambda o: (o.ends or o.written or o.starts or bedside.as_of, o.origin), default=None
    )


def _reason(bedside: Bedside, one: _Absent, situation: Situation) -> _Reason:
    """Return how soon it is to be asked, and why."""
    row = one.row
    against = _against(row, situation)
    if against is not None:
        return _Reason(Urgency.PROMPT, against.short, against.since, against.origins)
    found = _most(bedside, one, situation)
    return replace(found, urgency=min(found.urgency, URGENCY_OF[row.highest]))


def _against(row: ExpectedMedicine, situation: Situation) -> MetTrigger | None:
    """Return what may be why it is not given, None where nothing is."""
    return next((situation.met[each] for each in sorted(row.speaks_against) if each in situation.met), None)


def _most(bedside: Bedside, one: _Absent, situation: Situation) -> _Reason:
    """Return the most urgent reason; of equals the one that began first: no later one moves the hour."""
    return min(
        _reasons(bedside, one, situation),
        key=lambda each: (-each.urgency, each.since or bedside.as_of),
        default=_Reason(Urgency.PROMPT),
    )


def _reasons(bedside: Bedside, one: _Absent, situation: Situation) -> Iterator[_Reason]:
    if one.problem.presses is not None:
        yield _Reason(Urgency.URGENT, "", one.problem.presses)
    stress = bedside.operated_within(one.row.after_operation) if one.row.after_operation else None
    if stress is not None:
        said = f"the stress of an operation ({stress.text})"
        yield _Reason(Urgency.URGENT, said, stress.until, (stress.origin,))
    mind = bedside.altered_mind
    if one.row.in_altered_mind and mind is not None:
        yield _Reason(Urgency.URGENT, mind.words, mind.since, mind.origins)
    for trigger in (Trigger.SEPSIS, Trigger.RAISED_KETONES):
        met = situation.met.get(trigger)
        if met is not None and not met.doubt:
            yield _by(Urgency.EMERGENCY, met)
    shock = situation.applies.get(Circumstance.SHOCK)
    if shock is not None:
        yield _Reason(Urgency.EMERGENCY, "low blood pressure", shock.since, shock.origins)
    acute = situation.met.get(Trigger.ANY)
    if acute is not None and not acute.doubt:
        yield _by(Urgency.URGENT, acute)
    worse = one.row.worse
    if worse is not None:
        series = bedside.record.series(worse.signal)
        newest = series.recent(bedside.as_of, bedside.choices.laboratory_counts_for)
        since = since_beyond(series.items, worse.cutoff, least=Met.YES) if newest is not None else None
        if newest is not None and since is not None:
            yield _Reason(Urgency.URGENT, words_of(worse.signal, newest), since, (newest.origin,))


def _by(urgency: Urgency, met: MetTrigger) -> _Reason:
    return _Reason(urgency, met.short, met.since, met.origins)


def _finding(
    bedside: Bedside, one: _Absent, reason: _Reason, situation: Situation, *, in_last_days: bool
) -> Finding:
    unknown = sum(not n.is_recognised and n.standing is not Standing.DRAFT for n in bedside.drug_chart.lines)
    urgency = Urgency(max(Urgency.PROMPT, reason.urgency - bool(unknown)))
    urgency = min(urgency, Urgency.PROMPT) if in_last_days else urgency
    since = one.ended.ends if one.ended is not None and one.ended.ends else _expected_since(bedside, one)
    stepped = reason.since if urgency > Urgency.PROMPT else None
    known = [at for at in (since, stepped) if at is not None]
    asked = max(known) if stepped is not None and known else None
    course = Course(since if since is not None else stepped, asked, bedside.state_since(since))
    order = one.ended.origin if one.ended is not None else one.held.order if one.held is not None else None
    has = "only a preventive dose" if one.low is not None else f"no {one.row.medicine}"
    use = "given" if one.row.once else "in use"
    return tell(
        About(Kind.MEDICINE_MISSING, one.row.key, Letter.EXPOSURE),
        urgency,
        rests_on(bedside, course, *one.problem.origins, order, *reason.evidence),
        brief=f"{one.problem.said.rstrip(',')}, and {has} {use}",
        sentence=_sentence(bedside, one, reason, unknown, situation),
        sources=(one.row.source, URGENCY_SOURCE),
        decided_by=f"expected medicine missing: {one.row.key}",
    )


def _expected_since(bedside: Bedside, one: _Absent) -> datetime | None:
    """Return since when it is expected: the admission, or a problem that was written down after it."""
    admitted, written = bedside.admitted_at, one.problem.since
    return max(admitted, written) if admitted is not None and written is not None else admitted


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
    elif row.once:
        asked = f"and no {row.medicine} is recorded as given or ordered: ask for it"
    else:
        asked = f"and no {row.medicine} is in use on the drug chart: ask whether it is taken, and replace it"
    because = f" Present now: {reason.said}." if reason.said and against is None else ""
    allergy = next((a for a in bedside.record.allergies if _meets(a, row)), None)
    because += f" Recorded allergy: {allergy.said}." if allergy is not None else ""
    count = "1 medicine" if unknown == 1 else f"{unknown} medicines"
    look = f" {count} on the chart could not be recognised: look whether it is there." if unknown else ""
    harm = row.in_altered_mind if bedside.altered_mind is not None and row.in_altered_mind else row.harm
    return f"{one.problem.said} is recorded, {asked}.{because} {harm}{look}"
