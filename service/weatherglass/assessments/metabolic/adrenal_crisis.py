"""Could a low pressure be an adrenal crisis?

Asked of whoever has adrenal insufficiency or takes a steroid for long, with a low pressure and
sodium, potassium or glucose as they are then. The team decides; nothing waits for tests.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Standing, systemic_classes
from weatherglass.facts.medicines.hydrocortisone_given import hydrocortisone_given
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import reaches
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import listed

_STEROIDS = (MedicineClass.GLUCOCORTICOID,)
_STEROID = MedicineClass.GLUCOCORTICOID.value
_Blood = tuple[Signal, Measurement, datetime]
_Low = tuple[Measurement, datetime]
_BLOOD: tuple[tuple[Signal, Cutoff], ...] = (
    (Signal.SODIUM, criteria.CRISIS_SODIUM),
    (Signal.SODIUM_GAS, criteria.CRISIS_SODIUM),
    (Signal.POTASSIUM, criteria.CRISIS_POTASSIUM),
    (Signal.POTASSIUM_GAS, criteria.CRISIS_POTASSIUM),
    (Signal.GLUCOSE, criteria.CRISIS_GLUCOSE),
)


class _Risk(Plain, frozen=True):
    """Why the adrenals may not answer."""

    words: str
    origin: Origin


def assess_adrenal_crisis(bedside: Bedside) -> Iterator[Finding]:
    """Bring the risk, the pressure and the blood together."""
    risk = _risk(bedside)
    blood = list(_blood(bedside))
    if not blood or bedside.pressure_is_low_as_usual:
        return
    if risk is None:
        yield from _doubted(bedside, blood)
        return
    low = _low_since(bedside, criteria.CRISIS_SYSTOLIC)
    if low is None:
        yield from _what_follows(bedside, risk, blood)
        return
    head = f"Adrenal crisis? {risk.words} with {_systolic(low)} and {_shown(blood)}"
    on_chart = "" if bedside.on_chart(_STEROIDS) else "; no steroid is on the chart"
    asks, brief, counts = _asks(bedside, low[1])
    yield _finding(
        bedside,
        risk,
        low,
        blood,
        key="adrenal-crisis",
        urgency=Urgency.EMERGENCY,
        sentence=f"{head}: {asks}{on_chart}.",
        brief=f"{head}: {brief}",
        sources=(
            criteria.CRISIS_SYSTOLIC.source,
            criteria.LONG_TERM_STEROID.source,
            criteria.HYDROCORTISONE.source,
            *counts,
        ),
        decided_by="risk of adrenal crisis with a low pressure and sodium, potassium or glucose beside it",
    )


def _asks(bedside: Bedside, since: datetime) -> tuple[str, str, tuple[Source, ...]]:
    """Return what is asked for, in full and in few words: not again what was given since the fall."""
    given = hydrocortisone_given(bedside, since)
    if given is None and bedside.is_child:
        asks = criteria.HYDROCORTISONE_OF_A_CHILD.text
        return f"{asks}, without waiting for tests", "hydrocortisone by age now", ()
    if given is None:
        asks = (
            "hydrocortisone 100 mg intravenously or intramuscularly now, and fluids, for the team to consider"
        )
        return f"{asks} without waiting for tests", "hydrocortisone 100 mg to be considered now", ()
    done = f"hydrocortisone was given {bedside.clock.at(given.at)}"
    asks = f"{done}; fluids, glucose, and a senior to decide on the next dose"
    return asks, done, (criteria.HYDROCORTISONE_COUNTS_FOR.source,)


def _what_follows(bedside: Bedside, risk: _Risk, blood: Sequence[_Blood]) -> Iterator[Finding]:
    """Ask for the next doses where one answered a low pressure and no more of it is ordered."""
    before = [
        step.reading for step in bedside.pressure if criteria.CRISIS_SYSTOLIC.is_met_by(step.reading.value)
    ]
    given = hydrocortisone_given(bedside, before[-1].at) if before else None
    if given is None or _goes_on(bedside):
        return
    low = (before[-1], given.at)
    head = f"Adrenal crisis? Hydrocortisone was given {bedside.clock.at(given.at)}"
    yield _finding(
        bedside,
        risk,
        low,
        blood,
        key="adrenal-crisis-after",
        urgency=Urgency.PROMPT,
        sentence=f"{head}, {_systolic(low)} before and {_shown(blood)}; no more of it is ordered: "
        f"{criteria.HYDROCORTISONE_AFTER.text}.",
        brief=f"{head}, and no more of it is ordered",
        sources=(criteria.HYDROCORTISONE_AFTER.source, criteria.HYDROCORTISONE_COUNTS_FOR.source),
        decided_by="a dose for an adrenal crisis, and no further one ordered",
        cautions=_cautions(bedside),
    )


def _goes_on(bedside: Bedside) -> bool:
    """Tell whether more hydrocortisone is ordered, not only once or when needed."""
    return any(
        "hydrocortisone" in order.medicine.ingredients and not order.for_once and not order.as_needed
        for order in bedside.on_chart(_STEROIDS)
        if not order.is_statement
    )


def _doubted(bedside: Bedside, blood: Sequence[_Blood]) -> Iterator[Finding]:
    """Ask whether a steroid is missed that ended at a time nobody recorded."""
    risk = _perhaps(bedside)
    if risk is None:
        return
    for cutoff, urgency in (
        (criteria.CRISIS_SYSTOLIC, Urgency.URGENT),
        (criteria.DOUBTED_SYSTOLIC, Urgency.PROMPT),
    ):
        low = _low_since(bedside, cutoff)
        if low is None:
            continue
        head = f"Is a steroid missed? {risk.words}; {_systolic(low)}, {_shown(blood)}"
        yield _finding(
            bedside,
            risk,
            low,
            blood,
            key="steroid-missed",
            urgency=urgency,
            sentence=f"{head}: ask how long it was taken and when it ended; think of adrenal insufficiency.",
            brief=head,
            sources=(criteria.DOUBTED_SYSTOLIC.source, criteria.LONG_TERM_STEROID.source),
            decided_by="a steroid that ended, with a low pressure and sodium, potassium or glucose beside it",
        )
        return


def _finding(
    bedside: Bedside,
    risk: _Risk,
    low: _Low,
    blood: Sequence[_Blood],
    *,
    key: str,
    urgency: Urgency,
    sentence: str,
    brief: str,
    sources: tuple[Source, ...],
    decided_by: str,
    cautions: tuple[str, ...] = (),
) -> Finding:
    systolic, began_low = low
    since = max(began_low, min(began for _, _, began in blood))
    results = [one for _, one, _ in blood]
    return tell(
        About(Kind.METABOLIC, key, Letter.CIRCULATION),
        urgency,
        rests_on(bedside, since, risk.origin, (Signal.SYSTOLIC_PRESSURE, systolic), *results),
        brief=brief,
        sentence=sentence,
        measures=(measure_of(signal, one) for signal, one, _ in blood),
        sources=sources,
        cautions=cautions,
        decided_by=decided_by,
    )


def _low_since(bedside: Bedside, cutoff: Cutoff) -> _Low | None:
    """Return the newest pressure and since when it is low, of a child by its age; None where it is not."""
    if bedside.is_child:
        child = bedside.blood_loss.child
        signs = child.signs if child is not None else ()
        of_age = dict(signs).get(Signal.SYSTOLIC_PRESSURE)
        return (of_age, child.since) if child is not None and of_age is not None else None
    newest = bedside.pressure_now
    if newest is None:
        return None
    readings = [step.reading for step in bedside.pressure]
    run = present_run([one.at for one in readings], [cutoff.is_met_by(one.value) for one in readings])
    return (newest.reading, run.since) if run is not None else None


def _shown(blood: Sequence[_Blood]) -> str:
    return listed([f"{signal.short} {plain(one.value)}" for signal, one, _ in blood])


def _systolic(low: _Low) -> str:
    return f"systolic pressure {plain(low[0].value)} mmHg"


def _cautions(bedside: Bedside) -> tuple[str, ...]:
    child = ("The dose is an adult's; a child's is by age.",)
    return child if bedside.is_child else ()


def _risk(bedside: Bedside) -> _Risk | None:
    known = bedside.record.told_of(ConditionKind.ADRENAL_INSUFFICIENCY)
    if known:
        return _Risk(known[0].text, known[0].origin)
    for order in (*bedside.on_chart(_STEROIDS), *_on_hold(bedside), *_just_ended(bedside)):
        if _is_long(bedside, order) and _is_enough(order):
            held = " on hold" if order.status is OrderStatus.ON_HOLD else ""
            return _Risk(f"long-term {order.medicine.text}{held}", order.origin)
    return None


def _perhaps(bedside: Bedside) -> _Risk | None:
    """Return a steroid of a while ago that has ended, nobody wrote down when, where none is on the chart."""
    if bedside.on_chart(_STEROIDS):
        return None
    for order in bedside.drug_chart.ended:
        is_steroid = _STEROID in systemic_classes(order.medicine.classes, order.route)
        if (
            not is_steroid
            or order.as_needed
            or order.for_once
            or order.ends is not None
            or order.began is None
        ):
            continue
        if bedside.as_of - order.began > criteria.LONG_TERM_STEROID.length and _is_enough(order):
            return _Risk(f"{order.medicine.text} has ended, not recorded when", order.origin)
    return None


def _on_hold(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    """Return steroids on hold: a long-term one that is not given is the commonest cause."""
    lines = (one for one in bedside.drug_chart.lines if one.standing is Standing.ON_HOLD)
    return tuple(line.charted for line in lines if line.charted is not None and _STEROID in line.classes)


def _just_ended(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    """Return steroids that have ended within the time after which one counts as long."""
    window = criteria.LONG_TERM_STEROID.length
    return tuple(
        order
        for order in bedside.drug_chart.ended
        if _STEROID in order.medicine.classes
        and order.starts is not None
        and order.ends is not None
        and order.ends - order.starts > window
        and bedside.as_of - order.ends <= window
    )


def _is_long(bedside: Bedside, order: MedicineOrder) -> bool:
    """Tell whether a steroid is taken for long; one from home without a date is."""
    began = order.starts or (None if order.is_statement else order.written)
    if began is None:
        return order.is_statement
    return (order.ends or bedside.as_of) - began > criteria.LONG_TERM_STEROID.length


def _is_enough(order: MedicineOrder) -> bool:
    """Tell whether the dose is known to be too low to matter; one that is not known counts."""
    known = criteria.STEROID_STRENGTHS
    strength = next((known[name].value for name in order.medicine.ingredients if name in known), None)
    if strength is None or order.daily_dose is None or order.dose_unit != "mg":
        return True
    return order.daily_dose * strength >= criteria.LEAST_STEROID.value


def _blood(bedside: Bedside) -> Iterator[_Blood]:
    """Yield the newest result of each analyte that fits, with when it began to."""
    for signal, cutoff in _BLOOD:
        found = bedside.newest_beyond(signal, reaches(cutoff), criteria.CRISIS_RESULTS_FOR.length)
        if found is not None:
            yield signal, *found
