"""Was a needle or catheter put beside the spinal cord too soon after a low molecular weight heparin?"""

from collections.abc import Iterator
from datetime import timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.brain import epidural as criteria
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Window
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.medicines import Administration
from weatherglass.model.signals import Letter
from weatherglass.model.words.clock_words import exactly, lasting

_LMWH = MedicineClass.LMWH.value


def assess_block_and_heparin(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest block of a day with the last dose before it."""
    blocks = [one for one in bedside.record.done(ProcedureKind.NEURAXIAL) if _is_new(bedside, one)]
    block = blocks[-1] if blocks else None
    dose = _last_before(bedside, block) if block is not None else None
    if block is None or dose is None:
        return
    asked = _asked(bedside)
    apart = block.at - dose.at
    if apart >= asked.length:
        return
    head = f"{block.text} {exactly(apart)} after {dose.medicine.text}"
    yield tell(
        About(Kind.TREATMENT_RESPONSE, "block-after-heparin", Letter.DISABILITY),
        Urgency.URGENT,
        rests_on(bedside, block.at, block, dose),
        brief=head,
        sentence=f"{head}, where {lasting(asked.length)} are asked for: {criteria.TOO_SOON.text}.",
        sources=(asked.source, criteria.TOO_SOON.source),
        decided_by="a block near the cord too soon after a low molecular weight heparin",
    )


def _is_new(bedside: Bedside, block: Done) -> bool:
    return timedelta(0) <= bedside.as_of - block.at <= criteria.TOO_SOON_FOR.length


def _last_before(bedside: Bedside, block: Done) -> Administration | None:
    given = (one for one in reversed(bedside.record.administrations) if one.at <= block.at)
    return next((one for one in given if _LMWH in one.medicine.classes), None)


def _asked(bedside: Bedside) -> Window:
    """Return how long is asked for: a day where an order is surely more than prevention, else half."""
    lines = [one for one in bedside.drug_chart.lines if _LMWH in one.classes]
    is_treated = any(_is_treatment(bedside, one) for one in lines)
    return criteria.AFTER_TREATMENT if is_treated else criteria.AFTER_PREVENTION


def _is_treatment(bedside: Bedside, line: Line) -> bool:
    order = line.charted
    if order is None:
        return False
    has_dose = bool(order.dose) or any(map(str.isdigit, f"{order.medicine.text} {order.dose_text}"))
    return has_dose and not is_preventive(bedside.named(line))
