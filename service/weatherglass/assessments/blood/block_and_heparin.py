"""A needle beside the spinal cord: too soon after heparin, or asked for while blood clots badly?"""

from collections.abc import Iterator
from datetime import timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.thinned import beyond_prevention
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.brain import epidural as criteria
from weatherglass.knowledge.medicines.limits.needle_times import LOW_MOLECULAR_WEIGHT_HEPARIN
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import BESIDE_THE_CORD, Done, ProcedureKind
from weatherglass.model.record.medicines import Administration
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.clock_words import exactly, lasting
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value

_LMWH = MedicineClass.LMWH.value
_PLANNED = ((Signal.PLATELETS, criteria.PLANNED_PLATELETS), (Signal.INR, criteria.PLANNED_INR))


def assess_block_and_heparin(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest block of a day with the last dose before it."""
    blocks = [one for one in bedside.record.done(*BESIDE_THE_CORD) if _is_new(bedside, one)]
    block = blocks[-1] if blocks else None
    dose = _last_before(bedside, block) if block is not None else None
    if block is None or dose is None:
        return
    asked = _asked(bedside)
    apart = block.at - dose.at
    if apart >= asked:
        return
    head = f"{block.text} {exactly(apart)} after {dose.medicine.text}"
    yield tell(
        About(Kind.TREATMENT_RESPONSE, "block-after-heparin", Letter.DISABILITY),
        Urgency.URGENT,
        rests_on(bedside, block.at, block, dose),
        brief=head,
        sentence=f"{head}, where {lasting(asked)} are asked for: {criteria.TOO_SOON.text}.",
        sources=(LOW_MOLECULAR_WEIGHT_HEPARIN.sources[0], criteria.TOO_SOON),
        decided_by="a block near the cord too soon after a low molecular weight heparin",
    )


def assess_planned_block(bedside: Bedside) -> Iterator[Finding]:
    """Hold what is asked for against platelets, INR and what thins the blood."""
    since, soon = bedside.as_of - criteria.PLANNED_FOR.length, bedside.as_of + criteria.PLANNED_FOR.length
    asked = [
        one
        for one in bedside.record.procedures
        if one.requested
        and ProcedureKind.NEURAXIAL in one.kinds
        and one.at is not None
        and one.at >= since
        and (one.due is None or one.due <= soon)
    ]
    done = bedside.record.done(ProcedureKind.NEURAXIAL)
    if not asked or any(one.at >= since for one in done):
        return
    results = [
        (signal, found)
        for signal, limit in _PLANNED
        if (found := bedside.newest_beyond(signal, reaches(limit), bedside.choices.laboratory_counts_for))
    ]
    orders = beyond_prevention(bedside)
    said = [named_value(signal, one.newest) for signal, one in results]
    said += [f"{order.medicine.text} on the chart" for order in orders]
    if not said:
        return
    plan = asked[-1]
    began = latest((plan.at, earliest((*(one.since for _, one in results), *(one.began for one in orders)))))
    head = f"{plan.text} is asked for, with {listed(said)}"
    yield tell(
        About(Kind.TREATMENT_RESPONSE, "block-planned", Letter.DISABILITY),
        Urgency.URGENT if results else Urgency.PROMPT,
        rests_on(
            bedside,
            began,
            plan,
            *((signal, one.newest) for signal, one in results),
            *(one.origin for one in orders),
        ),
        brief=head,
        asks=criteria.PLANNED.text,
        sources=(*(limit for _, limit in _PLANNED), criteria.PLANNED),
        decided_by="a needle beside the cord that is asked for while blood clots badly",
    )


def _is_new(bedside: Bedside, block: Done) -> bool:
    return timedelta(0) <= bedside.as_of - block.at <= criteria.TOO_SOON_FOR.length


def _last_before(bedside: Bedside, block: Done) -> Administration | None:
    given = (one for one in reversed(bedside.record.administrations) if one.at <= block.at)
    return next((one for one in given if _LMWH in one.medicine.classes), None)


def _asked(bedside: Bedside) -> timedelta:
    """Return how long is asked for: a day where an order is surely more than prevention, else half."""
    lines = [one for one in bedside.drug_chart.lines if _LMWH in one.classes]
    is_treated = any(_is_treatment(bedside, one) for one in lines)
    row = LOW_MOLECULAR_WEIGHT_HEPARIN
    return row.treats if is_treated else row.prevents


def _is_treatment(bedside: Bedside, line: Line) -> bool:
    order = line.charted
    if order is None:
        return False
    has_dose = bool(order.dose) or any(map(str.isdigit, f"{order.medicine.text} {order.dose_text}"))
    return has_dose and not is_preventive(bedside.named(line))
