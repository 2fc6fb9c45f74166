"""Could a low pressure be an adrenal crisis?

Asked of whoever has adrenal insufficiency or takes a steroid for long, with a low pressure and
sodium, potassium or glucose as they are then. The team decides; nothing waits for tests.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.beyond import beyond, exact, reaches
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.limits import metabolic as criteria
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Letter, Urgency
from weatherglass.model.quantities import plain
from weatherglass.model.record import ConditionKind, Measurement, MedicineOrder
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import listed

#: Prednisolone of the same strength for 1 mg; from memory, as formularies print it.
_STRENGTH = {
    "hydrocortisone": Decimal("0.25"),
    "prednisolone": Decimal(1),
    "prednisone": Decimal(1),
    "methylprednisolone": Decimal("1.25"),
    "dexamethasone": Decimal("6.7"),
    "betamethasone": Decimal("6.7"),
}
_LEAST_DAILY = Decimal(5)
_BLOOD: tuple[tuple[Signal, Cutoff], ...] = (
    (Signal.SODIUM, criteria.CRISIS_SODIUM),
    (Signal.SODIUM_GAS, criteria.CRISIS_SODIUM),
    (Signal.POTASSIUM, criteria.CRISIS_POTASSIUM),
    (Signal.POTASSIUM_GAS, criteria.CRISIS_POTASSIUM),
    (Signal.GLUCOSE, criteria.CRISIS_GLUCOSE),
)


class _Risk(NamedTuple):
    """Why the adrenals may not answer."""

    words: str
    origin: Origin


def assess_adrenal_crisis(bedside: Bedside) -> Iterator[Finding]:
    """Bring the risk, the pressure and the blood together."""
    risk = _risk(bedside)
    newest = bedside.pressure_now
    if risk is None or newest is None:
        return
    systolic, readings = newest.reading, [step.reading for step in bedside.pressure]
    low = [criteria.CRISIS_SYSTOLIC.is_met_by(one.value) for one in readings]
    run = present_run([one.at for one in readings], low)
    blood = list(_blood(bedside))
    if run is None or not blood or bedside.pressure_is_low_as_usual:
        return
    since = max(run.since, min(began for _, _, began in blood))
    shown = listed([f"{FACTS[signal].short} {plain(one.value)}" for signal, one, _ in blood])
    head = f"Adrenal crisis? {risk.words} with systolic pressure {plain(systolic.value)} mmHg and {shown}"
    on_chart = "" if bedside.on_chart((MedicineClass.GLUCOCORTICOID,)) else "; no steroid is on the chart"
    yield Finding(
        kind=Kind.METABOLIC,
        key="adrenal-crisis",
        letter=Letter.CIRCULATION,
        urgency=Urgency.EMERGENCY,
        sentence=(
            f"{head}: hydrocortisone 100 mg intravenously or intramuscularly now, and fluids, for the team "
            f"to consider without waiting for tests{on_chart}."
        ),
        brief=f"{head}: hydrocortisone 100 mg to be considered now",
        at=max(systolic.at, *(one.at for _, one, _ in blood)),
        state=bedside.state_since(since),
        since=since,
        measures=(
            measure_of(Signal.SYSTOLIC_PRESSURE, systolic),
            *(measure_of(signal, one) for signal, one, _ in blood),
        ),
        evidence=tuple(dict.fromkeys((risk.origin, systolic.origin, *(one.origin for _, one, _ in blood)))),
        sources=(
            criteria.CRISIS_SYSTOLIC.source,
            criteria.LONG_TERM_STEROID.source,
            criteria.HYDROCORTISONE.source,
        ),
        cautions=_cautions(bedside),
        decided_by="risk of adrenal crisis with a low pressure and sodium, potassium or glucose beside it",
    )


def _cautions(bedside: Bedside) -> tuple[str, ...]:
    child = ("The dose is an adult's; a child's is by age.",)
    return child if bedside.is_child else ()


def _risk(bedside: Bedside) -> _Risk | None:
    known = bedside.record.conditions_of(ConditionKind.ADRENAL_INSUFFICIENCY)
    if known:
        return _Risk(known[0].text, known[0].origin)
    for order in (*bedside.on_chart((MedicineClass.GLUCOCORTICOID,)), *_just_ended(bedside)):
        if _is_long(bedside, order) and _is_enough(order):
            return _Risk(f"long-term {order.medicine.text}", order.origin)
    return None


def _just_ended(bedside: Bedside) -> tuple[MedicineOrder, ...]:
    """Return steroids that have ended within the time after which one counts as long."""
    window = criteria.LONG_TERM_STEROID.length
    return tuple(
        order
        for order in bedside.drug_chart.ended
        if MedicineClass.GLUCOCORTICOID.value in order.medicine.classes
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
    strength = next((_STRENGTH[name] for name in order.medicine.ingredients if name in _STRENGTH), None)
    if strength is None or order.daily_dose is None or order.dose_unit != "mg":
        return True
    return order.daily_dose * strength >= _LEAST_DAILY


def _blood(bedside: Bedside) -> Iterator[tuple[Signal, Measurement, datetime]]:
    """Yield the newest result of each analyte that fits, with when it began to."""
    for signal, cutoff in _BLOOD:
        items = exact(bedside.record.series(signal).items)
        found = beyond(items, reaches(cutoff), bedside.as_of, criteria.CRISIS_RESULTS_FOR.length)
        if found is not None:
            yield signal, *found
